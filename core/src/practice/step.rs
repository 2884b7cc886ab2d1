//! What goes into a plan of practice and what comes out of it.

use super::event_results::WrongPitch;
use super::piece::Piece;
use crate::units::{Seconds, Tempo};
use crate::verdict::{Kind, Outcome, Verdict};

/// What practice makes of a verdict.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum AttemptResult {
    /// It passed.
    Clean,
    /// It needs work.
    NotClean,
    /// It could not be settled. It neither advances nor sets back.
    Unclear,
    /// It was broken off, or was something else. It neither advances nor sets back.
    Interrupted,
}

impl AttemptResult {
    /// What a verdict means for practice.
    pub fn of(verdict: &Verdict) -> Self {
        match verdict.outcome {
            Outcome::Passed => Self::Clean,
            Outcome::NeedsWork => Self::NotClean,
            Outcome::Unclear => {
                let broken =
                    [Kind::BrokenOff, Kind::BegunMidway, Kind::NotThisChunk, Kind::NothingHeard];
                if broken.iter().any(|kind| verdict.finding(*kind).is_some()) {
                    Self::Interrupted
                } else {
                    Self::Unclear
                }
            }
        }
    }
}

/// An attempt at the current task: of a verdict the result is [`AttemptResult::of`], of what was
/// played the tempo is [`tempo_played`](crate::measure::timing::tempo_played).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Attempt {
    /// How it went.
    pub result: AttemptResult,
    /// The tempo at which it was played, where it is known.
    pub tempo: Option<Tempo>,
    /// How long it lasted, to whole seconds: it counts towards the next rest, and nothing else.
    pub lasted: Seconds,
    /// When it ended, on the caller's clock.
    pub ended: Seconds,
}

/// How a piece is played.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize), serde(rename_all = "kebab-case"))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum PracticeVariant {
    /// As it is written.
    #[default]
    AsWritten,
    /// In another rhythm: notes by pairs, the first long, the second short.
    LongShort,
    /// In another rhythm: notes by pairs, the first short, the second long.
    ShortLong,
    /// A few times well above the tempo that is clean.
    Burst,
    /// At half the tempo, with an accent on each beat.
    Accents,
}

/// What to play.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Task {
    /// Which piece.
    pub piece: Piece,
    /// How.
    pub way: PracticeVariant,
    /// At which tempo.
    pub tempo: Tempo,
}

/// What the player can choose where tempo alone does not help. None of them is better than
/// another (Henley 2001 found no difference between patterns of tempo).
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize), serde(rename_all = "kebab-case"))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Choice {
    /// Less of it: halves of a chunk, the notes around the seam of a join.
    Shorter,
    /// Another rhythm.
    Rhythm,
    /// Another fingering.
    Fingering,
    /// A burst of tempo.
    Burst,
    /// Half the tempo, with an accent on each beat.
    Accents,
    /// Enough for today.
    Stop,
}

impl Choice {
    /// All of them.
    pub const ALL: [Self; 6] =
        [Self::Shorter, Self::Rhythm, Self::Fingering, Self::Burst, Self::Accents, Self::Stop];
}

/// Which choices there are.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Choices(u8);

impl Choices {
    /// No choice.
    pub const NONE: Self = Self(0);

    /// Whether this can be chosen.
    pub const fn has(self, choice: Choice) -> bool {
        self.0 & (1 << choice as u8) != 0
    }

    /// Whether nothing can be chosen.
    pub const fn is_empty(self) -> bool {
        self.0 == 0
    }

    /// What can be chosen.
    pub fn iter(self) -> impl Iterator<Item = Choice> {
        Choice::ALL.into_iter().filter(move |choice| self.has(*choice))
    }

    /// The same with this one, if it is possible.
    #[must_use]
    pub const fn with(self, choice: Choice, possible: bool) -> Self {
        Self(self.0 | ((possible as u8) << choice as u8))
    }
}

/// Why this comes next.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize), serde(rename_all = "kebab-case"))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Reason {
    /// It has not been played today. It begins at the tempo at which it was clean before, or
    /// at a share of the goal.
    Begin {
        /// It was clean at this tempo before.
        clean_before: bool,
    },
    /// It was clean: so many in a row of so many.
    Clean {
        /// In a row so far.
        clean: u8,
        /// That are wanted.
        of: u8,
    },
    /// It was clean often enough in a row.
    Faster {
        /// The tempo before.
        from: Tempo,
        /// How many in a row.
        clean: u8,
    },
    /// It was not clean.
    Slower {
        /// The tempo before.
        from: Tempo,
    },
    /// It was not clean, and raises did not hold: steps are half as large from here.
    SmallerSteps {
        /// The tempo before.
        from: Tempo,
    },
    /// It was not clean, and raises in half steps did not hold either. Choices are offered.
    Stuck {
        /// The tempo before.
        from: Tempo,
    },
    /// It was not clean at the slowest tempo. Choices are offered.
    Slowest,
    /// Too few of the last attempts were clean. Slower by two steps, or a choice.
    TooFewClean {
        /// The tempo before.
        from: Tempo,
        /// Clean ones.
        clean: u8,
        /// Of so many.
        of: u8,
    },
    /// It was clean, but slower than it was asked for, which says nothing about this tempo.
    NotAtTempo {
        /// The tempo that was played.
        played: Tempo,
    },
    /// It could not be settled.
    Unclear {
        /// For the so many-eth time in a row; see [`UNCLEAR_SAID`](super::rules::UNCLEAR_SAID).
        in_a_row: u8,
    },
    /// It was broken off, or was something else.
    Interrupted,
    /// It was clean at the first try: on by a leap.
    Leap {
        /// The tempo before.
        from: Tempo,
    },
    /// It was clean twice in a row, faster than it was asked for: it goes on from there.
    Shown {
        /// The slower of the tempi that were played.
        played: Tempo,
        /// The tempo that was asked for.
        asked: Tempo,
    },
    /// Nothing but the same other pitch came again at its place: the tempo stays, and the page is to be
    /// looked at.
    Misread {
        /// Where, and which.
        wrong: WrongPitch,
        /// For the so many-eth time.
        times: u8,
    },
    /// One event fails clearly more often than the others: only the notes around it now.
    Spot {
        /// The event of the piece, counted from 0.
        event: u8,
        /// In so many attempts it failed,
        failed: u8,
        /// of so many.
        tries: u8,
    },
    /// The notes around the hard place are clean: some more on either side.
    SpotGrows,
    /// They are clean: the piece as a whole again.
    SpotDone,
    /// So many attempts brought no faster clean tempo: something is changed.
    Plateau {
        /// So many.
        attempts: u8,
        /// What is changed.
        change: Choice,
    },
    /// The last piece is at its goal, and another one has its turn.
    AtGoal {
        /// The piece that is done.
        done: Piece,
    },
    /// The last piece has had its time, and another one has its turn.
    Turn {
        /// The piece that rests.
        after: Piece,
    },
    /// Both parts were clean: now in one.
    Join {
        /// The slower part's fastest clean tempo.
        slower: Tempo,
        /// Both passed on earlier days; if not, this is only to try it.
        settled: bool,
    },
    /// The other half.
    OtherHalf,
    /// The player chose it.
    Chosen(Choice),
    /// The player went to it.
    Taken,
    /// The player took the last attempt back: the pickup misheard it.
    TakenBack,
    /// A variation goes on.
    Variation {
        /// Clean in a row so far.
        clean: u8,
        /// That are wanted.
        of: u8,
    },
    /// The other way round.
    OtherRhythm,
    /// The variation is over: as it is written again.
    AsWritten,
    /// The burst is over.
    BurstOver {
        /// It was clean each time, so its tempo stays.
        held: bool,
    },
    /// Over: every piece is at its goal.
    AllAtGoal,
    /// Over: the player has had enough for today.
    Stopped,
    /// Over: it hurts.
    Hurts,
    /// Over before it began: there is no chunk.
    Nothing,
}

/// What comes next, and why.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Step {
    /// What to play; `None` if practice is over.
    pub task: Option<Task>,
    /// Why.
    pub reason: Reason,
    /// What can be chosen instead, with equal standing; empty where nothing is offered.
    pub offer: Choices,
    /// A rest is due. The figure is how long has been played since the last one, not how long to rest.
    pub rest: Option<Seconds>,
}

/// What was asked for cannot be done now.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[non_exhaustive]
pub enum NotPossible {
    /// Practice is over.
    Over,
    /// This piece cannot be practised so.
    NotHere,
    /// There is no such piece.
    NoSuchPiece,
    /// There is no room for another piece.
    Full,
}

impl core::fmt::Display for NotPossible {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        f.write_str(match self {
            Self::Over => "practice is over",
            Self::NotHere => "this piece cannot be practised so",
            Self::NoSuchPiece => "there is no such piece",
            Self::Full => "there is no room for another piece",
        })
    }
}

impl core::error::Error for NotPossible {}
