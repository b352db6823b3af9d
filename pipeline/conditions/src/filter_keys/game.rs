//! Which games and turns: phase, rating band, time class.

use hobble_terms::{Band, Phase, TimeClass};

use super::{any_of, listed};
use crate::asked_rows::AskedRows;
use crate::fields::Said;
use crate::fields::shape::{steps, texts, words};
use crate::filter::Condition;

crate::fields! {
    /// Phases looked at, of a spell the one at its start; empty for all.
    Phases("phase"): Vec<Phase> = Vec::new(), in words() => {
        condition(phases, _): any_of("phase", phases),
        said(phases): listed("Phase", phases),
    };

    /// Width of rating bands in points, a multiple of 100: for strata, rows and filters.
    BandWidth("band_width"): u16 = Band::USUAL_WIDTH, in steps(Band::WIDTH, Band::WIDEST) => {
        given(beside): beside.band_width.map(|points| points.to_string()),
        said(points): (*points != Band::USUAL_WIDTH).then(|| Said {
            name: "Rating bands",
            words: format!("{points} points wide"),
        }),
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
        absent(bands, width): {
            let names = Band::names(width);
            let strange = bands.iter().find(|band| !names.contains(band))?;
            // Bounds that a reader may have meant, where the name begins with a number.
            let low: Option<u16> = strange.split('-').next().and_then(|low| low.parse().ok());
            let near = low.map(|low| Band::From(low - low % width).name(width));
            let near = near.filter(|near| names.contains(near));
            let near = near.map_or_else(String::new, |near| format!(", as {near}"));
            Some(format!(
                "there is no rating band \"{strange}\": with band_width = {width} they are {width} points wide{near}, unrated and missing"
            ))
        },
        said(bands): listed("Owner's rating band", bands),
    };

    /// Time classes looked at; empty for all.
    TimeClasses("time_class"): Vec<TimeClass> = Vec::new(), in words() => {
        condition(classes, _): any_of("time_class", classes),
        said(classes): listed("Time class", classes),
    };
}

/// The width of rating bands of a question that does not say.
pub fn usual_band_width() -> u16 {
    Band::USUAL_WIDTH
}

/// Whether a width of rating bands is that of a question that does not say. It is then not written, so
/// that hashes of questions stay what they were.
pub fn is_usual_band_width(width: &u16) -> bool {
    *width == Band::USUAL_WIDTH
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fields::Field as _;

    #[test]
    fn a_band_of_another_width_is_named_with_the_nearest() {
        let absent = |band: &str| Bands::absent(&vec!["unrated".to_owned(), band.to_owned()], 200);
        assert_eq!(absent("1400-1599"), None);
        assert_eq!(absent("missing"), None);
        let narrow = absent("1500-1599").unwrap();
        assert!(
            narrow.contains("\"1500-1599\"") && narrow.contains("as 1400-1599"),
            "{narrow}"
        );
        assert!(absent("1400-1600").unwrap().contains("as 1400-1599"));
        assert!(
            absent("strong")
                .unwrap()
                .ends_with("they are 200 points wide, unrated and missing")
        );
        assert_eq!(Bands::absent(&Vec::new(), 200), None);
    }
}
