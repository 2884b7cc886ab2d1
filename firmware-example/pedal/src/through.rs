//! MIDI through: what comes in goes out again, with the clicks of the count-in between its messages.
//!
//! A byte goes out when it has come in whole, which is one byte later. Where a click is on its way it waits for its
//! three bytes; real-time messages do not. Running status (MIDI 1.0) is not broken: a click has a status byte of its
//! own, and so has the message after it then, whether or not it came with one.
//!
//! It is meant for an interrupt that runs while nothing can be read from flash: everything is inlined, and
//! there is no table in it.

/// Bytes that can wait: clicks make a full line wait for a few, and no line is faster than another by more than a
/// hundredth. Our default. A power of two.
const WAITING: u8 = 64;

/// A byte of undefined meaning (MIDI 1.0), which does not go through: it stands for what was lost.
const LOST: u8 = 0xf9;

/// A message that is sent between others.
pub type Click = [u8; 3];

/// What comes in and has not gone out.
#[derive(Clone, Debug)]
pub struct Through {
    waiting: [u8; WAITING as usize],
    /// How many were put in and taken out; both go round.
    put: u8,
    taken: u8,
    /// What comes in may be the rest of a message that is not whole: up to the next status byte it is left out.
    skips: bool,
    /// The running status of what came in; 0 for none.
    status: u8,
    /// The running status of what went out.
    sent: u8,
    /// Data bytes that the message on its way still has.
    left: u8,
    /// The message on its way is system exclusive: as long as it likes to be.
    is_exclusive: bool,
    click: Click,
    /// How many of its bytes have gone out.
    clicked: u8,
}

impl Default for Through {
    fn default() -> Self {
        Self::new()
    }
}

impl Through {
    /// Nothing has come.
    #[inline(always)]
    pub const fn new() -> Self {
        Self {
            waiting: [0; WAITING as usize],
            put: 0,
            taken: 0,
            skips: true,
            status: 0,
            sent: 0,
            left: 0,
            is_exclusive: false,
            click: [0; 3],
            clicked: 3,
        }
    }

    /// A byte came in.
    #[inline(always)]
    pub const fn come(&mut self, byte: u8) {
        if byte == LOST {
            return;
        }
        if byte >= 0x80 && byte < 0xf8 {
            self.skips = false;
        }
        if (self.skips && byte < 0x80) || self.push(byte) {
            return;
        }
        self.lose();
    }

    /// Bytes were lost, or could not be read.
    #[inline(always)]
    pub const fn lose(&mut self) {
        self.skips = true;
        // Where there is no room for that, the next status byte says it.
        let _ = self.push(LOST);
    }

    #[inline(always)]
    const fn push(&mut self, byte: u8) -> bool {
        let is_room = self.put.wrapping_sub(self.taken) < WAITING;
        if is_room {
            self.waiting[(self.put % WAITING) as usize] = byte;
            self.put = self.put.wrapping_add(1);
        }
        is_room
    }

    /// The byte that goes out next; `click` is asked where another message can stand between those that come.
    #[inline(always)]
    pub fn next(&mut self, click: impl FnOnce() -> Option<Click>) -> Option<u8> {
        let mut click = Some(click);
        loop {
            let is_there = self.put != self.taken;
            let byte = self.waiting[(self.taken % WAITING) as usize];
            if is_there && byte == LOST {
                self.taken = self.taken.wrapping_add(1);
                (self.status, self.left, self.is_exclusive) = (0, 0, false);
                continue;
            }
            if is_there && byte >= 0xf8 {
                self.taken = self.taken.wrapping_add(1);
                return Some(byte);
            }
            if self.clicked < 3 {
                let own = if self.clicked == 1 { self.click[1] } else { self.click[2] };
                self.clicked += 1;
                return Some(own);
            }
            if self.left == 0
                && !self.is_exclusive
                && let Some(click) = click.take()
                && let Some(click) = click()
            {
                (self.click, self.clicked, self.sent) = (click, 1, click[0]);
                return Some(click[0]);
            }
            if !is_there {
                return None;
            }
            if byte < 0x80 && !self.is_exclusive && self.left == 0 {
                if self.status == 0 {
                    // Data that belongs to nothing.
                    self.taken = self.taken.wrapping_add(1);
                    continue;
                }
                if self.sent != self.status {
                    self.sent = self.status;
                    return Some(self.status);
                }
                self.left = length(self.status);
            }
            self.taken = self.taken.wrapping_add(1);
            if byte >= 0xf0 {
                (self.status, self.sent, self.is_exclusive) = (0, 0, byte == 0xf0);
                self.left = match () {
                    () if byte == 0xf2 => 2,
                    () if byte == 0xf1 || byte == 0xf3 => 1,
                    () => 0,
                };
            } else if byte >= 0x80 {
                (self.status, self.sent, self.is_exclusive) = (byte, byte, false);
                self.left = length(byte);
            } else if !self.is_exclusive {
                self.left -= 1;
            }
            return Some(byte);
        }
    }
}

/// How many data bytes a channel's message has: programs and pressure of a channel one, the others two (MIDI 1.0).
#[inline(always)]
const fn length(status: u8) -> u8 {
    if status & 0xe0 == 0xc0 { 1 } else { 2 }
}

#[cfg(test)]
mod tests {
    extern crate std;
    use super::*;
    use crate::click;
    use evenhand_core::player::Chance;
    use evenhand_core::wire::Wire;
    use std::collections::VecDeque;
    use std::vec::Vec;
    use wmidi::MidiMessage;

    /// Messages as a sender may put them: with running status or without, system messages, real-time bytes anywhere.
    fn stream(chance: &mut Chance, messages: u32) -> Vec<u8> {
        let (mut bytes, mut running) = (Vec::new(), 0);
        for _ in 0..messages {
            let status = match chance.below(12) {
                0 => 0xf0,
                1 => [0xf1, 0xf2, 0xf3, 0xf6][chance.below(4) as usize],
                2..=5 if running > 0 => running,
                _ => (0x80 | chance.below(7) << 4 | chance.below(2)) as u8,
            };
            let mut message = Vec::new();
            if status != running || chance.below(4) == 0 {
                message.push(status);
            }
            let data = match status {
                0xf0 => chance.below(9),
                0xf1 | 0xf3 | 0xc0..=0xdf => 1,
                0xf6 => 0,
                _ => 2,
            };
            message.extend((0..data).map(|_| chance.below(128) as u8));
            if status == 0xf0 {
                message.push(0xf7);
            }
            running = if status < 0xf0 { status } else { 0 };
            for byte in message {
                if chance.below(10) == 0 {
                    bytes.push([0xf8, 0xfa, 0xfe][chance.below(3) as usize]);
                }
                bytes.push(byte);
            }
        }
        bytes
    }

    /// Puts bytes in and takes as many out as a line carries. Gives what went out, and how many waited at most.
    fn passed(bytes: &[u8], mut clicks: VecDeque<(usize, Click)>) -> (Vec<u8>, usize) {
        let mut through = Through::new();
        let (mut out, mut most, mut at) = (Vec::new(), 0, 0);
        loop {
            if let Some(byte) = bytes.get(at) {
                through.come(*byte);
            }
            let due = clicks.front().is_some_and(|(from, _)| *from <= at);
            let sent =
                through.next(|| if due { clicks.pop_front().map(|due| due.1) } else { None });
            most = most.max(usize::from(through.put.wrapping_sub(through.taken)));
            match sent {
                Some(byte) => out.push(byte),
                None if at >= bytes.len() && clicks.is_empty() => return (out, most),
                None => {}
            }
            at += 1;
        }
    }

    fn messages(bytes: &[u8]) -> Vec<MidiMessage<'static>> {
        let mut wire = Wire::new();
        bytes.iter().filter_map(|byte| wire.push(*byte)).collect()
    }

    #[test]
    fn without_a_click_every_byte_goes_on_as_it_came() {
        let mut chance = Chance::new(3);
        for _ in 0..200 {
            let bytes = stream(&mut chance, 40);
            let (out, most) = passed(&bytes, VecDeque::new());
            assert_eq!(out, bytes);
            assert_eq!(most, 0, "none waits for another");
        }
    }

    #[test]
    fn clicks_stand_between_messages_and_change_none() {
        let mut chance = Chance::new(5);
        let mut restored = 0;
        for _ in 0..500 {
            let bytes = stream(&mut chance, 60);
            let clicks: VecDeque<_> = (1..6)
                .flat_map(|beat| {
                    let at = beat * 20 + chance.below(12) as usize;
                    [(at, click::begin(beat == 1)), (at + 8, click::end(beat == 1))]
                })
                .collect();
            let (out, most) = passed(&bytes, clicks.clone());
            // The player's own channel is another one.
            let is_click = |message: &MidiMessage<'_>| {
                let own = [click::begin(true), click::end(true), click::begin(false)];
                let own = own.into_iter().chain([click::end(false)]);
                own.map(|own| MidiMessage::from_bytes(&own).unwrap().to_owned())
                    .any(|own| own == *message)
            };
            let (sent, others): (Vec<_>, Vec<_>) = messages(&out).into_iter().partition(is_click);
            assert_eq!(others, messages(&bytes));
            let wanted: Vec<u8> = clicks.iter().flat_map(|(_, click)| *click).collect();
            assert_eq!(sent, messages(&wanted));
            restored += out.len() - bytes.len() - wanted.len();
            // A few clicks, each with the status byte behind it, are all that a full line waits for.
            assert!(most <= 4 * clicks.len(), "{most}");
        }
        assert!(restored > 100, "running status was met {restored} times");
    }

    #[test]
    fn nothing_stands_in_a_system_exclusive_message_but_real_time() {
        let bytes = [0xf0, 1, 2, 0xf8, 3, 4, 0xf7, 0x90, 64, 90];
        let clicks = VecDeque::from([(1, click::begin(true))]);
        let [on, key, velocity] = click::begin(true);
        let wanted = [0xf0, 1, 2, 0xf8, 3, 4, 0xf7, on, key, velocity, 0x90, 64, 90];
        assert_eq!(passed(&bytes, clicks).0, wanted);
    }

    #[test]
    fn a_real_time_byte_does_not_wait_for_a_click() {
        let mut through = Through::new();
        let mut click = Some(click::begin(false));
        let [on, key, velocity] = click::begin(false);
        assert_eq!(through.next(|| click.take()), Some(on));
        through.come(0xf8);
        assert_eq!(through.next(|| None), Some(0xf8));
        assert_eq!([through.next(|| None), through.next(|| None)], [Some(key), Some(velocity)]);
    }

    #[test]
    fn what_follows_a_loss_goes_on_from_the_next_status_byte() {
        let mut through = Through::new();
        let mut out = Vec::new();
        let mut come = |through: &mut Through, bytes: &[u8]| {
            for byte in bytes {
                through.come(*byte);
                out.extend(through.next(|| None));
            }
        };
        come(&mut through, &[0x90, 64]);
        through.lose();
        // The rest of it, and a note in running status that nobody can tell from that.
        come(&mut through, &[90, 65, 90, 0xf8, 0x80, 64, 0, 65, 0]);
        assert_eq!(out, [0x90, 64, 0xf8, 0x80, 64, 0, 65, 0]);
        // A click does not wait for the end of a message that will not come.
        through.come(0xf0);
        assert_eq!(through.next(|| None), Some(0xf0));
        through.lose();
        assert_eq!(through.next(|| Some(click::end(true))), Some(click::end(true)[0]));
    }

    #[test]
    fn a_sender_that_does_not_get_on_loses_whole_messages() {
        let mut through = Through::new();
        for note in 0..100 {
            for byte in [0x91, note, 90] {
                through.come(byte);
            }
        }
        let mut out: Vec<u8> = Vec::new();
        while let Some(byte) = through.next(|| None) {
            out.push(byte);
        }
        let whole: Vec<u8> = (0..21).flat_map(|note| [0x91, note, 90]).collect();
        assert_eq!(out[..63], whole);
        // It begins another one, for which there was no room; a status byte makes nothing of that. What comes before
        // the next one may be anything.
        for byte in [90, 99, 0x91, 7, 90] {
            through.come(byte);
            out.extend(through.next(|| None));
        }
        assert_eq!(out[63..], [0x91, 0x91, 7, 90]);
    }
}
