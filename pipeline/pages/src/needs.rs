//! What the page of a report needs beside its text: style sheets, scripts, symbols.

use hobble_report::Report;

use crate::board;
use crate::script::{self, Script};
use crate::style::{BOARD_STYLE, CHOOSE_STYLE, TERMS_STYLE, style};

/// The script of boards that play a stretch of their game.
const STRETCHES: &str = include_str!("templates/stretch.js");
/// The script by which a reader chooses among games.
const CHOOSE: &str = include_str!("templates/choose.js");
/// The script by which a reader changes a claim's terms.
const TERMS: &str = concat!(
    include_str!("templates/logits.js"),
    include_str!("templates/ladder.js"),
    include_str!("templates/terms.js")
);

/// What the page of a report has.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Needs {
    /// Boards.
    boards: usize,
    /// Boards to step through.
    plays: bool,
    /// Games that a reader chooses among.
    chooses: bool,
    /// Terms of a claim that a reader changes.
    terms: bool,
}

impl Needs {
    /// Those of a report, beside which a claim's terms may be changed.
    pub(crate) fn of(report: &Report<'_>, terms: bool) -> Needs {
        let all = || report.games().flat_map(|block| &block.games);
        Needs {
            boards: all().map(|game| game.boards.len()).sum(),
            plays: all().any(|game| game.stretch.is_some()),
            chooses: report.games().any(|block| block.to_choose),
            terms,
        }
    }

    /// The style sheet.
    pub(crate) fn style(self) -> String {
        let mut sheet = style();
        let more = [
            (self.plays || self.terms, BOARD_STYLE),
            (self.chooses, CHOOSE_STYLE),
            (self.terms, TERMS_STYLE),
        ];
        for (needed, more) in more {
            if needed {
                sheet.push_str(more);
            }
        }
        sheet
    }

    /// The script, where there is something to do on the page.
    pub(crate) fn script(self) -> Option<Script> {
        let parts = [
            (self.plays, script::BOARD),
            (self.plays, STRETCHES),
            (self.chooses, CHOOSE),
            (self.terms, TERMS),
        ];
        let used: Vec<&str> = parts
            .into_iter()
            .filter_map(|(needed, part)| needed.then_some(part))
            .collect();
        (!used.is_empty()).then(|| Script::of(&used))
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
