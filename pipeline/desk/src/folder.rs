//! The data folder: what may be read and written in it, and under which names.
//!
//! Beside the tables a desk keeps `archives` (what was added), `questions` (claims that were saved),
//! `lessons` (pages that were made) and `handout.json`. Names that come from a browser are looked up
//! in lists of what is there, or are of letters, digits and hyphens alone; no path is ever made of
//! one that has a slash or a dot to begin with.

use std::fs;
use std::path::{Path, PathBuf};

use hobble_archive::ArchiveError;
use hobble_archive::listing::{Input, list};
use hobble_conditions::shipped::SHIPPED;
use hobble_terms::manifest::{Manifest, ManifestError};

/// Folder of added archives.
const ARCHIVES: &str = "archives";
/// Folder of saved questions.
const QUESTIONS: &str = "questions";
/// Folder of lessons.
const LESSONS: &str = "lessons";
/// What the name of something begins with that is still being written.
pub const HALF: &str = ".half-";
/// Longest name of a question or lesson.
const LONGEST: usize = 60;
/// Endings of archives.
pub const ENDINGS: [&str; 4] = [".pgn", ".pgn.zst", ".pgn.gz", ".pgn.bz2"];

/// The data folder.
#[derive(Clone, Debug)]
pub struct Folder {
    data: PathBuf,
    archives: Option<PathBuf>,
}

/// An archive that may be read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Archive {
    /// Its name in the manifest: its path below the data folder, or else its whole path.
    pub name: String,
    /// The file.
    pub path: PathBuf,
    /// Its size in bytes.
    pub bytes: u64,
}

impl Folder {
    /// A data folder, and another one whose archives may be read; both as the system knows them.
    pub fn new(data: PathBuf, archives: Option<PathBuf>) -> Folder {
        Folder { data, archives }
    }

    /// The data folder.
    pub fn data(&self) -> &Path {
        &self.data
    }

    /// The manifest of the tables, if there are any.
    ///
    /// # Errors
    ///
    /// Where it cannot be read, or is of another version.
    pub fn manifest(&self) -> Result<Option<Manifest>, ManifestError> {
        Manifest::load(&self.data)
    }

    /// Folder of added archives, made where it is not there.
    ///
    /// # Errors
    ///
    /// Where it cannot be made.
    pub fn archive_folder(&self) -> std::io::Result<PathBuf> {
        self.made(ARCHIVES)
    }

    /// Folder of saved questions, made where it is not there.
    ///
    /// # Errors
    ///
    /// Where it cannot be made.
    pub fn question_folder(&self) -> std::io::Result<PathBuf> {
        self.made(QUESTIONS)
    }

    /// Folder of lessons, made where it is not there.
    ///
    /// # Errors
    ///
    /// Where it cannot be made.
    pub fn lesson_folder(&self) -> std::io::Result<PathBuf> {
        self.made(LESSONS)
    }

    /// Removes what a desk that was killed left half written.
    pub fn clear(&self) {
        for name in [ARCHIVES, LESSONS] {
            let entries = fs::read_dir(self.data.join(name)).into_iter().flatten();
            for entry in entries.flatten() {
                if entry.file_name().to_string_lossy().starts_with(HALF) {
                    // Whatever cannot be removed is left: its name is not shown.
                    let _ = match entry.file_type() {
                        Ok(kind) if kind.is_dir() => fs::remove_dir_all(entry.path()),
                        _ => fs::remove_file(entry.path()),
                    };
                }
            }
        }
    }

    /// File of the handout that is being filled.
    pub fn handout(&self) -> PathBuf {
        self.data.join("handout.json")
    }

    fn made(&self, name: &str) -> std::io::Result<PathBuf> {
        let path = self.data.join(name);
        fs::create_dir_all(&path)?;
        // A link may lead out of the folder.
        if !fs::symlink_metadata(&path)?.is_dir() {
            let what = format!("{name} in the data folder is not a folder");
            return Err(std::io::Error::other(what));
        }
        Ok(path)
    }

    /// The archives that may be read, by name. Links are passed over: they may lead elsewhere.
    ///
    /// # Errors
    ///
    /// Where a folder cannot be read.
    pub fn archives(&self) -> Result<Vec<Archive>, ArchiveError> {
        let own = self.data.join(ARCHIVES);
        let is_folder = |path: &Path| fs::symlink_metadata(path).is_ok_and(|about| about.is_dir());
        let folders = [
            Some(own).filter(|own| is_folder(own)),
            self.archives.clone(),
        ];
        let mut archives = Vec::new();
        for folder in folders.into_iter().flatten() {
            let inputs = match list(&[folder]) {
                Err(ArchiveError::EmptyFolder { .. }) => continue,
                inputs => inputs?,
            };
            archives.extend(inputs.iter().filter_map(|input| self.archive(input)));
        }
        Ok(archives)
    }

    fn archive(&self, input: &Input) -> Option<Archive> {
        let Input::File(path) = input else {
            return None;
        };
        let about = fs::symlink_metadata(path).ok()?;
        let below = path.strip_prefix(&self.data).unwrap_or(path);
        about.is_file().then(|| Archive {
            name: Input::File(below.to_owned()).name(),
            path: path.clone(),
            bytes: about.len(),
        })
    }

    /// Names of the saved questions, sorted.
    pub fn questions(&self) -> Vec<String> {
        self.names(QUESTIONS, ".toml")
    }

    /// File of a saved question, whose name must be allowed.
    pub fn question(&self, name: &str) -> Option<PathBuf> {
        is_name(name).then(|| self.data.join(QUESTIONS).join(format!("{name}.toml")))
    }

    /// Names of the lessons, sorted.
    pub fn lessons(&self) -> Vec<String> {
        self.names(LESSONS, "")
    }

    /// Folder of a lesson, whose name must be allowed.
    pub fn lesson(&self, name: &str) -> Option<PathBuf> {
        is_name(name).then(|| self.data.join(LESSONS).join(name))
    }

    /// Removes a saved question; whether there was one of that name. A link is left as it is.
    ///
    /// # Errors
    ///
    /// Where it cannot be removed.
    pub fn remove_question(&self, name: &str) -> std::io::Result<bool> {
        let about = |path: &PathBuf| fs::symlink_metadata(path).is_ok_and(|about| about.is_file());
        let file = self.question(name).filter(about);
        file.map(fs::remove_file)
            .transpose()
            .map(|gone| gone.is_some())
    }

    /// Removes a lesson with its pages; whether there was one of that name. A link is left as it is.
    ///
    /// # Errors
    ///
    /// Where it cannot be removed.
    pub fn remove_lesson(&self, name: &str) -> std::io::Result<bool> {
        let about = |path: &PathBuf| fs::symlink_metadata(path).is_ok_and(|about| about.is_dir());
        let folder = self.lesson(name).filter(about);
        folder
            .map(fs::remove_dir_all)
            .transpose()
            .map(|gone| gone.is_some())
    }

    /// Allowed names of what is in a folder, without their ending.
    fn names(&self, folder: &str, ending: &str) -> Vec<String> {
        let entries = fs::read_dir(self.data.join(folder));
        let entries = entries.into_iter().flatten().flatten();
        let names = entries.filter_map(|entry| entry.file_name().into_string().ok());
        let mut names: Vec<String> = names
            .filter_map(|name| name.strip_suffix(ending).map(str::to_owned))
            .filter(|name| is_name(name))
            .collect();
        names.sort();
        names
    }
}

/// Whether a question or lesson may be called so: small letters, digits and single hyphens.
pub fn is_name(name: &str) -> bool {
    let allowed = |b: u8| b.is_ascii_lowercase() || b.is_ascii_digit() || b == b'-';
    !name.is_empty()
        && name.len() <= LONGEST
        && name.bytes().all(allowed)
        && !name.starts_with('-')
        && !name.ends_with('-')
}

/// Whether a question that comes with the program is called so.
pub fn is_shipped(name: &str) -> bool {
    SHIPPED.iter().any(|(shipped, _)| *shipped == name)
}

/// A name that is allowed, made of words.
pub fn name_of(words: &str) -> Option<String> {
    let mut name = String::new();
    for c in words.chars().flat_map(char::to_lowercase) {
        if c.is_ascii_alphanumeric() {
            name.push(c);
        } else if !name.is_empty() && !name.ends_with('-') {
            name.push('-');
        }
        if name.len() == LONGEST {
            break;
        }
    }
    let name = name.trim_end_matches('-').to_owned();
    is_name(&name).then_some(name)
}

/// A name for an added archive: what is safe of the browser's name for it. `None` where it does not
/// end as an archive does.
pub fn archive_name(name: &str) -> Option<String> {
    let base = name
        .rsplit(['/', '\\'])
        .next()
        .unwrap_or(name)
        .to_lowercase();
    // The longest ending that fits, so that `.pgn.gz` is not taken for `.gz`.
    let ending = ENDINGS.iter().find(|ending| base.ends_with(**ending))?;
    let stem = base.strip_suffix(ending)?;
    let name = name_of(stem).unwrap_or_else(|| "games".to_owned());
    Some(format!("{name}{ending}"))
}

/// A path in a folder that nothing has yet: the name, or the name with a number.
pub fn free_path(folder: &Path, name: &str) -> PathBuf {
    let (stem, ending) = name.split_once('.').unwrap_or((name, ""));
    let dot = if ending.is_empty() { "" } else { "." };
    let numbered = (2_u32..).map(|n| folder.join(format!("{stem}-{n}{dot}{ending}")));
    let mut all = std::iter::once(folder.join(name)).chain(numbered);
    all.find(|path| fs::symlink_metadata(path).is_err())
        .unwrap_or_else(|| folder.join(name))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_are_of_a_safe_alphabet() {
        for name in ["rim-knights", "a", "2031", "a--b"] {
            assert!(is_name(name), "{name}");
        }
        let long = "x".repeat(61);
        for name in [
            "", "..", ".", "a/b", "a\\b", "-a", "a-", "A", "é", "a b", "a\0", &long,
        ] {
            assert!(!is_name(name), "{name:?}");
        }
        assert_eq!(
            name_of("Knights on the rim!").as_deref(),
            Some("knights-on-the-rim")
        );
        assert_eq!(name_of("../../etc/passwd").as_deref(), Some("etc-passwd"));
        assert_eq!(name_of("… / …"), None);
    }

    #[test]
    fn archives_keep_their_ending_alone() {
        for (given, kept) in [
            ("Club Season.PGN", Some("club-season.pgn")),
            ("../../../a.pgn.zst", Some("a.pgn.zst")),
            ("c:\\games\\é.pgn.gz", Some("games.pgn.gz")),
            ("<script>.pgn", Some("script.pgn")),
            ("games.zip", None),
            (".pgn", Some("games.pgn")),
            ("pgn", None),
        ] {
            assert_eq!(archive_name(given).as_deref(), kept, "{given}");
        }
        let folder = tempfile::tempdir().unwrap();
        let first = free_path(folder.path(), "a.pgn.zst");
        fs::write(&first, "").unwrap();
        let second = free_path(folder.path(), "a.pgn.zst");
        assert_eq!(second.file_name().unwrap(), "a-2.pgn.zst");
    }

    #[cfg(unix)]
    #[test]
    fn only_what_is_in_the_folder_is_removed() {
        let data = tempfile::tempdir().unwrap();
        let outside = tempfile::tempdir().unwrap();
        let folder = Folder::new(data.path().canonicalize().unwrap(), None);
        let (questions, lessons) = (
            folder.question_folder().unwrap(),
            folder.lesson_folder().unwrap(),
        );
        fs::write(outside.path().join("kept.toml"), "").unwrap();
        fs::write(questions.join("mine.toml"), "").unwrap();
        fs::create_dir(lessons.join("monday")).unwrap();
        fs::write(lessons.join("monday/index.html"), "").unwrap();
        std::os::unix::fs::symlink(outside.path(), lessons.join("away")).unwrap();
        std::os::unix::fs::symlink(
            outside.path().join("kept.toml"),
            questions.join("away.toml"),
        )
        .unwrap();
        for name in ["away", "none", "..", "../lessons", "mine.toml", ""] {
            assert!(!folder.remove_question(name).unwrap(), "{name}");
            assert!(!folder.remove_lesson(name).unwrap(), "{name}");
        }
        assert!(folder.remove_question("mine").unwrap() && folder.remove_lesson("monday").unwrap());
        assert!(outside.path().join("kept.toml").exists());
        assert!(!questions.join("mine.toml").exists() && !lessons.join("monday").exists());
    }

    #[cfg(unix)]
    #[test]
    fn links_are_passed_over() {
        let data = tempfile::tempdir().unwrap();
        let outside = tempfile::tempdir().unwrap();
        fs::write(outside.path().join("out.pgn"), "*").unwrap();
        let folder = Folder::new(data.path().canonicalize().unwrap(), None);
        let archives = folder.archive_folder().unwrap();
        fs::write(archives.join("in.pgn"), "*").unwrap();
        std::os::unix::fs::symlink(outside.path().join("out.pgn"), archives.join("l.pgn")).unwrap();
        let names: Vec<_> = folder
            .archives()
            .unwrap()
            .into_iter()
            .map(|a| a.name)
            .collect();
        assert_eq!(names, ["archives/in.pgn"]);
        std::os::unix::fs::symlink(outside.path(), data.path().join("questions")).unwrap();
        assert!(folder.question_folder().is_err());
    }
}
