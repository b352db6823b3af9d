//! Each group's ratio over that of all groups together: does restraint weigh more in one group than
//! elsewhere?
//!
//! The jackknife leaves a fold out of the group and of the whole at once, so that it allows for the
//! group being a part of the whole.

use std::collections::BTreeMap;

use crate::answer::{RatioOfRatios, Row};
use crate::observations::Tables;
use hobble_statistics::holm::holm;
use hobble_statistics::jackknife;
use hobble_statistics::risk::Scale;
use hobble_statistics::standardise::Figures;
use hobble_statistics::{LEVEL, StandardError};

/// Puts beside each group's ratio how it compares with that of all groups, where both have an
/// interval. `tables` are those of the rows, in their order; the last row is that of all.
pub fn compare(rows: &mut [Row], tables: &[&Tables]) {
    let Some((of_all, groups)) = rows.split_last_mut() else {
        return;
    };
    let (Some((all, tables)), true) = (tables.split_last(), of_all.all) else {
        return;
    };
    if of_all.standardised.ratio.jackknife.is_none() {
        return;
    }
    let all = Ratios::of(all);
    let pairs = groups.iter_mut().zip(tables);
    let compared: Vec<&mut RatioOfRatios> = pairs
        .filter_map(|(row, tables)| {
            let df = row.standardised.ratio.jackknife?.df?;
            row.against_all = Ratios::of(tables).over(&all, df);
            row.against_all.as_mut()
        })
        .collect();
    let p: Vec<f64> = compared.iter().map(|one| one.p).collect();
    for (one, adjusted) in compared.into_iter().zip(holm(&p)) {
        one.p_holm = adjusted;
    }
}

/// A ratio, and the same without one fold each.
struct Ratios {
    whole: f64,
    without: BTreeMap<u32, f64>,
}

impl Ratios {
    fn of(tables: &Tables) -> Ratios {
        let log = |figures: &Figures| Scale::Log.forward(figures.ratio());
        let without = tables.turns.without_each_fold().into_iter();
        Ratios {
            whole: log(&tables.turns.figures()),
            without: without.map(|one| (one.fold, log(&one.figures))).collect(),
        }
    }

    /// Over the ratio of all, which has every fold that this one has.
    fn over(&self, all: &Ratios, df: u32) -> Option<RatioOfRatios> {
        let apart = self.whole - all.whole;
        let each = all.without.iter().map(|(fold, of_all)| {
            // A fold that the group lacks changes nothing of it.
            self.without.get(fold).unwrap_or(&self.whole) - of_all
        });
        let se = jackknife::standard_error(&each.collect::<Vec<_>>())?;
        let error = StandardError::new(se, df)?;
        let interval = error.interval(Scale::Log, apart.exp(), LEVEL)?;
        Some(RatioOfRatios {
            value: apart.exp(),
            low: interval.low,
            high: interval.high,
            se,
            df,
            p: error.p(apart)?,
            p_holm: 1.0,
        })
    }
}
