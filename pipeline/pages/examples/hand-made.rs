//! Writes pages of hand-made answers into a folder, for the browser tests in `tests/pages`.

use std::path::Path;

use anyhow::{Context as _, Result};
use hobble_comparison::report;
use hobble_pages::plot::{Draw as _, Width};
use hobble_pages::style;
use hobble_pages::svg::Words;
use hobble_report::plot::{Curve, Incidence, Step};

#[path = "../tests/common/mod.rs"]
mod common;

fn main() -> Result<()> {
    let folder = std::env::args().nth(1).context("usage: hand-made FOLDER")?;
    std::fs::create_dir_all(&folder).with_context(|| format!("{folder} cannot be made"))?;
    for (name, answer) in [
        ("plain", common::answer()),
        ("hostile", common::hostile()),
        ("empty", common::empty()),
        ("many", common::many()),
    ] {
        let file = Path::new(&folder).join(format!("{name}.html"));
        write(&file, &hobble_pages::page(&report(&answer))?)?;
    }
    write(&Path::new(&folder).join("curves.html"), &curves()?)
}

fn write(file: &Path, html: &str) -> Result<()> {
    std::fs::write(file, html).with_context(|| format!("{} cannot be written", file.display()))?;
    println!("{}", file.display());
    Ok(())
}

/// A page with nothing but curves, whose figures are made up.
fn curves() -> Result<String> {
    let curve = |label: &str, reach: f64, pace: f64| Curve {
        label: label.to_owned(),
        steps: (1..=40)
            .map(|ply| {
                let moves = f64::from(ply) / 2.0;
                let share = reach * (1.0 - (-moves / pace).exp());
                let half = 0.004 + 0.06 * share;
                Step {
                    moves,
                    share,
                    interval: Some(((share - half).max(0.0), share + half)),
                }
            })
            .collect(),
    };
    let curves = [
        curve("lost", 0.09, 6.0),
        curve("traded", 0.21, 5.0),
        curve("freed", 0.58, 2.0),
        curve("game over", 0.1, 25.0),
    ];
    let plot = Incidence {
        curves: curves.to_vec(),
        moves: 20.0,
        axis: "share of spells".to_owned(),
    };
    let picture = |id, width| {
        let words = Words {
            id,
            title: "How spells end",
            description: "After 20 moves: lost 9%, traded 21%, freed 58%, game over 6%.",
        };
        plot.draw(words, width)
    };
    Ok(format!(
        "<!doctype html><html lang=\"en\"><head><meta charset=\"utf-8\">\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\
         <meta http-equiv=\"Content-Security-Policy\" \
         content=\"default-src 'none'; style-src 'unsafe-inline'\">\
         <title>Curves</title><style>{}</style></head><body><main><h1>Curves</h1>\
         <figure class=\"drawn\">{}{}</figure></main></body></html>",
        style(),
        picture("curves-wide", Width::Wide)?,
        picture("curves-narrow", Width::Narrow)?,
    ))
}
