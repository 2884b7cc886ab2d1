//! Messages to note events, with all that has to be remembered for it.

use super::channel_state::{ChannelState, Parameter};
use super::event::NoteEvent;
use super::layout::Layout;
use super::zones::Zones;
use crate::pickup::{Bends, Channels, Pickup};
use crate::units::{GuitarString, Pitch, Velocity};
use wmidi::{Channel, MidiMessage};

/// MPE: the range of a member's bend until something else is said, in semitones.
const MEMBER_RANGE: u8 = 48;

/// MPE and MIDI 1.0: the range of any other channel's.
const USUAL_RANGE: u8 = 2;

/// Turns messages into note events. Constant work a message.
///
/// It follows each channel's pitch bend and bend range (registered parameter 0), reset
/// controllers, MPE zones (registered parameter 6) and, where the profile leaves it open,
/// finds out how strings are spread over channels. A bend is followed while one note alone
/// sounds on its channel. The bend of a zone's manager moves all strings at once, as no slur
/// does, and is passed over.
#[derive(Clone, Debug)]
pub struct Converter {
    wanted: Channels,
    channels: Channels,
    bends: Bends,
    bend_range: u8,
    layout: Layout,
    zones: Zones,
    lines: [ChannelState; 16],
}

impl Converter {
    /// For a pickup about which this is known.
    pub const fn new(pickup: &Pickup) -> Self {
        Self {
            wanted: pickup.channels,
            channels: pickup.channels,
            bends: pickup.bends,
            bend_range: pickup.bend_range,
            layout: Layout::new(),
            zones: Zones::NONE,
            lines: [ChannelState::new(pickup.bend_range); 16],
        }
    }

    /// How strings are spread over channels, as far as it is known.
    pub const fn channels(&self) -> Channels {
        self.channels
    }

    /// Takes a message; gives what it means for the notes, if it means anything.
    pub fn hear(&mut self, message: &MidiMessage<'_>) -> Option<NoteEvent> {
        match *message {
            MidiMessage::NoteOn(channel, note, velocity) => {
                match Velocity::new(u8::from(velocity)) {
                    Some(velocity) => self.begun(channel, u8::from(note), velocity),
                    None => self.ended(channel, u8::from(note)),
                }
            }
            MidiMessage::NoteOff(channel, note, _) => self.ended(channel, u8::from(note)),
            MidiMessage::PitchBendChange(channel, bend) => {
                let moved = self.line(channel)?.turn(u16::from(bend));
                self.bent(channel, moved)
            }
            MidiMessage::ControlChange(channel, control, value) => {
                self.controlled(channel, u8::from(control), u8::from(value))
            }
            MidiMessage::Reset => {
                let found = self.channels;
                *self = Self {
                    layout: self.layout,
                    channels: found,
                    lines: [ChannelState::new(self.bend_range); 16],
                    zones: Zones::NONE,
                    ..*self
                };
                Some(NoteEvent::AllEnded { string: None })
            }
            _ => None,
        }
    }

    fn begun(&mut self, channel: Channel, key: u8, velocity: Velocity) -> Option<NoteEvent> {
        let is_string = matches!(self.channels, Channels::PerString { .. });
        let pitch = self.line(channel)?.strike(key, is_string);
        if self.wanted == Channels::Auto {
            self.layout.hear(channel.index(), pitch);
            self.channels = match self.zones.active() {
                Some(zone) => self.layout.in_zone(zone),
                None => self.layout.after(self.channels),
            };
        }
        let string = self.string_of(channel)?;
        Some(NoteEvent::Begun { pitch, velocity, string })
    }

    fn ended(&mut self, channel: Channel, key: u8) -> Option<NoteEvent> {
        let pitch = self.line(channel)?.release(key);
        let string = self.string_of(channel)?;
        Some(NoteEvent::Ended { pitch, string })
    }

    fn bent(&self, channel: Channel, moved: Option<(Pitch, Pitch)>) -> Option<NoteEvent> {
        let (from, pitch) = moved?;
        let string = self.string_of(channel)?;
        (self.bends == Bends::MaySlur).then_some(NoteEvent::Bent { from, pitch, string })
    }

    fn controlled(&mut self, channel: Channel, number: u8, value: u8) -> Option<NoteEvent> {
        match number {
            121 => {
                let moved = self.line(channel)?.reset_controllers();
                return self.bent(channel, moved);
            }
            // All sound off, all notes off, and the modes, which end all notes, too (MIDI 1.0).
            120 | 123..=127 => {
                self.line(channel)?.silence();
                let string = self.string_of(channel)?;
                return Some(NoteEvent::AllEnded { string });
            }
            _ => {}
        }
        match self.line(channel)?.control(number, value) {
            Some((Parameter::BendRange, semitones)) => self.set_range(channel, semitones),
            Some((Parameter::ZoneMembers, count)) => self.configure_zone(channel, count),
            None => {}
        }
        None
    }

    /// The range of one channel; of a zone's member it is that of all its members (MPE).
    fn set_range(&mut self, channel: Channel, semitones: u8) {
        let zone = self.zones.of(channel.index());
        for (index, line) in (0..).zip(&mut self.lines) {
            if index == channel.index() || zone.is_some_and(|zone| zone.has(index)) {
                line.set_range(semitones);
            }
        }
    }

    fn configure_zone(&mut self, manager: Channel, count: u8) {
        let Some(zone) = self.zones.configure(manager.index(), count) else {
            return;
        };
        for (index, line) in (0..).zip(&mut self.lines) {
            if zone.has(index) {
                line.set_range(MEMBER_RANGE);
            } else if index == manager.index() {
                line.set_range(USUAL_RANGE);
            }
        }
        if self.wanted == Channels::Auto {
            // What was heard before was another layout.
            self.layout = Layout::new();
            self.channels = match self.zones.active() {
                Some(zone) => self.layout.in_zone(zone),
                None => Channels::Auto,
            };
        }
    }

    fn line(&mut self, channel: Channel) -> Option<&mut ChannelState> {
        self.lines.get_mut(usize::from(channel.index()))
    }

    /// The string of a channel: `Some(None)` where channels say nothing, `None` where a profile
    /// says that the channel is no string's, so that what is on it is not the guitar's.
    fn string_of(&self, channel: Channel) -> Option<Option<GuitarString>> {
        let string = self.channels.string(channel.index());
        let told = matches!(self.wanted, Channels::PerString { .. });
        if told && string.is_none() { None } else { Some(string) }
    }
}
