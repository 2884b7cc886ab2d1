//! Files that are there as a whole or not at all.
//!
//! A file is written beside its place under a name of its own, made durable, closed (no system
//! has to rename a file that is open), and renamed, which is one step. Then its folder is made
//! durable, too.

use same_file::Handle;
use std::ffi::OsStr;
use std::fs::{self, File};
use std::io::{self, ErrorKind, Write};
use std::path::{Path, PathBuf};
use tempfile::{Builder, TempPath};

/// How the name ends that a file has until it is whole.
const UNFINISHED: &str = ".part";

/// How much of the file's own name is in it, in letters. A name may have 255 bytes (common
/// practice of file systems), and a letter up to four.
const MOST_OF_NAME: usize = 60;

/// What may be in the file's place.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Overwrite {
    /// Nothing, not even a link that leads nowhere.
    Nothing,
    /// A file; it is replaced, and who may read it stays as it was. A link is replaced itself,
    /// so give the path that it leads to.
    AFile,
    /// The same with a file that is the user's alone: nobody else may read it from now on.
    OwnFile,
}

/// Puts a file with this content there.
///
/// # Errors
///
/// What the system says; `AlreadyExists` if something is there that is not to be replaced. What
/// was there is there still, and nothing half-written is left.
pub fn put(path: &Path, content: &[u8], over: Overwrite) -> io::Result<()> {
    let written = write_beside(path, content, over)?;
    match over {
        Overwrite::AFile | Overwrite::OwnFile => {
            written.persist(path).map_err(|error| error.error)?;
        }
        Overwrite::Nothing => put_where_nothing_is(written, path)?,
    }
    make_durable(folder_of(path));
    Ok(())
}

/// What was left beside this path by a program that could not end its work.
pub fn left_over(path: &Path) -> Vec<PathBuf> {
    let begin = name_beside(path);
    let is_left = |name: &OsStr| {
        let name = name.to_string_lossy();
        name.strip_prefix(&begin).is_some_and(|rest| rest.ends_with(UNFINISHED))
            // The name without anything random is what earlier versions took.
            || name.strip_suffix(UNFINISHED).is_some_and(|own| Some(OsStr::new(own)) == path.file_name())
    };
    let entries = fs::read_dir(folder_of(path)).into_iter().flatten().flatten();
    let mut left: Vec<_> =
        entries.filter(|entry| is_left(&entry.file_name())).map(|entry| entry.path()).collect();
    left.sort();
    left
}

/// Whether both are the same file, by whatever names. What is no file is none.
pub fn is_same(one: &Path, other: &Path) -> bool {
    // Opening anything but a file may wait for ever.
    one.is_file() && other.is_file() && same_file::is_same_file(one, other).unwrap_or(false)
}

/// Whether this open file is what stands there, itself and not by a link.
pub fn stands_at(file: &File, path: &Path) -> bool {
    let is_file = fs::symlink_metadata(path).is_ok_and(|there| there.is_file());
    let own = || Handle::from_file(file.try_clone()?);
    is_file && own().is_ok_and(|own| Handle::from_path(path).is_ok_and(|there| own == there))
}

fn write_beside(path: &Path, content: &[u8], over: Overwrite) -> io::Result<TempPath> {
    let begin = name_beside(path);
    let mut builder = Builder::new();
    builder.prefix(&begin).suffix(UNFINISHED);
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        // What any new file has; the user's mask takes from it.
        let mode = if over == Overwrite::OwnFile { 0o600 } else { 0o666 };
        builder.permissions(fs::Permissions::from_mode(mode));
    }
    // It is made anew under a name that nothing has, never through a link.
    let mut file = builder.tempfile_in(folder_of(path))?;
    file.write_all(content)?;
    if over == Overwrite::AFile
        && let Ok(there) = fs::metadata(path)
    {
        // Not every file system knows whom a file belongs to.
        let _ = file.as_file().set_permissions(there.permissions());
    }
    file.as_file().sync_all()?;
    Ok(file.into_temp_path())
}

fn put_where_nothing_is(written: TempPath, path: &Path) -> io::Result<()> {
    let refused = match written.persist_noclobber(path) {
        Ok(()) => return Ok(()),
        Err(refused) => refused,
    };
    if refused.error.kind() == ErrorKind::AlreadyExists {
        return Err(refused.error);
    }
    // Some file systems can neither rename without replacing nor link: there the name is taken
    // by an empty file, which is then replaced.
    File::create_new(path)?;
    refused.path.persist(path).map_err(|error| {
        let _ = fs::remove_file(path);
        error.error
    })
}

fn name_beside(path: &Path) -> String {
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    let mut begin: String = name.chars().take(MOST_OF_NAME).collect();
    begin.push('.');
    begin
}

fn folder_of(path: &Path) -> &Path {
    path.parent().filter(|parent| !parent.as_os_str().is_empty()).unwrap_or(Path::new("."))
}

/// That a file has its name is durable when its folder is. Not every system lets a folder be
/// opened; where it does not, renaming is durable by itself.
fn make_durable(folder: &Path) {
    if let Ok(folder) = File::open(folder) {
        let _ = folder.sync_all();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn folder() -> tempfile::TempDir {
        tempfile::tempdir().expect("a folder can be made")
    }

    fn names(folder: &Path) -> Vec<String> {
        let entries = fs::read_dir(folder).unwrap();
        entries.map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned()).collect()
    }

    #[test]
    fn what_is_there_is_replaced_only_where_that_is_meant() {
        let folder = folder();
        let path = folder.path().join("a");
        put(&path, b"first", Overwrite::Nothing).unwrap();
        let refused = put(&path, b"second", Overwrite::Nothing).unwrap_err();
        assert_eq!(refused.kind(), ErrorKind::AlreadyExists);
        assert_eq!(fs::read(&path).unwrap(), b"first");
        put(&path, b"third", Overwrite::AFile).unwrap();
        assert_eq!(fs::read(&path).unwrap(), b"third");
        assert_eq!(names(folder.path()), ["a"]);
    }

    #[test]
    fn a_name_as_long_as_names_may_be_is_no_trouble() {
        let folder = folder();
        for letter in ["a", "ä", "🎸"] {
            let path = folder.path().join(letter.repeat(255 / letter.len()));
            put(&path, b"content", Overwrite::Nothing).unwrap();
            assert_eq!(fs::read(&path).unwrap(), b"content");
        }
    }

    #[test]
    fn what_was_left_is_found_and_nothing_else() {
        let folder = folder();
        let path = folder.path().join("take.mid");
        for name in [
            "take.mid",
            "take.mid.bak",
            "take.mid.part",
            "take.mid.x7.part",
            "take.part",
            "b.mid.x.part",
        ] {
            fs::write(folder.path().join(name), name).unwrap();
        }
        let left = left_over(&path);
        assert_eq!(
            left,
            ["take.mid.part", "take.mid.x7.part"].map(|name| folder.path().join(name))
        );
        assert_eq!(left_over(&folder.path().join("no/such/take.mid")), Vec::<PathBuf>::new());
    }

    #[cfg(unix)]
    #[test]
    fn a_link_is_no_file_of_ours() {
        let folder = folder();
        let [path, link] = ["a", "b"].map(|name| folder.path().join(name));
        fs::write(&path, "a").unwrap();
        std::os::unix::fs::symlink(&path, &link).unwrap();
        let file = File::open(&path).unwrap();
        assert!(is_same(&path, &link) && !is_same(&path, folder.path()));
        assert!(stands_at(&file, &path) && !stands_at(&file, &link));
        put(&link, b"new", Overwrite::Nothing).expect_err("a link is there");
        assert_eq!(fs::read(&path).unwrap(), b"a");
    }
}
