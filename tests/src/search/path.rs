//! Through which command, and with which pickup, a case is heard.

use evenhand::listening::Finished;
use evenhand::study::Prepared;

use super::stream::Stream;
use crate::paths::{Lateness, judge, listen, live};
use evenhand_core::pickup::Pickup;
use evenhand_core::session::SessionConfig;

/// A command, and the pickup before it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Path {
    /// The command.
    pub command: Command,
    /// How late notes come, which the judge does not know.
    pub lateness: Lateness,
}

/// A command.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Command {
    /// `listen STUDY --timed FILE`: any chunk of the study, several attempts.
    Listen,
    /// `judge STUDY RECORDING`: one recording.
    Judge,
}

impl Path {
    /// All paths, in the order of the table.
    pub const ALL: [Self; 4] = [
        Self { command: Command::Listen, lateness: Lateness::TwoPeriods },
        Self { command: Command::Listen, lateness: Lateness::None },
        Self { command: Command::Judge, lateness: Lateness::TwoPeriods },
        Self { command: Command::Judge, lateness: Lateness::None },
    ];

    /// Its name in the table.
    pub const fn name(self) -> &'static str {
        match (self.command, self.lateness) {
            (Command::Listen, Lateness::TwoPeriods) => "listen, late by two periods",
            (Command::Listen, Lateness::None) => "listen, never late",
            (Command::Judge, Lateness::TwoPeriods) => "judge, late by two periods",
            (Command::Judge, Lateness::None) => "judge, never late",
        }
    }

    /// Gives each attempt that is heard to `with`; of the pickup nothing is known before.
    pub fn hear<'a>(
        self,
        chunks: &'a [Prepared],
        stream: &Stream,
        with: impl FnMut(&Finished<'a>),
    ) {
        self.hear_behind(&Pickup::UNKNOWN, chunks, stream, with);
    }

    /// The same where so much is known of it.
    pub fn hear_behind<'a>(
        self,
        known: &Pickup,
        chunks: &'a [Prepared],
        stream: &Stream,
        with: impl FnMut(&Finished<'a>),
    ) {
        match self.command {
            Command::Listen => {
                let config = live(None);
                let pickup = Pickup { channels: config.pickup.channels, ..*known };
                let config = SessionConfig { pickup, ..config };
                listen(chunks, config, (&stream.messages, stream.until), with);
            }
            Command::Judge => judge(chunks, *known, &stream.messages, with),
        }
    }
}
