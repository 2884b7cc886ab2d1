//! Samples in README and docs against the program.
//!
//! A block of `console` holds commands after `$ ` and what they say under them: the output, whole or
//! from a line of it on, where `…` alone in a line stands for lines that are left out. The commands of
//! a page are run one after the other in one folder. Other blocks that show words of the program are
//! checked below, one by one, so that no kind of block is forgotten.

use super::words;
use evenhand_tests::program::workspace;
use evenhand_tests::run::{Folder, Run, command, evenhand};
use std::fs;
use std::path::PathBuf;

/// README and every page of docs, with their names.
fn pages() -> Vec<(String, String)> {
    let mut paths: Vec<PathBuf> = fs::read_dir(workspace().join("docs"))
        .expect("pages")
        .map(|entry| entry.expect("an entry").path())
        .filter(|path| path.extension().is_some_and(|end| end == "md"))
        .collect();
    paths.extend(
        ["README.md", "DEVELOPERS.md", "CONTRIBUTING.md", "CHANGELOG.md"]
            .map(|name| workspace().join(name)),
    );
    paths.sort();
    let read = |path: PathBuf| {
        let name = path.file_name().expect("a name").to_string_lossy().into_owned();
        (name, fs::read_to_string(&path).expect("a page"))
    };
    paths.into_iter().map(read).collect()
}

/// The blocks of a page: the word after the fence, and what is in it.
fn blocks(page: &str) -> Vec<(String, String)> {
    let mut blocks: Vec<(String, String)> = Vec::new();
    let mut open = false;
    for line in page.lines() {
        if let Some(word) = line.strip_prefix("```") {
            if !open {
                blocks.push((word.to_owned(), String::new()));
            }
            open = !open;
        } else if open {
            let (_, text) = blocks.last_mut().expect("an open block");
            *text += line;
            *text += "\n";
        }
    }
    blocks
}

/// Whether what is shown is what was said.
fn shows(shown: &[&str], said: &[&str]) -> bool {
    let mut rest = said;
    for part in shown.split(|line| line.trim() == "…").filter(|part| !part.is_empty()) {
        let Some(at) = rest.windows(part.len()).position(|lines| lines == part) else {
            return false;
        };
        rest = &rest[at + part.len()..];
    }
    true
}

#[test]
fn what_a_console_shows_is_what_is_said() {
    let mut compared = 0;
    for (name, page) in pages() {
        let folder = Folder::new();
        for (_, block) in blocks(&page).into_iter().filter(|(word, _)| word == "console") {
            let mut commands: Vec<(&str, Vec<&str>)> = Vec::new();
            for line in block.lines() {
                match (line.strip_prefix("$ "), commands.last_mut()) {
                    (Some(command), _) => commands.push((command, Vec::new())),
                    (None, Some((_, shown))) => shown.push(line),
                    (None, None) => panic!("{name}: a console begins with a command:\n{block}"),
                }
            }
            for (line, mut shown) in commands {
                while shown.last().is_some_and(|last| last.is_empty()) {
                    shown.pop();
                }
                let words = words(line.split(" #").next().unwrap_or_default());
                assert_eq!(words[0], "evenhand", "{name}: {line}");
                let mut command = command(&words[1..]);
                let run = Run::of(command.current_dir(folder.as_ref()), Vec::new());
                assert_eq!(run.code, 0, "{name}: {line}: {run:?}");
                let said: Vec<&str> = run.out.lines().map(str::trim_end).collect();
                assert!(shows(&shown, &said), "{name}: {line} says\n{}\nand not\n{block}", run.out);
                compared += shown.len();
            }
        }
    }
    assert!(compared > 30, "only {compared} lines are compared");
}

#[test]
fn a_sample_that_says_something_else_is_noticed() {
    let said = ["one", "two", "three", "four"];
    assert!(shows(&["two", "three"], &said) && shows(&["one", "…", "four"], &said));
    for wrong in [&["two", "four"][..], &["three", "…", "one"], &["five"]] {
        assert!(!shows(wrong, &said), "{wrong:?}");
    }
}

/// Commands that are shown in blocks for a shell are commands.
#[test]
fn every_command_that_is_shown_is_one() {
    use clap::Parser;
    let mut told = 0;
    for (name, page) in pages() {
        for (_, block) in blocks(&page).into_iter().filter(|(word, _)| word == "sh") {
            for line in
                block.lines().map(|line| line.split(['#', '>']).next().unwrap_or_default().trim())
            {
                if line.starts_with("evenhand ") {
                    let words = words(line);
                    // This build may know no ports.
                    if !cfg!(feature = "jack") && (words[1] == "ports" || line.contains("--port "))
                    {
                        continue;
                    }
                    evenhand::args::Cli::try_parse_from(&words)
                        .unwrap_or_else(|error| panic!("{name}: {line}: {error}"));
                    told += 1;
                }
            }
        }
    }
    assert!(told > 10, "{told}");
}

/// The problem in the study format's page, from a file with that line.
#[test]
fn the_problem_in_the_page_of_the_format_is_told_like_that() {
    let (_, page) = pages().into_iter().find(|(name, _)| name == "study-format.md").expect("it");
    let shown = blocks(&page).into_iter().find(|(_, text)| text.starts_with("line 7, column 11"));
    let (_, shown) = shown.expect("the sample");
    let folder = Folder::new();
    let study =
        folder.write("a.study", "evenhand study 1\n\n\n\n\nchunk \"A\"\n  melody: 1/9 5:3\n");
    let run = evenhand(&["study", "check", &study]);
    assert!(run.err.contains(shown.trim_end()), "{}\nand not\n{shown}", run.err);
}

/// Whole studies and profiles that are shown are right, and every block is of a known kind.
#[test]
fn every_block_is_of_a_kind_that_is_checked() {
    let folder = Folder::new();
    let mut studies = 0;
    for (name, page) in pages() {
        for (index, (word, text)) in blocks(&page).into_iter().enumerate() {
            if ["evenhand study 1", "evenhand study 2"].iter().any(|first| text.starts_with(first))
            {
                let study = folder.write(&format!("{name}-{index}.study"), &text);
                evenhand(&["study", "check", &study]).done();
                studies += 1;
            } else if text.starts_with("evenhand course 1") {
                let course = evenhand::days::course::parse(&text);
                assert!(course.is_ok_and(|course| course.studies.len() > 1), "{name}: {text}");
            } else if text.starts_with("evenhand pickup 1") {
                let pickup = folder.write("a.pickup", &text);
                let run = evenhand(&["doctor", "--pickup", &pickup, "--events"]);
                let found = run.events().into_iter().find(|event| event["what"] == "profile");
                assert_eq!(found.expect("a check")["state"], "good", "{name}: {text}");
            } else {
                let known = ["console", "sh"].contains(&word.as_str());
                let other = text.starts_with("line 7, column 11") || name == "DEVELOPERS.md";
                // Bytes, which the tests of the pack and of the link compare.
                let bytes =
                    |line: &str| line.split(' ').all(|byte| u8::from_str_radix(byte, 16).is_ok());
                assert!(
                    known || other || text.lines().all(bytes),
                    "{name}: what is this, and who checks it?\n```{word}\n{text}```"
                );
            }
        }
    }
    assert!(studies >= 1, "{studies}");
}

/// Figures that stand in the README are those of the code.
#[test]
fn figures_in_the_readme_are_those_of_the_code() {
    use evenhand_core::limits::{EXPECTED_NOTES, NOTES_TOGETHER, PLAYED_NOTES};
    let read = |name: &str| fs::read_to_string(workspace().join(name)).expect("it is there");
    let manifest = read("Cargo.toml");
    let version =
        manifest.split("rust-version = \"").nth(1).and_then(|rest| rest.split('"').next());
    let version = version.expect("a version");
    let readme = read("README.md").split_whitespace().collect::<Vec<_>>().join(" ");
    for figure in [
        format!(
            "One chunk holds {EXPECTED_NOTES} expected notes, at most {NOTES_TOGETHER} at a time"
        ),
        format!("one attempt {PLAYED_NOTES} played notes"),
        format!("Rust ({version} or later)"),
    ] {
        assert!(readme.contains(&figure), "{figure}");
    }
    assert!(read("docs/install.md").contains(&format!("Rust {version} or later")));
}

/// A page that leads to another leads to one that is there.
#[test]
fn every_link_to_a_file_leads_to_one() {
    let mut followed = 0;
    for (name, page) in pages() {
        let folder = if workspace().join(&name).exists() { "" } else { "docs" };
        for link in page.split("](").skip(1).filter_map(|rest| rest.split(')').next()) {
            let file = link.split('#').next().unwrap_or_default();
            if !file.is_empty() && !file.contains("://") {
                let path = workspace().join(folder).join(file);
                assert!(path.exists(), "{name} leads to {link}");
                followed += 1;
            }
        }
    }
    assert!(followed > 30, "{followed}");
}
