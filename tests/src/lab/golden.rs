//! Tables that are kept: `tests/golden`.

use crate::program::workspace;

/// A kept text; empty if there is none.
pub fn kept(name: &str) -> String {
    std::fs::read_to_string(workspace().join("tests/golden").join(name)).unwrap_or_default()
}

/// Compares a text with the kept one; with `EVENHAND_BLESS=1` keeps it first. Gives the lines that
/// changed; empty if none did.
///
/// # Panics
/// If the file cannot be read or written.
pub fn compare(name: &str, text: &str) -> String {
    let path = workspace().join("tests/golden").join(name);
    if std::env::var_os("EVENHAND_BLESS").is_some() {
        std::fs::create_dir_all(path.parent().expect("a folder")).expect("a folder for it");
        std::fs::write(&path, text).expect("the table can be written");
    }
    let before = std::fs::read_to_string(&path)
        .unwrap_or_else(|error| panic!("{} cannot be read: {error}", path.display()));
    if before == text {
        return String::new();
    }
    let pairs = before.lines().zip(text.lines()).filter(|(before, now)| before != now);
    let changes: String = pairs.map(|(before, now)| format!("-{before}\n+{now}\n")).collect();
    let (before, now) = (before.lines().count(), text.lines().count());
    format!("{changes}({before} lines before, {now} now)\n")
}
