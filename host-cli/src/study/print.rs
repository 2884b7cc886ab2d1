//! A study as canonical text: one way to write everything. Comments are not kept.

use super::model::{
    Again, ChunkText, Item, Landing, Note, Part, PartEnd, Section, Settings, Sound, Spot, Start,
    Step, Study, TrillTo, VoiceLine,
};
use super::name::{LONGEST, is_quotable, is_quote, is_voice_char, tidy};
use super::span::Spanned;
use evenhand_core::tolerance::PracticeLevel;
use std::fmt::Write as _;

/// The study as text that [`parse`](super::parse()) reads back into an equal study.
///
/// Names that cannot be typed (with quotes or line breaks in them, or too long) are changed
/// into ones that can.
pub fn print(study: &Study) -> String {
    let is_once = !study.music.is_empty()
        || !study.figures.is_empty()
        || study.chunks.iter().any(|chunk| chunk.part.is_some());
    let mut out = format!("evenhand study {}\n", if is_once { 2 } else { 1 });
    if let Some(title) = &study.title {
        let _ = writeln!(out, "title {}", title_text(title));
    }
    if let Some(tuning) = &study.tuning {
        let names: Vec<String> = tuning.iter().map(ToString::to_string).collect();
        let _ = writeln!(out, "tuning {}", names.join(" "));
    }
    if let Some(capo) = &study.capo {
        let _ = writeln!(out, "capo {}", capo.value);
    }
    if study.plectrum.is_some() {
        out.push_str("plectrum\n");
    }
    settings(&mut out, &study.settings, "");
    for one in &study.figures {
        let items: Vec<String> = one.items.iter().map(item).collect();
        let _ = writeln!(out, "figure {}: {}", voice_name(&one.name), items.join(" "));
    }
    for (index, one) in study.music.iter().enumerate() {
        section(&mut out, one, index == 0);
    }
    for one in &study.chunks {
        out.push('\n');
        chunk(&mut out, one);
    }
    out
}

/// The first begins the music; the others go on in it.
fn section(out: &mut String, one: &Section, is_first: bool) {
    let at = &one.at.value;
    match (is_first, at) {
        (true, Start { bar: 1, beat: None, plus: None }) => out.push_str("\nmusic\n"),
        (true, _) => {
            let _ = writeln!(out, "\nmusic{}", start(at));
        }
        (false, _) => {
            let _ = writeln!(out, "  bar {}", at.bar);
        }
    }
    let Section { metre, tempo, .. } = one;
    let changes = Settings { metre: *metre, tempo: *tempo, ..Settings::default() };
    settings(out, &changes, "  ");
    lines(out, &one.lines, "  ");
}

/// Which part of the music a chunk is.
fn part(part: &Part) -> String {
    let place = |start: &Start| self::start(start).replacen(" at", "", 1);
    let range = match part.to {
        PartEnd::Bar(last)
            if last == part.from.bar && part.from.beat.is_none() && part.from.plus.is_none() =>
        {
            format!(" bar {last}")
        }
        PartEnd::Bar(last) if last == part.from.bar => place(&part.from),
        PartEnd::Bar(last) => format!(" bars {} to {last}", part.from.bar),
        PartEnd::Until(end) => format!("{} until{}", place(&part.from), place(&end)),
    };
    let voices: String =
        part.voices.iter().map(|voice| format!(" voice {}", voice_name(voice))).collect();
    range + &voices
}

/// A title needs quotes only where it could be taken for something else.
fn title_text(title: &str) -> String {
    let comment = title.starts_with('#') || title.contains(" #");
    let plain = tidy(title) == title && !title.is_empty() && !title.starts_with(is_quote);
    let fits = title.chars().count() <= LONGEST && !title.chars().any(char::is_control);
    if plain && fits && !comment { title.into() } else { quoted(title) }
}

/// A name between quotes, changed where it could not be read back.
fn quoted(name: &str) -> String {
    if is_quotable(name) {
        return format!("\"{name}\"");
    }
    let calm = |c: char| match c {
        c if is_quote(c) => '\'',
        c if c.is_control() => ' ',
        c => c,
    };
    let text: String = name.chars().map(calm).collect();
    let text: String = tidy(&text).chars().take(LONGEST).collect();
    let text = if text.is_empty() { "unnamed" } else { text.trim_end() };
    format!("\"{text}\"")
}

fn settings(out: &mut String, settings: &Settings, indent: &str) {
    if let Some(metre) = &settings.metre {
        let _ = writeln!(out, "{indent}metre {}/{}", metre.upper, metre.lower);
    }
    if let Some(tempo) = &settings.tempo {
        let of = tempo.of.map(|v| format!(" of {v}")).unwrap_or_default();
        let _ = writeln!(out, "{indent}tempo {}{of}", tempo.beats);
    }
    if let Some(level) = &settings.level {
        let _ = writeln!(out, "{indent}level {}", level_name(level.value));
    }
    for allow in &settings.allow {
        let _ = writeln!(out, "{indent}allow {}", allow.value);
    }
}

/// The name of a level in the text.
pub(super) const fn level_name(level: PracticeLevel) -> &'static str {
    match level {
        PracticeLevel::First => "first",
        PracticeLevel::Steady => "steady",
        PracticeLevel::Performance => "performance",
    }
}

fn chunk(out: &mut String, chunk: &ChunkText) {
    let place = match (&chunk.part, &chunk.at) {
        (Some(of), _) => part(of),
        (None, Some(at)) => start(&at.value),
        (None, None) => String::new(),
    };
    let _ = writeln!(out, "chunk {}{place}", quoted(&chunk.name));
    settings(out, &chunk.settings, "  ");
    lines(out, &chunk.lines, "  ");
    match chunk.landing.as_deref() {
        Some(Landing::Next) => out.push_str("  landing next\n"),
        Some(Landing::On(chord)) => {
            let _ = writeln!(out, "  landing {}", sound(chord));
        }
        Some(Landing::Nothing) => out.push_str("  landing none\n"),
        None => {}
    }
    for alternative in &chunk.alternatives {
        let _ = writeln!(out, "  alternative {}", quoted(&alternative.name));
        lines(out, &alternative.lines, "    ");
    }
}

fn start(start: &Start) -> String {
    let beat = start.beat.map(|b| format!(" beat {b}")).unwrap_or_default();
    let plus = start.plus.map(|v| format!(" plus {v}")).unwrap_or_default();
    format!(" at bar {}{beat}{plus}", start.bar)
}

fn lines(out: &mut String, lines: &[VoiceLine], indent: &str) {
    for line in lines {
        let items: Vec<String> = line.items.iter().map(item).collect();
        let _ = writeln!(out, "{indent}{}: {}", voice_name(&line.name), items.join(" "));
    }
}

fn voice_name(name: &str) -> String {
    let text: String = name.chars().filter(|c| is_voice_char(*c)).take(LONGEST).collect();
    if text.starts_with(char::is_alphabetic) { text } else { format!("voice{text}") }
}

fn item(item: &Spanned<Item>) -> String {
    match &item.value {
        Item::Step(one) => step(one),
        Item::Barline => "|".into(),
        Item::Tuplet(tuplet) => {
            let steps: Vec<String> = tuplet.steps.iter().map(|s| step(s)).collect();
            format!("{}[ {} ]", tuplet.ratio, steps.join(" "))
        }
        Item::Figure(used) => format!("{} {}", voice_name(&used.name), sound(&used.chord)),
        Item::Again(again) => self::again(again),
    }
}

fn again(again: &Again) -> String {
    let Again { first, last, higher } = *again;
    let bars =
        if first == last { format!("bar {first}") } else { format!("bars {first} to {last}") };
    let frets = if higher.abs() == 1 { "fret" } else { "frets" };
    match higher {
        0 => format!("as {bars}"),
        1.. => format!("as {bars}, {higher} {frets} higher"),
        _ => format!("as {bars}, {} {frets} lower", higher.unsigned_abs()),
    }
}

fn step(step: &Step) -> String {
    match step {
        Step::Value(value) => value.to_string(),
        Step::Sound(one) => sound(one),
        Step::Rest => "rest".into(),
        Step::Tie => "tie".into(),
    }
}

/// A note or chord with the words before it.
pub(super) fn sound(sound: &Sound) -> String {
    let mut words = Vec::new();
    if sound.rolled {
        words.push("rolled".to_owned());
    }
    if let Some(shift) = sound.shift {
        words.push("shift".to_owned());
        words.extend(shift.to.map(|p| p.to_string()));
    }
    if let Some(barre) = sound.barre {
        words.push(format!("barre {barre}"));
    }
    let notes: Vec<String> = sound.notes.iter().map(|n| note(n)).collect();
    words.push(notes.join("+"));
    words.join(" ")
}

/// A note with its marks.
fn note(note: &Note) -> String {
    let mut marks = Vec::new();
    marks.extend(note.left.map(|finger| finger.to_string()));
    marks.extend(note.right.map(|finger| finger.to_string()));
    match note.trill {
        Some(TrillTo::Fret(fret)) => marks.push(format!("trill {fret}")),
        Some(TrillTo::Named(name)) => marks.push(format!("trill {name}")),
        None => {}
    }
    for (word, set) in [("hold", note.hold), ("accent", note.accent), ("short", note.short)] {
        if set {
            marks.push(word.to_owned());
        }
    }
    let slur = if note.slurred { "^" } else { "" };
    let marks = if marks.is_empty() { String::new() } else { format!("({})", marks.join(" ")) };
    format!("{slur}{}{marks}", spot(note.spot))
}

/// A string and fret, or the name of a pitch.
pub(super) fn spot(spot: Spot) -> String {
    match spot {
        Spot::Fretted(string, fret) => format!("{}:{fret}", string.number()),
        Spot::Named(name) => name.to_string(),
        Spot::OfChord(number) => {
            let end = ["th", "st", "nd", "rd"].get(usize::from(number)).unwrap_or(&"th");
            format!("{number}{end}")
        }
    }
}
