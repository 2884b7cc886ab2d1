//! Options for what is kept: the log, looking back, and what is due.

use super::{number, person};
use clap::Args;
use std::path::PathBuf;

/// Where the log is.
#[derive(Debug, Args)]
pub struct LogArgs {
    /// The folder of the log, instead of the one in EVENHAND_DATA or the user's data folder
    #[arg(long, value_name = "FOLDER")]
    pub data: Option<PathBuf>,
}

/// `evenhand history`
#[derive(Debug, Args)]
pub struct HistoryArgs {
    /// Only this study, by its title or its file
    #[arg(long, value_name = "STUDY")]
    pub study: Option<String>,
    /// Only this chunk
    #[arg(long, value_name = "NAME")]
    pub chunk: Option<String>,
    /// Only what this person played
    #[arg(long = "for", value_name = "NAME", value_parser = person)]
    pub who: Option<String>,
    /// Only attempts since the beginning of this day, as 2026-03-31
    #[arg(long, value_name = "DATE", value_parser = day)]
    pub since: Option<jiff::civil::Date>,
    /// List everything, not only the latest days
    #[arg(long, conflicts_with_all = ["since", "last", "sitting"])]
    pub all: bool,
    /// Only so many attempts, the latest
    #[arg(long, value_name = "NUMBER", value_parser = number(1, u32::MAX))]
    pub last: Option<u32>,
    /// One sitting in full, by its number
    #[arg(long, value_name = "NUMBER", value_parser = number(1, i64::MAX))]
    pub sitting: Option<i64>,
    /// Draw the days of a study into a new picture, against the goal of each piece
    #[arg(long, value_name = "FILE.svg", requires = "study", conflicts_with_all = ["sitting", "disputed", "again"])]
    pub svg: Option<PathBuf>,
    /// A course: which study from when to when. Told how each stands
    #[arg(long, value_name = "FILE", conflicts_with_all = ["study", "chunk", "sitting", "disputed", "again"])]
    pub course: Option<PathBuf>,
    /// How they stand on this day, as 2026-03-31, instead of today
    #[arg(long, value_name = "DATE", requires = "course", value_parser = day)]
    pub on: Option<jiff::civil::Date>,
    /// Make the picture in the place of a file of this name
    #[arg(long, requires = "svg")]
    pub replace: bool,
    /// Put the attempts that were disputed into a new file, for whoever improves the judge
    #[arg(long, value_name = "FILE")]
    pub disputed: Option<PathBuf>,
    /// Let the names of study and chunk stand in it, too
    #[arg(long, requires = "disputed")]
    pub names: bool,
    /// Judge the attempts again by their notes, and tell where the verdict is another today
    #[arg(long, conflicts_with = "disputed")]
    pub again: bool,
    /// Write JSON Lines instead of text
    #[arg(long)]
    pub events: bool,
    /// Where the log is.
    #[command(flatten)]
    pub log: LogArgs,
}

/// `evenhand today`
#[derive(Debug, Args)]
pub struct TodayArgs {
    /// The folder of the studies
    #[arg(default_value = ".")]
    pub folder: PathBuf,
    /// The minutes that there are
    #[arg(long, value_name = "NUMBER", default_value_t = 30, value_parser = number(1_u32, 600))]
    pub minutes: u32,
    /// What is due on this day, as 2026-03-31, instead of today
    #[arg(long, value_name = "DATE", value_parser = day)]
    pub on: Option<jiff::civil::Date>,
    /// A course: which study from when to when. Told how each stands, and none begins before
    #[arg(long, value_name = "FILE")]
    pub course: Option<PathBuf>,
    /// Whose days, by the name that was given
    #[arg(long = "for", value_name = "NAME", value_parser = person)]
    pub who: Option<String>,
    /// Where the log is.
    #[command(flatten)]
    pub log: LogArgs,
    /// Write JSON Lines instead of text
    #[arg(long)]
    pub events: bool,
}

fn day(text: &str) -> Result<jiff::civil::Date, String> {
    text.parse().map_err(|_| "a day is written as year, month and day: 2026-03-31".to_owned())
}
