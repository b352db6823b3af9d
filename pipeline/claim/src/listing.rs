//! Examples as text: a line each, and their positions below.

use std::fmt::Write as _;

use hobble_conditions::words;
use hobble_report::plain_short;

use super::answer::{ClaimExample, ExampleRole};
use super::wanted::Examples;

/// The examples as text.
pub fn text(examples: &Examples) -> String {
    let mut out = format!("{}\n\n", plain_short(&examples.claim.title));
    for (number, example) in (1..).zip(&examples.examples) {
        let _ = writeln!(out, "{number:2}. {}", line(example));
        let _ = writeln!(out, "    before  {}", example.fen_before);
        let _ = writeln!(out, "    after   {}", example.fen_after);
    }
    if !examples.examples.is_empty() && !examples.notes.is_empty() {
        out.push('\n');
    }
    for note in &examples.notes {
        let _ = writeln!(out, "{note}");
    }
    out
}

/// An example in one line: its role, the move, squares taken, turns, end and game.
fn line(example: &ClaimExample) -> String {
    let role = match example.role {
        ExampleRole::Clearest => "clearest",
        ExampleRole::Clear => "clear",
        ExampleRole::Nearest => "nearest",
        ExampleRole::Typical => "typical",
        ExampleRole::CounterExample => "got away",
    };
    let end = example.ended.as_ref().map_or_else(
        || format!("still {} at the end", example.state),
        |ended| match example.role {
            ExampleRole::CounterExample => format!("freed by {}", ended.label),
            _ => format!("lost by {}", ended.label),
        },
    );
    format!(
        "{role:8}  {} takes {} from {}'s {} on {}; {}; {end}. {}",
        example.cause.label,
        words::list(&example.taken),
        words::capital(&example.color),
        example.kind,
        example.square,
        words::counted(example.turns.into(), "turn"),
        plain_short(&example.game.label)
    )
}
