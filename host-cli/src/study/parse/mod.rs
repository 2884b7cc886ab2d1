//! Text to [`Study`]: what each line is, and where its parts go.
//!
//! Every line is read whatever is wrong with the others, so that one run shows all there is
//! to mend.

mod allow;
mod chunk;
mod cursor;
mod setting;
mod sound;
mod voice;

use super::guess::nearest;
use super::lex::{Token, lex};
use super::model::{ChunkText, Settings, Study, VoiceLine};
use super::name::{LONGEST, is_voice_char};
use super::note_value::NoteValue;
use super::problem::{Problem, quote};
use super::report::Report;
use super::span::{Source, Span, Spanned};
use cursor::Cursor;
use std::borrow::Cow;

/// The largest text that is read, in bytes: a mebibyte, our default. A study of 200 full
/// chunks has about 400 kB.
pub const LARGEST_TEXT: usize = 1 << 20;

/// The most chunks in a study, our default: a hundred bars in halves.
pub const MOST_CHUNKS: usize = 200;

/// The words that begin a line, with those that stand in a chunk only at the end.
const LINES: [&str; 11] = [
    "evenhand",
    "title",
    "tuning",
    "capo",
    "metre",
    "tempo",
    "level",
    "allow",
    "chunk",
    "landing",
    "alternative",
];

const VERSION: &str = "“evenhand study 1” as the first line";

/// Reads a study.
///
/// # Errors
///
/// All problems of the text in its order, up to [`MOST_PROBLEMS`](super::MOST_PROBLEMS); a
/// last one then says how many more there are.
///
/// ```
/// let study = evenhand::study::parse(
///     "evenhand study 1\nchunk \"Two notes\"\n  melody: 1/4 5:3 ^5:5\n",
/// ).unwrap();
/// assert_eq!(study.chunks.len(), 1);
///
/// let problems = evenhand::study::parse("evenhand study 1\nchunk \"A\"\n  melody: 1/9 5:3")
///     .unwrap_err();
/// assert_eq!((problems[0].line, problems[0].column), (3, 11));
/// ```
pub fn parse(text: &str) -> Result<Study, Vec<Problem>> {
    if text.len() > LARGEST_TEXT {
        let mut report = Report::new("");
        let start = Span {
            line: 1,
            column: 1,
            width: 1,
        };
        let right = format!("at most {LARGEST_TEXT}");
        report.add(start, format!("a text of {} bytes", text.len()), right);
        return Err(report.finish());
    }
    let text = plain_line_ends(text.strip_prefix('\u{feff}').unwrap_or(text));
    let mut parser = Parser {
        report: Report::new(&text),
        study: Study {
            source: Source::new(&text),
            ..Study::default()
        },
        seen_version: false,
        full: false,
    };
    for (index, line) in text.split('\n').enumerate() {
        // A text of a mebibyte has no more lines than 32 bits count.
        parser.line(line, u32::try_from(index + 1).unwrap_or(u32::MAX));
        if parser.full {
            break;
        }
    }
    if !parser.seen_version {
        let start = Span {
            line: 1,
            column: 1,
            width: 1,
        };
        parser.report.add(start, "an empty text", VERSION);
    }
    let problems = parser.report.finish();
    if problems.is_empty() {
        Ok(parser.study)
    } else {
        Err(problems)
    }
}

/// The text with every line ended by a line feed alone.
fn plain_line_ends(text: &str) -> Cow<'_, str> {
    if text.contains('\r') {
        Cow::Owned(text.replace("\r\n", "\n").replace('\r', "\n"))
    } else {
        Cow::Borrowed(text)
    }
}

/// The state between lines.
struct Parser<'t> {
    report: Report<'t>,
    study: Study,
    seen_version: bool,
    /// There are too many chunks; the rest is not read.
    full: bool,
}

impl Parser<'_> {
    fn line(&mut self, line: &str, number: u32) {
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
            let span = Span {
                line: number,
                column,
                width,
            };
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
                self.report
                    .word(first.span, first.text, "this line once, at the top");
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
        } else if cursor.take_word("1").is_none() {
            let right = "version 1, the one this program reads,";
            cursor.wrong(&mut self.report, cursor.peek(), right);
        } else {
            cursor.finish(&mut self.report);
        }
        true
    }

    fn statement(&mut self, word: &Token<'_>, line: &str, mut cursor: Cursor<'_>) {
        let Some(known) = LINES.into_iter().find(|known| word.is_word(known)) else {
            return self.unknown(word, &cursor);
        };
        let before = self.report.count();
        let report = &mut self.report;
        match known {
            "chunk" => return self.chunk(word, cursor),
            "landing" | "alternative" => return self.in_chunk(known, word, cursor),
            "title" | "tuning" | "capo" if !self.study.chunks.is_empty() => {
                report.word(word.span, word.text, "this line above the first chunk");
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
            _ => {
                let into = match self.study.chunks.last_mut() {
                    Some(chunk) if !chunk.alternatives.is_empty() => {
                        let right = "this line above the first alternative of the chunk";
                        report.word(word.span, word.text, right);
                        return;
                    }
                    Some(chunk) => &mut chunk.settings,
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
            self.report
                .add(word.span, found, "a second study for the rest");
            self.full = true;
            return;
        }
        let before = self.report.count();
        let chunk = chunk::chunk(&mut cursor, &mut self.report, word.span);
        self.study.chunks.push(chunk);
        if self.report.count() == before {
            cursor.finish(&mut self.report);
        }
    }

    /// The lines that stand in a chunk only.
    fn in_chunk(&mut self, known: &str, word: &Token<'_>, mut cursor: Cursor<'_>) {
        let Some(chunk) = self.study.chunks.last_mut() else {
            self.report.word(
                word.span,
                word.text,
                "a line that begins with “chunk” above it",
            );
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
        let items = voice::items(&mut cursor, &mut self.report);
        let line = VoiceLine {
            name: Spanned::new(name.into(), span),
            items,
        };
        match self.study.chunks.last_mut() {
            Some(chunk) => lines_of(chunk).push(line),
            None => {
                let right = "a line that begins with “chunk” above the first voice";
                self.report.word(span, &format!("{name}:"), right);
            }
        }
    }

    /// A line that begins with none of our words.
    fn unknown(&mut self, word: &Token<'_>, cursor: &Cursor<'_>) {
        let music = |t: &Token<'_>| {
            t.is_sign('^')
                || t.is_sign('|')
                || NoteValue::read(t.text).is_some()
                || sound::resembles_note(t.text)
        };
        let right = if music(word) {
            "the name of a voice and a colon before the notes, such as “melody:”,".into()
        } else if cursor.peek().is_some_and(|t| music(&t))
            && voice_name(&format!("{}:", word.text)).is_some()
        {
            quote(&format!("{}:", word.text))
        } else if let Some(near) = nearest(word.text, LINES) {
            quote(near)
        } else if self.study.chunks.is_empty() {
            "title, tuning, capo, metre, tempo, level, allow or chunk".into()
        } else {
            "a voice such as “melody:”, or level, tempo, metre, allow, landing, alternative or chunk,"
                .into()
        };
        self.report.word(word.span, word.text, right);
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
    after[gap..]
        .starts_with(':')
        .then_some((name, end + gap + 1))
}
