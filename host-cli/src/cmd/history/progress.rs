//! How the pieces of studies go from day to day.

use crate::args::HistoryArgs;
use crate::cmd::today::course::{self, StudyInCourse};
use crate::days::course::Course;
use crate::days::{Breaks, PieceDays, StudyDays, today};
use crate::fault::{Exit, Fault};
use crate::log::{LogError, Reader, StoredSitting, StudyText};
use crate::output::{Output, path};
use crate::practice::trend::Trend;
use crate::report::{self, PictureHead, StyledLine};
use crate::study;
use serde::Serialize;
use std::collections::BTreeSet;
use std::path::Path;

/// The studies that were played, each with its days.
pub(super) struct Progress {
    studies: Vec<OfStudy>,
}

/// A study, as its latest text has it.
struct OfStudy {
    name: String,
    path: String,
    chunks: usize,
    who: Option<String>,
    pieces: Vec<PieceDays>,
    /// Chunks that have never been played.
    unplayed: Vec<String>,
    /// Several people played it, and nobody said whose days are meant.
    players: BTreeSet<String>,
}

impl Progress {
    /// Of these sittings, the latest text of each study, as far as `args` ask for it.
    pub(super) fn of(
        kept: &[StoredSitting],
        args: &HistoryArgs,
        reader: &Reader,
    ) -> Result<Self, LogError> {
        let mut seen: Vec<&str> = Vec::new();
        let mut studies = Vec::new();
        for sitting in kept.iter().rev() {
            if seen.contains(&sitting.study.as_str()) {
                continue;
            }
            seen.push(&sitting.study);
            let text = reader.study(&sitting.hash)?;
            let Ok(chunks) = study::parse(&text).and_then(|study| study.prepare()) else {
                continue;
            };
            let own = kept.iter().filter(|other| other.study == sitting.study);
            let players: BTreeSet<Option<String>> = own.map(|other| other.who.clone()).collect();
            // Where only one person played it, it is their days that are meant.
            let who = match (&args.who, players.first()) {
                (Some(who), _) => Some(who.clone()),
                (None, Some(Some(only)))
                    if players.len() == 1 && (is_asked_for(args) || args.course.is_some()) =>
                {
                    Some(only.clone())
                }
                (None, _) => None,
            };
            let is_theirs = who.is_some() || players.contains(&None);
            let (path, name) = (sitting.path.clone(), sitting.study.clone());
            let about = StudyText { path, name: name.clone(), text };
            let days = StudyDays::of(&chunks, &about, who.as_deref(), kept, reader)?;
            let asked = |name: &str| {
                args.chunk.as_ref().is_none_or(|asked| asked.to_lowercase() == name.to_lowercase())
            };
            let pieces: Vec<PieceDays> =
                days.pieces().iter().filter(|days| asked(&days.name)).cloned().collect();
            let unplayed = chunks.iter().map(|chunk| &chunk.name).filter(|name| asked(name));
            let unplayed = unplayed.filter(|name| pieces.iter().all(|days| days.name != **name));
            let unplayed = unplayed.cloned().collect();
            let players =
                if is_theirs { BTreeSet::new() } else { players.into_iter().flatten().collect() };
            let path = about.path;
            let chunks = chunks.len();
            studies.push(OfStudy { name, path, chunks, who, pieces, unplayed, players });
        }
        studies.reverse();
        Ok(Self { studies })
    }

    /// Tells it: a table for what is asked for by name, else a line for each piece.
    pub(super) fn write(
        &self,
        args: &HistoryArgs,
        course: Option<&Course>,
        output: &mut Output,
    ) -> Result<(), Fault> {
        if is_asked_for(args) {
            self.studies.iter().try_for_each(|study| study.write_table(args, output))?;
        } else {
            self.write_lines(output)?;
        }
        if let Some(course) = course {
            let studies: Vec<StudyInCourse<'_>> =
                self.studies.iter().map(OfStudy::in_course).collect();
            course::write(course, &studies, args.on.unwrap_or_else(today), output)?;
        }
        args.svg.as_ref().map_or(Ok(()), |file| self.draw(file, args, output))
    }

    fn write_lines(&self, output: &mut Output) -> Result<(), Fault> {
        let all = self
            .studies
            .iter()
            .flat_map(|study| study.pieces.iter().map(move |days| (study, days)));
        let told: Vec<_> = all
            .filter_map(|(study, days)| Some((study, days, report::piece_days(days)?)))
            .collect();
        if told.is_empty() {
            return Ok(());
        }
        output.say("")?;
        output.show(&StyledLine::strong("From day to day"))?;
        for (study, days, words) in told {
            output.set_in(&words, "  ", "    ")?;
            output.record(&DaysRecord::of(&study.name, days))?;
        }
        output.paragraph("`history --study NAME` shows the days of each piece of a study.")
    }

    /// Draws all pieces that have days into a new file.
    fn draw(&self, file: &Path, args: &HistoryArgs, output: &mut Output) -> Result<(), Fault> {
        let Some(study) = self.studies.iter().rev().find(|study| !study.pieces.is_empty()) else {
            return output.paragraph("There are no days to be drawn: no picture was written.");
        };
        let head = PictureHead { study: &study.name, who: study.who.as_deref() };
        let svg = report::picture(&head, &study.pieces, args.since);
        let shown = file.display();
        path::put(file, svg.as_bytes(), args.replace)?;
        output.say("")?;
        output.paragraph(&format!("The days of “{}” are drawn in {shown}.", study.name))?;
        output.record(&PictureRecord {
            kind: "picture",
            file: &shown.to_string(),
            study: &study.name,
            pieces: study.pieces.len(),
        })
    }
}

impl OfStudy {
    /// As a course sees it.
    fn in_course(&self) -> StudyInCourse<'_> {
        let Self { name, path, pieces, chunks, .. } = self;
        StudyInCourse { name, path: path.clone(), pieces, chunks: *chunks }
    }

    fn write_table(&self, args: &HistoryArgs, output: &mut Output) -> Result<(), Fault> {
        if !self.players.is_empty() {
            let names: Vec<&str> = self.players.iter().map(String::as_str).collect();
            output.say("")?;
            return output.paragraph(&format!(
                "“{}” was played by {}: `--for NAME` says whose days are meant.",
                self.name,
                names.join(", ")
            ));
        }
        if self.pieces.is_empty() {
            return Ok(());
        }
        output.say("")?;
        output.show(&StyledLine::strong(format!("{}, day by day", self.name)))?;
        output.paragraph(report::MARKS)?;
        for days in &self.pieces {
            output.say("")?;
            for line in report::piece_table(days, args.since) {
                output.show(&line)?;
            }
            for words in report::piece_words(days) {
                output.set_in(&words, "  ", "    ")?;
            }
            output.record(&DaysRecord::of(&self.name, days))?;
        }
        if !self.unplayed.is_empty() {
            let names: Vec<String> = self.unplayed.iter().map(|name| format!("“{name}”")).collect();
            output.say("")?;
            output.paragraph(&format!("Not played yet: {}.", names.join(", ")))?;
        }
        Ok(())
    }
}

/// Whether the days of something are asked for.
const fn is_asked_for(args: &HistoryArgs) -> bool {
    args.study.is_some() || args.chunk.is_some()
}

/// A picture takes the place of nothing but a picture.
pub(super) fn is_a_picture(file: &Path) -> Result<(), Fault> {
    if file.extension().is_some_and(|end| end.eq_ignore_ascii_case("svg")) {
        return Ok(());
    }
    let what = format!("{} is no name for a picture", file.display());
    Err(Fault::new(Exit::Usage, what).advise("Let it end in .svg."))
}

/// The picture in the event stream.
#[derive(Serialize)]
struct PictureRecord<'a> {
    kind: &'static str,
    file: &'a str,
    study: &'a str,
    pieces: usize,
}

/// The days of a piece in the event stream.
#[derive(Serialize)]
struct DaysRecord<'a> {
    kind: &'static str,
    study: &'a str,
    piece: &'a str,
    goal: u32,
    fastest: Option<u32>,
    to_go: Option<u32>,
    days: Vec<(String, Option<u32>)>,
    cold: Vec<(String, u32, bool)>,
    known_cold: Option<u32>,
    breaks: Option<BreaksRecord<'a>>,
    trend: &'static str,
    per_mille_a_day: Option<[i64; 3]>,
}

/// Where it breaks most.
#[derive(Serialize)]
struct BreaksRecord<'a> {
    bar: u16,
    beat: Option<&'a str>,
    attempts: u32,
    of: u32,
    what: &'a str,
}

impl<'a> DaysRecord<'a> {
    fn of(study: &'a str, days: &'a PieceDays) -> Self {
        let rise = days.rise();
        let per_mille = |share: f64| (share * 1_000.0).round() as i64;
        let cold = days.days.iter().filter_map(|(day, played)| {
            played.cold.map(|cold| (day.to_string(), cold.tempo, cold.passed))
        });
        Self {
            kind: "piece-days",
            study,
            piece: &days.name,
            goal: days.goal,
            fastest: days.fastest,
            to_go: days.to_go(),
            days: days.days.iter().map(|(day, played)| (day.to_string(), played.best)).collect(),
            cold: cold.collect(),
            known_cold: days.known_cold().map(|(_, tempo)| tempo),
            breaks: match &days.breaks {
                Breaks::At(at) => Some(BreaksRecord {
                    bar: at.bar,
                    beat: at.beat.as_deref(),
                    attempts: at.failed,
                    of: at.of,
                    what: &at.what,
                }),
                Breaks::Never | Breaks::NotKnown | Breaks::Nowhere => None,
            },
            trend: match rise.map(|rise| rise.trend) {
                Some(Trend::Progress) => "progress",
                Some(Trend::Plateau) => "plateau",
                Some(Trend::TooEarly) | None => "too-early",
            },
            per_mille_a_day: rise.map(|rise| [rise.a_day, rise.least, rise.most].map(per_mille)),
        }
    }
}
