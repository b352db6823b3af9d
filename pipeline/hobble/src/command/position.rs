//! `hobble position`

use std::io::{BufRead as _, Write as _, stdin, stdout};

use anyhow::Context as _;
use hobble_game::text::shown;
use hobble_terms::Variant;
use hobble_terms::start::start_position;
use hobble_tracks::survey::Survey;
use serde::Serialize;
use shakmaty::Bitboard;

use crate::arguments::Position;

#[derive(Serialize)]
struct Line<'a> {
    fen: &'a str,
    turn: &'static str,
    legal_total: usize,
    units: Vec<Unit>,
}

#[derive(Serialize)]
struct Unit {
    square: String,
    color: &'static str,
    kind: &'static str,
    reach: Vec<String>,
    safe: Vec<String>,
    good: Vec<String>,
    legal: Option<Vec<String>>,
    attacked_by: String,
    defended: bool,
    pinned: bool,
}

fn squares(set: Bitboard) -> Vec<String> {
    set.into_iter().map(|square| square.to_string()).collect()
}

fn color_name(color: shakmaty::Color) -> &'static str {
    color.fold_wb("white", "black")
}

/// Reads a FEN a line, prints a JSON object a line.
pub fn run(arguments: &Position) -> anyhow::Result<bool> {
    let mut out = stdout().lock();
    for (number, line) in stdin().lock().lines().enumerate() {
        let line = line.context("standard input")?;
        let text = line.trim();
        if text.is_empty() {
            continue;
        }
        let place = || {
            format!(
                "standard input, line {}: `{}`",
                number + 1,
                shown(text.as_bytes())
            )
        };
        let variant = if arguments.chess960 {
            Variant::Chess960
        } else {
            Variant::Standard
        };
        let position = start_position(text.as_bytes(), variant).with_context(place)?;
        let survey = Survey::of(&position);
        let units = survey
            .units
            .iter()
            .map(|unit| Unit {
                square: unit.square.to_string(),
                color: color_name(unit.color),
                kind: hobble_terms::kind::unit_name(unit.kind),
                reach: squares(unit.reach),
                safe: squares(unit.safe),
                good: squares(unit.good),
                legal: unit.legal.map(squares),
                attacked_by: unit.attacked_by.clone(),
                defended: unit.defended,
                pinned: unit.pinned,
            })
            .collect();
        let line = Line {
            fen: text,
            turn: color_name(survey.turn),
            legal_total: survey.legal_total(),
            units,
        };
        serde_json::to_writer(&mut out, &line)?;
        out.write_all(b"\n")?;
    }
    Ok(true)
}
