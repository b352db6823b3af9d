//! Writing a file so that readers see the old one or the new one, never a half.

use std::fs::{self, File};
use std::io;
use std::path::Path;

/// Writes a file under another name and renames it once it is complete. An existing device or
/// pipe is written to directly: renaming a file over it would remove it.
///
/// # Errors
///
/// Where the file cannot be written.
pub fn replace_file(
    path: &Path,
    write: impl FnOnce(&mut File) -> io::Result<()>,
) -> io::Result<()> {
    if path.metadata().is_ok_and(|about| !about.is_file()) {
        return write(&mut File::options().write(true).open(path)?);
    }
    let mut name = path.as_os_str().to_owned();
    name.push(".new");
    File::create(&name)
        .and_then(|mut file| write(&mut file))
        .and_then(|()| fs::rename(&name, path))
        .inspect_err(|_| {
            let _ = fs::remove_file(&name);
        })
}

#[cfg(all(test, unix))]
mod tests {
    use std::io::Write as _;
    use std::os::unix::fs::FileTypeExt as _;
    use std::os::unix::net::UnixListener;

    #[test]
    fn only_files_are_replaced() {
        let folder = tempfile::tempdir().unwrap();
        let put = |path: &std::path::Path, text: &str| {
            super::replace_file(path, |file| file.write_all(text.as_bytes()))
        };
        let file = folder.path().join("page.html");
        put(&file, "longer").unwrap();
        put(&file, "new").unwrap();
        assert_eq!(std::fs::read_to_string(&file).unwrap(), "new");
        let socket = folder.path().join("socket");
        let _open = UnixListener::bind(&socket).unwrap();
        assert!(put(&socket, "x").is_err());
        assert!(socket.metadata().unwrap().file_type().is_socket());
        assert!(put(folder.path(), "x").is_err());
        assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 2);
    }
}
