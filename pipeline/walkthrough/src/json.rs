//! A walkthrough as JSON.

use hobble_game::comment::Eval;
use hobble_terms::kind::unit_name;
use hobble_tracks::spell::Spell;
use serde_json::{Value, json};
use shakmaty::fen::Fen;
use shakmaty::{Bitboard, Color, EnPassantMode, Position as _, Square};

use crate::Walkthrough;
use crate::follow::{Followed, Position};
use crate::lines::{Line, is_shut_out};
use crate::moments::{Moment, Rule};
use crate::tries::Tried;
use crate::words::names;

/// A walkthrough as one JSON object. Squares are names, `safe` lists are sorted a1, b1 … h8,
/// plies count from 1, positions from 0; clocks in seconds, evaluations in pawns.
pub fn json(walkthrough: &Walkthrough) -> Value {
    let game = &walkthrough.game;
    let heading = &game.heading;
    json!({
        "definitions": hobble_terms::DEFINITIONS,
        "k": walkthrough.k,
        "game": {
            "id": format!("{:016x}", heading.id),
            "file": walkthrough.at.as_ref().map(|at| &at.file),
            "number": walkthrough.at.as_ref().map(|at| at.number),
            "line": walkthrough.at.as_ref().map(|at| at.line),
            "white": heading.white,
            "black": heading.black,
            "white_rating": heading.white_rating,
            "black_rating": heading.black_rating,
            "event": heading.event,
            "site": heading.site,
            "date": heading.date,
            "round": heading.round,
            "result": heading.result.name(),
            "variant": heading.variant.name(),
            "start_fen": heading.start_fen,
        },
        "restraint": {
            "restraints": walkthrough.show.restraints,
            "turns": walkthrough.show.turns,
            "themes": walkthrough.show.themes.iter().map(|theme| theme.name()).collect::<Vec<_>>(),
        },
        "units": units(game),
        "positions": game.positions.iter().zip(&walkthrough.tries)
            .map(|(at, tries)| position(at, tries)).collect::<Vec<_>>(),
        "plies": plies(game),
        "lines": walkthrough.lines.iter().map(line).collect::<Vec<_>>(),
        "spells": game.spells.iter().map(|spell| spell_value(game, spell)).collect::<Vec<_>>(),
        "archive": walkthrough.beside.iter().map(|beside| json!({
            "claim": beside.claim,
            "title": beside.title,
            "verdict": beside.verdict,
            "figure": beside.figure,
            "rung": beside.rung,
            "restraints": beside.restraints.iter()
                .map(|(unit, start)| json!({"unit": unit, "start": start}))
                .collect::<Vec<_>>(),
        })).collect::<Vec<_>>(),
        "moves_that_mattered": walkthrough.moments.iter().map(moment).collect::<Vec<_>>(),
        "exercises": walkthrough.exercises.iter().map(|exercise| json!({
            "position": exercise.position,
            "fen": fen(&exercise.asked.chess),
            "task": exercise.task,
            "answers": exercise.answers,
        })).collect::<Vec<_>>(),
    })
}

fn color(color: Color) -> &'static str {
    color.fold_wb("white", "black")
}

fn fen(chess: &shakmaty::Chess) -> String {
    Fen::from_position(chess, EnPassantMode::Legal).to_string()
}

fn units(game: &Followed) -> Vec<Value> {
    game.beings
        .iter()
        .map(|being| {
            json!({
                "kind": unit_name(being.kind),
                "color": color(being.color),
                "first": being.first.to_string(),
                "birth": being.birth,
                "gone": being.gone,
                "fate": being.capture.map(|capture| capture.fate.name()),
                "net": being.capture.map(|capture| capture.net),
            })
        })
        .collect()
}

fn position(at: &Position, tries: &[Tried]) -> Value {
    let units: Vec<Value> = at
        .units
        .iter()
        .map(|unit| {
            json!({
                "unit": unit.slot,
                "square": unit.square.to_string(),
                "safe": names(unit.safe),
            })
        })
        .collect();
    json!({
        "fen": fen(&at.chess),
        "turn": color(at.chess.turn()),
        "scope": { "white": at.scope[0], "black": at.scope[1] },
        "units": units,
        "moves": tries.iter().map(tried).collect::<Vec<_>>(),
    })
}

fn tried(tried: &Tried) -> Value {
    let [taken, given, own_taken, own_given] = tried.sums;
    let changes: Vec<Value> = tried
        .changes
        .iter()
        .map(|change| {
            json!({
                "unit": change.slot,
                "taken": names(change.taken),
                "given": names(change.given),
            })
        })
        .collect();
    json!({
        "move": tried.san,
        "from": tried.from.to_string(),
        "to": tried.to.to_string(),
        "taken": taken,
        "given": given,
        "own_taken": own_taken,
        "own_given": own_given,
        "gives_nothing_away": tried.quiet.is_some(),
        "changes": changes,
    })
}

fn plies(game: &Followed) -> Vec<Value> {
    game.plies
        .iter()
        .map(|ply| {
            let facts = &ply.facts;
            let (pawns, mate) = match ply.eval {
                Some(Eval::Pawns(pawns)) => (Some(pawns), None),
                Some(Eval::Mate(mate)) => (None, Some(mate)),
                None => (None, None),
            };
            json!({
                "label": ply.label,
                "move": ply.san,
                "side": color(ply.side),
                "quiet": facts.is_quiet(),
                "legal": facts.legal,
                "taken": facts.taken,
                "given": facts.given,
                "own_taken": facts.own_taken,
                "own_given": facts.own_given,
                "clock": ply.clock,
                "eval": pawns,
                "eval_mate": mate,
            })
        })
        .collect()
}

fn line(line: &Line) -> Value {
    let stretches: Vec<Value> = line
        .stretches
        .iter()
        .map(|stretch| {
            json!({
                "state": stretch.state.name(),
                "first": stretch.first,
                "last": stretch.last,
                "turns": stretch.turns,
                "began": stretch.began,
                "ended": stretch.ended,
            })
        })
        .collect();
    json!({
        "unit": line.slot,
        "kind": unit_name(line.kind),
        "color": color(line.color),
        "first": line.first.to_string(),
        "fate": line.fate.name(),
        "fate_ply": line.fate_ply,
        "stretches": stretches,
    })
}

fn spell_value(game: &Followed, spell: &Spell) -> Value {
    json!({
        "unit": spell.slot,
        "kind": unit_name(spell.kind),
        "color": color(spell.color),
        "k_low": spell.k_low,
        "k_high": spell.k_high,
        "start": spell.start,
        "turns": spell.turns,
        "cause": spell.cause.kind.name(),
        "cause_ply": spell.cause.ply.map(|ply| ply.ply),
        "squares_taken": spell.cause.ply.and_then(|ply| ply.before).map(|before| before.taken),
        "safe": spell.state.safe,
        "restrained": spell.is_restrained(),
        "shut_out": is_shut_out(spell),
        "end_ply": spell.end_ply,
        "ended": crate::lines::release(game, spell),
    })
}

fn moment(moment: &Moment) -> Value {
    let squares = |set: Bitboard| names(set);
    json!({
        "ply": moment.ply,
        "move": moment.label,
        "rules": moment.rules.iter().copied().map(Rule::name).collect::<Vec<_>>(),
        "text": moment.text,
        "before": fen(&moment.before.chess),
        "after": fen(&moment.after.chess),
        "ringed": moment.before.ringed.iter().map(Square::to_string).collect::<Vec<_>>(),
        "safe_before": moment.before.safe.map(squares),
        "safe_after": moment.after.safe.map(squares),
        "taken": squares(moment.after.taken),
    })
}
