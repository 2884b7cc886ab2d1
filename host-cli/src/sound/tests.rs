use super::*;
use evenhand_core::study::Metre;
use evenhand_core::units::{Instant, Tempo, Ticks};

const RATE: u32 = 48_000;

fn tempo(beats: u32) -> Tempo {
    Tempo::from_beats_per_minute(beats, Ticks::new(Ticks::PER_QUARTER)).unwrap()
}

fn beats(count_in: u32, enters_on: u32) -> Beats {
    let start = Instant::from_micros(1_000_000);
    Beats::new(start, tempo(73), Metre::FOUR_FOUR, count_in, enters_on)
}

#[test]
fn a_count_in_leads_to_the_first_beat() {
    let all: Vec<Beat> = beats(4, 0).take(6).collect();
    assert_eq!(all.iter().map(|beat| beat.in_bar).collect::<Vec<_>>(), [1, 2, 3, 4, 1, 2]);
    let left: Vec<_> = all.iter().map(|beat| beat.left).collect();
    assert_eq!(left, [Some(4), Some(3), Some(2), Some(1), None, None]);
    assert_eq!(all[4].at, beats(4, 0).music());
    assert!(all[4].is_strong());
}

#[test]
fn music_may_enter_on_any_beat() {
    let all: Vec<u32> = beats(4, 2).take(6).map(|beat| beat.in_bar).collect();
    assert_eq!(all, [3, 4, 1, 2, 3, 4]);
}

/// By calculation: beat n at 73 a minute comes n · 60 / 73 s after the start.
#[test]
fn beats_do_not_creep() {
    let thousandth = beats(0, 0).nth(1_000).unwrap();
    let exact = 1_000_000.0 + 1_000.0 * 60e6 / 73.0;
    // A tempo is kept in whole microseconds a quarter: half of one, a thousand times.
    assert!((thousandth.at.as_micros() as f64 - exact).abs() <= 500.0);
}

/// Plays a minute of clicks in pieces of a size that fits nothing, as one channel.
fn minute(piece: usize) -> (Vec<u64>, Vec<f32>) {
    let mut mixer = Mixer::new(RATE);
    let all: Vec<Beat> = beats(4, 0).take(70).collect();
    let frame = |beat: &Beat| beat.at.as_micros() * u64::from(RATE) / 1_000_000;
    let mut planned = all.iter().peekable();
    let mut out = Vec::new();
    while out.len() < 60 * RATE as usize {
        while let Some(beat) = planned.next_if(|beat| frame(beat) < mixer.frame() + 9_600) {
            mixer.plan(if beat.is_strong() { Voice::Strong } else { Voice::Weak }, frame(beat));
        }
        let mut samples = vec![0.0; piece];
        mixer.fill(&mut samples, 1);
        out.extend(samples);
    }
    (all.iter().map(frame).filter(|&frame| frame < 59 * u64::from(RATE)).collect(), out)
}

/// Where a sound begins after silence.
fn onsets(samples: &[f32]) -> Vec<u64> {
    let mut silent = usize::MAX;
    let mut found = Vec::new();
    for (frame, sample) in samples.iter().enumerate() {
        if sample.abs() > 0.1 && (silent == usize::MAX || frame - silent > 4_800) {
            found.push(frame as u64);
        }
        if sample.abs() > 0.01 {
            silent = frame;
        }
    }
    found
}

#[test]
fn clicks_come_to_the_frame_in_pieces_of_any_size() {
    for piece in [1, 64, 441, 4_096] {
        let (planned, samples) = minute(piece);
        let heard: Vec<u64> =
            onsets(&samples).into_iter().filter(|&at| at < 59 * u64::from(RATE)).collect();
        assert_eq!(heard, planned, "pieces of {piece}");
    }
}

#[test]
fn nothing_is_louder_than_full() {
    let mut mixer = Mixer::new(RATE);
    for _ in 0..20 {
        mixer.plan(Voice::Passed, 0);
        mixer.plan(Voice::Strong, 0);
    }
    let mut samples = vec![0.0; 4_800];
    mixer.fill(&mut samples, 2);
    assert!(samples.iter().all(|sample| sample.abs() <= 1.0));
    assert_eq!(samples[0], samples[1], "both channels");
}

#[test]
fn what_is_hushed_is_not_heard() {
    let mut mixer = Mixer::new(RATE);
    mixer.plan(Voice::Weak, 1_000);
    mixer.hush();
    let mut samples = vec![0.0; 9_600];
    mixer.fill(&mut samples, 1);
    assert!(samples.iter().all(|sample| *sample == 0.0));
}

#[test]
fn cues_can_be_told_apart_by_rhythm_and_not_only_by_pitch() {
    let onsets = |voice: Voice| {
        let samples = voice.samples(RATE);
        samples.chunks(480).map(|part| part.iter().any(|s| s.abs() > 0.15)).collect::<Vec<_>>()
    };
    assert_ne!(onsets(Voice::Passed), onsets(Voice::NeedsWork));
    assert_ne!(onsets(Voice::NeedsWork), onsets(Voice::Unclear));
}
