//! The tags that are kept.

use crate::time_control::{TimeClass, TimeCuts};

/// A tag that is kept.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[repr(usize)]
pub enum Tag {
    /// Event
    Event,
    /// Site
    Site,
    /// Date
    Date,
    /// Round
    Round,
    /// White
    White,
    /// Black
    Black,
    /// Result
    Result,
    /// WhiteElo
    WhiteElo,
    /// BlackElo
    BlackElo,
    /// TimeControl
    TimeControl,
    /// ECO
    Eco,
    /// Termination
    Termination,
    /// Variant
    Variant,
    /// FEN
    Fen,
}

const COUNT: usize = 14;

impl Tag {
    /// The tag of a name.
    #[inline]
    pub fn of_name(name: &[u8]) -> Option<Tag> {
        Some(match name {
            b"Event" => Tag::Event,
            b"Site" => Tag::Site,
            b"Date" => Tag::Date,
            b"Round" => Tag::Round,
            b"White" => Tag::White,
            b"Black" => Tag::Black,
            b"Result" => Tag::Result,
            b"WhiteElo" => Tag::WhiteElo,
            b"BlackElo" => Tag::BlackElo,
            b"TimeControl" => Tag::TimeControl,
            b"ECO" => Tag::Eco,
            b"Termination" => Tag::Termination,
            b"Variant" => Tag::Variant,
            b"FEN" => Tag::Fen,
            _ => return None,
        })
    }
}

/// Values of a game's tags, as bytes with the escapes of PGN undone.
#[derive(Clone, Debug, Default)]
pub struct Tags {
    bytes: Vec<u8>,
    spans: [Option<(u32, u32)>; COUNT],
    any: bool,
}

impl Tags {
    /// Forgets all.
    pub fn clear(&mut self) {
        self.bytes.clear();
        self.spans = [None; COUNT];
        self.any = false;
    }

    /// Notes that some tag was there.
    pub fn note(&mut self) {
        self.any = true;
    }

    /// Whether any tag was there, kept or not.
    pub fn any(&self) -> bool {
        self.any
    }

    /// Keeps a value; of a tag given twice the first.
    pub fn set(&mut self, tag: Tag, value: &[u8]) {
        let span = &mut self.spans[tag as usize];
        if span.is_none() {
            let start = self.bytes.len();
            self.bytes.extend_from_slice(value);
            *span = Some((start as u32, self.bytes.len() as u32));
        }
    }

    /// Value as it stands; empty where missing.
    #[inline]
    pub fn raw(&self, tag: Tag) -> &[u8] {
        match self.spans[tag as usize] {
            Some((start, end)) => &self.bytes[start as usize..end as usize],
            None => b"",
        }
    }

    /// Value; `None` where missing, empty or `?`.
    pub fn known(&self, tag: Tag) -> Option<&[u8]> {
        match self.raw(tag) {
            b"" | b"?" => None,
            value => Some(value),
        }
    }

    /// Rating of a player.
    pub fn rating(&self, tag: Tag) -> Rating {
        match self.raw(tag).trim_ascii() {
            b"-" | b"0" => Rating::Unrated,
            value => std::str::from_utf8(value)
                .ok()
                .filter(|text| text.bytes().all(|byte| byte.is_ascii_digit()))
                .and_then(|text| text.parse().ok())
                .filter(|rating| (1..=4000).contains(rating))
                .map_or(Rating::Missing, Rating::Points),
        }
    }

    /// Time class of the game.
    pub fn time_class(&self, cuts: &TimeCuts) -> TimeClass {
        match self.known(Tag::TimeControl) {
            Some(value) => cuts.class(value),
            None => TimeClass::Unknown,
        }
    }
}

/// A player's rating.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Rating {
    /// Rating points, 1 to 4000.
    Points(u16),
    /// Said to have none.
    Unrated,
    /// Nothing said, or nothing readable.
    Missing,
}

impl Rating {
    /// The points, where there are any.
    pub fn points(self) -> Option<u16> {
        match self {
            Rating::Points(points) => Some(points),
            _ => None,
        }
    }

    /// Rating band of a width: named by its bounds, as `1400-1599`.
    pub fn band(self, width: u16) -> Band {
        match self {
            Rating::Points(points) => Band::From(points / width * width),
            Rating::Unrated => Band::Unrated,
            Rating::Missing => Band::Missing,
        }
    }
}

/// A rating band.
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
    /// Name in the tables, for bands of a width.
    pub fn name(self, width: u16) -> String {
        match self {
            Band::From(low) => format!("{low}-{}", u32::from(low) + u32::from(width) - 1),
            Band::Unrated => "unrated".to_owned(),
            Band::Missing => "missing".to_owned(),
        }
    }
}

/// Owner's rating less the opponent's, in classes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
#[repr(u8)]
pub enum RatingDiff {
    /// 200 and more below.
    FarBelow = 0,
    /// 50 to 199 below.
    Below = 1,
    /// Less than 50 apart.
    Even = 2,
    /// 50 to 199 above.
    Above = 3,
    /// 200 and more above.
    FarAbove = 4,
    /// One of the ratings is not known.
    Unknown = 5,
}

impl RatingDiff {
    /// All classes.
    pub const ALL: [RatingDiff; 6] = [
        RatingDiff::FarBelow,
        RatingDiff::Below,
        RatingDiff::Even,
        RatingDiff::Above,
        RatingDiff::FarAbove,
        RatingDiff::Unknown,
    ];

    /// Class of two ratings.
    pub fn of(owner: Rating, opponent: Rating) -> RatingDiff {
        match (owner.points(), opponent.points()) {
            (Some(owner), Some(opponent)) => match i32::from(owner) - i32::from(opponent) {
                ..=-200 => RatingDiff::FarBelow,
                -199..=-50 => RatingDiff::Below,
                -49..=49 => RatingDiff::Even,
                50..=199 => RatingDiff::Above,
                _ => RatingDiff::FarAbove,
            },
            _ => RatingDiff::Unknown,
        }
    }

    /// Name in the tables.
    pub const fn name(self) -> &'static str {
        match self {
            RatingDiff::FarBelow => "<=-200",
            RatingDiff::Below => "-199..-50",
            RatingDiff::Even => "-49..49",
            RatingDiff::Above => "50..199",
            RatingDiff::FarAbove => ">=200",
            RatingDiff::Unknown => "unknown",
        }
    }
}
