//! Which sources a scan reads: large archives by themselves, small ones in bundles.

use std::collections::HashMap;

use hobble_archive::listing::Input;
use hobble_terms::manifest::{BundledFile, Manifest, Parameters, Source};

use super::folder::source_name;

/// Most small archives in a row that are sources of their own.
const MOST_ALONE: usize = 8;

/// The files of a source.
pub(super) enum Files<'a> {
    /// One file.
    One(&'a Input),
    /// The files of a bundle with their places in it, without those set apart.
    Bundle(Vec<(usize, &'a Input)>),
}

/// Where a file stands in the manifest.
#[derive(Clone, Copy)]
struct Place {
    source: usize,
    in_bundle: bool,
}

/// The sources that hold these inputs, in the order of the inputs, with the files to read; new
/// sources are added to the manifest. A bundle of which files are missing is left out.
pub(super) fn plan<'a>(inputs: &'a [Input], manifest: &mut Manifest) -> Vec<(usize, Files<'a>)> {
    add_sources(inputs, manifest);
    let places = places(manifest);
    let named: HashMap<String, &Input> = inputs.iter().map(|one| (one.name(), one)).collect();
    let mut planned = Vec::new();
    let mut seen = vec![false; manifest.sources.len()];
    for input in inputs {
        let Some(place) = places.get(&input.name()) else {
            continue;
        };
        if std::mem::replace(&mut seen[place.source], true) {
            continue;
        }
        let files = if place.in_bundle {
            let bundle = &manifest.sources[place.source].bundle;
            bundled(bundle, &named).map(Files::Bundle)
        } else {
            Some(Files::One(input))
        };
        planned.extend(files.map(|files| (place.source, files)));
    }
    planned
}

/// The files of a bundle; `None` where one of them is not named.
fn bundled<'a>(
    bundle: &[BundledFile],
    named: &HashMap<String, &'a Input>,
) -> Option<Vec<(usize, &'a Input)>> {
    let files = bundle.iter().enumerate().filter(|(_, file)| !file.apart);
    files
        .map(|(place, file)| Some((place, *named.get(&file.file)?)))
        .collect()
}

fn places(manifest: &Manifest) -> HashMap<String, Place> {
    let mut places = HashMap::new();
    for (source, about) in manifest.sources.iter().enumerate() {
        let in_bundle = !about.bundle.is_empty();
        for file in about.files() {
            places.insert(file.file.to_owned(), Place { source, in_bundle });
        }
    }
    places
}

/// Adds the files that the manifest does not know as sources.
fn add_sources(inputs: &[Input], manifest: &mut Manifest) {
    let known = places(manifest);
    let apart = |source: &Source| {
        let apart = source.bundle.iter().filter(|file| file.apart);
        apart.map(|file| file.file.clone()).collect::<Vec<_>>()
    };
    let apart: Vec<String> = manifest.sources.iter().flat_map(apart).collect();
    let mut run: Vec<String> = Vec::new();
    for input in inputs {
        let name = input.name();
        if known.contains_key(&name) {
            continue;
        }
        if is_small(input, &manifest.parameters) && !apart.contains(&name) {
            run.push(name);
            continue;
        }
        add_run(std::mem::take(&mut run), manifest);
        add_run(vec![name], manifest);
    }
    add_run(run, manifest);
}

fn is_small(input: &Input, parameters: &Parameters) -> bool {
    input
        .size()
        .is_some_and(|bytes| bytes < parameters.block_bytes as u64)
}

/// Adds small files that come one after the other.
fn add_run(files: Vec<String>, manifest: &mut Manifest) {
    if files.len() <= MOST_ALONE {
        for file in files {
            let source = source_name(&file, &manifest.sources);
            manifest.sources.push(Source {
                source,
                file,
                ..Source::default()
            });
        }
        return;
    }
    let label = match (files.first(), files.last()) {
        (Some(first), Some(last)) => format!("{first} … {last} ({} files)", files.len()),
        _ => return,
    };
    let bundled = |file| BundledFile {
        file,
        ..BundledFile::default()
    };
    manifest.sources.push(Source {
        source: source_name("bundle", &manifest.sources),
        file: label,
        bundle: files.into_iter().map(bundled).collect(),
        ..Source::default()
    });
}
