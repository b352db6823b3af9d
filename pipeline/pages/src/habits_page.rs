//! The page about one player's habits: its report, and the plots beside peers and over time.

use anyhow::Result;
use hobble_player::HabitsAnswer;
use hobble_player::answer::{Bin, Figure as Counted, Measure, Unit};
use hobble_player::report::{drawn, label, report, shown, why, written};
use hobble_report::{Figure, Why, plain_short};

use crate::html::html;
use crate::plot::Drawn;
use crate::plot::dots::{Dot, Dots, Row, Scale};

/// A player's habits as one HTML page that needs nothing but itself.
///
/// # Errors
///
/// Where a game to look at holds a position or square that cannot be read, naming it.
pub fn habits_page(answer: &HabitsAnswer) -> Result<String> {
    let bins = &answer.trend.bins;
    let within = answer.parameters.within;
    let held = Period {
        name: "over-time",
        title: "Own pieces held, a game",
        axis: "pieces held a game, 95% interval",
        unit: Unit::PerGame,
        of: |bin| &bin.held,
    };
    let title = format!("Share of held pieces lost within {within} moves");
    let lost = Period {
        name: "lost-over-time",
        title: &title,
        axis: "share lost, 95% interval",
        unit: Unit::Share,
        of: |bin| &bin.lost,
    };
    let figures = [beside_peers(answer)?, held.draw(bins)?, lost.draw(bins)?];
    html(&report(answer), &figures)
}

/// How many times the peers' figure each is.
fn beside_peers(answer: &HabitsAnswer) -> Result<Drawn> {
    let chosen = drawn(answer);
    let rows: Vec<Row> = chosen.iter().map(|measure| row(measure)).collect();
    let said: Vec<&str> = chosen
        .iter()
        .map(|measure| measure.verdict.as_str())
        .collect();
    let title = "How many times as much as peers";
    let caption = format!(
        "{title}. The line through each dot is its 95% interval. Where it crosses 1, these games do not tell the player from the peers."
    );
    let series = ["ratio".to_owned()];
    let words = hobble_report::plain(&said.join(" "));
    Drawn::new("peers", (title, &words), caption, |words, width| {
        Dots {
            series: &series,
            rows: &rows,
            scale: Scale::Ratio,
            axis: "times the peers\u{2019} figure, 95% interval",
        }
        .draw(words, width)
    })
}

fn row(measure: &Measure) -> Row {
    let ratio = measure.ratio;
    let dot = ratio.value.filter(|value| *value > 0.0).and_then(|value| {
        let interval = hobble_report::sections::bounds(ratio.jackknife)?;
        Some(Dot {
            value,
            interval: Some((interval.low, interval.high)),
            text: Figure::new(hobble_report::Unit::Ratio, value, Some(interval)).words(),
        })
    });
    let missing = match why(measure.too_few.as_ref()) {
        Why::Undefined => "no interval",
        why => why.words(),
    };
    Row {
        label: plain_short(&label(measure)),
        all: false,
        dots: vec![dot],
        missing: missing.to_owned(),
    }
}

/// A figure period by period.
struct Period<'a> {
    name: &'a str,
    title: &'a str,
    axis: &'a str,
    unit: Unit,
    of: fn(&Bin) -> &Counted,
}

impl Period<'_> {
    fn draw(&self, bins: &[Bin]) -> Result<Drawn> {
        let rows: Vec<Row> = bins
            .iter()
            .map(|bin| Row {
                label: plain_short(&bin.label),
                all: false,
                dots: vec![self.dot((self.of)(bin))],
                missing: "too few games".to_owned(),
            })
            .collect();
        let said: Vec<String> = bins
            .iter()
            .map(|bin| {
                let cell = shown(self.unit, (self.of)(bin));
                format!("{}: {}.", plain_short(&bin.label), cell.line())
            })
            .collect();
        let caption = format!(
            "{}, oldest period first. Periods are run together until each holds enough games.",
            self.title
        );
        let series = ["player".to_owned()];
        let words = (self.title, &*said.join(" "));
        Drawn::new(self.name, words, caption, |words, width| {
            Dots {
                series: &series,
                rows: &rows,
                scale: match self.unit {
                    Unit::PerGame => Scale::Number,
                    Unit::Share => Scale::Share,
                },
                axis: self.axis,
            }
            .draw(words, width)
        })
    }

    fn dot(&self, figure: &Counted) -> Option<Dot> {
        let value = figure.value?;
        let interval = hobble_report::sections::bounds(figure.interval)?;
        Some(Dot {
            value,
            interval: Some((interval.low, interval.high)),
            text: Figure::new(written(self.unit), value, Some(interval)).words(),
        })
    }
}
