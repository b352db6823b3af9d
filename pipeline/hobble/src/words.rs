//! Numbers and names as a reader likes them.

/// A count in groups of three: 11,264,836 reads better than 11264836.
pub fn grouped(n: u64) -> String {
    let digits = n.to_string();
    let mut text = String::with_capacity(digits.len() + digits.len() / 3);
    for (i, digit) in digits.chars().enumerate() {
        if i > 0 && (digits.len() - i).is_multiple_of(3) {
            text.push(',');
        }
        text.push(digit);
    }
    text
}

/// `1 game`, `2 games`.
pub fn counted(n: u64, one: &str) -> String {
    if n == 1 {
        format!("1 {one}")
    } else {
        format!("{} {one}s", grouped(n))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn groups_of_three() {
        assert_eq!(grouped(0), "0");
        assert_eq!(grouped(999), "999");
        assert_eq!(grouped(11_264_836), "11,264,836");
    }
}
