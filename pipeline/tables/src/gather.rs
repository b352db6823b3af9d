//! A block of games turned into rows.

use std::sync::Arc;

use hobble_archive::block::{Block, Cut, Place};
use hobble_game::check::skip_at_move;
use hobble_game::ending::Ending;
use hobble_game::game_text::GameText;
use hobble_game::id::IdWriter;
use hobble_game::reader::GameReader;
use hobble_game::san::refusal;
use hobble_game::skip::Skip;
use hobble_game::start::{Start, start};
use hobble_game::tags::Tag;
use hobble_terms::account::{Account, count};
use hobble_terms::manifest::Cuts;
use hobble_terms::{Rating, RatingDiff, Reason, SpellEnd, Table};
use hobble_tracks::spell::Spell;
use hobble_tracks::track::{MAX_PLIES, Ply, Track, TurnRows};
use parquet::errors::Result;
use shakmaty::Position;

use crate::coded_pages::Encoder;
use crate::cube::{Counts, Tally};
use crate::encode::EncodedGroup;
use crate::exposure::Context;
use crate::game_facts::GameFacts;
use crate::games::{GameColumns, GameRow, Played};
use crate::layouts::Layouts;
use crate::moves::MoveColumns;
use crate::sample::is_sampled;
use crate::skipped::{SkippedColumns, SkippedGame};
use crate::spells::{SpellColumns, spell_end};
use crate::turns::TurnColumns;

/// A block as rows.
pub struct Gathered {
    /// Unpacked bytes of the source before the block's end.
    pub end_offset: u64,
    /// What was read.
    pub account: Account,
    /// Games that were skipped.
    pub skipped: Vec<SkippedGame>,
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
}

/// The growing rows of a block.
struct Rows {
    games: GameColumns,
    moves: MoveColumns,
    spells: SpellColumns,
    turns: TurnColumns,
    /// Of the game that is being added.
    turn_rows: TurnRows,
    skipped: SkippedColumns,
    tally: Tally,
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
                games: GameColumns::new(cuts.band_width),
                moves: MoveColumns::new(cuts.band_width),
                spells: SpellColumns::new(cuts.band_width),
                turns: TurnColumns::new(cuts.band_width),
                turn_rows: TurnRows::default(),
                skipped: SkippedColumns::new(cuts.band_width),
                tally: Tally::default(),
            },
            encoder: Encoder::default(),
            cuts,
        }
    }

    /// Gathers a block of the archive file `file`.
    ///
    /// # Errors
    ///
    /// Where rows cannot be encoded.
    pub fn block(&mut self, file: &str, block: &Block) -> Result<Gathered> {
        let mut account = Account::default();
        let mut skipped = Vec::new();
        for place in &block.games {
            let text = &block.text[place.span.start..place.span.end];
            if let Err(skip) = self.game(file, place, text, &mut account) {
                account.skip(skip.reason);
                let game = SkippedGame::new(place, text, skip);
                self.rows.skipped.push(file, &game);
                skipped.push(game);
            }
        }
        let mut groups = Vec::new();
        for (table, mut columns) in [
            (Table::Games, self.rows.games.columns()),
            (Table::Moves, self.rows.moves.columns()),
            (Table::Spells, self.rows.spells.columns()),
            (Table::Turns, self.rows.turns.columns()),
            (Table::Skipped, self.rows.skipped.columns()),
        ] {
            if self.layouts.wants(table) {
                let group = self.layouts.of(table).encode(columns, &mut self.encoder)?;
                groups.extend(group.map(|group| (table, group)));
            } else {
                columns.clear();
            }
        }
        Ok(Gathered {
            end_offset: block.end_offset,
            account,
            skipped,
            groups,
            counts: self.rows.tally.count(),
        })
    }

    /// Reads and follows a game, and adds its rows and counts.
    fn game(
        &mut self,
        file: &str,
        place: &Place,
        text: &[u8],
        account: &mut Account,
    ) -> std::result::Result<(), Skip> {
        match place.cut {
            Some(Cut::TooLong) => return Err(Skip::whole(Reason::TooLong)),
            Some(Cut::EndOfRead) => return Err(Skip::whole(Reason::CutOff)),
            None => {}
        }
        let game = self.reader.read(text)?;
        let start = start(&game.tags, text)?;
        follow(game, text, &start, &mut self.track, &mut self.ids)?;
        let about = About {
            file,
            place,
            game,
            start: &start,
            played: played(self.track.plies()),
        };
        let (track, ids) = (&self.track, &self.ids);
        let repaired = self.rows.add(&about, track, ids, &self.layouts, &self.cuts);
        book(account, game, &about.played, track);
        account.repaired_games += u64::from(repaired);
        Ok(())
    }
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
        let m = track
            .resolve(san)
            .map_err(|error| skip_at_move(refusal(san, error), text, nth))?;
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
        let bands = ratings.map(|rating| rating.band(cuts.band_width));
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
            band_width: cuts.band_width,
            time_class,
            played,
            ending: Ending::of(track.position()),
            start_safe: track.start_safe(),
        });
        if layouts.wants(Table::Moves) {
            let captures = track.captures().map(|(_, capture)| capture);
            self.moves.push(number, track.plies(), captures, game);
        }
        let facts = GameFacts {
            number,
            fold: ids.fold(),
            plies: played.plies,
            bands,
            band_width: cuts.band_width,
            diffs,
            time_class,
            result: game.result(),
            clocks: &game.clocks,
            evals: &game.evals,
        };
        if layouts.wants(Table::Spells) {
            self.spells.push(&facts, track.spells());
        }
        if layouts.wants(Table::Turns) {
            let sampled = |ply| is_sampled(ids.game, ply, cuts.sample);
            track.turn_rows(sampled, &mut self.turn_rows);
            self.turns.push(&facts, self.turn_rows.rows());
        }
        let contexts = [0, 1].map(|side| Context {
            band: bands[side],
            time_class,
            rating_diff: diffs[side],
            fold: ids.fold(),
        });
        self.tally.note(contexts, track.observations());
        repaired
    }
}

/// Ratings of White and Black.
fn ratings(game: &GameText) -> [Rating; 2] {
    [Tag::WhiteElo, Tag::BlackElo].map(|tag| game.tags.rating(tag))
}

/// Plies by what they are.
fn played(plies: &[Ply]) -> Played {
    let tally = |is: fn(&Ply) -> bool| plies.iter().filter(|ply| is(ply)).count() as u16;
    Played {
        plies: plies.len() as u16,
        captures: tally(|ply| ply.captured.is_some()),
        en_passant: tally(|ply| ply.en_passant),
        promotions: tally(|ply| ply.promotion.is_some()),
        castlings: tally(|ply| ply.castling),
    }
}

/// Books a game that was kept.
fn book(account: &mut Account, game: &GameText, played: &Played, track: &Track) {
    account.read += 1;
    account.kept += 1;
    account.plies += u64::from(played.plies);
    account.captures += u64::from(played.captures);
    account.en_passant += u64::from(played.en_passant);
    account.promotions += u64::from(played.promotions);
    account.castlings += u64::from(played.castlings);
    account.zero_move_games += u64::from(played.plies == 0);
    account.longest = account.longest.max(u64::from(played.plies));
    account.result(game.result());
    let rated = |rating: &Rating| rating.points().is_some();
    account.rated_games += u64::from(ratings(game).iter().any(rated));
    account.clocks += game.clocks.iter().flatten().count() as u64;
    account.evals += game.evals.iter().flatten().count() as u64;
    account.observations += track.observed() as u64;
    book_spells(account, track.spells());
}

/// Books spells by their ends.
fn book_spells(account: &mut Account, spells: &[Spell]) {
    let mut ends = [0; SpellEnd::COUNT];
    for spell in spells {
        ends[spell_end(spell) as usize] += 1;
    }
    for (end, spells) in SpellEnd::ALL.into_iter().zip(ends) {
        if spells > 0 {
            count(&mut account.spells, end.name(), spells);
        }
    }
}
