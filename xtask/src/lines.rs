//! `cargo xtask lines`: how many lines of production code there are, crate by crate. Comments, blank
//! lines, tests, examples and benchmarks are not counted.

use crate::places;
use crate::process::{Stop, say};
use std::fs;
use std::path::Path;

/// The crates that are shipped, each with its folder. Tests and tools are not.
const SHIPPED: [(&str, &str); 5] = [
    ("core", "core/src"),
    ("the program", "host-cli/src"),
    ("the pedal", "firmware-example/pedal/src"),
    ("the emulated board", "firmware-example/boards/mps2/src"),
    ("the boards that people build", "firmware-example/boards/pico/src"),
];

/// Says how many lines each crate has, and all of them.
pub fn lines() -> Result<(), Stop> {
    let mut all = 0;
    for (name, folder) in SHIPPED {
        let count = count_in(&places::root().join(folder))?;
        say(&format!("{count:7}  {name}"));
        all += count;
    }
    say(&format!("{all:7}  all"));
    Ok(())
}

fn count_in(folder: &Path) -> Result<usize, Stop> {
    let entries = fs::read_dir(folder).map_err(Stop::file(folder))?;
    let mut count = 0;
    for entry in entries {
        let path = entry.map_err(Stop::file(folder))?.path();
        if path.file_stem().is_some_and(|name| name == "tests") {
            continue;
        }
        if path.is_dir() {
            count += count_in(&path)?;
        } else if path.extension().is_some_and(|extension| extension == "rs") {
            count += production(&fs::read_to_string(&path).map_err(Stop::file(&path))?);
        }
    }
    Ok(count)
}

/// The lines of production code in a file.
pub fn production(text: &str) -> usize {
    let code = without_tests(&without_comments(text));
    code.lines().filter(|line| !line.trim().is_empty()).count()
}

/// The text without line comments and without what stands in strings.
pub fn without_comments(text: &str) -> String {
    let mut kept = String::new();
    for line in text.lines() {
        let mut in_string = false;
        let mut before = ' ';
        for (at, c) in line.char_indices() {
            if !in_string && line[at..].starts_with("//") {
                break;
            }
            if c == '"' && before != '\\' && before != '\'' {
                in_string = !in_string;
            }
            if !in_string {
                kept.push(c);
            }
            before = c;
        }
        kept.push('\n');
    }
    kept
}

/// The text without each item after `#[cfg(test)]`: to its closing brace, or to its semicolon.
pub fn without_tests(text: &str) -> String {
    let mut parts = text.split("#[cfg(test)]");
    let mut kept = parts.next().unwrap_or_default().to_owned();
    for part in parts {
        let mut depth = 0_u32;
        let end = part.char_indices().find(|(_, c)| {
            match c {
                '{' => depth += 1,
                '}' => depth = depth.saturating_sub(1),
                _ => {}
            }
            depth == 0 && matches!(c, '}' | ';')
        });
        kept.push_str(end.map_or("", |(at, _)| &part[at + 1..]));
    }
    kept
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn comments_blank_lines_and_tests_do_not_count() {
        let text = "//! What it is.\n\nuse a::b; // why\n\nfn f() {\n    g(\"// no comment\");\n}\n\n\
                    #[cfg(test)]\nmod tests {\n    fn t() {}\n}\n#[cfg(test)]\nmod other;\nfn h() {}\n";
        assert_eq!(production(text), 5);
    }
}
