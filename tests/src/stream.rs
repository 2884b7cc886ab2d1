//! Streams of MIDI bytes, tidy and torn, made from a seed.

use crate::seeded::Seeded;

/// What a stream contains besides whole channel messages.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// Every message with its status byte.
    Plain,
    /// Status bytes left out where running status allows it.
    RunningStatus,
    /// Real-time bytes, defined or not, anywhere, also inside messages.
    RealTimeInside,
    /// System Common messages in between, which end running status; data bytes without a
    /// status follow some of them and mean nothing.
    SystemCommon,
    /// System Exclusive messages, ended properly or by another status byte.
    Exclusive,
    /// Messages that break off in the middle.
    Truncated,
    /// Random bytes.
    Random,
}

impl Kind {
    /// All kinds.
    pub const ALL: [Self; 7] = [
        Self::Plain,
        Self::RunningStatus,
        Self::RealTimeInside,
        Self::SystemCommon,
        Self::Exclusive,
        Self::Truncated,
        Self::Random,
    ];
}

/// A stream of this kind, some 50 messages long.
pub fn make(kind: Kind, seeded: &mut Seeded) -> Vec<u8> {
    if kind == Kind::Random {
        // Half of the bytes have the top bit set, so most messages are cut short.
        let length = seeded.between(0, 200);
        return (0..length).map(|_| seeded.byte()).collect();
    }
    let mut stream = Stream { bytes: Vec::new(), running: None, kind };
    for _ in 0..50 {
        stream.channel_message(seeded);
        if seeded.chance(0.2) {
            stream.between_messages(seeded);
        }
    }
    stream.bytes
}

struct Stream {
    bytes: Vec<u8>,
    /// The status that a message may leave out.
    running: Option<u8>,
    kind: Kind,
}

impl Stream {
    fn channel_message(&mut self, seeded: &mut Seeded) {
        // Notes most of all, and few channels, so that running status has something to do.
        let status = match seeded.between(0, 9) {
            0..=4 => 0x90,
            5..=6 => 0x80,
            _ => 0x80 + 0x10 * seeded.between(0, 6) as u8,
        } | seeded.between(0, 2) as u8;
        let mut data = vec![seeded.byte() & 0x7f];
        if !matches!(status & 0xf0, 0xc0 | 0xd0) {
            // Velocity 0 is the end of a note; it comes often enough to matter.
            data.push(if seeded.chance(0.25) { 0 } else { seeded.byte() & 0x7f });
        }
        let whole = !(self.kind == Kind::Truncated && seeded.chance(0.2));
        if !whole {
            data.truncate(seeded.index(data.len()));
        }
        let leave_out = self.kind != Kind::Plain && self.running == Some(status) && whole;
        if !(leave_out && seeded.chance(0.9)) {
            self.byte(status, seeded);
        }
        data.into_iter().for_each(|byte| self.byte(byte, seeded));
        // After a broken message the next one states its status.
        self.running = whole.then_some(status);
    }

    fn between_messages(&mut self, seeded: &mut Seeded) {
        match self.kind {
            Kind::SystemCommon => {
                let (status, length) =
                    [(0xf1, 1), (0xf2, 2), (0xf3, 1), (0xf4, 0), (0xf5, 0), (0xf6, 0), (0xf7, 0)]
                        [seeded.index(7)];
                self.byte(status, seeded);
                let stray = if seeded.chance(0.3) { seeded.between(1, 3) } else { 0 };
                self.data(length + stray, seeded);
                self.running = None;
            }
            Kind::Exclusive => {
                self.byte(0xf0, seeded);
                let length = seeded.between(0, 40);
                self.data(length, seeded);
                if seeded.chance(0.7) {
                    self.byte(0xf7, seeded);
                }
                self.running = None;
            }
            _ => {}
        }
    }

    fn data(&mut self, length: i64, seeded: &mut Seeded) {
        for _ in 0..length {
            let byte = seeded.byte() & 0x7f;
            self.byte(byte, seeded);
        }
    }

    fn byte(&mut self, byte: u8, seeded: &mut Seeded) {
        if self.kind == Kind::RealTimeInside && seeded.chance(0.3) {
            self.bytes.push(0xf8 + seeded.between(0, 7) as u8);
        }
        self.bytes.push(byte);
    }
}
