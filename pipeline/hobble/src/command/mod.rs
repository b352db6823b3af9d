//! One file a command. Each returns whether all is well.

pub mod check;
pub mod dictionary;
pub mod position;
pub mod scan;
