//! Chooses the games a player should look at, and says what to see in them.

use std::cmp::Reverse;
use std::collections::BTreeSet;

use crate::answer::GameToSee;
use crate::missed::Turn;
use crate::own::OwnGame;
use crate::own_spells::OwnSpell;
use crate::replays::{OwnGames, Replays};
use hobble_conditions::AskError;
use hobble_conditions::terms::Kind;
use hobble_conditions::words::{self, Wording};
use hobble_examples::stretch::{self, Followed};
use hobble_report::Stretch;
use hobble_terms::Table;
use shakmaty::Color;

/// By what rule games are chosen.
pub const RULE: &str = "One held piece a game. First pieces that were lost, among those whose replies were played out: the most turns with a reply that would have freed it and was not played, then the dearest piece, then the longest held. Where these are too few, other pieces that were lost, then pieces held longest.";

/// A spell that may be shown, with its turns where they were played out.
pub struct Candidate<'a> {
    /// The spell.
    pub spell: &'a OwnSpell,
    /// Its game.
    pub game: &'a OwnGame,
    /// Its turns.
    pub turns: Option<&'a [Turn]>,
}

impl Candidate<'_> {
    fn missed(&self) -> usize {
        self.turns.map_or(0, |turns| {
            turns
                .iter()
                .filter(|turn| turn.board.replies > 0 && !turn.played)
                .count()
        })
    }

    fn order(&self) -> impl Ord + use<> {
        let lost = self.spell.end == "lost";
        (
            Reverse(lost && self.turns.is_some()),
            Reverse(self.missed() * usize::from(lost)),
            Reverse(lost),
            Reverse(value(self.spell.kind) * u8::from(lost)),
            Reverse(self.spell.turns),
            self.game.game_id,
            self.spell.start_ply,
            self.spell.piece,
        )
    }
}

fn value(kind: Kind) -> u8 {
    match kind {
        Kind::Knight | Kind::Bishop => 3,
        Kind::Rook => 5,
        Kind::Queen => 9,
    }
}

/// The first of each game, so many; of a game that stands in the archive twice, one.
pub fn choose<'a>(mut all: Vec<Candidate<'a>>, number: usize) -> Vec<Candidate<'a>> {
    all.sort_by_cached_key(|one| one.order());
    let mut games = BTreeSet::new();
    let mut looks = BTreeSet::new();
    all.into_iter()
        .filter(|one| {
            let spell = one.spell;
            let look = (
                spell.start_ply,
                spell.piece,
                &spell.square,
                spell.end_ply,
                spell.cause_ply,
            );
            looks.insert(look) && games.insert(spell.game)
        })
        .take(number)
        .collect()
}

/// What is shown of chosen spells, in their order.
///
/// # Errors
///
/// Where a table cannot be read, or a game cannot be played.
pub fn show(chosen: &[Candidate<'_>], games: OwnGames<'_>) -> Result<Vec<GameToSee>, AskError> {
    let replays = games.find(chosen.iter().map(|one| one.spell.game))?;
    let of_one = |one| show_one(one, &replays);
    chosen.iter().map(of_one).collect()
}

fn show_one(one: &Candidate<'_>, replays: &Replays<'_>) -> Result<GameToSee, AskError> {
    let number = one.spell.game;
    let turn = one.turns.and_then(|turns| {
        turns
            .iter()
            .find(|turn| turn.board.replies > 0 && !turn.played)
            .or_else(|| turns.first())
    });
    Ok(GameToSee {
        caption: caption(one, turn, Wording::Kept),
        shown: caption(one, turn, Wording::Reader),
        game: replays.reference(number)?,
        offset: replays.offset(number)?,
        color: if one.game.cell.white {
            "white"
        } else {
            "black"
        }
        .to_owned(),
        kind: one.spell.kind.name().to_owned(),
        start_ply: one.spell.start_ply,
        turns: one.spell.turns,
        end: one.spell.end.clone(),
        end_ply: one.spell.end_ply,
        missed: one.turns.map(|_| one.missed() as u64),
        board: turn.map(|turn| turn.board.clone()),
        stretch: match turn {
            Some(turn) => played(one, turn, replays)?,
            None => None,
        },
    })
}

/// The piece followed through its game to the end of its spell, the turn in question shown first.
fn played(
    one: &Candidate<'_>,
    turn: &Turn,
    replays: &Replays<'_>,
) -> Result<Option<Stretch>, AskError> {
    let square = one.spell.square.parse().map_err(|_| {
        let what = format!("invalid square \"{}\"", one.spell.square);
        AskError::bad_table(Table::Spells, format!("{what}, in {}", one.game.name()))
    })?;
    let piece = Followed {
        role: one.spell.kind.role(),
        color: Color::from_white(one.game.cell.white),
        square,
        start: one.spell.start_ply as u32,
        shown: turn.board.ply as u32,
        end: one.spell.end_ply as u32,
    };
    Ok(stretch::stretch(&replays.played(one.spell.game)?, piece))
}

fn caption(one: &Candidate<'_>, turn: Option<&Turn>, wording: Wording) -> String {
    let reader = wording == Wording::Reader;
    let spell = one.spell;
    let side = if one.game.cell.white {
        "White"
    } else {
        "Black"
    };
    let squares = match spell.safe {
        0 => "no safe square".to_owned(),
        more => words::counted(more, "safe square"),
    };
    let unit = spell.cause_kind.as_deref().unwrap_or("unit");
    let why = match (spell.cause.as_str(), spell.cause_by.as_deref()) {
        ("blocked", _) if reader => format!("its own {unit} stood in the way"),
        ("entered", _) if reader => "it walked into it".to_owned(),
        ("blocked", _) => format!("an own {unit} got in its way"),
        ("entered", _) => "it went there itself".to_owned(),
        ("pinned", Some("own")) => format!("an own {unit} move left it pinned"),
        ("pinned", _) => format!("the opponent\u{2019}s {unit} pinned it"),
        ("taken", _) => format!("the opponent\u{2019}s {unit} took squares from it"),
        _ => "it had been so from the start".to_owned(),
    };
    let mut text = format!(
        "{side}\u{2019}s {} on {} had {squares}: {why}. It stayed held for {}",
        spell.kind,
        spell.square,
        words::counted(spell.turns, "turn"),
    );
    text.push_str(match spell.end.as_str() {
        "lost" => " and was lost.",
        "traded" => " and was traded.",
        "sold" => " and was sold for more than its value.",
        "freed" => " and was freed.",
        _ => ", to the end of the game.",
    });
    if let Some(turn) = turn {
        text.push_str(&reply(turn, reader));
    }
    text
}

/// What the player could have replied, and what was played.
fn reply(turn: &Turn, reader: bool) -> String {
    let board = &turn.board;
    let played = if reader {
        format!("{} was played.", board.played)
    } else {
        format!("played was {}.", board.played)
    };
    if board.replies > 0 && !turn.played {
        let reply = board.reply.as_deref().unwrap_or_default();
        match board.replies {
            1 => format!(" Here one reply would have freed it, {reply}; {played}"),
            more => {
                format!(" Here {more} replies would have freed it, {reply} among them; {played}")
            }
        }
    } else if turn.played {
        format!(
            " Here {} would have freed it by squares, and was played.",
            board.played
        )
    } else {
        format!(" Here no reply would have freed it; {played}")
    }
}
