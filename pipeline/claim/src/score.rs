//! What the restrainer scored: the owner's opponent, once a game and colour, against sides
//! of games without such a spell, alike in rating band, rating difference and time class.

use std::collections::BTreeMap;

use rustc_hash::{FxHashMap, FxHashSet};
use serde::{Deserialize, Serialize};

use super::answer::Score;
use super::compare::LEAST;
use super::held::Held;
use hobble_conditions::AskError;
use hobble_conditions::words::{self, number};
use hobble_dataset::Part;
use hobble_dataset::columns::Rows;
use hobble_statistics::LEVEL;
use hobble_statistics::risk::Scale;
use hobble_statistics::standardise::{self, Cell, Figures, Table};
use hobble_terms::fold::fold;

/// Sides of a part's games (game, whether White) that restrained so, and whether they did
/// with level material.
#[derive(Debug, Default)]
pub struct Restrainers(FxHashMap<(u64, bool), bool>);

impl Restrainers {
    /// Notes the side that restrained the piece of a spell.
    pub fn note(&mut self, spell: &Held) {
        let level = self.0.entry((spell.game, !spell.white)).or_default();
        *level |= spell.balance.abs() <= 1;
    }

    /// Notes those of another.
    pub fn add(&mut self, other: Restrainers) {
        for (side, level) in other.0 {
            *self.0.entry(side).or_default() |= level;
        }
    }
}

/// What sides must have alike, in the tables' words: band, rating difference, time class.
type Stratum = (String, String, String);

/// Half points of the sides of a stratum and fold. Each side is entered as two trials, of
/// which its half points succeed: the rate is then the mean score, and the standardisation is
/// that of rates.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize)]
struct Sides {
    /// Restrained so.
    held: Cell,
    /// Restrained so with level material.
    level: Cell,
    /// Did not restrain so.
    free: Cell,
}

/// Half points by stratum and fold.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Scores(#[serde(with = "hobble_conditions::sum::pairs")] BTreeMap<(Stratum, u8), Sides>);

const COLUMNS: [&str; 8] = [
    "game",
    "game_id",
    "result",
    "white_rating",
    "black_rating",
    "white_band",
    "black_band",
    "time_class",
];

impl Scores {
    /// Counts the games of a part, which are those of its spells.
    pub fn of(games: &Part, restrainers: &Restrainers) -> Result<Scores, AskError> {
        let mut scores = Scores::default();
        let mut missing: FxHashSet<u64> = restrainers.0.keys().map(|side| side.0).collect();
        for group in games.groups()? {
            for rows in games.read(&COLUMNS, group)? {
                scores.in_batch(&rows?, restrainers, &mut missing)?;
            }
        }
        match missing.iter().min() {
            None => Ok(scores),
            Some(game) => {
                let what = format!("game {game} of {} has spells but is missing", games.id());
                Err(AskError::bad_table(hobble_terms::Table::Games, what))
            }
        }
    }

    fn in_batch(
        &mut self,
        rows: &Rows,
        restrainers: &Restrainers,
        missing: &mut FxHashSet<u64>,
    ) -> Result<(), AskError> {
        // Bands and time classes by number.
        let mut seen = Vec::new();
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
        let mut sums: FxHashMap<(usize, &str, usize, u8), Sides> = FxHashMap::default();
        for i in 0..rows.len() {
            missing.remove(&game.at(i));
            let Some(white) = result.at(i) else { continue };
            for (own, other, is_white, halves) in [(0, 1, true, white), (1, 0, false, 2 - white)] {
                let difference = difference(ratings[own].get(i), ratings[other].get(i));
                let place = (bands[own].at(i), difference, class.at(i), fold(id.at(i)));
                let sides = sums.entry(place).or_default();
                let cell = Cell {
                    turns: 2,
                    outcomes: halves,
                    over: 0,
                };
                match restrainers.0.get(&(game.at(i), is_white)) {
                    None => sides.free += cell,
                    Some(level) => {
                        sides.held += cell;
                        if *level {
                            sides.level += cell;
                        }
                    }
                }
            }
        }
        for ((band, difference, class, fold), sides) in sums {
            let words = (
                seen[band].clone(),
                difference.to_owned(),
                seen[class].clone(),
            );
            self.add_to((words, fold), sides);
        }
        Ok(())
    }

    fn add_to(&mut self, place: (Stratum, u8), sides: Sides) {
        let sum = self.0.entry(place).or_default();
        sum.held += sides.held;
        sum.level += sides.level;
        sum.free += sides.free;
    }

    /// Adds the counts of another.
    pub fn add(&mut self, other: Scores) {
        for (place, sides) in other.0 {
            self.add_to(place, sides);
        }
    }

    /// The restrainer's score: of all spells, and of those that started with level material.
    pub fn scores(&self) -> Vec<Score> {
        vec![
            self.score("all such spells", |sides| sides.held),
            self.score(
                "spells that started with level material (a pawn apart at most)",
                |sides| sides.level,
            ),
        ]
    }

    fn score(&self, label: &str, held: fn(&Sides) -> Cell) -> Score {
        let mut strata: BTreeMap<&Stratum, usize> =
            self.0.keys().map(|(stratum, _)| (stratum, 0)).collect();
        for (number, place) in strata.values_mut().enumerate() {
            *place = number;
        }
        let mut table = Table::default();
        for ((stratum, fold), sides) in &self.0 {
            for (is_held, cell) in [(true, held(sides)), (false, sides.free)] {
                if cell.turns > 0 {
                    table.add(strata[stratum], u32::from(*fold), is_held, cell);
                }
            }
        }
        of_table(label, &table)
    }
}

fn of_table(label: &str, table: &Table) -> Score {
    let figures = table.figures();
    let (spread, free) = table.spread(true);
    let folds = spread.folds.min(free.folds);
    let without_one = table.figures_without_one(|_| true);
    let compared = figures.compared;
    let few = compared.held.turns / 2 < LEAST.trials
        || compared.free.turns / 2 < LEAST.trials
        || folds < LEAST.folds;
    let too_few = few.then(|| {
        format!(
            "too few games to tell: {} and {} comparable in {} (asked: {} in {})",
            words::counted(compared.held.turns / 2, "game side"),
            words::count(compared.free.turns / 2),
            words::counted(u64::from(folds), "fold"),
            LEAST.trials,
            LEAST.folds,
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
