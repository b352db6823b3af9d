//! Small multiples: one panel a measure, the same levels in each. Ordered levels run from
//! left to right with a band for the intervals; others stand below one another.

use anyhow::Result;
use plotters::style::text_anchor::HPos;

use super::canvas::Canvas;
use super::panel::{Frame, draw_listed, draw_ordered, mark, stroke, style};
pub use super::panel::{Mark, Panel};
use super::{Width, cut};
use crate::palette::{INK, MUTED, SERIES};
use crate::svg::Words;

/// A plot of panels.
#[derive(Debug, Clone, Copy)]
pub struct Multiples<'a> {
    /// Names of the levels, short.
    pub levels: &'a [String],
    /// The panels.
    pub panels: &'a [Panel],
    /// Names of the series, at most two; a single one gets no key.
    pub series: &'a [String],
    /// Whether the levels run from left to right.
    pub ordered: bool,
}

const GAP: f64 = 22.0;

impl Multiples<'_> {
    /// The plot as one SVG element; the words go with it.
    ///
    /// # Errors
    ///
    /// Where plotters cannot draw it.
    pub fn draw(&self, words: Words<'_>, width: Width) -> Result<String> {
        let across = f64::from(width.units());
        let columns = match width {
            Width::Narrow => 2,
            Width::Wide => 3,
        };
        let panel_width = (across - GAP * (f64::from(columns) - 1.0)) / f64::from(columns);
        let inner = if self.ordered {
            if width == Width::Narrow { 110.0 } else { 130.0 }
        } else {
            self.row_height() * self.levels.len().max(1) as f64
        };
        let panel_height = 24.0 + inner + 40.0;
        let key = if self.series.len() > 1 { 28.0 } else { 0.0 };
        let rows = self.panels.len().div_ceil(columns as usize);
        let height = (key + panel_height * rows as f64).ceil() as u32;

        Canvas::picture(words, width, height, |canvas| {
            if self.series.len() > 1 {
                self.key(canvas)?;
            }
            for (number, panel) in self.panels.iter().enumerate() {
                let column = (number % columns as usize) as f64;
                let row = (number / columns as usize) as f64;
                let left = column * (panel_width + GAP);
                let top = key + row * panel_height;
                // A guess at the width of a letter; a name too long all the same is cut.
                let most = panel.title.len().min((panel_width / 6.4) as usize);
                canvas.text(
                    &cut(&panel.title, most),
                    left,
                    top + 9.0,
                    style(12.5, INK, true, HPos::Left),
                )?;
                let room = if self.ordered {
                    38.0
                } else {
                    self.names(panel_width)
                };
                let frame = Frame::of(
                    panel,
                    self.ordered,
                    (
                        left + room,
                        left + panel_width - if self.ordered { 4.0 } else { 16.0 },
                    ),
                    (top + 24.0, top + 24.0 + inner),
                );
                if panel.marks.iter().flatten().all(Option::is_none) {
                    let middle = (frame.top + frame.bottom) / 2.0;
                    let muted = style(11.5, MUTED, false, HPos::Left);
                    canvas.text("too few games", left, middle, muted)?;
                } else if self.ordered {
                    draw_ordered(canvas, panel, &frame, self.levels, self.series.len())?;
                } else {
                    draw_listed(
                        canvas,
                        panel,
                        &frame,
                        self.levels,
                        (left, self.row_height()),
                    )?;
                }
            }
            Ok(())
        })
    }

    fn row_height(&self) -> f64 {
        if self.series.len() > 1 { 30.0 } else { 22.0 }
    }

    /// Room for the names of the levels.
    fn names(&self, panel: f64) -> f64 {
        let longest = self.levels.iter().map(|level| level.chars().count()).max();
        (6.3 * longest.unwrap_or(0) as f64 + 10.0).clamp(20.0, panel * 0.48)
    }

    fn key(&self, canvas: &Canvas<'_>) -> Result<()> {
        let mut x = 0.0;
        for (number, name) in self.series.iter().enumerate() {
            let role = SERIES[number % SERIES.len()];
            canvas.line(&[(x, 10.0), (x + 26.0, 10.0)], role, 2.0, stroke(number))?;
            mark(canvas, x + 13.0, 10.0, number)?;
            canvas.text(name, x + 34.0, 10.0, style(12.5, INK, false, HPos::Left))?;
            x += 34.0 + 7.0 * name.chars().count() as f64 + 18.0;
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const WORDS: Words<'static> = Words {
        id: "m",
        title: "Measures <by band>",
        description: "held 10%",
    };

    fn one(value: f64) -> Vec<Option<Mark>> {
        vec![Some(Mark {
            value,
            interval: Some((value * 0.9, value * 1.1)),
        })]
    }

    fn panel(marks: Vec<Vec<Option<Mark>>>) -> Panel {
        Panel {
            title: "Held".to_owned(),
            share: true,
            marks,
            all: Some(0.1),
        }
    }

    #[test]
    fn draws_both_ways_with_a_mark_for_each_figure() -> Result<()> {
        let levels = ["1400".to_owned(), "1600".to_owned(), "1800".to_owned()];
        let panels = [
            panel(vec![one(0.1), vec![None], one(0.2)]),
            panel(vec![vec![None]; 3]),
        ];
        for ordered in [true, false] {
            let plot = Multiples {
                levels: &levels,
                panels: &panels,
                series: &["raw".to_owned()],
                ordered,
            };
            for width in [Width::Narrow, Width::Wide] {
                let svg = plot.draw(WORDS, width)?;
                assert_eq!(svg.matches("<circle").count(), 2, "{svg}");
                assert!(!svg.contains("NaN") && svg.contains("Measures &lt;by band&gt;"));
                // The panel without a figure says so, and in a list the level does too.
                assert_eq!(svg.matches("too few").count(), if ordered { 1 } else { 2 });
            }
        }
        Ok(())
    }
}
