//! Archives with damaged games: every game the splitter finds is kept or skipped, and the
//! games around the damaged one are what they were.

#[path = "../../archive/tests/common/mutation.rs"]
mod mutation;
#[path = "../../archive/tests/common/runner.rs"]
mod runner;
#[path = "../../archive/tests/common/sample.rs"]
mod sample;

use std::collections::BTreeMap;
use std::sync::Arc;

use hobble_archive::block::{Block, Blocks, Sizes};
use hobble_archive::split::Splitter;
use hobble_game::id::{IdWriter, Ids};
use hobble_game::reader::GameReader;
use hobble_game::san::resolve;
use hobble_game::start::start;
use hobble_tables::gather::{Gatherer, keep_all};
use hobble_tables::layouts::Layouts;
use hobble_terms::Reason;
use hobble_terms::account::Account;
use hobble_terms::manifest::Cuts;
use mutation::{Edit, Text, damaged, edits};
use proptest::prelude::*;
use proptest::sample::{Index, select};
use runner::{Tally, check};
use shakmaty::Position as _;

/// A game's ids, or why it is left out.
type Verdict = Result<Ids, Reason>;

fn verdict(text: &[u8]) -> Verdict {
    let mut reader = GameReader::new();
    let game = reader.read(text).map_err(|skip| skip.reason)?;
    let mut position = start(&game.tags, text)
        .map_err(|skip| skip.reason)?
        .position;
    let mut ids = IdWriter::default();
    ids.begin(&game.tags);
    for &san in &game.moves {
        let m = resolve(san, &position)?;
        ids.play(m, position.turn());
        position.play_unchecked(m);
    }
    Ok(ids.ids())
}

/// What a scan makes of a text: its games' texts, and why each is left out that is.
struct Gathered {
    games: Vec<Vec<u8>>,
    skipped: BTreeMap<u64, Reason>,
    account: Account,
}

fn blocks(text: &[u8], block: usize) -> Vec<Block> {
    let sizes = Sizes {
        block,
        ..Sizes::default()
    };
    let mut blocks = Blocks::new(text, sizes);
    let mut found = Vec::new();
    while let Some(block) = blocks.next_block().expect("memory can be read") {
        found.push(block);
    }
    found
}

fn gather(text: &[u8], block: usize) -> Gathered {
    let layouts = Layouts::new(&[]).expect("all types have a place in Parquet");
    let mut gatherer = Gatherer::new(Arc::new(layouts), Cuts::default());
    let mut gathered = Gathered {
        games: Vec::new(),
        skipped: BTreeMap::new(),
        account: Account::default(),
    };
    for block in blocks(text, block) {
        for place in &block.games {
            let own = &block.text[place.span.start..place.span.end];
            gathered.games.push(own.to_vec());
        }
        let rows = gatherer
            .block("damaged.pgn", &block, keep_all)
            .expect("rows can be encoded")
            .expect("it is not stopped");
        gathered.account.add(&rows.account);
        for game in rows.skipped {
            let before = gathered.skipped.insert(game.number, game.skip.reason);
            assert_eq!(before, None, "a game skipped twice");
        }
    }
    gathered
}

/// The accounts of a text reconcile with what the splitter finds and what each game is by
/// itself.
fn reconcile(text: &[u8], block: usize) -> Result<Gathered, TestCaseError> {
    let gathered = gather(text, block);
    let account = &gathered.account;
    prop_assert!(account.reconciles(), "{:?}", account);
    prop_assert_eq!(account.read, gathered.games.len() as u64);
    prop_assert_eq!(account.skipped_total(), gathered.skipped.len() as u64);
    let mut plies = 0;
    for (number, game) in (1..).zip(&gathered.games) {
        let own = verdict(game);
        let skipped = gathered.skipped.get(&number).copied();
        prop_assert_eq!(own.err(), skipped, "{}", game.escape_ascii());
        if own.is_ok() {
            let mut reader = GameReader::new();
            plies += reader.read(game).map_or(0, |game| game.moves.len());
        }
    }
    prop_assert_eq!(account.plies, plies as u64);
    Ok(gathered)
}

/// Whether a game would start at the end of a text, were another tag section put there.
fn ends_at_a_border(text: &[u8]) -> bool {
    let mut with_next = text.to_vec();
    with_next.extend_from_slice(b"[Event \"next\"]\n");
    // As blocks have it.
    for byte in with_next.iter_mut().filter(|byte| **byte == 0) {
        *byte = b' ';
    }
    let mut borders = Vec::new();
    Splitter::default().advance(&with_next, true, &mut borders);
    borders.last() == Some(&text.len())
}

/// Games that can stand beside each other: each begins with the tag Event and is closed.
fn neighbours() -> Vec<Vec<u8>> {
    let mut games = sample::odd_games(20_000);
    games.extend(sample::season(25));
    games.retain(|game| game.starts_with(b"[Event ") && ends_at_a_border(game));
    assert!(games.len() > 60, "only {} games", games.len());
    games
}

/// One game among others damaged between its first line and its last line break: those before it stay what they
/// were, and those after it do too unless the damage hit the border to them.
#[test]
fn games_around_a_damaged_one_are_untouched() {
    let some = prop::collection::vec(select(neighbours()), 2..7);
    let cases = (some, any::<Index>(), edits(5), 1..8000_usize);
    let touched = [const { Tally::new() }; 2];
    let around = Tally::new();
    let property = |(games, victim, edits, block): (Vec<Vec<u8>>, Index, Vec<Edit>, usize)| {
        let victim = victim.index(games.len());
        let game = &games[victim];
        let line = game
            .iter()
            .position(|&byte| byte == b'\n')
            .map_or(0, |at| at + 1);
        let broken = [&game[..line], &damaged(&game[line..], &edits), b"\n"].concat();
        let (before, after) = (&games[..victim], &games[victim + 1..]);
        let text = [before.concat(), broken.clone(), after.concat()].concat();
        let gathered = reconcile(&text, block)?;
        let met = &gathered.games;
        prop_assert_eq!(&met[..victim], before);
        let border = ends_at_a_border(&broken);
        touched[usize::from(border)].add(1);
        if border {
            prop_assert!(met.len() >= games.len());
            prop_assert_eq!(&met[met.len() - after.len()..], after);
        }
        // What stands around it reads the same there as alone: `reconcile` compares.
        around.add(before.len() + if border { after.len() } else { 0 });
        Ok(())
    };
    let ran = check(file!(), "neighbours", 1500, &cases, property);
    let [hit, missed] = touched.map(|tally| tally.sum());
    assert!(hit * 4 < missed, "{hit} borders hit, {missed} not");
    println!(
        "damaged game among others: {ran} archives, {} games around it untouched, {hit} \
         borders hit",
        around.sum()
    );
}

/// Damage anywhere in a file of several games: no panic, and the accounts reconcile.
#[test]
fn no_damage_loses_a_game() {
    let mut files = sample::odd(20_000);
    files.extend(sample::season(25));
    let some = prop::collection::vec(select(files), 1..6);
    let texts = (some, edits(10)).prop_map(|(files, edits): (Vec<Vec<u8>>, Vec<Edit>)| {
        Text(damaged(&files.concat(), &edits))
    });
    let counts = [const { Tally::new() }; 2];
    let cases = (texts, 1..8000_usize);
    let ran = check(file!(), "damage", 1500, &cases, |(Text(text), block)| {
        let gathered = reconcile(&text, block)?;
        counts[0].add(gathered.account.kept as usize);
        counts[1].add(gathered.skipped.len());
        Ok(())
    });
    let [kept, skipped] = counts.map(|tally| tally.sum());
    assert!(kept > ran / 2 && skipped > ran / 2);
    println!("damage anywhere: {ran} archives, {kept} games kept + {skipped} skipped, none lost");
}
