//! The tags that are kept.

use hobble_terms::{Rating, TimeClass, TimeCuts};

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
    /// WhiteTitle
    WhiteTitle,
    /// BlackTitle
    BlackTitle,
}

const COUNT: usize = 16;

impl Tag {
    /// The seven tags that every game has (PGN standard, section 8.1.1, from memory), in their order.
    pub const ROSTER: [Tag; 7] = [
        Tag::Event,
        Tag::Site,
        Tag::Date,
        Tag::Round,
        Tag::White,
        Tag::Black,
        Tag::Result,
    ];

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
            b"WhiteTitle" => Tag::WhiteTitle,
            b"BlackTitle" => Tag::BlackTitle,
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

    /// Keeps a value instead of the one that is there.
    pub fn replace(&mut self, tag: Tag, value: &[u8]) {
        self.spans[tag as usize] = None;
        self.set(tag, value);
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
