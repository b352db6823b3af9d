//! A line for each piece: at home, free, held, restrained, shut out, and what became of it.
//!
//! Each state has a form of its own, so that the lines can be read without colour.

use std::fmt::Write as _;

use hobble_report::number::capital;
use hobble_report::plain;
use hobble_terms::Fate;
use hobble_terms::kind::unit_name;
use hobble_walkthrough::Walkthrough;
use hobble_walkthrough::lines::{Line, State};
use hobble_walkthrough::words::{side, turns};
use serde::Serialize;
use shakmaty::{Color, Position as _};

use super::ticks::ticks;
use crate::html::{FactView, Sign};
use crate::palette::{AXIS, FREE, HELD, INK, MUTED, PAPER};
use crate::plot::Width;
use crate::svg::{Words, wrap};

/// Height of a line.
const ROW: f64 = 22.0;
/// Size of letters.
const LETTERS: u32 = 12;
/// Room on the left for the names.
const LEFT: f64 = 84.0;
/// Room on the right for what became of the piece.
const RIGHT: f64 = 78.0;

/// The lines, their key, and the restraints in words.
#[derive(Serialize)]
pub(super) struct LinesView {
    pub wide: String,
    pub narrow: String,
    /// Room on the left and on the right of the positions, in units of the plot.
    pub room: String,
    pub key: Vec<Sign>,
    pub restraints: Vec<RowView>,
    /// Claims and what an archive says to them.
    pub archive: Vec<FactView>,
    pub others: Vec<RowView>,
}

/// A stretch in words.
#[derive(Serialize)]
pub(super) struct RowView {
    pub piece: String,
    pub state: &'static str,
    pub turns: usize,
    pub began: String,
    pub ended: String,
    /// What became of such pieces in an archive.
    pub beside: String,
}

/// The lines of a walkthrough.
pub(super) fn view(walkthrough: &Walkthrough) -> LinesView {
    let rows = |wanted: &dyn Fn(State) -> bool| {
        walkthrough
            .lines
            .iter()
            .flat_map(|line| {
                line.stretches
                    .iter()
                    .filter(|stretch| wanted(stretch.state))
                    .map(|stretch| RowView {
                        piece: name(line),
                        state: stretch.state.name(),
                        turns: stretch.turns,
                        began: capital(&stretch.began),
                        ended: capital(&stretch.ended),
                        beside: beside(walkthrough, line, stretch.first),
                    })
            })
            .collect()
    };
    LinesView {
        wide: draw(walkthrough, Width::Wide),
        narrow: draw(walkthrough, Width::Narrow),
        room: format!("{LEFT} {RIGHT}"),
        key: key(),
        restraints: rows(&State::is_restraint),
        archive: walkthrough
            .beside
            .iter()
            .map(|beside| FactView {
                name: plain(&beside.title),
                text: plain(&beside.verdict),
            })
            .collect(),
        others: rows(&|state| !state.is_restraint()),
    }
}

/// What became of pieces like a restrained one in an archive; empty where no claim fits.
fn beside(walkthrough: &Walkthrough, line: &Line, first: usize) -> String {
    walkthrough
        .beside
        .iter()
        .find(|beside| beside.restraints.contains(&(line.slot, first)))
        .map_or_else(String::new, |beside| {
            format!("{}; {}", beside.figure, beside.rung)
        })
}

/// `Black knight from b8`.
fn name(line: &Line) -> String {
    let from = if line.birth == 0 { "from" } else { "made on" };
    format!(
        "{} {} {from} {}",
        side(line.color),
        unit_name(line.kind),
        line.first
    )
}

fn draw(walkthrough: &Walkthrough, width: Width) -> String {
    let (wide, last) = (f64::from(width.units()), walkthrough.game.plies.len());
    let x = |position: usize| LEFT + (wide - LEFT - RIGHT) * position as f64 / (last.max(1) as f64);
    let mut svg = String::new();
    let mut top = 0.0;
    for color in [Color::White, Color::Black] {
        top += 18.0;
        text(&mut svg, side(color), 2.0, top, "start", INK.light);
        top += 6.0;
        for line in walkthrough.lines.iter().filter(|line| line.color == color) {
            let y = top + ROW / 2.0;
            let label = format!("{} {}", unit_name(line.kind), line.first);
            text(&mut svg, &label, LEFT - 8.0, y + 4.0, "end", MUTED.light);
            for (nth, stretch) in line.stretches.iter().enumerate() {
                let end = line
                    .stretches
                    .get(nth + 1)
                    .map_or((line.until + 1).min(last), |next| next.first);
                bar(&mut svg, stretch.state, x(stretch.first), x(end), y);
            }
            end(
                &mut svg,
                walkthrough,
                line,
                x((line.until + 1).min(last)),
                y,
            );
            top += ROW;
        }
    }
    let bottom = top + 4.0;
    let right = x(last.max(1));
    let _ = writeln!(
        svg,
        r#"<path d="M{LEFT} {bottom}H{right:.1}" stroke="{}" stroke-width="1"/>"#,
        AXIS.light
    );
    for (at, number) in ticks(walkthrough, right - LEFT) {
        let (at, y) = (x(at), bottom + 18.0);
        let _ = writeln!(
            svg,
            r#"<path d="M{at:.1} {bottom}v5" stroke="{}" stroke-width="1"/>"#,
            AXIS.light
        );
        text(&mut svg, &number.to_string(), at, y, "middle", MUTED.light);
    }
    text(
        &mut svg,
        "move",
        right + 16.0,
        bottom + 18.0,
        "start",
        MUTED.light,
    );
    let id = match width {
        Width::Wide => "pieces-wide",
        Width::Narrow => "pieces-narrow",
    };
    let words = words(walkthrough);
    wrap(
        Words {
            id,
            title: "A line for each piece through the game",
            description: &words,
        },
        &format!("{} strip", width.class()),
        width.units(),
        (bottom + 24.0).ceil() as u32,
        &svg,
    )
}

/// A stretch as a bar from `x` to `end` around the height `y`.
fn bar(svg: &mut String, state: State, x: f64, end: f64, y: f64) {
    let width = (end - x).max(1.0);
    let rect = |height: f64, rest: &str| {
        format!(
            r#"<rect x="{x:.1}" y="{:.1}" width="{width:.1}" height="{height}" {rest}/>"#,
            y - height / 2.0
        )
    };
    let drawn = match state {
        State::AtHome => format!(
            r#"<path d="M{x:.1} {y:.1}H{end:.1}" stroke="{}" stroke-width="2" stroke-dasharray="2 3"/>"#,
            AXIS.light
        ),
        State::Free => format!(
            r#"<path d="M{x:.1} {y:.1}H{end:.1}" stroke="{}" stroke-width="3"/>"#,
            FREE.light
        ),
        State::Held => rect(
            8.0,
            &format!(
                r#"fill="{}" stroke="{}" stroke-width="1.5""#,
                PAPER.light, HELD.light
            ),
        ),
        State::Restrained => rect(11.0, &format!(r#"fill="{}""#, HELD.light)),
        State::ShutOut => format!(
            "{}{}",
            rect(16.0, &format!(r#"fill="{}""#, HELD.light)),
            rect(4.0, &format!(r#"fill="{}""#, PAPER.light))
        ),
    };
    svg.push_str(&drawn);
}

/// What became of the piece, at the end of its line.
fn end(svg: &mut String, walkthrough: &Walkthrough, line: &Line, x: f64, y: f64) {
    let Some(ply) = line.fate_ply else {
        return;
    };
    let ink = INK.light;
    let sign = match line.fate {
        Fate::Lost => format!(
            r#"<path d="M{:.1} {:.1}l10 10m0 -10l-10 10" stroke="{ink}" stroke-width="2.5"/>"#,
            x - 5.0,
            y - 5.0
        ),
        Fate::Sold => format!(
            r#"<path d="M{:.1} {:.1}l5.5 -10l5.5 10Z" fill="{}" stroke="{ink}" stroke-width="1.5"/>"#,
            x - 5.5,
            y + 5.0,
            PAPER.light
        ),
        _ => format!(
            r#"<path d="M{:.1} {:.1}h10m-10 5h10" stroke="{ink}" stroke-width="2"/>"#,
            x - 5.0,
            y - 2.5
        ),
    };
    svg.push_str(&sign);
    let number = walkthrough.game.positions[ply - 1].chess.fullmoves();
    let word = format!("{} {number}", line.fate.name());
    text(svg, &word, x + 9.0, y + 4.0, "start", MUTED.light);
}

fn text(svg: &mut String, text: &str, x: f64, y: f64, anchor: &str, color: &str) {
    let _ = writeln!(
        svg,
        r#"<text x="{x:.1}" y="{y:.1}" font-size="{LETTERS}" text-anchor="{anchor}" fill="{color}">{text}</text>"#
    );
}

/// All lines in words.
fn words(walkthrough: &Walkthrough) -> String {
    let said: Vec<String> = walkthrough
        .lines
        .iter()
        .map(|line| {
            let stretches: Vec<String> = line
                .stretches
                .iter()
                .map(|stretch| format!("{} for {}", stretch.state.name(), turns(stretch.turns)))
                .collect();
            let stretches = if stretches.is_empty() {
                "no turn".to_owned()
            } else {
                stretches.join(", ")
            };
            format!("{}: {stretches}; {}.", name(line), line.fate.name())
        })
        .collect();
    said.join(" ")
}

/// The key of the states and ends.
fn key() -> Vec<Sign> {
    let sign = |body: &str| {
        format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"sign line-sign\" aria-hidden=\"true\" \
             viewBox=\"0 0 40 20\">{body}</svg>"
        )
    };
    let mut key: Vec<Sign> = State::ALL
        .into_iter()
        .map(|state| {
            let mut body = String::new();
            bar(&mut body, state, 3.0, 37.0, 10.0);
            Sign {
                sign: sign(&body),
                text: state.name(),
            }
        })
        .collect();
    let ink = INK.light;
    for (body, text) in [
        (
            format!(r#"<path d="M15 5l10 10m0 -10l-10 10" stroke="{ink}" stroke-width="2.5"/>"#),
            "lost",
        ),
        (
            format!(r#"<path d="M15 7.5h10m-10 5h10" stroke="{ink}" stroke-width="2"/>"#),
            "traded",
        ),
        (
            format!(
                r#"<path d="M14 15l5.5 -10l5.5 10Z" fill="{}" stroke="{ink}" stroke-width="1.5"/>"#,
                PAPER.light
            ),
            "sold",
        ),
    ] {
        key.push(Sign {
            sign: sign(&body),
            text,
        });
    }
    key
}
