//! What is said between attempts: why this comes next, what could be chosen instead, when to
//! rest.

use super::pieces::Pieces;
use crate::study::pitch_name;
use evenhand_core::practice::rules::{MISREAD_SAID, REST, UNCLEAR_SAID};
use evenhand_core::practice::{
    Choice, Choices, Piece, PracticeVariant, Reason, Side, Spot, Step, Task, WrongPitch,
};
use evenhand_core::units::{Seconds, Tempo, Ticks};

/// What is said where it hurts.
pub const HURTS: &str = "Stop here and let your hands rest. If it comes back or does not pass, show it to a \
    medical professional or your teacher before you go on.";

/// The sentences for a step. `before` is what was played last, `fingering` the name of the other
/// fingering that is in use; with `own_tempo` no tempo is spoken of.
pub(super) fn sentences(
    step: &Step,
    before: Option<Task>,
    pieces: &Pieces,
    fingering: Option<&str>,
    own_tempo: bool,
) -> Vec<String> {
    let Some(task) = step.task else { return vec![over(step.reason)] };
    let words = Words { task, before, pieces, beat: pieces.beat(task.piece), fingering, own_tempo };
    let mut said = vec![words.why(step.reason)];
    said.extend(offer(step.offer, matches!(step.reason, Reason::TooFewClean { .. })));
    said.extend(step.rest.map(rest));
    said
}

/// A change in a few words.
pub(super) const fn change_in_words(change: Choice) -> &'static str {
    match change {
        Choice::Shorter => "less of it",
        Choice::Rhythm => "another rhythm",
        Choice::Fingering => "another fingering",
        Choice::Burst => "a few times faster",
        Choice::Accents => "half as fast with accents",
        Choice::Stop => "left for the day",
    }
}

/// When nothing more is played.
fn over(reason: Reason) -> String {
    match reason {
        Reason::Hurts => HURTS,
        Reason::Stopped => "Enough for today. The next day begins with what is clean so far.",
        Reason::Nothing => "There is no chunk to practise.",
        // The only other end.
        _ => "Everything is at its goal for today. Leave it there and come back another day.",
    }
    .to_owned()
}

fn rest(played: Seconds) -> String {
    let (played, rest) = (played.as_minutes_rounded(), REST.as_minutes_rounded());
    format!("You have played for {played} minutes: put the guitar down for {rest}.")
}

/// What can be chosen, in one sentence that prefers nothing.
fn offer(choices: Choices, besides: bool) -> Option<String> {
    let what = |choice| match choice {
        Choice::Shorter => "take less of it at a time",
        Choice::Rhythm => "change the rhythm",
        Choice::Fingering => "try another fingering",
        Choice::Burst => "play it a few times well above this tempo",
        Choice::Accents => "play it half as fast with an accent on each beat",
        Choice::Stop => "leave it for today",
    };
    let mut listed = String::new();
    let all: Vec<Choice> = choices.iter().collect();
    let (last, others) = all.split_last()?;
    for choice in others {
        listed.push_str(what(*choice));
        listed.push_str(if others.len() > 1 { ", " } else { " " });
    }
    if !others.is_empty() {
        listed.push_str("or ");
    }
    listed.push_str(what(*last));
    let lead = if besides { "Or you could" } else { "You could" };
    let equal = if others.is_empty() { "" } else { "; one is as good as another" };
    Some(format!("{lead} {listed}{equal}."))
}

struct Words<'a> {
    task: Task,
    before: Option<Task>,
    pieces: &'a Pieces,
    beat: Ticks,
    fingering: Option<&'a str>,
    own_tempo: bool,
}

impl Words<'_> {
    /// Why this comes next, and at which tempo.
    fn why(&self, reason: Reason) -> String {
        let name = self.pieces.name(self.task.piece);
        let now = self.full(self.task.tempo);
        let number = |tempo| self.number(tempo);
        match reason {
            Reason::Begin { clean_before: true } if self.own_tempo => {
                format!("{name}, at {now}: it was clean before.")
            }
            Reason::Begin { clean_before: true } => {
                format!(
                    "{name}, first as it comes: {now}, a little below where it was clean before."
                )
            }
            Reason::Begin { clean_before: false } if self.own_tempo => {
                format!("{name}, at {now}: as slowly as it stays clean.")
            }
            Reason::Begin { clean_before: false } => {
                let goal = self.goal().map(|goal| format!("; {} is the goal", number(goal)));
                let goal = goal.unwrap_or_default();
                format!("{name}, slowly to begin with: {now}{goal}.")
            }
            Reason::Clean { clean, of } => {
                format!("Clean, {clean} of {of} in a row. Again at {now}.")
            }
            Reason::Faster { from, clean } => {
                let at = number(from);
                let goal = if self.goal() == Some(self.task.tempo) { ", the goal" } else { "" };
                match clean {
                    1 => format!("Clean at {at}. A little faster: {now}{goal}."),
                    _ => format!(
                        "Clean {} in a row at {at}. A little faster: {now}{goal}.",
                        times(clean)
                    ),
                }
            }
            Reason::Slower { .. } => format!("A little slower, until it is clean again: {now}."),
            Reason::SmallerSteps { .. } => {
                format!(
                    "Twice now faster did not hold. Back to {now}, and from here in smaller steps."
                )
            }
            Reason::Stuck { .. } => {
                format!(
                    "Smaller steps did not hold either, so tempo alone is not the way now. {now} \
                     in the meantime.",
                )
            }
            Reason::Slowest if self.own_tempo => {
                format!("Again, at {now}: a little slower, until it is clean.")
            }
            Reason::Slowest => {
                format!("{now} is as slow as this stays the same movement.")
            }
            Reason::TooFewClean { clean, of, .. } => {
                let clean = if clean == 0 { "none".to_owned() } else { clean.to_string() };
                if self.own_tempo {
                    return format!(
                        "Of the last {of}, {clean} clean: too few to learn from. Slower."
                    );
                }
                format!("Of the last {of}, {clean} clean: too few to learn from. Slower: {now}.")
            }
            Reason::NotAtTempo { played } => {
                let (played, asked) = (number(played), number(self.task.tempo));
                format!("Clean, but at {played}, which says nothing about {asked}. Again at {now}.")
            }
            Reason::Unclear { in_a_row } if in_a_row >= UNCLEAR_SAID => {
                format!(
                    "Unclear {} in a row. See first to what would settle it; playing on will not.",
                    times(in_a_row)
                )
            }
            Reason::Unclear { .. } => format!("It changes nothing. Again at {now}."),
            Reason::TakenBack => format!("Taken back: it does not count. Again at {now}."),
            Reason::Interrupted => format!("That one does not count. Again at {now}."),
            Reason::Leap { from } => {
                format!("Clean at {} straight away. On to {now}.", number(from))
            }
            Reason::Shown { played, asked } => {
                let ratio = times_as_fast(played, asked);
                let (played, asked) = (number(played), number(asked));
                format!("Clean twice at {played} where {asked} was asked, {ratio}. On at {now}.")
            }
            Reason::Misread { wrong, times: count } => self.misread(wrong, count),
            Reason::Spot { event, failed, tries } => {
                let place = self.place(event).unwrap_or_else(|| "one place".to_owned());
                format!(
                    "It breaks at {place}, {} in {}: only the notes around it now, at {now}.",
                    times(failed),
                    count(tries)
                )
            }
            Reason::SpotGrows => {
                let from = self.before.map(|task| task.piece);
                let where_ = match from {
                    Some(Piece::Spot(Spot { from: 0, .. })) => "after them",
                    _ => "on either side",
                };
                format!("Clean. A few more notes {where_}, at {now}.")
            }
            Reason::SpotDone => {
                format!("All of it is clean, a few notes at a time. {name} again, at {now}.")
            }
            Reason::Plateau { attempts, change } => {
                let attempts = count(attempts);
                let change = self.chosen(change, &name, &now);
                if self.own_tempo {
                    return format!(
                        "Not clean often enough in {attempts} attempts, so something else. {change}"
                    );
                }
                format!("No faster clean one in {attempts} attempts, so something else. {change}")
            }
            Reason::AtGoal { done } => {
                format!("{} is at its goal. Now {name}, at {now}.", self.pieces.name(done))
            }
            Reason::Turn { after } => {
                format!("{} can rest for a while. Now {name}, at {now}.", self.pieces.name(after))
            }
            Reason::Join { settled, .. } => self.joined(settled, &name, &now),
            Reason::OtherHalf => match self.task.piece {
                Piece::Half(_, Side::First) => {
                    format!("The second half is clean. Now the first, at {now}.")
                }
                _ => format!("The first half is clean. Now the second, at {now}."),
            },
            Reason::Chosen(choice) => self.chosen(choice, &name, &now),
            Reason::Taken => format!("{name}, at {now}."),
            Reason::Variation { clean, of } => match self.task.way {
                PracticeVariant::Burst => format!("Once more at {now}."),
                PracticeVariant::Accents => {
                    format!("{clean} of {of} in a row with accents. Again at {now}.")
                }
                _ => format!("{clean} of {of} in a row in this rhythm. Again at {now}."),
            },
            Reason::OtherRhythm => format!("Now the other way round, {}, at {now}.", self.rhythm()),
            Reason::AsWritten => format!("As it is written again, at {now}."),
            Reason::BurstOver { held: true } => format!("Clean each time: it stays at {now}."),
            Reason::BurstOver { held: false } => {
                format!("Back to {now}; see whether that seems slower than it did.")
            }
            // Ends have no task.
            Reason::AllAtGoal | Reason::Stopped | Reason::Hurts | Reason::Nothing => over(reason),
        }
    }

    fn joined(&self, settled: bool, name: &str, now: &str) -> String {
        match (self.task.piece, self.before.map(|task| task.piece)) {
            (Piece::Join { .. }, Some(Piece::Seam(_))) => {
                format!("The notes around the seam are clean. {name} in one again, at {now}.")
            }
            (Piece::Join { .. }, _) if settled => {
                format!(
                    "{name} were clean on an earlier day. Now in one, at {now}; listen to the \
                     seam."
                )
            }
            (Piece::Join { .. }, _) => {
                format!(
                    "{name} are clean today. Try them in one, at {now}; after a night's sleep it \
                     goes better still."
                )
            }
            _ => format!("Both halves are clean. Now {name} as a whole, at {now}."),
        }
    }

    fn chosen(&self, choice: Choice, name: &str, now: &str) -> String {
        match choice {
            Choice::Shorter if matches!(self.task.piece, Piece::Seam(_)) => {
                format!("Only the notes around the seam, {name}, at {now}.")
            }
            Choice::Shorter => format!("{name}, at {now}."),
            Choice::Rhythm => {
                format!("In pairs, {}, at {now}. The beat stays where it is.", self.rhythm())
            }
            Choice::Fingering => match self.fingering {
                Some(other) => {
                    format!("The fingering “{other}”. New for the hands, so slower: {now}.")
                }
                None => format!("The fingering as it is written. Slower to begin with: {now}."),
            },
            Choice::Burst => {
                format!("A few times at {now}. It may be rough; keep the movements small.")
            }
            Choice::Accents => {
                format!("Slowly, at {now}, with an accent on each beat.")
            }
            Choice::Stop => over(Reason::Stopped),
        }
    }

    /// The same other pitch once more.
    fn misread(&self, wrong: WrongPitch, count: u8) -> String {
        let (played, written) = (pitch_name(wrong.played), pitch_name(wrong.written));
        let place = self.place(wrong.event).map(|place| format!(" at {place}")).unwrap_or_default();
        let times = times(count);
        let look =
            if count < MISREAD_SAID { "" } else { " Look at the page before you play it again." };
        let again = match self.before {
            _ if self.own_tempo => {
                return format!("{played} where {written} is written{place}, {times}.{look}");
            }
            Some(before) if before == self.task => "The tempo stays.".to_owned(),
            _ => format!("Now {}.", self.full(self.task.tempo)),
        };
        format!("{played} where {written} is written{place}, {times}.{look} {again}")
    }

    /// An event of the piece that was played last, in words.
    fn place(&self, event: u8) -> Option<String> {
        self.pieces.place(self.before.map_or(self.task.piece, |task| task.piece), event)
    }

    const fn rhythm(&self) -> &'static str {
        match self.task.way {
            PracticeVariant::ShortLong => "short then long",
            _ => "long then short",
        }
    }

    fn goal(&self) -> Option<Tempo> {
        self.pieces.goal(self.task.piece)
    }

    /// `66`, or `66.7` where it is no whole number.
    fn number(&self, tempo: Tempo) -> String {
        let tenths = tempo.hundredths_of_beats_per_minute(self.beat).saturating_add(5) / 10;
        match tenths % 10 {
            0 => (tenths / 10).to_string(),
            tenth => format!("{}.{tenth}", tenths / 10),
        }
    }

    /// `66 beats a minute`.
    fn full(&self, tempo: Tempo) -> String {
        if self.own_tempo {
            return "your own tempo".to_owned();
        }
        match self.number(tempo).as_str() {
            "1" => "one beat a minute".to_owned(),
            number => format!("{number} beats a minute"),
        }
    }
}

/// How much faster one tempo is than another, in words.
fn times_as_fast(fast: Tempo, slow: Tempo) -> String {
    let (fast, slow) = (fast.micros_per_quarter(), slow.micros_per_quarter());
    let tenths = (u64::from(slow) * 10 + u64::from(fast) / 2) / u64::from(fast.max(1));
    match tenths {
        20 => "twice as fast".to_owned(),
        15 => "half as fast again".to_owned(),
        tenths => format!("{}.{} times as fast", tenths / 10, tenths % 10),
    }
}

/// A small number in words.
fn count(number: u8) -> String {
    let words = [
        "none", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten",
        "eleven", "twelve",
    ];
    words.get(usize::from(number)).map_or_else(|| number.to_string(), |word| (*word).to_owned())
}

fn times(count: u8) -> String {
    match count {
        1 => "once".to_owned(),
        2 => "twice".to_owned(),
        3 => "three times".to_owned(),
        4 => "four times".to_owned(),
        more => format!("{more} times"),
    }
}
