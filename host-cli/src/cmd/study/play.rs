//! `evenhand study play`: a recording of a study by the simulated player, with a fault or without.
//!
//! So that whoever has no pickup at hand can hear what is said of their own study.

use crate::args::{PlayArgs, Slip};
use crate::fault::{Exit, Fault};
use crate::output::Output;
use crate::output::path;
use crate::smf::{Timed, take, write};
use crate::studies;
use crate::study::{Prepared, note_name, place_name};
use evenhand_core::player::{self, Skill, perform};
use evenhand_core::study::{Attack, ExpectedNote, Marks};
use evenhand_core::units::{Instant, Level, Offset};

/// Between one chunk and the next. Our default: long enough to be the end of an attempt.
const PAUSE: Offset = Offset::from_millis(3_000);

/// How much softer slurs or one note become, and a tempo's change in per mille of a beat: well over
/// what the most lenient level lets pass. Our defaults.
const SOFTER: Level = Level::from_hundredths(1_200);
const FASTER: i16 = -300;

/// From the first to the last note of a chord that should be one. Our default.
const SPREAD: Offset = Offset::from_millis(120);

pub(super) fn run(args: &PlayArgs, output: &mut Output) -> Result<Exit, Fault> {
    path::spare(&args.study, &args.take, "Name another file for the take.")?;
    let mut chunks = studies::choose(studies::read(&args.study)?, &args.chunk)?;
    studies::at_tempo(&mut chunks, args.tempo)?;
    let mut slipped = None;
    let mut messages: Vec<Timed> = Vec::new();
    let mut told = Vec::new();
    for (index, chunk) in (0..).zip(&chunks) {
        let fault = args.fault.filter(|_| slipped.is_none()).and_then(|slip| fault(slip, chunk));
        slipped = slipped.or(fault);
        told.push(match fault {
            Some(fault) => format!("“{}”: {}", chunk.name, in_words(&fault, chunk)),
            None => format!("“{}”: clean", chunk.name),
        });
        let faults = fault.map_or(Vec::new(), |fault| vec![fault]);
        // Each chunk has chance of its own.
        let seed = args.seed.wrapping_add(index);
        let played =
            perform(&chunk.at_tempo(chunk.tempo), chunk.tempo, Skill::SKILLED, &faults, seed);
        let from = messages.iter().map(|message| message.at).max();
        let from = from.map_or(Instant::ZERO, |end| end.plus(PAUSE));
        messages.extend(take::messages(&played, from));
    }
    if let (Some(slip), None) = (args.fault, slipped) {
        return Err(Fault::new(
            Exit::Usage,
            format!("nothing in {} can be played with a {}", args.study.display(), slip.name()),
        )
        .advise(slip.needs()));
    }
    let text = format!("simulated player; {}", told.join("; "));
    path::put(&args.take, &write::file(&messages, &text), args.replace)?;
    output.say(&format!("{}: a simulated player", args.take.display()))?;
    told.iter().try_for_each(|line| output.set_in(line, "  ", "    "))?;
    Ok(Exit::Done)
}

/// The fault at a place near the middle of the chunk; None where the chunk has no place for it.
fn fault(slip: Slip, chunk: &Prepared) -> Option<player::Fault> {
    let alone = |at: usize| together(chunk, at) == 1;
    let any = |_: usize| true;
    Some(match slip {
        Slip::LateNote => {
            let note = middle(chunk, |at| alone(at) && chunk.notes[at].attack == Attack::Plucked)?;
            // Two fifths of the way to the next (our default): over any share of it that passes.
            let by = until_next(chunk, note).as_micros() / 5 * 2;
            player::Fault::OffBeat { note: note as u16, by: Offset::from_micros(by) }
        }
        Slip::LostTime => {
            let note = middle(chunk, any)?;
            player::Fault::Hesitation { note: note as u16, lost: until_next(chunk, note) }
        }
        Slip::WrongNote => player::Fault::Wrong { note: middle(chunk, any)? as u16, semitones: 1 },
        Slip::MissingNote => player::Fault::Missing(middle(chunk, any)? as u16),
        Slip::ExtraNote => {
            player::Fault::Extra { after: middle(chunk, alone)? as u16, semitones: 2 }
        }
        Slip::SoftNote => {
            let note = middle(chunk, |at| alone(at) && chunk.notes[at].attack == Attack::Plucked)?;
            let by = Level::from_hundredths(-SOFTER.hundredths());
            player::Fault::Loud { note: note as u16, by }
        }
        Slip::WeakSlurs => {
            chunk.notes.iter().find(|note| note.attack == Attack::Slurred)?;
            player::Fault::WeakSlurs(SOFTER)
        }
        Slip::Rushing => player::Fault::Drift(FASTER),
        Slip::SpreadChord => {
            let chord = |at: &usize| together(chunk, *at) > 1 && is_proper(&chunk.notes[*at]);
            let note = (0..chunk.notes.len()).find(chord)?;
            player::Fault::Spread { note: note as u16, by: SPREAD }
        }
    })
}

/// The note nearest to the middle, neither of the first nor of the last event, that is fit.
fn middle(chunk: &Prepared, fit: impl Fn(usize) -> bool) -> Option<usize> {
    let own: Vec<usize> =
        (0..chunk.notes.len()).filter(|&at| is_proper(&chunk.notes[at])).collect();
    let (first, last) = (chunk.notes[*own.first()?].onset, chunk.notes[*own.last()?].onset);
    let inside = |at: &usize| (first.get() + 1..last.get()).contains(&chunk.notes[*at].onset.get());
    let half = own.len() / 2;
    own.into_iter().filter(inside).filter(|&at| fit(at)).min_by_key(|at| at.abs_diff(half))
}

fn is_proper(note: &ExpectedNote) -> bool {
    !note.marks.has(Marks::LANDING)
}

/// How many notes begin together with this one.
fn together(chunk: &Prepared, at: usize) -> usize {
    chunk.notes.iter().filter(|note| note.onset == chunk.notes[at].onset).count()
}

/// The time from a note to the next event.
fn until_next(chunk: &Prepared, at: usize) -> Offset {
    let onset = chunk.notes[at].onset;
    let next = chunk.notes.iter().map(|note| note.onset).find(|later| *later > onset);
    chunk.tempo.lasting(next.unwrap_or(onset).since(onset))
}

/// What goes wrong, and where.
fn in_words(fault: &player::Fault, chunk: &Prepared) -> String {
    let at = |note: u16| {
        let note = usize::from(note);
        format!("{} ({})", place_name(chunk, note), note_name(chunk, note))
    };
    match *fault {
        player::Fault::OffBeat { note, by } => {
            format!("{} comes {} ms late", at(note), by.as_millis_rounded())
        }
        player::Fault::Hesitation { note, lost } => {
            format!("{} ms are lost before {}", lost.as_millis_rounded(), at(note))
        }
        player::Fault::Wrong { note, .. } => format!("{} is a half step too high", at(note)),
        player::Fault::Missing(note) => format!("{} does not sound", at(note)),
        player::Fault::Extra { after, .. } => format!("a note too many after {}", at(after)),
        player::Fault::Loud { note, .. } => format!("{} is too soft", at(note)),
        player::Fault::WeakSlurs(_) => "every slurred note is too soft".to_owned(),
        player::Fault::Spread { note, by } => {
            format!("the chord at {} is spread over {} ms", at(note), by.as_millis_rounded())
        }
        _ => "it gets faster from beginning to end".to_owned(),
    }
}
