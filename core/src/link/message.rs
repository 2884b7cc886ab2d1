//! What is asked and answered.

use serde::{Deserialize, Serialize};

/// Bytes of a pack or a result that travel at once, at most: a page of common flash. All pieces
/// of a pack but the last have exactly this many.
pub const DATA: usize = 256;

/// The longest name of a board or a firmware, in bytes.
pub const NAME: usize = 40;

/// What tells a pack from every other.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct PackId {
    /// The hash of the study's text.
    pub study: u64,
    /// Its length in bytes.
    pub length: u32,
    /// The checksum in its header.
    pub checksum: u32,
}

/// What the computer asks.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Question<'a> {
    /// Who are you? Begins a session. Answered by [`Answer::Hello`].
    Hello,
    /// Which pack has this index? Answered by [`Answer::Listed`] or [`Refusal::NoSuchPack`].
    List {
        /// From 0.
        index: u16,
    },
    /// I shall send this pack. Answered by [`Answer::Want`] with where to begin, or
    /// [`Answer::Stored`] if it is there already.
    Begin(PackId),
    /// A piece of it. Answered by [`Answer::Want`] with where to go on, whatever was sent.
    Data {
        /// The pack's.
        checksum: u32,
        /// Where the piece belongs.
        offset: u32,
        /// The piece: [`DATA`] bytes, or fewer at the end.
        bytes: &'a [u8],
    },
    /// That was all of it. Answered by [`Answer::Stored`] once it is checked and stored, or by
    /// [`Answer::Want`] if something is missing.
    End {
        /// The pack's.
        checksum: u32,
    },
    /// Remove this pack. Answered by [`Answer::Removed`].
    Remove(PackId),
    /// Send a stored pack from here on. Answered by [`Answer::Part`].
    Read {
        /// Which.
        pack: PackId,
        /// From where.
        offset: u32,
    },
    /// Send the first result that has this number or a higher one. Answered by
    /// [`Answer::Result`] or [`Answer::NoResult`].
    Result {
        /// The number.
        number: u32,
        /// From where in the result.
        offset: u16,
    },
    /// Forget the results up to this number: they are safe. Answered by [`Answer::Forgotten`].
    Forget {
        /// The last that is forgotten.
        up_to: u32,
    },
    /// It is so many seconds since 1970-01-01 00:00 UTC. Answered by [`Answer::ClockSet`].
    Clock {
        /// The seconds.
        seconds: u32,
    },
    /// What has gone wrong since the power came? Answered by [`Answer::Troubles`]; by
    /// [`Refusal::NotUnderstood`] where the firmware is older than the question.
    Troubles,
}

/// Why a pedal has begun anew without its power going.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Stopped {
    /// It has not.
    #[default]
    Not,
    /// The firmware did not go on, and its watchdog ended that.
    Hung,
    /// The firmware found that it could not go on (a panic).
    Panicked,
    /// The processor met what it cannot do (a hard fault).
    Faulted,
    /// For a reason that this side does not know.
    Unknown,
}

impl Stopped {
    /// All, in the order of their codes.
    const ALL: [Self; 5] = [Self::Not, Self::Hung, Self::Panicked, Self::Faulted, Self::Unknown];

    /// The number that stands for it on the link.
    pub const fn code(self) -> u8 {
        self as u8
    }

    /// What a number stands for; one that is not known here is [`Unknown`](Self::Unknown).
    pub fn of(code: u8) -> Self {
        Self::ALL.get(usize::from(code)).copied().unwrap_or(Self::Unknown)
    }
}

/// What has gone wrong with a pedal.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Troubles {
    /// Results that could not be kept since it was switched on or has begun anew.
    pub lost: u32,
    /// Why it began anew the last time.
    pub stopped: Stopped,
}

/// Who the pedal is, and what it has.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Hello<'a> {
    /// The firmware's version.
    pub firmware: &'a str,
    /// The board.
    pub board: &'a str,
    /// A number that no other pedal has, such as that of its flash.
    pub device: u64,
    /// A number that changes when the memory is made anew and results are numbered from 1 again.
    pub memory: u32,
    /// The newest version of packs that it reads.
    pub pack_version: u16,
    /// The longest pack that can be stored now, in bytes.
    pub free: u32,
    /// How many packs are stored.
    pub packs: u16,
    /// The number of the oldest result that is kept; equal to the next if there is none.
    pub oldest: u32,
    /// The number that the next result will have.
    pub next: u32,
    /// The number of the sitting since it was switched on.
    pub sitting: u32,
    /// Seconds since it was switched on.
    pub seconds: u32,
}

/// What the pedal answers.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Answer<'a> {
    /// Who it is.
    #[serde(borrow)]
    Hello(Hello<'a>),
    /// A stored pack.
    Listed {
        /// What it is.
        pack: PackId,
        /// The title of the study.
        title: &'a str,
    },
    /// The piece of the incoming pack that is wanted next begins here.
    Want {
        /// The pack's.
        checksum: u32,
        /// From its beginning.
        offset: u32,
    },
    /// The pack is checked and stored.
    Stored {
        /// The pack's.
        checksum: u32,
    },
    /// The pack is removed.
    Removed,
    /// A piece of a stored pack.
    Part {
        /// Where it belongs.
        offset: u32,
        /// The piece; the end is reached with the length of the pack.
        bytes: &'a [u8],
    },
    /// A piece of a result.
    Result {
        /// Its number.
        number: u32,
        /// How long the whole result is.
        total: u16,
        /// Where the piece belongs.
        offset: u16,
        /// The piece.
        bytes: &'a [u8],
    },
    /// There is no result with that number or a higher one.
    NoResult {
        /// The number that the next one will have.
        next: u32,
    },
    /// They are forgotten.
    Forgotten {
        /// The number of the oldest that is kept.
        oldest: u32,
    },
    /// The clock is set, or there is none and it does not matter.
    ClockSet,
    /// That cannot be done.
    Refused(Refusal),
    /// What has gone wrong.
    Troubles {
        /// See [`Troubles::lost`].
        lost: u32,
        /// The [code](Stopped::code) of [`Troubles::stopped`].
        stopped: u8,
    },
}

/// Why something cannot be done. Nothing was changed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[non_exhaustive]
pub enum Refusal {
    /// The question is none that the pedal knows.
    NotUnderstood,
    /// The session has not begun: say hello first.
    NoSession,
    /// There is no room for a pack of this length.
    NoRoom,
    /// No such pack is coming in: begin first.
    NotBegun,
    /// What came in is no pack, or is damaged. It was thrown away.
    Damaged,
    /// The pack is of a version that the pedal does not read. It was thrown away.
    TooNew,
    /// There is no such pack.
    NoSuchPack,
    /// The pack is being practised now.
    InUse,
    /// The memory failed.
    Memory,
}
