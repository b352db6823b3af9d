//! What the table `sides` says of each player, for intervals by game and by player.
//!
//! Kept are the measures that a row of `sides` gives, by what splits a side belongs to. Players stand by
//! the hash of their key. Where there are too many for the memory, those whose hashes begin alike are
//! taken together: a group of players is a cluster as good as a player, if there are many.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};
use xxhash_rust::xxh3::xxh3_64;

use super::chances::PARTS;
use super::counts::Place;
use super::file::BandReport;
use super::games::{LETTERS, letter};
use super::measures::{Measure, Split};
use hobble_conditions::AskError;
use hobble_conditions::terms::{Kind, YesNo};
use hobble_dataset::Part;
use hobble_dataset::columns::Rows;
use hobble_statistics::ratio_clusters::{self, Products, TwoWay, two_way};

/// Most players kept, in all levels together: some 60 MB.
const MOST: usize = 1 << 18;

/// The horizon of the losses in `sides`, in moves.
const WITHIN: u32 = 10;

/// Splits by what a side is.
const SPLITS: [Split; 5] = [
    Split::All,
    Split::Band,
    Split::TimeClass,
    Split::Color,
    Split::Eco,
];

/// Events and trials of each measure, in the order of [`Measure::ALL`].
type Counts = [(u64, u64); Measure::COUNT];

/// What is counted of the sides of a level.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
struct Level {
    games: Vec<Products>,
    sides: Vec<Products>,
    nameless: Vec<Products>,
    /// Events and trials of each measure, by player.
    players: BTreeMap<u64, Vec<(u64, u64)>>,
}

/// Sides by level, and in it by player.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
pub struct ByPlayer {
    levels: BTreeMap<Split, BTreeMap<String, Level>>,
    /// Low bits of the hash that are left out.
    left_out: u32,
}

/// Whether a measure of this report is the quotient of sums of columns of `sides`.
fn given(measure: Measure, report: &BandReport) -> bool {
    match measure {
        Measure::LossRiskStandardised => false,
        Measure::SquaresTakenPerMove
        | Measure::ChancesPerGame
        | Measure::ChancesTaken
        | Measure::ChancesAtRandom => true,
        Measure::RestraintsLost | Measure::LossRisk => {
            report.developed == YesNo::Yes && report.within == WITHIN
        }
        _ => report.developed == YesNo::Yes,
    }
}

impl ByPlayer {
    /// Reads a part of the table.
    pub fn read(part: &Part, report: &BandReport, sample: u64) -> Result<ByPlayer, AskError> {
        let columns = Columns::of(report.k);
        let names = columns.names();
        let in_batch =
            |rows: &Rows, out: &mut ByPlayer| in_batch(rows, report, &columns, sample, out);
        part.count(&names, ByPlayer::default, in_batch, ByPlayer::add)
    }

    /// Adds what another counted.
    pub fn add(&mut self, other: ByPlayer) {
        self.leave_out(other.left_out);
        for (split, levels) in other.levels {
            let sums = self.levels.entry(split).or_default();
            for (name, level) in levels {
                sums.entry(name).or_default().add(level, self.left_out);
            }
        }
        self.fit();
    }

    /// Takes players together until there are few enough. How many low bits are left out depends on
    /// who the players are, not on the order in which they come.
    fn fit(&mut self) {
        let count = |by: &ByPlayer| {
            let levels = by.levels.values().flat_map(BTreeMap::values);
            levels.map(|level| level.players.len()).sum::<usize>()
        };
        while count(self) > MOST {
            self.leave_out(self.left_out + 1);
        }
    }

    fn leave_out(&mut self, bits: u32) {
        if bits <= self.left_out {
            return;
        }
        self.left_out = bits;
        for level in self.levels.values_mut().flat_map(BTreeMap::values_mut) {
            for (player, counts) in std::mem::take(&mut level.players) {
                add_player(&mut level.players, player >> bits << bits, &counts);
            }
        }
    }

    /// Whether players were taken together.
    pub fn in_groups(&self) -> bool {
        self.left_out > 0
    }

    /// The standard error of a cell two ways, and who its players are; `None` for a cell that `sides`
    /// does not give.
    pub fn of(&self, place: &Place) -> Option<TwoWay> {
        let level = self.levels.get(&place.split)?.get(&place.level.1)?;
        let at = place.measure as usize;
        if place.kind.is_some() {
            return None;
        }
        let rows = ratio_clusters::Rows {
            games: level.games.get(at)?,
            sides: level.sides.get(at)?,
            nameless: level.nameless.get(at)?,
        };
        let players = level.players.values().filter_map(|counts| counts.get(at));
        two_way(place.measure.scale(), rows, players.copied())
    }

    fn level(&mut self, split: Split, name: &str) -> &mut Level {
        let levels = self.levels.entry(split).or_default();
        if !levels.contains_key(name) {
            levels.insert(name.to_owned(), Level::default());
        }
        levels.entry(name.to_owned()).or_default()
    }
}

fn add_player(players: &mut BTreeMap<u64, Vec<(u64, u64)>>, player: u64, counts: &[(u64, u64)]) {
    let sums = players.entry(player).or_default();
    sums.resize(Measure::COUNT, (0, 0));
    for (sum, count) in sums.iter_mut().zip(counts) {
        sum.0 += count.0;
        sum.1 += count.1;
    }
}

fn add_clusters(sums: &mut Vec<Products>, counts: &Counts) {
    sums.resize(Measure::COUNT, Products::default());
    for (sum, &(events, trials)) in sums.iter_mut().zip(counts) {
        sum.add(events, trials);
    }
}

fn merge(sums: &mut Vec<Products>, counts: &[Products]) {
    sums.resize(Measure::COUNT, Products::default());
    for (sum, count) in sums.iter_mut().zip(counts) {
        sum.merge(count);
    }
}

impl Level {
    fn add(&mut self, other: Level, left_out: u32) {
        merge(&mut self.games, &other.games);
        merge(&mut self.sides, &other.sides);
        merge(&mut self.nameless, &other.nameless);
        for (player, counts) in other.players {
            add_player(&mut self.players, player >> left_out << left_out, &counts);
        }
    }

    fn add_side(&mut self, player: Option<u64>, counts: &Counts) {
        match player {
            Some(player) => add_player(&mut self.players, player, counts),
            None => add_clusters(&mut self.nameless, counts),
        }
    }
}

/// Names of the columns that are added up at some k.
struct Columns {
    spells: Vec<String>,
    restraints: [String; 2],
    held: Vec<String>,
    developed: Vec<String>,
    held_lost: String,
    turns: [String; 3],
}

impl Columns {
    fn of(k: u8) -> Columns {
        let ends = ["lost", "traded", "sold", "freed", "game_over"];
        Columns {
            spells: ends.iter().map(|end| format!("end_{end}_{k}")).collect(),
            restraints: [format!("restraints_{k}"), format!("restraints_lost_{k}")],
            held: Kind::ALL
                .iter()
                .map(|kind| format!("held_{kind}_{k}"))
                .collect(),
            developed: Kind::ALL
                .iter()
                .map(|kind| format!("developed_turns_{kind}"))
                .collect(),
            held_lost: format!("held_lost_{k}"),
            turns: [
                format!("spell_turns_{k}"),
                format!("end_freed_{k}"),
                format!("end_lost_{k}"),
            ],
        }
    }

    fn names(&self) -> Vec<&str> {
        let fixed = [
            "game",
            "color",
            "player_key",
            "band",
            "time_class",
            "eco",
            "turns",
            "taken",
            "chances",
            "chances_taken",
            "chances_at_random",
        ];
        let of_k = self.spells.iter().chain(&self.restraints).chain(&self.held);
        let of_k = of_k
            .chain(&self.developed)
            .chain([&self.held_lost, &self.turns[0]]);
        fixed.into_iter().chain(of_k.map(String::as_str)).collect()
    }
}

fn in_batch(
    rows: &Rows,
    report: &BandReport,
    columns: &Columns,
    sample: u64,
    out: &mut ByPlayer,
) -> Result<(), AskError> {
    let game = rows.fours("game")?;
    let player = rows.texts("player_key")?;
    let texts = [
        rows.texts("band")?,
        rows.texts("time_class")?,
        rows.texts("color")?,
    ];
    let eco = rows.texts("eco")?.read_as(letter);
    let counts = Sums::of(rows, columns)?;
    let level = |row: usize, split: Split| match split {
        Split::All => Some("all"),
        Split::Band => texts[0].get(row),
        Split::TimeClass => texts[1].get(row),
        Split::Color => texts[2].get(row),
        _ => LETTERS.get(usize::from(eco.at(row))).copied(),
    };
    // The two rows of a game stand one after the other, in one batch.
    let mut row = 0;
    while row < rows.len() {
        let is_pair = row + 1 < rows.len() && game[row + 1] == game[row];
        let sides: Vec<(usize, Counts)> = (row..=row + usize::from(is_pair))
            .map(|row| (row, counts.at(row, report, sample)))
            .collect();
        for split in SPLITS {
            let mut names = Vec::new();
            for (row, counts) in &sides {
                let null = || rows.bad(format!("column \"{split}\" holds a null"));
                let name = level(*row, split).ok_or_else(null)?;
                let key = player.get(*row).map(|key| xxh3_64(key.as_bytes()));
                out.level(split, name).add_side(key, counts);
                names.push((name, key));
            }
            match (names.as_slice(), sides.as_slice()) {
                ([one, other], [(_, a), (_, b)]) if one.0 == other.0 => {
                    let mut both = *a;
                    for (sum, count) in both.iter_mut().zip(b) {
                        sum.0 += count.0;
                        sum.1 += count.1;
                    }
                    let level = out.level(split, one.0);
                    add_clusters(&mut level.games, &both);
                    // Where both sides have one key they are one row of a game and a player.
                    let together = [both];
                    let apart = [*a, *b];
                    let is_one = one.1.is_some() && one.1 == other.1;
                    let clusters = if is_one { &together[..] } else { &apart[..] };
                    for counts in clusters {
                        add_clusters(&mut level.sides, counts);
                    }
                }
                _ => {
                    for ((name, _), (_, counts)) in names.iter().zip(&sides) {
                        let level = out.level(split, name);
                        add_clusters(&mut level.games, counts);
                        add_clusters(&mut level.sides, counts);
                    }
                }
            }
        }
        row += sides.len();
    }
    out.fit();
    Ok(())
}

/// Columns of a batch.
struct Sums<'a> {
    spells: Vec<&'a [i32]>,
    restraints: [&'a [i32]; 2],
    held: Vec<&'a [i32]>,
    developed: Vec<&'a [i32]>,
    held_lost: &'a [i32],
    spell_turns: &'a [i32],
    freed: &'a [i32],
    lost: &'a [i32],
    turns: &'a [i32],
    taken: &'a [i32],
    chances: [&'a [i32]; 3],
}

impl<'a> Sums<'a> {
    fn of(rows: &'a Rows, columns: &Columns) -> Result<Sums<'a>, AskError> {
        let all = |names: &[String]| -> Result<Vec<&'a [i32]>, AskError> {
            let columns = names.iter().map(|name| Ok(rows.signed_fours(name)?));
            columns.collect()
        };
        Ok(Sums {
            spells: all(&columns.spells)?,
            restraints: [
                rows.signed_fours(&columns.restraints[0])?,
                rows.signed_fours(&columns.restraints[1])?,
            ],
            held: all(&columns.held)?,
            developed: all(&columns.developed)?,
            held_lost: rows.signed_fours(&columns.held_lost)?,
            spell_turns: rows.signed_fours(&columns.turns[0])?,
            freed: rows.signed_fours(&columns.turns[1])?,
            lost: rows.signed_fours(&columns.turns[2])?,
            turns: rows.signed_fours("turns")?,
            taken: rows.signed_fours("taken")?,
            chances: [
                rows.signed_fours("chances")?,
                rows.signed_fours("chances_taken")?,
                rows.signed_fours("chances_at_random")?,
            ],
        })
    }

    /// Events and trials of a row, for the measures that the report takes from it.
    fn at(&self, row: usize, report: &BandReport, sample: u64) -> Counts {
        let one = |column: &[i32]| u64::try_from(column[row]).unwrap_or(0);
        let sum = |columns: &[&[i32]]| columns.iter().map(|column| one(column)).sum::<u64>();
        let (spells, held) = (sum(&self.spells), sum(&self.held));
        let restraints = one(self.restraints[0]);
        let chances = one(self.chances[0]);
        let mut counts = [(0, 0); Measure::COUNT];
        for measure in Measure::ALL.into_iter().filter(|one| given(*one, report)) {
            counts[measure as usize] = match measure {
                Measure::SpellsPerGame => (spells, 1),
                Measure::RestraintsPerGame => (restraints, 1),
                Measure::RestraintsLost => (one(self.restraints[1]), restraints),
                Measure::SquaresTakenPerMove => (one(self.taken), one(self.turns)),
                Measure::HeldShare => (held, sum(&self.developed)),
                Measure::HeldTurnsPerTurn => (one(self.spell_turns), one(self.turns)),
                Measure::LossRisk => (one(self.held_lost), held),
                Measure::LossRiskStandardised => (0, 0),
                Measure::ReleaseRate => (one(self.freed), one(self.spell_turns)),
                Measure::SpellsLost => (one(self.lost), spells),
                Measure::ChancesPerGame => (chances * sample, 1),
                Measure::ChancesTaken => (one(self.chances[1]), chances),
                Measure::ChancesAtRandom => (one(self.chances[2]), chances * PARTS),
            };
        }
        counts
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn one(player: u64, events: u64) -> ByPlayer {
        let mut by = ByPlayer::default();
        let mut counts = [(0, 0); Measure::COUNT];
        counts[0] = (events, 2);
        by.level(Split::All, "all").add_side(Some(player), &counts);
        by
    }

    /// However the parts are added up, the same players are taken together.
    #[test]
    fn players_taken_together_do_not_depend_on_the_order() {
        let players: Vec<ByPlayer> = (0..300_000_u64)
            .map(|n| one(xxh3_64(&(n % 280_000).to_le_bytes()), n % 3))
            .collect();
        let sum = |order: &mut dyn Iterator<Item = &ByPlayer>| {
            let mut sum = ByPlayer::default();
            for level in order.flat_map(|by| by.levels[&Split::All].values()) {
                let left_out = sum.left_out;
                sum.level(Split::All, "all").add(level.clone(), left_out);
            }
            sum.fit();
            sum
        };
        let (up, down) = (sum(&mut players.iter()), sum(&mut players.iter().rev()));
        assert!(up.in_groups());
        let of = |by: &ByPlayer| by.levels[&Split::All]["all"].players.clone();
        assert_eq!(of(&up), of(&down));
        assert!(of(&up).len() <= MOST && of(&up).len() > MOST / 4);
        let trials: u64 = of(&up).values().map(|counts| counts[0].1).sum();
        assert_eq!(trials, 600_000);
    }
}
