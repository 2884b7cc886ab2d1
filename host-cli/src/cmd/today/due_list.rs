//! What is due of the studies in a folder.

use super::course::{self, StudyInCourse};
use crate::days::course::Course;
use crate::days::{Due, StudyDays, day_of, due, has_played};
use crate::fault::{Exit, Fault};
use crate::log::{self, Filter, Reader};
use crate::output::warn;
use crate::studies;
use evenhand_core::practice::Piece;
use jiff::civil::Date;
use std::path::{Path, PathBuf};

/// Studies in one folder, at most. Our default: a year of them, one a day.
const MOST_STUDIES: usize = 400;

/// What is due, in the order in which it is best practised.
pub(in crate::cmd) struct DueList {
    found: Vec<Due>,
    /// How many more pieces do not fit into the minutes.
    pub(in crate::cmd) beyond: usize,
    studies: Vec<(String, PathBuf)>,
    days: Vec<StudyDays>,
    course: Option<Course>,
    /// What the day can begin with: of which study, which chunk.
    warm_up: Option<(usize, String)>,
}

/// What is asked for.
#[derive(Clone, Copy)]
pub(in crate::cmd) struct Asked<'a> {
    /// The folder of the studies.
    pub(in crate::cmd) folder: &'a Path,
    /// The minutes that there are.
    pub(in crate::cmd) minutes: u32,
    /// Whose days, or nobody's by name.
    pub(in crate::cmd) who: Option<&'a str>,
    /// The folder of the log, if not the usual one.
    pub(in crate::cmd) data: Option<&'a Path>,
    /// A course, by which studies begin.
    pub(in crate::cmd) course: Option<&'a Path>,
}

/// What is due of one study.
pub(in crate::cmd) struct OfStudy<'a> {
    /// Its name,
    pub(in crate::cmd) name: &'a str,
    /// and its file.
    pub(in crate::cmd) file: &'a Path,
    /// What is due.
    pub(in crate::cmd) due: Vec<&'a Due>,
}

impl OfStudy<'_> {
    /// How long it is given.
    pub(in crate::cmd) fn minutes(&self) -> u32 {
        self.due.iter().map(|due| due.minutes).sum()
    }

    /// The chunks that are due, each once; a join is made of its chunks, by practice itself.
    pub(in crate::cmd) fn chunks(&self) -> Vec<String> {
        let mut chunks: Vec<String> = Vec::new();
        for chunk in self.due.iter().flat_map(|due| &due.chunks) {
            if !chunks.contains(chunk) {
                chunks.push(chunk.clone());
            }
        }
        chunks
    }
}

impl DueList {
    /// What is due on a day.
    pub(in crate::cmd) fn of(asked: &Asked<'_>, day: Date) -> Result<Self, Fault> {
        let Asked { folder, minutes, who, data, .. } = *asked;
        let course = asked.course.map(course::read).transpose()?;
        let files = studies_in(folder)?;
        let place = log::folder(data).map_err(|trouble| {
            Fault::new(Exit::Input, format!("there is no log: {trouble}")).advise(trouble.advice())
        })?;
        let fault = |trouble: log::LogError| {
            let file = place.join(log::FILE);
            let what = format!("the log {} cannot be read: {trouble}", file.display());
            Fault::new(Exit::Input, what).advise(trouble.advice())
        };
        let reader = Reader::open(&place).map_err(fault)?;
        let mut sittings = match &reader {
            Some(reader) => reader.read(&Filter::default()).map_err(fault)?,
            None => Vec::new(),
        };
        // What comes after that day has not been played yet.
        for sitting in &mut sittings {
            sitting.attempts.retain(|attempt| day_of(attempt.began) <= day);
        }
        let (mut known, mut names) = (Vec::new(), Vec::new());
        for file in files {
            // One study that is not right is no reason not to practise the others.
            let (chunks, study) = match studies::read_whole(&file) {
                Ok(read) => read,
                Err(fault) => {
                    warn(&format!("{} is left out: {}", file.display(), first_line(&fault.what)));
                    continue;
                }
            };
            let days = match &reader {
                Some(reader) => {
                    StudyDays::of(&chunks, &study, who, &sittings, reader).map_err(fault)?
                }
                None => StudyDays::new(&chunks),
            };
            known.push(days);
            names.push((study.name, file));
        }
        let mut list = Self {
            found: Vec::new(),
            beyond: 0,
            days: known,
            studies: names,
            warm_up: None,
            course,
        };
        if let (Some(course), Some(file)) = (&list.course, asked.course) {
            course::check(course, file, &list.in_course())?;
        }
        let known = list.begun(day);
        let (found, beyond) = due(&known, day, minutes);
        let cold_hands = !has_played(&sittings, who, day);
        let first = found.first().filter(|_| cold_hands);
        list.warm_up = first.and_then(|first| easiest(&known, first, day));
        (list.found, list.beyond) = (found, beyond);
        Ok(list)
    }

    /// The studies; without what is in them, where they have not begun by the course and by nobody.
    fn begun(&self, day: Date) -> Vec<StudyDays> {
        let begins_later = |name: &str, file: &Path| {
            let planned = self.course.iter().flat_map(|course| &course.studies);
            let path = file.display().to_string();
            planned.into_iter().any(|planned| planned.is(name, &path) && day < planned.from)
        };
        let all = self.days.iter().zip(&self.studies);
        all.map(|(days, (name, file))| match days.pieces() {
            [] if begins_later(name, file) => StudyDays::new(&[]),
            _ => days.clone(),
        })
        .collect()
    }

    /// The course that was asked for.
    pub(in crate::cmd) const fn course(&self) -> Option<&Course> {
        self.course.as_ref()
    }

    /// The studies as a course sees them.
    pub(in crate::cmd) fn in_course(&self) -> Vec<StudyInCourse<'_>> {
        let all = self.days.iter().zip(&self.studies);
        all.map(|(days, (name, file))| StudyInCourse {
            name,
            path: file.display().to_string(),
            pieces: days.pieces(),
            chunks: days.chunks().len(),
        })
        .collect()
    }

    /// Study by study, in order.
    pub(in crate::cmd) fn by_study(&self) -> Vec<OfStudy<'_>> {
        let mut order: Vec<usize> = Vec::new();
        for due in &self.found {
            if !order.contains(&due.study) {
                order.push(due.study);
            }
        }
        let of = |study: usize| {
            let (name, file) = self.studies.get(study)?;
            let due = self.found.iter().filter(|due| due.study == study).collect();
            Some(OfStudy { name, file, due })
        };
        order.into_iter().filter_map(of).collect()
    }

    /// What the day can begin with: a file, and a chunk of it.
    pub(in crate::cmd) fn warm_up(&self) -> Option<(&Path, &str)> {
        let (study, chunk) = self.warm_up.as_ref()?;
        let (_, file) = self.studies.get(*study)?;
        Some((file, chunk))
    }

    /// What is said where nothing is on the list.
    pub(in crate::cmd) const fn nothing(&self) -> &'static str {
        match self.beyond {
            0 => "Nothing is due today: what was played needs its night. Come back tomorrow.",
            _ => "Nothing that is due fits into so few minutes. Take ten, or leave it for today.",
        }
    }
}

/// What is easiest of all studies, apart from what comes first anyway.
fn easiest(known: &[StudyDays], first: &Due, day: Date) -> Option<(usize, String)> {
    let not_first = |study: usize, piece: Piece| study != first.study || piece != first.piece;
    let all = (0..).zip(known).flat_map(|(number, study)| {
        study
            .easy(day)
            .filter(move |days| not_first(number, days.piece))
            .map(move |days| (number, days))
    });
    // Of equal ones the first.
    let all: Vec<_> = all.collect();
    let easiest = all.into_iter().rev().max_by_key(|(_, days)| days.how_near());
    easiest.map(|(number, days)| (number, days.name.clone()))
}

/// The studies of a folder, by name.
fn studies_in(folder: &Path) -> Result<Vec<PathBuf>, Fault> {
    let shown = folder.display();
    let entries = std::fs::read_dir(folder).map_err(|error| {
        Fault::new(Exit::Input, format!("the folder {shown} cannot be read: {error}"))
            .advise("Name the folder that your studies are in.")
    })?;
    let paths = entries.filter_map(|entry| Some(entry.ok()?.path()));
    let mut files: Vec<PathBuf> =
        paths.filter(|path| path.extension().is_some_and(|end| end == "study")).collect();
    files.sort();
    if files.is_empty() {
        return Err(Fault::new(Exit::Input, format!("there is no study in {shown}")).advise(
            "Studies are files that end in .study; `evenhand study new my.study` begins one.",
        ));
    }
    if files.len() > MOST_STUDIES {
        warn(&format!("only the first {MOST_STUDIES} of {} studies are looked at", files.len()));
        files.truncate(MOST_STUDIES);
    }
    Ok(files)
}

fn first_line(text: &str) -> &str {
    text.lines().next().unwrap_or_default()
}
