//! The report on positions found: a list, and a board of each.

use hobble_conditions::terms::YesNo;
use hobble_conditions::words;
use hobble_examples::facts::game_facts;
use hobble_report::columns::Columns;
use hobble_report::number::capital;
use hobble_report::sections;
use hobble_report::{
    Arrow, Block, Board, Fact, Game, Games, Made, Report, Section, Side, Tone, Trait, TraitValue,
    plain_short,
};
use hobble_terms::{Fate, SpellEnd};

use crate::answer::{Position, PositionsAnswer};

/// The report.
pub fn report(answer: &PositionsAnswer) -> Report<'_> {
    let lines = (1..).zip(&answer.positions);
    let lines: Vec<Line> = lines
        .map(|(number, position)| Line {
            number,
            definitions: answer.definitions,
            k: answer.search.k,
            position: position.clone(),
        })
        .collect();
    Report {
        subject: "Positions of restricted pieces",
        title: answer.question.title.clone(),
        sections: vec![
            found(answer),
            boards(answer),
            sections::cautions(&answer.notes),
            sections::data(&answer.dataset),
        ],
        made: Made::of(&answer.hobble, &answer.dataset.hobble, answer.definitions),
        tidy: columns().tidy(&lines),
        answer,
    }
}

fn found(answer: &PositionsAnswer) -> Section {
    let mut section = Section::new("found", "What was found");
    let state = words::state(answer.search.restrained);
    let lead = match answer.found {
        0 => format!(
            "No position was found in which a piece that meets the conditions came to be {state}."
        ),
        _ => format!(
            "{} found in which a piece that meets the conditions came to be {state} to {} or fewer.",
            match answer.found {
                1 => "1 position was".to_owned(),
                number => format!("{} positions were", words::count(number)),
            },
            words::counted(answer.search.k.into(), "safe square"),
        ),
    };
    section.paragraph(Tone::Lead, lead);
    sections::own_words(&mut section, &answer.question.text);
    section
}

fn boards(answer: &PositionsAnswer) -> Section {
    let mut section = Section::new("positions", "The positions");
    let games = (1..)
        .zip(&answer.positions)
        .map(|(number, position)| game(number, position))
        .collect();
    section.block(Block::Games(Games {
        games,
        arrow: match answer.search.restrained {
            YesNo::Yes => Arrow::Cause,
            YesNo::No | YesNo::Any => Arrow::Came,
        },
        to_choose: true,
    }));
    section
}

fn game(number: usize, position: &Position) -> Game {
    let after = position.began_by.as_ref().map_or_else(String::new, |by| {
        format!(" after {}", plain_short(&by.label))
    });
    let piece = format!(
        "{} {} on {}",
        capital(&position.color),
        position.kind,
        position.square
    );
    let before = position
        .stretch
        .as_ref()
        .filter(|_| position.began_by.is_some());
    let before = before.and_then(|stretch| {
        let before = stretch.began.checked_sub(1)?;
        stretch.positions.get(before)
    });
    let board = Board {
        id: format!("position-{number}"),
        label: "after",
        title: format!("Board{after}: {piece}"),
        fen: position.fen.clone(),
        fen_before: before.map(|station| station.fen.clone()),
        // Seen from the side that restricts: it is the one whose play is shown.
        bottom: Side::named(&position.color).map_or(Side::White, Side::other),
        held: position.square.clone(),
        safe: Some(position.safe.clone()),
        taken: position.taken.clone(),
        arrow: position
            .began_by
            .as_ref()
            .map(|by| (by.from.clone(), by.to.clone())),
    };
    let mut facts = game_facts(&position.game);
    facts.insert(3, Fact::new("Piece", became(position)));
    Game {
        heading: format!("{piece}{after}"),
        label: position.game.label.clone(),
        caption: caption(position),
        facts,
        boards: vec![board],
        stretch: position.stretch.clone(),
        traits: traits(position),
    }
}

/// What a reader of the page chooses by.
fn traits(position: &Position) -> Vec<Trait> {
    let word = |name, value: &str| Trait {
        name,
        value: TraitValue::Word(value.to_owned()),
    };
    let number = |name, value: usize| Trait {
        name,
        value: TraitValue::Number(u32::try_from(value).unwrap_or(u32::MAX)),
    };
    vec![
        word("Piece", position.kind.name()),
        word("Side", &position.color),
        word("Restricted by", position.cause.name()),
        word("Phase", position.phase.name()),
        word("What became of it", position.ended.name()),
        number("Turns it lasted", position.turns as usize),
        number("Safe squares", position.safe.len()),
        number("Squares taken", position.taken.len()),
    ]
}

/// What the position shows, in a sentence.
pub fn caption(position: &Position) -> String {
    let taken = match position.taken.as_slice() {
        [] => String::new(),
        taken => format!(", which took {}", words::list(taken)),
    };
    let by = position.began_by.as_ref().map_or_else(
        || "From the start of the record".to_owned(),
        |by| format!("After {}{taken}", plain_short(&by.label)),
    );
    let safe = match position.safe.as_slice() {
        [] => "no safe square".to_owned(),
        safe => words::list(safe),
    };
    format!(
        "{by}, {}'s {} on {} has {safe} left. {}.",
        capital(&position.color),
        position.kind,
        position.square,
        capital(&became(position)),
    )
}

/// How the spell ended, and what became of the piece later.
fn became(position: &Position) -> String {
    let turns = words::counted(position.turns.into(), "turn");
    let by = position
        .ended_by
        .as_ref()
        .map_or_else(String::new, |by| format!(" by {}", plain_short(&by.label)));
    let ended = match position.ended {
        SpellEnd::GameOver => return format!("so to the end of the game, {turns}"),
        end => format!("{end}{by} after {turns}"),
    };
    match (position.ended, position.fate) {
        (SpellEnd::Freed, Fate::Survived) => format!("{ended}, and survived"),
        (SpellEnd::Freed, fate) => format!("{ended}, and {fate} later"),
        _ => ended,
    }
}

/// What a line of the table is made from.
#[derive(Debug, Clone)]
pub struct Line {
    number: u64,
    definitions: u32,
    k: u8,
    position: Position,
}

/// The columns of the list.
pub fn columns() -> Columns<Line> {
    let mut out = Columns::default();
    out.count(
        "number",
        "",
        "Number in the list, from 1.",
        |line: &Line| line.number,
    );
    out.definitions_and_k(|line| (line.definitions, line.k));
    out.text(
        "source",
        "Source of the game (its folder in every table).",
        |line| line.position.game.source.clone(),
    );
    out.count(
        "game",
        "",
        "Number of the game in its source, from 1.",
        |line| line.position.game.number.into(),
    );
    out.text(
        "game_id",
        "Stable game id, sixteen hexadecimal digits.",
        |line| line.position.game.game_id.clone(),
    );
    for (name, text, of) in NAMES {
        out.words(*name, "missing in the game", *text, *of);
    }
    out.count(
        "ply",
        "plies",
        "Plies played before the position.",
        |line| line.position.ply.into(),
    );
    for (name, text, of) in TEXTS {
        out.text(*name, *text, *of);
    }
    let text = "The move that restricted it, with its number.";
    out.words("move", "so from the start of the record", text, |line| {
        let by = line.position.began_by.as_ref();
        by.map_or_else(String::new, |by| by.label.clone())
    });
    let text = "Its safe squares, with spaces between them.";
    out.words("safe_squares", "it has none", text, |line| {
        line.position.safe.join(" ")
    });
    let text = "Safe squares that the move took from it, with spaces between them.";
    out.words(
        "squares_taken",
        "none, or the piece itself moved",
        text,
        |line| line.position.taken.join(" "),
    );
    out.count(
        "turns",
        "turns",
        "Turns of its owner that it stayed so.",
        |line| line.position.turns.into(),
    );
    out.words(
        "ended_by",
        "the game ended first",
        "The move that ended it.",
        |line| {
            let by = line.position.ended_by.as_ref();
            by.map_or_else(String::new, |by| by.label.clone())
        },
    );
    out.text("fen", "The position.", |line| line.position.fen.clone());
    out
}

type Named = (&'static str, &'static str, fn(&Line) -> String);

/// What is known of each position.
const TEXTS: &[Named] = &[
    ("color", "Owner of the piece: `white` or `black`.", |line| {
        line.position.color.clone()
    }),
    ("kind", "Kind of the piece.", |line| {
        line.position.kind.to_string()
    }),
    ("square", "Where it stands.", |line| {
        line.position.square.clone()
    }),
    ("phase", "Phase of the game.", |line| {
        line.position.phase.to_string()
    }),
    ("cause", "What restricted the piece.", |line| {
        line.position.cause.to_string()
    }),
    ("ended", "How the spell ended.", |line| {
        line.position.ended.to_string()
    }),
    ("fate", "What became of the piece in the end.", |line| {
        line.position.fate.to_string()
    }),
];

/// What the game's tags say.
const NAMES: &[Named] = &[
    ("white", "Player of the white pieces.", |line| {
        line.position.game.white.clone().unwrap_or_default()
    }),
    ("black", "Player of the black pieces.", |line| {
        line.position.game.black.clone().unwrap_or_default()
    }),
    ("event", "Event.", |line| {
        line.position.game.event.clone().unwrap_or_default()
    }),
    ("date", "Date as it stands.", |line| {
        line.position.game.date.clone().unwrap_or_default()
    }),
];
