//! Why the log cannot be kept or read, and what to do about it.

use super::{FILE, VARIABLE, VERSION};
use rusqlite::ErrorCode;
use std::fmt;
use std::io;

/// Why the log is not kept.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum LogError {
    /// The system does not say where the user's home is.
    NoHome,
    /// The folder cannot be made.
    Folder {
        /// The folder.
        folder: String,
        /// What the system says.
        error: String,
    },
    /// The file, or its folder, may only be read.
    ReadOnly,
    /// The file cannot be opened at all.
    NotOpened,
    /// There is no room left.
    Full,
    /// Another program holds the file.
    Locked,
    /// What is in the file is not what was written.
    Damaged,
    /// It is some other program's file.
    Foreign,
    /// A newer program wrote it.
    Newer {
        /// The version of the file.
        found: u32,
    },
    /// The system could not read or write the file.
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

impl fmt::Display for LogError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NoHome => write!(f, "the system does not say where your home folder is"),
            Self::Folder { folder, error } => {
                write!(f, "the folder {folder} cannot be used: {error}")
            }
            Self::ReadOnly => write!(f, "it may only be read, not written"),
            Self::NotOpened => write!(f, "it cannot be opened or made"),
            Self::Full => write!(f, "the disk is full"),
            Self::Locked => write!(f, "another program is using it"),
            Self::Damaged => write!(f, "it is damaged"),
            Self::Foreign => write!(f, "it is not a log of this program"),
            Self::Newer { found } => write!(
                f,
                "it was written by a newer program (version {found} of the log; this one knows \
                 {VERSION})"
            ),
            Self::System(error) => write!(f, "it cannot be read or written: {error}"),
        }
    }
}

impl std::error::Error for LogError {}
