//! Files that are the user's own affair: what they have played, and what is remembered for them.
//!
//! New ones can be read by their owner alone (0600, in folders of 0700, where the system has such
//! modes), and are put in the place of older ones as a whole ([`whole_file`]).

use crate::whole_file::{self, Overwrite};
use std::fs::{self, File, OpenOptions};
use std::io;
use std::path::Path;

/// Makes a folder with those above it, where they are missing.
///
/// # Errors
///
/// What the system says.
pub fn folder(path: &Path) -> io::Result<()> {
    let mut builder = fs::DirBuilder::new();
    builder.recursive(true);
    #[cfg(unix)]
    std::os::unix::fs::DirBuilderExt::mode(&mut builder, 0o700);
    builder.create(path)
}

/// Makes an empty file where there is none, and keeps others from one that is there.
///
/// # Errors
///
/// What the system says where none can be made.
pub fn file(path: &Path) -> io::Result<()> {
    match new(path) {
        Err(error) if error.kind() == io::ErrorKind::AlreadyExists => {
            tighten(path);
            Ok(())
        }
        made => made.map(drop),
    }
}

/// Takes the rights of others from a file that is the user's. Where that cannot be done, as on a
/// disk that may only be read, it stays as it is: the file is of use all the same.
pub fn tighten(path: &Path) {
    #[cfg(unix)]
    {
        use std::os::unix::fs::{MetadataExt, PermissionsExt};
        let Ok(there) = path.metadata() else { return };
        let mode = there.permissions().mode();
        let own = there.uid() == rustix::process::geteuid().as_raw();
        if own && there.is_file() && mode & 0o077 != 0 {
            let _ = fs::set_permissions(path, fs::Permissions::from_mode(mode & 0o700));
        }
    }
    #[cfg(not(unix))]
    let _ = path;
}

/// Puts this content in a file's place, whole or not at all. When this returns it is on the disk.
/// A link stays one: what it leads to is replaced.
///
/// # Errors
///
/// What the system says. What was there is there still.
pub fn replace(path: &Path, content: &[u8]) -> io::Result<()> {
    let place = path.canonicalize().unwrap_or_else(|_| path.to_owned());
    if let Some(above) = place.parent().filter(|above| !above.as_os_str().is_empty()) {
        folder(above)?;
    }
    whole_file::put(&place, content, Overwrite::OwnFile)
}

fn new(path: &Path) -> io::Result<File> {
    let mut options = OpenOptions::new();
    options.write(true).create_new(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    options.open(path)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_there_stays_where_it_cannot_be_replaced() {
        let top = std::env::temp_dir().join(format!("evenhand-private-{}", std::process::id()));
        let file = top.join("a").join("file");
        replace(&file, b"one").unwrap();
        replace(&file, b"two").unwrap();
        assert_eq!(fs::read(&file).unwrap(), b"two");
        // A folder stands in its place.
        assert!(replace(&top.join("a"), b"three").is_err());
        let names = |folder: &Path| fs::read_dir(folder).unwrap().count();
        assert_eq!((names(&top), names(&top.join("a"))), (1, 1), "nothing is left beside");
        fs::remove_dir_all(&top).unwrap();
    }

    #[cfg(unix)]
    #[test]
    fn a_link_stays_one() {
        let top = std::env::temp_dir().join(format!("evenhand-link-{}", std::process::id()));
        fs::create_dir_all(&top).unwrap();
        let (file, link) = (top.join("file"), top.join("link"));
        fs::write(&file, "one").unwrap();
        std::os::unix::fs::symlink(&file, &link).unwrap();
        replace(&link, b"two").unwrap();
        assert!(link.symlink_metadata().unwrap().is_symlink());
        assert_eq!(fs::read(&file).unwrap(), b"two");
        fs::remove_dir_all(&top).unwrap();
    }
}
