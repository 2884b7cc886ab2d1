//! What a calibration comes to: values for a profile, and sentences about them.

use super::STRINGS;
use crate::calibrate::{
    self, GRIPS, Lateness, Layout, Levels, Noise, PINCHES, Periods, Slurs, StringLate, Take,
};
use crate::pickup::Remark;
use evenhand_core::pickup::{self, Bends, Channels, Latency, Pickup};
use evenhand_core::units::{GuitarString, Level};

/// What is found out, with where it comes from.
#[derive(Default)]
pub(super) struct Found {
    /// The values.
    pub(super) pickup: Pickup,
    /// What there is to say about each that was found.
    pub(super) remarks: Vec<Remark>,
}

impl Found {
    fn note(&mut self, setting: &'static str, remark: String) -> String {
        self.remarks.push((setting, remark.clone()));
        remark
    }

    pub(super) fn channels(&mut self, strings: &[Take]) -> String {
        match calibrate::layout(strings) {
            Layout::Found(channels) => {
                self.pickup.channels = channels;
                let what = match channels {
                    Channels::PerString { first } => {
                        format!("A channel per string, string 1 on channel {}.", first + 1)
                    }
                    _ => "All strings on one channel.".to_owned(),
                };
                self.note("channels", what)
            }
            Layout::Odd(channels) if channels.iter().any(Option::is_none) => {
                "Channels: not every string was heard, so nothing is written about them.".to_owned()
            }
            Layout::Odd(channels) => {
                let of = |(string, channel): (u32, &Option<u8>)| {
                    format!("{string} on {}", channel.unwrap_or(0) + 1)
                };
                let list: Vec<String> = (1..).zip(&channels).map(of).collect();
                format!(
                    "Channels: an order that is not known here (string {}). Set the converter to \
                     six channels in a row, string 1 on the lowest.",
                    list.join(", ")
                )
            }
        }
    }

    pub(super) fn levels(&mut self, strings: &[Take]) -> String {
        match calibrate::levels(strings) {
            Levels::Fixed(velocity) => {
                self.pickup.fixed_velocity = true;
                self.note(
                    "velocity",
                    format!(
                        "Every note came with velocity {velocity}: evenness cannot be heard. If \
                         the converter can follow the pick, let it, and calibrate again."
                    ),
                )
            }
            Levels::Strings(levels) => {
                for (kept, level) in self.pickup.string_levels.iter_mut().zip(&levels) {
                    *kept = Level::from_hundredths(*level);
                }
                let scatter = calibrate::level_scatter(strings);
                for (kept, level) in self.pickup.level_scatter.iter_mut().zip(scatter) {
                    *kept = Level::from_hundredths(level.unwrap_or(0));
                }
                let most = levels.iter().map(|level| level.unsigned_abs()).max().unwrap_or(0);
                self.note(
                    "string-levels-db",
                    match most {
                        0 => "All strings arrive about as loud as each other.".to_owned(),
                        most => format!(
                            "Strings arrive up to {}.{} dB from the middle of all; that is made up \
                             for.",
                            most / 100,
                            most % 100 / 10
                        ),
                    },
                )
            }
            Levels::TooFew(strings) => {
                let list: Vec<String> = strings.iter().map(u8::to_string).collect();
                format!(
                    "Levels: too few notes of string {}, so nothing is written about them.",
                    list.join(", ")
                )
            }
        }
    }

    pub(super) fn noise(&mut self, strings: &[Take]) -> String {
        match calibrate::noise(strings) {
            Noise::Found { notes, percent } => {
                self.pickup.noise_percent = percent;
                self.note(
                    "noise-percent",
                    format!("Notes that nobody played: {notes}. Up to {percent} % may be noise."),
                )
            }
            Noise::None => "No note came that nobody played.".to_owned(),
            Noise::TooFew => "Noise: too few notes to tell.".to_owned(),
        }
    }

    pub(super) fn latency(&mut self, strings: &[Take], pinches: &Take) -> String {
        match calibrate::periods(pinches, open(strings, 6), open(strings, 1)) {
            Periods::Found { percent, plucks, scatter } => {
                self.pickup.latency = Latency { periods_percent: percent, ..Latency::NONE };
                self.note(
                    "latency-periods",
                    format!(
                        "Low notes come later, by {}.{:02} periods of their pitch ({plucks} \
                         plucks, give or take {} ms).",
                        percent / 100,
                        percent % 100,
                        scatter / 1_000
                    ),
                )
            }
            Periods::TooFew(plucks) => format!(
                "Latency: {plucks} plucks of both strings together, {PINCHES} are needed; nothing \
                 is written about it."
            ),
            Periods::TooUneven(scatter) => format!(
                "Latency: the two strings came {} ms apart now and then, too unevenly to tell the \
                 converter from the hand. Nothing is written about it; try again.",
                scatter / 1_000
            ),
        }
    }

    /// How late each string comes, if periods of the pitch do not explain it. Comes after
    /// [`latency`](Found::latency), whose periods it takes the place of.
    pub(super) fn lateness(
        &mut self,
        strings: &[Take],
        pinches: &Take,
        grips: &[Take; 2],
    ) -> String {
        let opens: Vec<u8> = (1..=6).map(|string| open(strings, string)).collect();
        let outer = calibrate::outer(pinches, opens[5], opens[0]);
        match calibrate::lateness(&grips[0], &grips[1], &opens, outer) {
            Lateness::Strings(late) => {
                for (string, late) in (1..).map_while(GuitarString::new).zip(&late) {
                    if let Some(StringLate { by, scatter }) = *late {
                        let known = pickup::Lateness { by, scatter, notes: GRIPS as u16 };
                        self.pickup.habits.string_mut(Some(string)).late.known = known;
                    }
                }
                self.pickup.latency = Latency { periods_percent: 100, ..Latency::NONE };
                self.remarks.retain(|(setting, _)| *setting != "latency-periods");
                let known = || late.iter().flatten().map(|late| late.by);
                let most = known().max().zip(known().min()).map_or(0, |(most, least)| most - least);
                let of = match known().count() {
                    6 => "Strings".to_owned(),
                    some => format!("{some} strings"),
                };
                self.note(
                    "late-ms",
                    format!(
                        "{of} come up to {} ms later than each other beyond one period of the tone; \
                         that is made up for.",
                        most / 100
                    ),
                )
            }
            Lateness::Periods => "No string comes late by a time of its own.".to_owned(),
            Lateness::TooFew => format!(
                "Strings together: {GRIPS} plucks of four strings are needed; nothing is written \
                 about how late each string comes."
            ),
            Lateness::TooUneven => "Strings together: four strings and the outer two do not say \
                 the same, so the hand was not together. Nothing is written about how late each \
                 string comes; try again."
                .to_owned(),
        }
    }

    pub(super) fn slurs(&mut self, strings: &[Take], hammered: &Take) -> String {
        match calibrate::slurs(hammered, open(strings, 2)) {
            Slurs::NewNotes => {
                self.pickup.bends = Bends::OnlyColour;
                self.note("bends", "Slurs come as new notes; bends are colour.".to_owned())
            }
            Slurs::Bends(range) => {
                if let Some(range) = range {
                    self.pickup.bend_range = range;
                    self.note("bend-range", format!("A whole bend is {range} semitones."));
                }
                self.note(
                    "bends",
                    "Slurs come as bends, without a loudness: they leave a chunk unclear. If the \
                     converter can send new notes instead, let it, and calibrate again."
                        .to_owned(),
                )
            }
            Slurs::TooFew(slurs) => format!(
                "Slurs: {slurs} were heard, too few to tell how they come; nothing is written \
                 about them."
            ),
        }
    }
}

/// What string `number` sounds open: as it was heard, or as it is usually tuned.
pub(super) fn open(strings: &[Take], number: u8) -> u8 {
    let heard = strings.get(usize::from(number) - 1).and_then(|take| take.main().first().copied());
    let usual = STRINGS.iter().find(|(string, ..)| *string == number).map(|(.., pitch)| *pitch);
    heard.map(|note| note.pitch).or(usual).unwrap_or_default()
}
