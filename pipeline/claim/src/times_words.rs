//! A ratio in words: how many times as often, with its interval.

use hobble_conditions::words;
use hobble_statistics::{Estimate, Interval};

/// `1.6 times as often (1.2 to 2.4)`.
pub fn times(estimate: Estimate) -> String {
    ratio(estimate, "times as often")
}

/// `1.6` of something, with its interval behind it.
pub fn ratio(estimate: Estimate, what: &str) -> String {
    let Some(value) = estimate.value else {
        return format!("(no figure) {what}");
    };
    let digits = words::ratio_digits(estimate.jackknife);
    match estimate.jackknife {
        None => format!("{value:.digits$} {what}"),
        Some(Interval { low, high, .. }) => {
            format!("{value:.digits$} {what} ({low:.digits$} to {high:.digits$})")
        }
    }
}
