//! Names of archives without the folders they lay in.

use hobble_terms::manifest::Manifest;

/// The last part of a path, whichever system wrote it.
pub fn file_name(path: &str) -> &str {
    path.rsplit(['/', '\\']).next().unwrap_or(path)
}

/// Leaves only the names of files in a manifest, and no times of a machine's clock.
pub fn without_folders(manifest: &mut Manifest) {
    for source in &mut manifest.sources {
        source.forget_times();
        for file in &mut source.bundle {
            file.file = file_name(&file.file).to_owned();
        }
        source.file = match (source.bundle.first(), source.bundle.last()) {
            (Some(first), Some(last)) => {
                let count = source.bundle.len();
                format!("{} … {} ({count} files)", first.file, last.file)
            }
            _ => file_name(&source.file).to_owned(),
        };
    }
}

/// Whether a manifest names a folder.
pub fn names_folders(manifest: &Manifest) -> bool {
    let has = |file: &str| file_name(file) != file;
    let mut files = manifest.sources.iter().flat_map(|source| source.files());
    files.any(|file| has(file.file))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn folders_are_dropped() {
        assert_eq!(file_name("/home/orla/club/season.pgn"), "season.pgn");
        assert_eq!(file_name(r"C:\games\season.pgn"), "season.pgn");
        assert_eq!(file_name("season.pgn"), "season.pgn");
        assert_eq!(file_name("-"), "-");
    }
}
