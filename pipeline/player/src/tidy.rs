//! The figures of a player as one tidy table.

use hobble_report::Tidy;
use hobble_report::columns::{ColumnText, Columns, Of};

use super::answer::{Figure, HabitsAnswer, Measure, Unit};
use hobble_statistics::Estimate;

/// A line of the table: a figure of all games, a group or a period.
struct Line {
    question: String,
    player: String,
    definitions: u32,
    k: u8,
    within: u32,
    place: Place,
    name: String,
    unit: Unit,
    of: String,
    player_figure: Figure,
    peers: Figure,
    ratio: Estimate,
    difference: Estimate,
    too_few: String,
}

/// The games that a line is about.
#[derive(Clone)]
struct Place {
    by: String,
    level: String,
    games: u64,
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
    let place = |by: &str, level: &str, games: u64| Place {
        by: by.to_owned(),
        level: level.to_owned(),
        games,
    };
    let all = answer.sections.iter().flat_map(|section| &section.measures);
    let games = place("all", "all", answer.player.games);
    let mut lines: Vec<Line> = all.map(|one| of_measure(answer, &games, one)).collect();
    for group in &answer.groups {
        let games = place(&group.by, &group.label, group.games);
        let measures = group.measures.iter();
        lines.extend(measures.map(|one| of_measure(answer, &games, one)));
    }
    for bin in &answer.trend.bins {
        let games = place(&answer.trend.by, &bin.label, bin.games);
        for (name, unit, of, figure) in [
            ("held", Unit::PerGame, "games", &bin.held),
            ("lost_within", Unit::Share, "times held", &bin.lost),
        ] {
            lines.push(Line {
                name: name.to_owned(),
                unit,
                of: of.to_owned(),
                player_figure: figure.clone(),
                ..line(answer, &games)
            });
        }
    }
    columns().tidy(&lines)
}

fn of_measure(answer: &HabitsAnswer, games: &Place, one: &Measure) -> Line {
    let too_few = one.too_few.as_ref().map(ToString::to_string);
    Line {
        name: one.name.clone(),
        unit: one.unit,
        of: one.of.clone(),
        player_figure: one.you.clone(),
        peers: one.peers.clone(),
        ratio: one.ratio,
        difference: one.difference,
        too_few: too_few.unwrap_or_default(),
        ..line(answer, games)
    }
}

fn line(answer: &HabitsAnswer, games: &Place) -> Line {
    Line {
        question: answer.question.name.clone(),
        player: answer.player.name.clone(),
        definitions: answer.definitions,
        k: answer.parameters.k,
        within: answer.parameters.within,
        place: games.clone(),
        name: String::new(),
        unit: Unit::PerGame,
        of: String::new(),
        player_figure: NO_FIGURE,
        peers: NO_FIGURE,
        ratio: NO_ESTIMATE,
        difference: NO_ESTIMATE,
        too_few: String::new(),
    }
}

/// The columns there are.
pub(super) fn texts() -> Vec<ColumnText> {
    columns().texts()
}

const TOO_FEW: &str = "not known, too few games, or no peers";

fn columns() -> Columns<Line> {
    let mut out = Columns::default();
    out.text("question", "Name of the question.", |line: &Line| {
        line.question.clone()
    });
    out.text("player", "The player, as asked.", |line| {
        line.player.clone()
    });
    out.definitions_and_k(|line| (line.definitions, line.k));
    let within = "Moves within which a loss counts.";
    out.count("within", "moves", within, |line| line.within.into());
    let by = "What the games are grouped by; `all` for all games.";
    out.text("by", by, |line| line.place.by.clone());
    out.text("level", "The group of games.", |line| {
        line.place.level.clone()
    });
    let games = "The player's games in the group.";
    out.count("games", "games", games, |line| line.place.games);
    out.text("figure", "Name of the figure.", |line| line.name.clone());
    let unit = "Unit of the figure: `per_game`, `share` (0 to 1) or `seconds`.";
    out.text("unit", unit, |line| unit_name(line.unit).to_owned());
    out.text("of", "What the base counts.", |line| line.of.clone());
    side(&mut out, "player", "the player", |line| &line.player_figure);
    side(&mut out, "peers", "the peers", |line| &line.peers);
    let ratio = "The player's figure by the peers'.";
    comparison(&mut out, "ratio", "scale of logarithms", ratio, |line| {
        line.ratio
    });
    let difference = "The player's figure less the peers'.";
    let of = |line: &Line| line.difference;
    comparison(&mut out, "difference", "figure's own scale", difference, of);
    let few = "Why there is no comparison.";
    out.words("too_few", "there are enough", few, |line| {
        line.too_few.clone()
    });
    out
}

fn unit_name(unit: Unit) -> &'static str {
    match unit {
        Unit::PerGame => "per_game",
        Unit::Share => "share",
        Unit::Seconds => "seconds",
    }
}

fn side(out: &mut Columns<Line>, name: &str, whose: &str, of: fn(&Line) -> &Figure) {
    let events =
        format!("How often it happened in the games of {whose}; of `seconds` in milliseconds.");
    out.count(format!("{name}_events"), "events", events, move |line| {
        of(line).events
    });
    let base = format!("In how many games, or out of how many, it could happen for {whose}.");
    out.count(format!("{name}_base"), "as `of` says", base, move |line| {
        of(line).base
    });
    let value = format!("{name}_value");
    let what = Of::new("as `unit` says", TOO_FEW);
    let text = match name {
        "peers" => "The figure of the peers, in the player's mix of strata.".to_owned(),
        _ => format!("The figure of {whose}."),
    };
    out.figure(value.as_str(), what, text, move |line| of(line).value);
    out.bounds(&value, what, move |line| of(line).interval);
    let scale = "scale of logarithms, of a `share` on the logit scale";
    out.error(&value, scale, TOO_FEW, move |line| of(line).interval);
}

fn comparison(
    out: &mut Columns<Line>,
    name: &'static str,
    scale: &str,
    text: &str,
    of: fn(&Line) -> Estimate,
) {
    let unit = if name == "ratio" {
        "ratio"
    } else {
        "as `unit` says"
    };
    out.estimate(name, Of::new(unit, TOO_FEW), text, of);
    out.error(name, scale, TOO_FEW, move |line| of(line).jackknife);
}
