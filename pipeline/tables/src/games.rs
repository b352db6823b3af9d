//! The table `games`.

use hobble_game::ending::Ending;
use hobble_game::game_text::GameText;
use hobble_game::id::Ids;
use hobble_game::start::Start;
use hobble_game::tags::Tag;
use hobble_game::text::decode;
use hobble_terms::{Band, GameResult, TimeClass, Variant};
use hobble_tracks::track::Ply;

use crate::column::Text;
use crate::declare::{Distinct, Large, OfSide, Rising, table};
use crate::growing::MaybeTexts;

table! {
    /// One row a game that was kept.
    Games, schema 3, row "source, game";
    columns GameColumns;
    handles GameHandles, GAMES;

    /// Number of the game in its source, from 1; skipped games are counted too. With `source`
    /// (the folder) it names the game in every table.
    game: Rising<i32>;
    /// Hash of the players, event and moves (definitions, section 9): stays the same wherever
    /// the game stands.
    game_id: Distinct<u64>;
    /// Hash of start and moves alone (repeats: definitions, section 11).
    moves_id: Distinct<u64>;
    /// Archive file the game was read from, as named to the scan; `-` is standard input.
    file: Text;
    /// Where the game's text starts in the decompressed file.
    byte_offset: Rising<i64>, unit "bytes";
    /// Line of the decompressed file at which the game's text starts, from 1.
    line: Rising<i64>, unit "line";
    /// Event tag.
    event: Option<Text>, null "missing, empty or ?";
    /// Site tag.
    site: Option<Text>, null "missing, empty or ?";
    /// Date tag as it stands (YYYY.MM.DD, ?? for unknown parts).
    date: Option<Text>, null "missing, empty or ?";
    /// Round tag.
    round: Option<Text>, null "missing, empty or ?";
    /// Player of the white pieces.
    white: Option<Text>, null "missing, empty or ?";
    /// Player of the black pieces.
    black: Option<Text>, null "missing, empty or ?";
    /// Result of the game, from the end of its moves or else its Result tag.
    result: GameResult;
    /// White's rating.
    white_rating: Option<Large>, unit "rating points", null "unrated or missing";
    /// Black's rating.
    black_rating: Option<Large>, unit "rating points", null "unrated or missing";
    /// White's rating band, as 1400-1499, or unrated, or missing.
    white_band: Band;
    /// Black's rating band, as 1400-1499, or unrated, or missing.
    black_band: Band;
    /// TimeControl tag as it stands.
    time_control: Option<Text>, null "missing, empty or ?";
    /// Time class by estimated time.
    time_class: TimeClass;
    /// ECO tag as it stands.
    eco: Option<Text>, null "missing, empty or ?";
    /// Termination tag as it stands.
    termination: Option<Text>, null "missing, empty or ?";
    /// Rules the game was played by.
    variant: Variant;
    /// Start position, where it is not the usual one.
    start_fen: Option<Text>, null "usual start position";
    /// Plies played.
    plies: Large, unit "plies";
    /// Captures among them, en passant included.
    captures: Large, unit "plies";
    /// En passant captures among them.
    en_passant: Large, unit "plies";
    /// Promotions among them.
    promotions: Large, unit "plies";
    /// Castlings among them.
    castlings: Large, unit "plies";
    /// Plies with a clock comment.
    clocks: Large, unit "plies";
    /// Plies with an evaluation comment.
    evals: Large, unit "plies";
    /// How the last position stands by the rules alone.
    ending: Ending;
    /// True where a tag held bytes that are not UTF-8 and were read as Latin-1 or replaced.
    repaired: bool;
    /// Lines among the tags that could not be read and were passed over (definitions, section 10).
    unread_tags: Large, unit "lines";
    /// True where words that are not moves stand behind the result; they were passed over.
    stray_text: bool;
    /// Safe mobility at position 0, by side and kind of unit.
    start_safe: [OfSide; 12], unit "squares" {
        /// Safe mobility of white's pawns at position 0.
        start_white_pawn;
        /// Safe mobility of white's knights at position 0.
        start_white_knight;
        /// Safe mobility of white's bishops at position 0.
        start_white_bishop;
        /// Safe mobility of white's rooks at position 0.
        start_white_rook;
        /// Safe mobility of white's queens at position 0.
        start_white_queen;
        /// Safe mobility of white's kings at position 0.
        start_white_king;
        /// Safe mobility of black's pawns at position 0.
        start_black_pawn;
        /// Safe mobility of black's knights at position 0.
        start_black_knight;
        /// Safe mobility of black's bishops at position 0.
        start_black_bishop;
        /// Safe mobility of black's rooks at position 0.
        start_black_rook;
        /// Safe mobility of black's queens at position 0.
        start_black_queen;
        /// Safe mobility of black's kings at position 0.
        start_black_king;
    };
}

/// The plies of a game, counted by what they are.
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

impl Played {
    /// Counts plies by what they are.
    pub fn of(plies: &[Ply]) -> Played {
        let tally = |is: fn(&Ply) -> bool| plies.iter().filter(|ply| is(ply)).count() as u16;
        Played {
            plies: plies.len() as u16,
            captures: tally(|ply| ply.captured.is_some()),
            en_passant: tally(|ply| ply.en_passant),
            promotions: tally(|ply| ply.promotion.is_some()),
            castlings: tally(|ply| ply.castling),
        }
    }
}

/// A game for its row.
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
    /// Tags, clocks and evaluations.
    pub text: &'a GameText,
    /// Where it starts.
    pub start: &'a Start,
    /// Bands of White and Black.
    pub bands: [Band; 2],
    /// Time class.
    pub time_class: TimeClass,
    /// What was played.
    pub played: Played,
    /// How the last position stands.
    pub ending: Ending,
    /// Safe mobility at position 0.
    pub start_safe: [[u8; 6]; 2],
}

impl GameColumns {
    /// Adds a game; returns whether some of its text had to be repaired.
    pub fn push(&mut self, row: &GameRow<'_>) -> bool {
        let tags = &row.text.tags;
        let mut repaired = false;
        let mut text = |tag: Tag, column: &mut MaybeTexts| {
            let value = tags.known(tag).map(decode);
            repaired |= value.as_ref().is_some_and(|(_, odd)| *odd);
            column.push(value.as_ref().map(|(text, _)| text.as_ref()));
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
            self.start_fen.push(None);
        } else {
            text(Tag::Fen, &mut self.start_fen);
        }
        self.game.push(row.number as i32);
        self.game_id.push(row.ids.game);
        self.moves_id.push(row.ids.moves);
        self.file.push(row.file);
        self.byte_offset.push(row.offset as i64);
        self.line.push(row.line as i64);
        self.result.push(row.text.result());
        self.white_rating.push(tags.rating(Tag::WhiteElo).points());
        self.black_rating.push(tags.rating(Tag::BlackElo).points());
        self.white_band.push(row.bands[0].code(Band::WIDTH));
        self.black_band.push(row.bands[1].code(Band::WIDTH));
        self.time_class.push(row.time_class);
        self.variant.push(row.start.variant);
        self.plies.push(row.played.plies);
        self.captures.push(row.played.captures);
        self.en_passant.push(row.played.en_passant);
        self.promotions.push(row.played.promotions);
        self.castlings.push(row.played.castlings);
        self.clocks
            .push(row.text.clocks.iter().flatten().count() as u16);
        self.evals
            .push(row.text.evals.iter().flatten().count() as u16);
        self.ending.push(row.ending);
        self.repaired.push(repaired);
        self.unread_tags.push(row.text.unread_tags);
        self.stray_text.push(row.text.stray_text.is_some());
        for (column, safe) in self
            .start_safe
            .iter_mut()
            .zip(row.start_safe.as_flattened())
        {
            column.push(*safe);
        }
        repaired
    }
}
