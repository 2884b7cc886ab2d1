//! Looks after the output: when it goes, it is waited for and opened again. Pure: time is an
//! argument, and opening is somebody else's ([`Opener`]).

use super::device::{Device, Opened, Opener};
use super::{SoundChange, SoundProblem};
use evenhand_core::units::{Instant, Offset};

/// How long to wait between two tries to open it. Our default: a headphone that is plugged in
/// again is heard by the next count-in, and a try costs some milliseconds.
const BETWEEN_TRIES: Offset = Offset::from_millis(1_500);

enum Stage {
    /// Nothing is to sound, or never can in this build.
    Never,
    /// It sounds.
    Open(Box<dyn Device>),
    /// It is away; the next try is then.
    Away { until: Instant },
    /// It is being opened.
    Opening,
}

/// The output, and what is done about it.
pub(super) struct Upkeep {
    opener: Option<Box<dyn Opener>>,
    stage: Stage,
    /// Why nothing sounds that should.
    missing: Option<SoundProblem>,
}

impl Upkeep {
    /// Nothing is to sound.
    pub(super) const fn of_nothing() -> Self {
        Self { opener: None, stage: Stage::Never, missing: None }
    }

    /// What was opened at first, or was not.
    pub(super) fn of(opener: Box<dyn Opener>, first: Opened, now: Instant) -> Self {
        let (stage, missing) = match first {
            Ok(device) => (Stage::Open(device), None),
            Err(problem) if never(&problem) => (Stage::Never, Some(problem)),
            Err(problem) => (Stage::Away { until: now.plus(BETWEEN_TRIES) }, Some(problem)),
        };
        Self { opener: Some(opener), stage, missing }
    }

    /// The output, if it is there.
    pub(super) fn device(&self) -> Option<&dyn Device> {
        match &self.stage {
            Stage::Open(device) => Some(&**device),
            _ => None,
        }
    }

    /// The output, to give it orders.
    pub(super) fn device_mut(&mut self) -> Option<&mut Box<dyn Device>> {
        match &mut self.stage {
            Stage::Open(device) => Some(device),
            _ => None,
        }
    }

    /// Why nothing sounds that should.
    pub(super) const fn missing(&self) -> Option<&SoundProblem> {
        self.missing.as_ref()
    }

    /// Does what is due, and says what has changed. To be called a few times a second.
    pub(super) fn look(&mut self, now: Instant) -> Option<SoundChange> {
        let opener = self.opener.as_mut()?;
        match &mut self.stage {
            Stage::Never => None,
            Stage::Open(device) => {
                let problem = device.trouble()?;
                let away = Stage::Away { until: now.plus(BETWEEN_TRIES) };
                if let Stage::Open(gone) = std::mem::replace(&mut self.stage, away) {
                    opener.part(gone);
                }
                self.missing = Some(problem.clone());
                Some(SoundChange::Lost(problem))
            }
            Stage::Away { until } => {
                if now >= *until {
                    opener.begin();
                    self.stage = Stage::Opening;
                }
                None
            }
            Stage::Opening => match opener.done()? {
                Ok(device) => {
                    let name = device.name().to_owned();
                    (self.stage, self.missing) = (Stage::Open(device), None);
                    Some(SoundChange::Back(name))
                }
                Err(_) => {
                    // What was said first stays true, and says more.
                    self.stage = Stage::Away { until: now.plus(BETWEEN_TRIES) };
                    None
                }
            },
        }
    }
}

/// Whether trying again is of no use.
const fn never(problem: &SoundProblem) -> bool {
    matches!(problem, SoundProblem::AudioNotBuilt | SoundProblem::MidiNotBuilt)
}
