//! Cumulative incidence: what share has met each end by so many moves, as steps, with a
//! band for the interval.

use anyhow::Result;
use hobble_report::plot::{Curve, Incidence, Step};
use plotters::coord::ranged1d::Ranged as _;
use plotters::coord::types::RangedCoordf64;
use plotters::style::text_anchor::HPos;

use super::canvas::{AXIS_LINE, Canvas, GRID, Ink, Stroke, Type};
use super::{Draw, Width, cut, share_labels};
use crate::palette::{INK, MUTED, Role, SERIES};
use crate::svg::Words;

/// Dashes of the curves, in the order of the series.
const STROKES: [Stroke; 4] = [
    Stroke::Solid,
    Stroke::Dashed(9, 5),
    Stroke::Dashed(3, 4),
    Stroke::Dashed(16, 4),
];

/// Where the picture lies, in pixels, and its scales.
struct Frame {
    narrow: bool,
    left: f64,
    right: f64,
    top: f64,
    bottom: f64,
    /// Moves at the right edge.
    moves: f64,
    /// Share at the top.
    highest: f64,
}

impl Frame {
    fn of(plot: &Incidence, width: Width) -> Frame {
        let narrow = width == Width::Narrow;
        // On a phone the names stand above the curves, else at their right ends.
        let names = if narrow {
            22.0 * plot.curves.len() as f64
        } else {
            0.0
        };
        let top = 34.0 + names;
        let highest = plot
            .curves
            .iter()
            .flat_map(|curve| &curve.steps)
            .map(|step| step.interval.map_or(step.share, |(_, high)| high))
            .filter(|share| share.is_finite())
            .fold(0.0, f64::max)
            .min(1.0);
        Frame {
            narrow,
            left: 46.0,
            right: f64::from(width.units()) - if narrow { 12.0 } else { 190.0 },
            top,
            bottom: top + if narrow { 240.0 } else { 300.0 },
            moves: if plot.moves > 0.0 { plot.moves } else { 1.0 },
            highest: if highest > 0.0 { highest } else { 0.01 },
        }
    }

    fn x(&self, moves: f64) -> f64 {
        self.left + (moves / self.moves).clamp(0.0, 1.0) * (self.right - self.left)
    }

    fn y(&self, share: f64) -> f64 {
        self.bottom - (share / self.highest).clamp(0.0, 1.0) * (self.bottom - self.top)
    }

    /// The place of a step's corner.
    fn point(&self, (moves, share): (f64, f64)) -> (f64, f64) {
        (self.x(moves), self.y(share))
    }
}

impl Draw for Incidence {
    fn draw(&self, words: Words<'_>, width: Width) -> Result<String> {
        let frame = Frame::of(self, width);
        let height = (frame.bottom + 50.0).ceil() as u32;
        Canvas::picture(words, width, height, |canvas| {
            axes(canvas, &frame, &self.axis)?;
            for (s, curve) in self.curves.iter().enumerate() {
                let band = band(curve, &frame);
                if band.len() > 2 {
                    canvas.area(&band, SERIES[s % SERIES.len()], 0.18)?;
                }
            }
            for (s, curve) in self.curves.iter().enumerate() {
                let steps = steps(curve, frame.moves, |step| step.share);
                let line: Vec<_> = steps.into_iter().map(|step| frame.point(step)).collect();
                canvas.line(&line, ink(s))?;
            }
            names(canvas, &frame, &self.curves)
        })
    }
}

fn style(role: Role, anchor: HPos) -> Type {
    Type::new(13.5, role, anchor)
}

/// How the curve of this number is drawn.
fn ink(number: usize) -> Ink {
    let role = SERIES[number % SERIES.len()];
    Ink::new(role, 2.5, STROKES[number % STROKES.len()])
}

/// The grid, its labels, and what both axes show.
fn axes(canvas: &Canvas<'_>, frame: &Frame, axis: &str) -> Result<()> {
    canvas.text(axis, 0.0, 13.0, style(MUTED, HPos::Left))?;
    let ends = (frame.left, frame.right);
    let range: RangedCoordf64 = (0.0..frame.highest).into();
    let ticks = range.key_points(6);
    for (tick, text) in ticks.iter().zip(share_labels(&ticks)) {
        let y = frame.y(*tick);
        canvas.across(ends, y, GRID)?;
        canvas.text(&text, frame.left - 8.0, y, style(MUTED, HPos::Right))?;
    }
    let range: RangedCoordf64 = (0.0..frame.moves).into();
    for tick in range.key_points(if frame.narrow { 5 } else { 10 }) {
        let style = style(MUTED, HPos::Center);
        canvas.text(&tick.to_string(), frame.x(tick), frame.bottom + 14.0, style)?;
    }
    canvas.across(ends, frame.bottom, AXIS_LINE)?;
    let beneath = frame.bottom + 37.0;
    canvas.text(
        "moves since the start",
        frame.left,
        beneath,
        style(MUTED, HPos::Left),
    )
}

/// The names of the curves: above them on a phone, else beside their right ends.
fn names(canvas: &Canvas<'_>, frame: &Frame, curves: &[Curve]) -> Result<()> {
    let end = |curve: &Curve| {
        let mut steps = curve.steps.iter().rev();
        let last = steps.find(|step| step.moves <= frame.moves);
        frame.y(last.map_or(0.0, |step| step.share))
    };
    let ends: Vec<f64> = curves.iter().map(end).collect();
    for (s, (curve, place)) in curves.iter().zip(apart(&ends, 18.0)).enumerate() {
        let (from, level) = if frame.narrow {
            (frame.left, 36.0 + 22.0 * s as f64)
        } else {
            let from = frame.right + 8.0;
            let role = SERIES[s % SERIES.len()];
            let link = [(frame.right, ends[s]), (from, place)];
            canvas.line(&link, Ink::solid(role, 1.0))?;
            (from, place)
        };
        canvas.across((from, from + 34.0), level, ink(s))?;
        let name = cut(&curve.label, if frame.narrow { 34 } else { 18 });
        canvas.text(&name, from + 42.0, level, style(INK, HPos::Left))?;
    }
    Ok(())
}

/// Corners of a curve's stairs, from move 0 to the right edge.
fn steps(curve: &Curve, moves: f64, height: impl Fn(&Step) -> f64) -> Vec<(f64, f64)> {
    let mut corners = vec![(0.0, 0.0)];
    let mut level = 0.0;
    for step in curve.steps.iter().filter(|step| step.moves <= moves) {
        corners.push((step.moves, level));
        level = height(step);
        corners.push((step.moves, level));
    }
    corners.push((moves, level));
    corners
}

/// Outline of the band, forth along the upper bound and back along the lower.
fn band(curve: &Curve, frame: &Frame) -> Vec<(f64, f64)> {
    if curve.steps.iter().all(|step| step.interval.is_none()) {
        return Vec::new();
    }
    let bound = |pick: fn((f64, f64)) -> f64| {
        let height = |step: &Step| step.interval.map_or(step.share, pick);
        let steps = steps(curve, frame.moves, height);
        steps.into_iter().map(|step| frame.point(step))
    };
    let mut outline: Vec<_> = bound(|(_, high)| high).collect();
    let mut back: Vec<_> = bound(|(low, _)| low).collect();
    back.reverse();
    outline.append(&mut back);
    outline
}

/// Places for names as near to these levels as a distance of `least` between them allows,
/// moved upwards where they would meet.
fn apart(levels: &[f64], least: f64) -> Vec<f64> {
    let mut order: Vec<usize> = (0..levels.len()).collect();
    // From the bottom of the picture up.
    order.sort_by(|a, b| levels[*b].total_cmp(&levels[*a]));
    let mut places = levels.to_vec();
    let mut limit = f64::INFINITY;
    for i in order {
        places[i] = places[i].min(limit);
        limit = places[i] - least;
    }
    places
}

#[cfg(test)]
mod tests {
    use super::*;

    fn curve(label: &str, steps: &[(f64, f64)]) -> Curve {
        Curve {
            label: label.to_owned(),
            steps: steps
                .iter()
                .map(|&(moves, share)| Step {
                    moves,
                    share,
                    interval: Some((share * 0.8, share * 1.25)),
                })
                .collect(),
        }
    }

    #[test]
    fn stairs_rise_only_at_their_steps_and_reach_the_edge() {
        let curve = curve("lost", &[(1.0, 0.1), (2.5, 0.2), (30.0, 0.9)]);
        assert_eq!(
            steps(&curve, 20.0, |step| step.share),
            [
                (0.0, 0.0),
                (1.0, 0.0),
                (1.0, 0.1),
                (2.5, 0.1),
                (2.5, 0.2),
                (20.0, 0.2)
            ]
        );
    }

    #[test]
    fn a_band_goes_forth_and_back() {
        let curve = curve("lost", &[(1.0, 0.1)]);
        // A pixel a move and a pixel a share, so that places are figures; down is up.
        let frame = Frame {
            narrow: false,
            left: 0.0,
            right: 2.0,
            top: -1.0,
            bottom: 0.0,
            moves: 2.0,
            highest: 1.0,
        };
        let outline = band(&curve, &frame);
        assert_eq!(outline.first(), Some(&(0.0, 0.0)));
        assert_eq!(outline.get(3), Some(&(2.0, -0.125)));
        assert_eq!(outline.get(4), Some(&(2.0, -0.1 * 0.8)));
        assert_eq!(outline.last(), Some(&(0.0, 0.0)));
    }

    #[test]
    fn names_do_not_meet() {
        assert_eq!(apart(&[100.0, 95.0, 20.0], 18.0), [100.0, 82.0, 20.0]);
        assert_eq!(apart(&[95.0, 95.0], 18.0), [95.0, 77.0]);
    }

    #[test]
    fn curves_differ_in_dashes_and_the_picture_has_words() -> Result<()> {
        let curves = [
            curve("lost", &[(1.0, 0.1), (4.0, 0.2)]),
            curve("freed <by itself>", &[(2.0, 0.3)]),
        ];
        let plot = Incidence {
            curves: curves.to_vec(),
            moves: 20.0,
            axis: "Share".to_owned(),
        };
        for width in [Width::Narrow, Width::Wide] {
            let svg = plot.draw(
                Words {
                    id: "i",
                    title: "t",
                    description: "d",
                },
                width,
            )?;
            assert!(svg.contains("freed &lt;by"));
            assert_eq!(svg.matches("<polygon").count(), 2);
            assert!(svg.contains("aria-labelledby=\"i-title\""));
        }
        Ok(())
    }
}
