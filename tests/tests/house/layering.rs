//! The core flows in one direction: a module imports only what stands above it in the list. So do
//! the rooms of the program, those of the pedal, and the files of the program's listening. Nowhere do
//! the files of a room import each other in a circle.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};
use xtask::lines::{without_comments, without_tests};

/// The order of the flow. Capacities are for everybody.
const ORDER: [&str; 22] = [
    "zeroed_option",
    "sort",
    "arithmetic",
    "units",
    "limits",
    "pickup",
    "wire",
    "notes",
    "tolerance",
    "study",
    "attempt",
    "align",
    "classify",
    "measure",
    "verdict",
    "practice",
    "feet",
    "board",
    "session",
    "pack",
    "link",
    "player",
];
const FOR_ALL: &str = "limits";

/// The order of the program's listening, as `DEVELOPERS.md` tells it.
const LISTENING: [&str; 17] = [
    "otherwise",
    "told",
    "cut",
    "note_history",
    "judging",
    "candidate",
    "study_events",
    "trace",
    "passes",
    "repair",
    "part",
    "attempts",
    "waiting",
    "remains",
    "queue",
    "run_through",
    "choice",
];

/// The order of the program's rooms: from what everything uses to what uses everything.
const PROGRAM: [&str; 37] = [
    "in_common",
    "visible",
    "wrap",
    "fault",
    "stop",
    "say",
    "channels",
    "whole_file",
    "private",
    "read",
    "live",
    "screen",
    "study",
    "score",
    "import",
    "export",
    "pickup",
    "smf",
    "switches",
    "sound",
    "speech",
    "calibrate",
    "practice",
    "listening",
    "settings",
    "args",
    "marks",
    "events",
    "log",
    "days",
    "disputes",
    "pedal",
    "report",
    "output",
    "studies",
    "sitting",
    "cmd",
];

/// The order of the pedal's rooms.
const PEDAL: [&str; 22] = [
    "click",
    "lights",
    "observer",
    "report",
    "controls",
    "thinning",
    "through",
    "contacts",
    "mode",
    "music",
    "board",
    "display",
    "log_board",
    "simulated_player",
    "study",
    "pedal",
    "press",
    "progress",
    "memory",
    "ram_flash",
    "result_queue",
    "unit",
];

/// One source file: the modules it lies in, outermost first, and its text.
struct Source {
    modules: Vec<String>,
    text: String,
}

#[test]
fn the_core_imports_only_upstream() {
    let core = xtask::places::root().join("core").join("src");
    let sources = read(&core);
    assert!(sources.len() >= 10, "only {} files found in {}", sources.len(), core.display());
    let faults = faults(&sources);
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

#[test]
fn the_rooms_of_program_and_pedal_import_only_upstream() {
    for (folder, order) in
        [("host-cli/src", PROGRAM.as_slice()), ("firmware-example/pedal/src", PEDAL.as_slice())]
    {
        let mut sources = read(&xtask::places::root().join(folder));
        let faults = faults_in(&sources, order, &["crate::"]);
        assert!(faults.is_empty(), "{folder}:\n{}", faults.join("\n"));
        let upward = format!("use crate::{};", order[order.len() - 1]);
        sources.push(Source { modules: vec![order[0].to_owned()], text: upward });
        assert_eq!(faults_in(&sources, order, &["crate::"]).len(), 1, "it finds what it looks for");
    }
}

#[test]
fn no_files_of_a_room_import_each_other_in_a_circle() {
    for folder in ["core/src", "host-cli/src", "firmware-example/pedal/src"] {
        let sources = read(&xtask::places::root().join(folder));
        assert!(sources.len() > 20, "only {} files found in {folder}", sources.len());
        let circles = circles(&sources);
        assert!(circles.is_empty(), "{folder}:\n{}", circles.join("\n"));
    }
}

#[test]
fn a_circle_is_found_however_it_is_written() {
    let file = |modules: &[&str], text: &str| Source {
        modules: modules.iter().map(|name| (*name).to_owned()).collect(),
        text: text.to_owned(),
    };
    let round = |texts: [&str; 3]| {
        circles(&[
            file(&["measure", "tempo"], texts[0]),
            file(&["measure", "fit"], texts[1]),
            file(&["measure", "click", "grid"], texts[2]),
        ])
    };
    let own = "use super::super::tempo::Tempo;";
    assert_eq!(round(["use super::fit::Fit;", "use super::tempo;", ""]), ["measure: fit, tempo"]);
    let by_crate = "use crate::measure::{fit::Fit, Material};";
    let all = round([by_crate, "use super::{Material, click};", own]);
    assert_eq!(all, ["measure: click, fit, tempo"]);
    let tests = "#[cfg(test)]\nmod tests { use super::super::tempo::Tempo; }";
    assert!(round([by_crate, "", own]).is_empty(), "all in one direction");
    assert!(round([by_crate, tests, ""]).is_empty(), "tests may import what they like");
    let above =
        [file(&["log"], "use crate::report::x;"), file(&["report", "page"], "use crate::log;")];
    assert_eq!(circles(&above), [": log, report"]);
}

#[test]
fn listening_imports_only_upstream() {
    let listening = xtask::places::root().join("host-cli").join("src").join("listening");
    let mut sources = read(&listening);
    assert_eq!(sources.len(), LISTENING.len() + 1, "each file, and the one of the whole");
    let faults = faults_in(&sources, &LISTENING, &[]);
    assert!(faults.is_empty(), "{}", faults.join("\n"));
    sources.push(Source {
        modules: vec!["cut".to_owned()],
        text: "use super::note_history;".to_owned(),
    });
    assert_eq!(faults_in(&sources, &LISTENING, &[]).len(), 1, "it finds what it looks for");
    let page =
        fs::read_to_string(xtask::places::root().join("DEVELOPERS.md")).expect("it is there");
    let places: Vec<Option<usize>> =
        LISTENING.iter().map(|name| page.find(&format!("{name}.rs  "))).collect();
    assert!(places.is_sorted() && places.iter().all(Option::is_some), "{places:?}");
}

#[test]
fn an_upward_import_is_found_however_it_is_written() {
    for text in [
        "use crate::verdict::Verdict;",
        "use crate::{units::Instant, verdict::Verdict};",
        "use crate::{\n    units::{Instant, Offset},\n    session,\n};",
        "pub(crate) use super::super::verdict;",
        "fn f() -> crate::player::Fault { todo!() }",
        "#[cfg(test)]\nmod tests { use crate::player::x; }\nuse crate::session::Session;",
        "use crate::no_such_module::x;",
    ] {
        let modules = vec!["align".to_owned(), "table".to_owned()];
        let source = Source { modules, text: text.to_owned() };
        assert_eq!(faults(&[source]).len(), 1, "{text}");
    }
}

#[test]
fn downstream_comments_and_tests_may_name_everything() {
    for text in [
        "use crate::{units::Instant, limits};\nuse super::Aligner;\nuse crate::align::costs;",
        "//! see [`crate::session::Session`]\n/// and [V](crate::verdict)\nfn f() {} // crate::player",
        "#[cfg(test)]\nmod tests {\n    mod inner { use crate::session::Session; }\n}",
        "fn f() -> &'static str { \"crate::session\" }",
    ] {
        let modules = vec!["align".to_owned(), "table".to_owned()];
        let source = Source { modules, text: text.to_owned() };
        assert_eq!(faults(&[source]), Vec::<String>::new(), "{text}");
    }
}

#[test]
fn capacities_may_be_used_above_their_place() {
    let modules = vec!["units".to_owned()];
    let source = Source { modules, text: "use crate::limits::FINDINGS;".to_owned() };
    assert_eq!(faults(&[source]), Vec::<String>::new());
}

/// Every fault in the sources, as a line that says where.
fn faults(sources: &[Source]) -> Vec<String> {
    faults_in(sources, &ORDER, &["crate::"])
}

/// The same by another order; `tops` are other names of the folder that the sources lie in.
fn faults_in(sources: &[Source], order: &[&str], tops: &[&str]) -> Vec<String> {
    let mut faults = Vec::new();
    let place = |name: &str| order.iter().position(|module| *module == name);
    for Source { modules, text } in sources {
        let Some(own) = modules.first() else { continue };
        let path = modules.join("::");
        let Some(own_place) = place(own) else {
            faults.push(format!("{path}: not in the order of the flow; see ORDER in this test"));
            continue;
        };
        for name in imports(&without_tests(&without_comments(text)), tops, modules.len()) {
            match place(&name) {
                _ if name == FOR_ALL || name == *own => {}
                Some(place) if place < own_place => {}
                Some(_) => faults.push(format!("{path}: imports {name}, which comes after it")),
                None => faults.push(format!("{path}: imports {name}, which is not in the order")),
            }
        }
    }
    faults
}

/// The rooms whose files, or folders, import each other in a circle, as lines that name them.
fn circles(sources: &[Source]) -> Vec<String> {
    let mut rooms: BTreeMap<&[String], BTreeMap<&str, BTreeSet<String>>> = BTreeMap::new();
    for Source { modules, text } in sources {
        let text = without_tests(&without_comments(text));
        for depth in 0..modules.len() {
            let (room, inside) = modules.split_at(depth);
            let top: String = ["crate"]
                .into_iter()
                .chain(room.iter().map(String::as_str))
                .map(|name| format!("{name}::"))
                .collect();
            let imported = imports(&text, &[&top], inside.len());
            let own = rooms.entry(room).or_default().entry(&inside[0]).or_default();
            own.extend(imported.into_iter().filter(|name| *name != inside[0]));
        }
    }
    let mut circles = Vec::new();
    for (room, mut files) in rooms {
        // Whatever imports nothing that is left is in no circle, and neither is what nothing that
        // is left imports.
        loop {
            let left: BTreeSet<String> = files.keys().map(|name| (*name).to_owned()).collect();
            let imported: BTreeSet<String> = files.values().flatten().cloned().collect();
            files.retain(|name, imports| imported.contains(*name) && !imports.is_disjoint(&left));
            if files.len() == left.len() {
                break;
            }
        }
        if !files.is_empty() {
            let files: Vec<&str> = files.into_keys().collect();
            circles.push(format!("{}: {}", room.join("::"), files.join(", ")));
        }
    }
    circles
}

/// The top modules that `text` names: after a name of the top, or after as many `super::` as lead
/// from a file `depth` modules deep to it.
fn imports(text: &str, tops: &[&str], depth: usize) -> Vec<String> {
    let to_top = "super::".repeat(depth);
    let mut names = Vec::new();
    for &start in tops.iter().chain([&to_top.as_str()]) {
        for (at, _) in text.match_indices(start) {
            let before = text[..at].chars().next_back();
            if before.is_some_and(|c| c.is_alphanumeric() || c == '_' || c == ':') {
                continue;
            }
            let rest = &text[at + start.len()..];
            match rest.strip_prefix('{') {
                Some(group) => names.extend(group_members(group)),
                None => names.extend(first_word(rest)),
            }
        }
    }
    names
}

/// The first word of each member of a group, `a` and `b` of `a::{x, y}, b}`.
fn group_members(group: &str) -> Vec<String> {
    let mut depth = 1_u32;
    let mut members = vec![String::new()];
    for c in group.chars() {
        match c {
            '{' => depth += 1,
            '}' => depth -= 1,
            ',' if depth == 1 => members.push(String::new()),
            _ if depth == 1 => members.last_mut().expect("one at least").push(c),
            _ => {}
        }
        if depth == 0 {
            break;
        }
    }
    members.iter().filter_map(|member| first_word(member.trim_start())).collect()
}

fn first_word(text: &str) -> Option<String> {
    let word: String = text.chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect();
    // A type re-exported at the top is no module.
    (!word.is_empty() && !word.starts_with(char::is_uppercase)).then_some(word)
}

/// All files of a crate but those that exist for tests only.
fn read(core: &Path) -> Vec<Source> {
    let mut sources = Vec::new();
    let mut waiting: Vec<(PathBuf, Vec<String>)> = vec![(core.to_path_buf(), Vec::new())];
    let mut for_tests = Vec::new();
    while let Some((folder, modules)) = waiting.pop() {
        for entry in fs::read_dir(&folder).expect("the core's source can be read") {
            let path = entry.expect("the core's source can be read").path();
            let name = path.file_stem().unwrap_or_default().to_string_lossy().into_owned();
            let mut here = modules.clone();
            if !["mod", "lib", "main"].contains(&name.as_str()) {
                here.push(name);
            }
            if path.is_dir() {
                waiting.push((path, here));
            } else if path.extension().is_some_and(|extension| extension == "rs") {
                let text = fs::read_to_string(&path).expect("the core's source is text");
                for_tests
                    .extend(test_modules(&text).map(|name| [here.clone(), vec![name]].concat()));
                sources.push(Source { modules: here, text });
            }
        }
    }
    sources.retain(|source| !for_tests.iter().any(|module| source.modules.starts_with(module)));
    sources
}

/// The files that `text` declares for tests only, as in `#[cfg(test)] mod reference;`.
fn test_modules(text: &str) -> impl Iterator<Item = String> {
    text.split("#[cfg(test)]").skip(1).filter_map(|part| {
        let item = part.split_once("mod ")?;
        let name = first_word(item.1)?;
        let ends = item.1[name.len()..].starts_with(';');
        (ends && item.0.trim_start_matches(|c: char| !c.is_alphanumeric()).len() < 12)
            .then_some(name)
    })
}
