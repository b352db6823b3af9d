//! Spells, counted side by side: the player's game by game, the peers' by cell and fold.

use crate::Habits;
use crate::count::{Count, Counts, WORSE_BY};
use crate::own_spells::{self, Mine};
use crate::sides::{NOT_COUNTED, OWN, Places, own_game};
use crate::tally::{Counted, TURNS, Tally, holds_own};
use hobble_conditions::AskError;
use hobble_conditions::filter::Mask;
use hobble_dataset::columns::{Rows, float};
use hobble_dataset::part::{Group, Part};
use hobble_terms::{PLIES_TO_LANDMARK, Phase, Table};

/// Counts the spells of a part.
///
/// # Errors
///
/// Where the table of spells is missing, unreadable or not of its schema.
pub fn count(counted: &Counted<'_>) -> Result<Tally, AskError> {
    counted.tally(Table::Spells, |part, group, [own, peers], tally| {
        in_group(counted.habits, part, group, own, peers, tally)
    })
}

/// Columns every spell is counted by.
const COLUMNS: [&str; 18] = [
    "game",
    "k_low",
    "k_high",
    "kind",
    "color",
    "developed",
    "cause",
    "cause_by",
    "cause_kind",
    "turns",
    "ended",
    "end_by",
    "fate",
    "fate_ply",
    "start_ply",
    "restrained",
    "phase",
    "eval_5",
];

/// Columns read of the player's spells alone.
const MORE: [&str; 5] = ["piece", "square", "safe", "cause_ply", "end_ply"];

fn in_group(
    habits: &Habits,
    part: &Part,
    group: Group,
    own: &Places,
    peers: &Places,
    tally: &mut Tally,
) -> Result<(), AskError> {
    let Some(any_own) = holds_own(part, group, [own, peers])? else {
        return Ok(());
    };
    let mut columns = COLUMNS.to_vec();
    if any_own {
        columns.extend(MORE);
    }
    for rows in part.read(&columns, group)? {
        in_batch(habits, &rows?, own, peers, any_own, tally)?;
    }
    Ok(())
}

fn in_batch(
    habits: &Habits,
    rows: &Rows,
    own: &Places,
    peers: &Places,
    any_own: bool,
    tally: &mut Tally,
) -> Result<(), AskError> {
    let games = rows.fours("game")?;
    let (low, high) = (rows.bytes("k_low")?, rows.bytes("k_high")?);
    let text = |name: &str| rows.texts(name);
    let (kind, color, causes) = (text("kind")?, text("color")?, text("cause")?);
    let (cause_by, cause_kind) = (text("cause_by")?, text("cause_kind")?);
    let (end, end_by, fate) = (text("ended")?, text("end_by")?, text("fate")?);
    let (developed, restrained) = (rows.booleans("developed")?, rows.booleans("restrained")?);
    let (turns, start_ply) = (rows.pairs("turns")?, rows.pairs("start_ply")?);
    let fate_ply = rows.optional_numbers("fate_ply")?;
    let phase = text("phase")?.read_as(|word| Phase::from_name(word?).map(count_of_phase));
    let evaluation = rows.floats("eval_5")?;
    let counted_kind = kind.read_as(|word| count_of_kind(word?));
    let counted_end = end.read_as(|word| count_of_end(word?));
    let cause_is = causes.read_as(|word| cause(word?));
    let blocker = cause_kind.read_as(|word| count_of_blocker(word?));
    let (by_own, freed_by_own) = (cause_by.any_of(["own"]), end_by.any_of(["own"]));
    let is_lost = fate.any_of(["lost"]);
    let horizon = 2 * u64::from(habits.within);
    let long = u64::from(habits.long);
    let side = color.read_as(|word| ["white", "black"].iter().position(|one| Some(*one) == word));
    let mut mine: Vec<Mine> = Vec::new();
    let mut mask = Mask::all(rows);
    mask.and(|row| low[row] <= habits.k && habits.k <= high[row]);
    for row in mask.rows() {
        let game = u64::from(games[row]);
        let (own_sides, peer_sides) = (own.of(game), peers.of(game));
        if own_sides == [NOT_COUNTED; 2] && peer_sides == [NOT_COUNTED; 2] {
            continue;
        }
        let side = side.at(row).ok_or_else(|| {
            let word = color.get(row).unwrap_or("null");
            rows.bad(format!("invalid color \"{word}\""))
        })?;
        let lost_by = |ply| is_lost.at(row) && fate_ply.get(row).is_some_and(|fate| fate <= ply);
        let last = u64::from(start_ply[row]) + horizon;
        let spell = Read {
            kind: counted_kind.at(row),
            developed: developed.value(row),
            cause: cause_is.at(row),
            by_own: by_own.at(row),
            blocked_by: blocker.at(row),
            turns: turns[row].into(),
            end: counted_end.at(row),
            freed_by_own: freed_by_own.at(row),
            lost_within: lost_by(last),
            restrained: restrained.value(row),
            phase: phase.at(row),
            worse: float(evaluation, row).map(|change| change <= -WORSE_BY),
            lost_from_landmark: lost_by(last + u64::from(PLIES_TO_LANDMARK)),
        };
        spell.add([own_sides, peer_sides], side, long, tally);
        if let Some(number) = own_game(own_sides[side])
            && spell.developed
        {
            mine.push((row, number, spell.lost_within));
        }
    }
    if mine.is_empty() || !any_own {
        return Ok(());
    }
    own_spells::read(rows, &mine, &mut tally.own.spells)
}

/// What is read of a spell to count it.
struct Read {
    kind: Option<Count>,
    developed: bool,
    cause: Option<Cause>,
    by_own: bool,
    /// Where it is blocked: by what.
    blocked_by: Option<Count>,
    turns: u64,
    end: Option<Count>,
    freed_by_own: bool,
    lost_within: bool,
    restrained: bool,
    phase: Option<Count>,
    /// Whether the owner stood worse five moves later; `None` without evaluations.
    worse: Option<bool>,
    lost_from_landmark: bool,
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Cause {
    Undeveloped,
    Blocked,
    Entered,
    Pinned,
    Taken,
}

fn cause(word: &str) -> Option<Cause> {
    Some(match word {
        "undeveloped" => Cause::Undeveloped,
        "blocked" => Cause::Blocked,
        "entered" => Cause::Entered,
        "pinned" => Cause::Pinned,
        "taken" => Cause::Taken,
        _ => return None,
    })
}

fn count_of_kind(word: &str) -> Option<Count> {
    Some(match word {
        "knight" => Count::Knights,
        "bishop" => Count::Bishops,
        "rook" => Count::Rooks,
        "queen" => Count::Queens,
        _ => return None,
    })
}

/// The count of restraints of the kind whose spells this one counts.
const fn restrained_of_kind(kind: Count) -> Option<Count> {
    Some(match kind {
        Count::Knights => Count::RestrainedKnights,
        Count::Bishops => Count::RestrainedBishops,
        Count::Rooks => Count::RestrainedRooks,
        Count::Queens => Count::RestrainedQueens,
        _ => return None,
    })
}

const fn count_of_phase(phase: Phase) -> Count {
    match phase {
        Phase::Opening => Count::RestrainedOpening,
        Phase::Middlegame => Count::RestrainedMiddlegame,
        Phase::Endgame => Count::RestrainedEndgame,
    }
}

fn count_of_blocker(word: &str) -> Option<Count> {
    Some(match word {
        "pawn" => Count::BlockedByPawn,
        "knight" => Count::BlockedByKnight,
        "bishop" => Count::BlockedByBishop,
        "rook" => Count::BlockedByRook,
        "queen" => Count::BlockedByQueen,
        "king" => Count::BlockedByKing,
        _ => return None,
    })
}

fn count_of_end(word: &str) -> Option<Count> {
    Some(match word {
        "lost" => Count::Lost,
        "traded" => Count::Traded,
        "sold" => Count::Sold,
        "freed" => Count::Freed,
        "game over" => Count::GameOver,
        _ => return None,
    })
}

impl Read {
    /// Adds the spell to the sides of its game that are counted: the player's and the peers' places
    /// of White and Black, and the side that owns the piece.
    fn add(
        &self,
        [own_sides, peer_sides]: [[u32; 2]; 2],
        side: usize,
        long: u64,
        tally: &mut Tally,
    ) {
        if let Some(number) = own_game(own_sides[side]) {
            let game = tally.own.games.entry(number).or_default();
            let turns = self.of_owner(long, &mut game.own);
            self.of_opponent(&mut game.opponent);
            if let Some(turns) = turns {
                tally.own.turns[turns] += 1;
            }
        }
        if let Some(number) = own_game(own_sides[1 - side]) {
            let game = tally.own.games.entry(number).or_default();
            self.of_opponent(&mut game.own);
            if let Some(turns) = self.of_owner(long, &mut game.opponent) {
                tally.own.opponent_turns[turns] += 1;
            }
        }
        if peer_sides[side] < OWN {
            let place = peer_sides[side];
            if let Some(turns) = self.of_owner(long, tally.of_peers(place)) {
                tally.turns_of_peers(place)[turns] += 1;
            }
        }
        if peer_sides[1 - side] < OWN {
            self.of_opponent(tally.of_peers(peer_sides[1 - side]));
        }
    }

    /// Counts it for the side that owns the piece; gives the place of its number of turns, where the
    /// piece is developed.
    fn of_owner(&self, long: u64, counts: &mut Counts) -> Option<usize> {
        let mut one = |count: Option<Count>| {
            if let Some(count) = count {
                counts[count as usize] += 1;
            }
        };
        if !self.developed {
            one(Some(Count::Undeveloped));
            return None;
        }
        one(Some(Count::Spells));
        one(self.kind);
        if self.cause != Some(Cause::Undeveloped) {
            one(Some(Count::Caused));
        }
        one(self.by_own.then_some(Count::ByOwn));
        match self.cause {
            Some(Cause::Blocked) => {
                one(Some(Count::Blocked));
                one(self.blocked_by);
            }
            Some(Cause::Entered) => one(Some(Count::Entered)),
            Some(Cause::Pinned) if self.by_own => one(Some(Count::PinnedByOwn)),
            Some(Cause::Pinned) => one(Some(Count::PinnedByOpponent)),
            Some(Cause::Taken) => one(Some(Count::Taken)),
            Some(Cause::Undeveloped) | None => {}
        }
        one((self.turns >= long).then_some(Count::Long));
        one(self.end);
        if self.end == Some(Count::Freed) && self.freed_by_own {
            one(Some(Count::FreedByOwn));
        }
        one(self.lost_within.then_some(Count::LostWithin));
        if self.restrained {
            one(Some(Count::Restrained));
            one(self.kind.and_then(restrained_of_kind));
            one(self.phase);
            one(self.lost_from_landmark.then_some(Count::RestrainedLost));
            one(self.worse.map(|_| Count::RestrainedEvaluated));
            one((self.worse == Some(true)).then_some(Count::RestrainedWorse));
        }
        Some(usize::try_from(self.turns).unwrap_or(TURNS).min(TURNS))
    }

    fn of_opponent(&self, counts: &mut Counts) {
        if self.developed && self.cause == Some(Cause::Taken) {
            counts[Count::Held as usize] += 1;
            counts[Count::Won as usize] += u64::from(self.lost_within);
        }
        if self.restrained {
            counts[Count::OpponentRestrained as usize] += 1;
            counts[Count::OpponentRestrainedLost as usize] += u64::from(self.lost_from_landmark);
        }
    }
}
