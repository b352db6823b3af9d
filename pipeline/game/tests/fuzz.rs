//! The reader of games with damaged text: it never panics, does not depend on what it read
//! before, passes over no word that is no move, and names a place in the text when it gives
//! up.

#[path = "../../archive/tests/common/mutation.rs"]
mod mutation;
#[path = "../../archive/tests/common/runner.rs"]
mod runner;
#[path = "../../archive/tests/common/sample.rs"]
mod sample;

use std::cell::RefCell;
use std::collections::BTreeMap;

use hobble_game::check::skip_at_move;
use hobble_game::comment;
use hobble_game::game_text::GameText;
use hobble_game::id::{IdWriter, Ids};
use hobble_game::reader::GameReader;
use hobble_game::san::resolve;
use hobble_game::skip::Skip;
use hobble_game::start::start;
use hobble_game::tag_section::TagSection;
use hobble_game::tags::{Tag, Tags};
use hobble_game::text;
use hobble_game::words::Words;
use hobble_terms::Reason;
use mutation::{Text, damaged, edits};
use proptest::prelude::*;
use proptest::sample::{Index, select};
use runner::{Tally, check};
use shakmaty::Position;

/// Games of the sample, odd ones first.
fn sample_games() -> Vec<Vec<u8>> {
    let mut games = sample::odd_games(60_000);
    games.extend(sample::season(30));
    games
}

fn tags() -> impl Iterator<Item = Tag> {
    let more = [
        Tag::WhiteElo,
        Tag::BlackElo,
        Tag::TimeControl,
        Tag::Eco,
        Tag::Termination,
        Tag::Variant,
        Tag::Fen,
    ];
    Tag::ROSTER.into_iter().chain(more)
}

fn values(of_game: &Tags) -> Vec<Vec<u8>> {
    tags().map(|tag| of_game.raw(tag).to_vec()).collect()
}

/// All that was read of a game, for comparison.
fn content(game: Result<&mut GameText, Skip>) -> Result<String, Skip> {
    game.map(|game| {
        format!(
            "{:?} {:?} {:?} {:?} {:?}",
            values(&game.tags),
            game.moves,
            game.clocks,
            game.evals,
            game.result()
        )
    })
}

fn assert_points_into(skip: &Skip, text: &[u8]) {
    assert!(skip.at <= text.len(), "{skip:?}");
    assert!(skip.words.chars().all(text::is_printable), "{skip:?}");
    assert!(skip.words.chars().count() <= 41, "{skip:?}");
}

/// Plays a game that was read: its ids, or why it is skipped.
fn play(game: &GameText, text: &[u8]) -> Result<Ids, Skip> {
    let start = start(&game.tags, text)?;
    let mut ids = IdWriter::default();
    ids.begin(&game.tags);
    let mut position = start.position;
    for (nth, &san) in game.moves.iter().enumerate() {
        match resolve(san, &position) {
            Ok(m) => {
                ids.play(m, position.turn());
                position.play_unchecked(m);
            }
            Err(reason) => {
                let skip = skip_at_move(reason, game, text, nth);
                assert!(!skip.words.is_empty(), "no word for move {nth}");
                return Err(skip);
            }
        }
    }
    Ok(ids.ids())
}

#[test]
fn damaged_games_are_read_or_skipped() {
    let used = RefCell::new(GameReader::new());
    let verdicts: RefCell<BTreeMap<&str, u64>> = RefCell::default();
    let games = (select(sample_games()), edits(6));
    let games = games.prop_map(|(game, edits)| Text(damaged(&game, &edits)));
    let plain = sample::season(1).remove(0);
    let plain_content = content(GameReader::new().read(&plain));
    let ran = check(file!(), "damaged", 12_000, &games, |Text(text)| {
        let mut used = used.borrow_mut();
        let mut new = GameReader::new();
        let found = content(new.read(&text));
        prop_assert_eq!(&content(used.read(&text)), &found, "reader used before");
        let verdict = match &found {
            Ok(_) => {
                let game = new.game();
                prop_assert_eq!(game.clocks.len(), game.moves.len());
                prop_assert_eq!(game.evals.len(), game.moves.len());
                match play(game, &text) {
                    Ok(_) => "kept",
                    Err(skip) => {
                        assert_points_into(&skip, &text);
                        skip.reason.name()
                    }
                }
            }
            Err(skip) => {
                assert_points_into(skip, &text);
                skip.reason.name()
            }
        };
        *verdicts.borrow_mut().entry(verdict).or_default() += 1;
        prop_assert_eq!(
            &content(used.read(&plain)),
            &plain_content,
            "game read next"
        );
        Ok(())
    });
    let verdicts = verdicts.into_inner();
    println!("damaged games: {ran} read, 0 panics; {verdicts:?}");
    for name in [
        "kept",
        Reason::IllegalMove.name(),
        Reason::UnreadableToken.name(),
    ] {
        assert!(
            verdicts.get(name).is_some_and(|&n| n * 50 > ran),
            "{name}: {verdicts:?}"
        );
    }
}

/// Where the words begin that should be moves.
fn move_starts(text: &[u8]) -> Vec<usize> {
    let words = Words::new(text, TagSection::of(text).end);
    words.map(|word| word.start).collect()
}

/// What may stand between two moves without changing the game.
const NEUTRAL: [&str; 16] = [
    "{a note} ",
    "{(} ",
    "{ 1. e4 Nf3 \" [Event \"x\"] } ",
    "{two\nlines} ",
    "$14 ",
    "! ",
    "?! ",
    "; to the end of the line ) { } ( *\n",
    "\n%escaped { ( *\n",
    "(17. Nf3) ",
    "(17. Nf3 (17. d4 {)} d5) 17... e5) ",
    "(junk that is no move) ",
    "12. ",
    "12... ",
    "\n",
    "\r\n\t",
];

/// Comments, variations, numbers and marks between the moves change neither the game nor
/// its ids.
#[test]
fn notes_between_moves_change_nothing() {
    let inserts = prop::collection::vec((any::<Index>(), select(NEUTRAL.to_vec())), 1..8);
    let cases = (select(sample::season(40)), inserts);
    let words = Tally::new();
    let ran = check(file!(), "notes", 2000, &cases, |(game, inserts)| {
        let mut text = game.clone();
        for (index, insert) in inserts {
            let starts = move_starts(&text);
            let at = starts[index.index(starts.len())];
            text.splice(at..at, insert.bytes());
        }
        let (mut one, mut two) = (GameReader::new(), GameReader::new());
        let plain = one.read(&game).expect("a game of the season");
        let noted = match two.read(&text) {
            Ok(noted) => noted,
            Err(skip) => {
                return Err(TestCaseError::fail(format!(
                    "{skip:?}: {}",
                    text.escape_ascii()
                )));
            }
        };
        prop_assert_eq!(&plain.moves, &noted.moves);
        prop_assert_eq!(plain.result(), noted.result());
        prop_assert_eq!(values(&plain.tags), values(&noted.tags));
        prop_assert_eq!(play(plain, &game), play(noted, &text));
        words.add(plain.moves.len());
        Ok(())
    });
    println!(
        "notes between moves: {ran} games, {} moves, 0 differences",
        words.sum()
    );
}

/// Words that are no move, number, result or mark, and what stands in front of them.
const JUNK: [(&str, &str); 16] = [
    ("", "Qz9"),
    ("", "blah"),
    ("", "@@"),
    ("", "e9"),
    ("", "Nf"),
    ("", "i4"),
    ("", "O-O-O-O"),
    ("", ")"),
    ("", "K\u{435}2"),
    ("1.", "Qz9"),
    ("12", "x"),
    // Two moves run together.
    ("", "e4Nf6"),
    ("", "Nb1c3e4"),
    ("", "e4e5e6"),
    ("12.", "Nf3Nc6"),
    ("", "0-0-0-0"),
];

/// A word that is no move is never passed over: the game is skipped, and the word named.
#[test]
fn junk_between_moves_is_found() {
    let cases = (
        select(sample::season(40)),
        any::<Index>(),
        select(JUNK.to_vec()),
    );
    let ran = check(
        file!(),
        "junk",
        2000,
        &cases,
        |(game, index, (number, word))| {
            let starts = move_starts(&game);
            let at = starts[index.index(starts.len())];
            let mut text = game.clone();
            text.splice(at..at, format!("{number}{word} ").bytes());
            let found = GameReader::new().read(&text).map(|game| game.moves.len());
            let at = at + number.len();
            let expected = Skip::at(Reason::UnreadableToken, at, word.as_bytes());
            prop_assert_eq!(found, Err(expected));
            Ok(())
        },
    );
    println!("junk between moves: {ran} games, found in all");
}

/// Any bytes at all, in all the small readers.
#[test]
fn stray_bytes_are_accepted() {
    let bytes = prop::collection::vec(any::<u8>(), 0..200);
    let mostly_signs = prop::collection::vec(
        select(b"[]{}()\"\\%;$\n\r *01/-.O=KQxae18+#! \0\xef\xbb\xbf".to_vec()),
        0..200,
    );
    let texts = prop_oneof![bytes, mostly_signs].prop_map(Text);
    let reader = RefCell::new(GameReader::new());
    let ran = check(file!(), "stray bytes", 12_000, &texts, |Text(text)| {
        let mut reader = reader.borrow_mut();
        match reader.read(&text) {
            Ok(game) => {
                let _ = play(game, &text);
            }
            Err(skip) => assert_points_into(&skip, &text),
        }
        let section = TagSection::of(&text);
        prop_assert!(section.end <= text.len());
        let mut last = section.end;
        for word in Words::new(&text, section.end) {
            prop_assert!(last <= word.start && word.start < word.end && word.end <= text.len());
            last = word.end;
        }
        let note = comment::read(&[b"[%clk ".as_slice(), &text, b"] [%eval ", &text].concat());
        prop_assert!(
            note.clock
                .is_none_or(|seconds| seconds.is_finite() && seconds >= 0.0)
        );
        let mut tags = Tags::default();
        for tag in self::tags() {
            tags.set(tag, &text);
        }
        if let Err(skip) = start(&tags, &text) {
            assert_points_into(&skip, &text);
        }
        let _ = tags.rating(Tag::WhiteElo);
        let _ = tags.time_class(&Default::default());
        Ok(())
    });
    println!("stray bytes: {ran} texts, 0 panics");
}

/// Found by the checks above: moves in the line of a tag were read, but not counted with
/// the words, so that as much junk below them went unseen.
#[test]
fn moves_in_the_line_of_a_tag_count() {
    let read = |text: &str| {
        let mut reader = GameReader::new();
        reader.read(text.as_bytes()).map(|game| game.moves.len())
    };
    assert!(read("[Event \"a\"] 1. e4 e5\n2. zork blah *\n").is_err());
    assert!(read("[Event \"a\"\ne4 e5\n2. zork blah *\n").is_err());
    assert_eq!(
        read("[Event \"a\"] [Site \"b\"]\n1. e4 e5\n2. d4 *\n"),
        Ok(3)
    );
}

/// Found by the checks above: of two moves run together the last was taken for both.
#[test]
fn moves_run_together_are_not_a_move() {
    let text = b"[Event \"a\"]\n\n1. Nb1c3e4 e5 *\n";
    let mut reader = GameReader::new();
    let found = reader.read(text).map(|game| game.moves.len());
    assert_eq!(found.map_err(|skip| skip.words), Err("Nb1c3e4".to_owned()));
}
