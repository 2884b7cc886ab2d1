//! Help, messages about the command line, manual pages and completions, for every command.

use super::words;
use clap::{Command, CommandFactory, Parser};
use evenhand::args::Cli;
use evenhand_tests::run::{Folder, Run, code, evenhand};
use std::fs;

/// Every command with the words that lead to it.
fn commands() -> Vec<(Vec<String>, Command)> {
    let mut all = vec![(Vec::new(), Cli::command())];
    let mut next = 0;
    while next < all.len() {
        let (words, command) = all[next].clone();
        let own = command.get_subcommands().filter(|below| below.get_name() != "help");
        all.extend(
            own.map(|below| ([&words[..], &[below.get_name().to_owned()]].concat(), below.clone())),
        );
        next += 1;
    }
    all
}

#[test]
fn every_help_ends_with_an_example_that_works() {
    let folder = Folder::new();
    evenhand(&["study", "new", &folder.path("my.study")]).done();
    evenhand(&["study", "play", &folder.path("my.study"), &folder.path("take.mid")]).done();
    evenhand(&["pack", &folder.path("my.study")]).done();
    // These need somebody who plays, hardware, or something in the log.
    let alone =
        ["practice", "listen", "record", "calibrate", "footswitch", "click", "pedal", "ports"];
    let (mut told, mut run) = (0, 0);
    for (path, command) in commands() {
        let help = command.clone().render_long_help().to_string();
        let mut lines = help.trim_end().lines().rev();
        let example = lines.next().expect("a line").trim();
        assert_eq!(lines.next(), Some("Example:"), "{path:?} ends with\n{help}");
        let words = words(example);
        assert_eq!(words[0], "evenhand", "{example}");
        assert_eq!(words[1..][..path.len()], path, "the example is another command's: {example}");
        Cli::try_parse_from(&words).unwrap_or_else(|error| panic!("{example}: {error}"));
        told += 1;
        if !alone.contains(&words[1].as_str()) && words[1] != "doctor" {
            let mut command = evenhand_tests::run::command(&words[1..]);
            // A study is there already.
            if words[1..].starts_with(&["study".to_owned(), "new".to_owned()]) {
                fs::remove_file(folder.path("my.study")).unwrap();
            }
            let ran = Run::of(command.current_dir(folder.as_ref()), Vec::new());
            assert_eq!(ran.code, code::DONE, "{example}: {ran:?}");
            run += 1;
        }
    }
    assert!(told > 20 && run > 10, "{told} examples, {run} run");
}

/// What a parser of numbers says of its own tells nobody what to write.
#[test]
fn what_is_wrong_with_a_command_line_is_told_in_words() {
    let mut asked = 0;
    for (path, command) in commands() {
        for argument in command.get_opts() {
            let Some(name) = argument.get_long().filter(|_| argument.get_action().takes_values())
            else {
                continue;
            };
            for value in ["x7", "-3", "99999999999999999999", ""] {
                let line =
                    [&["evenhand".to_owned()], &path[..], &[format!("--{name}={value}")]].concat();
                let Err(error) = Cli::try_parse_from(&line) else { continue };
                let said = error.to_string();
                for parsers in [
                    "invalid digit",
                    "too large to fit",
                    "cannot parse",
                    "not in 1..",
                    "empty string",
                ] {
                    assert!(!said.contains(parsers), "{line:?}: {said}");
                }
                asked += usize::from(said.contains("whole number"));
            }
        }
    }
    assert!(asked > 10, "{asked} were asked for a number");
    let run = evenhand(&["click", "--tempo", "fast"]);
    assert_eq!(run.code, code::USAGE);
    assert!(run.err.contains("write beats a minute as a whole number: 72"), "{run:?}");
}

#[test]
fn there_is_a_manual_page_for_every_command_and_completions_for_every_shell() {
    let folder = Folder::new();
    evenhand(&["manual", &folder.path("")]).done();
    for (path, _) in commands() {
        let name = [&["evenhand".to_owned()], &path[..]].concat().join("-");
        let Ok(page) = fs::read_to_string(folder.path(&format!("{name}.1"))) else {
            panic!("no page {name}.1");
        };
        assert!(page.contains("Example"), "{page}");
    }
    evenhand(&["manual", &folder.path("no-such")]).refused(code::OUTPUT, &["no-such", "folder"]);
    for shell in ["bash", "elvish", "fish", "powershell", "zsh"] {
        let script = evenhand(&["completions", shell]);
        for (path, _) in commands() {
            let last = path.last().map_or("evenhand", String::as_str);
            assert!(script.done().out.contains(last), "{shell}: {last}");
        }
    }
    // Bash itself takes it, and completes with it.
    let script = folder.write("evenhand.bash", evenhand(&["completions", "bash"]).out);
    let say = format!(
        ". '{script}'; COMP_WORDS=(evenhand study pl); COMP_CWORD=2; _evenhand evenhand pl study; \
         echo \"${{COMPREPLY[@]}}\""
    );
    let bash = std::process::Command::new("bash").args(["-c", &say]).output();
    // Not every system has one.
    if let Ok(bash) = bash {
        assert_eq!(String::from_utf8_lossy(&bash.stdout).trim(), "play", "{bash:?}");
    }
}
