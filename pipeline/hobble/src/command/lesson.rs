//! `hobble lesson`

use std::io::{Write as _, stdout};

use anyhow::bail;
use hobble_archive::listing::Input;
use hobble_lesson::{Archive, INDEX, MOST_GAMES, lesson};
use hobble_walkthrough::find::texts;

use crate::arguments::Lesson;
use crate::command::game::single;
use crate::words::{counted, line, say};

/// Writes a walk through every game of a file.
pub fn run(arguments: &Lesson) -> anyhow::Result<bool> {
    let input = single(&arguments.archive)?;
    let (games, more) = texts(&input, MOST_GAMES)?;
    if games.is_empty() {
        bail!("{}: no games", input.name());
    }
    if more > 0 {
        let left_out = counted(more, "game");
        say(&format!(
            "{}: a lesson has {MOST_GAMES} games at most; {left_out} left out",
            input.name()
        ));
    }
    let archive = arguments.terms.data.as_deref().map(Archive::open);
    let archive = archive.transpose()?;
    // Of which file, where there is one.
    let of = match &input {
        Input::File(path) => path
            .file_name()
            .map_or_else(String::new, |name| format!(": {}", name.to_string_lossy())),
        Input::Stdin => String::new(),
    };
    let out = &arguments.out;
    for message in lesson(&games, &of, out, arguments.terms.k, archive.as_ref())? {
        say(&message);
    }
    writeln!(stdout(), "{}", line(&out.join(INDEX).to_string_lossy()))?;
    Ok(true)
}
