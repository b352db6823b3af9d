//! What a form or an address says: names and values, in order, names repeated.

/// Names and values of a form.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Form(pub Vec<(String, String)>);

impl Form {
    /// The first value of a name, blanks around it dropped; `None` where it is empty or not there.
    pub fn get<'a>(&'a self, name: &str) -> Option<&'a str> {
        let mut of_name = self.0.iter().filter(|(one, _)| one == name);
        of_name.find_map(|(_, value)| Some(value.trim()).filter(|value| !value.is_empty()))
    }

    /// The values of a name that are not empty, in order.
    pub fn all<'a>(&'a self, name: &'a str) -> impl Iterator<Item = &'a str> {
        let of_name = self.0.iter().filter(move |(one, _)| one == name);
        let trimmed = of_name.map(|(_, value)| value.trim());
        trimmed.filter(|value| !value.is_empty())
    }

    /// Whether a box with this value is ticked.
    pub fn has(&self, name: &str, value: &str) -> bool {
        self.all(name).any(|one| one == value)
    }

    /// A whole number, if it is one.
    pub fn number(&self, name: &str) -> Option<u64> {
        self.get(name)?.parse().ok()
    }

    /// The form as the query of an address, without these names.
    pub fn query(&self, without: &[&str]) -> String {
        let kept: Vec<_> = (self.0.iter())
            .filter(|(name, value)| !value.is_empty() && !without.contains(&name.as_str()))
            .collect();
        serde_urlencoded::to_string(kept).unwrap_or_default()
    }
}

#[cfg(test)]
mod tests {
    use super::Form;

    #[test]
    fn values_by_name() {
        let pairs = [
            ("kind", "knight"),
            ("kind", " rook "),
            ("k", ""),
            ("page", "3"),
        ];
        let pairs = pairs.map(|(name, value)| (name.to_owned(), value.to_owned()));
        let form = Form(pairs.to_vec());
        assert_eq!(form.all("kind").collect::<Vec<_>>(), ["knight", "rook"]);
        assert_eq!((form.get("k"), form.number("page")), (None, Some(3)));
        assert!(form.has("kind", "rook") && !form.has("kind", "queen"));
        assert_eq!(form.query(&["page"]), "kind=knight&kind=+rook+");
    }
}
