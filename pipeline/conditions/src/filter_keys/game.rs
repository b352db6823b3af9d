//! Which games and turns: phase, rating band, time class, rating difference.

use hobble_terms::{Phase, RatingDiff, TimeClass};

use super::{any_of, listed};
use crate::asked_rows::AskedRows;
use crate::fields::shape::{texts, words};
use crate::filter::Condition;

crate::fields! {
    /// Phases looked at, of a spell the one at its start; empty for all.
    Phases("phase"): Vec<Phase> = Vec::new(), in words() => {
        condition(phases, _): any_of("phase", phases),
        said(phases): listed("Phase", phases),
    };

    /// Owner's rating bands looked at, as 1400-1599, unrated or missing; empty for all.
    Bands("band"): Vec<String> = Vec::new(), in texts("a rating band is named by its bounds, as \"1400-1599\"") => {
        condition(bands, rows): {
            if bands.is_empty() {
                return Condition::Always;
            }
            // The band of a chance is that of the side on move.
            let column = match rows {
                AskedRows::Chances => "owner_band",
                _ => "band",
            };
            Condition::OneOf(column, bands.iter().map(String::as_str).collect())
        },
        said(bands): listed("Owner's rating band", bands),
    };

    /// Time classes looked at; empty for all.
    TimeClasses("time_class"): Vec<TimeClass> = Vec::new(), in words() => {
        condition(classes, _): any_of("time_class", classes),
        said(classes): listed("Time class", classes),
    };

    /// Owner's rating less the opponent's; empty for all.
    RatingDiffs("rating_diff"): Vec<RatingDiff> = Vec::new(), in words() => {
        condition(differences, _): any_of("rating_diff", differences),
        said(differences): listed("Rating difference", differences),
    };
}
