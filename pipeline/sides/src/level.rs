//! What sides are compared by, and the levels of each: squares beside the opponent's, pieces
//! held at once, pieces restrained at once.

use hobble_terms::words;

words! {
    /// What sides are compared by.
    Measure {
        /// Scope balance: safe squares of all its units less those of the opponent's.
        Scope = "scope balance",
        /// Pieces held at once.
        Held = "pieces held",
        /// Pieces restrained at once.
        Restrained = "pieces restrained",
    }
}

/// Upper ends of the levels of scope balance but the last. In the open archive (level positions
/// after a quiet ply, plies 20 to 80) they hold 0.4, 8, 24, 36, 23, 8 and 0.4 % of the positions:
/// the ends are thin but hold a thousand games each in the sample.
const SCOPE_ENDS: [i32; 6] = [-21, -11, -4, 3, 10, 20];

/// The most levels a measure has.
pub const MOST: usize = SCOPE_ENDS.len() + 1;

impl Measure {
    /// Number of levels.
    pub const fn levels(self) -> usize {
        match self {
            Measure::Scope => MOST,
            Measure::Held => 6,
            Measure::Restrained => 4,
        }
    }

    /// The level that the others are compared with: as many squares as the opponent, or no
    /// piece held.
    pub const fn reference(self) -> usize {
        match self {
            Measure::Scope => 3,
            Measure::Held | Measure::Restrained => 0,
        }
    }

    /// The level of a value.
    pub fn level(self, value: i32) -> usize {
        match self {
            Measure::Scope => SCOPE_ENDS.partition_point(|end| *end < value),
            Measure::Held | Measure::Restrained => {
                usize::try_from(value).map_or(0, |value| value.min(self.levels() - 1))
            }
        }
    }

    /// The least and the greatest value of a level, where it has an end.
    pub fn bounds(self, level: usize) -> (Option<i32>, Option<i32>) {
        match self {
            Measure::Scope => {
                let below = level.checked_sub(1).and_then(|below| SCOPE_ENDS.get(below));
                (below.map(|end| end + 1), SCOPE_ENDS.get(level).copied())
            }
            Measure::Held | Measure::Restrained => {
                let value = level as i32;
                (Some(value), (level + 1 < self.levels()).then_some(value))
            }
        }
    }

    /// A level in a few signs, for axes.
    pub fn short(self, level: usize) -> String {
        let signed = |value: i32| match value {
            ..0 => format!("\u{2212}{}", -value),
            0 => "0".to_owned(),
            _ => format!("+{value}"),
        };
        match (self, self.bounds(level)) {
            (Measure::Scope, (None, Some(high))) => format!("\u{2264}{}", signed(high)),
            (Measure::Scope, (Some(low), None)) => format!("\u{2265}{}", signed(low)),
            (Measure::Scope, (Some(low), Some(high))) => {
                format!("{} to {}", signed(low), signed(high))
            }
            (_, (Some(low), None)) => format!("{low}+"),
            (_, (low, _)) => low.unwrap_or(0).to_string(),
        }
    }

    /// A level as a club player would say it, behind `with`: `11 to 20 safe squares more than
    /// the opponent`.
    pub fn in_words(self, level: usize) -> String {
        let noun = match self {
            Measure::Scope => return scope_in_words(self.bounds(level)),
            Measure::Held => "held",
            Measure::Restrained => "restrained",
        };
        match self.bounds(level) {
            (Some(0), _) => format!("no piece {noun}"),
            (Some(1), Some(1)) => format!("one piece {noun}"),
            (Some(low), None) => format!("{low} or more pieces {noun}"),
            (low, _) => format!("{} pieces {noun}", low.unwrap_or(0)),
        }
    }
}

fn scope_in_words(bounds: (Option<i32>, Option<i32>)) -> String {
    match bounds {
        (None, Some(high)) => format!("at least {} safe squares fewer", -high),
        (Some(low), None) => format!("at least {low} safe squares more"),
        (Some(low), Some(high)) if high < 0 => {
            format!("{} to {} safe squares fewer", -high, -low)
        }
        (Some(low), Some(high)) if low > 0 => format!("{low} to {high} safe squares more"),
        _ => "about as many safe squares".to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn values_have_the_level_whose_bounds_hold_them() {
        for measure in Measure::ALL {
            for value in -40..=40 {
                let (low, high) = measure.bounds(measure.level(value));
                let value = match measure {
                    Measure::Scope => value,
                    _ => value.max(0),
                };
                assert!(low.is_none_or(|low| low <= value), "{measure} {value}");
                assert!(high.is_none_or(|high| value <= high), "{measure} {value}");
            }
            let (low, high) = measure.bounds(measure.reference());
            assert!(low.is_some_and(|low| low <= 0) && high.is_some_and(|high| high >= 0));
        }
    }

    #[test]
    fn names() {
        let short: Vec<String> = (0..7).map(|level| Measure::Scope.short(level)).collect();
        assert_eq!(short[0], "\u{2264}\u{2212}21");
        assert_eq!(short[3], "\u{2212}3 to +3");
        assert_eq!(short[6], "\u{2265}+21");
        assert_eq!(Measure::Held.short(5), "5+");
        assert_eq!(Measure::Scope.in_words(1), "11 to 20 safe squares fewer");
        assert_eq!(Measure::Scope.in_words(3), "about as many safe squares");
        assert_eq!(Measure::Held.in_words(0), "no piece held");
        assert_eq!(
            Measure::Restrained.in_words(3),
            "3 or more pieces restrained"
        );
    }
}
