//! The last messages that came from the guitar, as they came.

use crate::log::Message;
use evenhand_core::units::Instant;
use std::collections::VecDeque;

/// So many are kept; of a longer attempt the first are lost. Our default: an attempt has at most 512 notes
/// that are judged, each with its end, and a converter that sends bends sends some dozen a note.
const MOST: usize = 16_384;

/// The last messages, with the times at which they came.
#[derive(Debug, Default)]
pub(crate) struct LastMessages(VecDeque<(Instant, Vec<u8>)>);

impl LastMessages {
    /// Takes one.
    pub(crate) fn hear(&mut self, bytes: &[u8], at: Instant) {
        if bytes.is_empty() {
            return;
        }
        if self.0.len() >= MOST {
            self.0.pop_front();
        }
        self.0.push_back((at, bytes.to_vec()));
    }

    /// Those that came from this time on, with their times from then.
    pub(crate) fn since(&self, began: Instant) -> Vec<Message> {
        let first = self.0.partition_point(|(at, _)| *at < began);
        let since = |at: Instant| at.as_micros().saturating_sub(began.as_micros());
        let message = |(at, bytes): &(Instant, Vec<u8>)| Message {
            at_us: u32::try_from(since(*at)).unwrap_or(u32::MAX),
            bytes: bytes.clone(),
        };
        self.0.iter().skip(first).map(message).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_came_since_is_there_with_its_times_and_no_more_than_there_is_room_for() {
        let mut last = LastMessages::default();
        last.hear(&[], Instant::ZERO);
        for number in 0..20_000_u64 {
            last.hear(&[0xb0, 1, (number % 128) as u8], Instant::from_micros(number * 10));
        }
        assert_eq!(last.0.len(), MOST);
        let since = last.since(Instant::from_micros(199_975));
        let times: Vec<u32> = since.iter().map(|message| message.at_us).collect();
        assert_eq!(times, [5, 15]);
        assert_eq!(since[0].bytes, [0xb0, 1, (19_998 % 128) as u8]);
        assert!(last.since(Instant::from_micros(200_000)).is_empty());
    }
}
