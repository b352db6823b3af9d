//! Which games, and which of their two sides: dates, event, source, opening, player, title, the
//! opponent's rating, rating difference, repeats. Every sort of question takes these keys.
//!
//! They are asked of the table `sides`. The rows of other sides are not read at all (a spell and a
//! turn belong to the owner of the piece, a decision to the side on move), whatever the table.

use hobble_terms::RatingDiff;

use super::{any_of, is, listed};
use crate::asked_rows::Narrows;
use crate::fields::Said;
use crate::fields::date::Date;
use crate::fields::shape::{Optional, player_names, texts, word, words};
use crate::filter::Condition;
use crate::terms::YesNo;
use crate::text_test::TextTest;

/// A test of a text column, where there is anything to be tested.
fn tested<'a>(column: &'static str, wanted: bool, test: TextTest<'a>) -> Condition<'a> {
    match wanted {
        true => Condition::Text(column, test),
        false => Condition::Always,
    }
}

crate::fields! {
    /// Only games of this day, month or year and later ones, by the Date tag, as "2024.05.17",
    /// "2024.05" or "2024". A game whose date is not known well enough is left out.
    Since("since"): Option<String> = None, in Optional(Date) => {
        narrows: Narrows::Games,
        condition(first, _): first.as_deref().map_or(Condition::Always, |first| {
            Condition::Text("game_date", TextTest::Since(first))
        }),
        said(first): first.as_ref().map(|first| Said {
            name: "Games since",
            words: first.clone(),
        }),
    };

    /// Only games of this day, month or year and earlier ones, by the Date tag, as "2024.05.17",
    /// "2024.05" or "2024". A game whose date is not known well enough is left out.
    Until("until"): Option<String> = None, in Optional(Date) => {
        narrows: Narrows::Games,
        condition(last, _): last.as_deref().map_or(Condition::Always, |last| {
            Condition::Text("game_date", TextTest::Until(last))
        }),
        said(last): last.as_ref().map(|last| Said {
            name: "Games until",
            words: last.clone(),
        }),
    };

    /// Only games with one of these Event tags, in capital letters or small; "Open*" stands for all
    /// that begin so, "none" for a missing tag. Empty for all.
    Events("event"): Vec<String> = Vec::new(), in texts("an event is named by its Event tag") => {
        narrows: Narrows::Games,
        condition(events, _): tested("event", !events.is_empty(), TextTest::Named(events)),
        said(events): listed("Event", events),
    };

    /// Only games of these sources, by the names of their folders in the tables. Empty for all.
    Sources("source"): Vec<String> = Vec::new(), in texts("a source is named by its folder in the tables") => {
        narrows: Narrows::Games,
        said(sources): listed("Source", sources),
    };

    /// Only sides of these players, whatever the spelling of the name (definitions, section 9). Empty
    /// for all.
    Players("player"): Vec<String> = Vec::new(), in player_names() => {
        narrows: Narrows::Games,
        condition(names, _): tested("player_key", !names.is_empty(), TextTest::players(names)),
        said(names): listed("Player", names),
    };

    /// Only sides whose player has one of these titles, as the tag WhiteTitle or BlackTitle has them;
    /// "none" for no title. Empty for all.
    Titles("player_title"): Vec<String> = Vec::new(), in texts("a title is named as the tag has it, or none") => {
        narrows: Narrows::Games,
        condition(titles, _): tested("title", !titles.is_empty(), TextTest::Named(titles)),
        said(titles): listed("Title of the player", titles),
    };

    /// Only games with one of these openings, by the ECO tag; "B9*" stands for all that begin so, "none"
    /// for a missing tag. Empty for all.
    Openings("eco"): Vec<String> = Vec::new(), in texts("an opening is named by its ECO tag, as \"B90\" or \"B9*\"") => {
        narrows: Narrows::Games,
        condition(openings, _): tested("eco", !openings.is_empty(), TextTest::Named(openings)),
        said(openings): listed("Opening", openings),
    };

    /// Only sides whose opponent is in one of these rating bands, as 1400-1599, unrated or missing. Empty
    /// for all.
    OpponentBands("opponent_band"): Vec<String> = Vec::new(), in texts("a rating band is named by its bounds, as \"1400-1599\"") => {
        narrows: Narrows::Games,
        condition(bands, _): match bands.as_slice() {
            [] => Condition::Always,
            bands => Condition::OneOf("opponent_band", bands.iter().map(String::as_str).collect()),
        },
        said(bands): listed("Rating band of the opponent", bands),
    };

    /// Only sides with this rating less the opponent's. Empty for all.
    RatingDiffs("rating_diff"): Vec<RatingDiff> = Vec::new(), in words() => {
        narrows: Narrows::Games,
        condition(differences, _): any_of("rating_diff", differences),
        said(differences): listed("Rating difference", differences),
    };

    /// Only games that repeat one read before (yes), only others (no), or both. Tables have repeats only
    /// where the scan was asked to keep them.
    Repeats("repeats"): YesNo = YesNo::Any, in word() => {
        narrows: Narrows::Games,
        condition(repeats, _): is("is_repeat", *repeats),
        said(repeats): repeats.wanted().map(|wanted| Said {
            name: "Repeats",
            words: if wanted { "only repeats" } else { "left out" }.to_owned(),
        }),
    };
}
