//! A reader that closes our output.

/// Whether the reader of our output has closed it, as `head` does: not an error.
pub fn is_closed_pipe(error: &anyhow::Error) -> bool {
    error.chain().any(|cause| {
        cause
            .downcast_ref::<std::io::Error>()
            .is_some_and(|error| error.kind() == std::io::ErrorKind::BrokenPipe)
    })
}
