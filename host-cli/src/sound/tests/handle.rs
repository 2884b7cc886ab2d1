use super::click;
use crate::sound::{Sound, SoundProblem};
use evenhand_core::units::Instant;
use evenhand_core::verdict::Outcome;

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
    assert_eq!((sound.heard_at(3), sound.music_at(), sound.change()), (None, None, None));
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
