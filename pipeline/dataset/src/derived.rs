//! Columns that follow from others (`hobble_tables::formula`), worked out for rows that were read. Files that
//! still hold such a column are read as they are.

use std::collections::HashMap;
use std::sync::{Arc, Mutex, PoisonError};

use arrow_array::cast::AsArray;
use arrow_array::types::{ArrowPrimitiveType, Int8Type, Int16Type, Int32Type};
use arrow_array::{
    Array, ArrayRef, BooleanArray, DictionaryArray, Int8Array, Int16Array, Int32Array, RecordBatch,
    StringArray,
};
use arrow_schema::{ArrowError, DataType, Field, Schema};
use hobble_tables::description::{ColumnType, DerivedColumn};
use hobble_tables::formula::{Formula, Named, Test};

/// Column that names the game of a row.
pub(crate) const GAME: &str = "game";

/// Stands for a null: no column holds such a number.
const NULL: i64 = i64::MIN;

/// Numbers of rows; words are numbered as they are met.
type Numbers = Arc<Vec<i64>>;

/// Words, each with its number.
#[derive(Default)]
struct WordList {
    numbers: HashMap<String, i64>,
    words: Vec<String>,
}

impl WordList {
    fn number(&mut self, word: &str) -> i64 {
        if let Some(&number) = self.numbers.get(word) {
            return number;
        }
        let number = self.words.len() as i64;
        self.numbers.insert(word.to_owned(), number);
        self.words.push(word.to_owned());
        number
    }
}

/// Columns of a part's games, read once.
#[derive(Debug, Default)]
pub(crate) struct GamesOfPart {
    columns: Mutex<HashMap<&'static str, Arc<GameColumn>>>,
}

/// A column of `games`.
#[derive(Debug)]
pub(crate) struct GameColumn {
    /// Number of the first game.
    pub(crate) first: i32,
    /// Place among the values by the number of a game less that of the first.
    pub(crate) places: Vec<u32>,
    /// Values of the games.
    pub(crate) values: ArrayRef,
}

impl GameColumn {
    /// The column of games with these numbers, which rise.
    pub(crate) fn new(games: &[i32], values: ArrayRef) -> GameColumn {
        let first = games.first().copied().unwrap_or(0);
        let mut places = Vec::new();
        for (place, game) in games.iter().enumerate() {
            places.resize((game - first) as usize, u32::MAX);
            places.push(place as u32);
        }
        GameColumn {
            first,
            places,
            values,
        }
    }

    /// Place of a game's value; `None` where there is no such game.
    fn place(&self, game: i32) -> Option<usize> {
        let place = *self.places.get(usize::try_from(game - self.first).ok()?)?;
        (place != u32::MAX).then_some(place as usize)
    }
}

impl GamesOfPart {
    /// A column, read by `read` the first time.
    pub(crate) fn column<E>(
        &self,
        name: &'static str,
        read: impl FnOnce() -> Result<GameColumn, E>,
    ) -> Result<Arc<GameColumn>, E> {
        let mut columns = self.columns.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(column) = columns.get(name) {
            return Ok(column.clone());
        }
        let column = Arc::new(read()?);
        columns.insert(name, column.clone());
        Ok(column)
    }
}

/// Columns of rows that their formulas name.
pub(crate) fn of_row(derived: &[&'static DerivedColumn]) -> Vec<&'static str> {
    let mut names = Vec::new();
    each_named(derived, |named| match named {
        Named::OfRow(name) => names.push(name),
        Named::OfGame(_) => names.push(GAME),
    });
    names.sort_unstable();
    names.dedup();
    names
}

/// Columns of games that their formulas name.
pub(crate) fn of_game(derived: &[&'static DerivedColumn]) -> Vec<&'static str> {
    let mut names = Vec::new();
    each_named(derived, |named| {
        if let Named::OfGame(name) = named {
            names.push(name);
        }
    });
    names.sort_unstable();
    names.dedup();
    names
}

fn each_named(derived: &[&'static DerivedColumn], mut on: impl FnMut(Named)) {
    derived.iter().for_each(|one| one.is.each_column(&mut on));
}

/// The rows with these columns behind their own; `games` are the columns of games by name.
pub(crate) fn with_derived(
    rows: RecordBatch,
    derived: &[&'static DerivedColumn],
    games: &HashMap<&'static str, Arc<GameColumn>>,
) -> Result<RecordBatch, ArrowError> {
    let mut work = Work {
        rows: &rows,
        games,
        words: WordList::default(),
        made: HashMap::new(),
    };
    let mut fields: Vec<_> = rows.schema().fields().iter().cloned().collect();
    let mut columns = rows.columns().to_vec();
    for one in derived {
        let numbers = work.of(&one.is)?;
        let column = work.array(one.column.column_type, &numbers)?;
        let field = Field::new(one.column.name, column.data_type().clone(), true);
        fields.push(Arc::new(field));
        columns.push(column);
    }
    RecordBatch::try_new(Arc::new(Schema::new(fields)), columns)
}

struct Work<'a> {
    rows: &'a RecordBatch,
    games: &'a HashMap<&'static str, Arc<GameColumn>>,
    words: WordList,
    /// Columns as numbers, each made once.
    made: HashMap<Named, Numbers>,
}

impl Work<'_> {
    /// What a formula is in each row.
    fn of(&mut self, formula: &Formula) -> Result<Numbers, ArrowError> {
        let rows = self.rows.num_rows();
        let same = |number| Arc::new(vec![number; rows]);
        Ok(match formula {
            Formula::Column(name) => self.named(Named::OfRow(name))?,
            Formula::OfGame(name) => self.named(Named::OfGame(name))?,
            Formula::Number(number) => same((*number).into()),
            Formula::Word(word) => same(self.words.number(word)),
            Formula::Null => same(NULL),
            Formula::Sum(parts) => self.both(parts, |one, other| one + other)?,
            Formula::Difference(parts) => self.both(parts, |one, other| one - other)?,
            Formula::Is(test) => {
                let holds = self.holds(test)?;
                Arc::new(holds.into_iter().map(i64::from).collect())
            }
            Formula::Case(cases, last) => {
                let mut values = self.of(last)?.to_vec();
                // The first test that holds counts: it is looked at last.
                for (test, formula) in cases.iter().rev() {
                    let (holds, others) = (self.holds(test)?, self.of(formula)?);
                    for (row, value) in values.iter_mut().enumerate() {
                        if holds[row] {
                            *value = others[row];
                        }
                    }
                }
                Arc::new(values)
            }
        })
    }

    fn both(
        &mut self,
        [one, other]: &[Formula; 2],
        of: impl Fn(i64, i64) -> i64,
    ) -> Result<Numbers, ArrowError> {
        let (one, other) = (self.of(one)?, self.of(other)?);
        let pairs = one.iter().zip(other.iter());
        let values = pairs.map(|(&one, &other)| match one == NULL || other == NULL {
            true => NULL,
            false => of(one, other),
        });
        Ok(Arc::new(values.collect()))
    }

    fn holds(&mut self, test: &Test) -> Result<Vec<bool>, ArrowError> {
        let values = self.of(test.of())?;
        let values = values.iter();
        Ok(match test {
            Test::Word(_, word) => {
                let number = self.words.number(word);
                values.map(|&value| value == number).collect()
            }
            // A null is below all numbers.
            Test::AtLeast(_, least) => values.map(|&value| value >= (*least).into()).collect(),
            Test::Null(_) => values.map(|&value| value == NULL).collect(),
        })
    }

    fn named(&mut self, named: Named) -> Result<Numbers, ArrowError> {
        if let Some(numbers) = self.made.get(&named) {
            return Ok(numbers.clone());
        }
        let numbers = match named {
            Named::OfRow(name) => self.of_row(name)?,
            Named::OfGame(name) => self.of_game(name)?,
        };
        self.made.insert(named, numbers.clone());
        Ok(numbers)
    }

    fn of_row(&mut self, name: &str) -> Result<Numbers, ArrowError> {
        let column = self.rows.column_by_name(name);
        let column = column.ok_or_else(|| missing(name))?.clone();
        self.numbers(name, &column)
    }

    fn of_game(&mut self, name: &'static str) -> Result<Numbers, ArrowError> {
        let column = self.games.get(name).ok_or_else(|| missing(name))?.clone();
        let values = self.numbers(name, &column.values)?;
        let games = self.rows.column_by_name(GAME);
        let games = games.and_then(|games| games.as_primitive_opt::<Int32Type>());
        let games = games.ok_or_else(|| missing(GAME))?;
        let of = |&game: &i32| {
            let place = column.place(game);
            place.map(|place| values[place]).ok_or_else(|| {
                ArrowError::InvalidArgumentError(format!("the table of games has no game {game}"))
            })
        };
        let found: Result<Vec<i64>, ArrowError> = games.values().iter().map(of).collect();
        found.map(Arc::new)
    }

    /// A column as numbers.
    fn numbers(&mut self, name: &str, column: &ArrayRef) -> Result<Numbers, ArrowError> {
        let numbers = match column.data_type() {
            DataType::Int8 => wide::<Int8Type>(column),
            DataType::Int16 => wide::<Int16Type>(column),
            DataType::Int32 => wide::<Int32Type>(column),
            DataType::Boolean => {
                let flags = column.as_boolean().iter();
                flags.map(|flag| flag.map_or(NULL, i64::from)).collect()
            }
            _ => {
                let coded = column.as_dictionary_opt::<Int32Type>();
                let words = coded.and_then(|coded| coded.values().as_string_opt::<i32>());
                let (Some(coded), Some(words)) = (coded, words) else {
                    return Err(missing(name));
                };
                let numbers: Vec<i64> = (words.iter())
                    .map(|word| word.map_or(NULL, |word| self.words.number(word)))
                    .collect();
                let of = |code: Option<i32>| code.map_or(NULL, |code| numbers[code as usize]);
                coded.keys().iter().map(of).collect()
            }
        };
        Ok(Arc::new(numbers))
    }

    /// Numbers as a column of a type.
    fn array(&self, column_type: ColumnType, numbers: &[i64]) -> Result<ArrayRef, ArrowError> {
        let each = numbers
            .iter()
            .map(|&number| (number != NULL).then_some(number));
        Ok(match column_type {
            ColumnType::Int8 => Arc::new(
                each.map(|one| one.map(|one| one as i8))
                    .collect::<Int8Array>(),
            ),
            ColumnType::Int16 => Arc::new(
                each.map(|one| one.map(|one| one as i16))
                    .collect::<Int16Array>(),
            ),
            ColumnType::Int32 => Arc::new(
                each.map(|one| one.map(|one| one as i32))
                    .collect::<Int32Array>(),
            ),
            ColumnType::Boolean => Arc::new(
                each.map(|one| one.map(|one| one == 1))
                    .collect::<BooleanArray>(),
            ),
            ColumnType::Dictionary => self.words(numbers)?,
            other => {
                let what = format!("no formula is of type {}", other.name());
                return Err(ArrowError::NotYetImplemented(what));
            }
        })
    }

    /// Numbers of words as a column with those words alone.
    fn words(&self, numbers: &[i64]) -> Result<ArrayRef, ArrowError> {
        let mut codes: Vec<Option<i32>> = vec![None; self.words.words.len()];
        let mut met = Vec::new();
        let mut code = |number: i64| {
            (number != NULL).then(|| {
                *codes[number as usize].get_or_insert_with(|| {
                    met.push(self.words.words[number as usize].as_str());
                    met.len() as i32 - 1
                })
            })
        };
        let codes: Int32Array = numbers.iter().map(|&number| code(number)).collect();
        let words = Arc::new(StringArray::from(met));
        Ok(Arc::new(DictionaryArray::try_new(codes, words)?))
    }
}

fn wide<T: ArrowPrimitiveType>(column: &ArrayRef) -> Vec<i64>
where
    i64: From<T::Native>,
{
    let numbers = column.as_primitive::<T>();
    if numbers.null_count() == 0 {
        return numbers.values().iter().map(|&one| one.into()).collect();
    }
    (numbers.iter())
        .map(|one| one.map_or(NULL, i64::from))
        .collect()
}

fn missing(column: &str) -> ArrowError {
    ArrowError::InvalidArgumentError(format!("there is no column \"{column}\" to follow from"))
}

#[cfg(test)]
mod tests {
    use super::*;
    use hobble_tables::schema::describe;
    use hobble_terms::Table;

    fn words(all: &[Option<&str>]) -> ArrayRef {
        let coded: DictionaryArray<Int32Type> = all.iter().copied().collect();
        Arc::new(coded)
    }

    fn pairs(all: &[Option<i16>]) -> ArrayRef {
        Arc::new(Int16Array::from(all.to_vec()))
    }

    /// Five spells of two games: freed by either side, captured, undeveloped, and gone on to the end.
    fn spells() -> RecordBatch {
        let bytes = |all: [i8; 5]| Arc::new(Int8Array::from(all.to_vec())) as ArrayRef;
        let black = [
            Some("white"),
            Some("black"),
            Some("white"),
            Some("black"),
            Some("white"),
        ];
        let moved_away = BooleanArray::from(vec![Some(false), None, None, None, None]);
        let ended = ["freed", "freed", "traded", "game over", "game over"].map(Some);
        let cause_by = [
            Some("own"),
            Some("opponent"),
            Some("own"),
            None,
            Some("opponent"),
        ];
        RecordBatch::try_from_iter([
            (
                "game",
                Arc::new(Int32Array::from(vec![3, 3, 3, 5, 5])) as ArrayRef,
            ),
            ("color", words(&black)),
            ("start_ply", pairs(&[10, 21, 12, 1, 40].map(Some))),
            ("turns", pairs(&[3, 2, 1, 20, 1].map(Some))),
            ("cause_by", words(&cause_by)),
            ("moved_away", Arc::new(moved_away) as ArrayRef),
            ("ended", words(&ended)),
            ("fate_ply", pairs(&[Some(60), None, Some(14), None, None])),
            ("reach", bytes([5, 4, 3, 2, 1])),
            ("barred", bytes([0, 1, 3, 0, 0])),
            ("defenders", bytes([0, 1, 2, 0, 9])),
        ])
        .unwrap()
    }

    fn games() -> HashMap<&'static str, Arc<GameColumn>> {
        let of = |values: ArrayRef| Arc::new(GameColumn::new(&[3, 5], values));
        HashMap::from([
            ("plies", of(pairs(&[Some(70), Some(41)]))),
            ("result", of(words(&[Some("0-1"), Some("1/2-1/2")]))),
            (
                "white_band",
                of(words(&[Some("1400-1499"), Some("missing")])),
            ),
            (
                "black_band",
                of(words(&[Some("1600-1699"), Some("unrated")])),
            ),
            ("white_rating", of(pairs(&[Some(1450), None]))),
            ("black_rating", of(pairs(&[Some(1650), None]))),
            ("time_class", of(words(&[Some("rapid"), Some("blitz")]))),
        ])
    }

    #[test]
    fn spells_with_what_follows() {
        let derived: Vec<_> = describe(Table::Spells).derived.iter().collect();
        let rows = with_derived(spells(), &derived, &games()).unwrap();
        let column = |name: &str| rows.column_by_name(name).unwrap();
        let numbers = |name: &str| column(name).as_primitive::<Int16Type>().clone();
        let texts = |name: &str| -> Vec<String> {
            let column = column(name).as_dictionary::<Int32Type>();
            let column = column.downcast_dict::<StringArray>().unwrap();
            column.into_iter().flatten().map(str::to_owned).collect()
        };
        assert_eq!(
            numbers("cause_ply"),
            Int16Array::from(vec![Some(9), Some(21), Some(11), None, Some(40)])
        );
        assert_eq!(texts("end_by"), ["own", "opponent"]);
        assert_eq!(
            numbers("end_ply"),
            Int16Array::from(vec![15, 25, 14, 41, 41])
        );
        assert_eq!(
            numbers("plies_left"),
            Int16Array::from(vec![60, 49, 58, 40, 1])
        );
        let legal = column("legal").as_primitive::<Int8Type>();
        assert_eq!(legal.values(), &[5, 3, 0, 2, 1]);
        let defended: Vec<_> = column("defended").as_boolean().iter().collect();
        assert_eq!(defended, [false, true, true, false, true].map(Some));
        for (name, words) in [
            ("owner_result", ["loss", "win", "loss", "draw", "draw"]),
            (
                "band",
                ["1400-1499", "1600-1699", "1400-1499", "unrated", "missing"],
            ),
            (
                "rating_diff",
                ["<=-200", ">=200", "<=-200", "unknown", "unknown"],
            ),
            ("time_class", ["rapid", "rapid", "rapid", "blitz", "blitz"]),
        ] {
            assert_eq!(texts(name), words, "{name}");
        }
    }

    #[test]
    fn a_row_without_a_game_is_an_error() {
        let derived: Vec<_> = describe(Table::Spells).derived.iter().collect();
        let games = games().into_iter().map(|(name, column)| {
            let one = column.values.slice(0, 1);
            (name, Arc::new(GameColumn::new(&[3], one)))
        });
        let found = with_derived(spells(), &derived, &games.collect());
        assert!(found.unwrap_err().to_string().contains("no game 5"));
    }
}
