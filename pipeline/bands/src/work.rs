//! From report and dataset to the long table.

use std::collections::BTreeMap;

use super::answer::{BandCell, BandsAnswer, BandsParameters, Multiplicity, ScanParameters, Trend};
use super::counts::{Cells, KindOrAll, Place};
use super::cube::Held;
use super::figures::Worked;
use super::file::BandReport;
use super::measures::{Measure, Split};
use super::state::State;
use super::tests_of_cells::{Point, against_all, slope};
use super::{FORMAT, methods, rating_model, report};
use hobble_conditions::AskError;
use hobble_conditions::counted;
use hobble_conditions::fields::QuestionFile as _;
use hobble_conditions::sum::Sum;
use hobble_conditions::terms::{Kind, YesNo};
use hobble_dataset::{Dataset, PartId};
use hobble_report::{ColumnText, Report, Reported};
use hobble_statistics::holm::holm;
use hobble_statistics::ratio_clusters::TwoWay;
use hobble_statistics::{LEVEL, StandardError, quantile};
use hobble_terms::Table;
use rayon::prelude::*;

/// Answers a report from a dataset.
///
/// # Errors
///
/// Where a table is missing, unreadable or inconsistent.
pub fn answer(dataset: &Dataset, report: &BandReport) -> Result<BandsAnswer, AskError> {
    counted::answer(report, dataset)
}

impl Reported for BandsAnswer {
    fn report(&self) -> Report<'_> {
        report::report(self)
    }

    fn columns() -> Vec<ColumnText> {
        crate::long_table::texts()
    }
}

impl Sum for BandReport {
    type State = State;
    type Answer = BandsAnswer;

    fn fits(&self) -> Result<(), AskError> {
        if self.chooses_sides() && self.developed != YesNo::Yes {
            return Err(AskError::Override {
                name: "developed",
                what: "of chosen games and sides held turns are counted from `turns`, which has developed pieces alone: ask with developed = \"yes\"".to_owned(),
            });
        }
        Ok(())
    }

    fn tables(&self) -> &'static [Table] {
        if self.chooses_sides() {
            &[Table::Games, Table::Spells, Table::Moves, Table::Turns]
        } else {
            &[Table::Games, Table::Spells, Table::Moves, Table::Exposure]
        }
    }

    fn optional(&self) -> &'static [Table] {
        &[Table::Decisions, Table::Sides]
    }

    fn part(&self, dataset: &Dataset, id: &PartId) -> Result<State, AskError> {
        State::of(self, dataset, id)
    }

    fn answer(&self, dataset: &Dataset, state: &State) -> Result<BandsAnswer, AskError> {
        Ok(long_table(self, dataset, state))
    }
}

/// The long table from the counts.
fn long_table(report: &BandReport, dataset: &Dataset, state: &State) -> BandsAnswer {
    let mut worked = work_out(&state.cells, &state.held);
    // Cells without a denominator are no cells.
    worked.retain(|(place, worked)| {
        worked.n > 0 && (place.split == Split::All || report.split.contains(&place.split))
    });
    worked.sort_by(|a, b| a.0.cmp(&b.0));
    let by_player = state.of_sides.by_player.ordered();
    let shown: Vec<Shown> = worked
        .par_iter()
        .map(|(place, worked)| Shown::new(report, place, worked, by_player.of(place)))
        .collect();
    let mut rows: Vec<BandCell> = worked
        .iter()
        .zip(&shown)
        .map(|((place, worked), shown)| cell(place, worked, shown))
        .collect();
    let mut trends = trends(&worked, &shown);
    let multiplicity = adjust(&mut rows, &mut trends);

    let mut answer = BandsAnswer {
        format: FORMAT,
        about: BandReport::ABOUT,
        hobble: env!("CARGO_PKG_VERSION").to_owned(),
        definitions: dataset.definitions(),
        question: report.texts(),
        parameters: BandsParameters {
            k: report.k,
            within: report.within,
            developed: report.developed,
            band_width: report.band_width,
            split: report.split.clone(),
            minimum_turns: report.minimum_turns,
            minimum_games: report.minimum_games,
            minimum_folds: report.minimum_folds,
            level: LEVEL,
        },
        dataset: dataset.summary().clone(),
        scan: ScanParameters {
            time_cuts: dataset.parameters().time_cuts.map(u64::from).to_vec(),
        },
        cells: rows,
        trends,
        rating_models: rating_model::models(report, &state.of_sides.by_ratings),
        multiplicity,
        methods: methods::methods(),
        methods_text: Vec::new(),
        citation: String::new(),
        notes: Vec::new(),
    };
    answer.methods_text = methods::text(&answer);
    answer.citation = methods::citation(&answer);
    answer.notes = methods::notes(&answer, dataset, &state.of_sides.by_player);
    answer
}

/// Every cell with its figure and what it is set against.
fn work_out(cells: &Cells, held: &Held) -> Vec<(Place, Worked)> {
    let mut out = Vec::new();
    for (place, folds) in cells {
        // Of all levels together there is no row a kind; the split by kind has it.
        let of = match (place.split, place.kind) {
            (Split::Kind, _) | (_, None) => Place::new(place.measure, Split::All, "all", None),
            (_, Some(kind)) => Place::new(place.measure, Split::Kind, kind.name(), Some(kind)),
        };
        let overall = place
            .measure
            .comparable(place.split)
            .then(|| cells.get(&of));
        let mut worked = Worked::ratio(folds, overall.flatten());
        worked.n /= place.measure.per();
        out.push((place.clone(), worked));
    }
    for ((split, level), strata) in &held.levels {
        let own = Kind::from_name(level).filter(|_| *split == Split::Kind);
        let each = Kind::ALL.iter().map(|&kind| Some(kind));
        let kinds: Vec<KindOrAll> = match split {
            Split::Kind => vec![own],
            _ => std::iter::once(None).chain(each).collect(),
        };
        for kind in kinds {
            let place = Place::new(Measure::LossRiskStandardised, *split, level, kind);
            let worked = Worked::standardised(strata, &held.all, *split, kind);
            out.push((place, worked));
        }
    }
    // A level that all games have is no part to set against the whole.
    let mut number: BTreeMap<(Measure, Split, KindOrAll), usize> = BTreeMap::new();
    for (place, worked) in &out {
        *number
            .entry((place.measure, place.split, place.kind))
            .or_default() += usize::from(worked.n > 0);
    }
    for (place, worked) in &mut out {
        // The split by kind has one kind a row.
        if place.split != Split::Kind && number[&(place.measure, place.split, place.kind)] < 2 {
            worked.overall = None;
        }
    }
    out
}

/// What of a cell is shown.
struct Shown {
    suppressed: bool,
    /// Whether there is an interval, and from what: the jackknife by games.
    error: Option<StandardError>,
    /// The same by games and players.
    two_way: Option<TwoWay>,
    /// How many times as wide as the interval by games the one that is shown is: 1 or more.
    wider: f64,
    /// Why there is no interval.
    why: &'static str,
}

impl Shown {
    fn new(report: &BandReport, place: &Place, worked: &Worked, two_way: Option<TwoWay>) -> Shown {
        let least = if place.measure.counts_games() {
            report.minimum_games
        } else {
            report.minimum_turns
        };
        let suppressed = worked.n < least || worked.folds < report.minimum_folds;
        let error = (!suppressed && worked.event_folds >= report.minimum_folds)
            .then(|| worked.figure.error(place.measure.scale(), worked.folds))
            .flatten();
        let why = match (suppressed, error) {
            (true, _) => "too few: not shown",
            (false, None) => "no interval: counted in too few folds",
            (false, Some(_)) => "",
        };
        let width = |error: StandardError| quantile::student(LEVEL, error.df) * error.se;
        let by_players = two_way.and_then(|two_way| two_way.error);
        let wider = by_players
            .zip(error)
            .map_or(1.0, |(two_way, error)| width(two_way) / width(error))
            .max(1.0);
        Shown {
            suppressed,
            error,
            two_way,
            wider,
            why,
        }
    }

    /// The standard error of the wider interval.
    fn wider_error(&self) -> Option<StandardError> {
        let by_players = self.two_way.and_then(|two_way| two_way.error);
        self.error.map(|error| match by_players {
            Some(two_way) if self.wider > 1.0 => two_way,
            _ => error,
        })
    }
}

fn cell(place: &Place, worked: &Worked, shown: &Shown) -> BandCell {
    let scale = place.measure.scale();
    let existing = |value: f64| Some(value).filter(|value| value.is_finite() && !shown.suppressed);
    let bounds = shown
        .wider_error()
        .and_then(|error| error.interval(scale, worked.figure.whole, LEVEL));
    let test = shown
        .error
        .and_then(|_| against_all(worked, scale, shown.wider));
    let how = match place.measure {
        Measure::LossRiskStandardised => "directly standardised to all held turns; ",
        _ => "",
    };
    let by = if shown.wider > 1.0 {
        "two-way clusters of games and players"
    } else {
        "delete-a-fold jackknife"
    };
    let on = if place.measure.is_share() {
        "logit"
    } else {
        "log"
    };
    let who = shown.two_way.filter(|_| !shown.suppressed);
    let method = match bounds {
        Some(_) => format!("{how}{by} on the {on} scale"),
        None => shown.why.to_owned(),
    };
    BandCell {
        measure: place.measure,
        split: place.split,
        level: place.level.1.clone(),
        kind: place
            .kind
            .map_or_else(|| "all".to_owned(), |kind| kind.to_string()),
        estimate: existing(worked.figure.whole),
        low: bounds.map(|bounds| bounds.low),
        high: bounds.map(|bounds| bounds.high),
        n: worked.n,
        folds: worked.folds,
        n_unit: place.measure.counted().to_owned(),
        unit: place.measure.unit().to_owned(),
        method,
        suppressed: shown.suppressed,
        players: who.map(|who| who.players),
        largest_share: who.map(|who| who.largest),
        covered: worked.covered.filter(|_| !shown.suppressed),
        against_all: test.map(|(ratio, _)| ratio),
        p: test.map(|(_, p)| p),
        p_holm: None,
    }
}

/// Rating at the middle of a band named by its bounds.
fn middle(band: &str) -> Option<f64> {
    let (low, high) = band.split_once('-')?;
    let (low, high): (f64, f64) = (low.parse().ok()?, high.parse().ok()?);
    Some((low + high + 1.0) / 2.0)
}

fn trends(worked: &[(Place, Worked)], shown: &[Shown]) -> Vec<Trend> {
    let mut series: BTreeMap<(Measure, KindOrAll), Vec<Point<'_>>> = BTreeMap::new();
    for ((place, worked), shown) in worked.iter().zip(shown) {
        let rating = middle(&place.level.1).filter(|_| place.split == Split::Band);
        if let (Some(rating), Some(error)) = (rating, shown.error) {
            series
                .entry((place.measure, place.kind))
                .or_default()
                .push(Point {
                    rating,
                    figure: &worked.figure,
                    error,
                    wider: shown.wider,
                });
        }
    }
    series
        .into_iter()
        .filter_map(|((measure, kind), points)| {
            let slope = slope(&points, measure.scale(), LEVEL)?;
            Some(Trend {
                measure,
                kind: kind.map_or_else(|| "all".to_owned(), |kind| kind.to_string()),
                bands: points.len() as u32,
                per_100_points: slope.per_100.exp(),
                low: slope.low.exp(),
                high: slope.high.exp(),
                p: slope.p,
                p_holm: slope.p,
                p_line: slope.p_line,
            })
        })
        .collect()
}

/// Adjusts all tests together, and counts.
fn adjust(cells: &mut [BandCell], trends: &mut [Trend]) -> Multiplicity {
    let mut p: Vec<f64> = cells.iter().filter_map(|cell| cell.p).collect();
    p.extend(trends.iter().map(|trend| trend.p));
    let adjusted = holm(&p);
    let mut next = adjusted.iter().copied();
    for cell in cells.iter_mut().filter(|cell| cell.p.is_some()) {
        cell.p_holm = next.next();
    }
    for (trend, p) in trends.iter_mut().zip(next) {
        trend.p_holm = p;
    }
    let suppressed = cells.iter().filter(|cell| cell.suppressed).count();
    Multiplicity {
        cells: cells.len(),
        shown: cells.len() - suppressed,
        suppressed,
        tests: p.len(),
        below_raw: p.iter().filter(|p| **p < 0.05).count(),
        below_holm: adjusted.iter().filter(|p| **p < 0.05).count(),
    }
}
