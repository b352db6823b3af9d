//! Replies that would have freed a held piece: there and played, there and not played.

use std::collections::{BTreeMap, BTreeSet};

use rayon::prelude::*;
use shakmaty::Color;

use crate::Habits;
use crate::answer::{GameToSee, Replies};
use crate::figure;
use crate::games_to_see::{self, Candidate};
use crate::missed::{self, Replay, Turn};
use crate::own::Own;
use crate::own_spells::OwnSpell;
use crate::replays::OwnGames;
use crate::tally::OwnCounts;
use hobble_conditions::AskError;
use hobble_terms::Table;

/// Spells whose replies are played out: lost ones, game by game in the order of their ids,
/// until the turns are used up. Also whether all of them are.
fn sample<'a>(habits: &Habits, own: &Own, lost: &[&'a OwnSpell]) -> Vec<&'a OwnSpell> {
    let mut sorted = lost.to_vec();
    sorted.sort_by_key(|spell| {
        (
            own.games[spell.game].game_id,
            spell.game,
            spell.start_ply,
            spell.piece,
        )
    });
    let mut left = habits.replies_turns as u64;
    sorted
        .into_iter()
        .take_while(|spell| {
            let fits = spell.turns <= left;
            left = left.saturating_sub(spell.turns);
            fits
        })
        .collect()
}

/// Replies to the spells that were lost, and the games to look at.
///
/// # Errors
///
/// Where a table is unreadable or inconsistent.
pub fn replies_and_games(
    habits: &Habits,
    own_games: OwnGames<'_>,
    counts: &OwnCounts,
) -> Result<(Replies, Vec<GameToSee>), AskError> {
    let own = own_games.own;
    let lost: Vec<&OwnSpell> = counts
        .spells
        .iter()
        .filter(|spell| spell.end == "lost")
        .collect();
    let sampled = sample(habits, own, &lost);
    // Room for games to look at where the sample does not fill them.
    let candidate = |spell| Candidate {
        spell,
        game: &own.games[spell.game],
        turns: None,
    };
    let in_sample: BTreeSet<usize> = sampled.iter().map(|spell| spell.game).collect();
    let others = counts
        .spells
        .iter()
        .filter(|spell| !in_sample.contains(&spell.game));
    let room = habits.games.saturating_sub(in_sample.len());
    let filling: Vec<&OwnSpell> = games_to_see::choose(others.map(candidate).collect(), room)
        .into_iter()
        .map(|one| one.spell)
        .collect();
    let all: Vec<&OwnSpell> = sampled.iter().chain(&filling).copied().collect();
    let turns = played_out(habits, own_games, &all)?;
    let candidates = all
        .iter()
        .zip(&turns)
        .map(|(spell, turns)| Candidate {
            spell,
            game: &own.games[spell.game],
            turns: turns.as_deref(),
        })
        .collect();
    let chosen = games_to_see::choose(candidates, habits.games);
    let games = games_to_see::show(&chosen, own_games)?;
    let replies = replies(habits, lost.len(), &sampled, &turns[..sampled.len()]);
    Ok((replies, games))
}

/// The turns of each spell; `None` where the table of moves was not written.
///
/// # Errors
///
/// Where a table is unreadable or inconsistent.
pub fn played_out(
    habits: &Habits,
    games: OwnGames<'_>,
    spells: &[&OwnSpell],
) -> Result<Vec<Option<Vec<Turn>>>, AskError> {
    if !games.dataset.has(Table::Moves) {
        return Ok(vec![None; spells.len()]);
    }
    let mut by_game: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
    for (number, spell) in spells.iter().enumerate() {
        by_game.entry(spell.game).or_default().push(number);
    }
    let replays = games.find(by_game.keys().copied())?;
    let by_game: Vec<(usize, Vec<usize>)> = by_game.into_iter().collect();
    let found: Vec<Vec<(usize, Vec<Turn>)>> = by_game
        .par_iter()
        .map(|(number, of_game)| {
            let game = &games.own.games[*number];
            let plies = replays.plies(*number)?;
            let replay = Replay {
                start_fen: game.start_fen.clone(),
                color: if game.cell.white {
                    Color::White
                } else {
                    Color::Black
                },
                name: game.name(),
            };
            of_game
                .iter()
                .map(|&one| Ok((one, missed::turns(&plies, &replay, spells[one], habits.k)?)))
                .collect()
        })
        .collect::<Result<_, AskError>>()?;
    let mut turns = vec![None; spells.len()];
    for (number, of_spell) in found.into_iter().flatten() {
        turns[number] = Some(of_spell);
    }
    Ok(turns)
}

fn replies(
    habits: &Habits,
    lost: usize,
    sampled: &[&OwnSpell],
    turns: &[Option<Vec<Turn>>],
) -> Replies {
    let mut replies = Replies {
        left_out: None,
        lost_spells: lost as u64,
        spells: sampled.len() as u64,
        games: 0,
        turns: 0,
        there: 0,
        played: 0,
        missed: 0,
        too_few: None,
        share: None,
        interval: None,
        verdict: String::new(),
    };
    // Missed turns and turns.
    let mut by_game: BTreeMap<usize, (u64, u64)> = BTreeMap::new();
    for (spell, turns) in sampled.iter().zip(turns) {
        let Some(turns) = turns else {
            replies.left_out = Some("the table of moves was not written".to_owned());
            replies.spells = 0;
            replies.verdict =
                "Replies could not be played out: the table of moves was not written.".to_owned();
            return replies;
        };
        let there = turns.iter().filter(|turn| turn.board.replies > 0).count() as u64;
        let played = turns.iter().filter(|turn| turn.played).count() as u64;
        replies.turns += turns.len() as u64;
        replies.there += there;
        replies.played += played;
        let (missed, of) = by_game.entry(spell.game).or_default();
        *missed += there - played;
        *of += turns.len() as u64;
    }
    replies.missed = replies.there - replies.played;
    replies.games = by_game.len() as u64;
    let games: Vec<(u64, u64)> = by_game.into_values().collect();
    let (share, few) = figure::own_share(habits, &games);
    replies.share = share.value;
    replies.interval = share.interval;
    replies.too_few = few;
    replies.verdict = replies.in_words(few.map(|few| few.to_string()));
    replies
}
