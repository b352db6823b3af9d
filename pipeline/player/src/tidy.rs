//! The figures of a player as one tidy table.

use hobble_report::{Record, Tidy};

use super::answer::{Figure, HabitsAnswer, Measure, TooFew, Unit};
use hobble_statistics::{Estimate, Interval};

/// What a line of the tidy table is about.
struct Line<'a> {
    by: &'a str,
    group: &'a str,
    games: u64,
    name: &'a str,
    unit: Unit,
    of: &'a str,
}

const NO_FIGURE: Figure = Figure {
    events: 0,
    base: 0,
    value: None,
    interval: None,
};

const NO_ESTIMATE: Estimate = Estimate {
    value: None,
    jackknife: None,
};

/// One line a figure of all games, a group or a period.
pub(super) fn tidy(answer: &HabitsAnswer) -> Tidy {
    let all = answer.sections.iter().flat_map(|section| &section.measures);
    let mut records: Vec<Record> = all
        .map(|one| of_measure(answer, ("all", "all", answer.player.games), one))
        .collect();
    for group in &answer.groups {
        let place = (group.by.as_str(), group.label.as_str(), group.games);
        records.extend(
            group
                .measures
                .iter()
                .map(|one| of_measure(answer, place, one)),
        );
    }
    for bin in &answer.trend.bins {
        for (name, unit, of, figure) in [
            ("held", Unit::PerGame, "games", &bin.held),
            ("lost_within", Unit::Share, "times held", &bin.lost),
        ] {
            let line = Line {
                by: &answer.trend.by,
                group: &bin.label,
                games: bin.games,
                name,
                unit,
                of,
            };
            let mut out = start(answer, &line);
            sides(&mut out, figure, &NO_FIGURE);
            comparison(&mut out, &NO_ESTIMATE, &NO_ESTIMATE, None);
            records.push(out);
        }
    }
    Tidy::of(records)
}

fn of_measure(
    answer: &HabitsAnswer,
    (by, group, games): (&str, &str, u64),
    one: &Measure,
) -> Record {
    let line = Line {
        by,
        group,
        games,
        name: &one.name,
        unit: one.unit,
        of: &one.of,
    };
    let mut out = start(answer, &line);
    sides(&mut out, &one.you, &one.peers);
    comparison(&mut out, &one.ratio, &one.difference, one.too_few.as_ref());
    out
}

fn start(answer: &HabitsAnswer, line: &Line<'_>) -> Record {
    let mut out = Record::default();
    out.text("question", &answer.question.name)
        .text("player", &answer.player.name)
        .count("definitions", answer.definitions)
        .count("k", answer.parameters.k)
        .count("within", answer.parameters.within)
        .text("by", line.by)
        .text("group", line.group)
        .count("games", line.games)
        .text("figure", line.name)
        .text(
            "unit",
            match line.unit {
                Unit::PerGame => "per_game",
                Unit::Share => "share",
                Unit::Seconds => "seconds",
            },
        )
        .text("of", line.of);
    out
}

fn sides(out: &mut Record, you: &Figure, peers: &Figure) {
    for (side, figure) in [("player", you), ("peers", peers)] {
        let name = format!("{side}_value");
        out.count(format!("{side}_events"), figure.events)
            .count(format!("{side}_base"), figure.base)
            .figure(name.clone(), figure.value);
        interval(out, &name, figure.interval);
    }
}

fn comparison(out: &mut Record, ratio: &Estimate, difference: &Estimate, too_few: Option<&TooFew>) {
    for (name, estimate) in [("ratio", ratio), ("difference", difference)] {
        out.figure(name, estimate.value);
        interval(out, name, estimate.jackknife);
    }
    let too_few = too_few.map(ToString::to_string);
    out.text("too_few", &too_few.unwrap_or_default());
}

fn interval(out: &mut Record, name: &str, interval: Option<Interval>) {
    out.figure(format!("{name}_low"), interval.map(|it| it.low))
        .figure(format!("{name}_high"), interval.map(|it| it.high))
        .figure(format!("{name}_se"), interval.and_then(|it| it.se));
}
