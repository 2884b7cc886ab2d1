//! `evenhand study`

use super::{SoundArgs, number, tempo};
use crate::smf::sheet::ChannelUse;
use clap::{Args, Subcommand, ValueEnum};
use std::path::PathBuf;

/// `evenhand study`
#[derive(Debug, Args)]
pub struct StudyArgs {
    /// What to do with it.
    #[command(subcommand)]
    pub action: StudyAction,
}

/// The actions on a study.
#[derive(Debug, Subcommand)]
pub enum StudyAction {
    /// Write a study of four bars with comments, to be changed into your own
    ///
    /// With `--ask`: as many bars as you say, in your metre, cut into chunks of two bars, and what is hard by
    /// itself.
    #[command(after_help = "Example:\n  evenhand study new my.study")]
    New {
        /// The file to make
        file: PathBuf,
        /// Ask five questions first: title, metre, tempo, how many bars, and which of them are hard
        #[arg(long)]
        ask: bool,
        /// Make it in the place of a file of this name
        #[arg(long)]
        replace: bool,
    },
    /// Say whether a study is right, and everything that is not
    ///
    /// Also where hands cannot do what is written, or hardly: how far fingers reach, which finger is where, how
    /// fast one plucks again.
    #[command(after_help = "Example:\n  evenhand study check my.study")]
    Check {
        /// Studies
        #[arg(required = true)]
        studies: Vec<PathBuf>,
        /// The length of the strings from nut to bridge, in millimetres
        #[arg(long, value_name = "MM", default_value_t = crate::study::SCALE, value_parser = number(300_u16, 900))]
        scale: u16,
    },
    /// Write a study whose chunks each have their music as one whose music is written once
    ///
    /// What is played and judged stays the same, to the note; comments are not kept. Chunks that overlap
    /// others, go back or land elsewhere keep a music of their own.
    #[command(after_help = "Example:\n  evenhand study gather my.study --out once.study")]
    Gather {
        /// A study
        study: PathBuf,
        /// The file to make
        #[arg(long, value_name = "FILE")]
        out: PathBuf,
        /// Make it in the place of a file of this name
        #[arg(long)]
        replace: bool,
    },
    /// Write a study in a form that other programs read: MusicXML (.musicxml) or a Standard MIDI File (.mid)
    #[command(after_help = "Example:\n  evenhand study export my.study --out my.musicxml")]
    Export(ExportArgs),
    /// Make a study of a score: MusicXML (.musicxml, .xml, packed .mxl) or a Standard MIDI File (.mid)
    ///
    /// One part of it, in the order in which it is played, cut into chunks of two bars, each with its landing. What
    /// a study cannot carry, and what was decided, is told bar by bar. The notes of a Standard MIDI File are moved to
    /// sixteenths and to triplets of eighths, whichever are nearer.
    #[command(after_help = "Example:\n  evenhand study import my.musicxml --out imported.study")]
    Import(ImportArgs),
    /// Show a study as tablature, with all that it says
    #[command(after_help = "Example:\n  evenhand study show my.study --chunk \"First two bars\"")]
    Show {
        /// A study
        study: PathBuf,
        /// Only these chunks: a name or a part of it, or bars (5-8); can be given again
        #[arg(long, value_name = "NAME")]
        chunk: Vec<String>,
    },
    /// Hear a study as plucked tones, evenly and at its tempo
    #[command(
        after_help = "Example:\n  evenhand study hear my.study --chunk \"First two bars\" --tempo 50 --write slow.wav --replace"
    )]
    Hear(HearArgs),
    /// Record a study as a simulated player plays it, with a fault if you like
    ///
    /// For whoever wants to see without a pickup what is said of a study. Every chunk is played
    /// once, with a pause after it; the fault is in the first one that has a place for it.
    #[command(
        after_help = "Example:\n  evenhand study play my.study late.mid --fault late-note --replace"
    )]
    Play(PlayArgs),
}

/// `evenhand study export`
#[derive(Debug, Args)]
pub struct ExportArgs {
    /// A study
    pub study: PathBuf,
    /// The file to make; its ending says the form
    #[arg(long, value_name = "FILE")]
    pub out: PathBuf,
    /// At this tempo, in beats a minute, instead of the study's
    #[arg(long, value_name = "BEATS", value_parser = tempo)]
    pub tempo: Option<u32>,
    /// Make it in the place of a file of this name
    #[arg(long)]
    pub replace: bool,
}

/// `evenhand study import`
#[derive(Debug, Args)]
pub struct ImportArgs {
    /// A score
    pub score: PathBuf,
    /// The study to make
    #[arg(long, value_name = "STUDY")]
    pub out: PathBuf,
    /// Which part (of a Standard MIDI File: which track): its name, a piece of its name, or its number from 1
    #[arg(long, value_name = "PART")]
    pub part: Option<String>,
    /// Only these bars, by their printed numbers (5 or 5-8)
    #[arg(long, value_name = "BARS", value_parser = bars)]
    pub bars: Option<(u16, u16)>,
    /// Only this voice, as the score numbers it; can be given again
    #[arg(long, value_name = "VOICE")]
    pub voice: Vec<String>,
    /// Of a Standard MIDI File: what its channels are
    #[arg(long, value_enum)]
    pub channels: Option<ChannelUse>,
    /// Of a Standard MIDI File: all its tracks as one part, each a voice
    #[arg(long, conflicts_with = "part")]
    pub joined: bool,
    /// Make it in the place of a file of this name
    #[arg(long)]
    pub replace: bool,
}

/// `5` or `5-8`.
fn bars(word: &str) -> Result<(u16, u16), String> {
    let (first, last) = word.split_once(['-', '–']).unwrap_or((word, word));
    match (first.trim().parse(), last.trim().parse()) {
        (Ok(first), Ok(last)) if first <= last => Ok((first, last)),
        _ => Err("bars are one number, or two with a - between them, as in 5-8".to_owned()),
    }
}

/// `evenhand study hear`
#[derive(Debug, Args)]
pub struct HearArgs {
    /// A study
    pub study: PathBuf,
    /// Only these chunks: a name or a part of it, or bars (5-8); can be given again
    #[arg(long, value_name = "NAME")]
    pub chunk: Vec<String>,
    /// At this tempo, in beats a minute, instead of the study's
    #[arg(long, value_name = "BEATS", value_parser = tempo)]
    pub tempo: Option<u32>,
    /// Write it as a WAV file instead of sounding it
    #[arg(long, value_name = "FILE.wav", conflicts_with_all = ["sound", "sound_port", "sound_delay"])]
    pub write: Option<PathBuf>,
    /// Write it in the place of a file of this name
    #[arg(long, requires = "write")]
    pub replace: bool,
    /// What sounds.
    #[command(flatten)]
    pub sound: SoundArgs,
}

/// `evenhand study play`
#[derive(Debug, Args)]
pub struct PlayArgs {
    /// A study
    pub study: PathBuf,
    /// The recording to make
    #[arg(value_name = "TAKE.mid")]
    pub take: PathBuf,
    /// Only these chunks: a name or a part of it, or bars (5-8); can be given again
    #[arg(long, value_name = "NAME")]
    pub chunk: Vec<String>,
    /// What goes wrong; without it nothing does
    #[arg(long, value_enum, value_name = "FAULT")]
    pub fault: Option<Slip>,
    /// At this tempo, in beats a minute, instead of the study's
    #[arg(long, value_name = "BEATS", value_parser = tempo)]
    pub tempo: Option<u32>,
    /// Another number is another performance, just as good
    #[arg(long, value_name = "NUMBER", default_value_t = 1, value_parser = number(0, u64::MAX))]
    pub seed: u64,
    /// Make it in the place of a file of this name
    #[arg(long)]
    pub replace: bool,
}

/// What can go wrong in a performance.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum Slip {
    /// One note comes late
    LateNote,
    /// Time is lost before one note, and not made up for
    LostTime,
    /// One note is a half step too high
    WrongNote,
    /// One note does not sound
    MissingNote,
    /// A note that is not written
    ExtraNote,
    /// One note is much softer
    SoftNote,
    /// All slurred notes are too soft
    WeakSlurs,
    /// It gets faster
    Rushing,
    /// The notes of a chord come one after the other
    SpreadChord,
}

impl Slip {
    /// Its name on the command line.
    pub fn name(self) -> String {
        self.to_possible_value().map(|value| value.get_name().to_owned()).unwrap_or_default()
    }

    /// What a chunk must have for it.
    pub const fn needs(self) -> &'static str {
        match self {
            Self::WeakSlurs => "It needs a slurred note: ^ before the note.",
            Self::SpreadChord => "It needs a chord: notes joined by +.",
            _ => "It needs a chunk of three notes or more, one after the other.",
        }
    }
}
