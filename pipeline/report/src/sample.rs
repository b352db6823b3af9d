//! A small report for the tests of the renderers.

use hobble_statistics::Bounds;

use crate::cell::{Cell, Figure, Unit, Why};
use crate::fact::Fact;
use crate::games::{Arrow, Board, Game, Games, Side};
use crate::plot::{Dot, Dots, Drawing, Plot, Row, Scale};
use crate::report::Made;
use crate::report::{Block, Method, Report, Section, Table, Tone};
use crate::tidy::Tidy;

/// Three rows: a figure with its interval, too few games, all.
pub fn table() -> Table {
    let share = |value, low, high| {
        Cell::Figure(Figure::new(Unit::Share, value, Some(Bounds { low, high })))
    };
    let mut table = Table::new(["piece", "turns", "share lost"]);
    table
        .row(vec![
            Cell::text("knight"),
            Cell::Count(80),
            share(0.225, 0.15, 0.31),
        ])
        .row(vec![
            Cell::text("bishop"),
            Cell::Count(3),
            Cell::None(Why::TooFew, None),
        ])
        .row_of_all(vec![
            Cell::text("all"),
            Cell::Count(1083),
            share(0.2, 0.14, 0.29),
        ]);
    table
}

/// A plot of one dot.
fn plot() -> Plot {
    let row = Row {
        label: "knight".to_owned(),
        all: false,
        dots: vec![Dot::of(Unit::Share, None, None)],
        missing: "too few games".to_owned(),
    };
    Plot {
        name: "share".to_owned(),
        title: "Share lost".to_owned(),
        words: "knight: too few games".to_owned(),
        caption: "Share lost.".to_owned(),
        drawing: Drawing::Dots(Dots {
            series: vec!["held".to_owned()],
            rows: vec![row],
            scale: Scale::Share,
            axis: "share lost".to_owned(),
        }),
    }
}

/// A lead, the table, a game, a method.
pub fn report() -> Report<'static> {
    let mut found = Section::new("found", "What was found");
    found
        .paragraph(
            Tone::Lead,
            "Held knights were lost in 22.5% of their turns.",
        )
        .block(Block::Table(table()))
        .block(Block::Plot(plot()))
        .block(Block::Games(Games {
            games: vec![Game {
                heading: "White bishop on c4".to_owned(),
                label: "Ada \u{2013} Bea".to_owned(),
                caption: "2...b5 takes b3 from it.".to_owned(),
                facts: vec![Fact::new("White", "Ada")],
                boards: vec![Board {
                    id: "board-1".to_owned(),
                    label: "before",
                    title: "Before 2...b5".to_owned(),
                    fen_before: None,
                    fen: "8/8/8/8/2B5/8/8/8 b - - 0 1".to_owned(),
                    bottom: Side::Black,
                    held: "c4".to_owned(),
                    safe: Some(vec!["b3".to_owned()]),
                    taken: Vec::new(),
                    arrow: None,
                }],
                stretch: None,
                traits: Vec::new(),
            }],
            arrow: Arrow::Cause,
            to_choose: false,
        }));
    let mut method = Section::new("method", "Method");
    method.document(Block::Methods(vec![Method {
        name: "Wilson interval".to_owned(),
        text: "Score interval.".to_owned(),
        source: "Wilson 1927".to_owned(),
    }]));
    Report {
        subject: "Restraint",
        title: "How often is a held piece lost?".to_owned(),
        sections: vec![found, method],
        made: Made::of("0.1.0", "0.1.0", 1),
        tidy: Tidy::default(),
        answer: &(),
    }
}

/// Puts text that steers a terminal wherever an archive could put it.
pub fn spoil(report: &mut Report<'_>) {
    const BAD: &str = "\u{1b}[2J\u{9b}31m\u{202e}\nx";
    for section in &mut report.sections {
        section.title.push_str(BAD);
        for placed in &mut section.blocks {
            match &mut placed.block {
                Block::Paragraph(_, text) | Block::Heading(text) => text.push_str(BAD),
                Block::Table(table) => {
                    table.columns[0].name.push_str(BAD);
                    table.rows[0].cells[0] = Cell::text(BAD);
                }
                Block::Games(games) => {
                    for game in &mut games.games {
                        game.heading.push_str(BAD);
                        game.label.push_str(BAD);
                        game.boards[0].fen.push_str(BAD);
                    }
                }
                _ => {}
            }
        }
    }
}
