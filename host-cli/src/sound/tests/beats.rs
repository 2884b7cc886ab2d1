use super::click;
use crate::sound::frame;
use crate::sound::{Beat, ClickTrack};
use evenhand_core::study::Metre;
use evenhand_core::units::{Tempo, Ticks};

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
    let places = |click: ClickTrack| (0..6).map(|beat| click.beat(beat).in_bar).collect::<Vec<_>>();
    assert_eq!(places(entering), [3, 4, 1, 2, 3, 4]);
    let (compound, odd) = (click(40, (6, 8), 0), click(60, (5, 8), 0));
    assert_eq!(places(compound), [1, 2, 1, 2, 1, 2]);
    assert_eq!(compound.micros(1), 1_500_000);
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
        let click = ClickTrack::new(Metre::FOUR_FOUR, tempo, 0);
        let exact = f64::from(tempo.micros_per_quarter()) / 1e6;
        for beat in 0..60 * beats {
            let seconds = f64::from(beat) * exact;
            let off = frame(&click, beat, rate) as f64 - seconds * f64::from(rate);
            assert!(off.abs() <= 0.5 + 1e-6, "beat {beat} is {off} frames off");
            assert!((click.micros(beat) as f64 - seconds * 1e6).abs() <= 0.5 + 1e-3);
        }
    }
    // Far beyond any sitting nothing overflows.
    let slowest = ClickTrack::new(Metre::new(1, 1).unwrap(), Tempo::SLOWEST, 8);
    assert_eq!(slowest.micros(u32::MAX), u64::from(u32::MAX) * 24_000_000);
}

#[test]
fn what_is_left_of_a_click_stands_where_it_stood() {
    for click in [click(73, (3, 4), 2), click(90, (4, 4), 1).entering_on(3), click(61, (5, 8), 0)] {
        for from in 0..12 {
            let rest = click.from_beat(from);
            for beat in 0..12 {
                assert_eq!(rest.beat(beat).in_bar, click.beat(from + beat).in_bar);
            }
        }
        // By looking at every beat.
        for micros in (0..9_000_000).step_by(170_000) {
            let wanted =
                (0..).find(|beat| click.beat(*beat).is_strong() && click.micros(*beat) >= micros);
            assert_eq!(Some(click.bar_after(micros)), wanted, "{click:?} {micros}");
        }
    }
}
