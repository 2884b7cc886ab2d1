//! Metre, tempo and tolerances of a chunk, from the study's settings and its own.

use crate::study::model::{Settings, TempoText};
use crate::study::note_value::NoteValue;
use crate::study::report::Report;
use crate::study::span::Spanned;
use evenhand_core::study::Metre;
use evenhand_core::tolerance::{PracticeLevel, Tolerances};
use evenhand_core::units::Tempo;

/// The tempo where a study names none, in beats a minute (our default: slow enough to
/// learn any passage).
const DEFAULT_BEATS: u32 = 60;

/// What a chunk is played in and judged by.
#[derive(Clone, Copy, Debug)]
pub(super) struct Effective {
    pub(super) metre: Metre,
    pub(super) tempo: Tempo,
    pub(super) tolerances: Tolerances,
}

impl Effective {
    /// What holds in a study.
    pub(super) fn of_study(settings: &Settings, report: &mut Report<'_>) -> Self {
        let metre = metre(settings).unwrap_or(Metre::FOUR_FOUR);
        let slow = Tempo::from_beats_per_minute(DEFAULT_BEATS, metre.beat());
        let tempo = settings.tempo.as_ref().and_then(|t| tempo(t, metre, report));
        let level = settings.level.map_or_else(PracticeLevel::default, |l| l.value);
        let mut tolerances = Tolerances::of(level);
        apply(settings, &mut tolerances);
        // A minute has always room for 60 beats of the core's metres but the longest.
        Self { metre, tempo: tempo.or(slow).unwrap_or(Tempo::SLOWEST), tolerances }
    }

    /// What holds in a chunk of that study. Single tolerances that the study allows hold in
    /// every chunk, also where the chunk has a level of its own.
    pub(super) fn of_chunk(
        &self,
        study: &Settings,
        chunk: &Settings,
        report: &mut Report<'_>,
    ) -> Self {
        let metre = metre(chunk).unwrap_or(self.metre);
        let own_tempo = chunk.tempo.as_ref().and_then(|t| tempo(t, metre, report));
        let mut tolerances = self.tolerances;
        if let Some(level) = chunk.level {
            tolerances = Tolerances::of(level.value);
            apply(study, &mut tolerances);
        }
        apply(chunk, &mut tolerances);
        Self { metre, tempo: own_tempo.unwrap_or(self.tempo), tolerances }
    }
}

fn metre(settings: &Settings) -> Option<Metre> {
    settings.metre.and_then(|m| Metre::new(m.upper, m.lower))
}

fn apply(settings: &Settings, tolerances: &mut Tolerances) {
    for allow in &settings.allow {
        allow.apply(tolerances);
    }
}

fn tempo(text: &Spanned<TempoText>, metre: Metre, report: &mut Report<'_>) -> Option<Tempo> {
    let beat = text.of.map_or(metre.beat(), NoteValue::ticks);
    let tempo = Tempo::from_beats_per_minute(u32::from(text.beats), beat);
    if tempo.is_none() {
        let slowest = Tempo::SLOWEST.hundredths_of_beats_per_minute(beat).div_ceil(100);
        let fastest = Tempo::FASTEST.hundredths_of_beats_per_minute(beat) / 100;
        let right = format!("{slowest} to {fastest} of these beats a minute");
        report.word(text.span, &text.beats.to_string(), right);
    }
    tempo
}
