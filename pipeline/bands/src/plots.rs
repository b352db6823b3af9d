//! The plots of a report by rating band: a panel a measure.

use super::answer::{BandCell, BandsAnswer};
use super::measures::{Measure, Split};
use super::shown_cells::{ByLevel, by_level, of_all, shown, split_id, split_title};
use hobble_report::number::capital;
use hobble_report::plot::{Drawing, Mark, Multiples, Panel};
use hobble_report::{Plot, plain_short};

/// The plots of a split: none of the whole; by band each kind of piece as well.
pub(super) fn plots(answer: &BandsAnswer, split: Split) -> Vec<Plot> {
    let table = by_level(answer, split);
    if split == Split::All || table.rows.len() <= 1 {
        return Vec::new();
    }
    let levels = levels(split, &table.rows);
    let mut plots = vec![by_measure(answer, split, &table, &levels)];
    if split == Split::Band {
        plots.push(by_kind(answer, split, &levels));
    }
    plots
}

/// Names of the two series of the panel of loss risks.
const SERIES: [&str; 2] = ["raw", "standardised"];

/// A level's name in a picture: of a band its lower bound.
fn short(split: Split, level: &str) -> String {
    let low = level.split('-').next().filter(|_| split == Split::Band);
    let low = low.filter(|low| low.bytes().all(|byte| byte.is_ascii_digit()));
    match (low, level) {
        (Some(low), _) => plain_short(low),
        (None, "missing") => "none".to_owned(),
        (None, level) => plain_short(level),
    }
}

/// Levels with anything to draw, so that empty ones take no room; bands in between stay, for
/// the gap to show. Players without a rating are no band and have no place among them.
fn levels<'a>(split: Split, rows: &[(&'a str, Vec<Option<&BandCell>>)]) -> Vec<&'a str> {
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
struct InWords {
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
) -> InWords {
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
        let figures: Vec<String> = cells.iter().map(|cell| shown(*cell).line()).collect();
        words.push_str(&format!("{} {}; ", plain_short(level), figures.join(", ")));
        marks.push(cells.into_iter().map(mark_of).collect());
    }
    let first = measures.first().copied();
    // The whole as a line, where it is a whole of the same thing.
    let all = first
        .filter(|measure| kind == "all" && measure.comparable(split))
        .and_then(|measure| of_all(answer, measure))
        .and_then(|cell| cell.estimate);
    InWords {
        panel: Panel {
            title,
            share: first.is_some_and(Measure::is_share),
            marks,
            all,
        },
        words: words.trim_end_matches("; ").to_owned() + ".",
    }
}

fn plot(
    name: String,
    title: &str,
    (split, levels): (Split, &[&str]),
    panels: Vec<InWords>,
    caption: String,
) -> Plot {
    let levels: Vec<String> = levels.iter().map(|level| short(split, level)).collect();
    let words: Vec<String> = panels.iter().map(|panel| panel.words.clone()).collect();
    let panels: Vec<Panel> = panels.into_iter().map(|panel| panel.panel).collect();
    let two = panels
        .iter()
        .any(|panel| panel.marks.iter().any(|marks| marks.len() > 1));
    let series = SERIES.map(str::to_owned);
    Plot {
        name,
        title: title.to_owned(),
        words: words.join(" "),
        caption,
        drawing: Drawing::Multiples(Multiples {
            levels,
            panels,
            series: if two { &series } else { &series[..1] }.to_vec(),
            ordered: split == Split::Band,
        }),
    }
}

const INTERVALS: &str = "95% jackknife intervals; scales do not start at 0.";

/// All kinds together: a panel a measure.
fn by_measure(answer: &BandsAnswer, split: Split, table: &ByLevel<'_>, levels: &[&str]) -> Plot {
    let has = |measure: &Measure| table.measures.contains(measure);
    let panels = table
        .measures
        .iter()
        // Drawn beside the raw risk, or nearly flat; and what the cube can split needs no stand-in.
        .filter(|measure| match measure {
            Measure::LossRiskStandardised | Measure::ChancesAtRandom => false,
            Measure::HeldTurnsPerTurn => !has(&Measure::HeldShare),
            Measure::SpellsLost => !has(&Measure::LossRisk),
            _ => true,
        })
        .map(|&measure| match measure {
            Measure::LossRisk => panel(
                answer,
                (split, levels),
                "all",
                "Loss risk".to_owned(),
                &[Measure::LossRisk, Measure::LossRiskStandardised],
            ),
            one => panel(
                answer,
                (split, levels),
                "all",
                one.short().to_owned(),
                &[one],
            ),
        })
        .collect();
    let gaps = match split {
        Split::Band => {
            " A band with too few games for an interval leaves a gap; axis labels are lower bounds."
        }
        _ => "",
    };
    let caption = format!("{INTERVALS} Dashed: all games.{gaps}");
    let title = format!("Measures {}", split_title(split).to_lowercase());
    let name = format!("{}-all", split_id(split));
    plot(name, &title, (split, levels), panels, caption)
}

/// By band, a panel a kind and measure.
fn by_kind(answer: &BandsAnswer, split: Split, levels: &[&str]) -> Plot {
    let mut panels = Vec::new();
    for kind in ["knight", "bishop", "rook", "queen"] {
        for (measures, name) in [
            (&[Measure::RestraintsPerGame][..], "restrained"),
            (&[Measure::RestraintsLost][..], "lost"),
            (&[Measure::HeldShare][..], "held"),
        ] {
            let title = format!("{}s {name}", capital(kind));
            panels.push(panel(answer, (split, levels), kind, title, measures));
        }
    }
    let caption = format!(
        "By kind of piece: restraints a player-game, share of restrained pieces lost, share of all turns held. {INTERVALS}"
    );
    let title = "Restrained, lost and held by rating band and kind of piece";
    let name = format!("{}-kinds", split_id(split));
    plot(name, title, (split, levels), panels, caption)
}
