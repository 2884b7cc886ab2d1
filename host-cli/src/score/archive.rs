//! Packed scores (`.mxl`): a zip archive, of which `META-INF/container.xml` says where the score lies.
//!
//! Sizes that an archive states are not believed: what is read is bounded.

use super::guard::{self, LARGEST};
use super::refusal::Refusal;
use roxmltree::Document;
use std::io::{Cursor, Read};
use zip::ZipArchive;

/// How an archive begins (ZIP, APPNOTE 4.3.7).
pub(super) const BEGINS: &[u8] = b"PK\x03\x04";

/// How the record at its end begins (4.3.16), how long it is, and how long a comment after it may be.
const END: &[u8] = b"PK\x05\x06";
const END_BYTES: usize = 22;
const LONGEST_COMMENT: usize = 65_535;

/// The most files in an archive. Our default: a score, its container, and pictures.
const MOST_FILES: u16 = 200;

/// Where the container lies (MusicXML 4.0, compressed files).
const CONTAINER: &str = "META-INF/container.xml";

/// The score in an archive.
pub(super) fn unpacked(content: &[u8]) -> Result<Vec<u8>, Refusal> {
    let packed = |what: String| Refusal::Packed(what);
    few_files(content)?;
    let mut archive =
        ZipArchive::new(Cursor::new(content)).map_err(|error| packed(error.to_string()))?;
    let name = match file(&mut archive, CONTAINER) {
        Ok(container) => root_file(&container)?,
        // Some programs leave the container out.
        Err(_) => archive
            .file_names()
            .find(|name| is_score(name))
            .map(str::to_owned)
            .ok_or_else(|| packed("there is no score in it".to_owned()))?,
    };
    file(&mut archive, &name)
}

/// The list of files is read as a whole, so how long it is said to be must be bounded before.
fn few_files(content: &[u8]) -> Result<(), Refusal> {
    let from = content.len().saturating_sub(END_BYTES + LONGEST_COMMENT);
    let tail = &content[from..];
    let ends = tail.windows(END.len()).rposition(|window| window == END);
    let count = ends.and_then(|at| tail.get(at + 10..at + 12));
    let Some(&[low, high]) = count else {
        return Err(Refusal::Packed("it has no end, so it was cut short".to_owned()));
    };
    // A count of all ones stands for a larger one elsewhere.
    match u16::from_le_bytes([low, high]) {
        files if files > MOST_FILES => {
            Err(Refusal::Packed(format!("it says to hold more than {MOST_FILES} files")))
        }
        _ => Ok(()),
    }
}

fn is_score(name: &str) -> bool {
    let name = name.to_ascii_lowercase();
    !name.starts_with("meta-inf") && (name.ends_with(".xml") || name.ends_with(".musicxml"))
}

fn file(archive: &mut ZipArchive<Cursor<&[u8]>>, name: &str) -> Result<Vec<u8>, Refusal> {
    let failed = |error: String| Refusal::Packed(format!("{name}: {error}"));
    let inside = archive.by_name(name).map_err(|error| failed(error.to_string()))?;
    let mut content = Vec::new();
    let most = LARGEST as u64 + 1;
    inside.take(most).read_to_end(&mut content).map_err(|error| failed(error.to_string()))?;
    if content.len() > LARGEST { Err(Refusal::Large) } else { Ok(content) }
}

/// The first score that the container names.
fn root_file(container: &[u8]) -> Result<String, Refusal> {
    let broken = || Refusal::Packed(format!("{CONTAINER} names no score"));
    let text = guard::fit(&super::letters::text(container)?)?;
    let tree = Document::parse(&text).map_err(|_| broken())?;
    let files = tree.descendants().filter(|node| node.tag_name().name() == "rootfile");
    // Others are of other kinds: the same score as a picture, for instance.
    let is_score = |kind: &str| kind.contains("musicxml") && kind.contains("xml");
    let mut paths = files.filter_map(|node| {
        let kind = node.attribute("media-type");
        node.attribute("full-path").filter(|_| kind.is_none_or(is_score))
    });
    paths.next().map(str::to_owned).ok_or_else(broken)
}
