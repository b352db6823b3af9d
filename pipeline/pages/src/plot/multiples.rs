//! Small multiples: one panel a measure, the same levels in each. Ordered levels run from
//! left to right with a band for the intervals; others stand below one another.

use anyhow::Result;
use hobble_report::plot::{Multiples, Panel};
use plotters::style::text_anchor::HPos;

use super::canvas::{Canvas, Ink, Type};
use super::panel::{Frame, draw_listed, draw_ordered, mark, stroke};
use super::{Draw, Width, cut};
use crate::palette::{INK, MUTED, SERIES};
use crate::svg::Words;

const GAP: f64 = 22.0;

impl Draw for Multiples {
    fn draw(&self, words: Words<'_>, width: Width) -> Result<String> {
        let across = f64::from(width.units());
        let columns: usize = match width {
            Width::Narrow => 2,
            Width::Wide => 3,
        };
        let panel_width = (across - GAP * (columns as f64 - 1.0)) / columns as f64;
        let inner = match (self.ordered, width) {
            (true, Width::Narrow) => 110.0,
            (true, Width::Wide) => 130.0,
            (false, _) => row_height(self) * self.levels.len().max(1) as f64,
        };
        let panel_height = 24.0 + inner + 40.0;
        let above = if self.series.len() > 1 { 28.0 } else { 0.0 };
        let rows = self.panels.len().div_ceil(columns);
        let height = (above + panel_height * rows as f64).ceil() as u32;

        Canvas::picture(words, width, height, |canvas| {
            if self.series.len() > 1 {
                key(self, canvas)?;
            }
            for (number, panel) in self.panels.iter().enumerate() {
                let left = (number % columns) as f64 * (panel_width + GAP);
                let top = above + (number / columns) as f64 * panel_height;
                draw_panel(self, canvas, panel, (left, top), (panel_width, inner))?;
            }
            Ok(())
        })
    }
}

/// A panel with its title; `width` is that of all of it, `inner` the height of its marks.
fn draw_panel(
    plot: &Multiples,
    canvas: &Canvas<'_>,
    panel: &Panel,
    (left, top): (f64, f64),
    (width, inner): (f64, f64),
) -> Result<()> {
    // A guess at the width of a letter; a name too long all the same is cut.
    let most = panel.title.len().min((width / 6.4) as usize);
    let title = Type::new(12.5, INK, HPos::Left).bold(true);
    canvas.text(&cut(&panel.title, most), left, top + 9.0, title)?;
    let (before, behind) = if plot.ordered {
        (38.0, 4.0)
    } else {
        (names(plot, width), 16.0)
    };
    let across = (left + before, left + width - behind);
    let frame = Frame::of(
        panel,
        plot.ordered,
        across,
        (top + 24.0, top + 24.0 + inner),
    );
    if panel.marks.iter().flatten().all(Option::is_none) {
        let middle = (frame.top + frame.bottom) / 2.0;
        let muted = Type::new(11.5, MUTED, HPos::Left);
        canvas.text("too few games", left, middle, muted)
    } else if plot.ordered {
        draw_ordered(canvas, panel, &frame, &plot.levels, plot.series.len())
    } else {
        draw_listed(
            canvas,
            panel,
            &frame,
            &plot.levels,
            (left, row_height(plot)),
        )
    }
}

fn row_height(plot: &Multiples) -> f64 {
    if plot.series.len() > 1 { 30.0 } else { 22.0 }
}

/// Room for the names of the levels.
fn names(plot: &Multiples, panel: f64) -> f64 {
    let longest = plot.levels.iter().map(|level| level.chars().count()).max();
    (6.3 * longest.unwrap_or(0) as f64 + 10.0).clamp(20.0, panel * 0.48)
}

fn key(plot: &Multiples, canvas: &Canvas<'_>) -> Result<()> {
    let mut x = 0.0;
    for (number, name) in plot.series.iter().enumerate() {
        let role = SERIES[number % SERIES.len()];
        let ink = Ink::new(role, 2.0, stroke(number));
        canvas.across((x, x + 26.0), 10.0, ink)?;
        mark(canvas, x + 13.0, 10.0, number)?;
        let style = Type::new(12.5, INK, HPos::Left);
        canvas.text(name, x + 34.0, 10.0, style)?;
        x += 34.0 + 7.0 * name.chars().count() as f64 + 18.0;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::super::panel::tests::{one, panel};
    use super::*;

    const WORDS: Words<'static> = Words {
        id: "m",
        title: "Measures <by band>",
        description: "held 10%",
    };

    #[test]
    fn draws_both_ways_with_a_mark_for_each_figure() -> Result<()> {
        let levels = ["1400".to_owned(), "1600".to_owned(), "1800".to_owned()];
        let panels = [
            panel(vec![one(0.1), vec![None], one(0.2)]),
            panel(vec![vec![None]; 3]),
        ];
        for ordered in [true, false] {
            let plot = Multiples {
                levels: levels.to_vec(),
                panels: panels.to_vec(),
                series: vec!["raw".to_owned()],
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
