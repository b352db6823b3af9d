//! Typical positions in a report: both sides' squares on boards, and in words.

use hobble_conditions::words::{counted, list};
use hobble_examples::facts::game_facts;
use hobble_report::{Arrow, Board, Fact, Game, Games, Side, plain_short};

use super::answer::{Room, SideExample};
use super::level::Measure;

/// The positions with their boards.
pub fn games(examples: &[SideExample]) -> Games {
    Games {
        games: (1..)
            .zip(examples)
            .map(|(number, example)| game(number, example))
            .collect(),
        arrow: Arrow::LastMove,
        to_choose: false,
    }
}

fn game(number: usize, example: &SideExample) -> Game {
    let bottom = Side::named(example.on_move).unwrap_or(Side::White);
    let (own, other) = (name(bottom), name(bottom.other()));
    let board = |whose: &str, label: &'static str, side: &str, room: &Room| Board {
        id: format!("{whose}-{number}"),
        label,
        title: format!("The squares of {side}: {}", room.scope),
        fen: example.fen.clone(),
        fen_before: None,
        bottom,
        held: String::new(),
        safe: Some(room.squares.clone()),
        taken: Vec::new(),
        arrow: example
            .last_move
            .as_ref()
            .map(|played| (played.from.clone(), played.to.clone())),
    };
    let mut facts = game_facts(&example.game);
    facts.push(Fact::new(
        "Why this game",
        "Its squares, move number, pieces left and pieces held are nearest to the middle of such positions, and it ended as most of them did.",
    ));
    Game {
        heading: heading(example, own),
        label: example.game.label.clone(),
        caption: caption(example, own, other),
        facts,
        boards: vec![
            board("own", squares_of(bottom), own, &example.own),
            board("other", squares_of(bottom.other()), other, &example.other),
        ],
        stretch: None,
        traits: Vec::new(),
    }
}

const fn name(side: Side) -> &'static str {
    match side {
        Side::White => "White",
        Side::Black => "Black",
    }
}

const fn squares_of(side: Side) -> &'static str {
    match side {
        Side::White => "White\u{2019}s squares",
        Side::Black => "Black\u{2019}s squares",
    }
}

fn heading(example: &SideExample, own: &str) -> String {
    let after = example
        .last_move
        .as_ref()
        .map_or_else(String::new, |played| {
            format!(", after {}", plain_short(&played.label))
        });
    let apart = i32::from(example.own.scope) - i32::from(example.other.scope);
    let what = match (example.measure, apart) {
        (Measure::Scope, -3..=3) => "about as many safe squares".to_owned(),
        (Measure::Scope, apart) => format!(
            "{} {}",
            counted(apart.unsigned_abs().into(), "safe square"),
            if apart < 0 { "fewer" } else { "more" }
        ),
        _ => format!("{} held", counted(example.held.into(), "piece")),
    };
    format!("{own} has {what}{after}")
}

fn caption(example: &SideExample, own: &str, other: &str) -> String {
    let held = match example.held {
        0 => format!("No piece of {own} is held."),
        held => format!(
            "Held (two safe squares or fewer) {} {} of {own}.",
            if held == 1 { "is" } else { "are" },
            counted(held.into(), "piece")
        ),
    };
    format!(
        "{own} is to move. {own} has {}. {other} has {}. {held} {own} {}.",
        room(&example.own),
        room(&example.other),
        match example.half_points {
            2 => "won",
            1 => "drew",
            _ => "lost",
        }
    )
}

/// `41 safe squares: queen 12, rooks 10, bishop 6, king 3 and pawns 10`.
fn room(room: &Room) -> String {
    let kinds: Vec<String> = room
        .kinds
        .iter()
        .map(|(kind, units, squares)| {
            let plural = if *units > 1 { "s" } else { "" };
            format!("{kind}{plural} {squares}")
        })
        .collect();
    let squares = counted(room.scope.into(), "safe square");
    format!("{squares}: {}", list(&kinds))
}
