//! sample
fn main() {}
