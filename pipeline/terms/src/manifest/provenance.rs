//! Where an archive comes from, and when and by which program it was scanned.

use serde::{Deserialize, Serialize};

use super::Source;

/// What a scan is given of its archives and of its program, beside what decides about rows.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Provenance {
    /// Where the archives come from, in the user's words.
    pub origin: Option<String>,
    /// Licence of the archives, in the user's words.
    pub licence: Option<String>,
    /// Commit that the program was built from, where that is known.
    pub commit: Option<String>,
    /// Date and time noted instead of the clock's.
    pub date: Option<String>,
}

/// When and by which program an archive was read to its end.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Scanned {
    /// Date and time in UTC (ISO 8601), as `2031-05-04T09:30:00Z`.
    pub at: String,
    /// Version of the program.
    pub hobble: String,
    /// Commit that the program was built from; `+changed` behind it where files were changed
    /// since. Empty where the program was built without its history.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub commit: Option<String>,
}

impl Scanned {
    /// A scan by this program that ended at a time in UTC.
    pub fn by_this_program(at: String, commit: Option<String>) -> Scanned {
        Scanned {
            at,
            hobble: env!("CARGO_PKG_VERSION").to_owned(),
            commit,
        }
    }
}

impl Source {
    /// Notes where the archive comes from. What is not given now stays as it was.
    pub fn note_origin(&mut self, given: &Provenance) {
        let note = |field: &mut Option<String>, given: &Option<String>| {
            if given.is_some() {
                field.clone_from(given);
            }
        };
        note(&mut self.origin, &given.origin);
        note(&mut self.licence, &given.licence);
    }

    /// Takes over what another scan of the same archive was given, where this one was not, and the
    /// later of both dates.
    pub fn join_provenance(&mut self, other: &Source) {
        let fill = |field: &mut Option<String>, other: &Option<String>| {
            if field.is_none() {
                field.clone_from(other);
            }
        };
        fill(&mut self.origin, &other.origin);
        fill(&mut self.licence, &other.licence);
        // Dates of this form stand in the order of time.
        let at = |scanned: &Option<Scanned>| scanned.as_ref().map(|scanned| scanned.at.clone());
        if at(&other.scanned) > at(&self.scanned) {
            self.scanned.clone_from(&other.scanned);
        }
    }

    /// Forgets all that two scans of the same bytes may say differently.
    pub(super) fn without_provenance(mut self) -> Source {
        self.origin = None;
        self.licence = None;
        self.scanned = None;
        self
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn source(at: &str, origin: Option<&str>) -> Source {
        Source {
            origin: origin.map(str::to_owned),
            scanned: Some(Scanned::by_this_program(at.to_owned(), None)),
            ..Source::default()
        }
    }

    #[test]
    fn what_is_given_later_counts_and_nothing_given_changes_nothing() {
        let mut archive = source("2031-05-04T09:30:00Z", Some("a club"));
        archive.note_origin(&Provenance::default());
        assert_eq!(archive.origin.as_deref(), Some("a club"));
        archive.note_origin(&Provenance {
            origin: Some("another club".to_owned()),
            licence: Some("CC0-1.0".to_owned()),
            ..Provenance::default()
        });
        assert_eq!(archive.origin.as_deref(), Some("another club"));
        assert_eq!(archive.licence.as_deref(), Some("CC0-1.0"));
    }

    #[test]
    fn stripes_of_one_archive_are_one_scan_whenever_they_ended() {
        let mut first = source("2031-05-04T09:30:00Z", None);
        let second = source("2031-05-05T08:00:00Z", Some("a club"));
        assert!(first.is_scan_of_same(&second));
        first.join_provenance(&second);
        assert_eq!(first, second);
        first.join_provenance(&source("2030-01-01T00:00:00Z", None));
        assert_eq!(first, second);
    }
}
