//! The tables of a report on sides.

use hobble_report::number::capital;
use hobble_report::sections::{bounds, cell_or};
use hobble_report::{Cell, Table, Unit, Why};
use hobble_statistics::Estimate;

use super::answer::SidesAnswer;
use super::changes::Squares;
use super::compare::OfLevel;
use super::estimate::Clustered;
use super::level::Measure;
use super::models::{Fitted, Model};
use super::numbers::Number;

fn named(name: impl Into<String>, cells: Vec<Cell>) -> Vec<Cell> {
    std::iter::once(Cell::text(name)).chain(cells).collect()
}

fn why(level: &OfLevel) -> Why {
    (level.too_few.as_ref()).map_or(Why::Undefined, |_| Why::TooFew)
}

/// A figure with the interval that is shown.
fn shown(unit: Unit, estimate: &Clustered, why: Why) -> Cell {
    let shown = estimate.shown();
    match shown.jackknife {
        None if why == Why::TooFew => Cell::None(why, None),
        _ => cell_or(unit, &shown, why),
    }
}

/// Scores by level.
pub fn scores(measure: Measure, levels: &[OfLevel]) -> Table {
    let (first, beside) = match measure {
        Measure::Scope => ("Safe squares", "as many squares"),
        Measure::Held => ("At once", "no piece held"),
        Measure::Restrained => ("At once", "no piece restrained"),
    };
    let mut table = Table::new([first, "Positions", "Score", "Comparable", "Difference"])
        .captioned(format!(
            "Score of the side on move, beside comparable positions with {beside}; the difference is in points in 100 games; 95% intervals"
        ));
    // Beneath the name on a page: a phone has no column to spare.
    let all = levels.iter().map(|level| level.positions).sum();
    for (place, level) in levels.iter().enumerate() {
        let comparable = Estimate {
            value: level.comparable_score,
            jackknife: None,
        };
        table.row(named(
            row_name(measure, place),
            vec![
                Cell::Part(level.positions, all),
                shown(Unit::Share, &level.score, why(level)),
                beside_cell(level, cell_or(Unit::Share, &comparable, why(level))),
                beside_cell(
                    level,
                    shown(Unit::Points, &level.score_difference, why(level)),
                ),
            ],
        ));
    }
    table
}

/// Material lost by level.
pub fn material(answer: &SidesAnswer, measure: Measure, levels: &[OfLevel]) -> Table {
    let first = if measure == Measure::Scope {
        "Safe squares"
    } else {
        "At once"
    };
    let mut table = Table::new([first, "Lost", "Comparable", "Difference"]).captioned(format!(
        "Sides that were two pawns worse off or more {} moves later, of 100; 95% intervals",
        answer.question.within
    ));
    for (place, level) in levels.iter().enumerate() {
        let comparable = Estimate {
            value: level.comparable_lost,
            jackknife: None,
        };
        table.row(named(
            row_name(measure, place),
            vec![
                shown(Unit::Share, &level.lost, why(level)),
                beside_cell(level, cell_or(Unit::Share, &comparable, why(level))),
                beside_cell(
                    level,
                    shown(Unit::Points, &level.lost_difference, why(level)),
                ),
            ],
        ));
    }
    table
}

/// The reference level is compared with nothing.
fn beside_cell(level: &OfLevel, cell: Cell) -> Cell {
    if level.reference { Cell::Empty } else { cell }
}

fn row_name(measure: Measure, place: usize) -> String {
    match measure {
        Measure::Scope => capital(&measure.in_words(place).replace(" safe squares", "")),
        _ => capital(&measure.in_words(place)),
    }
}

/// Squares three moves before and now.
pub fn changes(answer: &SidesAnswer) -> Table {
    let mut table = Table::new(["Three moves before", "Now fewer", "Now about equal", "Now more"])
        .captioned("Score of the side on move, by its safe squares beside the opponent\u{2019}s three moves before and now: fewer is four fewer at least, more is four more at least; 95% intervals");
    for before in Squares::ALL {
        let cell = |now: Squares| {
            let change = answer
                .changes
                .iter()
                .find(|change| (change.before, change.now) == (before, now));
            change.map_or(Cell::None(Why::TooFew, None), |change| {
                shown(Unit::Share, &change.score, Why::TooFew)
            })
        };
        table.row(named(
            capital(before.name()),
            Squares::ALL.into_iter().map(cell).collect(),
        ));
    }
    table
}

/// What ten squares more go with, by what is allowed for.
pub fn allowed_for(answer: &SidesAnswer) -> Table {
    let mut table = Table::new(["Allowed for", "Positions", "Ten squares more"]).captioned(
        "Points in 100 games that ten safe squares more than the opponent went with, by linear models; 95% intervals",
    );
    for (model, name) in [
        (Model::Alone, "Nothing"),
        (Model::Structure, "Structure"),
        (Model::Held, "Structure and pieces held"),
        (Model::RatedAlone, "Rated games: nothing"),
        (Model::Rating, "Rated games: rating difference"),
        (
            Model::RatingStructure,
            "Rated games: rating difference and structure",
        ),
    ] {
        let Some(fitted) = found(answer, model) else {
            continue;
        };
        table.row(named(
            name,
            vec![
                Cell::Count(fitted.positions),
                rise(Unit::Points, fitted, Number::Scope),
            ],
        ));
    }
    table
}

/// Whose squares count.
pub fn kinds(answer: &SidesAnswer) -> Table {
    let mut table = Table::new(["Squares of", "Ten squares more"]).captioned(
        "Points in 100 games that ten safe squares more of these units than the opponent\u{2019}s went with, the other squares and the structure equal; 95% intervals",
    );
    for (of, name) in [
        (Number::QueenSquares, "Queens"),
        (Number::RookSquares, "Rooks"),
        (Number::BishopSquares, "Bishops"),
        (Number::KnightSquares, "Knights"),
        (Number::PawnSquares, "Pawns"),
        (Number::KingSquares, "The king"),
    ] {
        if let Some(fitted) = found(answer, Model::Kinds) {
            table.row(named(name, vec![rise(Unit::Points, fitted, of)]));
        }
    }
    table
}

/// What the squares follow from.
pub fn follows_from(answer: &SidesAnswer) -> Table {
    let mut table = Table::new(["With", "All games", "Rated games"]).captioned(
        "By how many safe squares more than the opponent a side has, all else in the table equal; 95% intervals",
    );
    for (of, name) in [
        (Number::Rating, "100 rating points more"),
        (Number::White, "White, not Black"),
        (Number::Balance, "A pawn\u{2019}s worth more"),
        (Number::PieceDiff, "A piece more, at equal balance"),
        (Number::PawnDiff, "A pawn more, at equal balance"),
        (Number::Pieces, "One more piece on the board"),
        (Number::Pawns, "One more pawn on the board"),
        (Number::Ply, "Five moves later"),
    ] {
        let of_model = |model| {
            found(answer, model).map_or(Cell::Empty, |fitted| {
                match fitted.model.covariates().contains(&of) {
                    true => rise(Unit::Pawns, fitted, of),
                    false => Cell::Empty,
                }
            })
        };
        table.row(named(
            name,
            vec![of_model(Model::Scope), of_model(Model::ScopeRated)],
        ));
    }
    let explained = |model| {
        let share = found(answer, model).and_then(|fitted| fitted.explained);
        Cell::figure(Unit::Share, share, None)
    };
    let explained = [Model::Scope, Model::ScopeRated].map(explained).to_vec();
    table.row(named("Share of the differences explained", explained));
    table
}

fn found(answer: &SidesAnswer, model: Model) -> Option<&Fitted> {
    answer.models.iter().find(|fitted| fitted.model == model)
}

fn rise(unit: Unit, fitted: &Fitted, of: Number) -> Cell {
    let slope = fitted.slopes.iter().find(|slope| slope.of == of);
    slope.map_or(Cell::None(Why::TooFew, None), |slope| {
        let estimate = slope.rise.shown();
        match estimate.jackknife {
            Some(_) => Cell::figure(unit, estimate.value, bounds(estimate.jackknife)),
            None => Cell::None(Why::TooFew, None),
        }
    })
}
