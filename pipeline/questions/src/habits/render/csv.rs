//! The figures as CSV (RFC 4180): one line a figure of all games, a group or a period.

use crate::answer::{Estimate, Interval};
use crate::habits::HabitsAnswer;
use crate::habits::answer::{Figure, Unit};
use crate::render::Line;

/// The figures as CSV.
pub fn csv(answer: &HabitsAnswer) -> String {
    let mut lines = Vec::new();
    let none = Figure {
        events: 0,
        base: 0,
        value: None,
        interval: None,
    };
    let nothing = Estimate {
        value: None,
        jackknife: None,
    };
    for section in &answer.sections {
        for one in &section.measures {
            lines.push(line(
                answer,
                ("all", "all", answer.player.games),
                (&one.name, one.unit, &one.of),
                (&one.you, &one.peers),
                (&one.ratio, &one.difference),
                one.too_few.as_deref(),
            ));
        }
    }
    for group in &answer.groups {
        for one in &group.measures {
            lines.push(line(
                answer,
                (&group.by, &group.label, group.games),
                (&one.name, one.unit, &one.of),
                (&one.you, &one.peers),
                (&one.ratio, &one.difference),
                one.too_few.as_deref(),
            ));
        }
    }
    for bin in &answer.trend.bins {
        for (name, unit, of, figure) in [
            ("held", Unit::PerGame, "games", &bin.held),
            ("lost_within", Unit::Share, "times held", &bin.lost),
        ] {
            lines.push(line(
                answer,
                (&answer.trend.by, &bin.label, bin.games),
                (name, unit, of),
                (figure, &none),
                (&nothing, &nothing),
                None,
            ));
        }
    }
    let mut out = String::new();
    for (index, line) in lines.iter().enumerate() {
        if index == 0 {
            out.push_str(&line.head());
        }
        out.push_str(&line.written());
    }
    out
}

fn line(
    answer: &HabitsAnswer,
    (by, group, games): (&str, &str, u64),
    (name, unit, of): (&str, Unit, &str),
    (you, peers): (&Figure, &Figure),
    (ratio, difference): (&Estimate, &Estimate),
    too_few: Option<&str>,
) -> Line {
    let mut line = Line::default();
    line.text("question", &answer.question.name);
    line.text("player", &answer.player.name);
    line.number("definitions", answer.definitions);
    line.number("k", answer.parameters.k);
    line.number("within", answer.parameters.within);
    line.text("by", by);
    line.text("group", group);
    line.number("games", games);
    line.text("figure", name);
    line.text(
        "unit",
        match unit {
            Unit::PerGame => "per_game",
            Unit::Share => "share",
        },
    );
    line.text("of", of);
    for (side, figure) in [("player", you), ("peers", peers)] {
        line.number(&format!("{side}_events"), figure.events);
        line.number(&format!("{side}_base"), figure.base);
        line.figure(&format!("{side}_value"), figure.value);
        interval(&mut line, &format!("{side}_value"), figure.interval);
    }
    for (side, estimate) in [("ratio", ratio), ("difference", difference)] {
        line.figure(side, estimate.value);
        interval(&mut line, side, estimate.jackknife);
    }
    line.text("too_few", too_few.unwrap_or_default());
    line
}

fn interval(line: &mut Line, name: &str, interval: Option<Interval>) {
    line.figure(&format!("{name}_low"), interval.map(|i| i.low));
    line.figure(&format!("{name}_high"), interval.map(|i| i.high));
    line.figure(&format!("{name}_se"), interval.and_then(|i| i.se));
}
