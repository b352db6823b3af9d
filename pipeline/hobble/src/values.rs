//! Values of options, read from the words given.

use hobble_terms::Phase;

/// A phase by its name.
pub fn phase_of(name: &str) -> Result<Phase, String> {
    let names = Phase::ALL.map(Phase::name).join(", ");
    Phase::from_name(name).ok_or_else(|| format!("unknown phase; there are {names}"))
}

/// Two ratings, the lower first.
pub fn rating_of(text: &str) -> Result<(u16, u16), String> {
    let bounds = text
        .split_once('-')
        .and_then(|(low, high)| Some((low.parse().ok()?, high.parse().ok()?)));
    bounds
        .filter(|(low, high)| low <= high)
        .ok_or_else(|| "two ratings, the lower first, as 1600-2200".to_owned())
}
