//! The tables `games` and `skipped` counted again.

use std::collections::BTreeMap;
use std::path::Path;

use arrow_array::{Array as _, Int16Array, Int32Array, StringArray};
use hobble_terms::account::count;
use shakmaty::Color;
use shakmaty::fen::Fen;

use super::totals::Totals;
use crate::column::Column;
use crate::error::Error;
use crate::games::GAMES;
use crate::rows::{Rows, read};
use crate::skipped::SKIPPED;

/// The numbers of the games of one source, kept or skipped.
#[derive(Default)]
pub(super) struct Numbers {
    /// How many there are.
    pub count: u64,
    /// The highest one.
    pub highest: u64,
    sum: u128,
}

impl Numbers {
    fn add(&mut self, games: &Int32Array) {
        for &game in games.values() {
            self.count += 1;
            let game = u64::from(game.unsigned_abs());
            self.sum += u128::from(game);
            self.highest = self.highest.max(game);
        }
    }

    /// Whether their sum is that of 1, 2, 3 … up to the highest one.
    pub fn is_whole(&self) -> bool {
        self.sum == u128::from(self.highest) * u128::from(self.highest + 1) / 2
    }
}

/// How a game starts, and how many plies it has.
pub(super) struct GameStart {
    /// Knights, bishops, rooks and queens of White and Black.
    pub pieces: [u64; 2],
    /// Side on move.
    pub turn: Color,
    /// Plies.
    pub plies: i16,
}

/// The games of one source that have plies, by number, until their plies are met.
pub(super) type GameStarts = BTreeMap<i32, GameStart>;

/// Adds up how often each word stands in a column.
pub(super) fn count_words(words: &StringArray, counts: &mut BTreeMap<String, u64>) {
    for word in words {
        count(counts, word.unwrap_or("(null)"), 1);
    }
}

fn sum(numbers: &Int16Array) -> u64 {
    let count = |number: &i16| u64::from(number.unsigned_abs());
    numbers.values().iter().map(count).sum()
}

/// Counts the games of a part; returns the number of rows.
pub(super) fn games(
    path: &Path,
    totals: &mut Totals,
    numbers: &mut Numbers,
    starts: &mut GameStarts,
) -> Result<u64, Error> {
    let columns = [
        GAMES.game.name(),
        GAMES.moves_id.name(),
        GAMES.result.name(),
        GAMES.white_rating.name(),
        GAMES.black_rating.name(),
        GAMES.start_fen.name(),
        GAMES.plies.name(),
        GAMES.captures.name(),
        GAMES.en_passant.name(),
        GAMES.promotions.name(),
        GAMES.castlings.name(),
        GAMES.clocks.name(),
        GAMES.evals.name(),
        GAMES.repaired.name(),
        GAMES.unread_tags.name(),
        GAMES.stray_text.name(),
    ];
    read(path, &columns, |rows| {
        let account = &mut totals.account;
        let total = |column: Column<i16>| rows.read(column).map(sum);
        account.kept += rows.len() as u64;
        account.plies += total(GAMES.plies)?;
        account.captures += total(GAMES.captures)?;
        account.en_passant += total(GAMES.en_passant)?;
        account.promotions += total(GAMES.promotions)?;
        account.castlings += total(GAMES.castlings)?;
        account.clocks += total(GAMES.clocks)?;
        account.evals += total(GAMES.evals)?;
        account.unread_tags += total(GAMES.unread_tags)?;
        account.stray_texts += rows.read(GAMES.stray_text)?.true_count() as u64;
        account.repaired_games += rows.read(GAMES.repaired)?.true_count() as u64;
        count_words(rows.read(GAMES.result)?, &mut account.results);
        let [white, black] = [GAMES.white_rating, GAMES.black_rating].map(|side| rows.read(side));
        let (white, black) = (white?, black?);
        let plies = rows.read(GAMES.plies)?;
        for row in 0..rows.len() {
            let plies = u64::from(plies.value(row).unsigned_abs());
            account.zero_move_games += u64::from(plies == 0);
            account.longest = account.longest.max(plies);
            account.rated_games += u64::from(white.is_valid(row) || black.is_valid(row));
        }
        totals.moves_ids.extend(rows.read(GAMES.moves_id)?.values());
        numbers.add(rows.read(GAMES.game)?);
        note_starts(rows, starts)
    })
}

/// Notes the start of each game that has plies.
fn note_starts(rows: &Rows<'_>, starts: &mut GameStarts) -> Result<(), Error> {
    let games = rows.read(GAMES.game)?;
    let plies = rows.read(GAMES.plies)?;
    let fens = rows.read(GAMES.start_fen)?;
    for row in 0..rows.len() {
        let plies = plies.value(row);
        if plies > 0 {
            let fen = fens.is_valid(row).then(|| fens.value(row));
            let (pieces, turn) = match fen {
                None => ([7, 7], Color::White),
                Some(fen) => start_of(fen).ok_or_else(|| rows.invalid(GAMES.start_fen, fen))?,
            };
            let start = GameStart {
                pieces,
                turn,
                plies,
            };
            starts.insert(games.value(row), start);
        }
    }
    Ok(())
}

/// Knights, bishops, rooks and queens of White and Black in a position, and the side on move.
fn start_of(fen: &str) -> Option<([u64; 2], Color)> {
    let setup = Fen::from_ascii(fen.trim().as_bytes()).ok()?.into_setup();
    let board = setup.board;
    let pieces = !board.pawns() & !board.kings();
    let count = |side| (board.by_color(side) & pieces).count() as u64;
    Some(([Color::White, Color::Black].map(count), setup.turn))
}

/// Counts the skipped games of a part; returns the number of rows.
pub(super) fn skipped(
    path: &Path,
    totals: &mut Totals,
    numbers: &mut Numbers,
) -> Result<u64, Error> {
    let columns = [SKIPPED.game.name(), SKIPPED.reason.name()];
    read(path, &columns, |rows| {
        numbers.add(rows.read(SKIPPED.game)?);
        count_words(rows.read(SKIPPED.reason)?, &mut totals.account.skipped);
        Ok(())
    })
}
