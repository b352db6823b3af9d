//! Tests of a text column that a list of equal words cannot express: dates, names, players.

use hobble_terms::names::player_key;

/// What the text of a column must be like.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum TextTest<'a> {
    /// A date of this one or later, whatever its unknown parts are.
    Since(&'a str),
    /// A date of this one or earlier, whatever its unknown parts are.
    Until(&'a str),
    /// One of these, capital letters or small; one that ends in `*` stands for all that begin so,
    /// and [`NONE`] for a text that is missing.
    Named(&'a [String]),
    /// The key of one of these players.
    PlayerKey(Vec<String>),
}

/// The name of a text that is missing.
pub const NONE: &str = "none";

impl<'a> TextTest<'a> {
    /// The players of these names.
    pub fn players(names: &'a [String]) -> TextTest<'a> {
        TextTest::PlayerKey(names.iter().filter_map(|name| player_key(name)).collect())
    }

    /// Whether a text is like that; a missing date or player is not.
    pub fn accepts(&self, text: Option<&str>) -> bool {
        match self {
            TextTest::Since(first) => {
                text.is_some_and(|date| bound(date, FIRST) >= bound(first, FIRST))
            }
            TextTest::Until(last) => {
                text.is_some_and(|date| bound(date, LAST) <= bound(last, LAST))
            }
            TextTest::Named(names) => names.iter().any(|name| is_named(text, name)),
            TextTest::PlayerKey(keys) => {
                text.is_some_and(|key| keys.iter().any(|player| player == key))
            }
        }
    }
}

/// The first year, month and day there can be.
const FIRST: [u32; 3] = [0, 1, 1];

/// The last year, month and day there can be.
const LAST: [u32; 3] = [9999, 12, 31];

/// Year, month and day of a date as `2024.05.??` or `2024.05`; what it does not say is taken from
/// `unknown`.
fn bound(date: &str, unknown: [u32; 3]) -> [u32; 3] {
    let mut parts = date.split('.');
    unknown.map(|unknown| {
        let part = parts.next().and_then(|part| part.parse().ok());
        part.unwrap_or(unknown)
    })
}

fn is_named(text: Option<&str>, name: &str) -> bool {
    let Some(text) = text else {
        return name == NONE;
    };
    let (text, name) = (text.to_lowercase(), name.to_lowercase());
    match name.strip_suffix('*') {
        Some(beginning) => text.starts_with(beginning),
        None => text == name,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_date_passes_where_its_unknown_parts_cannot_decide() {
        let since = |first, date| TextTest::Since(first).accepts(Some(date));
        let until = |last, date| TextTest::Until(last).accepts(Some(date));
        assert!(since("2024", "2024.01.01") && since("2024", "2024.??.??"));
        assert!(since("2024.05", "2024.05.??") && !since("2024.05", "2024.??.??"));
        assert!(since("2024.05.17", "2024.05.17") && !since("2024.05.17", "2024.05.??"));
        assert!(!since("2024", "????.??.??") && !until("2024", "????.??.??"));
        assert!(until("2024", "2024.12.31") && until("2024", "2024.??.??"));
        assert!(until("2024.05", "2024.05.31") && !until("2024.05", "2024.??.??"));
        assert!(!until("2024.05.17", "2024.05.18") && until("2024.05.17", "2023.??.??"));
        assert!(!TextTest::Since("1").accepts(None) && !TextTest::Until("9999").accepts(None));
    }

    #[test]
    fn names_are_matched_by_letters_and_beginnings() {
        let names = ["Club night".to_owned(), "Open*".to_owned()];
        let named = |text| TextTest::Named(&names).accepts(text);
        assert!(
            named(Some("club NIGHT")) && named(Some("open of Marsh End")) && named(Some("Open"))
        );
        assert!(!named(Some("Club night 2")) && !named(Some("An open")) && !named(None));
        assert!(TextTest::Named(&[NONE.to_owned()]).accepts(None));
    }

    #[test]
    fn players_are_matched_by_their_keys() {
        let names = ["Orla Windlass".to_owned()];
        let test = TextTest::players(&names);
        let key = player_key("Windlass, Orla").unwrap();
        assert!(
            test.accepts(Some(&key)) && !test.accepts(Some("windlass o")) && !test.accepts(None)
        );
    }
}
