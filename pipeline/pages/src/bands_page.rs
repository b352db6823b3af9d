//! The page of a report by rating band.

use anyhow::Result;
use hobble_questions::bands::render::tables::{self, ReaderTable, split_title};
use hobble_questions::bands::{BandCell, BandsAnswer, Measure, Split, definition};
use serde::Serialize;

use crate::page::{DatasetView, long, paragraphs, style};
use crate::plot::Width;
use crate::plot::multiples::{Mark, Multiples, Panel};
use crate::svg::Words;
use crate::templates::fill;
use crate::text::{count, plain};

/// The page, complete in itself.
///
/// # Errors
///
/// Where a plot cannot be drawn or the template cannot be filled.
pub fn bands_page(answer: &BandsAnswer) -> Result<String> {
    fill("bands.html", &Page::new(answer)?)
}

#[derive(Serialize)]
struct Page {
    style: String,
    title: String,
    question: Vec<String>,
    lead: String,
    trends: Vec<String>,
    sections: Vec<Section>,
    mark: &'static str,
    comparisons: Vec<Pair>,
    methods_text: Vec<String>,
    measures: Vec<Pair>,
    methods: Vec<Method>,
    citation: String,
    notes: Vec<String>,
    dataset: DatasetView,
    hobble: String,
    definitions: u32,
}

#[derive(Serialize)]
struct Pair {
    name: String,
    text: String,
}

#[derive(Serialize)]
struct Method {
    name: String,
    text: String,
    source: String,
}

#[derive(Serialize)]
struct Section {
    id: String,
    title: &'static str,
    figures: Vec<Figure>,
    head: Vec<&'static str>,
    rows: Vec<Row>,
}

#[derive(Serialize)]
struct Figure {
    narrow: String,
    wide: String,
    caption: String,
}

#[derive(Serialize)]
struct Row {
    level: String,
    cells: Vec<Cell>,
}

#[derive(Serialize)]
struct Cell {
    value: String,
    interval: String,
    n: String,
    shown: bool,
}

/// Names of the two series of the panel of loss risks.
const SERIES: [&str; 2] = ["raw", "standardised"];

impl Page {
    fn new(answer: &BandsAnswer) -> Result<Page> {
        let counts = &answer.multiplicity;
        let pair = |name: &str, number: usize| Pair {
            name: name.to_owned(),
            text: count(number as u64),
        };
        let sections = tables::tables(answer)
            .iter()
            .map(|table| Section::new(answer, table))
            .collect::<Result<_>>()?;
        Ok(Page {
            style: style(),
            title: plain(&answer.question.title),
            question: paragraphs(&answer.question.text),
            lead: lead(answer),
            trends: tables::trends(answer),
            sections,
            mark: tables::MARK,
            comparisons: vec![
                pair("Cells", counts.cells),
                pair("Shown", counts.shown),
                pair("Too few, not shown", counts.suppressed),
                pair("Tests", counts.tests),
                pair("Below 0.05 as they stand", counts.below_raw),
                pair("Below 0.05 after Holm's adjustment", counts.below_holm),
            ],
            methods_text: answer.methods_text.iter().map(|text| long(text)).collect(),
            measures: Measure::ALL
                .iter()
                .filter(|measure| answer.cells.iter().any(|cell| cell.measure == **measure))
                .map(|measure| Pair {
                    name: measure.title().to_owned(),
                    text: definition(*measure, answer),
                })
                .collect(),
            methods: answer
                .methods
                .iter()
                .map(|method| Method {
                    name: method.name.clone(),
                    text: long(&method.text),
                    source: long(&method.source),
                })
                .collect(),
            citation: long(&answer.citation),
            notes: answer.notes.iter().map(|note| long(note)).collect(),
            dataset: DatasetView::new(&answer.dataset),
            hobble: plain(&answer.hobble),
            definitions: answer.definitions,
        })
    }
}

fn of_all(answer: &BandsAnswer, measure: Measure) -> Option<&BandCell> {
    answer
        .cells
        .iter()
        .find(|cell| cell.measure == measure && cell.split == Split::All)
}

/// What holds of all games, in two sentences.
fn lead(answer: &BandsAnswer) -> String {
    let figure = |measure| {
        let cell = of_all(answer, measure)?;
        let value = cell.estimate?;
        let interval = tables::interval(Some(cell));
        let interval = if interval.is_empty() {
            String::new()
        } else {
            format!(" ({interval})")
        };
        Some(tables::figure(measure, value, tables::digits(cell)) + &interval)
    };
    let asked = &answer.parameters;
    match (
        figure(Measure::HeldShare),
        figure(Measure::ReleaseRate),
        figure(Measure::LossRisk),
    ) {
        (Some(held), Some(freed), Some(lost)) => format!(
            "Of all games together, pieces were held to {} safe squares or fewer at {held} of their turns. A held turn ended with the piece released in {freed}, and was followed by its loss within {} moves in {lost}.",
            asked.k, asked.within
        ),
        _ => "There are too few games to tell how often pieces are held.".to_owned(),
    }
}

impl Section {
    fn new(answer: &BandsAnswer, table: &ReaderTable<'_>) -> Result<Section> {
        let id = table.split.name().replace('_', "-");
        let mut figures = Vec::new();
        if table.split != Split::All && table.rows.len() > 1 {
            figures.push(by_measure(answer, table, &id)?);
        }
        if table.split == Split::Band && table.rows.len() > 1 {
            figures.push(by_kind(answer, table, &id)?);
        }
        let rows = table
            .rows
            .iter()
            .map(|(level, cells)| Row {
                level: plain(level),
                cells: cells.iter().map(|cell| Cell::new(*cell)).collect(),
            })
            .collect();
        Ok(Section {
            id,
            title: split_title(table.split),
            figures,
            head: table
                .measures
                .iter()
                .map(|measure| measure.title())
                .collect(),
            rows,
        })
    }
}

impl Cell {
    fn new(cell: Option<&BandCell>) -> Cell {
        Cell {
            value: tables::value(cell),
            interval: tables::interval(cell),
            n: cell.map_or_else(String::new, |cell| count(cell.n)),
            shown: cell.is_some_and(|cell| !cell.suppressed),
        }
    }
}

/// A level's name in a picture: of a band its lower bound.
fn short(split: Split, level: &str) -> String {
    let low = level.split('-').next().filter(|_| split == Split::Band);
    let low = low.filter(|low| low.bytes().all(|byte| byte.is_ascii_digit()));
    match (low, level) {
        (Some(low), _) => plain(low),
        (None, "missing") => "none".to_owned(),
        (None, level) => plain(level),
    }
}

/// Levels with anything to draw, so that empty ones take no room; bands in between stay, for
/// the gap to show. Players without a rating are no band and have no place among them.
fn drawn<'a>(split: Split, rows: &[(&'a str, Vec<Option<&BandCell>>)]) -> Vec<&'a str> {
    let any = |cells: &[Option<&BandCell>]| cells.iter().flatten().any(|cell| cell.low.is_some());
    let rated: Vec<_> = rows
        .iter()
        .filter(|(level, _)| {
            split != Split::Band || level.starts_with(|c: char| c.is_ascii_digit())
        })
        .collect();
    let Some(first) = rated.iter().position(|(_, cells)| any(cells)) else {
        return Vec::new();
    };
    let last = rated
        .iter()
        .rposition(|(_, cells)| any(cells))
        .unwrap_or(first);
    rated[first..=last]
        .iter()
        .filter(|(_, cells)| split == Split::Band || any(cells))
        .map(|(level, _)| *level)
        .collect()
}

/// A figure without an interval stands in the table alone: drawn, it would look certain.
fn mark_of(cell: Option<&BandCell>) -> Option<Mark> {
    let cell = cell?;
    let interval = cell.low.zip(cell.high)?;
    Some(Mark {
        value: cell.estimate?,
        interval: Some(interval),
    })
}

/// A panel with its words.
struct Told {
    panel: Panel,
    words: String,
}

/// The panel of a measure (with `other` as its second series) over the levels.
fn panel(
    answer: &BandsAnswer,
    (split, levels): (Split, &[&str]),
    kind: &str,
    title: String,
    measures: &[Measure],
) -> Told {
    let find = |measure: Measure, level: &str| {
        answer.cells.iter().find(|cell| {
            cell.measure == measure
                && cell.split == split
                && cell.level == level
                && (cell.kind == kind || split == Split::Kind)
        })
    };
    let mut words = format!("{title}: ");
    let mut marks = Vec::new();
    for level in levels {
        let cells: Vec<_> = measures
            .iter()
            .map(|measure| find(*measure, level))
            .collect();
        let told: Vec<String> = cells
            .iter()
            .map(|cell| {
                let interval = tables::interval(*cell);
                if interval.is_empty() {
                    tables::value(*cell)
                } else {
                    format!("{} ({interval})", tables::value(*cell))
                }
            })
            .collect();
        words.push_str(&format!("{} {}; ", plain(level), told.join(", ")));
        marks.push(cells.into_iter().map(mark_of).collect());
    }
    let first = measures.first().copied();
    // The whole as a line, where it is a whole of the same thing.
    let all = first
        .filter(|measure| kind == "all" && measure.comparable(split))
        .and_then(|measure| of_all(answer, measure))
        .and_then(|cell| cell.estimate);
    Told {
        panel: Panel {
            title,
            share: first.is_some_and(Measure::is_share),
            marks,
            all,
        },
        words: words.trim_end_matches("; ").to_owned() + ".",
    }
}

fn figure(
    split: Split,
    id: &str,
    title: &str,
    levels: &[&str],
    told: Vec<Told>,
    caption: String,
) -> Result<Figure> {
    let levels: Vec<String> = levels.iter().map(|level| short(split, level)).collect();
    let words: Vec<String> = told.iter().map(|told| told.words.clone()).collect();
    let description = words.join(" ");
    let panels: Vec<Panel> = told.into_iter().map(|told| told.panel).collect();
    let two = panels
        .iter()
        .any(|panel| panel.marks.iter().any(|marks| marks.len() > 1));
    let series = SERIES.map(str::to_owned);
    let plot = Multiples {
        levels: &levels,
        panels: &panels,
        series: if two { &series } else { &series[..1] },
        ordered: split == Split::Band,
    };
    let draw = |size: &str, width| {
        let id = format!("{id}-{size}");
        let words = Words {
            id: &id,
            title,
            description: &description,
        };
        plot.draw(words, width)
    };
    Ok(Figure {
        narrow: draw("narrow", Width::Narrow)?,
        wide: draw("wide", Width::Wide)?,
        caption,
    })
}

const INTERVALS: &str = "95% jackknife intervals; scales do not start at 0.";

/// All kinds together: a panel a measure.
fn by_measure(answer: &BandsAnswer, table: &ReaderTable<'_>, id: &str) -> Result<Figure> {
    let levels = drawn(table.split, &table.rows);
    let has = |measure: &Measure| table.measures.contains(measure);
    let told = table
        .measures
        .iter()
        .filter(|measure| {
            // Drawn beside the raw risk; and what the cube can split needs no stand-in.
            **measure != Measure::LossRiskStandardised
                && !(matches!(measure, Measure::HeldTurnsPerTurn) && has(&Measure::HeldShare))
                && !(matches!(measure, Measure::SpellsLost) && has(&Measure::LossRisk))
        })
        .map(|&measure| match measure {
            Measure::LossRisk => panel(
                answer,
                (table.split, &levels),
                "all",
                "Loss risk".to_owned(),
                &[Measure::LossRisk, Measure::LossRiskStandardised],
            ),
            one => panel(
                answer,
                (table.split, &levels),
                "all",
                one.short().to_owned(),
                &[one],
            ),
        })
        .collect();
    let gaps = match table.split {
        Split::Band => {
            " A band with too few games for an interval leaves a gap; axis labels are lower bounds."
        }
        _ => "",
    };
    let caption = format!("{INTERVALS} Dashed: all games.{gaps}");
    let title = format!("Measures {}", split_title(table.split).to_lowercase());
    figure(
        table.split,
        &format!("{id}-all"),
        &title,
        &levels,
        told,
        caption,
    )
}

/// By band, a panel a kind and measure.
fn by_kind(answer: &BandsAnswer, table: &ReaderTable<'_>, id: &str) -> Result<Figure> {
    let levels = drawn(table.split, &table.rows);
    let mut told = Vec::new();
    for kind in ["knight", "bishop", "rook", "queen"] {
        for (measures, name) in [
            (&[Measure::HeldShare][..], "held"),
            (&[Measure::ReleaseRate][..], "released"),
            (
                &[Measure::LossRisk, Measure::LossRiskStandardised][..],
                "lost",
            ),
        ] {
            let title = format!("{}s {name}", crate::text::capital(kind));
            told.push(panel(answer, (table.split, &levels), kind, title, measures));
        }
    }
    let caption = format!(
        "By kind of piece: share of its turns held, release rate a held turn, loss risk of held turns. {INTERVALS}"
    );
    figure(
        table.split,
        &format!("{id}-kinds"),
        "Held, released and lost by rating band and kind of piece",
        &levels,
        told,
        caption,
    )
}
