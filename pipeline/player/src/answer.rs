//! What is said of a player, as plain data: what every rendering is made from.
//!
//! Field names are stable: they are the keys of `--format json`. Rates and shares are never
//! percent. `null` means that the figure does not exist for these counts, or that there are
//! too few games to give it.

mod games;

use serde::{Deserialize, Serialize};

pub use crate::too_few::TooFew;
pub use games::{Board, Finding, GameToSee, MissedChance};
use hobble_conditions::QuestionText;
use hobble_conditions::words::{count, counted};
use hobble_dataset::DatasetSummary;
use hobble_report::Method;
use hobble_statistics::{Estimate, Interval};

/// Version of the shape of [`HabitsAnswer`].
pub const FORMAT: u32 = 4;

/// What is said of a player.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct HabitsAnswer {
    /// Version of this shape: [`FORMAT`].
    pub format: u32,
    /// Version of the program that answered.
    pub hobble: String,
    /// Version of the definitions the tables were made with.
    pub definitions: u32,
    /// The question's own words.
    pub question: QuestionText,
    /// What it was asked with.
    pub parameters: Parameters,
    /// Whose games these are.
    pub player: Found,
    /// Whom they are compared with.
    pub peers: PeersFound,
    /// What the tables of the player's games were made from.
    pub dataset: DatasetSummary,
    /// What to act on first, with boards; at most three.
    pub findings: Vec<Finding>,
    /// By what rule they were chosen.
    pub findings_rule: String,
    /// What stands out, in full sentences; never more than the intervals allow.
    pub verdicts: Vec<String>,
    /// The figures, in sections.
    pub sections: Vec<Section>,
    /// Some of the figures by colour and by opening.
    pub groups: Vec<Group>,
    /// How long pieces were left held.
    pub left: Left,
    /// Replies that would have freed pieces that were lost.
    pub replies: Replies,
    /// What the player could have done about restraining moves of the opponents; `null` without
    /// the tables `decisions` and `moves`.
    pub prevention: Option<Prevention>,
    /// The figures over time.
    pub trend: Trend,
    /// Games to look at.
    pub games: Vec<GameToSee>,
    /// By what rule they were chosen.
    pub games_rule: String,
    /// Chances to restrain that the player did not take, to look at; empty without the tables
    /// `decisions` and `moves`.
    pub missed_chances: Vec<MissedChance>,
    /// By what rule they were chosen.
    pub missed_chances_rule: String,
    /// How each figure was worked out, with its published source.
    pub methods: Vec<Method>,
    /// Cautions and remarks on the whole, in full sentences.
    pub notes: Vec<String>,
}

/// What was asked with.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Parameters {
    /// A piece is held where it has this many safe squares or fewer.
    pub k: u8,
    /// Moves within which a held piece is lost for it to count.
    pub within: u32,
    /// Turns from which a piece counts as left held for long.
    pub long: u32,
    /// Least games of the player for an interval to be given.
    pub minimum_games: u64,
    /// Least games in which the counted thing happened for an interval to be given.
    pub minimum_event_games: u64,
    /// Most turns whose replies are played out.
    pub replies_turns: usize,
    /// Confidence level of every interval.
    pub level: f64,
}

/// A spelling of a name, and in how many games it stands.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Spelling {
    /// The spelling.
    pub spelling: String,
    /// Games with White.
    pub white: u64,
    /// Games with Black.
    pub black: u64,
}

/// How a name is spelled.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Spellings {
    /// Spellings counted, the most frequent first.
    pub counted: Vec<Spelling>,
    /// Spellings that may mean the player by their initials, with their games; not counted.
    pub not_counted: Vec<(String, u64)>,
}

/// Whose games these are.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Found {
    /// The name asked for.
    pub name: String,
    /// The aliases given.
    pub aliases: Vec<String>,
    /// How the name is spelled.
    pub spellings: Spellings,
    /// Games counted.
    pub games: u64,
    /// Of them with White.
    pub white: u64,
    /// Games in which both sides have the name, left out.
    pub both_sides: u64,
    /// Rating band and time class, with the games in each.
    pub strata: Vec<(String, String, u64)>,
}

/// Whom the player is compared with.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PeersFound {
    /// Where they come from.
    pub from: PeersFrom,
    /// Sides (a game has two) that are compared with.
    pub sides: u64,
    /// Different spellings of names among them.
    pub names: u64,
    /// Games of the player in strata without enough peers.
    pub games_without: u64,
    /// What their tables were made from, where they are others than the player's.
    pub dataset: Option<DatasetSummary>,
}

/// Where peers come from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum PeersFrom {
    /// Tables of their own.
    OwnTables,
    /// A file of norms.
    Norms,
    /// Other games of the same tables.
    SameTables,
    /// The opponents in the player's own games: no other games cover enough of them.
    Opponents,
}

impl PeersFrom {
    /// What they are called in a sentence.
    pub const fn word(self) -> &'static str {
        match self {
            PeersFrom::OwnTables | PeersFrom::SameTables | PeersFrom::Norms => "peers",
            PeersFrom::Opponents => "opponents",
        }
    }
}

/// How a figure is counted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Unit {
    /// So many a game.
    PerGame,
    /// A share, from 0 to 1.
    Share,
    /// Seconds a turn; its events are milliseconds.
    Seconds,
}

impl Unit {
    /// What an event comes to.
    pub(crate) const fn each(self) -> f64 {
        match self {
            Unit::Seconds => 0.001,
            Unit::PerGame | Unit::Share => 1.0,
        }
    }
}

/// A counted figure of one side.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Figure {
    /// How often it happened.
    pub events: u64,
    /// In how many games (per game) or out of how many (share).
    pub base: u64,
    /// The figure; for peers in the player's mix of strata. `null` where there are too few
    /// games to tell.
    pub value: Option<f64>,
    /// Its interval.
    pub interval: Option<Interval>,
}

/// A figure of the player beside that of peers.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Measure {
    /// Name for machines, as `held_by_own_moves`.
    pub name: String,
    /// What it is, in words.
    pub label: String,
    /// How it is counted.
    pub unit: Unit,
    /// What the base is, in words.
    pub of: String,
    /// The player's.
    pub you: Figure,
    /// The peers'.
    pub peers: Figure,
    /// The player's ÷ the peers', over strata that have peers.
    pub ratio: Estimate,
    /// The player's − the peers', over the same.
    pub difference: Estimate,
    /// Share of the player's base in strata with enough peers; the comparison is of these alone.
    pub covered: Option<f64>,
    /// Whether it is counted in the sample of turns; not in the JSON.
    #[serde(skip)]
    pub sampled: bool,
    /// p-value of the ratio being 1, adjusted for the number of figures tried (Benjamini and
    /// Hochberg).
    pub adjusted: Option<f64>,
    /// Whether it is named among what was found.
    pub stands_out: bool,
    /// Why there is no interval of the comparison; begins with `too few games to tell`, `too few
    /// peers` or `no peers`.
    pub too_few: Option<TooFew>,
    /// What it says in a sentence, never more than the interval allows.
    pub verdict: String,
}

/// Figures that belong together.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Section {
    /// What they are about.
    pub title: String,
    /// The figures.
    pub measures: Vec<Measure>,
}

/// Some of the figures for a part of the games.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Group {
    /// What the games are parted by: `colour` or `opening`.
    pub by: String,
    /// Its value, in words.
    pub label: String,
    /// Games of the player.
    pub games: u64,
    /// The figures.
    pub measures: Vec<Measure>,
}

/// How long pieces were left held.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Left {
    /// Median number of turns of the player's spells.
    pub you: Option<u64>,
    /// The same of the peers', each stratum weighted by the player's games in it.
    pub peers: Option<u64>,
}

/// Replies that would have freed pieces that were lost.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Replies {
    /// Why nothing was played out, where that is so.
    pub left_out: Option<String>,
    /// Spells that ended with the piece lost.
    pub lost_spells: u64,
    /// Those whose replies were played out.
    pub spells: u64,
    /// Games they stand in.
    pub games: u64,
    /// Turns of theirs.
    pub turns: u64,
    /// Turns at which a reply would have freed the piece.
    pub there: u64,
    /// Of those, turns at which one was played.
    pub played: u64,
    /// Of those, turns at which none was.
    pub missed: u64,
    /// Why the share is not given; not in the JSON.
    #[serde(skip)]
    pub too_few: Option<TooFew>,
    /// `missed / turns`.
    pub share: Option<f64>,
    /// Its interval, by the delete-a-game jackknife.
    pub interval: Option<Interval>,
    /// In one sentence.
    pub verdict: String,
}

impl Replies {
    /// In one sentence for readers.
    pub(crate) fn shown(&self) -> String {
        match self.too_few {
            Some(few) => self.in_words(Some(few.plainly())),
            None => self.verdict.clone(),
        }
    }

    /// In one sentence; `too_few` says why the share is not given.
    pub(crate) fn in_words(&self, too_few: Option<String>) -> String {
        if self.turns == 0 {
            return "No developed piece was lost while held, so there was no reply to miss."
                .to_owned();
        }
        let share = match (too_few, self.interval) {
            (Some(few), _) => format!(" ({few})"),
            (None, Some(i)) => format!(
                " ({:.0}% to {:.0}% of turns)",
                i.low * 100.0,
                i.high * 100.0
            ),
            (None, None) => String::new(),
        };
        format!(
            "A freeing reply was there and was not played in {} of {}, of {} that {} then lost{share}.",
            count(self.missed),
            counted(self.turns, "turn"),
            counted(self.spells, "held piece"),
            if self.spells == 1 { "was" } else { "were" },
        )
    }
}

/// What the player could have done about restraining moves of the opponents: quiet moves that give
/// nothing away.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Prevention {
    /// Restraining moves of the opponents in the sample of turns.
    pub restraining: u64,
    /// Those that were looked at.
    pub looked_at: u64,
    /// Games they stand in.
    pub games: u64,
    /// Those that a quiet move just before would have prevented, of those with a move before.
    pub preventable: Kept,
    /// Those after which a quiet move would have freed the piece at once, of those with a reply.
    pub freeable: Kept,
    /// Those after which one was played, of the same.
    pub freed: Kept,
    /// In one sentence.
    pub verdict: String,
}

/// A share of restraining moves.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Kept {
    /// How many.
    pub count: u64,
    /// Of how many.
    pub of: u64,
    /// `count / of`; `null` where there are too few games.
    pub share: Option<f64>,
    /// Its interval, by the delete-a-game jackknife.
    pub interval: Option<Interval>,
    /// Why the share is not given; not in the JSON.
    #[serde(skip)]
    pub too_few: Option<TooFew>,
}

/// The figures over time.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Trend {
    /// `year` or `quarter`.
    pub by: String,
    /// The periods, oldest first.
    pub bins: Vec<Bin>,
    /// Games whose date does not give the period.
    pub undated: u64,
    /// In one sentence.
    pub verdict: String,
}

/// One period.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Bin {
    /// Its name, as `2024` or `2023-Q3 to 2024-Q1`.
    pub label: String,
    /// Games in it.
    pub games: u64,
    /// Held pieces a game.
    pub held: Figure,
    /// Share of them lost within the horizon.
    pub lost: Figure,
}
