use super::{RATE, click};
use crate::sound::frame;
use crate::sound::{Mixer, Voice};
use proptest::prelude::*;

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
    let due: Vec<u64> = (0..73).map(|beat| 1_234 + frame(&click, beat, RATE)).collect();
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
        9_050 => mixer.play(vec![0.1; 40_000].into(), 9_777),
        40_000 => mixer.hush(),
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
    assert!(samples.contains(&1.0), "so many at once reach it");
}

#[test]
fn a_passage_sounds_from_its_frame_on_and_dies_away_when_it_is_ended() {
    let mut mixer = Mixer::new(RATE);
    mixer.play(vec![0.25; 10_000].into(), 1_000);
    let mut samples = vec![0.0; 8_000];
    mixer.fill(&mut samples, 2);
    let left: Vec<f32> = samples.iter().step_by(2).copied().collect();
    assert_eq!(left.iter().position(|sample| *sample > 0.0), Some(1_000));
    assert!(samples.chunks(2).all(|pair| pair[0] == pair[1]));
    mixer.hush();
    let mut rest = vec![0.0; 2_000];
    mixer.fill(&mut rest, 1);
    // In a hundredth of a second, and without a step.
    assert!(rest.windows(2).all(|pair| pair[0] >= pair[1] && pair[0] - pair[1] < 0.001));
    assert_eq!(rest.iter().position(|sample| *sample == 0.0), Some(480));
}
