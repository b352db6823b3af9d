//! Turns with exactly one restraining move, from the table `decisions`.

use hobble_conditions::AskError;
use hobble_conditions::filter::{self, Condition, Mask};
use hobble_dataset::columns::Rows;
use hobble_dataset::part::Part;
use hobble_dataset::{Dataset, PartId};
use hobble_examples::seats::Seats;
use hobble_terms::{Fate, Kind, Phase, Table, landmark_k};
use shakmaty::Square;
use xxhash_rust::xxh3::xxh3_64;

use crate::difficulty::Tally;
use crate::wanted::Wanted;

/// Squares that the move takes at least, pawns that one side is ahead at most, and plies that the
/// game goes on at least, for a turn to be taken before others.
const CLEAR_TAKEN: u8 = 2;
const CLEAR_PLIES: u16 = 10;
const CLEAR_BALANCE: i16 = 2;

/// A turn that may be shown.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Turn {
    /// The part its game stands in.
    pub part: PartId,
    /// Number of the game in its source.
    pub game: u64,
    /// Plies played before.
    pub ply: u32,
    /// Slot of the piece.
    pub piece: u8,
    /// Kind of the piece.
    pub kind: Kind,
    /// Where it stands.
    pub square: Square,
    /// Its safe squares.
    pub safe: u8,
    /// Safe squares that the restraining move leaves it.
    pub best: u8,
    /// Legal moves.
    pub legal: u8,
    /// Phase of the game.
    pub phase: Phase,
    /// Whether the restraining move was played.
    pub found: bool,
    /// Safe squares after the move played; `None` where it captured the piece.
    pub left: Option<u8>,
    /// What became of the piece.
    pub fate: Fate,
    /// The ply that captured it.
    pub fate_ply: Option<u32>,
    /// Whether the restraint is plain to see: it takes squares, material is near to level, nothing
    /// attacks the piece, and the game goes on.
    pub clear: bool,
    /// Hash of its place, which mixes games, phases and kinds.
    pub mixed: u64,
}

impl Turn {
    /// Safe squares that the piece may have at most to count as restrained.
    pub fn k(&self) -> u8 {
        landmark_k(self.kind.role())
    }

    /// The order in which turns are taken: plain ones first, else mixed.
    fn order(&self) -> impl Ord + use<> {
        let place = (self.part.clone(), self.game, self.ply, self.piece);
        (!self.clear, self.mixed, place)
    }
}

/// What is found in the table.
#[derive(Debug, Default)]
pub struct Found {
    /// All turns with one restraining move, whatever is wanted.
    pub tally: Tally,
    /// Those that pass: how many, and the first of them by their order.
    pub passing: u64,
    /// The first of them.
    pub turns: Vec<Turn>,
    /// Turns kept at most.
    keep: usize,
}

const COLUMNS: [&str; 19] = [
    "game",
    "ply",
    "color",
    "piece",
    "kind",
    "square",
    "safe",
    "best",
    "attackers",
    "restraining",
    "attacking",
    "legal",
    "restrains",
    "squares_left",
    "balance",
    "plies_left",
    "phase",
    "fate",
    "fate_ply",
];

impl Found {
    /// Reads the table, and keeps so many turns.
    ///
    /// # Errors
    ///
    /// Where a table is missing, unreadable or not of its schema.
    pub fn of(dataset: &Dataset, wanted: &Wanted, keep: usize) -> Result<Found, AskError> {
        let conditions = wanted.conditions();
        let mut columns = COLUMNS.to_vec();
        columns.extend(filter::columns(&conditions));
        columns.sort_unstable();
        columns.dedup();
        let mut sum = Found::new(keep);
        for part in dataset.parts(Table::Decisions)? {
            let seats = wanted.of_games().seats(dataset, &part)?;
            let reader = Reader {
                part: &part,
                conditions: &conditions,
                seats: &seats,
            };
            let in_batch = |rows: &Rows, found: &mut Found| reader.batch(rows, found);
            let found = part.count(&columns, || Found::new(keep), in_batch, Found::add)?;
            sum.add(found);
        }
        sum.shorten();
        Ok(sum)
    }

    fn new(keep: usize) -> Found {
        Found {
            keep,
            ..Found::default()
        }
    }

    fn add(&mut self, other: Found) {
        self.tally.add(other.tally);
        self.passing += other.passing;
        self.turns.extend(other.turns);
        if self.turns.len() > 2 * self.keep {
            self.shorten();
        }
    }

    fn shorten(&mut self) {
        self.turns.sort_by_cached_key(Turn::order);
        self.turns.truncate(self.keep);
    }
}

/// Reads rows of a part.
struct Reader<'a> {
    part: &'a Part,
    conditions: &'a [Condition<'a>],
    seats: &'a Seats,
}

impl Reader<'_> {
    fn batch(&self, rows: &Rows, found: &mut Found) -> Result<(), AskError> {
        let passes = Mask::of(rows, self.conditions)?;
        let bad = |row: usize, what: &str| -> AskError {
            let place = rows.place(row);
            rows.bad(format!("row {place} has an invalid {what}"))
                .into()
        };
        let kind = rows.texts("kind")?.read_as(|word| Kind::from_name(word?));
        let phase = rows.texts("phase")?.read_as(|word| Phase::from_name(word?));
        let fate = rows.texts("fate")?.read_as(|word| Fate::from_name(word?));
        let square = rows
            .texts("square")?
            .read_as(|word| word?.parse::<Square>().ok());
        let white = rows.texts("color")?.any_of(["white"]);
        let (game, ply, piece) = (
            rows.numbers("game")?,
            rows.pairs("ply")?,
            rows.bytes("piece")?,
        );
        let (safe, best, legal) = (
            rows.bytes("safe")?,
            rows.bytes("best")?,
            rows.pairs("legal")?,
        );
        let (restraining, attacking) = (rows.pairs("restraining")?, rows.pairs("attacking")?);
        let (attackers, balance) = (rows.bytes("attackers")?, rows.signed("balance")?);
        let plies_left = rows.pairs("plies_left")?;
        let restrains = rows.booleans("restrains")?;
        let (left, fate_ply) = (
            rows.optional_numbers("squares_left")?,
            rows.optional_numbers("fate_ply")?,
        );
        let single = |row: &usize| restraining[*row] == 1 && attacking[*row] == 0;
        for row in (0..rows.len()).filter(single) {
            let kind = kind.at(row).ok_or_else(|| bad(row, "kind"))?;
            let phase = phase.at(row).ok_or_else(|| bad(row, "phase"))?;
            let taken = restrains.value(row);
            // No side has as many as 256 legal moves.
            let legal = legal[row] as u8;
            found.tally.note(kind, phase, legal, !taken);
            let game = game.at(row);
            if !passes.passes(row) || !self.sits(game, white.at(row)) {
                continue;
            }
            found.passing += 1;
            let clear = attackers[row] == 0
                && plies_left[row] >= CLEAR_PLIES
                && safe[row] >= best[row].saturating_add(CLEAR_TAKEN)
                && balance.value(row).unsigned_abs() <= CLEAR_BALANCE.unsigned_abs();
            let part = self.part.id().clone();
            let place = format!("{} {game} {} {}", part.source, ply[row], piece[row]);
            found.turns.push(Turn {
                part,
                game,
                ply: ply[row].into(),
                piece: piece[row],
                kind,
                square: square.at(row).ok_or_else(|| bad(row, "square"))?,
                safe: safe[row],
                best: best[row],
                legal,
                phase,
                found: taken,
                left: left.get(row).map(|left| left as u8),
                fate: fate.at(row).ok_or_else(|| bad(row, "fate"))?,
                fate_ply: fate_ply.get(row).map(|ply| ply as u32),
                clear,
                mixed: xxh3_64(place.as_bytes()),
            });
        }
        if found.turns.len() > 2 * found.keep {
            found.shorten();
        }
        Ok(())
    }

    /// Whether the player on move is one of those asked for.
    fn sits(&self, game: u64, white: bool) -> bool {
        self.seats.as_ref().is_none_or(|seats| {
            let seat = seats.get(&game).map(|both| both[usize::from(!white)]);
            seat.is_some_and(|seat| seat.rated && seat.named)
        })
    }
}
