//! What is listened to live.

use super::{LogArgs, person};
use clap::Args;
use std::path::PathBuf;

/// Where notes come from.
#[derive(Debug, Args)]
pub struct SourceArgs {
    /// Raw MIDI bytes from a serial device, a FIFO or a file; `-` is standard input. A device or a FIFO that
    /// ends is waited for, a file and standard input are not
    #[arg(long, value_name = "PATH")]
    pub raw: Option<PathBuf>,
    /// Lines of a time in microseconds and MIDI bytes in hexadecimal; time is what they say
    #[arg(long, value_name = "PATH", conflicts_with = "raw")]
    pub timed: Option<PathBuf>,
    /// A MIDI input of this computer, by its name or a part of it
    #[cfg(feature = "live")]
    #[arg(long, value_name = "NAME", conflicts_with_all = ["raw", "timed"])]
    pub port: Option<String>,
}

/// What is listened to, and what is kept of it.
#[derive(Debug, Args)]
pub struct LiveArgs {
    /// Where notes come from.
    #[command(flatten)]
    pub source: SourceArgs,
    /// The MIDI input of a foot switch, if it is another one
    #[cfg(feature = "live")]
    #[arg(long, value_name = "NAME")]
    pub switch_port: Option<String>,
    /// Keep what comes in as a Standard MIDI File, too
    #[arg(long, value_name = "FILE.mid")]
    pub record: Option<PathBuf>,
    /// Make that file in the place of a file of this name
    #[arg(long, requires = "record")]
    pub replace: bool,
    /// Who plays; kept with the attempts
    #[arg(long = "for", value_name = "NAME", value_parser = person)]
    pub who: Option<String>,
    /// When the stream of `--timed` began, as 2026-03-31T18:30; without it, now
    #[arg(long, value_name = "TIME", requires = "timed", value_parser = time)]
    pub began: Option<jiff::civil::DateTime>,
    /// Keep no attempt in the log
    #[arg(long)]
    pub no_log: bool,
    /// Where the log is.
    #[command(flatten)]
    pub log: LogArgs,
}

fn time(text: &str) -> Result<jiff::civil::DateTime, String> {
    let time = text.parse().ok().filter(|_| text.contains(['T', ' ']));
    time.ok_or_else(|| "a time is written as day and hour: 2026-03-31T18:30".to_owned())
}

/// `evenhand calibrate`
#[derive(Debug, Args)]
pub struct CalibrateArgs {
    /// Where notes come from.
    #[command(flatten)]
    pub source: SourceArgs,
    /// Write the profile here instead of the folder for settings
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
    /// Write lines that read well aloud instead of the page
    #[arg(long)]
    pub plain: bool,
}

/// `evenhand footswitch`
#[derive(Debug, Args)]
pub struct FootswitchArgs {
    /// Where its messages come from.
    #[command(flatten)]
    pub source: SourceArgs,
    /// Learn two switches for everything: each once, twice, held, and both
    #[arg(long, conflicts_with_all = ["forget", "show"])]
    pub two: bool,
    /// Learn a figure on the guitar that asks what can be chosen, in place of a switch
    #[arg(long, conflicts_with_all = ["forget", "show", "two"])]
    pub guitar: bool,
    /// Forget what has been learnt
    #[arg(long, conflicts_with_all = ["raw", "timed"])]
    pub forget: bool,
    /// Show what has been learnt
    #[arg(long, conflicts_with_all = ["raw", "timed", "forget"])]
    pub show: bool,
}

/// `evenhand ports`
#[cfg(feature = "live")]
#[derive(Debug, Args)]
pub struct PortsArgs {
    /// Write JSON Lines instead of text
    #[arg(long)]
    pub events: bool,
}
