//! Scope of both sides ply by ply, what each move took and gave, and evaluations and clocks
//! where the game has them.

use std::fmt::Write as _;

use hobble_game::comment::Eval;
use hobble_walkthrough::Walkthrough;
use serde::Serialize;

use super::ticks::ticks;
use crate::palette::{AXIS, FREE, HELD, INK, MUTED, PAPER, RULE};
use crate::plot::Width;
use crate::svg::{Words, wrap};

/// Room on the left for the labels of the axis.
const LEFT: f64 = 40.0;
/// Room on the right for the names of the lines.
const RIGHT: f64 = 78.0;
/// Size of letters.
const LETTERS: u32 = 12;

/// The plot in both widths.
#[derive(Serialize)]
pub(super) struct PlotView {
    pub wide: String,
    pub narrow: String,
    pub caption: String,
    /// Room on the left and on the right of the positions, in units of the plot.
    pub room: String,
}

/// The plot of a walkthrough.
pub(super) fn plot(walkthrough: &Walkthrough) -> PlotView {
    let evals = walkthrough.game.plies.iter().any(|ply| ply.eval.is_some());
    let clocks = walkthrough.game.plies.iter().any(|ply| ply.clock.is_some());
    let mut caption = "Above: the scope of White (solid) and of Black (dashed), the safe squares \
                       of all units together; numbers are those of the moves that mattered. \
                       Beneath: squares each move took from the other side (full bar, up) and \
                       gave it (open bar, down)."
        .to_owned();
    if evals {
        caption.push_str(
            " Then the evaluations that stand in the game, in pawns, positive for White, cut at 5.",
        );
    }
    if clocks {
        caption.push_str(" Then the time left to White (solid) and to Black (dashed), in minutes.");
    }
    PlotView {
        wide: draw(walkthrough, Width::Wide, evals, clocks),
        narrow: draw(walkthrough, Width::Narrow, evals, clocks),
        caption,
        room: format!("{LEFT} {RIGHT}"),
    }
}

/// A panel: its top, its height, and the values at its top and bottom.
#[derive(Clone, Copy)]
struct Panel {
    top: f64,
    height: f64,
    high: f64,
    low: f64,
}

impl Panel {
    fn y(self, value: f64) -> f64 {
        let share = (self.high - value) / (self.high - self.low).max(1e-9);
        self.top + share.clamp(0.0, 1.0) * self.height
    }
}

/// The plot under way.
struct Sheet<'a> {
    walkthrough: &'a Walkthrough,
    width: f64,
    svg: String,
}

fn draw(walkthrough: &Walkthrough, width: Width, evals: bool, clocks: bool) -> String {
    let mut sheet = Sheet {
        walkthrough,
        width: f64::from(width.units()),
        svg: String::new(),
    };
    let mut top = sheet.tags();
    top = sheet.scope(top) + 22.0;
    top = sheet.changes(top);
    if evals {
        top = sheet.evals(top + 22.0);
    }
    if clocks {
        top = sheet.clocks(top + 22.0);
    }
    let height = sheet.axis(top);
    let id = match width {
        Width::Wide => "scope-wide",
        Width::Narrow => "scope-narrow",
    };
    let words = words(walkthrough);
    wrap(
        Words {
            id,
            title: "Scope of White and Black through the game",
            description: &words,
        },
        &format!("{} strip", width.class()),
        width.units(),
        height.ceil() as u32,
        &sheet.svg,
    )
}

/// What the plot shows, in words.
fn words(walkthrough: &Walkthrough) -> String {
    let positions = &walkthrough.game.positions;
    let said: Vec<String> = (0..positions.len())
        .step_by(10)
        .map(|at| {
            let [white, black] = positions[at].scope;
            format!("after {at} plies White {white}, Black {black}")
        })
        .collect();
    format!(
        "Safe squares of all units together: {}. The table of moves has every ply.",
        said.join("; ")
    )
}

impl Sheet<'_> {
    fn plies(&self) -> usize {
        self.walkthrough.game.plies.len()
    }

    /// Where a position stands from left to right.
    fn x(&self, position: f64) -> f64 {
        let room = self.width - LEFT - RIGHT;
        LEFT + room * position / (self.plies().max(1) as f64)
    }

    /// Numbers of the moves that mattered, in as many rows as they need; returns the bottom.
    fn tags(&mut self) -> f64 {
        let mut rows: Vec<f64> = Vec::new();
        for (number, moment) in (1..).zip(&self.walkthrough.moments) {
            let x = self.x(moment.ply as f64);
            let row = rows
                .iter()
                .position(|&end| x - end >= 18.0)
                .unwrap_or(rows.len());
            if row == rows.len() {
                rows.push(x);
            }
            rows[row] = x;
            let y = 14.0 + 16.0 * row as f64;
            self.text(&number.to_string(), x, y, "middle", INK.light);
        }
        let bottom = 8.0 + 16.0 * rows.len() as f64;
        for moment in &self.walkthrough.moments {
            let x = self.x(moment.ply as f64);
            self.line(
                &[(x, bottom + 2.0), (x, bottom + 150.0)],
                RULE.light,
                1.0,
                "",
            );
        }
        bottom
    }

    /// The lines of scope; returns the bottom.
    fn scope(&mut self, top: f64) -> f64 {
        let positions = &self.walkthrough.game.positions;
        let most = positions.iter().flat_map(|at| at.scope).max().unwrap_or(0);
        let high = (f64::from(most) / 20.0).ceil().max(1.0) * 20.0;
        let panel = Panel {
            top: top + 8.0,
            height: 150.0,
            high,
            low: 0.0,
        };
        for tick in 0..=2 {
            let value = high * f64::from(tick) / 2.0;
            self.grid(panel, value, &format!("{value:.0}"));
        }
        let sides: [Vec<(f64, f64)>; 2] = [0, 1].map(|side| {
            (0..)
                .zip(positions)
                .map(|(at, position): (u32, _)| {
                    (
                        self.x(f64::from(at)),
                        panel.y(f64::from(position.scope[side])),
                    )
                })
                .collect()
        });
        self.line(&sides[0], FREE.light, 2.0, "");
        self.line(&sides[1], HELD.light, 2.0, "5 3");
        let ends = [0, 1].map(|side| sides[side].last().map_or(panel.top, |&(_, y)| y));
        self.names(ends);
        panel.top + panel.height
    }

    /// The names of the two lines at their ends, kept apart.
    fn names(&mut self, ends: [f64; 2]) {
        let [mut white, mut black] = ends;
        if (white - black).abs() < 15.0 {
            let middle = f64::midpoint(white, black);
            let white_first = white <= black;
            let (up, down) = (middle - 8.0, middle + 8.0);
            (white, black) = if white_first { (up, down) } else { (down, up) };
        }
        let x = self.x(self.plies().max(1) as f64) + 6.0;
        self.text("White", x, white + 4.0, "start", FREE.light);
        self.text("Black", x, black + 4.0, "start", HELD.light);
    }

    /// Bars of squares taken and given; returns the bottom.
    fn changes(&mut self, top: f64) -> f64 {
        let plies = &self.walkthrough.game.plies;
        let most = plies
            .iter()
            .map(|ply| ply.facts.taken.max(ply.facts.given))
            .max()
            .unwrap_or(0)
            .max(4);
        let high = (f64::from(most) / 2.0).ceil() * 2.0;
        let panel = Panel {
            top,
            height: 90.0,
            high,
            low: -high,
        };
        self.grid(panel, high, &format!("{high:.0}"));
        self.grid(panel, 0.0, "0");
        self.grid(panel, -high, &format!("{high:.0}"));
        let thick = (self.x(1.0) - self.x(0.0)).min(9.0) * 0.7;
        let (zero, mut bars) = (panel.y(0.0), String::new());
        for (at, ply) in (1_u32..).zip(plies) {
            let x = self.x(f64::from(at)) - thick / 2.0;
            let role = ply.side.fold_wb(FREE, HELD).light;
            let (up, down) = (
                zero - panel.y(f64::from(ply.facts.taken)),
                panel.y(-f64::from(ply.facts.given)) - zero,
            );
            if ply.facts.taken > 0 {
                let y = zero - up;
                let _ = write!(
                    bars,
                    r#"<rect x="{x:.1}" y="{y:.1}" width="{thick:.1}" height="{up:.1}" fill="{role}"/>"#
                );
            }
            if ply.facts.given > 0 {
                let _ = write!(
                    bars,
                    r#"<rect x="{x:.1}" y="{zero:.1}" width="{thick:.1}" height="{down:.1}" fill="{}" stroke="{role}" stroke-width="1"/>"#,
                    PAPER.light
                );
            }
        }
        self.svg.push_str(&bars);
        let x = self.x(self.plies().max(1) as f64) + 6.0;
        self.text("took", x, panel.y(high / 2.0) + 4.0, "start", MUTED.light);
        self.text("gave", x, panel.y(-high / 2.0) + 4.0, "start", MUTED.light);
        panel.top + panel.height
    }

    /// The line of evaluations; returns the bottom.
    fn evals(&mut self, top: f64) -> f64 {
        let panel = Panel {
            top,
            height: 60.0,
            high: 5.0,
            low: -5.0,
        };
        for (value, label) in [(5.0, "+5"), (0.0, "0"), (-5.0, "\u{2212}5")] {
            self.grid(panel, value, label);
        }
        let mut points = Vec::new();
        for (at, ply) in (1_u32..).zip(&self.walkthrough.game.plies) {
            let value = match ply.eval {
                Some(Eval::Pawns(pawns)) => f64::from(pawns),
                // Mate in 0 is given by the side that has just moved.
                Some(Eval::Mate(0)) => ply.side.fold_wb(5.0, -5.0),
                Some(Eval::Mate(mate)) => 5.0 * f64::from(mate.signum()),
                None => continue,
            };
            points.push((self.x(f64::from(at)), panel.y(value)));
        }
        self.line(&points, INK.light, 1.5, "");
        self.side_label("evaluation", panel);
        panel.top + panel.height
    }

    /// The lines of time left; returns the bottom.
    fn clocks(&mut self, top: f64) -> f64 {
        let plies = &self.walkthrough.game.plies;
        let most = plies
            .iter()
            .filter_map(|ply| ply.clock)
            .fold(60.0, f32::max);
        let high = f64::from((most / 60.0).ceil());
        let panel = Panel {
            top,
            height: 60.0,
            high,
            low: 0.0,
        };
        self.grid(panel, high, &format!("{high:.0}"));
        self.grid(panel, 0.0, "0");
        for (white, role, dashes) in [(true, FREE, ""), (false, HELD, "5 3")] {
            let points: Vec<(f64, f64)> = (1_u32..)
                .zip(plies)
                .filter(|(_, ply)| ply.side.is_white() == white)
                .filter_map(|(at, ply)| {
                    let minutes = f64::from(ply.clock?) / 60.0;
                    Some((self.x(f64::from(at)), panel.y(minutes)))
                })
                .collect();
            self.line(&points, role.light, 1.5, dashes);
        }
        self.side_label("time left", panel);
        panel.top + panel.height
    }

    fn side_label(&mut self, text: &str, panel: Panel) {
        let x = self.x(self.plies().max(1) as f64) + 6.0;
        let y = panel.top + panel.height / 2.0 + 4.0;
        self.text(text, x, y, "start", MUTED.light);
    }

    /// The numbers of the moves beneath; returns the height of the picture.
    fn axis(&mut self, bottom: f64) -> f64 {
        let room = self.x(self.plies().max(1) as f64) - LEFT;
        let y = bottom + 20.0;
        let ticks: Vec<(f64, u32)> = ticks(self.walkthrough, room)
            .into_iter()
            .map(|(at, number)| (self.x(at as f64), number))
            .collect();
        for (x, number) in ticks {
            self.line(&[(x, bottom + 3.0), (x, bottom + 7.0)], AXIS.light, 1.0, "");
            self.text(&number.to_string(), x, y, "middle", MUTED.light);
        }
        let x = self.x(self.plies().max(1) as f64) + 16.0;
        self.text("move", x, y, "start", MUTED.light);
        y + 8.0
    }

    /// A rule across at a value, with its label.
    fn grid(&mut self, panel: Panel, value: f64, label: &str) {
        let y = panel.y(value);
        let right = self.x(self.plies().max(1) as f64);
        self.line(&[(LEFT, y), (right, y)], RULE.light, 1.0, "");
        self.text(label, LEFT - 6.0, y + 4.0, "end", MUTED.light);
    }

    fn line(&mut self, points: &[(f64, f64)], color: &str, thick: f64, dashes: &str) {
        let mut path = String::new();
        for (nth, (x, y)) in points.iter().enumerate() {
            let step = if nth == 0 { 'M' } else { 'L' };
            let _ = write!(path, "{step}{x:.1} {y:.1}");
        }
        let dashes = if dashes.is_empty() {
            String::new()
        } else {
            format!(r#" stroke-dasharray="{dashes}""#)
        };
        let _ = writeln!(
            self.svg,
            r#"<path d="{path}" fill="none" stroke="{color}" stroke-width="{thick}"{dashes}/>"#
        );
    }

    fn text(&mut self, text: &str, x: f64, y: f64, anchor: &str, color: &str) {
        let _ = writeln!(
            self.svg,
            r#"<text x="{x:.1}" y="{y:.1}" font-size="{LETTERS}" text-anchor="{anchor}" fill="{color}">{text}</text>"#
        );
    }
}
