//! Which games and turns: phase, rating band, time class, rating difference.

use hobble_terms::{Phase, RatingDiff, TimeClass};

use super::{any_of, listed};
use crate::asked_rows::AskedRows;
use crate::fields::shape::{Shape, Texts, words};
use crate::fields::{Field, Said};
use crate::filter::Condition;

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

    fn condition(phases: &Vec<Phase>, _: AskedRows) -> Condition<'_> {
        any_of("phase", phases)
    }

    fn said(phases: &Vec<Phase>) -> Option<Said> {
        listed("Phase", phases)
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

    fn condition(bands: &Vec<String>, _: AskedRows) -> Condition<'_> {
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

    fn condition(classes: &Vec<TimeClass>, _: AskedRows) -> Condition<'_> {
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

    fn condition(differences: &Vec<RatingDiff>, _: AskedRows) -> Condition<'_> {
        any_of("rating_diff", differences)
    }

    fn said(differences: &Vec<RatingDiff>) -> Option<Said> {
        listed("Rating difference", differences)
    }
}
