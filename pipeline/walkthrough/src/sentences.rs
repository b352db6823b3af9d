//! The sentences on the moves that mattered.

use hobble_report::number::{list, small};
use hobble_terms::By;
use hobble_terms::kind::unit_name;
use hobble_tracks::roster::Slot;
use hobble_tracks::sight::is_piece;
use hobble_tracks::spell::{End, Spell};
use shakmaty::{Chess, Color, Move};

use crate::chances::{Answer, Chance};
use crate::follow::{Followed, label};
use crate::tries::{Change, Tried};
use crate::words::{capital, left, safe_squares, side, squares, turns, unit_at, unit_on};

/// A move that restrained pieces.
pub(crate) fn restrained(game: &Followed, ply: usize, group: &[&Spell]) -> String {
    let label = game.label(ply);
    let parts: Vec<String> = group
        .iter()
        .map(|spell| {
            let (before, after) = (
                game.safe_at(spell.slot, ply - 1),
                game.safe_at(spell.slot, ply),
            );
            format!(
                "took {} from {}, leaving it {}",
                squares(before & !after),
                unit_on(game, spell.slot, spell.state.square),
                left(after)
            )
        })
        .collect();
    let mut text = match &parts[..] {
        [one] => format!("{label} {one}."),
        more => format!("{label} {}.", more.join("; it ")),
    };
    for spell in group {
        text.push(' ');
        text.push_str(&outlook(game, spell, group.len() > 1));
    }
    text
}

/// How a restraint went on. With `named` the piece is named, not called it.
fn outlook(game: &Followed, spell: &Spell, named: bool) -> String {
    let name = if named {
        capital(&unit_on(game, spell.slot, spell.state.square))
    } else {
        "It".to_owned()
    };
    let count = turns(usize::from(spell.turns));
    let label = game.label(usize::from(spell.end_ply));
    let end = match spell.end {
        End::Freed {
            moved_away: Some(true),
            ..
        } => format!("until it got out with {label}"),
        End::Freed { .. } => format!("until {label}"),
        End::GameOver => "to the end of the game".to_owned(),
        End::Captured => {
            let fate = spell
                .capture
                .map_or("captured", |capture| capture.fate.name());
            format!("and was {fate} when {label} took it")
        }
    };
    format!("{name} stayed restrained for {count} {end}.")
}

/// A move that broke a restraint.
pub(crate) fn broken(game: &Followed, spell: &Spell) -> String {
    let ply = usize::from(spell.end_ply);
    let label = game.label(ply);
    let kind = unit_name(spell.kind);
    let since = spell.cause.ply.map_or_else(String::new, |cause| {
        format!(
            "since {} ({})",
            game.label(usize::from(cause.ply)),
            turns(usize::from(spell.turns))
        )
    });
    let now = safe_squares(game.safe_at(spell.slot, ply).count());
    let square = game.square_at(spell.slot, ply);
    match spell.end {
        End::Freed {
            moved_away: Some(true),
            ..
        } => format!(
            "{label} brought the {kind} out of the restraint it had been under {since}: on {square} it has {now}."
        ),
        End::Freed { by: By::Own, .. } => {
            format!("{label} freed the {kind} on {square}, restrained {since}: it has {now} again.")
        }
        _ => format!(
            "{label} gave the {kind} on {square}, restrained {since}, squares again: it has {now}."
        ),
    }
}

/// A quiet move that would have restrained a piece.
pub(crate) fn missed(game: &Followed, chance: &Chance, tried: &Tried, answer: &Answer) -> String {
    let after = &answer.left;
    let kind = unit_name(after.kind);
    let others = match chance.answers.len() - 1 {
        0 => String::new(),
        1 => " One more quiet move restrains it.".to_owned(),
        more => format!(
            " {} more quiet moves restrain it.",
            capital(&small(more as u64))
        ),
    };
    format!(
        "{} was there: it takes {} from the {kind} on {}, leaving it {}; {}. {} was played.{others}",
        tried.label,
        squares(after.before & !after.after),
        chance.square,
        left(after.after),
        replies(&tried.after, &answer.freeing),
        game.label(chance.position + 1),
    )
}

/// `no reply frees it at once`, `12...Nd7 frees it at once`, `four replies free it at once`.
pub(crate) fn replies(after: &Chess, freeing: &[Move]) -> String {
    match freeing {
        [] => "no reply frees it at once".to_owned(),
        [one] => format!("{} frees it at once", label(after, *one).0),
        [one, other] => format!(
            "{} and {} free it at once",
            label(after, *one).0,
            label(after, *other).1
        ),
        more => format!("{} replies free it at once", small(more.len() as u64)),
    }
}

/// The capture of a piece that was lost.
pub(crate) fn lost(game: &Followed, slot: Slot, ply: usize) -> String {
    let being = &game.beings[usize::from(slot)];
    let label = game.label(ply);
    let unit = unit_at(game, slot, ply - 1);
    let before = left(game.safe_at(slot, ply - 1));
    let net = being.capture.map_or(0, |capture| -capture.net);
    let pawns = if net == 1 { "pawn" } else { "pawns" };
    format!(
        "{label} won {unit}, which had {before} before it. By the captures around it {} lost \
         material worth {} {pawns}.",
        side(being.color),
        small(u64::from(net.unsigned_abs())),
    )
}

/// A quiet move that took many squares.
pub(crate) fn most_taken(game: &Followed, ply: usize, changes: &[Change]) -> String {
    let played = &game.plies[ply - 1];
    let label = &played.label;
    let total = usize::from(played.facts.taken);
    let mut losers: Vec<&Change> = changes
        .iter()
        .filter(|change| {
            let owner = game.beings[usize::from(change.slot)].color;
            owner != played.side && change.taken.any()
        })
        .collect();
    losers.sort_by_key(|change| {
        let piece = is_piece(game.beings[usize::from(change.slot)].kind);
        (!piece, std::cmp::Reverse(change.taken.count()), change.slot)
    });
    let parts: Vec<String> = losers
        .iter()
        .take(3)
        .map(|change| {
            let after = game.safe_at(change.slot, ply);
            format!(
                "{} from {} ({} left)",
                squares(change.taken),
                unit_at(game, change.slot, ply),
                none_or(after.count())
            )
        })
        .collect();
    let named: usize = losers
        .iter()
        .take(3)
        .map(|change| change.taken.count())
        .sum();
    let rest = match total - named.min(total) {
        0 => String::new(),
        1 => "; one more from the rest".to_owned(),
        more => format!("; {} more from the rest", small(more as u64)),
    };
    let given = match played.facts.given {
        0 => String::new(),
        1 => " It gave one square.".to_owned(),
        more => format!(" It gave {} squares.", small(u64::from(more))),
    };
    let owner = side(opponent(played.side));
    format!(
        "{label} took {} safe squares from {owner}: {}{rest}.{given}",
        small(total as u64),
        list(&parts),
    )
}

/// `none`, `two`.
fn none_or(count: usize) -> String {
    match count {
        0 => "none".to_owned(),
        more => small(more as u64),
    }
}

const fn opponent(color: Color) -> Color {
    match color {
        Color::White => Color::Black,
        Color::Black => Color::White,
    }
}
