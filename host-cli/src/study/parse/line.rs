//! What each line of a study is, and where its parts go.

use super::cursor::Cursor;
use super::{MOST_CHUNKS, allow, chunk, music, setting, sound, voice};
use crate::study::guess::nearest;
use crate::study::lex::{Token, lex};
use crate::study::model::{ChunkText, Plectrum, Settings, Study, VoiceLine};
use crate::study::name::{LONGEST, is_voice_char};
use crate::study::note_value::NoteValue;
use crate::study::problem::{Problem, quote};
use crate::study::report::Report;
use crate::study::span::{Source, Span, Spanned};

/// The words that begin a line.
const LINES: [&str; 15] = [
    "evenhand",
    "title",
    "tuning",
    "capo",
    "plectrum",
    "metre",
    "tempo",
    "level",
    "allow",
    "figure",
    "music",
    "bar",
    "chunk",
    "landing",
    "alternative",
];

const VERSION: &str = "“evenhand study 1” or “evenhand study 2” as the first line";

/// The state between lines.
pub(super) struct Parser<'t> {
    report: Report<'t>,
    study: Study,
    seen_version: bool,
    /// The version that the first line names.
    version: u8,
    /// There are too many chunks; the rest is not read.
    full: bool,
}

impl<'t> Parser<'t> {
    /// Nothing is read yet of this text, whose lines end in plain line feeds.
    pub(super) fn new(text: &'t str) -> Self {
        Self {
            report: Report::new(text),
            study: Study { source: Source::new(text), ..Study::default() },
            seen_version: false,
            version: 1,
            full: false,
        }
    }

    /// Whether there are too many chunks, so that the rest need not be read.
    pub(super) const fn is_full(&self) -> bool {
        self.full
    }

    /// The study, or all its problems.
    pub(super) fn finish(mut self) -> Result<Study, Vec<Problem>> {
        if !self.seen_version {
            let start = Span { line: 1, column: 1, width: 1 };
            self.report.add(start, "an empty text", VERSION);
        }
        let problems = self.report.finish();
        if problems.is_empty() { Ok(self.study) } else { Err(problems) }
    }

    /// Reads one line.
    pub(super) fn line(&mut self, line: &str, number: u32) {
        let from = line.len() - line.trim_start().len();
        let rest = &line[from..];
        if rest.is_empty() || rest.starts_with('#') {
            return;
        }
        let voice = voice_name(rest);
        if self.check_version(line, number) {
            return;
        }
        if let Some((name, after)) = voice {
            let column = u32::try_from(line[..from].chars().count() + 1).unwrap_or(u32::MAX);
            let width = u32::try_from(name.chars().count()).unwrap_or(u32::MAX);
            let span = Span { line: number, column, width };
            let cursor = Cursor::new(lex(line, from + after, number), span);
            return self.voice(name, span, cursor);
        }
        let tokens = lex(line, 0, number);
        let Some(word) = tokens.first().copied() else {
            return;
        };
        let cursor = Cursor::new(tokens.into_iter().skip(1).collect(), word.span);
        self.statement(&word, line, cursor);
    }

    /// Reads the first line; `true` if `line` was that.
    fn check_version(&mut self, line: &str, number: u32) -> bool {
        let tokens = lex(line, 0, number);
        let Some(first) = tokens.first().copied() else {
            return false;
        };
        let is_version = first.is_word("evenhand");
        if self.seen_version {
            if is_version {
                self.report.word(first.span, first.text, "this line once, at the top");
            }
            return is_version;
        }
        self.seen_version = true;
        if !is_version {
            let near = nearest(first.text, ["evenhand"]).is_some();
            self.report.word(first.span, first.text, VERSION);
            return near;
        }
        let mut cursor = Cursor::new(tokens, first.span);
        cursor.take();
        if cursor.take_word("study").is_none() {
            cursor.wrong(&mut self.report, cursor.peek(), VERSION);
        } else if cursor.take_word("2").is_some() {
            self.version = 2;
            cursor.finish(&mut self.report);
        } else if cursor.take_word("1").is_none() {
            let right = "version 1 or 2, those that this program reads,";
            cursor.wrong(&mut self.report, cursor.peek(), right);
        } else {
            cursor.finish(&mut self.report);
        }
        true
    }

    fn statement(&mut self, word: &Token<'_>, line: &str, mut cursor: Cursor<'_>) {
        let known = LINES.into_iter().find(|known| word.is_word(known));
        // A mistyped word is read as what it was meant to be, so that the rest of the line
        // and the lines that belong to it are checked as well.
        let Some(known) = known.or_else(|| self.unknown(word, &cursor)) else {
            return;
        };
        let before = self.report.count();
        let report = &mut self.report;
        match known {
            // A mistyped first line was told of already.
            "evenhand" => return,
            "chunk" => return self.chunk(word, cursor),
            "figure" | "music" | "bar" => return self.in_music(known, word, cursor),
            "landing" | "alternative" => return self.in_chunk(known, word, cursor),
            "title" | "tuning" | "capo" | "plectrum"
                if !self.study.chunks.is_empty() || !self.study.music.is_empty() =>
            {
                let right = match self.study.music.is_empty() {
                    true => "this line above the first chunk",
                    false => "this line above the music",
                };
                report.word(word.span, word.text, right);
                return;
            }
            "title" => {
                let title = setting::title(line, word.span, report);
                once(&mut self.study.title, title, word, report);
                return;
            }
            "tuning" => {
                let tuning = setting::tuning(&mut cursor, report);
                once(&mut self.study.tuning, tuning, word, report);
            }
            "capo" => {
                let capo = setting::capo(&mut cursor, report);
                once(&mut self.study.capo, capo, word, report);
            }
            "plectrum" => {
                let plectrum = Some(Spanned::new(Plectrum, word.span));
                once(&mut self.study.plectrum, plectrum, word, report);
            }
            _ => {
                let into = match self.study.chunks.last_mut() {
                    Some(chunk) if !chunk.alternatives.is_empty() => {
                        let right = "this line above the first alternative of the chunk";
                        report.word(word.span, word.text, right);
                        return;
                    }
                    Some(chunk) => &mut chunk.settings,
                    None if !self.study.music.is_empty() => {
                        return self.in_section(known, word, cursor);
                    }
                    None => &mut self.study.settings,
                };
                shared_setting(into, known, word, &mut cursor, report);
            }
        }
        if self.report.count() == before {
            cursor.finish(&mut self.report);
        }
    }

    fn chunk(&mut self, word: &Token<'_>, mut cursor: Cursor<'_>) {
        if self.study.chunks.len() == MOST_CHUNKS {
            let found = format!("more than {MOST_CHUNKS} chunks");
            self.report.add(word.span, found, "a second study for the rest");
            self.full = true;
            return;
        }
        let before = self.report.count();
        let chunk = chunk::chunk(&mut cursor, &mut self.report, word.span, self.version > 1);
        self.study.chunks.push(chunk);
        if self.report.count() == before {
            cursor.finish(&mut self.report);
        }
    }

    /// Says so where the first line names version 1 and something of version 2 stands.
    fn of_version_2(&mut self, span: Span, what: &str) {
        if self.version < 2 {
            let right = "“evenhand study 2” as the first line, for music that is written once,";
            self.report.add(span, what, right);
            // Told once.
            self.version = 2;
        }
    }

    /// The lines of the music that a study has once.
    fn in_music(&mut self, known: &str, word: &Token<'_>, mut cursor: Cursor<'_>) {
        self.of_version_2(word.span, &quote(&word.text.to_lowercase()));
        let before = self.report.count();
        let report = &mut self.report;
        if !self.study.chunks.is_empty() {
            report.word(word.span, word.text, "this line above the first chunk");
            return;
        }
        let section = match known {
            "figure" => {
                if let Some(figure) = music::figure(&mut cursor, report) {
                    if self.study.figures.iter().any(|other| other.name == figure.name) {
                        let found = format!("a second {}", quote(&figure.name));
                        report.add(figure.name.span, found, "another name");
                    }
                    self.study.figures.push(figure);
                }
                None
            }
            "music" if !self.study.music.is_empty() => {
                report.word(word.span, word.text, "“music” once, and “bar” where it goes on");
                return;
            }
            "music" => music::beginning(&mut cursor, report, word.span),
            _ if self.study.music.is_empty() => {
                report.word(word.span, word.text, "a line “music” above the first “bar”");
                return;
            }
            _ => music::bar(&mut cursor, report, word.span),
        };
        self.study.music.extend(section);
        if self.report.count() == before {
            cursor.finish(&mut self.report);
        }
    }

    /// What changes in the music from a bar on.
    fn in_section(&mut self, known: &str, word: &Token<'_>, mut cursor: Cursor<'_>) {
        let before = self.report.count();
        let report = &mut self.report;
        let Some(section) = self.study.music.last_mut() else { return };
        match known {
            "metre" => {
                let metre = setting::metre(&mut cursor, report);
                once(&mut section.metre, metre, word, report);
            }
            "tempo" => {
                let tempo = setting::tempo(&mut cursor, report);
                once(&mut section.tempo, tempo, word, report);
            }
            _ => {
                report.word(word.span, word.text, "this line above the music, or in a chunk");
                return;
            }
        }
        if self.report.count() == before {
            cursor.finish(&mut self.report);
        }
    }

    /// The lines that stand in a chunk only.
    fn in_chunk(&mut self, known: &str, word: &Token<'_>, mut cursor: Cursor<'_>) {
        let Some(chunk) = self.study.chunks.last_mut() else {
            self.report.word(word.span, word.text, "a line that begins with “chunk” above it");
            return;
        };
        let before = self.report.count();
        if known == "alternative" {
            let alternative = chunk::alternative(&mut cursor, &mut self.report, word.span);
            chunk.alternatives.push(alternative);
        } else if chunk.alternatives.is_empty() {
            let landing = chunk::landing(&mut cursor, &mut self.report);
            once(&mut chunk.landing, landing, word, &mut self.report);
        } else {
            let right = "this line above the first alternative of the chunk";
            self.report.word(word.span, word.text, right);
            return;
        }
        if self.report.count() == before {
            cursor.finish(&mut self.report);
        }
    }

    fn voice(&mut self, name: &str, span: Span, mut cursor: Cursor<'_>) {
        if LINES.iter().any(|known| known.eq_ignore_ascii_case(name)) {
            let right = format!("“{}” without a colon", name.to_lowercase());
            self.report.word(span, &format!("{name}:"), right);
            return;
        }
        if name.chars().count() > LONGEST {
            let right = format!("a name of at most {LONGEST} characters for a voice");
            self.report.word(span, name, right);
            return;
        }
        let empty = cursor.peek().is_none();
        if empty {
            cursor.wrong(&mut self.report, None, "notes after the name of the voice");
        }
        let items = voice::items(&mut cursor, &mut self.report, &self.study.figures);
        let line = VoiceLine { name: Spanned::new(name.into(), span), items };
        match self.study.chunks.last_mut() {
            Some(chunk) if chunk.part.is_some() && chunk.alternatives.is_empty() => {
                let right = "no voices under a part of the music, or “at bar” in place of “bar”";
                self.report.word(span, &format!("{name}:"), right);
            }
            Some(chunk) => lines_of(chunk).push(line),
            None => match self.study.music.last_mut() {
                Some(section) => section.lines.push(line),
                None => {
                    let right = "a line that begins with “chunk” above the first voice";
                    self.report.word(span, &format!("{name}:"), right);
                }
            },
        }
    }

    /// Says so of a line that begins with none of our words, and guesses which was meant.
    fn unknown(&mut self, word: &Token<'_>, cursor: &Cursor<'_>) -> Option<&'static str> {
        let music = |t: &Token<'_>| {
            t.is_sign('^')
                || t.is_sign('|')
                || NoteValue::read(t.text).is_some()
                || sound::resembles_note(t.text)
        };
        let mut meant = None;
        let right = if music(word) {
            "the name of a voice and a colon before the notes, such as “melody:”,".into()
        } else if cursor.peek().is_some_and(|t| music(&t))
            && voice_name(&format!("{}:", word.text)).is_some()
        {
            quote(&format!("{}:", word.text))
        } else if let Some(near) = nearest(word.text, LINES) {
            meant = Some(near);
            quote(near)
        } else if self.version > 1 && self.study.chunks.is_empty() {
            "title, tuning, capo, metre, tempo, level, allow, figure, music, bar or chunk".into()
        } else if self.study.chunks.is_empty() {
            "title, tuning, capo, metre, tempo, level, allow or chunk".into()
        } else {
            "a voice such as “melody:”, or level, tempo, metre, allow, landing, alternative or chunk,"
                .into()
        };
        self.report.word(word.span, word.text, right);
        meant
    }
}

/// The lines that a voice line belongs to: those of the last alternative, or the chunk's own.
fn lines_of(chunk: &mut ChunkText) -> &mut Vec<VoiceLine> {
    match chunk.alternatives.last_mut() {
        Some(alternative) => &mut alternative.lines,
        None => &mut chunk.lines,
    }
}

/// The settings that both a study and a chunk have.
fn shared_setting(
    into: &mut Settings,
    known: &str,
    word: &Token<'_>,
    cursor: &mut Cursor<'_>,
    report: &mut Report<'_>,
) {
    match known {
        "metre" => {
            let metre = setting::metre(cursor, report);
            once(&mut into.metre, metre, word, report);
        }
        "tempo" => {
            let tempo = setting::tempo(cursor, report);
            once(&mut into.tempo, tempo, word, report);
        }
        "level" => {
            let level = setting::level(cursor, report);
            once(&mut into.level, level, word, report);
        }
        _ => {
            let Some(allow) = allow::allow(cursor, report) else {
                return;
            };
            if into.allow.iter().any(|other| other.kind() == allow.kind()) {
                let name = allow.kind().name();
                let right = format!("“{name}” once in a study or a chunk");
                report.add(allow.span, format!("a second “{name}”"), right);
            } else {
                into.allow.push(allow);
            }
        }
    }
}

/// Sets what is not set yet.
fn once<T>(slot: &mut Option<T>, value: Option<T>, word: &Token<'_>, report: &mut Report<'_>) {
    if slot.is_some() {
        let right = format!("“{}” once in a study or a chunk", word.text.to_lowercase());
        report.add(word.span, format!("a second {}", quote(word.text)), right);
    } else {
        *slot = value;
    }
}

/// The name of a voice at the start of `rest`, and where its items begin: a letter, then
/// letters, digits, `-` or `_`, then a colon that may stand apart.
fn voice_name(rest: &str) -> Option<(&str, usize)> {
    if !rest.starts_with(char::is_alphabetic) {
        return None;
    }
    let end = rest.find(|c: char| !is_voice_char(c))?;
    let (name, after) = rest.split_at(end);
    let gap = after.len() - after.trim_start().len();
    after[gap..].starts_with(':').then_some((name, end + gap + 1))
}
