//! DEVELOPERS.md against the code that it shows.

use evenhand_core::verdict::Kind;
use evenhand_tests::program::workspace;
use std::fs;
use std::path::{Path, PathBuf};
use xtask::lines::without_tests;

fn read(name: &str) -> String {
    fs::read_to_string(workspace().join(name)).unwrap_or_else(|error| panic!("{name}: {error}"))
}

/// All Rust files below a folder.
fn sources(folder: &Path) -> Vec<PathBuf> {
    let entries = fs::read_dir(folder).expect("a folder").map(|entry| entry.expect("it").path());
    let (folders, files): (Vec<_>, Vec<_>) = entries.partition(|path| path.is_dir());
    let rust = files.into_iter().filter(|path| path.extension().is_some_and(|end| end == "rs"));
    rust.chain(folders.iter().flat_map(|folder| sources(folder))).collect()
}

/// What is said of adding a measure.
fn section() -> String {
    let page = read("DEVELOPERS.md");
    let section = page.split_once("**Add a measure**").expect("it is there").1;
    section.split("**Change the alignment**").next().expect("its end").to_owned()
}

/// Whether a place, or a folder that it lies in, is named.
fn is_named(section: &str, place: &str) -> bool {
    let file = place.rsplit('/').next().unwrap_or_default();
    let folders = place.match_indices('/').map(|(at, _)| &place[..=at]);
    let own = [format!("`{place}`"), format!("`{file}`")];
    let own = own.into_iter().chain([format!("`{}`", place.trim_start_matches("host-cli/src/"))]);
    own.chain(folders.map(|folder| format!("`{folder}`"))).any(|name| section.contains(&name))
}

#[test]
fn every_place_that_names_a_kind_of_finding_is_told() {
    let section = section();
    let (mut found, mut untold) = (0, Vec::new());
    for top in ["core/src", "host-cli/src", "firmware-example/pedal/src"] {
        for path in sources(&workspace().join(top)) {
            let place = path.strip_prefix(workspace()).expect("below").display().to_string();
            let text = fs::read_to_string(&path).expect("a source");
            let text = without_tests(&text);
            let names = |kind: &Kind| {
                let name = format!("Kind::{kind:?}");
                let after = text.match_indices(&name);
                let mut ends = after.map(|(at, whole)| text[at + whole.len()..].chars().next());
                ends.any(|next| !next.is_some_and(char::is_alphanumeric))
            };
            let of_verdicts = text.contains("verdict::") || place.starts_with("core/src/verdict/");
            if !place.ends_with("tests.rs") && of_verdicts && Kind::ALL.iter().any(names) {
                found += 1;
                if !is_named(&section, &place) {
                    untold.push(place);
                }
            }
        }
    }
    assert!(untold.is_empty(), "kinds of findings are named, and it is not told, in {untold:#?}");
    assert!(found > 10, "{found}");
    // Each place that is told is there.
    for place in section.split('`').skip(1).step_by(2).filter(|name| name.matches('/').count() > 1)
    {
        assert!(workspace().join(place).exists() || place == "study/parse/allow.rs", "{place}");
    }
}

#[test]
fn every_kind_has_its_row_in_the_pages() {
    let (events, measures) = (read("docs/events.md"), read("docs/measures.md"));
    for kind in Kind::ALL {
        let name = format!("`{}`", kind.name());
        assert!(events.contains(&name), "{name} is not in events.md");
        assert!(measures.contains(&name) || events.contains(&name), "{name}");
    }
}

/// The picture and the pages know the rooms that there are.
#[test]
fn the_picture_shows_rooms_that_there_are() {
    let picture = read("docs/house.svg");
    for room in [
        "wire", "notes", "attempt", "align", "classify", "measure", "verdict", "practice",
        "session", "pickup", "pack", "link",
    ] {
        assert!(picture.contains(room), "{room} is not in the picture");
        let path = workspace().join("core/src").join(room);
        assert!(
            path.is_dir() || path.with_extension("rs").is_file(),
            "there is no {room} any more"
        );
    }
    for room in [
        "live",
        "smf",
        "listening",
        "study",
        "log",
        "report",
        "events",
        "screen",
        "sound",
        "cmd",
        "visible",
        "whole_file",
        "private",
        "settings",
        "calibrate",
        "switches",
    ] {
        assert!(picture.contains(room), "{room} is not in the picture");
        let path = workspace().join("host-cli/src").join(room);
        assert!(
            path.is_dir() || path.with_extension("rs").is_file(),
            "there is no {room} any more"
        );
    }
    let flow = read("DEVELOPERS.md");
    let flow = flow.lines().find(|line| line.starts_with("wire -> notes")).expect("the flow");
    let order = read("tests/tests/house/layering.rs");
    let places: Vec<usize> = flow
        .split(" -> ")
        .map(|room| order.find(&format!("\"{room}\",")).expect("a room"))
        .collect();
    assert!(places.is_sorted(), "the flow is not that of the layering: {flow}");
}
