//! The table `games`.

use arrow_array::types::{UInt32Type, UInt64Type};
use hobble_game::id::Ids;
use hobble_game::reader::{Ending, GameText};
use hobble_game::start::Start;
use hobble_game::tags::Tag;
use hobble_game::text::decode;
use hobble_terms::{Band, GameResult, TimeClass, Variant};

use crate::column::{Codes, Flags, Longs, MaybeNumbers, Numbers, Texts};
use crate::encode::Columns;

/// What the board showed of a game, for its row.
#[derive(Clone, Copy, Debug, Default)]
pub struct Played {
    /// Plies.
    pub plies: u16,
    /// Captures among them.
    pub captures: u16,
    /// En passant captures among them.
    pub en_passant: u16,
    /// Promotions among them.
    pub promotions: u16,
    /// Castlings among them.
    pub castlings: u16,
}

/// A game as its row sees it.
pub struct GameRow<'a> {
    /// Number in the source.
    pub number: u32,
    /// Ids.
    pub ids: Ids,
    /// Archive file.
    pub file: &'a str,
    /// Byte of its text.
    pub offset: u64,
    /// Line of its text.
    pub line: u64,
    /// What the text says.
    pub text: &'a GameText,
    /// Where it starts.
    pub start: &'a Start,
    /// Bands of White and Black.
    pub bands: [Band; 2],
    /// Width of the bands.
    pub band_width: u16,
    /// Time class.
    pub time_class: TimeClass,
    /// What was played.
    pub played: Played,
    /// How the last position stands.
    pub ending: Ending,
    /// Safe mobility at position 0.
    pub start_safe: [[u8; 6]; 2],
}

/// Growing rows of `games`.
pub struct GameColumns {
    game: Longs<UInt32Type>,
    game_id: Longs<UInt64Type>,
    moves_id: Longs<UInt64Type>,
    file: Texts,
    offset: Longs<UInt64Type>,
    line: Longs<UInt64Type>,
    event: Texts,
    site: Texts,
    date: Texts,
    round: Texts,
    white: Texts,
    black: Texts,
    result: Codes,
    white_rating: MaybeNumbers<u16>,
    black_rating: MaybeNumbers<u16>,
    white_band: Texts,
    black_band: Texts,
    time_control: Texts,
    time_class: Codes,
    eco: Texts,
    termination: Texts,
    variant: Codes,
    start_fen: Texts,
    plies: Numbers<u16>,
    captures: Numbers<u16>,
    en_passant: Numbers<u16>,
    promotions: Numbers<u16>,
    castlings: Numbers<u16>,
    clocks: Numbers<u16>,
    evals: Numbers<u16>,
    ending: Codes,
    repaired: Flags,
    start_safe: [Numbers<u8>; 12],
}

impl Default for GameColumns {
    fn default() -> Self {
        GameColumns {
            game: Longs::default(),
            game_id: Longs::default(),
            moves_id: Longs::default(),
            file: Texts::default(),
            offset: Longs::default(),
            line: Longs::default(),
            event: Texts::default(),
            site: Texts::default(),
            date: Texts::default(),
            round: Texts::default(),
            white: Texts::default(),
            black: Texts::default(),
            result: Codes::of(GameResult::ALL.map(GameResult::name)),
            white_rating: MaybeNumbers::default(),
            black_rating: MaybeNumbers::default(),
            white_band: Texts::default(),
            black_band: Texts::default(),
            time_control: Texts::default(),
            time_class: Codes::of(TimeClass::ALL.map(TimeClass::name)),
            eco: Texts::default(),
            termination: Texts::default(),
            variant: Codes::of([Variant::Standard.name(), Variant::Chess960.name()]),
            start_fen: Texts::default(),
            plies: Numbers::default(),
            captures: Numbers::default(),
            en_passant: Numbers::default(),
            promotions: Numbers::default(),
            castlings: Numbers::default(),
            clocks: Numbers::default(),
            evals: Numbers::default(),
            ending: Codes::of(Ending::ALL.map(Ending::name)),
            repaired: Flags::default(),
            start_safe: std::array::from_fn(|_| Numbers::default()),
        }
    }
}

impl GameColumns {
    /// Adds a game; tells whether some of its text had to be repaired.
    pub fn push(&mut self, row: &GameRow<'_>) -> bool {
        let tags = &row.text.tags;
        let mut repaired = false;
        let mut text = |tag: Tag, column: &mut Texts| {
            let value = tags.known(tag).map(decode);
            repaired |= value.as_ref().is_some_and(|(_, odd)| *odd);
            column.push_maybe(value.as_ref().map(|(text, _)| text.as_ref()));
        };
        text(Tag::Event, &mut self.event);
        text(Tag::Site, &mut self.site);
        text(Tag::Date, &mut self.date);
        text(Tag::Round, &mut self.round);
        text(Tag::White, &mut self.white);
        text(Tag::Black, &mut self.black);
        text(Tag::TimeControl, &mut self.time_control);
        text(Tag::Eco, &mut self.eco);
        text(Tag::Termination, &mut self.termination);
        if row.start.usual {
            self.start_fen.push_maybe(None);
        } else {
            text(Tag::Fen, &mut self.start_fen);
        }
        self.game.push(row.number);
        self.game_id.push(row.ids.game);
        self.moves_id.push(row.ids.moves);
        self.file.push(row.file);
        self.offset.push(row.offset);
        self.line.push(row.line);
        self.result.push(row.text.result() as u8);
        self.white_rating.push(tags.rating(Tag::WhiteElo).points());
        self.black_rating.push(tags.rating(Tag::BlackElo).points());
        self.white_band.push(&row.bands[0].name(row.band_width));
        self.black_band.push(&row.bands[1].name(row.band_width));
        self.time_class.push(row.time_class as u8);
        self.variant.push(match row.start.variant {
            Variant::Standard => 0,
            Variant::Chess960 => 1,
        });
        self.plies.push(row.played.plies);
        self.captures.push(row.played.captures);
        self.en_passant.push(row.played.en_passant);
        self.promotions.push(row.played.promotions);
        self.castlings.push(row.played.castlings);
        self.clocks
            .push(row.text.clocks.iter().flatten().count() as u16);
        self.evals
            .push(row.text.evals.iter().flatten().count() as u16);
        self.ending.push(row.ending as u8);
        self.repaired.push(repaired);
        for (column, safe) in self
            .start_safe
            .iter_mut()
            .zip(row.start_safe.as_flattened())
        {
            column.push(*safe);
        }
        repaired
    }

    /// The columns, in the order of the schema.
    pub fn columns(&mut self) -> Columns<'_> {
        let mut columns = Columns::new(self.game.len());
        columns.add("game", &mut self.game);
        columns.add("game_id", &mut self.game_id);
        columns.add("moves_id", &mut self.moves_id);
        columns.add("file", &mut self.file);
        columns.add("offset", &mut self.offset);
        columns.add("line", &mut self.line);
        columns.add("event", &mut self.event);
        columns.add("site", &mut self.site);
        columns.add("date", &mut self.date);
        columns.add("round", &mut self.round);
        columns.add("white", &mut self.white);
        columns.add("black", &mut self.black);
        columns.add("result", &mut self.result);
        columns.add("white_rating", &mut self.white_rating);
        columns.add("black_rating", &mut self.black_rating);
        columns.add("white_band", &mut self.white_band);
        columns.add("black_band", &mut self.black_band);
        columns.add("time_control", &mut self.time_control);
        columns.add("time_class", &mut self.time_class);
        columns.add("eco", &mut self.eco);
        columns.add("termination", &mut self.termination);
        columns.add("variant", &mut self.variant);
        columns.add("start_fen", &mut self.start_fen);
        columns.add("plies", &mut self.plies);
        columns.add("captures", &mut self.captures);
        columns.add("en_passant", &mut self.en_passant);
        columns.add("promotions", &mut self.promotions);
        columns.add("castlings", &mut self.castlings);
        columns.add("clocks", &mut self.clocks);
        columns.add("evals", &mut self.evals);
        columns.add("ending", &mut self.ending);
        columns.add("repaired", &mut self.repaired);
        for (name, column) in START_SAFE.iter().zip(&mut self.start_safe) {
            columns.add(name, column);
        }
        columns
    }
}

const START_SAFE: [&str; 12] = [
    "start_white_pawn",
    "start_white_knight",
    "start_white_bishop",
    "start_white_rook",
    "start_white_queen",
    "start_white_king",
    "start_black_pawn",
    "start_black_knight",
    "start_black_bishop",
    "start_black_rook",
    "start_black_queen",
    "start_black_king",
];
