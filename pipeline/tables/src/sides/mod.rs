//! The table `sides`: one row a game and side, with all that reports add up.
//!
//! The sort of question about whole sides (the crate `hobble-sides`) is another thing: it looks at
//! single positions of the table `turns`.

mod comments;
mod count_columns;
mod counts;
mod held_columns;

use hobble_game::game_text::GameText;
use hobble_game::tags::Tag;
use hobble_game::text::decode;
use hobble_terms::{Band, RatingDiff, TimeClass, TimeControl};
use shakmaty::Color;

use crate::column::Text;
use crate::declare::{Small, table};
use crate::game_facts::GameFacts;
use crate::growing::MaybeTexts;
use crate::shared_columns::OriginColumns;
use crate::words::OwnerResult;
use comments::CommentColumns;
use count_columns::{PlayCountColumns, SpellCountColumns, TurnCountColumns};
pub(crate) use counts::{KINDS, KS, PHASES, SideCounts, WITHIN};
use held_columns::HeldCountColumns;

table! {
    /// One row a game and side: its player, the game, and the counts that reports add up. Two rows
    /// a game, White's first. Numbers are signed, so that their differences are right.
    Sides, schema 3, row "source, game, color";
    columns SideColumns;
    handles SideHandles, SIDES;

    /// Its game.
    origin: OriginColumns, words [];
    /// The side.
    color: Color;
    /// Key of its player: equal for the spellings of a name (definitions, section 9).
    player_key: Option<Text>, null "name missing, empty, ?, or without a word";
    /// Group of its player: hash of the player key modulo 64.
    player_fold: Option<Small>, null "no player key";
    /// Title of its player, as the WhiteTitle or BlackTitle tag has it.
    title: Option<Text>, null "missing, empty, ? or -";
    /// Its rating.
    rating: Option<i16>, unit "rating points", null "unrated or missing";
    /// The opponent's rating.
    opponent_rating: Option<i16>, unit "rating points", null "unrated or missing";
    /// Its rating band.
    band: Band;
    /// The opponent's rating band.
    opponent_band: Band;
    /// Class of its rating less the opponent's.
    rating_diff: RatingDiff;
    /// Time class of the game.
    time_class: TimeClass;
    /// Event tag.
    event: Option<Text>, null "missing, empty or ?";
    /// Date tag as it stands (YYYY.MM.DD, ?? for unknown parts).
    game_date: Option<Text>, null "missing, empty or ?";
    /// Opening: the ECO tag as it stands.
    eco: Option<Text>, null "missing, empty or ?";
    /// TimeControl tag as it stands.
    time_control: Option<Text>, null "missing, empty or ?";
    /// Time at the start, by that tag; of several stages that of the first.
    base_seconds: Option<i32>, unit "seconds", null "no time named, or not readable";
    /// Time added for each move, by that tag; of several stages the most.
    increment_seconds: Option<i32>, unit "seconds", null "no time named, or not readable";
    /// Game result for the side.
    owner_result: OwnerResult;
    /// Whether the game repeats one read before (definitions, section 11). Repeats are in the
    /// tables only where the scan was asked to keep them.
    is_repeat: Option<bool>, null "scan of a stripe that keeps repeats";
    /// Its turns and those of its pieces.
    turn_counts: TurnCountColumns, words [];
    /// Turns of its developed pieces by phase, and held turns before a loss by kind and phase.
    held_counts: HeldCountColumns, words [];
    /// Its spells.
    spell_counts: SpellCountColumns, words [];
    /// Its moves, captured units and chances.
    play_counts: PlayCountColumns, words [];
    /// Its time and evaluations.
    comments: CommentColumns, words [];
}

/// A game for its two rows.
pub(crate) struct SidesGame<'a> {
    /// Tags, clocks and evaluations.
    pub text: &'a GameText,
    /// Keys of the players of White and Black.
    pub keys: [Option<&'a str>; 2],
    /// Which side plays ply 1.
    pub first: Color,
    /// Whether repeats are looked for.
    pub looks_for_repeats: bool,
}

impl SideColumns {
    /// Adds the rows of a game, which is no repeat as far as is known.
    pub(crate) fn push(
        &mut self,
        facts: &GameFacts<'_>,
        game: &SidesGame<'_>,
        counts: &[SideCounts; 2],
    ) {
        self.origin.push(facts, 2);
        self.color.extend(Color::ALL.into_iter());
        self.player_fold.extend(facts.player_folds.into_iter());
        self.push_ratings(facts, game.text);
        self.time_class.fill(facts.time_class, 2);
        for key in game.keys {
            self.player_key.push(key);
        }
        self.push_tags(game.text);
        self.push_control(facts.control);
        self.owner_result.extend(facts.results().into_iter());
        let known = game.looks_for_repeats.then_some(false);
        self.is_repeat.extend([known; 2].into_iter());
        self.turn_counts.push(counts);
        self.held_counts.push(counts);
        self.spell_counts.push(counts);
        self.play_counts.push(counts);
        self.comments.push(facts, game);
    }

    fn push_ratings(&mut self, facts: &GameFacts<'_>, text: &GameText) {
        let ratings = [Tag::WhiteElo, Tag::BlackElo].map(|tag| {
            let points = text.tags.rating(tag).points();
            points.and_then(|points| i16::try_from(points).ok())
        });
        let bands = facts.band_codes();
        self.rating.extend(ratings.into_iter());
        self.opponent_rating.extend(ratings.into_iter().rev());
        self.band.extend(bands.into_iter());
        self.opponent_band.extend(bands.into_iter().rev());
        self.rating_diff.extend(facts.diffs.into_iter());
    }

    fn push_tags(&mut self, text: &GameText) {
        let of_both = |tag: Tag, column: &mut MaybeTexts| {
            let value = text.tags.known(tag).map(decode);
            let value = value.as_ref().map(|(text, _)| text.as_ref());
            column.push(value);
            column.push(value);
        };
        of_both(Tag::Event, &mut self.event);
        of_both(Tag::Date, &mut self.game_date);
        of_both(Tag::Eco, &mut self.eco);
        of_both(Tag::TimeControl, &mut self.time_control);
        for tag in [Tag::WhiteTitle, Tag::BlackTitle] {
            let title = text.tags.known(tag).filter(|title| *title != b"-");
            let title = title.map(decode);
            self.title
                .push(title.as_ref().map(|(title, _)| title.as_ref()));
        }
    }

    fn push_control(&mut self, control: Option<TimeControl>) {
        let base = control.map(|control| control.base);
        self.base_seconds.fill(base, 2);
        let increment = control.map(|control| control.increment);
        self.increment_seconds.fill(increment, 2);
    }

    /// Notes that the game of these rows repeats one read before.
    pub(crate) fn mark_repeat(&mut self, rows: std::ops::Range<usize>) {
        self.is_repeat.set(rows, true);
    }
}
