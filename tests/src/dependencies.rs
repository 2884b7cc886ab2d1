//! The libraries that are shipped inside the program, from `cargo metadata`: what licences they have,
//! where they come from, and the notices that go with them.

use crate::program::{cargo, workspace};
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;
use std::path::{Path, PathBuf};

/// The systems that the program is shipped for.
pub const SYSTEMS: [&str; 3] =
    ["x86_64-unknown-linux-gnu", "x86_64-pc-windows-msvc", "aarch64-apple-darwin"];

/// The file with the notices, in the workspace.
pub const NOTICES: &str = "THIRD-PARTY.txt";

/// One library.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Library {
    /// Its name.
    pub name: String,
    /// Its version.
    pub version: String,
    /// Its licence, as an SPDX expression.
    pub licence: String,
    /// Where cargo takes it from; none for our own.
    pub source: Option<String>,
    /// The oldest compiler that it promises to work with.
    pub rust_version: Option<String>,
    folder: PathBuf,
}

/// What is shipped in the program on one of its systems at least, without what only builds it.
///
/// # Panics
/// If cargo does not say.
pub fn shipped() -> BTreeSet<Library> {
    SYSTEMS.iter().flat_map(|system| on(system)).collect()
}

fn on(system: &str) -> BTreeSet<Library> {
    let output = cargo()
        .args(["metadata", "--format-version", "1", "--locked", "--filter-platform", system])
        .output()
        .expect("cargo can be started");
    let complaint = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "cargo metadata: {complaint}");
    let metadata: Value = serde_json::from_slice(&output.stdout).expect("cargo prints JSON");
    reached(&metadata, "evenhand")
}

fn text(value: &Value) -> String {
    value.as_str().unwrap_or_default().to_owned()
}

/// What the package of this name leads to by dependencies of the ordinary kind.
fn reached(metadata: &Value, root: &str) -> BTreeSet<Library> {
    let list = |value: &Value| value.as_array().cloned().unwrap_or_default();
    let packages: BTreeMap<String, Value> = list(&metadata["packages"])
        .into_iter()
        .map(|package| (text(&package["id"]), package))
        .collect();
    let nodes: BTreeMap<String, Value> =
        list(&metadata["resolve"]["nodes"]).into_iter().map(|n| (text(&n["id"]), n)).collect();
    let is_root = |package: &&Value| package["name"] == root && package["source"].is_null();
    let root = packages.values().find(is_root).expect("the package is in the workspace");
    let macros = |id: &str| {
        list(&packages[id]["targets"])
            .iter()
            .any(|target| list(&target["kind"]).contains(&"proc-macro".into()))
    };
    let mut waiting = vec![text(&root["id"])];
    let mut found = BTreeSet::new();
    while let Some(id) = waiting.pop() {
        // A macro makes source of ours, and neither it nor what it needs is in the program.
        if macros(&id) || !found.insert(id.clone()) {
            continue;
        }
        for dependency in list(&nodes[&id]["deps"]) {
            if list(&dependency["dep_kinds"]).iter().any(|kind| kind["kind"].is_null()) {
                waiting.push(text(&dependency["pkg"]));
            }
        }
    }
    let others = found.iter().map(|id| &packages[id]);
    others.filter(|package| !package["source"].is_null()).map(library).collect()
}

fn library(package: &Value) -> Library {
    let manifest = PathBuf::from(text(&package["manifest_path"]));
    Library {
        name: text(&package["name"]),
        version: text(&package["version"]),
        licence: text(&package["license"]),
        source: package["source"].as_str().map(str::to_owned),
        rust_version: package["rust_version"].as_str().map(str::to_owned),
        folder: manifest.parent().map_or_else(|| manifest.clone(), Path::to_path_buf),
    }
}

/// What `deny.toml` allows.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Allowed {
    /// Licences, the preferred first.
    pub licences: Vec<String>,
    /// Where libraries may come from.
    pub sources: Vec<String>,
}

impl Allowed {
    /// Reads it from the text of the file.
    pub fn read(text: &str) -> Self {
        Self { licences: strings(text, "allow"), sources: strings(text, "allow-registry") }
    }

    /// Reads it from the file.
    ///
    /// # Panics
    /// If there is none.
    pub fn kept() -> Self {
        Self::read(&std::fs::read_to_string(workspace().join("deny.toml")).expect("deny.toml"))
    }

    /// The allowed licences that the library may be shipped under, the preferred first; none if what
    /// it asks for is not allowed.
    pub fn licences_of(&self, library: &Library) -> Vec<&str> {
        let Ok(asked) = spdx::Expression::parse_mode(&library.licence, spdx::ParseMode::LAX) else {
            return Vec::new();
        };
        let grants = |licences: &[&str]| {
            asked.evaluate(|one| {
                let name = one.license.id().map(|id| id.name);
                name.is_some_and(|name| licences.contains(&name))
            })
        };
        let mut left: Vec<&str> = self.licences.iter().map(String::as_str).collect();
        if !grants(&left) {
            return Vec::new();
        }
        // What is not needed goes, the least preferred first.
        for at in (0..left.len()).rev() {
            let fewer: Vec<&str> =
                left.iter().enumerate().filter(|(i, _)| *i != at).map(|(_, name)| *name).collect();
            if grants(&fewer) {
                left = fewer;
            }
        }
        left
    }

    /// What is not allowed, a line each.
    pub fn faults<'l>(&self, libraries: impl IntoIterator<Item = &'l Library>) -> Vec<String> {
        let mut faults = Vec::new();
        for library in libraries {
            let Library { name, version, licence, source, .. } = library;
            if self.licences_of(library).is_empty() {
                faults.push(format!("{name} {version}: the licence {licence} is not allowed"));
            }
            let comes_from = source.as_deref().unwrap_or_default();
            let is_allowed = |one: &String| comes_from == format!("registry+{one}");
            if !self.sources.iter().any(is_allowed) {
                faults.push(format!("{name} {version}: the source {comes_from} is not allowed"));
            }
        }
        faults
    }
}

/// The strings in the list of this key: `key = ["a", "b"]`, on one line or several.
fn strings(text: &str, key: &str) -> Vec<String> {
    let without_comments: String = text
        .lines()
        .filter(|line| !line.trim_start().starts_with('#'))
        .fold(String::new(), |mut all, line| {
            all.push_str(line);
            all.push('\n');
            all
        });
    let start = format!("\n{key} = [");
    let Some((_, rest)) = without_comments.split_once(&start) else { return Vec::new() };
    let list = rest.split(']').next().unwrap_or_default();
    list.split('"').skip(1).step_by(2).map(str::to_owned).collect()
}

/// The notices of these libraries: which licence each is shipped under, and its text once for all
/// that have the same.
pub fn notices(libraries: &BTreeSet<Library>, allowed: &Allowed) -> String {
    let mut texts: BTreeMap<String, Vec<String>> = BTreeMap::new();
    let mut out = String::from(
        "Libraries of other people in the program `evenhand`, and their licences.\n\
         Made by `cargo xtask notices`; a test compares it with what is built.\n\n",
    );
    for library in libraries {
        let licences = allowed.licences_of(library);
        let title = format!("{} {}", library.name, library.version);
        let _ = writeln!(out, "{title}: {} (of {})", licences.join(" and "), library.licence);
        let mut found = licence_texts(&library.folder, &licences);
        if found.is_empty() {
            found.push("(The package holds no text of its licence.)\n".to_owned());
        }
        for text in found {
            texts.entry(text).or_default().push(title.clone());
        }
    }
    for (text, of) in texts {
        let _ = write!(out, "\n{}\n{}\n\n{text}", "-".repeat(78), of.join(", "));
    }
    out
}

/// The texts in a package that belong to these licences: those that are named after one of them, or
/// else whatever is there.
fn licence_texts(folder: &Path, licences: &[&str]) -> Vec<String> {
    let entries = std::fs::read_dir(folder).into_iter().flatten().flatten();
    let mut files: Vec<(String, PathBuf)> = entries
        .filter(|entry| entry.path().is_file())
        .map(|entry| (entry.file_name().to_string_lossy().to_uppercase(), entry.path()))
        .filter(|(name, _)| {
            ["LICENSE", "LICENCE", "COPYING", "NOTICE", "UNLICENSE"]
                .iter()
                .any(|start| name.starts_with(start))
        })
        .collect();
    files.sort();
    let is_named = |name: &str| {
        licences.iter().any(|licence| {
            let first = licence.split('-').next().unwrap_or_default().to_uppercase();
            name.contains(&first) || name.starts_with("NOTICE")
        })
    };
    if files.iter().any(|(name, _)| is_named(name)) {
        files.retain(|(name, _)| is_named(name));
    }
    let read = |(_, path): &(String, PathBuf)| std::fs::read(path).ok();
    files
        .iter()
        .filter_map(read)
        .map(|bytes| {
            let text = String::from_utf8_lossy(&bytes).replace('\r', "");
            let lines: Vec<&str> = text.trim().lines().map(str::trim_end).collect();
            format!("{}\n", lines.join("\n"))
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    fn library(licence: &str, source: &str) -> Library {
        Library {
            name: "one".to_owned(),
            version: "1.0.0".to_owned(),
            licence: licence.to_owned(),
            source: Some(source.to_owned()),
            rust_version: None,
            folder: PathBuf::new(),
        }
    }

    const RULES: &str = "[licenses]\n# allow = [\"no\"]\nallow = [\n  \"MIT\",\n  \"Apache-2.0\",\n  \
         \"Unicode-3.0\"]\n[sources]\nallow-registry = [\"https://there\"]\n";

    #[test]
    fn what_is_not_allowed_is_named() {
        let allowed = Allowed::read(RULES);
        assert_eq!(allowed.licences, ["MIT", "Apache-2.0", "Unicode-3.0"]);
        let there = "registry+https://there";
        let faults = |licence: &str, source: &str| allowed.faults([&library(licence, source)]);
        for licence in
            ["MIT", "MIT OR GPL-3.0", "MIT/Apache-2.0", "(GPL-2.0 OR MIT) AND Unicode-3.0"]
        {
            assert_eq!(faults(licence, there), Vec::<String>::new(), "{licence}");
        }
        for licence in ["GPL-3.0", "MIT AND GPL-3.0", "", "what I like"] {
            assert_eq!(faults(licence, there).len(), 1, "{licence}");
        }
        for source in ["registry+https://elsewhere", "git+https://there", ""] {
            assert_eq!(faults("MIT", source).len(), 1, "{source}");
        }
        assert_eq!(
            Allowed::read("").faults([&library("MIT", there)]).len(),
            2,
            "nothing is allowed"
        );
    }

    #[test]
    fn the_preferred_licence_is_taken_and_no_more_than_is_asked() {
        let allowed = Allowed::read(RULES);
        let taken = |licence: &str| allowed.licences_of(&library(licence, "")).join(", ");
        assert_eq!(taken("Apache-2.0 OR MIT"), "MIT");
        assert_eq!(taken("Apache-2.0"), "Apache-2.0");
        assert_eq!(taken("(MIT OR Apache-2.0) AND Unicode-3.0"), "MIT, Unicode-3.0");
    }

    #[test]
    fn what_only_builds_the_program_is_not_in_it() {
        let package = |name: &str, kind: &str, source: Value| {
            json!({"id": name, "name": name, "version": "1.0.0", "license": "MIT", "source": source,
                   "manifest_path": "/a/Cargo.toml", "targets": [{"kind": [kind]}]})
        };
        let to = |name: &str, kind: Value| json!({"pkg": name, "dep_kinds": [{"kind": kind}]});
        let metadata = json!({
            "packages": [package("ours", "bin", Value::Null), package("shipped", "lib", "r".into()),
                         package("builds", "lib", "r".into()), package("macros", "proc-macro", "r".into()),
                         package("inner", "lib", "r".into())],
            "resolve": {"nodes": [
                {"id": "ours", "deps": [to("shipped", Value::Null), to("builds", "build".into()),
                                        to("macros", Value::Null)]},
                {"id": "shipped", "deps": [to("inner", Value::Null)]},
                {"id": "builds", "deps": []}, {"id": "macros", "deps": []}, {"id": "inner", "deps": []}]}
        });
        let names: Vec<String> =
            reached(&metadata, "ours").into_iter().map(|one| one.name).collect();
        assert_eq!(names, ["inner", "shipped"]);
    }
}
