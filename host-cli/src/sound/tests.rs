use super::*;
use evenhand_core::study::Metre;
use evenhand_core::units::{Tempo, Ticks};
use frames::{Board, Frames, State};
use percussion::Percussion;
use proptest::prelude::*;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

const RATE: u32 = 48_000;

fn click(beats: u32, metre: (u8, u8), count_in_bars: u32) -> Click {
    let metre = Metre::new(metre.0, metre.1).unwrap();
    Click::new(metre, Tempo::from_beats_per_minute(beats, metre.beat()).unwrap(), count_in_bars)
}

#[test]
fn a_count_in_leads_to_the_first_beat() {
    let click = click(73, (3, 4), 2);
    let beats: Vec<Beat> = (0..8).map(|number| click.beat(number)).collect();
    let places: Vec<u32> = beats.iter().map(|beat| beat.in_bar).collect();
    assert_eq!(places, [1, 2, 3, 1, 2, 3, 1, 2]);
    let left: Vec<_> = beats.iter().map(|beat| beat.left).collect();
    assert_eq!(left, [Some(6), Some(5), Some(4), Some(3), Some(2), Some(1), None, None]);
    assert_eq!(click.count_in(), 6);
    assert!(beats[6].is_strong());
}

#[test]
fn music_may_enter_on_any_beat_and_beats_may_be_dotted() {
    let entering = click(73, (4, 4), 1).entering_on(2);
    let places = |click: Click| (0..6).map(|beat| click.beat(beat).in_bar).collect::<Vec<_>>();
    assert_eq!(places(entering), [3, 4, 1, 2, 3, 4]);
    let (compound, odd) = (click(60, (6, 8), 0), click(60, (5, 8), 0));
    assert_eq!(places(compound), [1, 2, 1, 2, 1, 2]);
    assert_eq!(compound.micros(1), 1_000_000);
    assert_eq!(places(odd), [1, 2, 3, 4, 5, 1]);
    assert_eq!(odd.micros(1), 1_000_000);
}

/// By calculation: with q microseconds a quarter, beat n comes n · q / 1e6 · rate frames after
/// the first.
#[test]
fn beats_do_not_creep_over_an_hour() {
    for (beats, rate) in [(73, 48_000), (61, 44_100), (199, 96_000)] {
        let quarter = Ticks::new(Ticks::PER_QUARTER);
        let tempo = Tempo::from_beats_per_minute(beats, quarter).unwrap();
        let click = Click::new(Metre::FOUR_FOUR, tempo, 0);
        let exact = f64::from(tempo.micros_per_quarter()) / 1e6;
        for beat in 0..60 * beats {
            let seconds = f64::from(beat) * exact;
            let off = click.frame(beat, rate) as f64 - seconds * f64::from(rate);
            assert!(off.abs() <= 0.5 + 1e-6, "beat {beat} is {off} frames off");
            assert!((click.micros(beat) as f64 - seconds * 1e6).abs() <= 0.5 + 1e-3);
        }
    }
    // Far beyond any sitting nothing overflows.
    let slowest = Click::new(Metre::new(1, 1).unwrap(), Tempo::SLOWEST, 8);
    assert_eq!(slowest.micros(u32::MAX), u64::from(u32::MAX) * 24_000_000);
}

/// Where a sound begins after silence.
fn onsets(samples: &[f32]) -> Vec<u64> {
    let mut silent = usize::MAX;
    let mut found = Vec::new();
    for (frame, sample) in samples.iter().enumerate() {
        if sample.abs() > 0.1 && (silent == usize::MAX || frame - silent > 2_400) {
            found.push(frame as u64);
        }
        if sample.abs() > 0.01 {
            silent = frame;
        }
    }
    found
}

#[test]
fn clicks_come_to_the_frame_and_the_first_of_a_bar_is_the_strong_one() {
    let click = click(73, (3, 4), 1);
    let mut mixer = Mixer::new(RATE);
    mixer.start(click, 1_234);
    let mut samples = vec![0.0; 60 * RATE as usize];
    mixer.fill(&mut samples, 1);
    let due: Vec<u64> = (0..73).map(|beat| 1_234 + click.frame(beat, RATE)).collect();
    assert_eq!(onsets(&samples), due);
    for (beat, at) in (0..).zip(due) {
        let loud = samples[at as usize] > 0.4;
        assert_eq!(loud, beat % 3 == 0, "beat {beat}");
    }
}

/// A minute with an order now and then: what is given at which frame.
fn orders(mixer: &mut Mixer) {
    match mixer.frame() {
        0 => mixer.start(click(1_400, (7, 16), 1), 500),
        9_000 => mixer.cue(Voice::Passed),
        9_100 => mixer.cue(Voice::NeedsWork),
        9_200 => mixer.cue(Voice::Unclear),
        60_000 => mixer.start(click(97, (4, 4), 0), 61_111),
        150_000 => mixer.stop(),
        150_500 => mixer.start(click(240, (4, 4), 0), 100_000),
        _ => {}
    }
}

const GIVEN: [u64; 8] = [0, 9_000, 9_100, 9_200, 60_000, 150_000, 150_500, 200_000];

/// Renders between orders in pieces of these sizes, over and over.
fn in_pieces(sizes: &[u64], channels: usize) -> Vec<f32> {
    let mut mixer = Mixer::new(RATE);
    let mut sizes = sizes.iter().cycle();
    let mut out = Vec::new();
    for span in GIVEN.windows(2) {
        assert_eq!(mixer.frame(), span[0]);
        orders(&mut mixer);
        while mixer.frame() < span[1] {
            let size = (span[1] - mixer.frame()).min(*sizes.next().unwrap());
            let mut piece = vec![9.0; size as usize * channels];
            mixer.fill(&mut piece, channels);
            out.extend(piece);
        }
    }
    out
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 40,
        rng_seed: prop::test_runner::RngSeed::Fixed(20),
        failure_persistence: None,
        ..ProptestConfig::default()
    })]

    #[test]
    fn pieces_of_any_size_give_the_same_samples_to_the_bit(
        sizes in prop::collection::vec(1_u64..9_000, 1..50),
    ) {
        let whole = in_pieces(&[u64::MAX], 1);
        prop_assert!(whole == in_pieces(&sizes, 1));
        let both = in_pieces(&sizes, 2);
        prop_assert!(both.chunks(2).zip(&whole).all(|(pair, one)| pair == [*one; 2]));
    }
}

#[test]
fn a_click_that_was_ordered_too_late_leaves_beats_out_and_keeps_its_place() {
    let click = click(60, (4, 4), 0);
    let mut mixer = Mixer::new(RATE);
    mixer.fill(&mut vec![0.0; 60_000], 1);
    mixer.start(click, 10_000);
    let mut samples = vec![0.0; 96_000];
    mixer.fill(&mut samples, 1);
    // Beats were due on 10,000, 58,000 (both over), 106,000 and 154,000.
    assert_eq!(onsets(&samples), [46_000, 94_000]);
}

#[test]
fn a_stopped_click_dies_away_and_a_cue_is_heard_whole() {
    let mut mixer = Mixer::new(RATE);
    mixer.start(click(60, (4, 4), 0), 0);
    let mut begun = vec![0.0; 100];
    mixer.fill(&mut begun, 1);
    mixer.stop();
    mixer.cue(Voice::Passed);
    let mut after = vec![0.0; 3 * RATE as usize];
    mixer.fill(&mut after, 1);
    let mut sum = Voice::Passed.samples(RATE);
    for (sample, of_click) in sum.iter_mut().zip(&Voice::Strong.samples(RATE)[100..]) {
        *sample += of_click;
    }
    let near = |(a, b): (&f32, &f32)| (a - b).abs() < 1e-6;
    assert!(after.iter().zip(&sum).all(near));
    assert!(after[sum.len()..].iter().all(|sample| *sample == 0.0));
}

#[test]
fn a_click_with_a_cue_is_never_clipped_and_nothing_ever_exceeds_full_scale() {
    let loudest = |voice: Voice| {
        voice.samples(RATE).iter().fold(0.0_f32, |most, sample| most.max(sample.abs()))
    };
    for cue in [Voice::Passed, Voice::NeedsWork, Voice::Unclear] {
        assert!(loudest(Voice::Strong) + loudest(cue) < 1.0);
    }
    let mut mixer = Mixer::new(RATE);
    for _ in 0..1_000 {
        mixer.cue(Voice::Passed);
    }
    let mut samples = vec![0.0; 4_800];
    mixer.fill(&mut samples, 2);
    assert!(samples.iter().all(|sample| sample.abs() <= 1.0));
    assert!(samples.iter().any(|sample| *sample == 1.0), "so many at once reach it");
}

/// The reports of a card that takes blocks of 256 frames: `ppm` too fast, up to `jitter`
/// microseconds late, seeded.
fn reports(ppm: f64, jitter: u64) -> impl Iterator<Item = (u64, f64, f64)> {
    let mut seed = 7_u64;
    (0..120 * u64::from(RATE) / 256).map(move |block| {
        seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        let late = ((seed >> 33) % (jitter + 1)) as f64;
        let heard = 5e6 + (block * 256) as f64 / f64::from(RATE) * 1e6 * (1.0 - ppm / 1e6);
        (block * 256, heard, heard + late)
    })
}

#[test]
fn a_card_that_runs_fast_or_slow_is_followed_through_jitter() {
    for ppm in [-100.0, 0.0, 100.0] {
        let mut frames = Frames::new(RATE);
        for (frame, heard, reported) in reports(ppm, 3_000) {
            let reading = frames.report(frame, reported);
            // The mean lateness, 1.5 ms, cannot be told from latency.
            let off = (reading.heard(frame) - heard - 1_500.0).abs();
            if frame > 5 * u64::from(RATE) {
                assert!(off < 500.0, "{ppm} ppm: {off} µs off at {frame}");
            }
            let there = reading.frame(reading.heard(frame + 480));
            assert_eq!(there, frame + 480);
        }
    }
}

#[test]
fn after_a_long_gap_the_card_is_followed_anew_at_once() {
    let mut frames = Frames::new(RATE);
    for (frame, _, reported) in reports(0.0, 0).take(2_000) {
        frames.report(frame, reported);
    }
    let reading = frames.report(512_000, 60e6);
    assert_eq!(reading.heard(512_000), 60e6);
}

#[test]
fn the_board_never_shows_half_of_a_writing() {
    let board = Arc::new(Board::default());
    assert_eq!(board.read(), None);
    let end = Arc::new(AtomicBool::new(false));
    let (there, ended) = (Arc::clone(&board), Arc::clone(&end));
    let state = |number: u64| {
        let reading = Frames::new(RATE).report(number, number as f64);
        State { reading, next: number, block: number, latency: number }
    };
    let writer = std::thread::spawn(move || {
        for number in 1..200_000 {
            there.write(&state(number));
        }
        ended.store(true, Ordering::Relaxed);
    });
    while !end.load(Ordering::Relaxed) {
        if let Some(seen) = board.read() {
            assert_eq!(seen, state(seen.next));
        }
    }
    writer.join().unwrap();
    assert_eq!(board.written(), 199_999);
}

/// All messages until a time, as a thread would take them that wakes so often.
fn taken(percussion: &mut Percussion, until: u64, step: usize) -> Vec<(u64, [u8; 3])> {
    let mut all = Vec::new();
    for now in (0..=until).step_by(step) {
        while let Some(due) = percussion.take(now) {
            assert!(due.at <= now);
            all.push((due.at, due.message));
        }
    }
    all
}

/// General MIDI System Level 1, percussion key map: 76 and 77 are wood blocks, 60 and 61 bongos,
/// 75 claves; channel 10 is 9 on the wire.
#[test]
fn beats_and_cues_are_notes_of_the_percussion_channel() {
    let mut percussion = Percussion::default();
    assert_eq!(percussion.next_at(), None);
    percussion.start(click(120, (3, 4), 1), 1_000);
    assert_eq!(percussion.next_at(), Some(1_000));
    let strokes = |taken: Vec<(u64, [u8; 3])>| {
        let on = taken.iter().filter(|(_, message)| message[0] == 0x99 && message[2] > 0);
        let strokes: Vec<(u64, u8)> = on.map(|(at, message)| (*at, message[1])).collect();
        let off = taken.iter().filter(|(_, message)| message[0] == 0x89).count();
        (strokes, off)
    };
    let (beats, off) = strokes(taken(&mut percussion, 1_800_000, 500));
    assert_eq!(beats, [(1_000, 76), (501_000, 77), (1_001_000, 77), (1_501_000, 76)]);
    assert_eq!(off, 4);
    percussion.stop();
    for (outcome, keys) in
        [(Outcome::Passed, [61, 60]), (Outcome::NeedsWork, [60, 61]), (Outcome::Unclear, [75, 75])]
    {
        percussion.cue(outcome, 0);
        let (cue, off) = strokes(taken(&mut percussion, 1_000_000, 500));
        assert_eq!(cue.iter().map(|(_, key)| *key).collect::<Vec<_>>(), keys);
        assert_eq!(off, 2);
    }
    assert_eq!(percussion.next_at(), None);
}

#[test]
fn beats_that_were_slept_through_are_not_made_up_for() {
    let mut percussion = Percussion::default();
    percussion.start(click(60, (4, 4), 0), 0);
    let first: Vec<_> = std::iter::from_fn(|| percussion.take(3_600_050_000)).collect();
    assert_eq!(first.len(), 2, "the beat that was due 50 ms ago, and its end");
    assert_eq!(first[0].at, 3_600_000_000);
}

#[test]
fn silence_keeps_time() {
    let mut sound = Sound::silent(std::time::Instant::now());
    assert!(sound.is_silent() && sound.heard_at(0).is_none() && sound.click().is_none());
    let at = Instant::from_micros(5_000_000);
    assert_eq!(sound.start(click(60, (4, 4), 1), at), at);
    assert_eq!(sound.heard_at(3), Some(Instant::from_micros(8_000_000)));
    assert_eq!(sound.music_at(), Some(Instant::from_micros(9_000_000)));
    sound.cue(Outcome::Passed);
    sound.stop();
    assert_eq!((sound.heard_at(3), sound.music_at(), sound.trouble()), (None, None, None));
}

#[test]
fn every_problem_says_what_to_do() {
    let text = || "Keys".to_owned();
    for problem in [
        SoundProblem::AudioNotBuilt,
        SoundProblem::MidiNotBuilt,
        SoundProblem::NoOutput,
        SoundProblem::Refused(text()),
        SoundProblem::NothingTaken,
        SoundProblem::NoAnswer,
        SoundProblem::Lost,
        SoundProblem::NoMidi(text(), text()),
        SoundProblem::NoPort,
        SoundProblem::UnknownPort(text(), String::new()),
        SoundProblem::UnknownPort(text(), text()),
        SoundProblem::SeveralPorts(text()),
    ] {
        assert!(!problem.to_string().is_empty() && !problem.advice().is_empty());
    }
}
