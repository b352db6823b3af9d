//! Whether the player could have kept a piece from being restrained, or freed it at once.
//!
//! Looked at are the restraining moves that opponents played, as the table of chances has them.
//! Before such a move the player was on move: a quiet move that gives nothing away prevents it
//! where the piece then has more than k safe squares and no restraining move is left against it.
//! After it the player is on move again: a quiet move frees the piece where it then has more than k
//! safe squares. k is that of restraint: one for a knight or bishop, two for a rook or queen.

use std::collections::BTreeMap;

use hobble_conditions::AskError;
use hobble_conditions::words::count;
use hobble_examples::played::Played;
use hobble_terms::{Table, landmark_k};
use hobble_tracks::chances::Finder;
use hobble_tracks::trials::quiet_moves;
use rayon::prelude::*;
use shakmaty::{Bitboard, Chess, Color, Move, Position, Square};

use crate::Habits;
use crate::answer::{Kept, Prevention};
use crate::figure;
use crate::missed::{follow, safe};
use crate::replays::OwnGames;
use crate::to_show::Restraining;

impl Kept {
    fn in_words(&self) -> String {
        let bounds = match self.interval {
            Some(i) => format!(" ({:.0}% to {:.0}%)", i.low * 100.0, i.high * 100.0),
            None => String::new(),
        };
        format!("{} of {}{bounds}", count(self.count), count(self.of))
    }
}

impl Prevention {
    /// In one sentence.
    pub(crate) fn in_words(&self) -> String {
        if self.looked_at == 0 {
            return "In the sample of turns no opponent restrained a piece of the player\u{2019}s."
                .to_owned();
        }
        format!(
            "Where an opponent restrained a piece of the player\u{2019}s, a quiet move just before would have prevented it in {}; a quiet move at once after it would have freed the piece in {}, and one was played in {}.",
            self.preventable.in_words(),
            self.freeable.in_words(),
            self.freed.in_words()
        )
    }
}

/// What is found of one of them.
#[derive(Debug, Clone, Copy, Default)]
struct Found {
    /// Whether a quiet move before would have prevented it; `None` where there was no move before.
    prevented: Option<bool>,
    /// Whether a quiet move after it frees the piece, and whether one was played; `None` where
    /// the game ended.
    freed: Option<[bool; 2]>,
}

/// What the player could have done about restraining moves; as many as replies are played out for,
/// game by game in the order of their ids.
///
/// # Errors
///
/// Where a table is unreadable or inconsistent.
pub fn prevention(
    habits: &Habits,
    games: OwnGames<'_>,
    played: &[Restraining],
) -> Result<Option<Prevention>, AskError> {
    let OwnGames { dataset, own, .. } = games;
    if !dataset.has(Table::Moves) || !dataset.has(Table::Decisions) {
        return Ok(None);
    }
    let mut sample: Vec<&Restraining> = played.iter().collect();
    sample.sort_by_key(|one| (own.games[one.game].game_id, *one));
    sample.truncate(habits.replies_turns);
    let mut by_game: BTreeMap<usize, Vec<&Restraining>> = BTreeMap::new();
    for one in &sample {
        by_game.entry(one.game).or_default().push(one);
    }
    let replays = games.find(by_game.keys().copied())?;
    let by_game: Vec<(usize, Vec<&Restraining>)> = by_game.into_iter().collect();
    let in_game = |(game, all): &(usize, Vec<&Restraining>)| {
        let played = replays.played(*game)?;
        let color = Color::from_white(own.games[*game].cell.white);
        let mut finder = Finder::default();
        let found = |one: &&Restraining| {
            let bad = || {
                let what = format!("no chance on {} at ply {}", one.square, one.ply);
                replays.disagrees(*game, &what)
            };
            let square: Square = one.square.parse().map_err(|_| bad())?;
            found(&played, color, one.ply, square, &mut finder).ok_or_else(bad)
        };
        all.iter().map(found).collect::<Result<_, AskError>>()
    };
    let found: Vec<Vec<Found>> =
        (by_game.par_iter().map(in_game)).collect::<Result<_, AskError>>()?;
    Ok(Some(summed(habits, played.len(), &found)))
}

/// What is found of the restraining move that is played after `ply` plies; `None` where it does not
/// agree with the game.
fn found(
    played: &Played,
    color: Color,
    ply: u32,
    square: Square,
    finder: &mut Finder,
) -> Option<Found> {
    let after = played.position(ply + 1)?;
    let k = usize::from(landmark_k(after.board().role_at(square)?));
    if after.turn() != color || after.board().color_at(square) != Some(color) {
        return None;
    }
    let prevented = ply.checked_sub(1).and_then(|before| {
        let position = played.position(before)?;
        let stood = before_move(square, played.played(ply)?, color, position)?;
        Some(quiet_moves(position).iter().any(|quiet| {
            let (to, _) = follow(stood, quiet.played, color);
            prevents(position, quiet.played, to, k, finder)
        }))
    });
    let freed = played.played(ply + 2).map(|reply| {
        let mut frees = quiet_moves(after);
        frees.retain(|quiet| {
            let (to, _) = follow(square, quiet.played, color);
            left(after, quiet.played, to, color) > k
        });
        let one_played = frees.iter().any(|quiet| quiet.played == reply);
        [!frees.is_empty(), one_played]
    });
    Some(Found { prevented, freed })
}

/// Where the unit that stands on `square` after a move stood before it.
fn before_move(square: Square, played: Move, color: Color, position: &Chess) -> Option<Square> {
    let mut own = position.board().by_color(color).into_iter();
    own.find(|&stood| follow(stood, played, color).0 == square)
}

fn after_move(position: &Chess, played: Move) -> Chess {
    let mut after = position.clone();
    after.play_unchecked(played);
    after
}

fn left(position: &Chess, played: Move, square: Square, color: Color) -> usize {
    let after = after_move(position, played);
    safe(&after, color).safe[square.to_usize()].count()
}

fn prevents(position: &Chess, quiet: Move, square: Square, k: usize, finder: &mut Finder) -> bool {
    let after = after_move(position, quiet);
    finder.find(&after, Bitboard::from_square(square));
    finder.chances().is_empty() && usize::from(finder.safe_of(after.turn(), square)) > k
}

fn summed(habits: &Habits, played: usize, found: &[Vec<Found>]) -> Prevention {
    let share = |of: &dyn Fn(&Found) -> Option<bool>| {
        let in_game = |game: &Vec<Found>| {
            let came: Vec<bool> = game.iter().filter_map(of).collect();
            let count = came.iter().filter(|came| **came).count();
            (count as u64, came.len() as u64)
        };
        let games: Vec<(u64, u64)> = found.iter().map(in_game).collect();
        let (kept, too_few) = figure::own_share(habits, &games);
        Kept {
            count: kept.events,
            of: kept.base,
            share: kept.value,
            interval: kept.interval,
            too_few,
        }
    };
    let mut prevention = Prevention {
        restraining: played as u64,
        looked_at: found.iter().map(Vec::len).sum::<usize>() as u64,
        games: found.len() as u64,
        preventable: share(&|found| found.prevented),
        freeable: share(&|found| found.freed.map(|[there, _]| there)),
        freed: share(&|found| found.freed.map(|[_, played]| played)),
        verdict: String::new(),
    };
    prevention.verdict = prevention.in_words();
    prevention
}
