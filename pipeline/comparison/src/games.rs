//! The example games of a comparison.

use hobble_examples::facts::game_facts;
use hobble_report::number::capital;
use hobble_report::{Arrow, Block, Board, Fact, Game, Games, Section, Side, Tone, plain_short};

use crate::answer::{Answer, Example};

pub(super) fn examples(answer: &Answer) -> Section {
    let mut section = Section::new("examples", "From the games");
    if answer.examples.is_empty() {
        let none = "No game was found that shows it, or none was asked for.";
        section.paragraph(Tone::Plain, none);
        return section;
    }
    let games = (1..)
        .zip(&answer.examples)
        .map(|(number, example)| game(number, example))
        .collect();
    section.block(Block::Games(Games {
        games,
        arrow: Arrow::Cause,
        to_choose: false,
    }));
    section
}

fn game(number: usize, example: &Example) -> Game {
    let later = example.end_ply.saturating_sub(example.start_ply);
    let after = example.board.as_ref().map_or_else(String::new, |board| {
        format!(" after {}", plain_short(&board.cause.label))
    });
    let mut facts = game_facts(&example.game);
    facts.insert(
        3,
        Fact::new(
            "Piece",
            format!("{} {} later", plain_short(&example.end), moves(later)),
        ),
    );
    let board = example.board.as_ref().map(|board| Board {
        id: format!("board-{number}"),
        label: "after",
        title: format!(
            "Board after {}: {} {} on {} restrained",
            plain_short(&board.cause.label),
            example.color,
            example.kind,
            example.square
        ),
        fen: board.fen_after.clone(),
        fen_before: Some(board.fen_before.clone()),
        // Seen from the side that restrains: it is the one whose play is shown.
        bottom: Side::named(&example.color).map_or(Side::White, Side::other),
        held: example.square.clone(),
        safe: Some(board.safe_after.clone()),
        taken: board.taken.clone(),
        arrow: Some((board.cause.from.clone(), board.cause.to.clone())),
    });
    Game {
        heading: format!(
            "{} {} on {}{after}",
            capital(&plain_short(&example.color)),
            example.kind,
            plain_short(&example.square)
        ),
        label: example.game.label.clone(),
        caption: example.caption.clone(),
        facts,
        boards: board.into_iter().collect(),
        stretch: example
            .board
            .as_ref()
            .and_then(|board| board.stretch.clone()),
        traits: Vec::new(),
    }
}

/// Plies as moves, in halves: `3 moves`, `3½ moves`, `½ move`.
fn moves(plies: u32) -> String {
    let whole = plies / 2;
    match (whole, plies % 2) {
        (1, 0) => "1 move".to_owned(),
        (_, 0) => format!("{whole} moves"),
        (0, _) => "\u{bd} move".to_owned(),
        (_, _) => format!("{whole}\u{bd} moves"),
    }
}
