//! Chances to restrain a piece that the player did not take, to look at on boards.

use std::cmp::Reverse;
use std::collections::BTreeSet;

use hobble_conditions::AskError;
use hobble_conditions::words;
use hobble_examples::played;
use hobble_examples::replay;
use hobble_terms::{Table, landmark_k, value};
use hobble_tracks::chances::Way;
use hobble_tracks::trials::{Left, QuietMove, quiet_moves};
use shakmaty::{CastlingMode, Position, Square};

use crate::answer::MissedChance;
use crate::own::Own;
use crate::replays::{OwnGames, Replays};
use crate::to_show::Missed;

/// Most chances shown.
const SHOWN: usize = 10;

/// A chance matters where the player then stood so much worse, in pawns.
const WORSE: i64 = 2;

/// By what rule chances are chosen.
pub const RULE: &str = "One chance a game. The move played was quiet too and gave nothing away, the piece was not captured in the ten moves that followed, and a restraining move would have left it two squares fewer at least. First chances after which the player stood two pawns or more worse within those ten moves; of these the ones that take most squares, then leave fewest, then of the dearest piece.";

impl Missed {
    fn mattered(&self) -> bool {
        self.material.is_some_and(|change| change <= -WORSE)
    }

    fn order(&self, game_id: u64) -> impl Ord + use<> {
        (
            Reverse(self.mattered()),
            Reverse(self.safe - self.best),
            self.best,
            Reverse(value(self.kind.role())),
            (game_id, self.game, self.ply),
            self.square.clone(),
        )
    }
}

/// The chances to show, by [`RULE`]; none where the table of moves was not written.
///
/// # Errors
///
/// Where a table is unreadable or inconsistent.
pub fn show(games: OwnGames<'_>, missed: Vec<Missed>) -> Result<Vec<MissedChance>, AskError> {
    boards(games, &first(games.own, missed, SHOWN))
}

/// The first by [`RULE`], one a game.
pub fn first(own: &Own, mut missed: Vec<Missed>, number: usize) -> Vec<Missed> {
    missed.sort_by_cached_key(|one| one.order(own.games[one.game].game_id));
    let mut games = BTreeSet::new();
    missed.retain(|one| games.insert(own.games[one.game].game_id));
    missed.truncate(number);
    missed
}

/// Chances with their boards; none where the table of moves was not written.
///
/// # Errors
///
/// Where a table is unreadable or inconsistent.
pub fn boards(games: OwnGames<'_>, missed: &[Missed]) -> Result<Vec<MissedChance>, AskError> {
    if !games.dataset.has(Table::Moves) {
        return Ok(Vec::new());
    }
    let replays = games.find(missed.iter().map(|one| one.game))?;
    missed.iter().map(|one| board(one, &replays)).collect()
}

fn board(one: &Missed, replays: &Replays<'_>) -> Result<MissedChance, AskError> {
    let bad = |what: String| replays.disagrees(one.game, &what);
    let played = replays.played(one.game)?;
    let no_turn = || bad(format!("no move was played at ply {}", one.ply));
    let position = played.position(one.ply).ok_or_else(no_turn)?;
    let then = played.reference(one.ply + 1).ok_or_else(no_turn)?;
    let square: Square =
        (one.square.parse()).map_err(|_| bad(format!("invalid square \"{}\"", one.square)))?;
    let quiet = quiet_moves(position);
    let mut ways: Vec<(&QuietMove, &Left)> = quiet
        .iter()
        .filter_map(|tried| {
            let left = tried.pieces.iter().find(|left| left.square == square)?;
            Some((tried, left))
        })
        .filter(|(_, left)| left.is_restrained(landmark_k(left.kind)))
        .collect();
    let number = ways.len() as u64;
    ways.sort_by_cached_key(|(tried, left)| {
        let uci = tried.played.to_uci(CastlingMode::Chess960).to_string();
        (left.after.count(), uci)
    });
    let (best, left) = (ways.first())
        .filter(|(_, left)| left.after.count() as u64 == one.best)
        .ok_or_else(|| bad(format!("no such chance on {square} at ply {}", one.ply)))?;
    let way = Way::of(best.played, position.turn());
    let color = if position.turn().is_white() {
        "white"
    } else {
        "black"
    };
    let mut chance = MissedChance {
        game: played.game.clone(),
        offset: replays.offset(one.game)?,
        color: color.to_owned(),
        ply: one.ply.into(),
        fen: played::fen(position),
        kind: one.kind.name().to_owned(),
        square: one.square.clone(),
        answer: replay::label(position, best.played),
        arrow: (way.from.to_string(), way.to.to_string()),
        answers: number,
        taken: replay::squares(left.before & !left.after),
        left: replay::squares(left.after),
        played: then.label,
        material_10: one.material,
        caption: String::new(),
    };
    chance.caption = caption(&chance);
    Ok(chance)
}

/// What could have been played, what was, and what came of it.
fn caption(chance: &MissedChance) -> String {
    let (side, other) = match chance.color.as_str() {
        "white" => ("White", "Black"),
        _ => ("Black", "White"),
    };
    let squares = match chance.left.len() {
        0 => "without a safe square".to_owned(),
        some => format!("with {}", words::counted(some as u64, "safe square")),
    };
    let mut text = format!(
        "{} would have left {other}\u{2019}s {} on {} {squares}, and taken {} from it",
        chance.answer,
        chance.kind,
        chance.square,
        words::list(&chance.taken)
    );
    if chance.answers > 1 {
        text.push_str(&format!(
            "; {} moves would have restrained it",
            chance.answers
        ));
    }
    text.push_str(&format!(
        ". {} was played, and the {} got away.",
        chance.played, chance.kind
    ));
    if let Some(worse) = chance.material_10.filter(|&change| change <= -WORSE) {
        text.push_str(&format!(
            " Ten moves later {side} stood {} worse than then.",
            words::counted(worse.unsigned_abs(), "pawn")
        ));
    }
    text
}
