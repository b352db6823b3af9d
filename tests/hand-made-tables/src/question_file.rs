//! Question files with these fields, for the tests of a sort's own.

use hobble_conditions::AskError;
use hobble_conditions::fields::QuestionFile;

/// A question whose file `q.toml` has these fields from its fifth line on.
///
/// # Errors
///
/// The first mistake in the file.
pub fn question<Q: QuestionFile>(fields: &str) -> Result<Q, AskError> {
    let about = Q::ABOUT;
    let text = format!("format = 1\nabout = \"{about}\"\ntitle = \"T\"\ntext = \"x\"\n{fields}");
    Q::parsed("q", "q.toml", &text)
}

/// Each of these fields is refused: for what, behind `q.toml, line `.
///
/// # Panics
///
/// Where one is not.
pub fn refused<Q: QuestionFile>(mistakes: &[(&str, &str)]) {
    for (fields, what) in mistakes {
        let mistake = question::<Q>(fields).unwrap_err();
        assert_eq!(mistake.to_string(), format!("q.toml, line {what}"));
    }
}
