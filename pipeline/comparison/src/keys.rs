//! The keys that turns are grouped and matched by: the column of each, and its values.

use std::collections::HashMap;

use hobble_conditions::AskError;
use hobble_conditions::circumstances::{
    Balance, MOVES, OTHERS_HELD, SQUARES_BEFORE, moves, moves_in_words, others_held,
    others_held_in_words, squares_before, squares_before_in_words,
};
use hobble_conditions::terms::Key;
use hobble_dataset::columns::Rows;

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

/// The number of a value, a new one numbered on.
pub fn number_of(numbers: &mut HashMap<String, u16>, value: &str) -> u16 {
    if let Some(&number) = numbers.get(value) {
        return number;
    }
    let next = numbers.len() as u16;
    numbers.insert(value.to_owned(), next);
    next
}

/// The values of a key by row, as numbers; new values are numbered on. At most `k` safe squares
/// make a piece held.
///
/// # Errors
///
/// Where its column is missing or holds a null.
pub fn numbered(
    rows: &Rows,
    key: Key,
    k: u8,
    numbers: &mut HashMap<String, u16>,
) -> Result<Vec<u16>, AskError> {
    let column = column(key);
    let mut classes = |words: Vec<String>, class: &dyn Fn(usize) -> u8| {
        let coded: Vec<u16> = (words.iter().map(|word| number_of(numbers, word))).collect();
        let of_rows = (0..rows.len()).map(|row| coded[usize::from(class(row))]);
        Ok(of_rows.collect())
    };
    match key {
        Key::Attacked | Key::Defended => {
            let units = rows.bytes(column)?;
            let words = ["no", "yes"].map(str::to_owned);
            classes(words.to_vec(), &|row| u8::from(units[row] > 0))
        }
        Key::Balance => {
            let pawns = rows.signed(column)?;
            let words = Balance::ALL.map(|class| class.name().to_owned());
            classes(words.to_vec(), &|row| Balance::of(pawns.value(row)) as u8)
        }
        Key::Move => {
            let plies = rows.pairs(column)?;
            let words = (0..MOVES).map(moves_in_words).collect();
            classes(words, &|row| moves(plies[row]))
        }
        Key::SquaresBefore => {
            let squares = rows.optional_numbers(column)?;
            let words = (0..SQUARES_BEFORE).map(|class| squares_before_in_words(class, k));
            let class = |row| squares_before(squares.get(row).map(|squares| squares as u8), k);
            classes(words.collect(), &class)
        }
        Key::OthersHeld => {
            let pieces = rows.bytes(column)?;
            let words = (0..OTHERS_HELD).map(others_held_in_words).collect();
            classes(words, &|row| others_held(pieces[row]))
        }
        Key::Kind | Key::Phase | Key::Band | Key::TimeClass | Key::RatingDiff => {
            let read = |value: Option<&str>| value.map(|value| number_of(numbers, value));
            let values = rows.texts(column)?.read_as(read);
            let null = || rows.bad(format!("column \"{key}\" holds a null"));
            (0..rows.len())
                .map(|row| Ok(values.at(row).ok_or_else(null)?))
                .collect()
        }
    }
}
