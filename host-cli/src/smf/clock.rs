//! Ticks of a file to microseconds.

use midly::{MetaMessage, Timing, TrackEventKind};

/// Walks along a file and knows what time it is. Feed it every event in order.
pub(super) struct Clock {
    timing: Timing,
    tick: u64,
    /// Microseconds times the number of ticks in a quarter (or 1 for time code), so that
    /// nothing is rounded on the way.
    passed: u128,
    micros_per_quarter: u32,
}

impl Clock {
    pub(super) fn new(timing: Timing) -> Self {
        // A file starts at 120 quarters a minute (Standard MIDI Files 1.0).
        Self { timing, tick: 0, passed: 0, micros_per_quarter: 500_000 }
    }

    /// The time of an event at `tick`, in microseconds; the event may change the tempo.
    pub(super) fn at(&mut self, tick: u64, kind: &TrackEventKind<'_>) -> u64 {
        let micros = match self.timing {
            Timing::Metrical(per_quarter) => {
                let ticks = u128::from(tick.saturating_sub(self.tick));
                self.passed += ticks * u128::from(self.micros_per_quarter);
                let per_quarter = u128::from(per_quarter.as_int().max(1));
                (self.passed + per_quarter / 2) / per_quarter
            }
            Timing::Timecode(fps, per_frame) => {
                // 29.97 frames a second are 30,000 / 1,001.
                let (frames, seconds) = match fps.as_int() {
                    29 => (30_000_u128, 1_001_u128),
                    whole => (u128::from(whole), 1),
                };
                let per_second = frames * u128::from(per_frame.max(1));
                u128::from(tick) * 1_000_000 * seconds / per_second
            }
        };
        self.tick = tick;
        if let TrackEventKind::Meta(MetaMessage::Tempo(tempo)) = kind {
            self.micros_per_quarter = tempo.as_int().max(1);
        }
        u64::try_from(micros).unwrap_or(u64::MAX)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use midly::Fps;
    use midly::num::{u15, u24};

    const PLAIN: TrackEventKind<'static> = TrackEventKind::Meta(MetaMessage::TrackNumber(None));

    #[test]
    fn tempo_changes_count_from_where_they_stand() {
        let mut clock = Clock::new(Timing::Metrical(u15::new(480)));
        assert_eq!(clock.at(480, &PLAIN), 500_000);
        let slower = TrackEventKind::Meta(MetaMessage::Tempo(u24::new(1_000_000)));
        assert_eq!(clock.at(480, &slower), 500_000);
        assert_eq!(clock.at(720, &PLAIN), 1_000_000);
    }

    #[test]
    fn time_code_divisions_know_seconds() {
        let mut clock = Clock::new(Timing::Timecode(Fps::Fps25, 40));
        assert_eq!(clock.at(1_000, &PLAIN), 1_000_000);
        let mut drop_frame = Clock::new(Timing::Timecode(Fps::Fps29, 100));
        assert_eq!(drop_frame.at(2_997, &PLAIN), 999_999);
    }
}
