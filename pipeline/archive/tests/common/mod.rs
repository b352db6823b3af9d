//! What the tests of archives share.

#![allow(dead_code, reason = "each test file uses its part")]

pub mod mutation;
pub mod runner;
pub mod sample;
