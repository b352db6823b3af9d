//! Cumulative incidence: what share has met each end by so many moves, as steps, with a
//! band for the interval.

use anyhow::Result;
use plotters::coord::ranged1d::Ranged as _;
use plotters::coord::types::RangedCoordf64;
use plotters::style::text_anchor::HPos;

use super::canvas::{Canvas, Stroke, Type};
use super::{Width, cut, share_labels};
use crate::palette::{AXIS, INK, MUTED, RULE, SERIES};
use crate::svg::Words;

/// A step of a curve: from `moves` on, this share.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Step {
    /// Moves since the start.
    pub moves: f64,
    /// Share that has met the end by then.
    pub share: f64,
    /// Lower and upper bound of its interval.
    pub interval: Option<(f64, f64)>,
}

/// One curve; it starts from 0 at move 0.
#[derive(Debug, Clone, PartialEq)]
pub struct Curve {
    /// The end it is of.
    pub label: String,
    /// Its steps, by moves, rising.
    pub steps: Vec<Step>,
}

/// A plot of curves.
#[derive(Debug, Clone, Copy)]
pub struct Incidence<'a> {
    /// At most four curves, told apart by dashes as well as by colour.
    pub curves: &'a [Curve],
    /// Moves at the right edge.
    pub moves: f64,
    /// What the height shows.
    pub axis: &'a str,
}

/// Dashes of the curves, in the order of the series.
const STROKES: [Stroke; 4] = [
    Stroke::Solid,
    Stroke::Dashed(9, 5),
    Stroke::Dashed(3, 4),
    Stroke::Dashed(16, 4),
];

impl Incidence<'_> {
    /// The plot as one SVG element; the words go with it.
    ///
    /// # Errors
    ///
    /// Where plotters cannot draw it.
    pub fn draw(&self, words: Words<'_>, width: Width) -> Result<String> {
        let narrow = width == Width::Narrow;
        let across = f64::from(width.units());
        // On a phone the names stand above the curves, else at their right ends.
        let top = if narrow {
            34.0 + 22.0 * self.curves.len() as f64
        } else {
            34.0
        };
        let (left, right) = (46.0, across - if narrow { 12.0 } else { 190.0 });
        let bottom = top + if narrow { 240.0 } else { 300.0 };
        let highest = self
            .curves
            .iter()
            .flat_map(|curve| &curve.steps)
            .map(|step| step.interval.map_or(step.share, |(_, high)| high))
            .filter(|share| share.is_finite())
            .fold(0.0, f64::max)
            .min(1.0);
        let highest = if highest > 0.0 { highest } else { 0.01 };
        let moves = if self.moves > 0.0 { self.moves } else { 1.0 };
        let x = |at: f64| left + (at / moves).clamp(0.0, 1.0) * (right - left);
        let y = |share: f64| bottom - (share / highest).clamp(0.0, 1.0) * (bottom - top);
        let style = |anchor, role| Type {
            size: 13.5,
            role,
            bold: false,
            anchor,
        };

        let height = (bottom + 50.0).ceil() as u32;
        Canvas::picture(words, width, height, |canvas| {
            canvas.text(self.axis, 0.0, 13.0, style(HPos::Left, MUTED))?;
            let range: RangedCoordf64 = (0.0..highest).into();
            let ticks = range.key_points(6);
            for (tick, text) in ticks.iter().zip(share_labels(&ticks)) {
                canvas.line(
                    &[(left, y(*tick)), (right, y(*tick))],
                    RULE,
                    1.0,
                    Stroke::Solid,
                )?;
                canvas.text(&text, left - 8.0, y(*tick), style(HPos::Right, MUTED))?;
            }
            let range: RangedCoordf64 = (0.0..moves).into();
            for tick in range.key_points(if narrow { 5 } else { 10 }) {
                canvas.text(
                    &tick.to_string(),
                    x(tick),
                    bottom + 14.0,
                    style(HPos::Center, MUTED),
                )?;
            }
            canvas.line(&[(left, bottom), (right, bottom)], AXIS, 1.0, Stroke::Solid)?;
            canvas.text(
                "moves since the start",
                left,
                bottom + 37.0,
                style(HPos::Left, MUTED),
            )?;
            for (s, curve) in self.curves.iter().enumerate() {
                let band = band(curve, moves, &x, &y);
                if band.len() > 2 {
                    canvas.area(&band, SERIES[s % SERIES.len()], 0.18)?;
                }
            }
            for (s, curve) in self.curves.iter().enumerate() {
                let steps = steps(curve, moves, |step| step.share);
                let line: Vec<_> = steps
                    .iter()
                    .map(|(at, share)| (x(*at), y(*share)))
                    .collect();
                canvas.line(
                    &line,
                    SERIES[s % SERIES.len()],
                    2.5,
                    STROKES[s % STROKES.len()],
                )?;
            }
            let ends: Vec<f64> = self
                .curves
                .iter()
                .map(|curve| {
                    let last = curve.steps.iter().rev().find(|step| step.moves <= moves);
                    y(last.map_or(0.0, |step| step.share))
                })
                .collect();
            for (s, (curve, place)) in self.curves.iter().zip(apart(&ends, 18.0)).enumerate() {
                let role = SERIES[s % SERIES.len()];
                let (from, level) = if narrow {
                    (left, 36.0 + 22.0 * s as f64)
                } else {
                    (right + 8.0, place)
                };
                if !narrow {
                    canvas.line(&[(right, ends[s]), (from, level)], role, 1.0, Stroke::Solid)?;
                }
                canvas.line(
                    &[(from, level), (from + 34.0, level)],
                    role,
                    2.5,
                    STROKES[s % STROKES.len()],
                )?;
                let name = cut(&curve.label, if narrow { 34 } else { 18 });
                canvas.text(&name, from + 42.0, level, style(HPos::Left, INK))?;
            }
            Ok(())
        })
    }
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
fn band(
    curve: &Curve,
    moves: f64,
    x: &impl Fn(f64) -> f64,
    y: &impl Fn(f64) -> f64,
) -> Vec<(f64, f64)> {
    if curve.steps.iter().all(|step| step.interval.is_none()) {
        return Vec::new();
    }
    let bound = |pick: fn((f64, f64)) -> f64| {
        steps(curve, moves, |step| step.interval.map_or(step.share, pick))
            .into_iter()
            .map(|(at, share)| (x(at), y(share)))
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
        let outline = band(&curve, 2.0, &|x| x, &|y| y);
        assert_eq!(outline.first(), Some(&(0.0, 0.0)));
        assert_eq!(outline.get(3), Some(&(2.0, 0.125)));
        assert_eq!(outline.get(4), Some(&(2.0, 0.1 * 0.8)));
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
            curves: &curves,
            moves: 20.0,
            axis: "Share",
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
