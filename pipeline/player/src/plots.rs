//! The plots of a player's habits: beside peers, and over time.

use super::answer::{Bin, Figure, HabitsAnswer, Measure, Unit};
use super::shown::{drawn, label, shown, why, written};
use hobble_report::plot::{Dot, Dots, Drawing, Row, Scale};
use hobble_report::{Plot, Why, plain_short};

/// Pieces held a game, period by period.
pub(super) fn held(answer: &HabitsAnswer) -> Plot {
    let period = Period {
        name: "over-time",
        title: "Own pieces held, a game",
        axis: "pieces held a game, 95% interval",
        unit: Unit::PerGame,
        of: |bin| &bin.held,
    };
    period.plot(&answer.trend.bins)
}

/// Share of held pieces lost, period by period.
pub(super) fn lost(answer: &HabitsAnswer) -> Plot {
    let within = answer.parameters.within;
    let period = Period {
        name: "lost-over-time",
        title: &format!("Share of held pieces lost within {within} moves"),
        axis: "share lost, 95% interval",
        unit: Unit::Share,
        of: |bin| &bin.lost,
    };
    period.plot(&answer.trend.bins)
}

/// How many times the peers' figure each is.
pub(super) fn beside_peers(answer: &HabitsAnswer) -> Plot {
    let chosen = drawn(answer);
    let rows: Vec<Row> = chosen.iter().map(|measure| row(measure)).collect();
    let said: Vec<&str> = chosen
        .iter()
        .map(|measure| measure.verdict.as_str())
        .collect();
    let others = answer.peers.from.word();
    let title = format!("How many times as much as {others}");
    let caption = format!(
        "{title}. The line through each dot is its 95% interval. Where it crosses 1, these games do not tell the player from {others}."
    );
    Plot {
        name: "peers".to_owned(),
        title,
        words: hobble_report::plain(&said.join(" ")),
        caption,
        drawing: Drawing::Dots(Dots {
            series: vec!["ratio".to_owned()],
            rows,
            scale: Scale::Ratio,
            axis: format!("times the {others}\u{2019} figure, 95% interval"),
        }),
    }
}

fn row(measure: &Measure) -> Row {
    let ratio = measure.ratio;
    let dot = Dot::of(hobble_report::Unit::Ratio, ratio.value, ratio.jackknife);
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
    of: fn(&Bin) -> &Figure,
}

impl Period<'_> {
    fn plot(&self, bins: &[Bin]) -> Plot {
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
        Plot {
            name: self.name.to_owned(),
            title: self.title.to_owned(),
            words: said.join(" "),
            caption,
            drawing: Drawing::Dots(Dots {
                series: vec!["player".to_owned()],
                rows,
                scale: match self.unit {
                    Unit::PerGame | Unit::Seconds => Scale::Number,
                    Unit::Share => Scale::Share,
                },
                axis: self.axis.to_owned(),
            }),
        }
    }

    fn dot(&self, figure: &Figure) -> Option<Dot> {
        Dot::of(written(self.unit), figure.value, figure.interval)
    }
}
