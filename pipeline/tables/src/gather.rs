//! A block of games turned into rows.

use std::sync::Arc;

use hobble_archive::block::{Block, Cut, Place};
use hobble_game::check::skip_at_move;
use hobble_game::id::IdWriter;
use hobble_game::reader::{Ending, GameReader, refusal};
use hobble_game::skip::Skip;
use hobble_game::start::{Start, start};
use hobble_game::tags::Tag;
use hobble_terms::{Rating, RatingDiff, Reason, SpellEnd, Table};
use hobble_tracks::track::{MAX_PLIES, Track};
use parquet::errors::Result;
use shakmaty::Position;

use crate::coded::Encoder;
use crate::encode::{EncodedGroup, Layout};
use crate::exposure::{Context, Counts, CubeColumns, Tally};
use crate::games::{GameColumns, GameRow, Played};
use crate::moves::MoveColumns;
use crate::skipped::{SkippedColumns, SkippedGame};
use crate::spells::{SpellColumns, SpellGame, spell_end};
use hobble_terms::account::{Account, count};

pub use hobble_terms::manifest::Cuts;

/// Layouts of all tables.
pub struct Layouts {
    layouts: Vec<Layout>,
    wanted: Vec<Table>,
}

impl Layouts {
    /// Layouts of the tables that are wanted.
    ///
    /// # Errors
    ///
    /// Where the code and a schema file disagree.
    pub fn new(wanted: &[Table], cuts: &Cuts) -> Result<Layouts> {
        let layout = |table| match table {
            Table::Games => Layout::new(table, &GameColumns::default().columns()),
            Table::Moves => Layout::new(table, &MoveColumns::default().columns()),
            Table::Spells => Layout::new(table, &SpellColumns::new(cuts.band_width).columns()),
            Table::Exposure => Layout::new(table, &CubeColumns::default().columns()),
            Table::Skipped => Layout::new(table, &SkippedColumns::default().columns()),
        };
        let layouts = Table::ALL.into_iter().map(layout).collect::<Result<_>>()?;
        Ok(Layouts {
            layouts,
            wanted: wanted.to_vec(),
        })
    }

    /// Layout of a table.
    pub fn of(&self, table: Table) -> &Layout {
        &self.layouts[table as usize]
    }

    /// Whether a table is written.
    pub fn wants(&self, table: Table) -> bool {
        self.wanted.contains(&table)
    }

    /// The tables that are written.
    pub fn wanted(&self) -> &[Table] {
        &self.wanted
    }
}

/// A block as rows.
pub struct Gathered {
    /// Unpacked bytes of the source before the block's end.
    pub end_offset: u64,
    /// What was read.
    pub account: Account,
    /// Games left out.
    pub skipped: Vec<SkippedGame>,
    /// Encoded rows of the tables that have any, the exposure left out.
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
    games: GameColumns,
    moves: MoveColumns,
    spells: SpellColumns,
    tally: Tally,
    encoder: Encoder,
}

impl Gatherer {
    /// A gatherer for tables of these layouts.
    pub fn new(layouts: Arc<Layouts>, cuts: Cuts) -> Gatherer {
        Gatherer {
            layouts,
            reader: GameReader::new(),
            track: Track::new(),
            ids: IdWriter::default(),
            games: GameColumns::default(),
            moves: MoveColumns::default(),
            spells: SpellColumns::new(cuts.band_width),
            tally: Tally::default(),
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
        let mut left_out = Vec::new();
        for place in &block.games {
            let text = &block.text[place.span.start..place.span.end];
            if let Err(skip) = self.game(file, place, text, &mut account) {
                account.skip(skip.reason);
                left_out.push(SkippedGame::new(place, text, skip));
            }
        }
        let counts = self.tally.count();
        let mut rows = SkippedColumns::default();
        for game in &left_out {
            rows.push(file, game);
        }
        let mut groups = Vec::new();
        for table in [Table::Games, Table::Moves, Table::Spells, Table::Skipped] {
            if self.layouts.wants(table) {
                let columns = match table {
                    Table::Games => self.games.columns(),
                    Table::Moves => self.moves.columns(),
                    Table::Spells => self.spells.columns(),
                    _ => rows.columns(),
                };
                let group = self.layouts.of(table).encode(columns, &mut self.encoder)?;
                if let Some(group) = group {
                    groups.push((table, group));
                }
            }
        }
        Ok(Gathered {
            end_offset: block.end_offset,
            account,
            skipped: left_out,
            groups,
            counts,
        })
    }

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
        let start: Start = start(&game.tags, text)?;
        if game.moves.len() > MAX_PLIES {
            return Err(Skip::whole(Reason::TooLong));
        }
        self.ids.begin(&game.tags);
        self.track.begin(&start.position);
        for (nth, &san) in game.moves.iter().enumerate() {
            let m = match self.track.resolve(san) {
                Ok(m) => m,
                Err(error) => {
                    return Err(skip_at_move(refusal(san, error), text, nth));
                }
            };
            self.ids.play(m, self.track.position().turn());
            self.track.play(m);
        }
        self.track.finish();

        let ids = self.ids.ids();
        let ratings = [Tag::WhiteElo, Tag::BlackElo].map(|tag| game.tags.rating(tag));
        let bands = ratings.map(|rating| rating.band(self.cuts.band_width));
        let [white, black] = ratings;
        let diffs = [RatingDiff::of(white, black), RatingDiff::of(black, white)];
        let time_class = game.tags.time_class(&self.cuts.time);
        let number = place.number as u32;
        let plies = self.track.plies();
        let tally = |what: fn(&hobble_tracks::track::Ply) -> bool| {
            plies.iter().filter(|ply| what(ply)).count() as u16
        };
        let played = Played {
            plies: plies.len() as u16,
            captures: tally(|ply| ply.captured.is_some()),
            en_passant: tally(|ply| ply.en_passant),
            promotions: tally(|ply| ply.promotion.is_some()),
            castlings: tally(|ply| ply.castling),
        };
        let repaired = self.games.push(&GameRow {
            number,
            ids,
            file,
            offset: place.offset,
            line: place.line,
            text: game,
            start: &start,
            bands,
            band_width: self.cuts.band_width,
            time_class,
            played,
            ending: Ending::of(self.track.position()),
            start_safe: self.track.start_safe(),
        });
        if self.layouts.wants(Table::Moves) {
            self.moves.push(number, plies, game);
        }
        let about = SpellGame {
            number,
            fold: ids.fold(),
            plies: played.plies,
            bands,
            diffs,
            time_class,
            result: game.result(),
            clocks: &game.clocks,
        };
        let spells = self.track.spells();
        if self.layouts.wants(Table::Spells) {
            self.spells.push(&about, spells);
        }
        let mut ends = [0; SpellEnd::COUNT];
        for spell in spells {
            ends[spell_end(spell) as usize] += 1;
        }
        for (end, spells) in SpellEnd::ALL.map(SpellEnd::name).into_iter().zip(ends) {
            if spells > 0 {
                count(&mut account.spells, end, spells);
            }
        }
        let contexts = [0, 1].map(|side| Context {
            band: bands[side],
            time_class,
            rating_diff: diffs[side],
            fold: ids.fold(),
        });
        self.tally.note(contexts, self.track.observations());

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
        account.rated_games += u64::from(ratings.iter().any(|r| matches!(r, Rating::Points(_))));
        account.repaired_games += u64::from(repaired);
        account.clocks += game.clocks.iter().flatten().count() as u64;
        account.evals += game.evals.iter().flatten().count() as u64;
        account.observations += self.track.observed() as u64;
        Ok(())
    }
}
