//! The house style of plots, over plotters' SVG backend.
//!
//! A plot is drawn twice, for a phone and for a wide page, since letters that fit one are
//! too small or too large on the other; the style sheet shows the one that fits. Its text
//! is real text in the reader's own font, its colours are the house roles, and each picture
//! carries its title and its content in words.

mod canvas;
mod dots;
mod incidence;
mod multiples;
mod panel;

use anyhow::Result;
use hobble_report::plot::Drawing;

use crate::svg::Words;

/// What can be drawn.
pub trait Draw {
    /// The plot as one SVG element; the words go with it.
    ///
    /// # Errors
    ///
    /// Where plotters cannot draw it.
    fn draw(&self, words: Words<'_>, width: Width) -> Result<String>;
}

impl Draw for Drawing {
    fn draw(&self, words: Words<'_>, width: Width) -> Result<String> {
        match self {
            Drawing::Dots(dots) => dots.draw(words, width),
            Drawing::Incidence(incidence) => incidence.draw(words, width),
            Drawing::Multiples(multiples) => multiples.draw(words, width),
        }
    }
}

/// For what width a plot is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Width {
    /// A phone: 340 units wide.
    Narrow,
    /// A desktop screen or a sheet of paper: 720 units wide.
    Wide,
}

impl Width {
    /// Units from edge to edge; one unit is one CSS pixel at full size.
    pub const fn units(self) -> u32 {
        match self {
            Width::Narrow => 340,
            Width::Wide => 720,
        }
    }

    /// The class by which the style sheet knows it.
    pub const fn class(self) -> &'static str {
        match self {
            Width::Narrow => "plot narrow",
            Width::Wide => "plot wide",
        }
    }
}

/// The text cut to so many characters, with a sign that it was cut.
fn cut(text: &str, characters: usize) -> String {
    if text.chars().count() <= characters {
        text.to_owned()
    } else {
        let mut cut: String = text.chars().take(characters.saturating_sub(1)).collect();
        cut.push('…');
        cut
    }
}

/// Decimals that ticks need for their step to show, at most so many.
fn decimals(ticks: &[f64], most: usize) -> Option<usize> {
    let step = ticks
        .windows(2)
        .map(|pair| (pair[1] - pair[0]).abs())
        .fold(f64::INFINITY, f64::min);
    let mut scale = 1.0;
    for decimals in 0..most {
        let scaled = step * scale;
        if (scaled - scaled.round()).abs() < 1e-6 && scaled >= 1.0 - 1e-6 {
            return Some(decimals);
        }
        scale *= 10.0;
    }
    None
}

/// Labels of shares at these places, with as many decimals as their step needs.
fn share_labels(ticks: &[f64]) -> Vec<String> {
    let ticks: Vec<f64> = ticks.iter().map(|tick| tick * 100.0).collect();
    let decimals = decimals(&ticks, 4).unwrap_or(4);
    let label = |tick: &f64| format!("{tick:.decimals$}%");
    ticks.iter().map(label).collect()
}

/// Labels of numbers, likewise.
fn number_labels(ticks: &[f64]) -> Vec<String> {
    let decimals = decimals(ticks, 5).unwrap_or(3);
    let label = |tick: &f64| format!("{tick:.decimals$}");
    ticks.iter().map(label).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn labels_have_the_decimals_their_step_needs() {
        assert_eq!(share_labels(&[0.0, 0.01, 0.02]), ["0%", "1%", "2%"]);
        assert_eq!(share_labels(&[0.0, 0.005, 0.01]), ["0.0%", "0.5%", "1.0%"]);
        assert_eq!(share_labels(&[0.0, 0.0025]), ["0.00%", "0.25%"]);
        assert_eq!(share_labels(&[0.0, 0.2]), ["0%", "20%"]);
    }

    #[test]
    fn numbers_have_the_decimals_their_step_needs() {
        assert_eq!(number_labels(&[4.0, 6.0]), ["4", "6"]);
        assert_eq!(number_labels(&[4.0, 4.25]), ["4.00", "4.25"]);
    }

    #[test]
    fn long_labels_are_cut_and_say_so() {
        assert_eq!(cut("knight", 6), "knight");
        assert_eq!(cut("knights", 6), "knigh…");
        assert_eq!(cut("ĆĆĆĆ", 4), "ĆĆĆĆ");
    }
}
