//! What the restrainer scored: the owner's opponent, once a game and colour, against sides
//! of games without such a spell, alike in rating band, rating difference and time class.

use std::collections::{BTreeMap, HashMap, HashSet};

use super::answer::Score;
use super::compare::MINIMUM;
use super::held::Held;
use crate::answer::Estimate;
use crate::dataset::Dataset;
use crate::error::AskError;
use crate::part::{self, Part};
use crate::row;
use crate::statistics::risk::Scale;
use crate::statistics::standardise::{Cell, Figures, Table};
use crate::words;

/// A side of a game: part of the table of spells is not needed, its source is.
type Side = (String, u64, bool);

/// One side that may be compared.
struct Played {
    stratum: usize,
    fold: u32,
    /// Half points: 0, 1 or 2.
    halves: u64,
    held: bool,
    level: bool,
}

/// The restrainer's score: of all spells, and of those that started with level material.
pub fn scores(
    dataset: &Dataset,
    parts: &[Part],
    held: &[Held],
    k: u8,
    turns: u32,
) -> Result<Vec<Score>, AskError> {
    let (mut any, mut level): (HashSet<Side>, HashSet<Side>) = Default::default();
    for spell in held.iter().filter(|spell| spell.is(k, turns)) {
        let restrainer_is_white = !spell.white;
        let side = (
            parts[spell.part].source.clone(),
            spell.game,
            restrainer_is_white,
        );
        if spell.balance.abs() <= 1 {
            level.insert(side.clone());
        }
        any.insert(side);
    }
    let mut strata: BTreeMap<(String, &'static str, String), usize> = BTreeMap::new();
    let mut sides: Vec<((String, &'static str, String), Played)> = Vec::new();
    let columns = [
        "game",
        "game_id",
        "result",
        "white_rating",
        "black_rating",
        "white_band",
        "black_band",
        "time_class",
    ];
    let games = dataset.parts("games")?;
    for (number, group) in part::groups(&games)? {
        let source = &games[number].source;
        for rows in games[number].read(&columns, group)? {
            let rows = rows?;
            let (game, id) = (rows.numbers("game")?, rows.numbers("game_id")?);
            let (result, class) = (rows.texts("result")?, rows.texts("time_class")?);
            let ratings = [
                rows.optional_numbers("white_rating")?,
                rows.optional_numbers("black_rating")?,
            ];
            let bands = [rows.texts("white_band")?, rows.texts("black_band")?];
            for i in 0..rows.len() {
                let white = match result.get(i) {
                    Some("1-0") => 2,
                    Some("1/2-1/2") => 1,
                    Some("0-1") => 0,
                    _ => continue,
                };
                for (own, other, is_white, halves) in
                    [(0, 1, true, white), (1, 0, false, 2 - white)]
                {
                    let side = (source.clone(), game.at(i), is_white);
                    let stratum = (
                        bands[own].get(i).unwrap_or_default().to_owned(),
                        difference(ratings[own].get(i), ratings[other].get(i)),
                        class.get(i).unwrap_or_default().to_owned(),
                    );
                    strata.insert(stratum.clone(), 0);
                    sides.push((
                        stratum,
                        Played {
                            stratum: 0,
                            fold: (id.at(i) % 64) as u32,
                            halves,
                            held: any.contains(&side),
                            level: level.contains(&side),
                        },
                    ));
                }
            }
        }
    }
    for (number, place) in strata.values_mut().enumerate() {
        *place = number;
    }
    let sides: Vec<Played> = sides
        .into_iter()
        .map(|(stratum, side)| Played {
            stratum: strata[&stratum],
            ..side
        })
        .collect();
    Ok(vec![
        score("all such spells", &sides, |side| side.held),
        score(
            "spells that started with level material (a pawn apart at most)",
            &sides,
            |side| side.level,
        ),
    ])
}

fn score(label: &str, sides: &[Played], held: impl Fn(&Played) -> bool) -> Score {
    // Each side is entered as two trials, of which its half points succeed: the rate is then
    // the mean score, and the standardisation is that of rates.
    let mut cells: HashMap<(usize, u32, bool), Cell> = HashMap::new();
    for side in sides {
        let held = held(side);
        if held || !side.held {
            *cells.entry((side.stratum, side.fold, held)).or_default() += Cell {
                turns: 2,
                outcomes: side.halves,
                over: 0,
            };
        }
    }
    let mut cells: Vec<_> = cells.into_iter().collect();
    cells.sort_unstable_by_key(|(key, _)| *key);
    let mut table = Table::default();
    for ((stratum, fold, held), cell) in cells {
        table.add(stratum, fold, held, cell);
    }
    let figures = table.figures();
    let (spread, free) = table.spread(true);
    let folds = spread.folds.min(free.folds);
    let without_one = table.figures_without_one(|_| true);
    let (least, in_folds, _) = MINIMUM;
    let compared = figures.compared;
    let few =
        compared.held.turns / 2 < least || compared.free.turns / 2 < least || folds < in_folds;
    let too_few = few.then(|| {
        format!(
            "too few games to tell: {} and {} comparable in {} (asked: {least} in {in_folds})",
            words::counted(compared.held.turns / 2, "game side"),
            words::count(compared.free.turns / 2),
            words::counted(u64::from(folds), "fold"),
        )
    });
    let estimate = |of: fn(&Figures) -> f64| {
        let whole = of(&figures);
        let replicates: Vec<f64> = without_one.iter().map(of).collect();
        Estimate {
            value: whole.is_finite().then_some(whole),
            jackknife: (!few)
                .then(|| row::interval(Scale::Plain, whole, &replicates, folds))
                .flatten(),
        }
    };
    Score {
        label: label.to_owned(),
        games: figures.raw.held.turns / 2,
        half_points: figures.raw.held.outcomes,
        compared_games: compared.held.turns / 2,
        comparable_games: compared.free.turns / 2,
        strata: figures.strata,
        score: estimate(Figures::held_rate),
        comparable: estimate(Figures::free_rate),
        difference: estimate(Figures::difference),
        too_few,
    }
}

/// Own rating less the other's (definitions, section 9).
fn difference(own: Option<u64>, other: Option<u64>) -> &'static str {
    let (Some(own), Some(other)) = (own, other) else {
        return "unknown";
    };
    match own as i64 - other as i64 {
        i64::MIN..=-200 => "<=-200",
        -199..=-50 => "-199..-50",
        -49..=49 => "-49..49",
        50..=199 => "50..199",
        200.. => ">=200",
    }
}
