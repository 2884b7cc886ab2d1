//! A course laid over what was played, for the commands that look at days.

use crate::days::PieceDays;
use crate::days::course::{Course, LARGEST_COURSE, Planned, Standing, parse, standing};
use crate::fault::{Exit, Fault};
use crate::output::Output;
use crate::report::{self, StyledLine};
use crate::{read, study};
use jiff::civil::Date;
use serde::Serialize;
use std::path::Path;

/// A study as a command knows it.
pub(in crate::cmd) struct StudyInCourse<'a> {
    pub(in crate::cmd) name: &'a str,
    pub(in crate::cmd) path: String,
    pub(in crate::cmd) pieces: &'a [PieceDays],
    pub(in crate::cmd) chunks: usize,
}

/// Reads a course.
pub(in crate::cmd) fn read(file: &Path) -> Result<Course, Fault> {
    let text = read::text(file, LARGEST_COURSE, "course")?;
    parse(&text).map_err(|problems| {
        let count = report::count(problems.len(), "problem");
        let list: Vec<String> = problems.iter().map(ToString::to_string).collect();
        let what = format!("{}: {count}\n{}", file.display(), list.join("\n"));
        Fault::new(Exit::Study, what)
    })
}

/// Refuses a course with a study that is none of these.
pub(in crate::cmd) fn check(
    course: &Course,
    file: &Path,
    studies: &[StudyInCourse<'_>],
) -> Result<(), Fault> {
    for planned in &course.studies {
        if studies.iter().any(|study| planned.is(study.name, &study.path)) {
            continue;
        }
        let lower: Vec<String> = studies.iter().map(|study| study.name.to_lowercase()).collect();
        let near = study::nearest(&planned.study, lower.iter().map(String::as_str));
        let near =
            near.and_then(|near| studies.iter().find(|study| study.name.to_lowercase() == near));
        let (shown, line, name) = (file.display(), planned.line, &planned.study);
        let what = format!("{shown}, line {line}: no study “{name}” is in the folder");
        return Err(Fault::new(Exit::Study, what).advise(match near {
            Some(near) => format!("Did you mean “{}”?", near.name),
            None => "Name it by its title, or by its file.".to_owned(),
        }));
    }
    Ok(())
}

/// Tells how each study of a course stands on a day.
pub(in crate::cmd) fn write(
    course: &Course,
    studies: &[StudyInCourse<'_>],
    today: Date,
    output: &mut Output,
) -> Result<(), Fault> {
    output.say("")?;
    let title = course.title.as_deref().unwrap_or("The course");
    output.show(&StyledLine::strong(title))?;
    for planned in &course.studies {
        let study = studies.iter().find(|study| planned.is(study.name, &study.path));
        let (name, pieces, chunks) = match study {
            Some(study) => (study.name, study.pieces, study.chunks),
            None => (planned.study.as_str(), &[][..], 1),
        };
        let stands = standing(planned, pieces, chunks, today);
        output.set_in(&report::standing(name, planned, &stands, today), "  ", "    ")?;
        let record = CourseRecord::of(name, planned, &stands);
        // How many chunks an unknown study has is not known.
        let not_begun = record.not_begun.filter(|_| study.is_some());
        output.record(&CourseRecord { not_begun, ..record })?;
    }
    Ok(())
}

/// How a study stands in the event stream; see `docs/events.md`.
#[derive(Serialize)]
struct CourseRecord<'a> {
    kind: &'static str,
    study: &'a str,
    from: String,
    to: String,
    stands: &'static str,
    percent: Option<u32>,
    by: Option<String>,
    piece: Option<&'a str>,
    to_go: Option<u32>,
    not_clean: Option<usize>,
    not_begun: Option<usize>,
    there: Option<String>,
    days_late: Option<i32>,
}

impl<'a> CourseRecord<'a> {
    fn of(study: &'a str, planned: &Planned, standing: &'a Standing) -> Self {
        let (stands, under) = match standing {
            Standing::Later => ("later", None),
            Standing::AtGoal => ("at-goal", None),
            Standing::Under(under) => ("under-way", Some(under)),
        };
        let furthest = under.and_then(|under| under.furthest.as_ref());
        Self {
            kind: "course",
            study,
            from: planned.from.to_string(),
            to: planned.to.to_string(),
            stands,
            percent: under.map(|under| under.percent),
            by: under.map(|under| under.by.to_string()),
            piece: furthest.map(|(piece, _)| piece.as_str()),
            to_go: furthest.map(|(_, left)| *left),
            not_clean: under.map(|under| under.not_clean),
            not_begun: under.map(|under| under.unbegun.0),
            there: under.and_then(|under| under.there).map(|there| there.to_string()),
            days_late: under.and_then(|under| under.late()),
        }
    }
}
