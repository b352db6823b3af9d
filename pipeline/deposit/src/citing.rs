//! What a repository and those who cite need: `datacite.json` (DataCite Metadata Schema 4.5,
//! DataCite e.V. 2024, in its JSON form) and `CITATION.cff` (Citation File Format 1.2.0, Druskat and
//! others 2021).

use hobble_terms::manifest::Manifest;
use serde_json::{Value, json};

use crate::About;

/// What stands for a value that is not known (DataCite Metadata Schema, appendix "Standard values
/// for unknown information").
const UNAVAILABLE: &str = ":unav";

/// Title of the deposit: as given, or from its archives.
pub fn title(manifest: &Manifest, about: &About) -> String {
    let archives = || {
        let names: Vec<&str> = manifest
            .sources
            .iter()
            .map(|source| source.file.as_str())
            .collect();
        match names.as_slice() {
            [] => "no archive".to_owned(),
            [one] => (*one).to_owned(),
            [first, others @ ..] => format!("{first} and {} more", others.len()),
        }
    };
    let given = about.title.clone();
    given.unwrap_or_else(|| format!("Restraint in chess games: tables of {}", archives()))
}

/// What the deposit is, in two sentences.
pub fn abstract_of(manifest: &Manifest) -> String {
    let account = manifest.account();
    format!(
        "Tables about {} chess games: how many safe squares each piece has at each move, what took \
         them away, and what became of the piece. Made by hobble {}, definitions version {}.",
        account.kept, manifest.hobble, manifest.definitions
    )
}

/// How the tables came about: what was read, of which archives, when.
fn methods(manifest: &Manifest) -> String {
    let account = manifest.account();
    let mut text = format!(
        "Games read {}, kept {}, repeats left out {}, skipped {}.",
        account.read,
        account.kept,
        account.repeats,
        account.skipped_total()
    );
    for source in &manifest.sources {
        text += &format!(" Archive {}", source.file);
        if let Some(sha256) = &source.contents.sha256 {
            text += &format!(", SHA-256 {sha256}");
        }
        if let Some(origin) = &source.origin {
            text += &format!(", from {origin}");
        }
        if let Some(licence) = &source.licence {
            text += &format!(", licence {licence}");
        }
        if let Some(scanned) = &source.scanned {
            text += &format!(", scanned {} by hobble {}", scanned.at, scanned.hobble);
            if let Some(commit) = &scanned.commit {
                text += &format!(" ({commit})");
            }
        }
        text.push('.');
    }
    text
}

/// Family and given name of a person given as `Family, Given`; `None` for a group.
fn person(name: &str) -> Option<(&str, &str)> {
    let (family, given) = name.split_once(',')?;
    let (family, given) = (family.trim(), given.trim());
    (!family.is_empty() && !given.is_empty()).then_some((family, given))
}

/// The text of `datacite.json`.
///
/// # Errors
///
/// None in practice: it holds nothing that JSON cannot.
pub fn datacite(manifest: &Manifest, about: &About) -> serde_json::Result<String> {
    let creator = |name: &String| match person(name) {
        Some((family, given)) => json!({
            "name": format!("{family}, {given}"),
            "nameType": "Personal",
            "familyName": family,
            "givenName": given,
        }),
        None => json!({"name": name, "nameType": "Organizational"}),
    };
    let mut creators: Vec<Value> = about.creators.iter().map(creator).collect();
    if creators.is_empty() {
        creators.push(json!({"name": UNAVAILABLE}));
    }
    let mut record = json!({
        "schemaVersion": "http://datacite.org/schema/kernel-4",
        "creators": creators,
        "titles": [{"title": title(manifest, about), "lang": "en"}],
        "publisher": {"name": about.publisher.as_deref().unwrap_or(UNAVAILABLE)},
        "publicationYear": about.date.get(..4).unwrap_or(UNAVAILABLE),
        "types": {"resourceTypeGeneral": "Dataset", "resourceType": "Parquet tables"},
        "subjects": [{"subject": "chess"}, {"subject": "piece mobility"}],
        "dates": [{"date": about.date, "dateType": "Created"}],
        "language": "en",
        "formats": ["application/vnd.apache.parquet"],
        "version": manifest.hobble,
        "descriptions": [
            {"description": abstract_of(manifest), "descriptionType": "Abstract"},
            {"description": methods(manifest), "descriptionType": "Methods"},
        ],
    });
    if let Some(licence) = &about.licence {
        record["rightsList"] = json!([{"rights": licence}]);
    }
    Ok(serde_json::to_string_pretty(&record)? + "\n")
}

/// The text of `CITATION.cff`. A text in quotation marks as JSON has it is one in YAML 1.2 as well
/// (YAML 1.2.2, section 1.2).
pub fn citation_file(manifest: &Manifest, about: &About) -> String {
    let quoted = |text: &str| Value::from(text).to_string();
    let mut text = format!(
        "cff-version: 1.2.0\nmessage: {}\ntype: dataset\ntitle: {}\nabstract: {}\nversion: {}\n",
        quoted("Please cite these tables as below."),
        quoted(&title(manifest, about)),
        quoted(&abstract_of(manifest)),
        quoted(&manifest.hobble)
    );
    if let Some(date) = about.date.get(..10) {
        text += &format!("date-released: {}\n", quoted(date));
    }
    text += "authors:\n";
    for name in &about.creators {
        text += &match person(name) {
            Some((family, given)) => format!(
                "  - family-names: {}\n    given-names: {}\n",
                quoted(family),
                quoted(given)
            ),
            None => format!("  - name: {}\n", quoted(name)),
        };
    }
    if about.creators.is_empty() {
        text += &format!("  - name: {}\n", quoted(UNAVAILABLE));
    }
    text += "keywords:\n  - \"chess\"\n  - \"piece mobility\"\n";
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn people_and_groups() {
        assert_eq!(person("Windlass, Orla"), Some(("Windlass", "Orla")));
        assert_eq!(person("Club of Tarn"), None);
        assert_eq!(person("Windlass,"), None);
    }
}
