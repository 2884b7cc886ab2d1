//! From what a board is told to the page.

use evenhand_core::practice::rules::REST;
use evenhand_core::practice::{Choices, PracticeVariant, Step, Task};
use evenhand_core::study::Chunk;
use evenhand_core::units::Seconds;
use evenhand_core::verdict::Outcome;

use super::page::Page;
use super::text_line::TextLine;
use super::{findings, reasons};
use crate::lights::{View, heaviest};
use crate::observer::Judgement;

/// Keeps the page. It is told what happens, in the order in which a board is.
#[derive(Clone, Debug)]
pub struct PageWriter {
    page: Page,
    view: Option<View>,
    /// The study's title.
    title: TextLine,
    /// Which study it is, where there are several.
    study: TextLine,
    /// What is to be played; it comes onto the page when a verdict on something else has been
    /// seen.
    heading: [TextLine; 2],
    way: PracticeVariant,
    why: TextLine,
    offer: Choices,
    /// How long was played without a rest, in minutes.
    played: u32,
    /// The last verdict, as long as what it was about is still played.
    verdict: Option<Told>,
    /// What is to be played is another thing than the verdict is about.
    changed: bool,
    /// Beats of the count-in so far.
    beats: u8,
}

/// A verdict as it is told.
#[derive(Clone, Debug)]
struct Told {
    outcome: Outcome,
    about: [TextLine; 2],
}

impl Default for PageWriter {
    fn default() -> Self {
        Self::new()
    }
}

impl PageWriter {
    /// Before anything has happened.
    pub const fn new() -> Self {
        Self {
            page: Page::new(),
            view: None,
            title: TextLine::new(),
            study: TextLine::new(),
            heading: [TextLine::new(), TextLine::new()],
            way: PracticeVariant::AsWritten,
            why: TextLine::new(),
            offer: Choices::NONE,
            played: 0,
            verdict: None,
            changed: false,
            beats: 0,
        }
    }

    /// The page as it is now.
    pub const fn page(&self) -> &Page {
        &self.page
    }

    /// See [`Board::study`](crate::board::Board::study).
    pub fn study(&mut self, study: u8, of: u8, title: &str) {
        self.title = title.into();
        let number = u16::from(study) + 1;
        let several = TextLine::of(format_args!("study {number} of {of}"));
        self.study = if of > 1 { several } else { TextLine::new() };
        self.view = None;
    }

    /// See [`Board::show_task`](crate::board::Board::show_task).
    pub fn show_task(&mut self, task: &Task, chunk: &Chunk<'_>) {
        let beats = task.tempo.hundredths_of_beats_per_minute(chunk.metre().beat());
        let tempo = TextLine::of(format_args!("{} beats a minute", beats.saturating_add(50) / 100));
        self.heading = [reasons::piece(task.piece), tempo];
        self.way = task.way;
        self.changed = true;
        self.view = None;
    }

    /// See [`Board::next`](crate::board::Board::next).
    pub fn next(&mut self, step: &Step) {
        self.why = reasons::why(step.reason);
        self.offer = step.offer;
        self.played = step.rest.map_or(0, Seconds::as_minutes_rounded);
        // What was clean has its reason for what follows in place of a finding.
        if let Some(Told { outcome: Outcome::Passed, about: [first, _] }) = &mut self.verdict {
            *first = self.why.clone();
        }
        self.view = None;
    }

    /// See [`Board::judged`](crate::board::Board::judged).
    pub fn judged(&mut self, judgement: &Judgement<'_>) {
        let Judgement { verdict, judged, together, .. } = judgement;
        let finding = heaviest(verdict).filter(|_| verdict.outcome != Outcome::Passed);
        let about = match finding {
            Some(finding) => findings::finding(finding, &judged.chunk),
            None if *together > 1 => {
                [TextLine::new(), TextLine::of(format_args!("{together} attempts say so"))]
            }
            None => [TextLine::new(), TextLine::new()],
        };
        self.verdict = Some(Told { outcome: verdict.outcome, about });
        self.changed = false;
        self.view = None;
    }

    /// See [`Board::click`](crate::board::Board::click).
    pub const fn click(&mut self, strong: bool) {
        self.beats = if strong { 1 } else { self.beats.saturating_add(1) };
        self.view = None;
    }

    /// See [`Board::look`](crate::board::Board::look). The page is made anew if something has
    /// happened; says whether it has become another.
    pub fn look(&mut self, view: View) -> bool {
        if self.view == Some(view) {
            return false;
        }
        self.view = Some(view);
        let page = self.made(view);
        let changed = page != self.page;
        self.page = page;
        changed
    }

    fn made(&mut self, view: View) -> Page {
        if !matches!(view, View::Verdict(_) | View::Finding(_)) && self.changed {
            self.changed = false;
            self.verdict = None;
        }
        match view {
            View::CountIn { beats, .. } => {
                self.verdict = None;
                // The first beat is about to be told when there is none yet.
                self.asked(counted(self.beats.clamp(1, beats.max(1))))
            }
            // A verdict that stands is not hidden.
            View::HeardPoorly(_) if self.verdict.is_none() => {
                self.beats = 0;
                self.headed("Poor signal", ["less sensitivity,".into(), "damp idle strings".into()])
            }
            View::Verdict(_)
            | View::Finding(_)
            | View::Ready(_)
            | View::Playing
            | View::HeardPoorly(_) => {
                self.beats = 0;
                match &self.verdict {
                    // Above it stands what it is about.
                    Some(Told { outcome, about }) => Page {
                        top: if self.changed {
                            self.page.top.clone()
                        } else {
                            self.heading.clone()
                        },
                        word: word(*outcome).into(),
                        low: about.clone(),
                    },
                    None => self.asked("Listening".into()),
                }
            }
            View::TakenBack => {
                self.verdict = None;
                self.headed("Taken back", ["it does not count".into(), TextLine::new()])
            }
            View::Tempo(_) => self.headed("Tempo", ["left: slower".into(), "right: faster".into()]),
            View::Offer => self.headed("A choice", reasons::offer(self.offer)),
            View::Rest => {
                let played = TextLine::of(format_args!("for {} minutes", self.played));
                let rest =
                    TextLine::of(format_args!("{} minutes without", REST.as_minutes_rounded()));
                Page {
                    top: ["You have played".into(), played],
                    word: "Rest".into(),
                    low: [rest, "the guitar".into()],
                }
            }
            View::Studies(study) => Page {
                top: [self.title.clone(), TextLine::new()],
                word: TextLine::of(format_args!("Study {}", u16::from(study) + 1)),
                low: ["step: another".into(), "hold: take this".into()],
            },
            View::Choosing(chunk) => Page {
                top: [self.title.clone(), self.study.clone()],
                word: TextLine::of(format_args!("Chunk {}", reasons::number(chunk))),
                low: if self.study.is_empty() {
                    ["step: another".into(), "hold: begin".into()]
                } else {
                    ["hold left: studies".into(), "hold right: begin".into()]
                },
            },
            View::AtGoal => {
                still(["Enough for today", ""], "At the goal", ["come back another", "day"])
            }
            View::Hurts => still(
                ["Practice is over,", "as it hurts."],
                "Rest now",
                ["If it persists, see a", "teacher or a doctor."],
            ),
            View::Link => still(["", ""], "Computer", ["it talks to the pedal", ""]),
            View::NoStudy => still(["", ""], "No study", ["load one from a", "computer"]),
            View::NotKept => {
                still(["A result could not", "be kept."], "Not kept", ["practice goes on", ""])
            }
            View::BegunAnew => {
                still(["The firmware stopped.", ""], "Begun anew", ["results are kept", ""])
            }
            View::Fault => still(["", ""], "Fault", ["it begins anew", "by itself"]),
        }
    }

    /// What is to be played, and why.
    fn asked(&self, word: TextLine) -> Page {
        let low = [self.why.clone(), reasons::way(self.way).into()];
        Page { top: self.heading.clone(), word, low }
    }

    fn headed(&self, word: &str, low: [TextLine; 2]) -> Page {
        Page { top: self.heading.clone(), word: word.into(), low }
    }
}

/// A page that is always the same.
fn still(top: [&str; 2], word: &str, low: [&str; 2]) -> Page {
    Page { top: top.map(TextLine::from), word: word.into(), low: low.map(TextLine::from) }
}

/// The beats so far. Eight have room without space between them.
fn counted(beats: u8) -> TextLine {
    use core::fmt::Write as _;
    let mut line = TextLine::new();
    for beat in 1..=beats {
        let space = if beat > 1 && beats <= 6 { " " } else { "" };
        // It never fails.
        let _ = write!(line, "{space}{beat}");
    }
    line
}

/// The verdict, as large as it is meant.
const fn word(outcome: Outcome) -> &'static str {
    match outcome {
        Outcome::Passed => "PASSED",
        Outcome::NeedsWork => "NEEDS WORK",
        Outcome::Unclear => "UNCLEAR",
    }
}
