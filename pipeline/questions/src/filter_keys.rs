//! Fields that several sorts of question share: the pieces looked at, and the filters.
//!
//! A key is declared here once: name, meaning, values, default, what it asks of a row of each
//! table, and its words for a reader. A sort takes it by naming it in its list of fields
//! (`question_file!` in the sort's own file).

use hobble_terms::{CauseKind, Kind, MAX_K, Outcome, Phase, RatingDiff, Table, TimeClass, Word};

use crate::fields::shape::{Horizon, Optional, Shape, Texts, number, word, words};
use crate::fields::{Field, Said};
use crate::filter::Condition;
use crate::terms::{MovedBy, YesNo};

/// Kinds of piece.
pub enum Kinds {}

impl Field for Kinds {
    type Value = Vec<Kind>;
    const NAME: &'static str = "kinds";
    const TEXT: &'static str = "Kinds of piece looked at.";

    fn shape() -> impl Shape<Value = Vec<Kind>> {
        words().not_empty("name at least one kind of piece")
    }

    fn default() -> Vec<Kind> {
        Kind::ALL.to_vec()
    }

    fn condition(kinds: &Vec<Kind>, _: Table) -> Condition<'_> {
        if kinds.len() < Kind::ALL.len() {
            any_of("kind", kinds)
        } else {
            Condition::Always
        }
    }
}

/// Safe squares, at most, of a held piece.
pub enum SafeSquares {}

impl Field for SafeSquares {
    type Value = u8;
    const NAME: &'static str = "k";
    const TEXT: &'static str = "A piece is held where it has this many safe squares or fewer.";

    fn shape() -> impl Shape<Value = u8> {
        number(0..=i64::from(MAX_K))
    }

    fn default() -> u8 {
        2
    }

    /// Spells are recorded from the least to the most `k` they are spells at. In the cube, `k`
    /// parts held from free turns, and both are needed.
    fn condition(k: &u8, table: Table) -> Condition<'_> {
        match table {
            Table::Spells => Condition::Between("k_low", u64::from(*k), "k_high"),
            _ => Condition::Always,
        }
    }
}

/// Turns a spell has lasted, at least.
pub enum Turns {}

impl Field for Turns {
    type Value = u32;
    const NAME: &'static str = "turns";
    const TEXT: &'static str = "Turns of its owner the piece must have been held for, at least; what follows is counted from the last of these.";

    fn shape() -> impl Shape<Value = u32> {
        number(1..=50)
    }

    fn default() -> u32 {
        1
    }

    fn condition(turns: &u32, table: Table) -> Condition<'_> {
        match table {
            Table::Spells => Condition::AtLeast("turns", u64::from(*turns)),
            _ => Condition::Always,
        }
    }
}

/// What restricted the piece.
pub enum Causes {}

impl Field for Causes {
    type Value = Vec<CauseKind>;
    const NAME: &'static str = "cause";
    const TEXT: &'static str = "What restricted it (definitions, section 6); empty for anything.";

    fn shape() -> impl Shape<Value = Vec<CauseKind>> {
        words().by_alphabet()
    }

    fn default() -> Vec<CauseKind> {
        Vec::new()
    }

    fn condition(causes: &Vec<CauseKind>, table: Table) -> Condition<'_> {
        match table {
            Table::Spells => any_of("cause", causes),
            _ => Condition::Always,
        }
    }

    fn said(causes: &Vec<CauseKind>) -> Option<Said> {
        listed("Cause", causes)
    }
}

/// Kind of unit whose move restricted the piece.
pub enum Mover {}

impl Field for Mover {
    type Value = MovedBy;
    const NAME: &'static str = "by";
    const TEXT: &'static str = "Kind of unit whose move did it: a pawn, or a piece or king.";

    fn shape() -> impl Shape<Value = MovedBy> {
        word()
    }

    fn default() -> MovedBy {
        MovedBy::Any
    }

    fn condition(by: &MovedBy, table: Table) -> Condition<'_> {
        let units = match (table, by) {
            (Table::Spells, MovedBy::Pawn) => vec!["pawn"],
            (Table::Spells, MovedBy::Piece) => vec!["knight", "bishop", "rook", "queen", "king"],
            _ => return Condition::Always,
        };
        Condition::OneOf("cause_kind", units)
    }
}

/// Phase of the game.
pub enum Phases {}

impl Field for Phases {
    type Value = Vec<Phase>;
    const NAME: &'static str = "phase";
    const TEXT: &'static str = "Phases looked at, of a spell the one at its start; empty for all.";

    fn shape() -> impl Shape<Value = Vec<Phase>> {
        words()
    }

    fn default() -> Vec<Phase> {
        Vec::new()
    }

    fn condition(phases: &Vec<Phase>, _: Table) -> Condition<'_> {
        any_of("phase", phases)
    }

    fn said(phases: &Vec<Phase>) -> Option<Said> {
        listed("Phase", phases)
    }
}

/// Whether an enemy unit attacks the piece.
pub enum Attacked {}

impl Field for Attacked {
    type Value = YesNo;
    const NAME: &'static str = "attacked";
    const TEXT: &'static str = "Only pieces an enemy unit attacks (yes), only others (no), or both; of a spell, at its start.";

    fn shape() -> impl Shape<Value = YesNo> {
        word()
    }

    fn default() -> YesNo {
        YesNo::Any
    }

    fn condition(attacked: &YesNo, table: Table) -> Condition<'_> {
        match (table, attacked.wanted()) {
            (_, None) => Condition::Always,
            (Table::Spells, Some(wanted)) => Condition::Empty("attacked_by", !wanted),
            (_, Some(wanted)) => Condition::Is("attacked", wanted),
        }
    }

    fn said(attacked: &YesNo) -> Option<Said> {
        only("Attacked", *attacked, "are attacked", "are not attacked")
    }
}

/// Whether an own unit defends the piece.
pub enum Defended {}

impl Field for Defended {
    type Value = YesNo;
    const NAME: &'static str = "defended";
    const TEXT: &'static str = "Only pieces an own unit defends (yes), only others (no), or both; of a spell, at its start.";

    fn shape() -> impl Shape<Value = YesNo> {
        word()
    }

    fn default() -> YesNo {
        YesNo::Any
    }

    fn condition(defended: &YesNo, _: Table) -> Condition<'_> {
        is("defended", *defended)
    }

    fn said(defended: &YesNo) -> Option<Said> {
        only("Defended", *defended, "are defended", "are not defended")
    }
}

/// Good squares, at most.
pub enum GoodSquares {}

impl Field for GoodSquares {
    type Value = Option<u8>;
    const NAME: &'static str = "good";
    const TEXT: &'static str = "Good squares (definitions, section 4) at the start, at most; any number where not given. Free turns cannot be matched by it.";

    fn shape() -> impl Shape<Value = Option<u8>> {
        Optional(number(0..=64))
    }

    fn default() -> Option<u8> {
        None
    }

    fn condition(good: &Option<u8>, table: Table) -> Condition<'_> {
        match (table, good) {
            (Table::Spells, Some(most)) => Condition::AtMost("good", u64::from(*most)),
            _ => Condition::Always,
        }
    }

    fn said(good: &Option<u8>) -> Option<Said> {
        good.map(|most| Said {
            name: "Good squares",
            words: format!("{most} at most"),
        })
    }
}

/// Whether the piece had moved.
pub enum Developed {}

impl Field for Developed {
    type Value = YesNo;
    const NAME: &'static str = "developed";
    const TEXT: &'static str =
        "Only pieces that have moved (yes), only such that have not (no), or both.";

    fn shape() -> impl Shape<Value = YesNo> {
        word()
    }

    fn default() -> YesNo {
        YesNo::Any
    }

    fn condition(developed: &YesNo, _: Table) -> Condition<'_> {
        is("developed", *developed)
    }

    fn said(developed: &YesNo) -> Option<Said> {
        only("Developed", *developed, "have moved", "have not moved")
    }
}

/// Owner's rating band.
pub enum Bands {}

impl Field for Bands {
    type Value = Vec<String>;
    const NAME: &'static str = "band";
    const TEXT: &'static str =
        "Owner's rating bands looked at, as 1400-1599, unrated or missing; empty for all.";

    fn shape() -> impl Shape<Value = Vec<String>> {
        Texts {
            empty: "a rating band is named by its bounds, as \"1400-1599\"",
        }
    }

    fn default() -> Vec<String> {
        Vec::new()
    }

    fn condition(bands: &Vec<String>, _: Table) -> Condition<'_> {
        if bands.is_empty() {
            return Condition::Always;
        }
        Condition::OneOf("band", bands.iter().map(String::as_str).collect())
    }

    fn said(bands: &Vec<String>) -> Option<Said> {
        listed("Owner's rating band", bands)
    }
}

/// Time class of the game.
pub enum TimeClasses {}

impl Field for TimeClasses {
    type Value = Vec<TimeClass>;
    const NAME: &'static str = "time_class";
    const TEXT: &'static str = "Time classes looked at; empty for all.";

    fn shape() -> impl Shape<Value = Vec<TimeClass>> {
        words()
    }

    fn default() -> Vec<TimeClass> {
        Vec::new()
    }

    fn condition(classes: &Vec<TimeClass>, _: Table) -> Condition<'_> {
        any_of("time_class", classes)
    }

    fn said(classes: &Vec<TimeClass>) -> Option<Said> {
        listed("Time class", classes)
    }
}

/// Owner's rating less the opponent's, in classes.
pub enum RatingDiffs {}

impl Field for RatingDiffs {
    type Value = Vec<RatingDiff>;
    const NAME: &'static str = "rating_diff";
    const TEXT: &'static str = "Owner's rating less the opponent's; empty for all.";

    fn shape() -> impl Shape<Value = Vec<RatingDiff>> {
        words()
    }

    fn default() -> Vec<RatingDiff> {
        Vec::new()
    }

    fn condition(differences: &Vec<RatingDiff>, _: Table) -> Condition<'_> {
        any_of("rating_diff", differences)
    }

    fn said(differences: &Vec<RatingDiff>) -> Option<Said> {
        listed("Rating difference", differences)
    }
}

/// Horizon in moves.
pub enum Within {}

impl Field for Within {
    type Value = u32;
    const NAME: &'static str = "within";
    const TEXT: &'static str = "Horizon in moves.";

    fn shape() -> impl Shape<Value = u32> {
        Horizon
    }

    fn default() -> u32 {
        10
    }
}

/// What is counted.
pub enum Counted {}

impl Field for Counted {
    type Value = Outcome;
    const NAME: &'static str = "outcome";
    const TEXT: &'static str =
        "What is counted (definitions, section 7); captured is lost, traded or sold.";

    fn shape() -> impl Shape<Value = Outcome> {
        word()
    }

    fn default() -> Outcome {
        Outcome::Lost
    }
}

/// The word in a column is one of these; no condition where there are none.
fn any_of<T: Word>(column: &'static str, words: &[T]) -> Condition<'static> {
    if words.is_empty() {
        return Condition::Always;
    }
    Condition::OneOf(column, words.iter().map(|word| word.word()).collect())
}

/// A boolean column has the wanted value.
fn is(column: &'static str, wanted: YesNo) -> Condition<'static> {
    wanted
        .wanted()
        .map_or(Condition::Always, |wanted| Condition::Is(column, wanted))
}

/// A list in words, `a or b`.
fn listed<T: ToString>(name: &'static str, values: &[T]) -> Option<Said> {
    let words: Vec<String> = values.iter().map(ToString::to_string).collect();
    (!words.is_empty()).then(|| Said {
        name,
        words: words.join(" or "),
    })
}

/// A yes or no in words.
fn only(name: &'static str, wanted: YesNo, yes: &str, no: &str) -> Option<Said> {
    let what = if wanted.wanted()? { yes } else { no };
    Some(Said {
        name,
        words: format!("only pieces that {what}"),
    })
}
