//! The report on restraint by rating band.

use hobble_report::number::{self, capital};
use hobble_report::{
    Block, Bounds, Cell, Column, Fact, Figure, Made, Report, Section, Table, Tidy, Tone, Unit,
};

use super::answer::{BandsAnswer, Trend};
use super::long_table::record;
use super::measures::{Measure, Split};
use super::methods::definition;
use super::plots;
use super::rating_model::Effect;
use super::shown_cells::{by_level, of_all, shown, split_id, split_title};
use hobble_conditions::words;
use hobble_report::sections;

/// The report by rating band.
pub fn report(answer: &BandsAnswer) -> Report<'_> {
    let mut all = vec![found(answer)];
    for split in splits(answer) {
        all.push(by(answer, split));
    }
    all.extend(ratings(answer));
    all.push(comparisons(answer));
    all.push(method(answer));
    all.extend(sections::ending(&answer.notes, &answer.dataset));
    Report {
        subject: "Restraint in played games",
        title: answer.question.title.clone(),
        sections: all,
        made: Made::of(&answer.hobble, &answer.dataset.hobble, answer.definitions),
        tidy: Tidy::of(answer.cells.iter().map(record)),
        answer,
    }
}

/// What the games are split by, in the order of the report.
pub fn splits(answer: &BandsAnswer) -> impl Iterator<Item = Split> {
    std::iter::once(Split::All).chain(answer.parameters.split.iter().copied())
}

fn found(answer: &BandsAnswer) -> Section {
    let mut section = Section::new("found", "What was found");
    section.paragraph(Tone::Lead, lead(answer));
    section.list(trends(answer));
    section.paragraph(
        Tone::Caution,
        "These are associations in played games: players of different bands meet different opponents, openings and time limits.",
    );
    let measured = Measure::ALL
        .iter()
        .filter(|measure| answer.cells.iter().any(|cell| cell.measure == **measure))
        .map(|measure| Fact::new(measure.title(), definition(*measure, answer)));
    section.document(Block::Terms(measured.collect()));
    section
}

/// What holds of all games, in four sentences.
fn lead(answer: &BandsAnswer) -> String {
    let figure = |measure| match shown(of_all(answer, measure)) {
        Cell::Figure(figure) => Some(figure.line()),
        _ => None,
    };
    let asked = &answer.parameters;
    let restrained = match (
        figure(Measure::RestraintsPerGame),
        figure(Measure::RestraintsLost),
    ) {
        (Some(restrained), Some(lost)) => format!(
            "Of all games together, a player\u{2019}s pieces were restrained {restrained} times a game. A restrained piece was lost within {} moves in {lost}. ",
            asked.within
        ),
        _ => String::new(),
    };
    match (
        figure(Measure::HeldShare),
        figure(Measure::ReleaseRate),
        figure(Measure::LossRisk),
    ) {
        (Some(held), Some(freed), Some(lost)) => format!(
            "{restrained}Pieces were held, restrained or not, to {} safe squares or fewer at {held} of their turns. A held turn ended with the piece released in {freed}, and was followed by its loss within {} moves in {lost}.",
            asked.k, asked.within
        ),
        _ => "There are too few games to tell how often pieces are held.".to_owned(),
    }
}

fn by(answer: &BandsAnswer, split: Split) -> Section {
    let by_level = by_level(answer, split);
    let mut section = Section::new(split_id(split), split_title(split));
    for plot in plots::plots(answer, split) {
        section.block(Block::Plot(plot));
    }
    let names = std::iter::once("").chain(by_level.measures.iter().map(|one| one.title()));
    let mut table = Table::new(names.map(Column::from)).captioned("With 95% intervals");
    for (level, cells) in &by_level.rows {
        let cells = cells.iter().map(|cell| shown(*cell));
        table.row(std::iter::once(Cell::text(*level)).chain(cells).collect());
    }
    section.block(Block::Table(table));
    section
}

/// Own and opponent's rating in one model, where there is any.
fn ratings(answer: &BandsAnswer) -> Option<Section> {
    if answer.rating_models.is_empty() {
        return None;
    }
    let mut section = Section::new(
        "ratings",
        "The player\u{2019}s rating and the opponent\u{2019}s",
    );
    section.paragraph(
        Tone::Plain,
        "Players mostly meet opponents of their own strength, so that a trend over bands is one of both ratings at once. Here each is told apart: by what a figure (its odds, for shares) is multiplied with 100 points more of one rating, while the other stays.",
    );
    let mut table = Table::new(["", "own rating", "opponent\u{2019}s rating", "sides"]).captioned(
        "Factor for each 100 points, with 95% intervals by games or by players, whichever is wider",
    );
    for model in &answer.rating_models {
        let effect = |effect: &Effect| {
            let bounds = Bounds {
                low: effect.low,
                high: effect.high,
            };
            let holds = effect.p_holm < 0.05;
            Cell::Figure(Figure {
                marked: holds,
                ..Figure::new(Unit::Ratio, effect.per_100_points, Some(bounds))
            })
        };
        table.row(vec![
            Cell::text(model.measure.title()),
            effect(&model.own),
            effect(&model.opponent),
            Cell::Count(model.sides),
        ]);
    }
    section.block(Block::Table(table));
    section.paragraph(
        Tone::Plain,
        "* differs from 1, at 5% after Holm\u{2019}s adjustment for all tests of this table.",
    );
    Some(section)
}

fn comparisons(answer: &BandsAnswer) -> Section {
    let counts = &answer.multiplicity;
    let mut section = Section::new("many", "How many comparisons");
    section.paragraph(
        Tone::Plain,
        "* differs from all levels together, at 5% after Holm's adjustment for all tests.",
    );
    let facts = [
        ("Cells", counts.cells),
        ("Shown", counts.shown),
        ("Too few, not shown", counts.suppressed),
        ("Tests", counts.tests),
        ("Below 0.05 as they stand", counts.below_raw),
        ("Below 0.05 after Holm's adjustment", counts.below_holm),
    ];
    section.block(Block::Facts(
        facts
            .map(|(name, number)| Fact::new(name, words::count(number as u64)))
            .to_vec(),
    ));
    section
}

fn method(answer: &BandsAnswer) -> Section {
    let mut section = Section::new("method", "How this was worked out");
    sections::own_words(&mut section, &answer.question.text);
    section.document(Block::Heading("Text for a methods section".to_owned()));
    for paragraph in &answer.methods_text {
        section.document(Block::Paragraph(Tone::Plain, paragraph.clone()));
    }
    section.document(Block::Heading("Citation".to_owned()));
    section.document(Block::Paragraph(Tone::Plain, answer.citation.clone()));
    sections::methods(&mut section, &answer.methods);
    section
}

/// The trends of all kinds together, in sentences.
fn trends(answer: &BandsAnswer) -> Vec<String> {
    let all: Vec<&Trend> = answer
        .trends
        .iter()
        .filter(|trend| trend.kind == "all")
        .collect();
    if all.is_empty() && answer.parameters.split.contains(&Split::Band) {
        return vec![
            "Too few rated games to tell of a trend: fewer than three bands have an interval."
                .to_owned(),
        ];
    }
    all.into_iter().map(trend).collect()
}

/// A trend in a sentence: what it comes to, then how much there is to it.
fn trend(trend: &Trend) -> String {
    let change = |factor: f64| {
        let percent = (factor - 1.0) * 100.0;
        format!("{}%", number::signed(percent, 2))
    };
    let odds = if trend.measure.is_share() {
        "odds of "
    } else {
        ""
    };
    let rises = trend.per_100_points > 1.0;
    let verdict = match (trend.p_holm < 0.05, rises, trend.bends()) {
        (false, _, false) => "no trend that holds among all tests of this report",
        (false, _, true) => {
            "no trend that holds among all tests of this report, and no straight line either"
        }
        (true, true, false) => "rises with the rating",
        (true, false, false) => "falls with the rating",
        (true, true, true) => "rises on the whole, but not from band to band along a line",
        (true, false, true) => "falls on the whole, but not from band to band along a line",
    };
    capital(&format!(
        "{odds}{}: {verdict}. For each 100 rating points {} ({} to {}); p {} by Holm\u{2019}s adjustment, of a straight line {}; {} bands.",
        trend.measure.title().to_lowercase(),
        change(trend.per_100_points),
        change(trend.low),
        change(trend.high),
        number::p_in_words(trend.p_holm),
        number::p_in_words(trend.p_line),
        trend.bands
    ))
}
