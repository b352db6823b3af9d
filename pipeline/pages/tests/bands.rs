//! The page of a report by rating band, from an answer built by hand.

use anyhow::Result;
use hobble_bands::report;
use hobble_bands::{
    BandCell, BandsAnswer, BandsParameters, FORMAT, Measure, Multiplicity, ScanParameters, Split,
    Trend,
};
use hobble_conditions::QuestionText;
use hobble_conditions::terms::YesNo;
use hobble_dataset::DatasetSummary;
use hobble_pages::page;
use hobble_report::Method;

#[path = "common/parts.rs"]
mod parts;
use parts::{dataset, says, section};

fn cell(measure: Measure, split: Split, level: &str, kind: &str, value: f64) -> BandCell {
    BandCell {
        measure,
        split,
        level: level.to_owned(),
        kind: kind.to_owned(),
        estimate: Some(value),
        low: Some(value * 0.9),
        high: Some(value * 1.1),
        n: 1_234,
        folds: 60,
        n_unit: measure.counted().to_owned(),
        unit: measure.unit().to_owned(),
        method: String::new(),
        suppressed: false,
        players: None,
        largest_share: None,
        covered: None,
        against_all: None,
        p: None,
        p_holm: None,
    }
}

const MEASURES: [(Measure, f64); 5] = [
    (Measure::RestraintsPerGame, 0.8),
    (Measure::RestraintsLost, 0.015),
    (Measure::HeldShare, 0.2),
    (Measure::ReleaseRate, 0.25),
    (Measure::LossRisk, 0.15),
];

fn cells() -> Vec<BandCell> {
    let mut cells = Vec::new();
    for (measure, value) in MEASURES {
        cells.push(cell(measure, Split::All, "all", "all", value));
        for level in ["1200-1399", "1400-1599", "missing"] {
            for kind in ["all", "knight"] {
                cells.push(cell(measure, Split::Band, level, kind, value));
            }
        }
    }
    let few = cells.iter_mut().filter(|cell| cell.level == "missing");
    for cell in few {
        (cell.estimate, cell.low, cell.high) = (None, None, None);
        (cell.suppressed, cell.n) = (true, 7);
    }
    for cell in &mut cells {
        if cell.measure == Measure::HeldShare && cell.level == "1400-1599" {
            cell.p_holm = Some(0.01);
        }
    }
    cells
}

fn answer() -> BandsAnswer {
    BandsAnswer {
        format: FORMAT,
        about: "bands",
        hobble: "0.1.0".to_owned(),
        definitions: 1,
        question: QuestionText {
            name: "restraint-by-band".to_owned(),
            title: "Restraint by <band>".to_owned(),
            text: "What is measured.".to_owned(),
        },
        parameters: BandsParameters {
            k: 2,
            within: 10,
            developed: YesNo::Yes,
            band_width: 200,
            split: vec![Split::Band],
            minimum_turns: 100,
            minimum_games: 20,
            minimum_folds: 5,
            level: 0.95,
        },
        dataset: DatasetSummary {
            read: 400,
            kept: 399,
            skipped: 1,
            skipped_by_reason: [("illegal move".to_owned(), 1)].into(),
            ..dataset("season.pgn", 399)
        },
        scan: ScanParameters {
            time_cuts: vec![180, 480, 1500],
        },
        cells: cells(),
        trends: vec![Trend {
            measure: Measure::LossRisk,
            kind: "all".to_owned(),
            bands: 8,
            per_100_points: 0.95,
            low: 0.93,
            high: 0.97,
            p: 0.0001,
            p_holm: 0.0004,
            p_line: 0.6,
        }],
        rating_models: Vec::new(),
        multiplicity: Multiplicity {
            cells: 21,
            shown: 15,
            suppressed: 6,
            tests: 12,
            below_raw: 2,
            below_holm: 1,
        },
        methods: vec![Method {
            name: "Holm's adjustment".to_owned(),
            text: "All tests together.".to_owned(),
            source: "Holm 1979".to_owned(),
        }],
        methods_text: vec!["The games come from one file.".to_owned()],
        citation: "season.pgn".to_owned(),
        notes: vec!["A caution.".to_owned()],
    }
}

#[test]
fn the_page_says_what_holds_of_all_games_and_by_band() -> Result<()> {
    let html = page(&report(&answer()))?;
    let found = section(&html, "found");
    says(
        found,
        &[
            "pieces were restrained 0.80 (0.72 to 0.88) times a game. A restrained piece was lost within 10 moves in 1.50% (1.35 to 1.65%).",
            "held, restrained or not, to 2 safe squares or fewer at 20.0% (18.0 to 22.0%) of their turns",
            "Odds of loss risk, raw: falls with the rating. For each 100 rating points \u{2212}5.00% (\u{2212}7.00% to \u{2212}3.00%); p below 0.001 by Holm\u{2019}s adjustment, of a straight line 0.600; 8 bands.",
            "players of different bands",
        ],
    );
    let band = section(&html, "band");
    assert!(band.contains("id=\"band-all-wide\"") && band.contains("id=\"band-kinds-narrow\""));
    // A level that differs is marked; one with too few shows what it is out of.
    assert!(band.contains("20.0%*"), "{band}");
    let missing = band.split_once("<th scope=\"row\">missing</th>");
    let missing = missing.and_then(|(_, rest)| rest.split_once("</tr>"));
    let missing = missing.map_or("", |(row, _)| row);
    assert_eq!(missing.matches("too few games").count(), 5, "{missing}");
    assert_eq!(missing.matches("of 7<").count(), 5, "{missing}");
    assert!(section(&html, "many").contains("Holm&#x27;s adjustment for all tests"));
    let method = section(&html, "method");
    assert!(method.contains("All tests together.") && method.contains("Citation"));
    assert!(section(&html, "data").contains("illegal move"));
    Ok(())
}

/// A level without an interval is a gap: nothing is drawn of it, and its words say so.
#[test]
fn nothing_is_drawn_without_an_interval() -> Result<()> {
    let mut answer = answer();
    for cell in &mut answer.cells {
        (cell.low, cell.high) = (None, None);
    }
    let html = page(&report(&answer))?;
    assert!(!section(&html, "band").contains("<circle"));
    assert!(page(&report(&self::answer()))?.contains("<circle"));
    Ok(())
}
