//! What is to be played and why it comes next, each on a line.

use evenhand_core::practice::{Choice, Choices, Piece, PracticeVariant, Reason, Side, Spot};

use super::text_line::TextLine;

/// Chunks are counted from 1 for people.
pub(super) fn number(chunk: u8) -> u16 {
    u16::from(chunk) + 1
}

/// A piece, as `Chunk 3, 1st half`.
pub(super) fn piece(piece: Piece) -> TextLine {
    match piece {
        Piece::Chunk(chunk) => TextLine::of(format_args!("Chunk {}", number(chunk))),
        Piece::Half(chunk, side) => {
            let side = match side {
                Side::First => "1st",
                Side::Second => "2nd",
            };
            TextLine::of(format_args!("Chunk {}, {side} half", number(chunk)))
        }
        Piece::Seam(chunk) => {
            TextLine::of(format_args!("From {} into {}", number(chunk), number(chunk) + 1))
        }
        Piece::Join { first, last, .. } => {
            TextLine::of(format_args!("Chunks {} to {}", number(first), number(last)))
        }
        Piece::Spot(Spot { first, from, to, .. }) => {
            let (from, to) = (number(from), number(to));
            TextLine::of(format_args!("Chunk {}, notes {from}-{to}", number(first)))
        }
    }
}

/// How it is played, where that is not as it is written.
pub(super) const fn way(way: PracticeVariant) -> &'static str {
    match way {
        PracticeVariant::AsWritten => "",
        PracticeVariant::LongShort => "pairs: long, short",
        PracticeVariant::ShortLong => "pairs: short, long",
        PracticeVariant::Burst => "a burst of tempo",
        PracticeVariant::Accents => "half, with accents",
    }
}

/// Why this comes next.
pub(super) fn why(reason: Reason) -> TextLine {
    let words = match reason {
        Reason::Clean { clean, of } | Reason::Variation { clean, of } => {
            return TextLine::of(format_args!("clean {clean} of {of}"));
        }
        Reason::TooFewClean { clean, of, .. } => {
            return TextLine::of(format_args!("{clean} of {of} clean: slower"));
        }
        Reason::Misread { times, .. } => {
            return TextLine::of(format_args!("same wrong note, {times}x"));
        }
        Reason::Spot { failed, tries, .. } => {
            return TextLine::of(format_args!("breaks here, {failed} in {tries}"));
        }
        Reason::Begin { clean_before: true } => "below where clean",
        Reason::Begin { clean_before: false } => "slowly to begin with",
        Reason::Leap { .. } => "clean: on by a leap",
        Reason::Shown { .. } => "as fast as you played",
        Reason::SpotGrows => "a few more notes",
        Reason::SpotDone => "the whole again",
        Reason::Plateau { .. } => "something else now",
        Reason::Faster { .. } => "a little faster",
        Reason::Slower { .. } => "a little slower",
        Reason::SmallerSteps { .. } => "slower, smaller steps",
        Reason::Stuck { .. } => "not by tempo alone",
        Reason::Slowest => "as slow as it gets",
        Reason::NotAtTempo { .. } => "clean, but slower",
        Reason::Unclear { .. } | Reason::Interrupted => "once more",
        Reason::AtGoal { .. } => "the last is at goal",
        Reason::Turn { .. } => "the next in turn",
        Reason::Join { .. } => "now both in one",
        Reason::OtherHalf => "now the other half",
        Reason::Chosen(Choice::Shorter) => "less of it at a time",
        Reason::Chosen(Choice::Rhythm) => "in another rhythm",
        Reason::Chosen(Choice::Fingering) => "with other fingers",
        Reason::Chosen(Choice::Burst) => "well above the tempo",
        Reason::Chosen(Choice::Accents) => "accent on each beat",
        Reason::Taken => "as you chose",
        Reason::TakenBack => "that did not count",
        Reason::OtherRhythm => "the other way round",
        Reason::AsWritten => "as written again",
        Reason::BurstOver { .. } => "after the burst",
        Reason::Chosen(Choice::Stop)
        | Reason::AllAtGoal
        | Reason::Stopped
        | Reason::Hurts
        | Reason::Nothing => "",
    };
    words.into()
}

/// What the switches offer, left and right, pressed once and twice: see `evenhand_core::feet::steps`.
pub(super) fn offer(choices: Choices) -> [TextLine; 2] {
    let has = |choice| choices.has(choice);
    let left = match (has(Choice::Shorter), has(Choice::Fingering)) {
        (true, false) => "left: less of it",
        (true, true) => "left less 2x fingers",
        (false, true) => "left again 2x fingers",
        (false, false) => "left: again",
    };
    let right = match (has(Choice::Rhythm), has(Choice::Burst)) {
        (true, false) => "right: other rhythm",
        (true, true) => "right rhythm 2x burst",
        (false, true) => "right next 2x burst",
        (false, false) => "right: next",
    };
    [left.into(), right.into()]
}
