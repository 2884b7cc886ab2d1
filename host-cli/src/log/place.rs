//! Where the log stands.

use super::LogError;
use etcetera::BaseStrategy;
use std::path::{Path, PathBuf};

/// The name of the log inside its folder.
pub const FILE: &str = "log.sqlite";

/// The environment variable that names another folder for it.
pub const VARIABLE: &str = "EVENHAND_DATA";

/// The folder for what the program keeps: the one that was asked for, else that of the
/// environment variable, else the usual one of the system.
///
/// # Errors
///
/// If the system does not say where the user's home is.
pub fn folder(asked: Option<&Path>) -> Result<PathBuf, LogError> {
    if let Some(folder) = asked {
        return Ok(folder.to_owned());
    }
    if let Some(folder) = std::env::var_os(VARIABLE).filter(|value| !value.is_empty()) {
        return Ok(folder.into());
    }
    let system = etcetera::choose_base_strategy().map_err(|_| LogError::NoHome)?;
    Ok(system.data_dir().join("evenhand"))
}
