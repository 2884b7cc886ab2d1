use super::*;

const OPEN: [u8; 6] = [64, 59, 55, 50, 45, 40];

/// What a converter with a channel per string sends, in any order of time.
#[derive(Default)]
struct Line(Vec<(u64, [u8; 3])>);

impl Line {
    fn note(&mut self, string: u8, fret: u8, velocity: u8, millis: u64, lasts: u64) {
        let pitch = OPEN[usize::from(string) - 1] + fret;
        let channel = string - 1;
        self.0.push((millis * 1_000, [0x90 | channel, pitch, velocity]));
        self.0.push(((millis + lasts) * 1_000, [0x80 | channel, pitch, 64]));
    }

    fn bend(&mut self, string: u8, semitones: f64, millis: u64) {
        let value = (8_192.0 + semitones / 2.0 * 8_191.0).round() as u16;
        let bytes = [0xe0 | (string - 1), (value & 127) as u8, (value >> 7) as u8];
        self.0.push((millis * 1_000, bytes));
    }

    fn account(mut self) -> Account {
        self.0.sort_by_key(|(at, _)| *at);
        let mut playing = Playing::default();
        for (at, bytes) in self.0 {
            playing.hear(&bytes, Instant::from_micros(at));
        }
        playing.account()
    }

    /// Each open string five times.
    fn open_strings() -> (Self, u64) {
        let mut line = Self::default();
        let mut now = 1_000;
        for string in (1..=6).rev() {
            for pluck in 0..5 {
                line.note(string, 0, 78 + pluck, now, 700);
                now += 800;
            }
        }
        (line, now)
    }
}

fn mistakes(account: &Account) -> Vec<(usize, TrackingError, usize)> {
    let mut all = Vec::new();
    for (index, string) in account.strings.iter().enumerate() {
        for error in TrackingError::ALL {
            let count = string.mistakes[error as usize];
            all.extend((count > 0).then_some((index + 1, error, count)));
        }
    }
    all
}

#[test]
fn clean_playing_has_no_mistakes() {
    let (mut line, mut now) = Line::open_strings();
    // A scale in sixteenths at 100 a minute, and a slur of new notes.
    for string in (2..=6).rev() {
        for fret in [0, 2, 3, 5] {
            line.note(string, fret, 80, now, 150);
            now += 150;
        }
    }
    now += 1_000;
    // A chord three times, and one that has another bass.
    for bass in [0, 0, 0, 3] {
        line.note(6, bass, 80, now + 6, 600);
        line.note(3, 1, 76, now + 2, 600);
        line.note(2, 0, 76, now + 1, 600);
        line.note(1, 0, 77, now, 600);
        now += 1_000;
    }
    let account = line.account();
    assert_eq!(mistakes(&account), []);
    assert_eq!(account.channels, Channels::PerString { first: 0 });
    let notes: Vec<usize> = account.strings.iter().map(|string| string.notes).collect();
    assert_eq!(notes, [9, 13, 13, 9, 9, 13, 0]);
    assert_eq!((account.chords, account.rows, account.bent), (4, 7, 0));
    assert_eq!(account.strings[0].velocity, Some(78));
    assert!(!account.is_poor && !account.is_poured);
}

#[test]
fn each_mistake_is_told_on_its_string() {
    let (mut line, mut now) = Line::open_strings();
    // Begun again; and heard through the neighbour.
    line.note(1, 0, 40, 24_230, 100);
    line.note(2, 0, 80, now, 500);
    line.note(3, 4, 20, now + 5, 300);
    now += 1_000;
    // A faint octave on another string; a false pitch set right; one that stood for a moment.
    line.note(4, 2, 80, now, 500);
    line.note(2, 5, 20, now + 10, 200);
    now += 1_000;
    line.note(5, 7, 80, now, 12);
    line.note(5, 3, 80, now + 12, 500);
    now += 1_000;
    line.note(5, 9, 80, now, 40);
    line.note(5, 2, 80, now + 60, 500);
    now += 1_000;
    // The octave before the note, and what a lifted finger leaves.
    line.note(6, 15, 80, now, 70);
    line.note(6, 3, 80, now + 70, 500);
    line.note(6, 0, 30, now + 590, 60);
    let account = line.account();
    let expected = [
        (1, TrackingError::Double, 1),
        (2, TrackingError::Ghost, 1),
        (3, TrackingError::Ghost, 1),
        (5, TrackingError::Blip, 2),
        (6, TrackingError::Octave, 1),
        (6, TrackingError::Trailing, 1),
    ];
    assert_eq!(mistakes(&account), expected);
}

#[test]
fn a_gap_in_a_row_and_a_chord_without_a_note_look_lost() {
    let mut line = Line::default();
    for pluck in [0, 1, 2, 4, 5] {
        line.note(6, 0, 80, 1_000 + pluck * 800, 500);
    }
    for chord in 0..4 {
        let now = 10_000 + chord * 1_000;
        line.note(4, 2, 80, now, 600);
        line.note(3, 2, 80, now, 600);
        line.note(2, 1, 80, now, 600);
        if chord != 2 {
            line.note(1, 0, 80, now, 600);
        }
    }
    let account = line.account();
    let lost = |string| (string, TrackingError::Lost, 1);
    assert_eq!(mistakes(&account), [lost(1), lost(6)]);
}

#[test]
fn a_rhythm_is_no_loss() {
    let mut line = Line::default();
    let mut now = 1_000;
    for long in [false, true, false, true, false, true] {
        line.note(3, 0, 80, now, 300);
        now += if long { 1_000 } else { 500 };
    }
    assert_eq!(mistakes(&line.account()), []);
}

#[test]
fn strings_that_come_late_in_chords_are_told() {
    let mut line = Line::default();
    for chord in 0..6 {
        let now = 1_000 + chord * 1_000;
        // Without one period: the bass 40 ms late, with a scatter of its own.
        line.note(6, 0, 80, now + 12 + 40 + 6 * (chord % 3), 600);
        line.note(3, 0, 80, now + 5, 600);
        line.note(2, 0, 80, now + 4, 600);
        line.note(1, 0, 80, now + 3, 600);
    }
    let account = line.account();
    let late = account.strings[5].late.unwrap();
    assert!((42_000..=52_000).contains(&late.by), "{late:?}");
    assert!((5_000..=12_000).contains(&late.scatter), "{late:?}");
    assert_eq!(account.chords, 6);
    assert_eq!(account.strings[3].late, None);
    // Broken chords are none.
    let mut line = Line::default();
    for note in 0..60 {
        let string = [6, 3, 2, 1][note as usize % 4];
        line.note(string, 0, 80, 1_000 + note * 60, 200);
    }
    assert_eq!(line.account().chords, 0);
}

#[test]
fn bends_that_stay_are_slurs_and_vibrato_is_none() {
    let mut line = Line::default();
    for slur in 0..4 {
        let now = 1_000 + slur * 1_500;
        line.note(2, 0, 80, now, 1_200);
        line.bend(2, 2.0, now + 400);
        line.bend(2, 0.0, now + 1_300);
    }
    line.note(1, 5, 80, 9_000, 1_500);
    for swing in 0..10 {
        line.bend(1, if swing % 2 == 0 { 0.7 } else { 0.0 }, 9_300 + swing * 70);
    }
    let account = line.account();
    assert_eq!((account.bent, account.over_a_note), (4, 0));
    let mut line = Line::default();
    for slur in 0..4 {
        line.note(2, 0, 80, 1_000 + slur * 1_500, 900);
        line.note(2, 2, 60, 1_400 + slur * 1_500, 500);
        line.note(1, 0, 80, 2_400 + slur * 1_500, 50);
    }
    let account = line.account();
    assert_eq!((account.bent, account.over_a_note), (0, 4));
}

#[test]
fn a_stream_that_was_poured_in_says_nothing_about_times() {
    let mut line = Line::default();
    for note in 0..40 {
        line.note(1 + (note % 6) as u8, (note % 5) as u8, 80, 1_000, 0);
    }
    let account = line.account();
    assert!(account.is_poured);
    assert_eq!((mistakes(&account), account.chords), (vec![], 0));
    assert_eq!(Playing::default().account().strings[0].notes, 0);
}

#[test]
fn velocities_are_counted() {
    let mut line = Line::default();
    for note in 0..20 {
        let velocity = if note < 12 { 127 } else { 60 };
        line.note(1, 0, velocity, 1_000 + note * 500, 400);
    }
    let account = line.account();
    let expected = Velocities { notes: 20, most_common: (127, 12), full: 12, least: 0 };
    assert_eq!(account.velocities, expected);
}
