//! A course as a text: which study from when to when. The format is in `docs/course-format.md`.

use crate::study;
use jiff::civil::Date;
use std::fmt;

/// A text is no longer than this, in bytes. Our default: a line a day for years.
pub const LARGEST_COURSE: u64 = 256 * 1024;

/// Words that may begin a line.
const WORDS: [&str; 3] = ["title", "study", "evenhand"];

/// Which study from when to when.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Course {
    /// Its title, if it has one.
    pub title: Option<String>,
    /// The studies, in order.
    pub studies: Vec<Planned>,
}

/// A study in a course.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Planned {
    /// Its title, or the name of its file.
    pub study: String,
    /// Where it stands, for whoever has to put it right.
    pub line: usize,
    /// The day on which it begins.
    pub from: Date,
    /// The day by which it is to be at its goal.
    pub to: Date,
    /// So many per cent of the goal by when, before that.
    pub steps: Vec<(u32, Date)>,
}

impl Planned {
    /// Whether this study is meant, by its title or the name of its file, with or without its end.
    pub fn is(&self, title: &str, path: &str) -> bool {
        let file = std::path::Path::new(path).file_name().unwrap_or_default().to_string_lossy();
        let stem = file.strip_suffix(".study").unwrap_or(&file);
        let asked = self.study.to_lowercase();
        [title, &*file, stem].iter().any(|name| name.to_lowercase() == asked)
    }

    /// What is to be reached, the first first: per cent of the goal, and by when.
    pub fn aims(&self) -> impl Iterator<Item = (u32, Date)> + '_ {
        self.steps.iter().copied().chain([(100, self.to)])
    }
}

/// What is wrong with a line, and what to do about it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CourseProblem {
    line: usize,
    what: String,
}

impl fmt::Display for CourseProblem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "line {}: {}", self.line, self.what)
    }
}

/// Reads a course.
///
/// # Errors
///
/// Everything that is wrong with it, line by line.
pub fn parse(text: &str) -> Result<Course, Vec<CourseProblem>> {
    let (mut course, mut problems) = (Course::default(), Vec::new());
    let mut has_begun = false;
    for (number, line) in (1..).zip(text.trim_start_matches('\u{feff}').lines()) {
        let line = without_comment(line).trim();
        if line.is_empty() {
            continue;
        }
        let read = if has_begun { take(&mut course, line, number) } else { begin(line) };
        has_begun = true;
        if let Err(what) = read {
            problems.push(CourseProblem { line: number, what });
        }
    }
    if !has_begun {
        let what = "the text is empty: begin it with `evenhand course 1`".to_owned();
        problems.push(CourseProblem { line: 1, what });
    } else if course.studies.is_empty() && problems.is_empty() {
        let what =
            "no study is in it: write `study \"Falls\" from 2026-03-02 to 2026-05-03`".to_owned();
        problems.push(CourseProblem { line: text.lines().count().max(1), what });
    }
    if problems.is_empty() { Ok(course) } else { Err(problems) }
}

/// The text of a line before a `#` that begins a comment.
fn without_comment(line: &str) -> &str {
    let begins = |(at, _): &(usize, &str)| *at == 0 || line[..*at].ends_with([' ', '\t']);
    line.match_indices('#').find(begins).map_or(line, |(at, _)| &line[..at])
}

fn begin(line: &str) -> Result<(), String> {
    let words: Vec<String> = line.split_whitespace().map(str::to_lowercase).collect();
    match words.iter().map(String::as_str).collect::<Vec<_>>().as_slice() {
        ["evenhand", "course", "1"] => Ok(()),
        ["evenhand", "course", version] => Err(format!(
            "version {version} of the format is not known to this program: `evenhand course 1` is"
        )),
        ["evenhand", "study", ..] => {
            Err("this is a study, not a course: a course begins with `evenhand course 1`"
                .to_owned())
        }
        _ => Err("a course begins with `evenhand course 1`".to_owned()),
    }
}

fn take(course: &mut Course, line: &str, number: usize) -> Result<(), String> {
    let (word, rest) = line.split_once([' ', '\t']).unwrap_or((line, ""));
    match word.to_lowercase().as_str() {
        "title" if course.title.is_some() => {
            Err("the title is there already: leave one away".to_owned())
        }
        "title" => {
            let title = unquoted(rest.trim());
            if title.is_empty() {
                return Err("a title has a name: `title A year`".to_owned());
            }
            course.title = Some(title.to_owned());
            Ok(())
        }
        "study" => {
            let planned = planned(rest, number)?;
            let twice =
                |other: &&Planned| other.study.to_lowercase() == planned.study.to_lowercase();
            if let Some(other) = course.studies.iter().find(twice) {
                return Err(format!(
                    "“{}” is in line {} already: leave one away",
                    planned.study, other.line
                ));
            }
            course.studies.push(planned);
            Ok(())
        }
        _ if line.contains('%') => {
            let study = course.studies.last_mut();
            step(study.ok_or("per cent of what? Write the `study` first")?, line)
        }
        other => Err(match study::nearest(other, WORDS) {
            Some(near) => format!("“{word}” is no word of a course: did you mean `{near}`?"),
            None => format!(
                "“{word}” is no word of a course: a line is `title`, `study` or `80 % by` a day"
            ),
        }),
    }
}

/// `"Falls" from 2026-03-02 to 2026-05-03`
fn planned(rest: &str, line: usize) -> Result<Planned, String> {
    const FORM: &str = "write `study \"Falls\" from 2026-03-02 to 2026-05-03`";
    let (name, days) =
        rest.trim().rsplit_once(" from ").ok_or_else(|| format!("from when? {FORM}"))?;
    let name = unquoted(name.trim());
    if name.is_empty() {
        return Err(format!("which study? {FORM}"));
    }
    let (from, to) = days.split_once(" to ").ok_or_else(|| format!("to when? {FORM}"))?;
    let (from, to) = (day(from)?, day(to)?);
    if to <= from {
        return Err(format!(
            "it ends on {to}, before it has begun on {from}: change one of the days"
        ));
    }
    Ok(Planned { study: name.to_owned(), line, from, to, steps: Vec::new() })
}

/// `80 % by 2026-04-01`
fn step(study: &mut Planned, line: &str) -> Result<(), String> {
    const FORM: &str = "write `80 % by 2026-04-01`";
    let (share, rest) = line.split_once('%').ok_or(FORM)?;
    let share: u32 = share.trim().parse().map_err(|_| format!("how many per cent? {FORM}"))?;
    if !(1..100).contains(&share) {
        return Err(format!("{share} % is no share of a goal on the way to it: write 1 to 99"));
    }
    let by = rest.trim().strip_prefix("by ").ok_or_else(|| format!("by when? {FORM}"))?;
    let by = day(by)?;
    if by <= study.from || study.to <= by {
        let (from, to) = (study.from, study.to);
        return Err(format!(
            "{by} is not between {from} and {to}, when “{}” is practised",
            study.study
        ));
    }
    if let Some((before, when)) =
        study.steps.last().filter(|(before, when)| by <= *when || share <= *before)
    {
        return Err(format!(
            "{share} % by {by} comes after {before} % by {when}: each is later, and more"
        ));
    }
    study.steps.push((share, by));
    Ok(())
}

fn day(text: &str) -> Result<Date, String> {
    let text = text.trim();
    text.parse().map_err(|_| format!("“{text}” is no day: write year, month and day, 2026-03-31"))
}

fn unquoted(text: &str) -> &str {
    let inner =
        text.strip_prefix(['"', '“', '”']).and_then(|text| text.strip_suffix(['"', '”', '“']));
    inner.unwrap_or(text).trim()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn problems(text: &str) -> Vec<String> {
        let text = format!("evenhand course 1\n{text}\n");
        parse(&text).unwrap_err().iter().map(ToString::to_string).collect()
    }

    #[test]
    fn a_course_is_read() {
        let text = "# Mine\nEvenhand course 1\ntitle A year\n\nstudy \"Falls\" from 2026-03-02 to 2026-05-03  # spring\n  \
                    60 % by 2026-03-20\n  80% by 2026-04-01\nstudy quay.study from 2026-05-04 to 2026-06-30\n";
        let course = parse(text).unwrap();
        assert_eq!((course.title.as_deref(), course.studies.len()), (Some("A year"), 2));
        let falls = &course.studies[0];
        assert_eq!((falls.line, falls.steps.len(), falls.aims().count()), (5, 2, 3));
        assert_eq!(falls.steps[1], (80, "2026-04-01".parse().unwrap()));
        assert!(
            falls.is("falls", "/x/other.study")
                && course.studies[1].is("The quay", "/x/Quay.study")
        );
        assert!(course.studies[1].is("quay.study", "") && !falls.is("Fall", "/x/fall.study"));
    }

    #[test]
    fn everything_that_is_wrong_is_told_with_its_line_and_what_to_do() {
        for (text, told) in [
            ("", "line 2: no study is in it: write `study"),
            ("study Falls", "line 2: from when? write `study"),
            ("study Falls from 2026-03-02", "line 2: to when?"),
            ("study \"\" from 2026-03-02 to 2026-05-03", "line 2: which study?"),
            ("study Falls from 2.3.2026 to 2026-05-03", "line 2: “2.3.2026” is no day: write year"),
            ("study Falls from 2026-05-03 to 2026-03-02", "line 2: it ends on 2026-03-02, before"),
            ("stud Falls from 2026-03-02 to 2026-05-03", "did you mean `study`?"),
            ("80 % by 2026-04-01", "line 2: per cent of what? Write the `study` first"),
            ("title", "line 2: a title has a name"),
            ("title A\ntitle B", "line 3: the title is there already"),
        ] {
            let all = problems(text);
            assert!(all.len() == 1 && all[0].contains(told), "{text}: {all:?}");
        }
        let study = "study Falls from 2026-03-02 to 2026-05-03\n";
        for (text, told) in [
            ("study falls from 2026-06-02 to 2026-07-03", "line 3: “falls” is in line 2 already"),
            ("x % by 2026-04-01", "line 3: how many per cent?"),
            ("100 % by 2026-04-01", "line 3: 100 % is no share"),
            ("80 % 2026-04-01", "line 3: by when?"),
            ("80 % by 2026-06-01", "line 3: 2026-06-01 is not between 2026-03-02 and 2026-05-03"),
            (
                "80 % by 2026-04-01\n70 % by 2026-04-09",
                "line 4: 70 % by 2026-04-09 comes after 80 %",
            ),
        ] {
            let all = problems(&format!("{study}{text}"));
            assert!(all.len() == 1 && all[0].contains(told), "{text}: {all:?}");
        }
        for (text, told) in [
            ("", "the text is empty"),
            ("evenhand study 1\n", "this is a study, not a course"),
            ("evenhand course 7\n", "version 7"),
            ("course\n", "a course begins with"),
        ] {
            assert!(parse(text).unwrap_err()[0].to_string().contains(told), "{text}");
        }
        assert_eq!(problems("stdy x\nstudy y").len(), 2, "all of them at once");
    }
}
