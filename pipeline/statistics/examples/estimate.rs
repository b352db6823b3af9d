//! Estimates from a CSV on standard input, as JSON: for the checks in tests/statistics.
//!
//! ```text
//! estimate conditional-logit      set,first,second,case,x…
//! estimate logit | log            first,second,trials,events,exposed,x…
//! estimate trend                  level,first,second,weight,outcome
//! estimate hazard                 turn,state,cluster,at_risk,events
//! estimate incidence              time,cluster,at_risk,cause…
//! estimate e-value                ratio,low,high
//! estimate false-discovery        p
//! ```

use std::io;

use anyhow::{Context, Result, bail};
use hobble_statistics::clusters::Clustering;
use hobble_statistics::conditional_logit::{self, MatchedSets};
use hobble_statistics::fit::Fit;
use hobble_statistics::g_computation::over_the_exposed;
use hobble_statistics::glm::{self, Link, Row, Rows};
use hobble_statistics::hazard::Hazards;
use hobble_statistics::incidence::Incidence;
use hobble_statistics::interval::{Bounds, Interval, LEVEL};
use hobble_statistics::risk::Scale;
use hobble_statistics::symmetric::Symmetric;
use hobble_statistics::trend::Levels;
use hobble_statistics::{e_value, false_discovery};
use serde_json::{Value, json};

fn main() -> Result<()> {
    let what = std::env::args().nth(1).context("which estimator?")?;
    let mut reader = csv::Reader::from_reader(io::stdin());
    let rows = reader
        .deserialize()
        .collect::<Result<Vec<Vec<f64>>, csv::Error>>()?;
    let answer = match what.as_str() {
        "conditional-logit" => matched(&rows)?,
        "logit" => model(&rows, Link::Logit)?,
        "log" => model(&rows, Link::Log)?,
        "trend" => trend(&rows),
        "hazard" => hazard(&rows),
        "incidence" => incidence(&rows),
        "e-value" => e_values(&rows),
        "false-discovery" => {
            let p: Vec<f64> = rows.iter().map(|row| row[0]).collect();
            json!(false_discovery::benjamini_hochberg(&p))
        }
        other => bail!("unknown estimator \"{other}\""),
    };
    println!("{answer}");
    Ok(())
}

fn matched(rows: &[Vec<f64>]) -> Result<Value> {
    let covariates = rows.first().context("no row")?.len() - 4;
    let mut sets = MatchedSets::new(covariates);
    for set in rows.chunk_by(|a, b| a[0] == b[0]) {
        let is_case: Vec<bool> = set.iter().map(|row| row[3] == 1.0).collect();
        let values: Vec<f64> = set.iter().flat_map(|row| row[4..].to_vec()).collect();
        sets.push([set[0][1] as u32, set[0][2] as u32], &is_case, &values);
    }
    Ok(json!({
        "sets": sets.counts.sets,
        "left_out": sets.counts.sets_left_out,
        "one_way": of_fit(&conditional_logit::fit(&sets, Clustering::OneWay)?),
        "two_ways": of_fit(&conditional_logit::fit(&sets, Clustering::TwoWay)?),
    }))
}

fn model(rows: &[Vec<f64>], link: Link) -> Result<Value> {
    let covariates = rows.first().context("no row")?.len() - 4;
    let mut data = Rows::new(covariates);
    for row in rows {
        let pattern = data.pattern(&row[4..]);
        data.push(Row {
            pattern,
            clusters: [row[0] as u32, row[1] as u32],
            trials: row[2],
            events: row[3],
        });
    }
    let standardised = |clustering| -> Result<Value> {
        let got = over_the_exposed(&data, 0, link, clustering)?;
        Ok(json!({
            "with": got.with,
            "without": got.without,
            "ratio": [got.ratio(), of_interval(got.ratio_interval(LEVEL))],
            "difference": [got.difference(), of_interval(got.difference_interval(LEVEL))],
            "without_interval": of_interval(got.without_interval(LEVEL)),
        }))
    };
    Ok(json!({
        "one_way": of_fit(&glm::fit(&data, link, Clustering::OneWay)?),
        "two_ways": of_fit(&glm::fit(&data, link, Clustering::TwoWay)?),
        "standardised": standardised(Clustering::OneWay)?,
        "standardised_two_ways": standardised(Clustering::TwoWay)?,
    }))
}

fn trend(rows: &[Vec<f64>]) -> Value {
    let levels = rows.iter().map(|row| row[0] as usize).max().unwrap_or(0) + 1;
    let mut data = Levels::new(levels, Clustering::TwoWay);
    for row in rows {
        data.add(
            row[0] as usize,
            [row[1] as u32, row[2] as u32],
            row[3],
            row[4],
        );
    }
    let doses: Vec<f64> = (0..levels).map(|level| level as f64).collect();
    let of = |scale| {
        data.trend(&doses, scale).map(|trend| {
            json!({
                "slope": trend.slope,
                "intercept": trend.intercept,
                "se": trend.error.map(|error| error.se),
                "p": trend.p,
                "departure": trend.departure.map(|wald| json!([wald.statistic, wald.figures, wald.p])),
            })
        })
    };
    json!({"plain": of(Scale::Plain), "log": of(Scale::Log), "logit": of(Scale::Logit)})
}

fn hazard(rows: &[Vec<f64>]) -> Value {
    let mut data = Hazards::new(Clustering::OneWay);
    for row in rows {
        let place = (row[0] as u32, row[1] as u32);
        data.add(place, [row[2] as u32, 0], row[3], row[4]);
    }
    let rates: Vec<Value> = data
        .rates(LEVEL)
        .iter()
        .map(|rate| {
            json!([
                rate.turn,
                rate.state,
                rate.value,
                of_interval(rate.interval)
            ])
        })
        .collect();
    let ratio = data.ratio(1, 0).ok();
    json!({
        "rates": rates,
        "ratio": ratio.map(|ratio| json!({
            "log": ratio.log,
            "model_se": ratio.model_error,
            "se": ratio.error.map(|error| error.se),
        })),
    })
}

fn incidence(rows: &[Vec<f64>]) -> Value {
    let causes = rows.first().map_or(0, |row| row.len() - 3);
    let mut data = Incidence::new(causes, Clustering::OneWay);
    for row in rows {
        data.add(row[0] as u32, [row[1] as u32, 0], row[2], &row[3..]);
    }
    let curves: Vec<Value> = data
        .curves(LEVEL)
        .iter()
        .map(|point| {
            let of_cause: Vec<Value> = point
                .causes
                .iter()
                .map(|cause| json!([cause.value, of_interval(cause.interval)]))
                .collect();
            json!([point.time, point.free, of_cause])
        })
        .collect();
    json!(curves)
}

fn e_values(rows: &[Vec<f64>]) -> Value {
    let of = |row: &Vec<f64>| {
        let bounds = Bounds {
            low: row[1],
            high: row[2],
        };
        e_value::of_interval(row[0], bounds).map(|got| [got.estimate, got.limit])
    };
    json!(rows.iter().map(of).collect::<Vec<_>>())
}

fn of_fit(fit: &Fit) -> Value {
    json!({
        "coefficients": fit.coefficients,
        "covariance": of_matrix(&fit.covariance),
        "clustered": of_matrix(&fit.clustered.matrix),
        "clusters": fit.clustered.clusters,
        "clipped": fit.clustered.clipped,
        "log_likelihood": fit.log_likelihood,
        "p": (0..fit.coefficients.len()).map(|at| fit.p(at)).collect::<Vec<_>>(),
    })
}

fn of_matrix(matrix: &Symmetric) -> Vec<Vec<f64>> {
    (0..matrix.size())
        .map(|row| (0..matrix.size()).map(|at| matrix.get(row, at)).collect())
        .collect()
}

fn of_interval(interval: Option<Interval>) -> Value {
    json!(interval.map(|interval| json!([interval.low, interval.high, interval.se])))
}
