//! Rows of the table `turns` as a comparison looks at them.

use arrow_array::{BooleanArray, Int16Array};
use hobble_conditions::AskError;
use hobble_conditions::filter::{self, Condition, Mask};
use hobble_conditions::terms::{Kind, MAX_K, Outcome};
use hobble_dataset::columns::{Numbers, Read, Rows, boolean};
use hobble_dataset::part::{Group, Part, run_length};
use hobble_terms::Fate;
use rayon::prelude::*;

use super::outcome::{ClaimOutcome, MEASURED, Values};
use super::row_words::Words;
use hobble_conditions::terms::{Phase, RatingDiff, TimeClass};

/// A piece at a turn of its owner.
#[derive(Debug, Clone, Copy)]
pub struct Turn {
    /// Number of the game in its source.
    pub game: u32,
    /// Its fold.
    pub fold: u8,
    /// Position of the turn.
    pub ply: u16,
    /// Whether its turn is in the table because a piece of its side is at its landmark: such
    /// turns are all there, the others only where they are in the sample.
    pub landmark: bool,
    /// Whether its turn is in the sample.
    pub sampled: bool,
    /// Kind of the piece.
    pub kind: Kind,
    /// Phase of the game.
    pub phase: Phase,
    /// Time class of the game.
    pub time_class: TimeClass,
    /// Rating band, by its number, as the words of the table are read.
    pub band: u64,
    /// Its owner's rating less the opponent's.
    pub rating_diff: RatingDiff,
    /// Owner's material less the opponent's.
    pub balance: i16,
    /// Safe squares.
    pub safe: u8,
    /// Safe squares at its owner's last turn, and at the one before that.
    pub before: [Option<u8>; 2],
    /// Whether an enemy unit attacks it.
    pub attacked: bool,
    /// Whether one did at its owner's last turn.
    pub attacked_last: bool,
    /// Whether an own unit defends it.
    pub defended: bool,
    /// Other pieces of its side that are held.
    pub others_held: u8,
    /// Whether its owner is White.
    pub white: bool,
    /// Rows of the board behind it, seen from its owner: 0 to 7.
    pub forward: u8,
    /// Whether it stands on the first or last file.
    pub at_edge: bool,
    /// Turns held so far in the spell at k = `safe`; 0 where it has more than 4 squares.
    pub held_turns: u16,
    /// Turns restrained so far at each k, from the landmark; 0 where it is not.
    pub restrained: [u16; 5],
    /// Safe squares that the ply which restrained it took; 0 where none did.
    pub taken: u8,
    /// Plies from here to its capture, and what that was.
    pub captured: Option<(u16, Fate)>,
    /// Plies from here to the loss of another piece of its side.
    pub others_lost: Option<u16>,
    /// What became of its side: the outcomes that are measured.
    pub side: [Option<u32>; MEASURED],
    /// The filters that pass it, a bit each.
    pub passes: u32,
}

/// Number of the filter that passes the claim's own pieces.
pub const OWN: u32 = 0;

/// Number of the filter that passes free pieces beside them.
pub const FREE: u32 = 1;

impl Turn {
    /// Whether the filter of this number passes it.
    pub fn passes(&self, filter: u32) -> bool {
        self.passes >> filter & 1 == 1
    }

    /// The greatest k at which a piece is free beside restrained ones: it has more squares now and
    /// had more at its owner's last turn, at which it was not attacked, as they were not.
    pub fn free_beside_restrained(&self) -> Option<u8> {
        (!self.attacked_last).then(|| self.free()).flatten()
    }

    /// The greatest k at which it has more squares now and had more at its owner's last turn.
    pub fn free(&self) -> Option<u8> {
        let squares = self.safe.min(self.before[0]?);
        squares.checked_sub(1).map(|most| most.min(MAX_K))
    }

    /// Whether the counted outcome came within so many moves.
    pub fn met(&self, outcome: Outcome, within: u32) -> bool {
        self.captured.is_some_and(|(plies, fate)| {
            u32::from(plies) <= 2 * within
                && match outcome {
                    Outcome::Lost => fate == Fate::Lost,
                    Outcome::Traded => fate == Fate::Traded,
                    Outcome::Sold => fate == Fate::Sold,
                    Outcome::Captured => true,
                }
        })
    }
}

/// Counts the turns of a part that one of the filters passes, in a few long runs of row groups: each run has
/// most strata of its neighbours, and its counts are made by itself.
///
/// # Errors
///
/// Where the table is unreadable or not of its schema.
pub fn by_runs<'a, T: Default + Send + 'a>(
    filters: &'a [Vec<Condition<'a>>],
    side: &'a [(ClaimOutcome, u32)],
    part: &'a Part,
    count: impl Fn(&Turn, &mut T) + Sync + Send + 'a,
) -> Result<impl ParallelIterator<Item = Result<T, AskError>> + 'a, AskError> {
    let groups = part.groups()?;
    let runs = groups.chunks(2 * run_length(groups.len()));
    let runs: Vec<Vec<Group>> = runs.map(<[Group]>::to_vec).collect();
    Ok(runs.into_par_iter().map(move |run| {
        let mut counted = T::default();
        for group in run {
            for_each(filters, side, part, group, |turn| count(turn, &mut counted))?;
        }
        Ok(counted)
    }))
}

/// Columns that every comparison reads.
const COLUMNS: [&str; 30] = [
    "kind",
    "phase",
    "time_class",
    "band",
    "game",
    "fold",
    "ply",
    "landmark",
    "sampled",
    "color",
    "square",
    "rating_diff",
    "balance",
    "safe",
    "safe_last",
    "safe_before_last",
    "attackers",
    "attacked_last",
    "defenders",
    "others_held",
    "held_turns",
    "restrained_0",
    "restrained_1",
    "restrained_2",
    "restrained_3",
    "restrained_4",
    "fate",
    "fate_ply",
    "others_lost_ply",
    "restrained_taken",
];

/// Hands every row of a group that passes one of the filters, 32 at most, to `each`, in the order of
/// the table. A filter is a list of conditions.
///
/// # Errors
///
/// Where the table is unreadable or not of its schema.
pub fn for_each(
    filters: &[Vec<Condition<'_>>],
    side: &[(ClaimOutcome, u32)],
    part: &Part,
    group: Group,
    mut each: impl FnMut(&Turn),
) -> Result<(), AskError> {
    let asked = filters.iter();
    let mut columns: Vec<_> = asked.flat_map(|asked| filter::columns(asked)).collect();
    columns.extend(COLUMNS);
    columns.extend(side.iter().flat_map(|(outcome, _)| outcome.columns()));
    columns.sort_unstable();
    columns.dedup();
    for rows in part.read(&columns, group)? {
        let rows = rows?;
        let masks = filters.iter().map(|asked| Mask::of(&rows, asked));
        let masks: Vec<Mask> = masks.collect::<Result<_, _>>()?;
        let of = Columns::of(&rows, side)?;
        let any = masks
            .iter()
            .fold(Mask::none(&rows), |any, mask| any.or(mask));
        for row in any.rows() {
            let bits = (0..).zip(&masks);
            let passes = bits.fold(0, |all, (bit, mask)| {
                all | u32::from(mask.passes(row)) << bit
            });
            each(&of.turn(&rows, row, passes)?);
        }
    }
    Ok(())
}

/// The columns of a batch.
struct Columns<'a> {
    words: Words<'a>,
    fate: Read<'a, Option<Fate>>,
    rating_diff: Read<'a, Option<RatingDiff>>,
    white: Read<'a, bool>,
    square: Read<'a, Option<(u8, u8)>>,
    flags: [&'a BooleanArray; 3],
    game: Numbers<'a>,
    fold: &'a [u8],
    ply: &'a [u16],
    balance: &'a Int16Array,
    bytes: [&'a [u8]; 4],
    before: [Numbers<'a>; 2],
    held_turns: Numbers<'a>,
    taken: Numbers<'a>,
    restrained: [Numbers<'a>; 5],
    plies: [Numbers<'a>; 2],
    side: Vec<Values<'a>>,
}

impl<'a> Columns<'a> {
    fn of(rows: &'a Rows, side: &[(ClaimOutcome, u32)]) -> Result<Columns<'a>, AskError> {
        let number = |name: &str| rows.optional_numbers(name);
        Ok(Columns {
            words: Words::of(rows)?,
            fate: rows.texts("fate")?.read_as(|word| Fate::from_name(word?)),
            rating_diff: rows
                .texts("rating_diff")?
                .read_as(|word| RatingDiff::from_name(word?)),
            white: rows.texts("color")?.any_of(["white"]),
            square: rows.texts("square")?.read_as(|word| square(word?)),
            flags: [
                rows.booleans("landmark")?,
                rows.booleans("sampled")?,
                rows.optional_booleans("attacked_last")?,
            ],
            game: rows.numbers("game")?,
            fold: rows.bytes("fold")?,
            ply: rows.pairs("ply")?,
            balance: rows.signed("balance")?,
            bytes: [
                rows.bytes("safe")?,
                rows.bytes("attackers")?,
                rows.bytes("defenders")?,
                rows.bytes("others_held")?,
            ],
            before: [number("safe_last")?, number("safe_before_last")?],
            held_turns: number("held_turns")?,
            taken: number("restrained_taken")?,
            restrained: [
                number("restrained_0")?,
                number("restrained_1")?,
                number("restrained_2")?,
                number("restrained_3")?,
                number("restrained_4")?,
            ],
            plies: [number("fate_ply")?, number("others_lost_ply")?],
            side: side
                .iter()
                .map(|&(outcome, moves)| Values::of(rows, outcome, moves))
                .collect::<Result<_, _>>()?,
        })
    }

    fn turn(&self, rows: &Rows, row: usize, passes: u32) -> Result<Turn, AskError> {
        let invalid = |what: &str| rows.bad(format!("row {}: invalid {what}", rows.place(row)));
        let (kind, phase, time_class, band) = self.words.at(row)?;
        let fate = self.fate.at(row).ok_or_else(|| invalid("fate"))?;
        let rating_diff = self.rating_diff.at(row);
        let (file, rank) = self.square.at(row).ok_or_else(|| invalid("square"))?;
        let [safe, attackers, defenders, others_held] = self.bytes.map(|bytes| bytes[row]);
        let ply = self.ply[row];
        let after = |plies: &Numbers<'_>| plies.get(row).map(|at| (at as u16).saturating_sub(ply));
        let [captured, others_lost] = self.plies.each_ref().map(after);
        let turns = |turns: &Numbers<'_>| turns.get(row).unwrap_or(0) as u16;
        Ok(Turn {
            game: self.game.at(row) as u32,
            fold: self.fold[row],
            ply,
            landmark: self.flags[0].value(row),
            sampled: self.flags[1].value(row),
            kind,
            phase,
            time_class,
            band,
            rating_diff: rating_diff.ok_or_else(|| invalid("rating difference"))?,
            balance: self.balance.value(row),
            safe,
            before: self
                .before
                .each_ref()
                .map(|column| column.get(row).map(|squares| squares as u8)),
            attacked: attackers > 0,
            attacked_last: boolean(self.flags[2], row).unwrap_or(false),
            defended: defenders > 0,
            others_held,
            white: self.white.at(row),
            forward: if self.white.at(row) { rank } else { 7 - rank },
            at_edge: file == 0 || file == 7,
            held_turns: turns(&self.held_turns),
            restrained: self.restrained.each_ref().map(turns),
            taken: self.taken.get(row).unwrap_or(0) as u8,
            captured: captured
                .filter(|_| fate != Fate::Survived)
                .map(|plies| (plies, fate)),
            others_lost,
            side: std::array::from_fn(|place| self.side.get(place)?.at(row)),
            passes,
        })
    }
}

/// File and row of a square, both from 0.
fn square(name: &str) -> Option<(u8, u8)> {
    let [file, rank] = name.as_bytes() else {
        return None;
    };
    let inside = |from: u8, byte: &u8| byte.checked_sub(from).filter(|at| *at < 8);
    Some((inside(b'a', file)?, inside(b'1', rank)?))
}
