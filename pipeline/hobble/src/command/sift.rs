//! `hobble sift`

use std::fs;
use std::io::{Write as _, stdout};

use anyhow::Context as _;
use hobble_dataset::Dataset;
use hobble_report::Reported as _;
use hobble_sift::grid::SHIPPED;
use hobble_sift::{Grid, ledger, sift};

use crate::arguments::Sift;
use crate::command::ask::write_file;
use crate::words::{line, say_unfinished};

/// Tries a grid of claims, and writes the league and the claims' files.
pub fn run(arguments: &Sift) -> anyhow::Result<bool> {
    let grid = match &arguments.grid {
        None => Grid::parse("the grid of the program", SHIPPED)?,
        Some(path) => {
            let name = path.display().to_string();
            let text =
                fs::read_to_string(path).with_context(|| format!("{name}: cannot be read"))?;
            Grid::parse(&name, &text)?
        }
    };
    let dataset = Dataset::open(&arguments.data)?;
    let claims = arguments.out.join("claims");
    fs::create_dir_all(&claims).with_context(|| format!("{}: cannot be made", claims.display()))?;
    let ledger = arguments
        .ledger
        .clone()
        .unwrap_or_else(|| ledger::of(&arguments.data));
    let sifted = sift(&dataset, &grid, &claims, &ledger)?;
    let report = sifted.league.report();
    let text = hobble_report::text(&report);
    let files = [
        ("league.html", hobble_pages::page(&report)?),
        ("league.txt", text.clone()),
        ("league.csv", hobble_report::csv(&report)),
        ("league.json", hobble_report::json(&report)?),
    ];
    let mut out = stdout().lock();
    out.write_all(text.as_bytes())?;
    writeln!(out)?;
    for (name, text) in files {
        let path = arguments.out.join(name);
        write_file(&path, &text)?;
        writeln!(out, "{}", line(&path.to_string_lossy()))?;
    }
    for path in &sifted.claims {
        writeln!(out, "{}", line(&path.to_string_lossy()))?;
    }
    say_unfinished(
        &dataset,
        &arguments.data,
        "what was scanned later would be new to both halves",
    );
    Ok(true)
}
