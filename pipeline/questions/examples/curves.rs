//! Prints the curves of the library for observations read from standard input, so that the
//! checks in `tests/statistics` can compare them with other programs.
//!
//! ```text
//! curves lost traded sold freed < observations.csv
//! ```
//!
//! Each line is `time,cause`: a whole number, and one of the causes named as arguments; any
//! other word, and none, means censored. The answer is one JSON object: `kaplan_meier`, whose
//! end is any of the causes, and `aalen_johansen`, with a list by cause in the order of the
//! arguments. Intervals are at 95%.

use std::io::{self, BufRead};
use std::process::ExitCode;

use hobble_questions::row::LEVEL;
use hobble_statistics::{Bounds, aalen_johansen, kaplan_meier, quantile};
use serde_json::{Value, json};

fn main() -> ExitCode {
    let causes: Vec<String> = std::env::args().skip(1).collect();
    if causes.is_empty() {
        return failed("name the causes as arguments");
    }
    let mut observations = Vec::new();
    for (number, line) in io::stdin().lock().lines().enumerate() {
        let number = number + 1;
        let line = match line {
            Ok(line) => line,
            Err(error) => return failed(&format!("line {number}: {error}")),
        };
        let Some((time, cause)) = line.split_once(',') else {
            return failed(&format!("line {number}: no comma in `{line}`"));
        };
        let Ok(time) = time.trim().parse::<u32>() else {
            return failed(&format!("line {number}: `{time}` is no time"));
        };
        let cause = causes.iter().position(|name| name == cause.trim());
        observations.push((time, cause));
    }
    println!("{}", curves(&observations, causes.len()));
    ExitCode::SUCCESS
}

fn failed(why: &str) -> ExitCode {
    eprintln!("curves: {why}");
    ExitCode::FAILURE
}

fn curves(observations: &[(u32, Option<usize>)], causes: usize) -> Value {
    let z = quantile::normal(LEVEL);
    let survival = kaplan_meier::estimate(
        observations
            .iter()
            .map(|&(time, cause)| (time, cause.is_some())),
    );
    let incidence = aalen_johansen::estimate(observations.iter().copied(), causes);
    json!({
        "kaplan_meier": survival.iter().map(|step| json!({
            "time": step.time,
            "at_risk": step.at_risk,
            "events": step.events,
            "survival": step.survival,
            "variance": step.variance,
            "interval": bounds(step.interval(z)),
        })).collect::<Vec<_>>(),
        "aalen_johansen": incidence.iter().map(|step| json!({
            "time": step.time,
            "at_risk": step.at_risk,
            "survival": step.survival,
            "causes": step.causes.iter().map(|cause| json!({
                "events": cause.events,
                "incidence": cause.incidence,
                "variance": cause.variance,
                "interval": bounds(cause.interval(z)),
            })).collect::<Vec<_>>(),
        })).collect::<Vec<_>>(),
    })
}

fn bounds(bounds: Option<Bounds>) -> Value {
    bounds.map_or(Value::Null, |bounds| json!([bounds.low, bounds.high]))
}
