//! A file of which every single write matters.

use std::fs::{self, File, OpenOptions};
use std::io::{self, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};

/// What a growing file asks of the disk.
pub trait Disk {
    /// Writes bytes at a place. They are on the disk only after [`sync`](Disk::sync).
    ///
    /// # Errors
    ///
    /// What the system says; some of the bytes may have been written.
    fn write_at(&mut self, at: u64, bytes: &[u8]) -> io::Result<()>;

    /// Waits until everything that was written is on the disk.
    ///
    /// # Errors
    ///
    /// What the system says.
    fn sync(&mut self) -> io::Result<()>;

    /// Puts this content in the place of all there is, in one step, and durably.
    ///
    /// # Errors
    ///
    /// What the system says. What was there is there still.
    fn replace(&mut self, content: &[u8]) -> io::Result<()>;
}

/// A file of the file system.
#[derive(Debug)]
pub struct OnDisk {
    path: PathBuf,
    file: File,
}

impl OnDisk {
    /// Makes a file with this content, in the place of whatever file is there.
    ///
    /// # Errors
    ///
    /// What the system says.
    pub fn make(path: &Path, content: &[u8]) -> io::Result<Self> {
        Ok(Self { path: path.to_owned(), file: put_in_place(path, content)? })
    }
}

impl Disk for OnDisk {
    fn write_at(&mut self, at: u64, bytes: &[u8]) -> io::Result<()> {
        self.file.seek(SeekFrom::Start(at))?;
        self.file.write_all(bytes)
    }

    fn sync(&mut self) -> io::Result<()> {
        self.file.sync_data()
    }

    fn replace(&mut self, content: &[u8]) -> io::Result<()> {
        self.file = put_in_place(&self.path, content)?;
        Ok(())
    }
}

/// Writes a file beside its place, makes it durable, and renames it.
fn put_in_place(path: &Path, content: &[u8]) -> io::Result<File> {
    let mut beside = path.as_os_str().to_owned();
    beside.push(".part");
    let beside = PathBuf::from(beside);
    let written = (|| {
        let mut file =
            OpenOptions::new().read(true).write(true).create(true).truncate(true).open(&beside)?;
        file.write_all(content)?;
        file.sync_all()?;
        fs::rename(&beside, path)?;
        Ok(file)
    })();
    if written.is_err() {
        let _ = fs::remove_file(&beside);
    }
    // That it has its name is durable when its folder is. Not every system lets a folder be
    // opened; where it does not, renaming is durable by itself.
    let folder = path.parent().filter(|parent| !parent.as_os_str().is_empty());
    if let Ok(folder) = File::open(folder.unwrap_or(Path::new("."))) {
        let _ = folder.sync_all();
    }
    written
}
