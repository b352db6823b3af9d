//! hobble
fn main() {}
