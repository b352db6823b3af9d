//! How a file is packed: its first bytes decide, not its name.

/// A packing that can be read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Format {
    /// Not packed.
    Plain,
    /// Zstandard (RFC 8878), several frames allowed.
    Zstd,
    /// Gzip (RFC 1952), several members allowed.
    Gzip,
    /// Bzip2, several streams allowed.
    Bzip2,
}

impl Format {
    /// Bytes that [`Format::of`] needs.
    pub const HEAD: usize = 4;

    /// Packing of a file with these first bytes: the magic numbers of RFC 8878
    /// (zstd frame and skippable frame), RFC 1952 (gzip) and, as libarchive reads them, `BZh`
    /// and a digit from 1 to 9 (bzip2).
    pub fn of(head: &[u8]) -> Format {
        match head {
            [0x28, 0xb5, 0x2f, 0xfd, ..] | [0x50..=0x5f, 0x2a, 0x4d, 0x18, ..] => Format::Zstd,
            [0x1f, 0x8b, ..] => Format::Gzip,
            [b'B', b'Z', b'h', b'1'..=b'9', ..] => Format::Bzip2,
            _ => Format::Plain,
        }
    }
}
