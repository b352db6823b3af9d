//! One file a command. Each returns whether all is well.

pub mod ask;
pub mod check;
pub mod codebook;
pub mod completions;
pub mod deposit;
pub mod desk;
pub mod dictionary;
pub mod examples;
pub mod find;
pub mod game;
pub mod gather;
pub mod handout;
pub mod keys;
pub mod lesson;
pub mod manual;
pub mod norms;
pub mod page;
pub mod position;
pub mod quiz;
pub mod repeats;
pub mod scan;
pub mod schema;
pub mod sift;
mod states;
mod summary;
