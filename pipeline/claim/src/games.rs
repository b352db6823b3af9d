//! Examples in a report: the games with their boards, on a page, a handout and in a list.

use hobble_examples::facts::game_facts;
use hobble_report::Made;
use hobble_report::{
    Arrow, Block, Board, Fact, Game, Games, Report, Section, Side, Tidy, Tone, plain_short,
};

use super::answer::{ClaimExample, ExampleRole};
use super::wanted::Examples;

/// The report on examples by themselves.
pub fn examples_report(examples: &Examples) -> Report<'_> {
    let mut section = Section::new("games", "From the games");
    if !examples.examples.is_empty() {
        section.block(Block::Games(example_games(&examples.examples)));
    }
    for note in &examples.notes {
        section.paragraph(Tone::Plain, note.clone());
    }
    Report {
        subject: "Games that show a training claim",
        title: examples.claim.title.clone(),
        sections: vec![section],
        made: Made::of(&examples.hobble, &examples.tables_by, examples.definitions),
        tidy: Tidy::of(Vec::new()),
        answer: examples,
    }
}

/// Examples as a report shows them, each with its boards.
pub fn example_games(examples: &[ClaimExample]) -> Games {
    Games {
        games: (1..)
            .zip(examples)
            .map(|(number, example)| game(number, example))
            .collect(),
        arrow: Arrow::Cause,
        to_choose: false,
    }
}

fn game(number: usize, example: &ClaimExample) -> Game {
    let label = plain_short(&example.cause.label);
    let role = match example.role {
        ExampleRole::Clearest => "The clearest game",
        ExampleRole::Clear => "Another clear game",
        ExampleRole::Nearest => "The nearest to a clear game",
        ExampleRole::Typical => "A typical game",
        ExampleRole::CounterExample => "A counter-example: the restraint failed",
    };
    let what = format!("{} {} on {}", example.color, example.kind, example.square);
    // Seen from the side that restrains.
    let bottom = Side::named(&example.color).map_or(Side::White, Side::other);
    let before = Board {
        id: format!("before-{number}"),
        label: "before",
        title: format!("Before {label}: the {what}"),
        fen: example.fen_before.clone(),
        fen_before: None,
        bottom,
        held: example.square.clone(),
        safe: Some(example.safe_before.clone()),
        taken: Vec::new(),
        arrow: None,
    };
    let after = Board {
        id: format!("after-{number}"),
        label: "after",
        title: format!("After {label}: the {what} {}", example.state),
        fen: example.fen_after.clone(),
        safe: Some(example.safe_after.clone()),
        taken: example.taken.clone(),
        arrow: Some((example.cause.from.clone(), example.cause.to.clone())),
        ..before.clone()
    };
    let mut facts = game_facts(&example.game);
    facts.push(Fact::new("Why this game", example.chosen.clone()));
    Game {
        heading: format!("{role}: {label}"),
        label: example.game.label.clone(),
        caption: example.caption.clone(),
        facts,
        boards: vec![before, after],
        stretch: example.stretch.clone(),
        traits: Vec::new(),
    }
}
