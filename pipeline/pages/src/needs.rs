//! What the page of a report needs beside its text: style sheets, scripts, symbols.

use hobble_report::{Block, Game, Games, Placed, Report};

use crate::board;
use crate::script::{self, Script};
use crate::style::{BOARD_STYLE, CHOOSE_STYLE, style};

/// The script of boards that play a stretch of their game.
const STRETCHES: &str = include_str!("templates/stretch.js");
/// The script by which a reader chooses among games.
const CHOOSE: &str = include_str!("templates/choose.js");

/// What the page of a report has.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Needs {
    /// Boards.
    boards: usize,
    /// Boards to step through.
    plays: bool,
    /// Games that a reader chooses among.
    chooses: bool,
}

impl Needs {
    /// Those of a report.
    pub(crate) fn of(report: &Report<'_>) -> Needs {
        let blocks = || {
            let sections = report.sections.iter();
            sections.flat_map(|section| &section.blocks)
        };
        let games = || {
            blocks().filter_map(|Placed { block, .. }| match block {
                Block::Games(games) => Some(games),
                _ => None,
            })
        };
        let all = || games().flat_map(|block: &Games| &block.games);
        Needs {
            boards: all().map(|game: &Game| game.boards.len()).sum(),
            plays: all().any(|game| game.stretch.is_some()),
            chooses: games().any(|block| block.to_choose),
        }
    }

    /// The style sheet.
    pub(crate) fn style(self) -> String {
        let mut sheet = style();
        for (needed, more) in [(self.plays, BOARD_STYLE), (self.chooses, CHOOSE_STYLE)] {
            if needed {
                sheet.push_str(more);
            }
        }
        sheet
    }

    /// The script, where boards play.
    pub(crate) fn script(self) -> Option<Script> {
        let parts = [script::BOARD, STRETCHES, CHOOSE];
        let used = if self.chooses { 3 } else { 2 };
        self.plays.then(|| Script::of(&parts[..used]))
    }

    /// What boards are drawn with, where there are any.
    pub(crate) fn symbols(self) -> Option<String> {
        (self.boards > 0).then(board::symbols)
    }

    /// Why a page is as large as it is: a sentence for its reader where it has more than 3 million bytes.
    pub(crate) fn why_large(self, bytes: usize) -> Option<String> {
        (bytes > 3_000_000).then(|| {
            format!(
                "This page takes {:.1} MB, since it holds {} boards with the moves around them and needs no network.",
                bytes as f64 / 1e6,
                self.boards
            )
        })
    }
}
