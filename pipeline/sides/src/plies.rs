//! The games of the table `moves`, one after another: of each position whether the ply before was
//! quiet, the safe squares by kind of unit, and what stands on the board.

use hobble_conditions::AskError;
use hobble_dataset::columns::Rows;
use hobble_dataset::part::{Group, Part};
use hobble_terms::{Kind, Table};
use std::ops::Range;

use super::games::{Game, Games, Units};

/// A position, by the ply that led to it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Reached {
    /// Whether the ply neither captured, promoted nor checked.
    pub quiet: bool,
    /// Safe squares of White's and Black's units, by kind: pawns, knights, bishops, rooks, queens, king.
    pub safe: [[u16; 6]; 2],
    /// Units of White and Black.
    pub units: [Units; 2],
    /// White's balance less that at the start of the game.
    pub balance: i16,
}

impl Reached {
    /// Scope balance of a colour.
    pub fn scope_balance(&self, color: usize) -> i32 {
        let scope = |color: usize| self.safe[color].iter().map(|&squares| i32::from(squares));
        scope(color).sum::<i32>() - scope(1 - color).sum::<i32>()
    }

    /// Balance of a colour less that at the start of the game.
    pub fn balance_of(&self, color: usize) -> i16 {
        if color == 0 {
            self.balance
        } else {
            -self.balance
        }
    }
}

/// Columns of safe squares: White's kinds, then Black's.
const SAFE: [&str; 12] = [
    "white_pawn",
    "white_knight",
    "white_bishop",
    "white_rook",
    "white_queen",
    "white_king",
    "black_pawn",
    "black_knight",
    "black_bishop",
    "black_rook",
    "black_queen",
    "black_king",
];

/// What is read, and of which games.
pub struct Reading<'a> {
    /// The part.
    pub part: &'a Part,
    /// All its row groups.
    pub groups: &'a [Group],
    /// Its games.
    pub games: &'a Games,
    /// Plies of a game that are followed.
    pub plies: u16,
}

/// A game being followed.
struct Following {
    number: u32,
    game: Game,
    /// The ply that is due.
    next: u16,
    wanted: bool,
}

impl Reading<'_> {
    /// Hands the wanted games that begin in a run of row groups to `each`, with their positions
    /// from the first ply on. The last of them may go on behind the run.
    ///
    /// # Errors
    ///
    /// Where the table is unreadable, a ply is missing, or `each` fails.
    pub fn games_of_run(
        &self,
        run: Range<usize>,
        wanted: impl Fn(u32) -> bool,
        mut each: impl FnMut(u32, &Game, &[Reached]) -> Result<(), AskError>,
    ) -> Result<(), AskError> {
        let mut columns = vec!["game", "ply", "captured", "promotion", "gives_check"];
        columns.extend(SAFE);
        let mut at: Option<Following> = None;
        let mut reached: Vec<Reached> = Vec::new();
        for (place, &group) in self.groups.iter().enumerate().skip(run.start) {
            // Behind the run only the rest of its last game is of interest.
            let behind = place >= run.end;
            if behind && at.is_none() {
                return Ok(());
            }
            for rows in self.part.read(&columns, group)? {
                let rows = rows?;
                let batch = Batch::of(&rows)?;
                let mut first = 0;
                for of_game in batch.game.chunk_by(|a, b| a == b) {
                    let here = first..first + of_game.len();
                    first = here.end;
                    if batch.ply[here.start] == 1 {
                        finish(&mut at, &mut reached, &mut each)?;
                        if behind {
                            return Ok(());
                        }
                        at = Some(self.begin(of_game[0], &wanted)?);
                    }
                    if let Some(at) = &mut at {
                        at.follow(&batch, here, self.plies, &mut reached)?;
                    }
                }
            }
        }
        finish(&mut at, &mut reached, &mut each)
    }

    fn begin(&self, number: u32, wanted: impl Fn(u32) -> bool) -> Result<Following, AskError> {
        let game = self.games.get(number).ok_or_else(|| {
            let what = format!("game {number} of {} is not among the games", self.part.id());
            AskError::bad_table(Table::Moves, what)
        })?;
        Ok(Following {
            number,
            game,
            next: 1,
            wanted: wanted(number),
        })
    }
}

/// Hands a game that has ended to `each`.
fn finish(
    at: &mut Option<Following>,
    reached: &mut Vec<Reached>,
    each: &mut impl FnMut(u32, &Game, &[Reached]) -> Result<(), AskError>,
) -> Result<(), AskError> {
    if let Some(ended) = at.take()
        && ended.wanted
    {
        each(ended.number, &ended.game, reached)?;
    }
    reached.clear();
    Ok(())
}

impl Following {
    /// Follows rows of the game.
    fn follow(
        &mut self,
        batch: &Batch<'_>,
        rows: Range<usize>,
        plies: u16,
        reached: &mut Vec<Reached>,
    ) -> Result<(), AskError> {
        for row in rows {
            if (batch.game[row], batch.ply[row]) != (self.number, self.next) {
                return Err(AskError::bad_table(
                    Table::Moves,
                    format!(
                        "ply {} of game {} stands where ply {} of game {} is due",
                        batch.ply[row], batch.game[row], self.next, self.number
                    ),
                ));
            }
            self.next = self.next.saturating_add(1);
            if self.wanted && batch.ply[row] <= plies {
                reached.push(self.step(batch, row, reached.last()));
            }
        }
        Ok(())
    }

    fn step(&self, batch: &Batch<'_>, row: usize, before: Option<&Reached>) -> Reached {
        let (mut units, mut balance) = before.map_or((self.game.start, 0), |before| {
            (before.units, before.balance)
        });
        let mover = usize::from(batch.ply[row].is_multiple_of(2) != self.game.black_first);
        let sign = if mover == 0 { 1 } else { -1 };
        let (captured, promotion) = (batch.captured.at(row), batch.promotion.at(row));
        if let Some(unit) = captured {
            let loser = &mut units[1 - mover];
            if unit.is_pawn {
                loser.pawns -= 1;
            } else {
                loser.pieces -= 1;
            }
            balance += sign * unit.value;
        }
        if let Some(unit) = promotion {
            units[mover].pawns -= 1;
            units[mover].pieces += 1;
            balance += sign * (unit.value - 1);
        }
        let safe = |color: usize| std::array::from_fn(|kind| batch.safe[6 * color + kind][row]);
        Reached {
            quiet: captured.is_none() && promotion.is_none() && !batch.check.value(row),
            safe: [safe(0), safe(1)],
            units,
            balance,
        }
    }
}

/// A unit captured or born.
#[derive(Debug, Clone, Copy)]
struct Unit {
    is_pawn: bool,
    value: i16,
}

/// The columns of a batch.
struct Batch<'a> {
    game: &'a [u32],
    ply: &'a [u16],
    captured: hobble_dataset::columns::Read<'a, Option<Unit>>,
    promotion: hobble_dataset::columns::Read<'a, Option<Unit>>,
    check: &'a arrow_array::BooleanArray,
    safe: [&'a [u16]; 12],
}

impl<'a> Batch<'a> {
    fn of(rows: &'a Rows) -> Result<Batch<'a>, AskError> {
        let unit = |name: &str| {
            let texts = rows.texts(name)?;
            Ok::<_, AskError>(texts.read_as(|word| {
                let kind = Kind::from_name(word?);
                Some(Unit {
                    is_pawn: kind.is_none(),
                    value: kind.map_or(1, |kind| hobble_terms::value(kind.role()) as i16),
                })
            }))
        };
        let mut safe = [&[] as &[u16]; 12];
        for (column, name) in safe.iter_mut().zip(SAFE) {
            *column = rows.pairs(name)?;
        }
        Ok(Batch {
            game: rows.fours("game")?,
            ply: rows.pairs("ply")?,
            captured: unit("captured")?,
            promotion: unit("promotion")?,
            check: rows.booleans("gives_check")?,
            safe,
        })
    }
}
