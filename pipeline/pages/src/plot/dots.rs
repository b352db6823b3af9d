//! Dots with whiskers: one row a group, one dot a series, its interval as a line.

use anyhow::Result;
use hobble_report::plot::{Dot, Dots, Scale};
use plotters::coord::ranged1d::Ranged as _;
use plotters::coord::types::RangedCoordf64;
use plotters::style::text_anchor::HPos;

use super::canvas::{AXIS_LINE, Canvas, GRID, Ink, Type};
use super::{Draw, Width, cut, number_labels, share_labels};
use crate::palette::{INK, MUTED, PAPER, Role, SERIES};
use crate::svg::Words;

/// Ratios are shown between 1/64 and 64; a whisker that goes on loses its end mark.
const FURTHEST: f64 = 64.0;

/// The axis from edge to edge.
struct Axis {
    low: f64,
    high: f64,
    ticks: Vec<(f64, String)>,
    log: bool,
    left: f64,
    right: f64,
}

impl Axis {
    fn at(&self, value: f64) -> f64 {
        let (low, high, value) = if self.log {
            (self.low.ln(), self.high.ln(), value.ln())
        } else {
            (self.low, self.high, value)
        };
        let share = ((value - low) / (high - low)).clamp(0.0, 1.0);
        self.left + share * (self.right - self.left)
    }

    fn shows(&self, value: f64) -> bool {
        (self.low..=self.high).contains(&value)
    }
}

impl Draw for Dots {
    fn draw(&self, words: Words<'_>, width: Width) -> Result<String> {
        let narrow = width == Width::Narrow;
        let across = f64::from(width.units());
        let keys = if self.series.len() > 1 {
            if narrow { self.series.len() } else { 1 }
        } else {
            1
        };
        let top = keys as f64 * 24.0 + 8.0;
        let series = self.series.len().max(1) as f64;
        let title = if narrow { 24.0 } else { 0.0 };
        let row_height = title + series * 21.0 + 10.0;
        let bottom = top + row_height * self.rows.len() as f64;
        let height = (bottom + 50.0).ceil() as u32;
        let axis = axis(self, left(self, width), across - 58.0, narrow);

        Canvas::picture(words, width, height, |canvas| {
            let label = |anchor, bold, role| Type::new(13.5, role, anchor).bold(bold);
            key(self, canvas, &axis, narrow)?;
            for (value, text) in &axis.ticks {
                let x = axis.at(*value);
                canvas.down(x, (top, bottom), GRID)?;
                canvas.text(text, x, bottom + 13.0, label(HPos::Center, false, MUTED))?;
            }
            canvas.across((axis.left, axis.right), bottom, AXIS_LINE)?;
            if self.scale == Scale::Ratio {
                let one = axis.at(1.0);
                canvas.down(one, (top - 4.0, bottom), Ink::solid(INK, 1.5))?;
            }
            canvas.text(
                &self.axis,
                axis.left,
                bottom + 36.0,
                label(HPos::Left, false, MUTED),
            )?;
            for (i, row) in self.rows.iter().enumerate() {
                let y = top + row_height * i as f64;
                if row.all && i > 0 {
                    canvas.across((0.0, across), y, AXIS_LINE)?;
                }
                if narrow {
                    let name = cut(&row.label, 36);
                    canvas.text(&name, 0.0, y + 16.0, label(HPos::Left, true, INK))?;
                } else {
                    let middle = y + row_height / 2.0;
                    let name = cut(&row.label, 36);
                    canvas.text(&name, 0.0, middle, label(HPos::Left, row.all, INK))?;
                }
                for (s, dot) in row.dots.iter().enumerate() {
                    let y = y + 5.0 + title + 21.0 * s as f64 + 10.5;
                    match dot {
                        Some(dot) => draw_dot(canvas, &axis, dot, s, y)?,
                        None => canvas.text(
                            &row.missing,
                            axis.left + 8.0,
                            y,
                            label(HPos::Left, false, MUTED),
                        )?,
                    }
                }
            }
            Ok(())
        })
    }
}

/// Where the axis begins: on a wide page, right of the longest name.
fn left(plot: &Dots, width: Width) -> f64 {
    let longest = plot.rows.iter().map(|row| row.label.chars().count());
    match width {
        Width::Narrow => 22.0,
        // A guess at the width of a letter; a name too long all the same is cut.
        Width::Wide => (7.6 * longest.max().unwrap_or(0) as f64 + 16.0).clamp(120.0, 290.0),
    }
}

/// A figure with its interval, and the figure as text.
fn draw_dot(canvas: &Canvas<'_>, axis: &Axis, dot: &Dot, series: usize, y: f64) -> Result<()> {
    let role = SERIES[series % SERIES.len()];
    let ink = Ink::solid(role, 2.0);
    let mut end = axis.at(dot.value);
    if let Some((low, high)) = dot.interval {
        let (from, to) = (axis.at(low), axis.at(high));
        end = end.max(to);
        canvas.across((from, to), y, ink)?;
        for (bound, x) in [(low, from), (high, to)] {
            if axis.shows(bound) {
                canvas.down(x, (y - 4.5, y + 4.5), ink)?;
            }
        }
    }
    if axis.shows(dot.value) {
        mark(canvas, axis.at(dot.value), y, series, role)?;
    }
    canvas.text(
        &dot.text,
        end + 10.0,
        y,
        Type::new(13.0, INK, HPos::Left).bold(series == 0),
    )
}

/// What the marks mean; for ratios, what lies on either side of 1.
fn key(plot: &Dots, canvas: &Canvas<'_>, axis: &Axis, narrow: bool) -> Result<()> {
    let style = |anchor, role| Type::new(13.5, role, anchor);
    if plot.series.len() > 1 {
        // Where long names push the axis to the right, the key starts at the left edge.
        let from = if axis.left > 170.0 { 0.0 } else { axis.left };
        let (mut x, mut y) = (from, 13.0);
        for (s, name) in plot.series.iter().enumerate() {
            let role = SERIES[s % SERIES.len()];
            canvas.across((x, x + 26.0), y, Ink::solid(role, 2.0))?;
            mark(canvas, x + 13.0, y, s, role)?;
            canvas.text(name, x + 34.0, y, style(HPos::Left, INK))?;
            if narrow {
                y += 24.0;
            } else {
                // Room by a guess at the width of a letter; it need not be exact.
                x += 34.0 + 7.6 * name.chars().count() as f64 + 20.0;
            }
        }
    } else if plot.scale == Scale::Ratio {
        let one = axis.at(1.0);
        if one - axis.left > 80.0 {
            canvas.text("less often", one - 10.0, 13.0, style(HPos::Right, MUTED))?;
        }
        if axis.right - one > 80.0 {
            canvas.text("more often", one + 10.0, 13.0, style(HPos::Left, MUTED))?;
        }
    }
    Ok(())
}

fn axis(plot: &Dots, left: f64, right: f64, narrow: bool) -> Axis {
    let numbers = || {
        plot.rows
            .iter()
            .flat_map(|row| row.dots.iter().flatten())
            .flat_map(|dot| {
                let (low, high) = dot.interval.unwrap_or((dot.value, dot.value));
                [dot.value, low, high]
            })
            .filter(|number| number.is_finite())
    };
    match plot.scale {
        Scale::Share | Scale::Number => {
            let share = plot.scale == Scale::Share;
            let most = if share { 1.0 } else { f64::INFINITY };
            let high = numbers().fold(0.0, f64::max).min(most);
            let high = if high > 0.0 { high } else { 0.01 };
            let range: RangedCoordf64 = (0.0..high).into();
            let ticks = range.key_points(if narrow { 5 } else { 8 });
            let labels = if share {
                share_labels(&ticks)
            } else {
                number_labels(&ticks)
            };
            Axis {
                low: 0.0,
                high,
                ticks: ticks.into_iter().zip(labels).collect(),
                log: false,
                left,
                right,
            }
        }
        Scale::Ratio => {
            let number = || numbers().filter(|number| *number > 0.0);
            let low = number().fold(0.8, f64::min) / 1.08;
            let high = number().fold(1.25, f64::max) * 1.08;
            let (low, high) = (low.max(1.0 / FURTHEST), high.min(FURTHEST));
            let coarse = [0.02, 0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0];
            let fine = [0.25, 0.5, 0.75, 1.0, 1.5, 2.0, 3.0, 4.0, 6.0];
            let finer = [0.8, 0.9, 1.0, 1.1, 1.2, 1.4, 1.6];
            let ticks: &[f64] = match high / low {
                span if span > 16.0 => &coarse,
                span if span > 2.5 => &fine,
                _ => &finer,
            };
            Axis {
                low,
                high,
                ticks: ticks
                    .iter()
                    .filter(|tick| (low..=high).contains(*tick))
                    .map(|tick| (*tick, tick.to_string()))
                    .collect(),
                log: true,
                left,
                right,
            }
        }
    }
}

fn mark(canvas: &Canvas<'_>, x: f64, y: f64, series: usize, role: Role) -> Result<()> {
    if series == 0 {
        canvas.disc(x, y, 5.5, role)
    } else {
        canvas.diamond(x, y, 6.0, role, PAPER)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use hobble_report::plot::Row;

    const WORDS: Words<'static> = Words {
        id: "p",
        title: "Share <lost>",
        description: "knight 4.1%",
    };

    fn row(label: &str, dots: Vec<Option<Dot>>) -> Row {
        Row {
            label: label.to_owned(),
            all: false,
            dots,
            missing: "too few".to_owned(),
        }
    }

    fn dot(value: f64, low: f64, high: f64) -> Option<Dot> {
        Some(Dot {
            value,
            interval: Some((low, high)),
            text: format!("{:.1}%", value * 100.0),
        })
    }

    #[test]
    fn dots_stand_where_their_figures_are() -> Result<()> {
        let rows = [row("knight", vec![dot(0.05, 0.0, 0.1), None])];
        let series = ["held".to_owned(), "free".to_owned()];
        let plot = Dots {
            series: series.to_vec(),
            rows: rows.to_vec(),
            scale: Scale::Share,
            axis: "share".to_owned(),
        };
        let svg = plot.draw(WORDS, Width::Narrow)?;
        // Axis from 22 to 282 pixels, in quarters: the middle is 608.
        assert!(svg.contains(r#"<circle cx="608" cy="#), "{svg}");
        assert!(svg.contains(">\ntoo few\n<"));
        assert!(svg.contains("Share &lt;lost&gt;"));
        Ok(())
    }

    #[test]
    fn a_ratio_of_one_stands_on_the_line() -> Result<()> {
        let rows = [
            row("a", vec![dot(1.0, 0.5, 2.0)]),
            row("b", vec![dot(4.0, 0.25, 200.0)]),
        ];
        let series = ["ratio".to_owned()];
        let plot = Dots {
            series: series.to_vec(),
            rows: rows.to_vec(),
            scale: Scale::Ratio,
            axis: "ratio".to_owned(),
        };
        let whole = axis(&plot, 0.0, 100.0, true);
        assert!((whole.high - FURTHEST).abs() < 1e-12);
        assert!(!whole.shows(200.0));
        let svg = plot.draw(WORDS, Width::Wide)?;
        let one = axis(&plot, left(&plot, Width::Wide), 662.0, false).at(1.0) * 4.0;
        assert!(svg.contains(&format!("<circle cx=\"{one:.0}\"")), "{svg}");
        Ok(())
    }

    #[test]
    fn a_plot_without_any_figure_is_still_a_plot() -> Result<()> {
        let rows = [row("knight", vec![None, None])];
        let series = ["held".to_owned(), "free".to_owned()];
        for scale in [Scale::Share, Scale::Ratio, Scale::Number] {
            let plot = Dots {
                series: series.to_vec(),
                rows: rows.to_vec(),
                scale,
                axis: "share".to_owned(),
            };
            let svg = plot.draw(WORDS, Width::Wide)?;
            assert!(!svg.contains("NaN") && svg.ends_with("</svg>"));
        }
        Ok(())
    }
}
