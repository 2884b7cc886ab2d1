//! The command line as it is typed.

mod days;
mod live;
mod sound;
mod study;

pub use days::{HistoryArgs, LogArgs, TodayArgs};
#[cfg(feature = "live")]
pub use live::PortsArgs;
pub use live::{CalibrateArgs, FootswitchArgs, LiveArgs, SourceArgs};
pub use sound::{ClickArgs, SoundArgs};
pub use study::{ExportArgs, HearArgs, ImportArgs, PlayArgs, Slip, StudyAction, StudyArgs};

use crate::channels::ChannelChoice;
use crate::speech::SpokenAttempts;
use clap::{Args, Parser, Subcommand, ValueEnum};
use clap_complete::Shell;
use evenhand_core::tolerance::PracticeLevel;
use std::fmt;
use std::path::PathBuf;
use std::str::FromStr;

macro_rules! health {
    () => {
        "Repetition can injure: warm up, rest five minutes in every half hour, do not raise your \
         weekly playing time suddenly, and stop when it hurts. If pain stays, see a medical \
         professional."
    };
}
/// Listens to a MIDI guitar pickup and says honestly whether a chunk of music is done.
#[derive(Debug, Parser)]
#[command(
    name = "evenhand",
    version,
    long_version = version(),
    max_term_width = 80,
    after_help = concat!(health!(), "\n\nExample:\n  evenhand demo")
)]
pub struct Cli {
    /// What to do.
    #[command(subcommand)]
    pub command: Command,
}

/// Shown with the help, and with the demo.
pub const HEALTH: &str = health!();

/// The version, and what this build can do: not every one has been made with all of it.
const fn version() -> &'static str {
    macro_rules! version {
        ($midi:literal, $sound:literal) => {
            concat!(env!("CARGO_PKG_VERSION"), "\nMIDI ports: ", $midi, "\nsound: ", $sound)
        };
    }
    match (cfg!(feature = "live"), cfg!(feature = "jack"), cfg!(feature = "sound")) {
        (false, _, false) => version!("not in this build", "not in this build"),
        (false, _, true) => version!("not in this build", "yes"),
        (true, false, false) => version!("yes", "not in this build"),
        (true, false, true) => version!("yes", "yes"),
        (true, true, false) => version!("through JACK", "not in this build"),
        (true, true, true) => version!("through JACK", "yes"),
    }
}

/// The commands.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Judge the bundled recordings of the bundled study
    #[command(after_help = "Example:\n  evenhand demo")]
    Demo(DemoArgs),
    /// Judge recordings (Standard MIDI Files) of a study, or a recording against a score
    #[command(after_help = "Example:\n  evenhand judge my.study take.mid")]
    Judge(JudgeArgs),
    /// Practise a study hands-free: it listens, judges, and says what comes next
    #[command(after_help = "Example:\n  evenhand practice my.study --tempo 66")]
    Practice(PracticeArgs),
    /// Judge a live stream, attempt by attempt
    ///
    /// Chunks that are played through are one attempt. Going back some notes and going on is one
    /// attempt with a return, leaving some out one with a gap. A part that is looped three times or
    /// more is judged each time round, one voice alone as that voice; a chunk that was begun and
    /// broken off is counted as a false start, with --events told as one.
    #[command(after_help = "Example:\n  evenhand listen my.study --chunk \"First two bars\"")]
    Listen(ListenArgs),
    /// Keep what comes in as a Standard MIDI File, without judging it
    #[command(after_help = "Example:\n  evenhand record today.mid")]
    Record(RecordArgs),
    /// Find out about the pickup by playing on it, and keep its profile
    #[command(after_help = "Example:\n  evenhand calibrate")]
    Calibrate(CalibrateArgs),
    /// Learn which pedal or key means again, next, back and stop
    #[command(after_help = "Example:\n  evenhand footswitch")]
    Footswitch(FootswitchArgs),
    /// Look back on what has been practised
    #[command(after_help = "Example:\n  evenhand history --since 2026-03-31")]
    History(HistoryArgs),
    /// What is due today of the studies in a folder, and why
    #[command(after_help = "Example:\n  evenhand today --minutes 30")]
    Today(TodayArgs),
    /// Begin a study of your own, check it, show it, hear it, or record it by a simulated player
    #[command(after_help = "Example:\n  evenhand study new my.study")]
    Study(StudyArgs),
    /// Look for whatever may keep this computer from hearing, and say what to do
    #[command(after_help = "Example:\n  evenhand doctor my.study")]
    Doctor(DoctorArgs),
    /// Sound a count-in and a click, to try the sound or to play with
    #[command(after_help = "Example:\n  evenhand click --tempo 72 --metre 3/4")]
    Click(ClickArgs),
    /// Make a pack of a study, for a pedal
    #[command(after_help = "Example:\n  evenhand pack my.study --replace")]
    Pack(PackArgs),
    /// Talk to a pedal: load studies, fetch results
    #[command(after_help = "Example:\n  evenhand pedal load my.study --device /dev/ttyACM0")]
    Pedal(PedalArgs),
    /// List the MIDI inputs and outputs of this computer, and its audio output
    #[cfg(feature = "live")]
    #[command(after_help = "Example:\n  evenhand ports")]
    Ports(PortsArgs),
    /// Write what a shell needs to complete these commands
    #[command(after_help = "Example:\n  evenhand completions bash")]
    Completions {
        /// The shell
        shell: Shell,
    },
    /// Write manual pages for `man` into a folder
    #[command(after_help = "Example:\n  evenhand manual .")]
    Manual {
        /// The folder
        folder: PathBuf,
    },
}

/// How results are written.
#[derive(Debug, Args)]
pub struct OutputArgs {
    /// Write JSON Lines instead of text
    #[arg(long)]
    pub events: bool,
    /// Write one line an attempt, to be read aloud
    #[arg(long, conflicts_with = "events")]
    pub plain: bool,
    /// Let the exit code tell the verdict: 1 needs work, 3 unclear
    #[arg(long)]
    pub exit_by_verdict: bool,
}

/// How strictly it is judged.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub enum LevelArg {
    /// Getting the notes into the hands
    First,
    /// Every note there, steady and even
    Steady,
    /// Ready to be heard by others
    Performance,
}

impl From<LevelArg> for PracticeLevel {
    fn from(level: LevelArg) -> Self {
        match level {
            LevelArg::First => Self::First,
            LevelArg::Steady => Self::Steady,
            LevelArg::Performance => Self::Performance,
        }
    }
}

/// `evenhand demo`
#[derive(Debug, Args)]
pub struct DemoArgs {
    /// How results are written.
    #[command(flatten)]
    pub output: OutputArgs,
}

/// What is listened for.
#[derive(Debug, Args)]
pub struct HearingArgs {
    /// How strings are spread over channels; `string` is a channel per string, the lowest of
    /// six for string 1 (live, the first channel)
    #[arg(long, value_enum, default_value = "auto", value_name = "HOW")]
    pub channels: ChannelChoice,
    /// What is known of the pickup, in place of what `calibrate` has found out
    #[arg(long, value_name = "FILE")]
    pub pickup: Option<PathBuf>,
    /// Take nothing for known of the pickup
    #[arg(long, conflicts_with = "pickup")]
    pub no_pickup: bool,
    /// Judge by this level instead of the study's
    #[arg(long, value_enum)]
    pub level: Option<LevelArg>,
    /// Practise at this tempo, in beats a minute, instead of the study's
    #[arg(long, value_name = "BEATS", value_parser = tempo)]
    pub tempo: Option<u32>,
}

/// `evenhand judge`
#[derive(Debug, Args)]
pub struct JudgeArgs {
    /// A study
    #[arg(
        required_unless_present_any = ["expected", "disputed"],
        conflicts_with_all = ["expected", "played", "disputed"]
    )]
    pub study: Option<PathBuf>,
    /// Recordings of it
    #[arg(required_unless_present_any = ["expected", "disputed"])]
    pub recordings: Vec<PathBuf>,
    /// What is expected, as a Standard MIDI File or a score in MusicXML instead of a study
    #[arg(long, value_name = "SCORE", requires = "played")]
    pub expected: Option<PathBuf>,
    /// Which part of a score in MusicXML: its name, a piece of its name, or its number from 1
    #[arg(long, value_name = "PART", requires = "expected")]
    pub part: Option<String>,
    /// What was played; the whole of it is one attempt
    #[arg(long, value_name = "PERFORMANCE.mid", requires = "expected")]
    pub played: Option<PathBuf>,
    /// Disputed attempts, as `history --disputed` wrote them, each by what it was judged by
    #[arg(
        long,
        value_name = "FILE",
        conflicts_with_all = ["expected", "click", "chunk", "channels", "pickup", "no_pickup", "level", "tempo"]
    )]
    pub disputed: Option<PathBuf>,
    /// Judge by these chunks only: a name or a part of it, or bars (5-8); can be given again
    #[arg(long, value_name = "NAME", conflicts_with = "expected")]
    pub chunk: Vec<String>,
    /// A click sounded from the very beginning of the recording, at the practised tempo
    #[arg(long)]
    pub click: bool,
    /// What is listened for.
    #[command(flatten)]
    pub hearing: HearingArgs,
    /// How results are written.
    #[command(flatten)]
    pub output: OutputArgs,
}

/// `evenhand listen`
#[derive(Debug, Args)]
pub struct ListenArgs {
    /// A study
    pub study: PathBuf,
    /// Judge by these chunks only: a name or a part of it, or bars (5-8); can be given again
    #[arg(long, value_name = "NAME")]
    pub chunk: Vec<String>,
    /// What is listened to.
    #[command(flatten)]
    pub live: LiveArgs,
    /// What is listened for.
    #[command(flatten)]
    pub hearing: HearingArgs,
    /// How results are written.
    #[command(flatten)]
    pub output: OutputArgs,
}

/// `evenhand practice`
#[derive(Debug, Args)]
pub struct PracticeArgs {
    /// A study
    #[arg(required_unless_present = "today")]
    pub study: Option<PathBuf>,
    /// What is due today of the studies in this folder, study after study, each for its minutes
    #[arg(long, value_name = "FOLDER", conflicts_with_all = ["study", "chunk", "tempo"])]
    pub today: Option<PathBuf>,
    /// The minutes that there are for it
    #[arg(long, value_name = "NUMBER", default_value_t = 30, requires = "today", value_parser = number(1_u32, 600))]
    pub minutes: u32,
    /// Practise these chunks only: a name or a part of it, or bars (5-8); can be given again
    #[arg(long, value_name = "NAME")]
    pub chunk: Vec<String>,
    /// A course, by which studies begin
    #[arg(long, value_name = "FILE", requires = "today")]
    pub course: Option<PathBuf>,
    /// At your own tempo: no click, and the tempo is not asked for
    #[arg(long)]
    pub free: bool,
    /// By steps of tempo alone: no leaps, no hard places, no changes by itself
    #[arg(long)]
    pub by_steps: bool,
    /// How long a verdict is read before the next count-in; without it four seconds, and two
    /// after a clean attempt
    #[arg(long, value_name = "SECONDS", value_parser = number(0_u8, 60))]
    pub pause: Option<u8>,
    /// Speak the verdict, by a voice of this computer: after `every` attempt, after every so many-eth
    /// (a number), or after those that `passed`. The key s speaks the whole sentence
    #[arg(long, value_name = "WHEN", value_parser = spoken)]
    pub speak: Option<SpokenAttempts>,
    /// What sounds.
    #[command(flatten)]
    pub sound: SoundArgs,
    /// What is listened to.
    #[command(flatten)]
    pub live: LiveArgs,
    /// What is listened for; the tempo is the goal.
    #[command(flatten)]
    pub hearing: HearingArgs,
    /// How results are written.
    #[command(flatten)]
    pub output: OutputArgs,
}

/// `evenhand record`
#[derive(Debug, Args)]
pub struct RecordArgs {
    /// The file to make
    #[arg(value_name = "FILE.mid")]
    pub file: PathBuf,
    /// Where notes come from.
    #[command(flatten)]
    pub source: SourceArgs,
    /// Make it in the place of a file of this name
    #[arg(long)]
    pub replace: bool,
}

/// A whole number from `least` to `most`.
fn number<T>(least: T, most: T) -> impl Fn(&str) -> Result<T, String> + Clone + Send + Sync
where
    T: Copy + FromStr + PartialOrd + fmt::Display + Send + Sync,
{
    move |text| {
        let number = text.parse().ok().filter(|number| least <= *number && *number <= most);
        // The largest number of its kind is no limit that anybody meets.
        let range = match most.to_string().len() {
            10.. => format!("from {least} on"),
            _ => format!("from {least} to {most}"),
        };
        number.ok_or_else(|| format!("write a whole number {range}"))
    }
}

/// After which attempts something is spoken.
fn spoken(text: &str) -> Result<SpokenAttempts, String> {
    match text {
        "every" => Ok(SpokenAttempts::Every(1)),
        "passed" => Ok(SpokenAttempts::Passed),
        number => {
            let number = number.parse().ok().filter(|number| *number > 0);
            let every = number.map(SpokenAttempts::Every);
            every.ok_or_else(|| "write every, passed, or a whole number from 1 to 255".to_owned())
        }
    }
}

/// Beats a minute. Which of them can be practised depends on the metre.
fn tempo(text: &str) -> Result<u32, String> {
    text.parse().map_err(|_| "write beats a minute as a whole number: 72".to_owned())
}

/// The longest name of a person, our default: it stands in one line with a date.
const LONGEST_NAME: usize = 40;

fn person(text: &str) -> Result<String, String> {
    let name = text.split_whitespace().collect::<Vec<_>>().join(" ");
    if name.is_empty() || name.chars().any(char::is_control) {
        return Err("a name has at least one letter, and nothing that cannot be seen".to_owned());
    }
    match name.chars().count() {
        0..=LONGEST_NAME => Ok(name),
        _ => Err(format!("a name has at most {LONGEST_NAME} letters")),
    }
}

/// `evenhand doctor`
#[derive(Debug, Args)]
pub struct DoctorArgs {
    /// A study to look at, too
    #[arg(conflicts_with = "listen")]
    pub study: Option<PathBuf>,
    /// A pickup's profile to look at, too
    #[arg(long, value_name = "FILE")]
    pub pickup: Option<PathBuf>,
    /// Hear a minute of playing, and say string by string how the pickup hears
    #[arg(long)]
    pub listen: bool,
    /// Where notes come from, with --listen.
    #[command(flatten)]
    pub source: SourceArgs,
    /// Write JSON Lines instead of text
    #[arg(long)]
    pub events: bool,
}

/// `evenhand pack`
#[derive(Debug, Args)]
pub struct PackArgs {
    /// A study
    pub study: PathBuf,
    /// The file to make, instead of one beside the study that ends in .pack
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
    /// Make it in the place of a file of this name, though never of the study
    #[arg(long)]
    pub replace: bool,
    /// Write JSON Lines instead of text
    #[arg(long)]
    pub events: bool,
}

/// `evenhand pedal`
#[derive(Debug, Args)]
pub struct PedalArgs {
    /// What to do.
    #[command(subcommand)]
    pub action: PedalAction,
}

/// What can be done with a pedal.
#[derive(Debug, Subcommand)]
pub enum PedalAction {
    /// Show the pedal and the studies on it
    #[command(after_help = "Example:\n  evenhand pedal list --device /dev/ttyACM0")]
    List(CableArgs),
    /// Load a study, or a pack, onto the pedal
    #[command(after_help = "Example:\n  evenhand pedal load my.study --device /dev/ttyACM0")]
    Load {
        /// A study, or a pack of one
        study: PathBuf,
        /// The pedal.
        #[command(flatten)]
        cable: CableArgs,
    },
    /// Fetch what was practised into the log, and free the pedal's memory
    #[command(after_help = "Example:\n  evenhand pedal results --device /dev/ttyACM0")]
    Results {
        /// Leave the results on the pedal, too
        #[arg(long)]
        keep: bool,
        /// Who played; kept with the attempts
        #[arg(long = "for", value_name = "NAME", value_parser = person)]
        who: Option<String>,
        /// The pedal.
        #[command(flatten)]
        cable: CableArgs,
    },
    /// Remove a study from the pedal; its results stay
    #[command(
        after_help = "Example:\n  evenhand pedal remove \"My four bars\" --device /dev/ttyACM0"
    )]
    Remove {
        /// The title of the study, or its hash as `list` shows it
        title: String,
        /// The pedal.
        #[command(flatten)]
        cable: CableArgs,
    },
}

/// Where the pedal is.
#[derive(Debug, Args)]
pub struct CableArgs {
    /// The serial device that the pedal is on, such as /dev/ttyACM0 or COM3
    #[arg(long, value_name = "PATH")]
    pub device: PathBuf,
    /// Write JSON Lines instead of text
    #[arg(long)]
    pub events: bool,
    /// Where the log is.
    #[command(flatten)]
    pub log: LogArgs,
}
