//! The moves that mattered, with their boards.

use hobble_walkthrough::Walkthrough;
use hobble_walkthrough::moments::{Moment, Rule, Shown};
use serde::Serialize;
use shakmaty::fen::Fen;
use shakmaty::{Color, EnPassantMode, Position as _};

use crate::board::{Marks, Picture};

/// A move that mattered.
#[derive(Serialize)]
pub(super) struct MomentView {
    pub number: usize,
    pub label: String,
    pub rules: String,
    pub text: String,
    /// Position to go to on the board to step through.
    pub go: usize,
    /// Place of the move to try there, for a chance missed.
    pub tried: Option<usize>,
    pub before: PictureView,
    pub after: PictureView,
}

/// A board with what stands over it.
#[derive(Serialize)]
pub(crate) struct PictureView {
    pub when: String,
    pub picture: String,
    pub words: String,
    pub fen: String,
}

/// The moments of a walkthrough.
pub(super) fn views(walkthrough: &Walkthrough) -> Vec<MomentView> {
    (1..)
        .zip(&walkthrough.moments)
        .map(|(number, moment)| view(walkthrough, number, moment))
        .collect()
}

fn view(walkthrough: &Walkthrough, number: usize, moment: &Moment) -> MomentView {
    let rules: Vec<&str> = moment.rules.iter().copied().map(Rule::name).collect();
    let missed = moment.rules.contains(&Rule::Missed);
    let after = if missed {
        format!("If {} had been played", moment.label)
    } else {
        format!("After {}", moment.label)
    };
    let bottom = bottom(walkthrough, moment);
    MomentView {
        number,
        label: moment.label.clone(),
        rules: rules.join("; "),
        text: moment.text.clone(),
        go: if missed { moment.ply - 1 } else { moment.ply },
        tried: missed
            .then(|| {
                let tries = &walkthrough.tries[moment.ply - 1];
                tries.iter().position(|tried| tried.label == moment.label)
            })
            .flatten(),
        before: picture(
            &moment.before,
            &format!("moment-{number}-before"),
            "Before it",
            bottom,
        ),
        after: picture(
            &moment.after,
            &format!("moment-{number}-after"),
            &after,
            bottom,
        ),
    }
}

/// The side of the player who makes the move is at the bottom.
pub(crate) fn bottom(walkthrough: &Walkthrough, moment: &Moment) -> Color {
    walkthrough.game.plies[moment.ply - 1].side
}

/// A board drawn.
pub(crate) fn picture(shown: &Shown, id: &str, when: &str, bottom: Color) -> PictureView {
    let marks = marks(shown);
    let picture = Picture {
        board: shown.chess.board(),
        marks: &marks,
        bottom,
        id,
        title: when,
        by_symbols: false,
    };
    PictureView {
        when: when.to_owned(),
        picture: picture.draw(),
        words: picture.words(),
        fen: Fen::from_position(&shown.chess, EnPassantMode::Legal).to_string(),
    }
}

/// What is marked on a board.
pub(crate) fn marks(shown: &Shown) -> Marks {
    Marks {
        held: shown.ringed.clone(),
        taken: shown.taken.into_iter().collect(),
        safe: shown.safe.map(|safe| safe.into_iter().collect()),
        arrow: shown.arrow,
    }
}
