//! What the restrainer scored: the owner's opponent, once a game and colour, against sides
//! of games without such a spell, alike in rating band, rating difference and time class.

use std::collections::HashMap;

use rustc_hash::FxHashMap;

use super::answer::Score;
use super::compare::LEAST;
use super::held::Held;
use crate::error::AskError;
use crate::words::{self, number};
use hobble_dataset::Dataset;
use hobble_dataset::part::{self, Part};
use hobble_statistics::LEVEL;
use hobble_statistics::risk::Scale;
use hobble_statistics::standardise::{self, Cell, Figures, Table};
use hobble_terms::fold::fold;

/// Sides of a source's games (game, whether White) that restrained so, and whether they did
/// with level material.
type Sides = FxHashMap<(u64, bool), bool>;

/// What sides must have alike: band, rating difference, time class; words by their number.
type Stratum = (usize, &'static str, usize);

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
    let mut restrainers: HashMap<&str, Sides> = HashMap::new();
    for spell in held.iter().filter(|spell| spell.is(k, turns)) {
        let of_source = restrainers.entry(&parts[spell.part].source).or_default();
        let restrainer_is_white = !spell.white;
        let level = of_source.entry((spell.game, restrainer_is_white));
        *level.or_default() |= spell.balance.abs() <= 1;
    }
    let none = Sides::default();
    // Bands and time classes by number, and the sides with the number of their stratum.
    let (mut seen, mut strata) = (Vec::new(), Vec::<Stratum>::new());
    let mut numbers: FxHashMap<Stratum, usize> = FxHashMap::default();
    let mut sides: Vec<Played> = Vec::new();
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
    for (at, group) in part::groups(&games)? {
        let restrainers = restrainers.get(games[at].source.as_str());
        let restrainers = restrainers.unwrap_or(&none);
        for rows in games[at].read(&columns, group)? {
            let rows = rows?;
            let (game, id) = (rows.numbers("game")?, rows.numbers("game_id")?);
            let result = rows.texts("result")?.read_as(|word| match word {
                Some("1-0") => Some(2),
                Some("1/2-1/2") => Some(1),
                Some("0-1") => Some(0),
                _ => None,
            });
            let ratings = [
                rows.optional_numbers("white_rating")?,
                rows.optional_numbers("black_rating")?,
            ];
            let mut numbered = |name: &str| {
                let texts = rows.texts(name)?;
                let read = texts.read_as(|word| number(&mut seen, word.unwrap_or_default()));
                Ok::<_, AskError>(read)
            };
            let bands = [numbered("white_band")?, numbered("black_band")?];
            let class = numbered("time_class")?;
            for i in 0..rows.len() {
                let Some(white) = result.at(i) else { continue };
                for (own, other, is_white, halves) in
                    [(0, 1, true, white), (1, 0, false, 2 - white)]
                {
                    let stratum = (
                        bands[own].at(i),
                        difference(ratings[own].get(i), ratings[other].get(i)),
                        class.at(i),
                    );
                    let stratum = *numbers.entry(stratum).or_insert_with(|| {
                        strata.push(stratum);
                        strata.len() - 1
                    });
                    let held = restrainers.get(&(game.at(i), is_white)).copied();
                    sides.push(Played {
                        stratum,
                        fold: fold(id.at(i)).into(),
                        halves,
                        held: held.is_some(),
                        level: held == Some(true),
                    });
                }
            }
        }
    }
    // Numbered in the order of their words, whatever order the games come in.
    let mut sorted: Vec<usize> = (0..strata.len()).collect();
    sorted.sort_by_key(|&number| {
        let (band, difference, class) = strata[number];
        (seen[band].clone(), difference, seen[class].clone())
    });
    let mut places = vec![0; strata.len()];
    for (place, &number) in sorted.iter().enumerate() {
        places[number] = place;
    }
    for side in &mut sides {
        side.stratum = places[side.stratum];
    }
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
    let mut cells: FxHashMap<(usize, u32, bool), Cell> = FxHashMap::default();
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
    let (least, in_folds) = (LEAST.trials, LEAST.folds);
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
    let whole = (&figures, without_one.as_slice());
    let estimate = |of| standardise::estimate(Scale::Plain, of, whole, folds, LEVEL, !few);
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
