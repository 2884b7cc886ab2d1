//! The search for clear faults that pass: a sample with every change, the whole with
//! `cargo xtask seeds`. What it found last as a whole stands in `golden/search.txt`.

use evenhand_core::pickup::Pickup;
use evenhand_core::verdict::Outcome;
use evenhand_tests::lab::golden;
use evenhand_tests::lab::table::level_name;
use evenhand_tests::paths::file;
use evenhand_tests::program::workspace;
use evenhand_tests::run::{Folder, Verdict, evenhand};
use evenhand_tests::search::case::Case;
use evenhand_tests::search::extent::Extent;
use evenhand_tests::search::gate::{self, Miss, misses};
use evenhand_tests::search::lapse::Lapse;
use evenhand_tests::search::learnt;
use evenhand_tests::search::path::{Command, Path};
use evenhand_tests::search::scope::{Scope, Tried, search, search_behind, seed, stream};
use evenhand_tests::search::studies::{Study, studies};
use evenhand_tests::search::table;
use evenhand_tests::seeds;
use std::sync::OnceLock;

/// What is not given yet, by the lapse; `None` stands for clean performances. The list only ever gets
/// shorter.
const NOT_YET: [Option<Lapse>; 0] = [];

#[test]
fn no_clear_fault_passes_and_clean_playing_does() {
    let (scope, studies) = (Scope::asked(), studies());
    let tried = search(scope);
    let misses = misses(&tried, &studies);
    let is_whole = seeds::all();
    let changes = if is_whole && scope.base == 0 {
        let found = table::text(&tried);
        golden::compare("search.txt", &format!("{found}\n{}", gate::cells(&tried, &studies)))
    } else {
        String::new()
    };
    let new: Vec<Miss> =
        misses.iter().filter(|miss| !NOT_YET.contains(&miss.lapse)).cloned().collect();
    let examples = table::false_passes(&tried, &studies, 2);
    assert!(new.is_empty(), "{}{examples}", gate::text(&new));
    if is_whole {
        for known in NOT_YET {
            let still = misses.iter().any(|miss| miss.lapse == known);
            assert!(still, "{known:?} is given now: take it off the list");
        }
    }
    assert!(changes.is_empty(), "the search found something else:\n{changes}");
}

/// Cases that are tried by the commands themselves.
const BY_COMMAND: u32 = 60;

#[test]
fn the_commands_say_the_same() {
    let studies = studies();
    let folder = Folder::new();
    let mut compared = 0;
    for number in 0..BY_COMMAND {
        let path = Path::ALL[number as usize % Path::ALL.len()];
        let lapse = Lapse::ALL[number as usize * 7 % Lapse::ALL.len()];
        let extents = lapse.extents();
        let extent = extents[number as usize % extents.len()];
        let (lapse, extent) =
            if number % 6 == 5 { (None, Extent::Whole) } else { (Some(lapse), extent) };
        let Some(case) = Case::new(&studies, lapse, extent, seed(77, 0, number)) else { continue };
        let said = by_command(&folder, path, &case, &studies);
        assert_eq!(in_process(path, &case, &studies), said, "{path:?} {case:?}");
        compared += 1;
    }
    assert!(compared >= BY_COMMAND * 9 / 10, "only {compared} compared");
}

fn by_command(folder: &Folder, path: Path, case: &Case, studies: &[Study]) -> Vec<Verdict> {
    let study = workspace().join(studies[case.study].file).display().to_string();
    let level = level_name(case.level);
    let stream = stream(studies, path, case);
    let run = match path.command {
        Command::Listen => {
            let lines = folder.write("played.txt", stream.lines());
            let words = ["listen", &study, "--timed", &lines, "--no-log"];
            evenhand(&[&words[..], &["--events", "--level", level]].concat())
        }
        Command::Judge => {
            let recording = folder.write("played.mid", file(&stream.messages));
            evenhand(&["judge", &study, &recording, "--events", "--level", level])
        }
    };
    run.done_verdicts()
}

fn in_process(path: Path, case: &Case, studies: &[Study]) -> Vec<Verdict> {
    let mut chunks = studies[case.study].chunks.clone();
    chunks.iter_mut().for_each(|chunk| chunk.tolerances = case.tolerances());
    let mut verdicts = Vec::new();
    path.hear(&chunks, &stream(studies, path, case), |finished| {
        let findings = &finished.verdict.findings;
        let name = |kind| serde_json::to_value(kind).expect("a name");
        let names = findings.iter().map(|finding| name(finding.kind));
        verdicts.push(Verdict {
            chunk: finished.chunk.name.clone(),
            outcome: finished.verdict.outcome.word().to_owned(),
            findings: names.map(|name| name.as_str().expect("a word").to_owned()).collect(),
        });
    });
    verdicts
}

/// A search by a judge who says what `says` says.
fn by(says: impl Fn(&Tried) -> Option<Outcome>) -> Vec<Miss> {
    static TRIED: OnceLock<Vec<Tried>> = OnceLock::new();
    let studies = studies();
    let mut tried = TRIED.get_or_init(|| search(Scope { base: 3, each: 6, clean: 60 })).clone();
    for one in &mut tried {
        one.said.outcome = says(one);
    }
    misses(&tried, &studies)
}

#[test]
fn a_judge_that_passes_everything_is_found_out_in_every_kind() {
    let misses = by(|_| Some(Outcome::Passed));
    for lapse in Lapse::ALL {
        assert!(misses.iter().any(|miss| miss.lapse == Some(lapse)), "{lapse:?}: {misses:?}");
    }
}

#[test]
fn a_judge_that_commits_itself_to_nothing_is_found_out() {
    for says in [Some(Outcome::Unclear), None] {
        let misses = by(|_| says);
        assert!(!misses.is_empty() && misses.iter().all(|miss| miss.lapse.is_none()), "{misses:?}");
    }
}

/// As a judge once did with landings: 150 ms late needed work, two seconds passed.
#[test]
fn a_judge_that_forgives_the_larger_fault_is_found_out() {
    let misses = by(|tried| {
        let forgiven = tried.case.lapse == Some(Lapse::SlowingDown)
            && matches!(tried.case.extent, Extent::PerMille(_));
        let clean = tried.case.lapse.is_none();
        Some(if forgiven || clean { Outcome::Passed } else { Outcome::NeedsWork })
    });
    let rises = |miss: &&Miss| miss.what.contains("the other way");
    assert!(misses.iter().find(rises).is_some_and(|m| m.lapse == Some(Lapse::SlowingDown)));
}

#[test]
fn another_base_gives_other_performances_and_the_same_base_the_same() {
    let seeds = |base| {
        let tried = search(Scope { base, each: 1, clean: 1 });
        tried.iter().map(|tried| tried.case.seed).collect::<Vec<_>>()
    };
    let [one, again, other] = [1, 1, 2].map(seeds);
    assert_eq!(one, again);
    assert!(one.iter().all(|seed| !other.contains(seed)));
}

/// Of notes that did not come, or came as another one, so many may pass behind a pickup that loses as many as a
/// hand leaves out, in per cent: who had it right in two takes before is not told from the pickup. One stream of
/// nine that `listen` hears has two clean takes before the one that is looked at, and half of all are heard so.
const EXCUSED: u32 = 6;

#[test]
fn behind_a_pickup_that_is_known_to_err_nothing_passes_but_what_was_right_before() {
    let (scope, studies) = (Scope::asked(), studies());
    let tried = search_behind(&learnt::pickup(Pickup::UNKNOWN), scope);
    let may_be_its = [
        Lapse::WrongNote,
        Lapse::MissingNote,
        Lapse::MissingEvent,
        Lapse::LandingNoteWrong,
        Lapse::LandingWrong,
        Lapse::LandingNoteMissing,
    ];
    let misses = misses(&tried, &studies);
    let new: Vec<Miss> = misses
        .into_iter()
        .filter(|miss| !miss.lapse.is_some_and(|lapse| may_be_its.contains(&lapse)))
        .collect();
    assert!(new.is_empty(), "{}", gate::text(&new));
    for lapse in may_be_its {
        let of = || tried.iter().filter(|tried| tried.case.lapse == Some(lapse));
        let passed: Vec<&Tried> = of().filter(|tried| tried.is_false_pass()).collect();
        let share = (100 * passed.len()) as u32;
        assert!(share <= EXCUSED * of().count() as u32, "{lapse:?}: {} passed", passed.len());
        for tried in passed {
            assert!(tried.said.together >= 2, "{:?}", tried.case);
        }
    }
}
