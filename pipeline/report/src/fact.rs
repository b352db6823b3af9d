//! A name and what is said of it.

/// A name and what is said of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fact {
    /// The name.
    pub name: String,
    /// What is said.
    pub text: String,
}

impl Fact {
    /// A name and what is said of it.
    pub fn new(name: impl Into<String>, text: impl Into<String>) -> Fact {
        Fact {
            name: name.into(),
            text: text.into(),
        }
    }
}
