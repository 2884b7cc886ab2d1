//! Why the log cannot be kept or read, and what to do about it.

use super::{FILE, VARIABLE, VERSION};
use rusqlite::ErrorCode;
use std::io;
use thiserror::Error;

/// Why the log is not kept.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum LogError {
    /// The system does not say where the user's home is.
    #[error("the system does not say where your home folder is")]
    NoHome,
    /// The folder cannot be made.
    #[error("the folder {folder} cannot be used: {error}")]
    Folder {
        /// The folder.
        folder: String,
        /// What the system says.
        error: String,
    },
    /// The file, or its folder, may only be read.
    #[error("it may only be read, not written")]
    ReadOnly,
    /// The file cannot be opened at all.
    #[error("it cannot be opened or made")]
    NotOpened,
    /// There is no room left.
    #[error("the disk is full")]
    Full,
    /// Another program holds the file.
    #[error("another program is using it")]
    Locked,
    /// What is in the file is not what was written.
    #[error("it is damaged")]
    Damaged,
    /// It is some other program's file.
    #[error("it is not a log of this program")]
    Foreign,
    /// A newer program wrote it.
    #[error(
        "it was written by a newer program (version {found} of the log; this one knows {VERSION})"
    )]
    Newer {
        /// The version of the file.
        found: u32,
    },
    /// The system could not read or write the file.
    #[error("it cannot be read or written: {0}")]
    System(String),
}

impl LogError {
    /// What to do about it.
    pub fn advice(&self) -> String {
        match self {
            Self::NoHome => format!("Name a folder with --data FOLDER, or in {VARIABLE}."),
            Self::Folder { .. } | Self::NotOpened => {
                format!("Name another folder with --data FOLDER, or in {VARIABLE}.")
            }
            Self::ReadOnly => format!(
                "Check who may write there, or name another folder with --data FOLDER, or in \
                 {VARIABLE}."
            ),
            Self::Full => "Make room on the disk.".to_owned(),
            Self::Locked => "Close what else has it open.".to_owned(),
            Self::Damaged => format!(
                "Put a copy of {FILE} from a backup in its place, or move the damaged one away; a \
                 new one is begun then."
            ),
            Self::Foreign => {
                format!("Move that {FILE} away, or name another folder with --data FOLDER.")
            }
            Self::Newer { .. } => {
                "Use the newer program, or name another folder with --data FOLDER.".to_owned()
            }
            Self::System(_) => "Check the disk.".to_owned(),
        }
    }

    /// From what the system says of a folder.
    pub(super) fn of_folder(folder: &std::path::Path, error: &io::Error) -> Self {
        match error.kind() {
            io::ErrorKind::ReadOnlyFilesystem => Self::ReadOnly,
            io::ErrorKind::StorageFull => Self::Full,
            _ => Self::Folder { folder: folder.display().to_string(), error: error.to_string() },
        }
    }
}

impl From<rusqlite::Error> for LogError {
    fn from(error: rusqlite::Error) -> Self {
        let rusqlite::Error::SqliteFailure(failure, _) = &error else {
            // A column that is not of its type, a text that is not UTF-8, and the like.
            return Self::Damaged;
        };
        match failure.code {
            ErrorCode::ReadOnly | ErrorCode::PermissionDenied => Self::ReadOnly,
            ErrorCode::DiskFull => Self::Full,
            ErrorCode::DatabaseBusy
            | ErrorCode::DatabaseLocked
            | ErrorCode::FileLockingProtocolFailed => Self::Locked,
            ErrorCode::DatabaseCorrupt
            | ErrorCode::NotADatabase
            | ErrorCode::ConstraintViolation
            | ErrorCode::TypeMismatch => Self::Damaged,
            ErrorCode::CannotOpen => Self::NotOpened,
            // A table or column that should be there and is not.
            ErrorCode::Unknown if failure.extended_code == 1 => Self::Damaged,
            _ => Self::System(error.to_string()),
        }
    }
}
