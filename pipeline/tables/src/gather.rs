//! A block of games turned into rows.

use std::sync::Arc;

use hobble_archive::block::{Block, Cut, Place};
use hobble_game::check::skip_at_move;
use hobble_game::ending::Ending;
use hobble_game::game_text::GameText;
use hobble_game::id::{IdWriter, Ids};
use hobble_game::reader::GameReader;
use hobble_game::san::{refusal, resolve, with_piece};
use hobble_game::skip::Skip;
use hobble_game::start::{Start, start};
use hobble_game::tags::Tag;
use hobble_game::text::decode;
use hobble_terms::account::Account;
use hobble_terms::manifest::{Cuts, Repeats};
use hobble_terms::names::PlayerKeys;
use hobble_terms::{Band, RatingDiff, Reason, Table, TimeControl};
use hobble_tracks::track::{DecisionRows, MAX_PLIES, Track, TurnRows};
use parquet::errors::Result;
use shakmaty::Position;

use crate::booking::{Booking, ratings};
use crate::coded_pages::Encoder;
use crate::cube::{Counts, Tally};
use crate::decisions::DecisionColumns;
use crate::encode::{Columns, EncodedGroup};
use crate::exposure::Context;
use crate::game_facts::{GameFacts, player_fold};
use crate::games::{GameColumns, GameRow, Played};
use crate::layouts::Layouts;
use crate::moves::MoveColumns;
use crate::oddity::Oddity;
use crate::pseudonyms::PseudonymKey;
use crate::repeats::{GameKey, Original};
use crate::sample::is_sampled;
use crate::sides::{SideColumns, SideCounts, SidesGame};
use crate::skipped::{SkippedColumns, SkippedGame};
use crate::spells::{self, SpellColumns};
use crate::turns::TurnColumns;

/// A block as rows.
pub struct Gathered {
    /// Unpacked bytes of the source before the block's end.
    pub end_offset: u64,
    /// Names of the files its games are from; empty where all blocks are of one file.
    pub files: Vec<String>,
    /// What was read.
    pub account: Account,
    /// Games that were skipped.
    pub skipped: Vec<SkippedGame>,
    /// Text that was passed over in games that were kept, each with the place of its file.
    pub oddities: Vec<(u32, Oddity)>,
    /// Encoded rows of the tables that have any, except those of the exposure.
    pub groups: Vec<(Table, EncodedGroup)>,
    /// Counts of observations, for the cube of the part.
    pub counts: Counts,
}

/// Turns blocks into rows, keeping its buffers.
pub struct Gatherer {
    layouts: Arc<Layouts>,
    cuts: Cuts,
    reader: GameReader,
    track: Track,
    ids: IdWriter,
    rows: Rows,
    encoder: Encoder,
    /// Key of the pseudonyms, where rows hold no names.
    pseudonyms: Option<PseudonymKey>,
}

/// Tables with rows of a block's own.
const TABLES: usize = 7;

/// Place of `sides` among them.
const SIDES: usize = 5;

/// The growing rows of a block.
struct Rows {
    games: GameColumns,
    moves: MoveColumns,
    spells: SpellColumns,
    spell_order: spells::Order,
    turns: TurnColumns,
    /// Of the game that is being added.
    turn_rows: TurnRows,
    decisions: DecisionColumns,
    /// Of the game that is being added.
    decision_rows: DecisionRows,
    sides: SideColumns,
    skipped: SkippedColumns,
    tally: Tally,
    /// Of White and Black.
    keys: [PlayerKeys; 2],
}

impl Gatherer {
    /// A gatherer for tables of these layouts.
    pub fn new(layouts: Arc<Layouts>, cuts: Cuts) -> Gatherer {
        Gatherer {
            layouts,
            reader: GameReader::new(),
            track: Track::new(),
            ids: IdWriter::default(),
            rows: Rows {
                games: GameColumns::default(),
                moves: MoveColumns::default(),
                spells: SpellColumns::default(),
                spell_order: spells::Order::default(),
                turns: TurnColumns::default(),
                turn_rows: TurnRows::default(),
                decisions: DecisionColumns::default(),
                decision_rows: DecisionRows::default(),
                sides: SideColumns::default(),
                skipped: SkippedColumns::default(),
                tally: Tally::default(),
                keys: Default::default(),
            },
            encoder: Encoder::default(),
            cuts,
            pseudonyms: None,
        }
    }

    /// The same, with rows that hold pseudonyms instead of players' names.
    pub fn with_pseudonyms(mut self, key: Option<PseudonymKey>) -> Gatherer {
        self.pseudonyms = key;
        self
    }

    /// Gathers a block, of the archive file `only` unless it says otherwise; `ask` says which of
    /// its games repeat one read before. `None` where it gives no answer.
    ///
    /// # Errors
    ///
    /// Where rows cannot be encoded.
    pub fn block(
        &mut self,
        only: &str,
        block: &Block,
        ask: impl FnOnce(&[GameKey]) -> Option<Vec<Option<Original>>>,
    ) -> Result<Option<Gathered>> {
        let mut read = Vec::with_capacity(block.games.len());
        let mut skipped = Vec::new();
        for place in &block.games {
            let text = &block.text[place.span.start..place.span.end];
            match self.game(block.file_of(place, only), place, text) {
                Ok(game) => read.push(game),
                Err(skip) => skipped.push(SkippedGame::new(place, text, skip)),
            }
        }
        let keys: Vec<GameKey> = read.iter().map(|game| game.key).collect();
        let Some(originals) = ask(&keys) else {
            return Ok(None);
        };
        match self.cuts.repeats {
            Repeats::LeaveOut => self.leave_out(&mut read, &originals, block, &mut skipped),
            Repeats::Keep => self.mark(&read, &originals),
        }
        let mut account = Account::default();
        let mut oddities = Vec::new();
        for game in &read {
            game.booking.book(&mut account);
            oddities.extend(game.oddities.iter().map(|&oddity| (game.file, oddity)));
        }
        for game in &skipped {
            account.skip(game.skip.reason);
            let file = block.files.get(game.file as usize);
            let file = file.map_or(only, String::as_str);
            self.rows
                .skipped
                .push(file, game, self.pseudonyms.is_some());
        }
        self.rows.spells.put_alike_together();
        let mut groups = Vec::new();
        for (table, mut columns) in self.rows.tables() {
            if self.layouts.has(table) {
                let group = self.layouts.of(table).encode(columns, &mut self.encoder)?;
                groups.extend(group.map(|group| (table, group)));
            } else {
                columns.clear();
            }
        }
        Ok(Some(Gathered {
            end_offset: block.end_offset,
            files: block.files.clone(),
            account,
            skipped,
            oddities,
            groups,
            counts: self.rows.tally.count(),
        }))
    }

    /// Takes the rows of repeats back, and moves the games among those skipped.
    fn leave_out(
        &mut self,
        read: &mut Vec<ReadGame>,
        originals: &[Option<Original>],
        block: &Block,
        skipped: &mut Vec<SkippedGame>,
    ) {
        if originals.iter().all(Option::is_none) {
            return;
        }
        let kept: Vec<bool> = originals.iter().map(Option::is_none).collect();
        for (nth, (_, mut columns)) in self.rows.tables().into_iter().enumerate() {
            let mut start = 0;
            let mut ranges = Vec::new();
            for (game, &kept) in read.iter().zip(&kept) {
                let end = game.ends[nth];
                if kept {
                    ranges.push(start..end);
                }
                start = end;
            }
            columns.keep(&ranges);
        }
        self.rows.tally.keep(&kept);
        for (game, original) in read.iter().zip(originals) {
            let place = block.games.iter().find(|place| place.number == game.number);
            if let (Some(place), Some(original)) = (place, original) {
                let skip = Skip {
                    reason: Reason::Repeat,
                    at: 0,
                    words: format!("game {} of {}", original.number, original.source),
                };
                skipped.push(SkippedGame::new(place, b"", skip));
            }
        }
        skipped.sort_by_key(|game| game.number);
        let mut kept = kept.into_iter();
        read.retain(|_| kept.next().unwrap_or(true));
    }

    /// Marks the games that repeat another one.
    fn mark(&mut self, read: &[ReadGame], originals: &[Option<Original>]) {
        for (game, _) in read.iter().zip(originals).filter(|(_, one)| one.is_some()) {
            let end = game.ends[SIDES];
            self.rows.sides.mark_repeat(end.saturating_sub(2)..end);
        }
    }

    /// The keys of the games of a block, for a scan that writes no rows of it.
    pub fn keys(&mut self, block: &Block) -> Vec<GameKey> {
        let mut keys = Vec::with_capacity(block.games.len());
        for place in block.games.iter().filter(|place| place.cut.is_none()) {
            let text = &block.text[place.span.start..place.span.end];
            let Ok(game) = self.reader.read(text) else {
                continue;
            };
            if let Some(ids) = replayed(game, text, &mut self.ids) {
                keys.push(key(game, ids, place));
            }
        }
        keys
    }

    /// Reads and follows a game, and adds its rows and counts.
    fn game(
        &mut self,
        file: &str,
        place: &Place,
        text: &[u8],
    ) -> std::result::Result<ReadGame, Skip> {
        match place.cut {
            Some(Cut::TooLong) => return Err(Skip::whole(Reason::TooLong)),
            Some(Cut::EndOfRead) => return Err(Skip::whole(Reason::CutOff)),
            None => {}
        }
        let game = self.reader.read(text)?;
        let start = start(&game.tags, text)?;
        follow(game, text, &start, &mut self.track, &mut self.ids)?;
        // By the names themselves.
        let key = key(game, self.ids.ids(), place);
        if let Some(pseudonyms) = &self.pseudonyms {
            pseudonyms.replace(&mut game.tags, &mut self.rows.keys[0]);
            self.ids.rename(&game.tags);
        }
        let game = &*game;
        let about = About {
            file,
            place,
            game,
            start: &start,
            played: Played::of(self.track.plies()),
        };
        let (track, ids) = (&self.track, &self.ids);
        let repaired = self.rows.add(&about, track, ids, &self.layouts, &self.cuts);
        Ok(ReadGame {
            number: place.number,
            file: place.file,
            key,
            booking: Booking::of(game, about.played, repaired, track),
            oddities: Oddity::of(game, place, text).collect(),
            ends: self.rows.row_counts(),
        })
    }
}

/// A game that was read and followed, and has rows.
struct ReadGame {
    number: u64,
    /// Place of its file in the block.
    file: u32,
    key: GameKey,
    booking: Booking,
    oddities: Vec<Oddity>,
    /// Rows of each table up to the end of the game's own.
    ends: [usize; TABLES],
}

/// Answers that no game repeats another one.
pub fn keep_all(games: &[GameKey]) -> Option<Vec<Option<Original>>> {
    Some(vec![None; games.len()])
}

/// What of a game decides whether it repeats another one.
fn key(game: &GameText, ids: Ids, place: &Place) -> GameKey {
    let names = [Tag::White, Tag::Black].map(|tag| game.tags.known(tag).map(decode));
    let names = names
        .each_ref()
        .map(|name| name.as_ref().map(|(name, _)| name.as_ref()));
    let plies = game.moves.len() as u16;
    GameKey::of(ids, game.result(), plies, names, place.number as u32)
}

/// The ids of a game by the rules alone; `None` where it is skipped.
fn replayed(game: &GameText, text: &[u8], ids: &mut IdWriter) -> Option<Ids> {
    if game.moves.len() > MAX_PLIES {
        return None;
    }
    let mut position = start(&game.tags, text).ok()?.position;
    ids.begin(&game.tags);
    for &san in &game.moves {
        let m = resolve(san, &position).ok()?;
        ids.play(m, position.turn());
        position.play_unchecked(m);
    }
    Some(ids.ids())
}

/// Plays the moves of a game from its start.
fn follow(
    game: &GameText,
    text: &[u8],
    start: &Start,
    track: &mut Track,
    ids: &mut IdWriter,
) -> std::result::Result<(), Skip> {
    if game.moves.len() > MAX_PLIES {
        return Err(Skip::whole(Reason::TooLong));
    }
    ids.begin(&game.tags);
    track.begin(&start.position);
    for (nth, &san) in game.moves.iter().enumerate() {
        let san = with_piece(san, track.position());
        let m = track
            .resolve(san)
            .map_err(|error| skip_at_move(refusal(san, error), game, text, nth))?;
        ids.play(m, track.position().turn());
        track.play(m);
    }
    track.finish();
    Ok(())
}

/// A game that was read and followed.
struct About<'a> {
    file: &'a str,
    place: &'a Place,
    game: &'a GameText,
    start: &'a Start,
    played: Played,
}

impl Rows {
    /// The growing columns of the tables.
    fn tables(&mut self) -> [(Table, Columns<'_>); TABLES] {
        [
            (Table::Games, self.games.columns()),
            (Table::Moves, self.moves.columns()),
            (Table::Spells, self.spells.columns()),
            (Table::Turns, self.turns.columns()),
            (Table::Decisions, self.decisions.columns()),
            (Table::Sides, self.sides.columns()),
            (Table::Skipped, self.skipped.columns()),
        ]
    }

    /// Rows of each table, in the same order.
    fn row_counts(&self) -> [usize; TABLES] {
        [
            self.games.row_count(),
            self.moves.row_count(),
            self.spells.row_count(),
            self.turns.row_count(),
            self.decisions.row_count(),
            self.sides.row_count(),
            self.skipped.row_count(),
        ]
    }

    /// Adds the rows and observations of a game; returns whether some of its text had to be
    /// repaired.
    fn add(
        &mut self,
        about: &About<'_>,
        track: &Track,
        ids: &IdWriter,
        layouts: &Layouts,
        cuts: &Cuts,
    ) -> bool {
        let game = about.game;
        let ids = ids.ids();
        let ratings @ [white, black] = ratings(game);
        let bands = ratings.map(|rating| rating.band(Band::WIDTH));
        let diffs = [RatingDiff::of(white, black), RatingDiff::of(black, white)];
        let time_class = game.tags.time_class(&cuts.time);
        let number = about.place.number as u32;
        let played = about.played;
        let repaired = self.games.push(&GameRow {
            number,
            ids,
            file: about.file,
            offset: about.place.offset,
            line: about.place.line,
            text: game,
            start: about.start,
            bands,
            time_class,
            played,
            ending: Ending::of(track.position()),
            start_safe: track.start_safe(),
        });
        if layouts.has(Table::Moves) {
            let captures = track.captures().map(|(_, capture)| capture);
            self.moves.push(number, track.plies(), captures, game);
        }
        let keys = player_keys(&mut self.keys, game);
        let facts = GameFacts {
            number,
            fold: ids.fold(),
            player_folds: keys.map(|key| key.map(player_fold)),
            plies: played.plies,
            bands,
            diffs,
            time_class,
            result: game.result(),
            control: (game.tags.known(Tag::TimeControl)).and_then(TimeControl::parse),
            clocks: &game.clocks,
            evals: &game.evals,
        };
        if layouts.has(Table::Spells) {
            self.spells
                .push(&facts, track.spells(), &mut self.spell_order);
        }
        let sampled = |ply| is_sampled(ids.game, ply, cuts.sample);
        if layouts.has(Table::Turns) {
            track.turn_rows(sampled, &mut self.turn_rows);
            self.turns.push(&facts, self.turn_rows.rows());
        }
        let has_sides = layouts.has(Table::Sides);
        if layouts.has(Table::Decisions) || has_sides {
            track.decision_rows(sampled, &mut self.decision_rows);
        }
        if layouts.has(Table::Decisions) {
            self.decisions.push(&facts, self.decision_rows.rows());
        }
        if has_sides {
            let first = about.start.position.turn();
            let counts = SideCounts::of(track, self.decision_rows.rows(), first);
            let of_game = SidesGame {
                text: game,
                keys,
                first,
                looks_for_repeats: cuts.looks_for_repeats,
            };
            self.sides.push(&facts, &of_game, &counts);
        }
        self.tally.note(Context::of(&facts), track.observations());
        repaired
    }
}

/// The keys of White and Black; `None` where the name is missing or has no word.
fn player_keys<'a>(keys: &'a mut [PlayerKeys; 2], game: &GameText) -> [Option<&'a str>; 2] {
    let [white, black] = keys;
    let of = |keys: &'a mut PlayerKeys, tag| keys.of(&decode(game.tags.known(tag)?).0);
    [of(white, Tag::White), of(black, Tag::Black)]
}
