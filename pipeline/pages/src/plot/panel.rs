//! One panel of small multiples: its scale, and its marks from left to right or below one
//! another.

use anyhow::Result;
use hobble_report::plot::{Mark, Panel};
use plotters::coord::ranged1d::Ranged as _;
use plotters::coord::types::RangedCoordf64;
use plotters::style::text_anchor::HPos;

use super::canvas::{AXIS_LINE, Canvas, GRID, Ink, Stroke, Type};
use super::{cut, number_labels, share_labels};
use crate::palette::{INK, MUTED, PAPER, SERIES};

/// Where a panel lies, and its scale.
pub(super) struct Frame {
    pub(super) left: f64,
    right: f64,
    pub(super) top: f64,
    pub(super) bottom: f64,
    low: f64,
    high: f64,
    ticks: Vec<(f64, String)>,
}

impl Frame {
    fn share(&self, value: f64) -> f64 {
        ((value - self.low) / (self.high - self.low)).clamp(0.0, 1.0)
    }

    fn up(&self, value: f64) -> f64 {
        self.bottom - self.share(value) * (self.bottom - self.top)
    }

    fn across(&self, value: f64) -> f64 {
        self.left + self.share(value) * (self.right - self.left)
    }

    /// The panel's scale, from its figures and intervals; it need not start at 0.
    pub(super) fn of(panel: &Panel, ordered: bool, x: (f64, f64), y: (f64, f64)) -> Frame {
        let numbers: Vec<f64> = panel
            .marks
            .iter()
            .flatten()
            .flatten()
            .flat_map(|mark| {
                let (low, high) = mark.interval.unwrap_or((mark.value, mark.value));
                [mark.value, low, high]
            })
            .chain(panel.all)
            .filter(|number| number.is_finite())
            .collect();
        let low = numbers.iter().copied().fold(f64::INFINITY, f64::min);
        let high = numbers.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let (low, high) = if numbers.is_empty() {
            (0.0, 1.0)
        } else {
            let pad = ((high - low) * 0.06).max(high.abs() * 0.004).max(1e-9);
            ((low - pad).max(0.0), high + pad)
        };
        let range: RangedCoordf64 = (low..high).into();
        let ticks = range.key_points(if ordered { 5 } else { 4 });
        let labels = if panel.share {
            share_labels(&ticks)
        } else {
            number_labels(&ticks)
        };
        Frame {
            left: x.0,
            right: x.1,
            top: y.0,
            bottom: y.1,
            low,
            high,
            ticks: ticks.into_iter().zip(labels).collect(),
        }
    }
}

/// The figure of all levels together.
const WHOLE: Ink = Ink::new(INK, 1.0, Stroke::Dashed(2, 3));

/// Levels from left to right.
pub(super) fn draw_ordered(
    canvas: &Canvas<'_>,
    panel: &Panel,
    frame: &Frame,
    levels: &[String],
    series: usize,
) -> Result<()> {
    let ends = (frame.left, frame.right);
    for (value, text) in &frame.ticks {
        let y = frame.up(*value);
        canvas.across(ends, y, GRID)?;
        canvas.text(text, frame.left - 5.0, y, small(HPos::Right))?;
    }
    if let Some(all) = panel.all {
        canvas.across(ends, frame.up(all), WHOLE)?;
    }
    let step = (frame.right - frame.left) / levels.len().max(1) as f64;
    let x = |level: usize| frame.left + step * (level as f64 + 0.5);
    let every = (34.0 / step).ceil().max(1.0) as usize;
    for (level, name) in levels.iter().enumerate().step_by(every) {
        canvas.text(name, x(level), frame.bottom + 13.0, small(HPos::Center))?;
    }
    canvas.across(ends, frame.bottom, AXIS_LINE)?;
    for series in 0..series.max(1) {
        for run in runs(&panel.marks, series) {
            draw_run(canvas, (panel, frame), series, &run, &x)?;
        }
    }
    Ok(())
}

/// One unbroken stretch of levels: band, line, marks.
fn draw_run(
    canvas: &Canvas<'_>,
    (panel, frame): (&Panel, &Frame),
    series: usize,
    run: &[(usize, Mark)],
    x: &impl Fn(usize) -> f64,
) -> Result<()> {
    let role = SERIES[series % SERIES.len()];
    let bounds = |mark: &Mark| mark.interval.unwrap_or((mark.value, mark.value));
    let place = |(at, mark): &(usize, Mark), value: fn((f64, f64)) -> f64| {
        (x(*at), frame.up(value(bounds(mark))))
    };
    if run.len() > 1 {
        let upper = run.iter().map(|one| place(one, |(_, high)| high));
        let lower = run.iter().rev().map(|one| place(one, |(low, _)| low));
        canvas.area(&upper.chain(lower).collect::<Vec<_>>(), role, 0.2)?;
        let middle = run.iter().map(|(at, mark)| (x(*at), frame.up(mark.value)));
        let ink = Ink::new(role, 1.75, stroke(series));
        canvas.line(&middle.collect::<Vec<_>>(), ink)?;
    }
    // Series side by side, so that one does not hide the other.
    let shift = if panel.marks.iter().any(|marks| marks.len() > 1) {
        2.5 * (2.0 * series as f64 - 1.0)
    } else {
        0.0
    };
    for (at, found) in run {
        let (low, high) = bounds(found);
        let x = x(*at) + shift;
        let whisker = (frame.up(low), frame.up(high));
        canvas.down(x, whisker, Ink::solid(role, 1.5))?;
        mark(canvas, x, frame.up(found.value), series)?;
    }
    Ok(())
}

/// Levels below one another, their names from `left` on.
pub(super) fn draw_listed(
    canvas: &Canvas<'_>,
    panel: &Panel,
    frame: &Frame,
    levels: &[String],
    (left, row_height): (f64, f64),
) -> Result<()> {
    // Labels too close to one another would run together.
    let every = if frame.right - frame.left < 46.0 * frame.ticks.len() as f64 {
        2
    } else {
        1
    };
    let ends = (frame.top, frame.bottom);
    for (number, (value, text)) in frame.ticks.iter().enumerate() {
        let x = frame.across(*value);
        canvas.down(x, ends, GRID)?;
        if number % every == 0 {
            canvas.text(text, x, frame.bottom + 13.0, small(HPos::Center))?;
        }
    }
    canvas.across((frame.left, frame.right), frame.bottom, AXIS_LINE)?;
    if let Some(all) = panel.all {
        canvas.down(frame.across(all), ends, WHOLE)?;
    }
    let most = ((frame.left - left - 4.0) / 6.8) as usize;
    let name_style = Type::new(11.5, INK, HPos::Left);
    for (level, name) in levels.iter().enumerate() {
        let y = frame.top + row_height * (level as f64 + 0.5);
        canvas.text(&cut(name, most), left, y, name_style)?;
        let marks = panel.marks.get(level).map_or(&[][..], Vec::as_slice);
        if marks.iter().all(Option::is_none) {
            canvas.text("too few", frame.left + 4.0, y, small(HPos::Left))?;
        }
        for (series, found) in marks.iter().enumerate() {
            let Some(found) = found else { continue };
            let shift = if marks.len() > 1 {
                12.0 * series as f64 - 6.0
            } else {
                0.0
            };
            let (y, role) = (y + shift, SERIES[series % SERIES.len()]);
            if let Some((low, high)) = found.interval {
                let whisker = (frame.across(low), frame.across(high));
                canvas.across(whisker, y, Ink::solid(role, 2.0))?;
            }
            mark(canvas, frame.across(found.value), y, series)?;
        }
    }
    Ok(())
}

/// Labels of an axis.
fn small(anchor: HPos) -> Type {
    Type::new(11.0, MUTED, anchor)
}

pub(super) fn stroke(series: usize) -> Stroke {
    if series == 0 {
        Stroke::Solid
    } else {
        Stroke::Dashed(6, 4)
    }
}

pub(super) fn mark(canvas: &Canvas<'_>, x: f64, y: f64, series: usize) -> Result<()> {
    let role = SERIES[series % SERIES.len()];
    if series == 0 {
        canvas.disc(x, y, 3.5, role)
    } else {
        canvas.diamond(x, y, 4.0, role, PAPER)
    }
}

/// Stretches of neighbouring levels that have a figure.
fn runs(marks: &[Vec<Option<Mark>>], series: usize) -> Vec<Vec<(usize, Mark)>> {
    let mut runs: Vec<Vec<(usize, Mark)>> = Vec::new();
    for (level, marks) in marks.iter().enumerate() {
        let Some(mark) = marks.get(series).copied().flatten() else {
            continue;
        };
        match runs.last_mut() {
            Some(run) if run.last().is_some_and(|(last, _)| last + 1 == level) => {
                run.push((level, mark));
            }
            _ => runs.push(vec![(level, mark)]),
        }
    }
    runs
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;

    /// A level with one figure.
    pub(in super::super) fn one(value: f64) -> Vec<Option<Mark>> {
        vec![Some(Mark {
            value,
            interval: Some((value * 0.9, value * 1.1)),
        })]
    }

    /// A panel of shares.
    pub(in super::super) fn panel(marks: Vec<Vec<Option<Mark>>>) -> Panel {
        Panel {
            title: "Held".to_owned(),
            share: true,
            marks,
            all: Some(0.1),
        }
    }

    #[test]
    fn a_gap_breaks_the_band() {
        let marks = [one(0.1), one(0.2), vec![None], one(0.3)];
        let lengths: Vec<usize> = runs(&marks, 0).iter().map(Vec::len).collect();
        assert_eq!(lengths, [2, 1]);
        assert!(runs(&marks, 1).is_empty());
    }

    /// The higher figure stands higher up, and further to the right in a list.
    #[test]
    fn figures_have_their_places() {
        let frame = Frame::of(
            &panel(vec![one(0.1), one(0.2)]),
            true,
            (10.0, 110.0),
            (0.0, 100.0),
        );
        assert!(frame.up(0.2) < frame.up(0.1) && frame.across(0.2) > frame.across(0.1));
        assert!(frame.low < 0.09 && frame.high > 0.22);
    }
}
