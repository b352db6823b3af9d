//! The keys that turns are grouped and matched by: the column of each, and its values.

use hobble_conditions::AskError;
use hobble_conditions::circumstances::{
    Balance, MOVES, OTHERS_HELD, SQUARES_BEFORE, moves, moves_in_words, others_held,
    others_held_in_words, squares_before, squares_before_in_words,
};
use hobble_conditions::terms::{Key, Kind};
use hobble_dataset::columns::Rows;
use hobble_terms::{Band, Phase, RatingDiff, TimeClass};

/// The column of `turns` that a key is read from.
pub fn column(key: Key) -> &'static str {
    match key {
        Key::Attacked => "attackers",
        Key::Defended => "defenders",
        Key::Move => "ply",
        Key::SquaresBefore => "safe_before_last",
        Key::Kind
        | Key::Phase
        | Key::Band
        | Key::TimeClass
        | Key::RatingDiff
        | Key::Balance
        | Key::OthersHeld => key.name(),
    }
}

/// All values that a key can have. At most `k` safe squares make a piece held; rating bands are
/// `width` points wide.
pub fn values(key: Key, k: u8, width: u16) -> Vec<String> {
    fn owned<const N: usize>(words: [&str; N]) -> Vec<String> {
        words.map(str::to_owned).to_vec()
    }
    match key {
        Key::Kind => owned(Kind::ALL.map(Kind::name)),
        Key::Phase => owned(Phase::ALL.map(Phase::name)),
        Key::Band => Band::names(width),
        Key::TimeClass => owned(TimeClass::ALL.map(TimeClass::name)),
        Key::RatingDiff => owned(RatingDiff::ALL.map(RatingDiff::name)),
        Key::Attacked | Key::Defended => owned(["no", "yes"]),
        Key::Balance => owned(Balance::ALL.map(Balance::name)),
        Key::Move => (0..MOVES).map(moves_in_words).collect(),
        Key::SquaresBefore => (0..SQUARES_BEFORE)
            .map(|class| squares_before_in_words(class, k))
            .collect(),
        Key::OthersHeld => (0..OTHERS_HELD).map(others_held_in_words).collect(),
    }
}

/// The values of a key by row: the place of each among `values`, which [`values`] made for `k`.
///
/// # Errors
///
/// Where its column is missing, holds a null or a word that is not one of the values.
pub fn numbered(rows: &Rows, key: Key, k: u8, values: &[String]) -> Result<Vec<u8>, AskError> {
    let column = column(key);
    let classes = |class: &dyn Fn(usize) -> u8| Ok((0..rows.len()).map(class).collect());
    match key {
        Key::Attacked | Key::Defended => {
            let units = rows.bytes(column)?;
            classes(&|row| u8::from(units[row] > 0))
        }
        Key::Balance => {
            let pawns = rows.signed(column)?;
            classes(&|row| Balance::of(pawns.value(row)) as u8)
        }
        Key::Move => {
            let plies = rows.pairs(column)?;
            classes(&|row| moves(plies[row]))
        }
        Key::SquaresBefore => {
            let squares = rows.optional_numbers(column)?;
            classes(&|row| squares_before(squares.get(row).map(|squares| squares as u8), k))
        }
        Key::OthersHeld => {
            let pieces = rows.bytes(column)?;
            classes(&|row| others_held(pieces[row]))
        }
        Key::Kind | Key::Phase | Key::Band | Key::TimeClass | Key::RatingDiff => {
            let place = |word: &str| values.iter().position(|value| value == word);
            let words = rows.texts(column)?;
            let numbers = words.read_as(|word| place(word?).map(|place| place as u8));
            let invalid = || rows.bad(format!("column \"{key}\" holds an invalid word or a null"));
            (0..rows.len())
                .map(|row| Ok(numbers.at(row).ok_or_else(invalid)?))
                .collect()
        }
    }
}
