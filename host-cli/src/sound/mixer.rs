//! ClickTrack and cues into samples, to the frame.
//!
//! It is called where samples are asked for, which must never wait: everything is made before,
//! and nothing here allocates, locks or can panic.

use super::beats::frame;
use super::voice::{ALL, Voice};
use evenhand_core::practice::ClickTrack;
use std::sync::Arc;

/// Voices that sound at once, at most; what comes beyond is not heard. The shortest beat that a
/// study can have lasts 5 ms and a click 30 ms, so seven clicks and a cue. Our default.
const MOST: usize = 32;

/// Frames that are filled in one go: few enough that beats which begin in them fit [`MOST`].
const PIECE: usize = 512;

/// A voice that sounds from some frame on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
struct Sounding {
    from: u64,
    voice: Voice,
}

/// A click that goes on.
#[derive(Clone, Copy, Debug)]
struct Going {
    click: ClickTrack,
    /// The frame of its first beat.
    from: u64,
    /// The beat that comes next.
    next: u32,
}

/// Puts voices where they belong, to the frame, whatever the size of the pieces asked for.
#[derive(Debug)]
pub struct Mixer {
    rate: u32,
    made: [Vec<f32>; ALL.len()],
    /// In order, so that sums are the same to the last bit however the pieces are cut.
    sounding: Vec<Sounding>,
    click: Option<Going>,
    passage: Option<Played>,
    frame: u64,
}

/// A passage that sounds from some frame on.
#[derive(Debug)]
struct Played {
    samples: Arc<[f32]>,
    from: u64,
    /// It dies away from this frame on.
    until: u64,
}

/// A passage that is ended dies away in this share of a second, lest it crack. Our default.
const DYING: u32 = 100;

impl Mixer {
    /// Silence, at so many frames a second.
    pub fn new(rate: u32) -> Self {
        let made = ALL.map(|voice| voice.samples(rate));
        Self {
            rate,
            made,
            sounding: Vec::with_capacity(MOST),
            click: None,
            passage: None,
            frame: 0,
        }
    }

    /// The frame that comes next.
    pub const fn frame(&self) -> u64 {
        self.frame
    }

    /// Begins a click whose first beat sounds at a frame, instead of one that goes on. Beats that
    /// should have begun already are left out: a click where it does not belong is worse than
    /// none.
    pub const fn start(&mut self, click: ClickTrack, from: u64) {
        self.click = Some(Going { click, from, next: 0 });
    }

    /// No further beat begins; what sounds dies away.
    pub const fn stop(&mut self) {
        self.click = None;
    }

    /// Plays samples from a frame on, instead of those that are being played. Whoever hands them over has to keep them,
    /// too: here nothing may be given back.
    pub fn play(&mut self, samples: Arc<[f32]>, from: u64) {
        self.passage = Some(Played { samples, from, until: u64::MAX });
    }

    /// What is played dies away.
    pub fn hush(&mut self) {
        if let Some(played) = &mut self.passage {
            played.until = played.until.min(self.frame);
        }
    }

    /// Adds what is played to samples that begin at the next frame.
    fn add_passage(&self, out: &mut [f32], channels: usize) {
        let Some(Played { samples, from, until }) = &self.passage else { return };
        let into = usize::try_from(self.frame.saturating_sub(*from)).unwrap_or(usize::MAX);
        let wait = usize::try_from(from.saturating_sub(self.frame)).unwrap_or(usize::MAX);
        let dying = (self.rate / DYING).max(1);
        let frames = out.chunks_exact_mut(channels).zip(self.frame..).skip(wait);
        for ((frame, at), sample) in frames.zip(samples.iter().skip(into)) {
            let gone = at.saturating_sub(*until).min(u64::from(dying)) as f32 / dying as f32;
            frame.iter_mut().for_each(|out| *out += sample * (1.0 - gone));
        }
    }

    /// Sounds a voice from the next frame on.
    pub fn cue(&mut self, voice: Voice) {
        self.sound(voice, self.frame);
    }

    /// The next samples, the same for each of `channels`.
    pub fn fill(&mut self, out: &mut [f32], channels: usize) {
        let channels = channels.max(1);
        for piece in out.chunks_mut(PIECE * channels) {
            self.fill_piece(piece, channels);
        }
    }

    fn fill_piece(&mut self, out: &mut [f32], channels: usize) {
        let (now, end) = (self.frame, self.frame + (out.len() / channels) as u64);
        self.begin_beats(end);
        out.fill(0.0);
        for sounding in &self.sounding {
            let Some(samples) = self.made.get(sounding.voice as usize) else { continue };
            // How far into the voice the piece begins, or into the piece the voice.
            let into = usize::try_from(now.saturating_sub(sounding.from)).unwrap_or(usize::MAX);
            let wait = usize::try_from(sounding.from.saturating_sub(now)).unwrap_or(usize::MAX);
            let frames = out.chunks_exact_mut(channels).skip(wait);
            for (frame, sample) in frames.zip(samples.iter().skip(into)) {
                frame.iter_mut().for_each(|out| *out += sample);
            }
        }
        self.add_passage(out, channels);
        out.iter_mut().for_each(|sample| *sample = sample.clamp(-1.0, 1.0));
        let made = &self.made;
        self.sounding.retain(|sounding| {
            let length = made.get(sounding.voice as usize).map_or(0, Vec::len) as u64;
            sounding.from + length > end
        });
        self.frame = end;
    }

    /// Takes up the beats that begin before `end`.
    fn begin_beats(&mut self, end: u64) {
        while let Some(going) = &mut self.click {
            let from = going.from.saturating_add(frame(&going.click, going.next, self.rate));
            if from >= end {
                return;
            }
            let strong = going.click.beat(going.next).is_strong();
            match going.next.checked_add(1) {
                Some(next) => going.next = next,
                None => self.click = None,
            }
            if from >= self.frame {
                self.sound(if strong { Voice::Strong } else { Voice::Weak }, from);
            }
        }
    }

    fn sound(&mut self, voice: Voice, from: u64) {
        if self.sounding.len() < MOST {
            let sounding = Sounding { from, voice };
            let place = self.sounding.partition_point(|other| *other < sounding);
            self.sounding.insert(place, sounding);
        }
    }
}
