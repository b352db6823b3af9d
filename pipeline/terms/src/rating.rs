//! Ratings, rating bands and rating differences (definitions, section 9).

use crate::words;

/// A player's rating.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Rating {
    /// Rating points, 1 to [`Rating::TOP`].
    Points(u16),
    /// Said to have none.
    Unrated,
    /// Nothing said, or nothing readable.
    Missing,
}

impl Rating {
    /// Highest rating there is.
    pub const TOP: u16 = 4000;

    /// The points, where there are any.
    pub const fn points(self) -> Option<u16> {
        match self {
            Rating::Points(points) => Some(points),
            Rating::Unrated | Rating::Missing => None,
        }
    }

    /// Rating band of a width.
    pub const fn band(self, width: u16) -> Band {
        match self {
            Rating::Points(points) => Band::From(points / width * width),
            Rating::Unrated => Band::Unrated,
            Rating::Missing => Band::Missing,
        }
    }
}

/// A rating band. Bands are ordered by their bounds, unrated and missing last.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Band {
    /// The band that starts at these points.
    From(u16),
    /// Unrated players.
    Unrated,
    /// Rating missing.
    Missing,
}

impl Band {
    /// Width of the bands in the tables, in points. A question takes neighbours together
    /// ([`Band::widened`]), so that its own width is a multiple of this one.
    pub const WIDTH: u16 = 100;

    /// Widest bands a question may ask for, in points.
    pub const WIDEST: u16 = 1000;

    /// Width of the bands of a question that does not say, in points.
    pub const USUAL_WIDTH: u16 = 200;

    /// Name in the tables, for bands of a width: by its bounds, as `1400-1599`.
    pub fn name(self, width: u16) -> String {
        match self {
            Band::From(low) => format!("{low}-{}", u32::from(low) + u32::from(width) - 1),
            Band::Unrated => "unrated".to_owned(),
            Band::Missing => "missing".to_owned(),
        }
    }

    /// The band of a name, whatever its width.
    pub fn from_name(name: &str) -> Option<Band> {
        match name {
            "unrated" => Some(Band::Unrated),
            "missing" => Some(Band::Missing),
            bounds => bounds.split('-').next()?.parse().ok().map(Band::From),
        }
    }

    /// The names of all bands of a width, by [`Band::code`].
    pub fn names(width: u16) -> Vec<String> {
        let steps = Rating::TOP / width;
        (0..=steps)
            .map(|step| Band::From(step * width))
            .chain([Band::Unrated, Band::Missing])
            .map(|band| band.name(width))
            .collect()
    }

    /// The band of this width that the band is in. Its own width must divide this one.
    pub const fn widened(self, width: u16) -> Band {
        match self {
            Band::From(low) => Band::From(low / width * width),
            unknown => unknown,
        }
    }

    /// Place of the band in [`Band::names`], for a width of 20 or more: there are no codes for more
    /// bands.
    pub const fn code(self, width: u16) -> u8 {
        let steps = Rating::TOP / width;
        let code = match self {
            Band::From(low) => low / width,
            Band::Unrated => steps + 1,
            Band::Missing => steps + 2,
        };
        code as u8
    }
}

words! {
    /// Owner's rating less the opponent's, in classes.
    RatingDiff {
        /// 200 and more below.
        FarBelow = "<=-200",
        /// 50 to 199 below.
        Below = "-199..-50",
        /// Less than 50 apart.
        Even = "-49..49",
        /// 50 to 199 above.
        Above = "50..199",
        /// 200 and more above.
        FarAbove = ">=200",
        /// One of the ratings is not known.
        Unknown = "unknown",
    }
}

impl RatingDiff {
    /// Class of two ratings.
    pub const fn of(owner: Rating, opponent: Rating) -> RatingDiff {
        match (owner, opponent) {
            (Rating::Points(owner), Rating::Points(opponent)) => {
                match owner as i32 - opponent as i32 {
                    ..=-200 => RatingDiff::FarBelow,
                    -199..=-50 => RatingDiff::Below,
                    -49..=49 => RatingDiff::Even,
                    50..=199 => RatingDiff::Above,
                    _ => RatingDiff::FarAbove,
                }
            }
            _ => RatingDiff::Unknown,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bands_read_back_and_keep_their_codes() {
        for width in [20, Band::WIDTH, 200, 300, Band::WIDEST] {
            let names = Band::names(width);
            assert!(names.len() <= 255);
            for rating in [
                Rating::Points(1),
                Rating::Points(1599),
                Rating::Points(Rating::TOP),
                Rating::Unrated,
                Rating::Missing,
            ] {
                let band = rating.band(width);
                let name = &names[usize::from(band.code(width))];
                assert_eq!(*name, band.name(width));
                assert_eq!(Band::from_name(name), Some(band));
                if width % Band::WIDTH == 0 {
                    assert_eq!(rating.band(Band::WIDTH).widened(width), band);
                }
            }
        }
        assert_eq!(Band::from_name("high"), None);
    }

    #[test]
    fn differences() {
        let of = |owner, opponent| RatingDiff::of(Rating::Points(owner), Rating::Points(opponent));
        assert_eq!(of(1500, 1700), RatingDiff::FarBelow);
        assert_eq!(of(1500, 1699), RatingDiff::Below);
        assert_eq!(of(1500, 1549), RatingDiff::Even);
        assert_eq!(of(1550, 1500), RatingDiff::Above);
        assert_eq!(of(1700, 1500), RatingDiff::FarAbove);
        let unknown = RatingDiff::of(Rating::Unrated, Rating::Points(1500));
        assert_eq!(unknown, RatingDiff::Unknown);
    }
}
