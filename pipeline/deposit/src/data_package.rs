//! `datapackage.json`: every file, and by table every column (Data Package, version 1, Open
//! Knowledge Foundation, with its parts Data Resource and Table Schema).
//!
//! The columns come from the one declaration of each table, as the schema files and the codebook
//! do. Beside what the standard knows, a field says its `unit` and what an empty value means
//! (`null_means`), and a table the version of its columns and of the definitions.

use std::collections::BTreeSet;

use hobble_archive::stream::sha256;
use hobble_tables::description::{ColumnDescription, ColumnType, NEVER, TableDescription};
use hobble_tables::schema::describe;
use hobble_terms::Table;
use hobble_terms::manifest::{Manifest, Source};
use serde_json::{Value, json};

use crate::About;
use crate::citing::{abstract_of, title};
use crate::files::DepositedFile;

/// The column that readers add from the names of folders.
const SOURCE: &str = "source";

/// The descriptor of the package; `texts` are the other files in it.
///
/// # Errors
///
/// None in practice: it holds nothing that JSON cannot.
pub fn data_package(
    manifest: &Manifest,
    about: &About,
    files: &[DepositedFile],
    texts: &[(&str, String)],
) -> serde_json::Result<String> {
    let mut resources: Vec<Value> = files.iter().map(resource).collect();
    let others = texts.iter().filter_map(|(name, text)| other(name, text));
    resources.extend(others);
    let contributors = about.creators.iter();
    let mut package = json!({
        "profile": "data-package",
        "name": "restraint-in-chess",
        "title": title(manifest, about),
        "description": abstract_of(manifest),
        "created": about.date,
        "version": manifest.hobble,
        "keywords": ["chess", "restraint", "mobility", "games"],
        "contributors": contributors
            .map(|name| json!({"title": name, "role": "author"}))
            .collect::<Vec<_>>(),
        "sources": manifest.sources.iter().flat_map(sources).collect::<Vec<_>>(),
        "resources": resources,
    });
    if let Some(licence) = &about.licence {
        package["licenses"] = json!([licence_of(licence)]);
    }
    if about.creators.is_empty() {
        package
            .as_object_mut()
            .map(|all| all.remove("contributors"));
    }
    Ok(serde_json::to_string_pretty(&package)? + "\n")
}

/// A file of a table.
fn resource(file: &DepositedFile) -> Value {
    let DepositedFile {
        table,
        source,
        part,
        path,
        ..
    } = file;
    json!({
        "name": format!("{table}-{:.12}", sha256(path.as_bytes())),
        "title": format!("{table}, source {source}, part {part}"),
        "description": describe(*table).text,
        "path": path,
        "format": "parquet",
        "mediatype": "application/vnd.apache.parquet",
        "bytes": file.bytes,
        "hash": format!("sha256:{}", file.sha256),
        "rows": file.rows,
        "schema": schema_path(*table),
    })
}

/// A file beside the tables.
fn other(name: &str, text: &str) -> Option<Value> {
    let (title, format, mediatype) = match name {
        "codebook.csv" => ("One row a variable of the tables", "csv", "text/csv"),
        "definitions.md" => ("What the words in the tables mean", "md", "text/markdown"),
        "views.sql" => (
            "The tables with the columns that follow from others",
            "sql",
            "application/sql",
        ),
        _ => return None,
    };
    Some(json!({
        "name": name.split('.').next(),
        "title": title,
        "path": name,
        "format": format,
        "mediatype": mediatype,
        "encoding": "utf-8",
        "bytes": text.len(),
        "hash": format!("sha256:{}", sha256(text.as_bytes())),
    }))
}

/// The archives of a source, each with what the scan was given of it.
fn sources(source: &Source) -> Vec<Value> {
    let about = |file: hobble_terms::manifest::ArchiveFile<'_>| {
        let mut entry = json!({"title": file.file, "games_read": file.games});
        if let Some(origin) = &source.origin {
            entry["origin"] = json!(origin);
            if is_address(origin) {
                entry["path"] = json!(origin);
            }
        }
        let scanned = source.scanned.as_ref();
        let more = [
            ("licence", source.licence.as_deref()),
            ("sha256", file.sha256),
            ("scanned", scanned.map(|scanned| scanned.at.as_str())),
            ("hobble", scanned.map(|scanned| scanned.hobble.as_str())),
            (
                "commit",
                scanned.and_then(|scanned| scanned.commit.as_deref()),
            ),
        ];
        for (key, value) in more {
            if let Some(value) = value {
                entry[key] = json!(value);
            }
        }
        entry
    };
    source.files().into_iter().map(about).collect()
}

/// A licence as the standard has it: by its identifier or its address.
fn licence_of(licence: &str) -> Value {
    let is_identifier = |c: char| c.is_ascii_alphanumeric() || "._-".contains(c);
    if is_address(licence) {
        json!({"path": licence})
    } else if licence.chars().all(is_identifier) {
        json!({"name": licence})
    } else {
        json!({"name": "other", "title": licence})
    }
}

fn is_address(text: &str) -> bool {
    let rest = ["https://", "http://"]
        .iter()
        .find_map(|scheme| text.strip_prefix(scheme));
    rest.is_some_and(|rest| !rest.is_empty() && !text.contains(char::is_whitespace))
}

fn schema_path(table: Table) -> String {
    format!("schemas/{table}.json")
}

/// The files of the tables' columns (Table Schema), with their paths in the deposit.
///
/// # Errors
///
/// None in practice: they hold nothing that JSON cannot.
pub fn schema_files(manifest: &Manifest) -> serde_json::Result<Vec<(String, String)>> {
    let tables: BTreeSet<Table> = manifest.tables.keys().copied().collect();
    let file = |table| {
        let text = serde_json::to_string_pretty(&schema(describe(table)))?;
        Ok((schema_path(table), text + "\n"))
    };
    tables.into_iter().map(file).collect()
}

fn schema(table: &TableDescription) -> Value {
    let mut schema = json!({
        "fields": table.columns.iter().map(field).collect::<Vec<_>>(),
        "missingValues": [""],
        "table": table.table.name(),
        "schema": table.schema,
        "definitions": table.definitions,
    });
    let key: Vec<&str> = table
        .row
        .split(", ")
        .filter(|name| *name != SOURCE)
        .collect();
    let is_column = |name: &&str| table.columns.iter().any(|column| column.name == *name);
    if key.iter().all(is_column) {
        // Within a file, which is of one source.
        schema["primaryKey"] = json!(key);
    }
    schema
}

fn field(column: &ColumnDescription) -> Value {
    let mut field = json!({
        "name": column.name,
        "type": type_of(column.column_type),
        "description": column.text,
        "parquet_type": column.column_type.name(),
    });
    if !column.unit.is_empty() {
        field["unit"] = json!(column.unit);
    }
    let mut constraints = serde_json::Map::new();
    if column.null == NEVER {
        constraints.insert("required".to_owned(), json!(true));
    } else {
        field["null_means"] = json!(column.null);
    }
    if !column.values.is_empty() {
        constraints.insert("enum".to_owned(), json!(column.values));
    }
    if !constraints.is_empty() {
        field["constraints"] = Value::Object(constraints);
    }
    field
}

/// The type in the words of Table Schema.
fn type_of(column_type: ColumnType) -> &'static str {
    match column_type {
        ColumnType::Int8
        | ColumnType::Int16
        | ColumnType::Int32
        | ColumnType::Int64
        | ColumnType::Uint64 => "integer",
        ColumnType::Float32 => "number",
        ColumnType::Boolean => "boolean",
        ColumnType::Utf8 | ColumnType::Dictionary => "string",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_column_has_its_text_and_type() {
        for table in Table::ALL {
            let description = describe(table);
            let schema = schema(description);
            let fields = schema["fields"].as_array().unwrap();
            assert_eq!(fields.len(), description.columns.len());
            for (field, column) in fields.iter().zip(&description.columns) {
                assert_eq!(field["name"], column.name);
                assert_eq!(field["description"], *column.text);
                assert_eq!(field["unit"].as_str().unwrap_or(""), column.unit);
                let required = field["constraints"]["required"].as_bool() == Some(true);
                assert_eq!(required, !column.is_nullable(), "{}", column.name);
            }
        }
        let key = schema(describe(Table::Sides))["primaryKey"].clone();
        assert_eq!(key, json!(["game", "color"]));
        assert_eq!(schema(describe(Table::Exposure))["primaryKey"], Value::Null);
    }

    #[test]
    fn licences_by_identifier_or_address() {
        assert_eq!(licence_of("CC0-1.0"), json!({"name": "CC0-1.0"}));
        let address = "https://example.org/terms";
        assert_eq!(licence_of(address), json!({"path": address}));
        let words = "for study only";
        assert_eq!(licence_of(words), json!({"name": "other", "title": words}));
    }
}
