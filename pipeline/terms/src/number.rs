//! Whole numbers in words.

/// A whole number with commas between thousands: `1,234,567`.
pub fn count(number: u64) -> String {
    let digits = number.to_string();
    let mut out = String::with_capacity(digits.len() + digits.len() / 3);
    for (index, digit) in digits.chars().enumerate() {
        if index > 0 && (digits.len() - index).is_multiple_of(3) {
            out.push(',');
        }
        out.push(digit);
    }
    out
}

/// `1 game`, `2 games`.
pub fn counted(number: u64, noun: &str) -> String {
    let s = if number == 1 { "" } else { "s" };
    format!("{} {noun}{s}", count(number))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn digits_stand_in_groups_of_three() {
        assert_eq!(count(0), "0");
        assert_eq!(count(999), "999");
        assert_eq!(count(1_000), "1,000");
        assert_eq!(count(12_345_678), "12,345,678");
        assert_eq!(counted(1, "turn"), "1 turn");
        assert_eq!(counted(1_200, "turn"), "1,200 turns");
    }
}
