//! Dates of the season, counted in days from its first evening.

/// First day of the season: Monday 4 September 2023 (common practice, no source).
const FIRST: (u32, u32, u32) = (2023, 9, 4);

/// A calendar date.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Date {
    year: u32,
    month: u32,
    day: u32,
}

impl Date {
    /// The date `days` after the first day of the season.
    pub fn after(days: u32) -> Self {
        let (mut year, mut month, mut day) = FIRST;
        for _ in 0..days {
            day += 1;
            if day > days_in(year, month) {
                day = 1;
                month += 1;
            }
            if month > 12 {
                month = 1;
                year += 1;
            }
        }
        Self { year, month, day }
    }

    /// As the Date tag has it.
    pub fn tag(self) -> String {
        format!("{:04}.{:02}.{:02}", self.year, self.month, self.day)
    }

    /// A number that grows with the months.
    pub fn month_number(self) -> u32 {
        self.year * 12 + self.month
    }
}

fn days_in(year: u32, month: u32) -> u32 {
    match month {
        2 if year.is_multiple_of(4) && (!year.is_multiple_of(100) || year.is_multiple_of(400)) => {
            29
        }
        2 => 28,
        4 | 6 | 9 | 11 => 30,
        _ => 31,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn counts_over_the_new_year_and_the_leap_day() {
        assert_eq!(Date::after(0).tag(), "2023.09.04");
        assert_eq!(Date::after(26).tag(), "2023.09.30");
        assert_eq!(Date::after(27).tag(), "2023.10.01");
        assert_eq!(Date::after(119).tag(), "2024.01.01");
        assert_eq!(Date::after(178).tag(), "2024.02.29");
        assert_eq!(Date::after(179).tag(), "2024.03.01");
    }
}
