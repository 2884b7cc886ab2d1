//! Sessions that a converter which is not ours has sent, kept in `fixtures/converter`: what the judge
//! says of them, as a table that changes only when somebody has looked at it. `cargo xtask rig converter`
//! makes others, and as many as are wanted.

use evenhand_core::verdict::Outcome;
use evenhand_tests::converter::session::{Sent, Session};
use evenhand_tests::converter::slip::Slip;
use evenhand_tests::converter::stream::Source;
use evenhand_tests::converter::told::told;
use evenhand_tests::converter::{kept, report};
use evenhand_tests::lab::golden;
use rayon::prelude::*;

fn sessions() -> Vec<Session> {
    kept::read(include_str!("../../../fixtures/converter/sessions.json")).expect("they are right")
}

#[test]
fn what_is_told_behind_a_converter_is_kept() {
    let changes = golden::compare("converter.txt", &report(&sessions()));
    assert!(changes.is_empty(), "the table changed; EVENHAND_BLESS=1 keeps it:\n{changes}");
}

/// What fails behind the converter is the converter's doing: the same takes without its errors pass, and
/// each slip is told where it was made, in every take.
#[test]
fn without_its_errors_clean_takes_pass_and_slips_are_told_at_once() {
    let sessions = sessions();
    let wrong: Vec<&str> = sessions
        .par_iter()
        .filter(|session| {
            let told = told(session, Source::Ideal);
            let right = match session.slip {
                Slip::Clean => told.iter().all(|take| take.outcome == Some(Outcome::Passed)),
                _ => told.iter().all(|take| take.at_place && take.of_kind),
            };
            !right
        })
        .map(|session| session.id.as_str())
        .collect();
    assert!(wrong.is_empty(), "{wrong:?}");
}

/// A converter that sends every note twice, 45 to 60 ms later and at 70 % of its velocity: the attempts are
/// found, the seconds are nobody's slips, and the pickup is named.
#[test]
fn a_converter_that_tells_everything_twice_is_named_and_nobody_is_blamed() {
    let mut sessions = sessions();
    sessions.retain(|session| session.slip == Slip::Clean && !session.one_channel);
    assert!(!sessions.is_empty());
    for session in &mut sessions {
        let name = session.id.clone();
        for (number, take) in session.takes.iter_mut().enumerate() {
            let seconds = take.ideal.iter().enumerate().map(|(index, note)| Sent {
                at: note.at + 45_000 + (index * 7 + number) as u64 % 16 * 1_000,
                velocity: (u16::from(note.velocity) * 7 / 10).max(1) as u8,
                truth: "double".to_owned(),
                ..note.clone()
            });
            let seconds: Vec<Sent> = seconds.collect();
            take.ideal.extend(seconds);
        }
        let told = told(session, Source::Ideal);
        assert!(told.iter().all(|take| take.attempts == 1), "{name}: {told:?}");
        // In the first take it is found out on the way which string is on which channel.
        let mut later = told.iter().skip(1);
        assert!(later.all(|t| t.outcome != Some(Outcome::NeedsWork)), "{name}: {told:?}");
        assert!(told.iter().any(|take| take.pickup), "{name}: {told:?}");
    }
}

/// The harness looks at the place: a slip is not told where another note is named.
#[test]
fn a_slip_that_is_told_elsewhere_is_not_told_at_its_place() {
    let mut sessions = sessions();
    let session = sessions.iter_mut().find(|session| session.slip == Slip::Wrong);
    let session = session.expect("one is kept");
    assert!(told(session, Source::Ideal)[0].at_place);
    let place = session.places[0];
    let far = if place < session.chunk.notes.len() / 2 { session.chunk.notes.len() - 1 } else { 0 };
    session.places = vec![far];
    let told = &told(session, Source::Ideal)[0];
    assert!(told.any_slip && !told.at_place && !told.of_kind);
}
