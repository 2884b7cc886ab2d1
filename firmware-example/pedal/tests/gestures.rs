//! What each switch does in each state.

use evenhand_core::feet::Gesture::{self, BothHeld, Left, Right};
use evenhand_core::feet::Steps::{Held, Once};
use evenhand_core::pack::Pack;
use evenhand_core::practice::{Engine, Piece};
use evenhand_core::session::Session;
use evenhand_core::units::{Instant, Ticks};
use evenhand_pedal::Pedal;
use evenhand_pedal::lights::View;
use evenhand_pedal::observer::Observer;
use evenhand_pedal::study::BUILT_IN;
use evenhand_pedal::study::session_config;

#[derive(Default)]
struct Clicks(Vec<(u64, bool)>);

impl Observer for Clicks {
    fn click(&mut self, strong: bool, at: Instant) {
        self.0.push((at.as_micros(), strong));
    }
}

struct Player {
    pedal: Pedal<'static, 20>,
    clicks: Clicks,
    now: u64,
}

impl Player {
    fn new() -> Self {
        let session = Box::leak(Box::new(Session::idle()));
        let practice: &'static mut Engine<20> = Box::leak(Box::new(Engine::new()));
        let pedal = Pedal::new(
            practice,
            session,
            session_config(),
            &Pack::open(BUILT_IN).unwrap(),
            Instant::ZERO,
        );
        Self { pedal, clicks: Clicks::default(), now: 0 }
    }

    fn does(&mut self, gesture: Gesture) -> View {
        self.now += 100_000;
        let now = Instant::from_micros(self.now);
        self.pedal.press(gesture, now, &Pack::open(BUILT_IN).unwrap(), &mut self.clicks);
        self.pedal.poll(now, &Pack::open(BUILT_IN).unwrap(), &mut self.clicks);
        self.pedal.view().0
    }

    fn waits(&mut self, millis: u64) -> View {
        let end = self.now + millis * 1_000;
        while self.now < end {
            let due = self.pedal.poll_at().map_or(end, |due| due.as_micros().min(end));
            assert!(due >= self.now, "it never asks for what is past");
            self.now = due;
            self.pedal.poll(
                Instant::from_micros(due),
                &Pack::open(BUILT_IN).unwrap(),
                &mut self.clicks,
            );
        }
        self.pedal.view().0
    }

    fn hears(&mut self, pitch: u8) -> View {
        let now = Instant::from_micros(self.now);
        for byte in [0x90, pitch, 80] {
            self.pedal.hear(byte, now);
        }
        self.pedal.poll(now, &Pack::open(BUILT_IN).unwrap(), &mut self.clicks);
        self.pedal.view().0
    }

    fn beats(&self) -> u32 {
        let task = self.pedal.task().expect("something is played");
        task.tempo.hundredths_of_beats_per_minute(Ticks::new(Ticks::PER_QUARTER)) / 100
    }

    fn piece(&self) -> Option<Piece> {
        self.pedal.task().map(|task| task.piece)
    }
}

#[test]
fn chunks_are_chosen_round_and_round() {
    let mut player = Player::new();
    assert_eq!(player.pedal.view().0, View::Choosing(0));
    assert_eq!(player.does(Right(Once)), View::Choosing(1));
    assert_eq!(player.does(Right(Once)), View::Choosing(0));
    assert_eq!(player.does(Left(Once)), View::Choosing(1));
    assert_eq!(player.does(Left(Once)), View::Choosing(0));
    assert_eq!(player.piece(), None);
}

#[test]
fn a_hold_begins_with_a_bar_of_clicks_and_a_hold_leads_back() {
    let mut player = Player::new();
    player.does(Right(Once));
    assert!(matches!(player.does(Left(Held)), View::Ready(_)), "a second to put the foot back");
    assert!(matches!(player.waits(1_000), View::CountIn { beats: 4, strong: 0, .. }));
    assert_eq!(player.piece(), Some(Piece::Chunk(1)));
    assert_eq!(player.beats(), 54);
    assert!(matches!(player.waits(5_000), View::Ready(_)));
    let times: Vec<u64> = player.clicks.0.windows(2).map(|two| two[1].0 - two[0].0).collect();
    assert_eq!(times, [1_111_111; 3]);
    assert_eq!(
        player.clicks.0.iter().map(|click| click.1).collect::<Vec<_>>(),
        [true, false, false, false]
    );
    assert_eq!(player.does(Left(Held)), View::Choosing(1));
    assert_eq!(player.piece(), None);
}

#[test]
fn who_plays_before_the_count_is_over_is_heard() {
    let mut player = Player::new();
    player.does(Right(Held));
    player.waits(2_000);
    assert_eq!(player.hears(45), View::Playing);
    player.waits(300);
    player.hears(57);
    assert_eq!(player.hears(60), View::Playing);
    player.waits(4_000);
    assert_eq!(player.clicks.0.len(), 4, "the bar is counted to its end");
}

#[test]
fn again_counts_in_anew_and_next_goes_to_the_next_chunk() {
    let mut player = Player::new();
    player.does(Right(Held));
    player.waits(6_000);
    player.hears(45);
    player.waits(300);
    player.hears(57);
    assert!(matches!(player.does(Left(Once)), View::Ready(_)), "as soon as it is quiet");
    assert!(matches!(player.waits(2_000), View::CountIn { .. }));
    assert!(matches!(player.waits(20_000), View::Ready(_)), "what was begun is not judged");
    player.does(Right(Once));
    assert!(matches!(player.waits(1_000), View::CountIn { .. }));
    assert_eq!(player.piece(), Some(Piece::Chunk(1)));
    player.does(Right(Once));
    assert_eq!(player.piece(), Some(Piece::Chunk(0)), "after the last comes the first");
}

#[test]
fn the_tempo_goes_up_and_down_between_its_limits() {
    let mut player = Player::new();
    player.does(Right(Held));
    assert!(matches!(player.does(Right(Held)), View::Tempo(_)));
    assert!(matches!(player.does(Right(Once)), View::Tempo(_)));
    assert_eq!(player.beats(), 56);
    player.does(Left(Once));
    player.does(Left(Once));
    assert_eq!(player.beats(), 52);
    for _ in 0..60 {
        player.does(Right(Once));
    }
    assert_eq!(player.beats(), 90, "the goal");
    for _ in 0..60 {
        player.does(Left(Once));
    }
    assert_eq!(player.beats(), 27, "three tenths of it");
    assert!(matches!(player.does(Left(Held)), View::CountIn { .. }));
    assert_eq!(player.beats(), 27);
    // Whoever puts the foot away is counted in, too.
    player.does(Right(Held));
    player.does(Right(Once));
    assert!(matches!(player.waits(2_900), View::Tempo(_)));
    assert!(matches!(player.waits(100), View::CountIn { .. }));
}

#[test]
fn when_it_hurts_it_is_over_from_everywhere_and_can_begin_again() {
    for before in [&[][..], &[Right(Held)], &[Right(Held), Right(Held)]] {
        let mut player = Player::new();
        for gesture in before {
            player.does(*gesture);
        }
        assert_eq!(player.does(BothHeld), View::Hurts, "{before:?}");
        assert_eq!(player.piece(), None);
        for gesture in [Left(Once), Right(Once)] {
            assert_eq!(player.does(gesture), View::Hurts, "a foot that slips");
        }
        player.hears(45);
        assert_eq!(player.waits(60_000), View::Hurts);
        assert_eq!(player.does(Left(Held)), View::Choosing(0));
        player.does(Left(Held));
        assert!(matches!(player.waits(1_000), View::CountIn { .. }));
        assert_eq!(player.piece(), Some(Piece::Chunk(0)));
    }
}
