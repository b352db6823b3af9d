//! The secret in the desk's address.
//!
//! It stands in the path, not in a cookie: cookies of the loopback interface are sent to every
//! port, so that any other local server would be handed them (RFC 6265, section 8.5).

use std::fmt::Write as _;

/// 128 random bits as 32 hexadecimal digits, new at every start.
#[derive(Clone)]
pub struct Secret(String);

impl Secret {
    /// A fresh secret from the operating system.
    ///
    /// # Errors
    ///
    /// Where the system gives no random bytes.
    pub fn fresh() -> anyhow::Result<Secret> {
        let mut bytes = [0; 16];
        getrandom::fill(&mut bytes)
            .map_err(|error| anyhow::anyhow!("no random bytes for the address: {error}"))?;
        let mut text = String::with_capacity(32);
        for byte in bytes {
            let _ = write!(text, "{byte:02x}");
        }
        Ok(Secret(text))
    }

    /// The digits.
    pub fn text(&self) -> &str {
        &self.0
    }

    /// Whether a text is the secret. The time taken does not tell how much of it is right.
    pub fn is(&self, text: &str) -> bool {
        let (own, other) = (self.0.as_bytes(), text.as_bytes());
        let differing = own.iter().zip(other).fold(0, |sum, (a, b)| sum | (a ^ b));
        own.len() == other.len() && std::hint::black_box(differing) == 0
    }
}

#[cfg(test)]
mod tests {
    use super::Secret;

    #[test]
    fn secrets_are_fresh_and_known_again() {
        let (one, other) = (Secret::fresh().unwrap(), Secret::fresh().unwrap());
        assert_eq!(one.text().len(), 32);
        assert!(one.is(one.text()) && !one.is(other.text()));
        assert!(!one.is("") && !one.is(&one.text()[1..]));
        assert!(!one.is(&format!("{}0", one.text())));
    }
}
