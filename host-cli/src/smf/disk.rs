//! A file of which every single write matters.

use crate::whole_file::{self, Overwrite};
use std::fs::{File, OpenOptions};
use std::io::{self, ErrorKind, Seek, SeekFrom, Write};
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

    /// Whether the file is where it was made.
    fn is_in_place(&self) -> bool;
}

/// A file of the file system.
#[derive(Debug)]
pub struct OnDisk {
    path: PathBuf,
    /// None where it could not be opened again after it was closed.
    file: Option<File>,
}

impl OnDisk {
    /// Makes a file with this content.
    ///
    /// # Errors
    ///
    /// What the system says; `AlreadyExists` if something is there that is not to be replaced.
    pub fn make(path: &Path, content: &[u8], over: Overwrite) -> io::Result<Self> {
        whole_file::put(path, content, over)?;
        Ok(Self { path: path.to_owned(), file: Some(open(path)?) })
    }

    fn file(&mut self) -> io::Result<&mut File> {
        self.file.as_mut().ok_or_else(|| io::Error::other("it could not be opened again"))
    }
}

impl Disk for OnDisk {
    fn write_at(&mut self, at: u64, bytes: &[u8]) -> io::Result<()> {
        let file = self.file()?;
        file.seek(SeekFrom::Start(at))?;
        file.write_all(bytes)
    }

    fn sync(&mut self) -> io::Result<()> {
        self.file()?.sync_data()
    }

    fn replace(&mut self, content: &[u8]) -> io::Result<()> {
        if !self.is_in_place() {
            // Somebody moved it. What may be in its place now is not ours to replace.
            whole_file::put(&self.path, content, Overwrite::Nothing).map_err(
                |error| match error.kind() {
                    ErrorKind::AlreadyExists => {
                        io::Error::new(error.kind(), "another file has taken its place")
                    }
                    _ => error,
                },
            )?;
            self.file = Some(open(&self.path)?);
            return Ok(());
        }
        // Closed before: not every system replaces a file that is open.
        self.file = None;
        let replaced = whole_file::put(&self.path, content, Overwrite::AFile);
        self.file = open(&self.path).ok();
        replaced
    }

    fn is_in_place(&self) -> bool {
        self.file.as_ref().is_some_and(|file| whole_file::stands_at(file, &self.path))
    }
}

fn open(path: &Path) -> io::Result<File> {
    OpenOptions::new().read(true).write(true).open(path)
}
