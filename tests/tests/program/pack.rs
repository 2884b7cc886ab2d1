//! `evenhand pack`, and the format that `docs/pack-format.md` specifies.

use evenhand_core::limits::EXPECTED_NOTES;
use evenhand_core::pack::{ChunkParts, Pack, PackWriter, Part};
use evenhand_core::practice::{Piece, PracticeVariant, Rules, Task};
use evenhand_core::study::{ExpectedNote, Metre};
use evenhand_core::tolerance::{PracticeLevel, Tolerances};
use evenhand_core::units::{GuitarString, Pitch, Tempo, Ticks};
use evenhand_tests::program::workspace;
use evenhand_tests::run::{Folder, Run, bundled, code, evenhand};
use std::process::{Command, Stdio};

fn document(name: &str) -> String {
    std::fs::read_to_string(workspace().join("docs").join(name)).unwrap()
}

/// The bytes of the example in a document: hexadecimal, between the fences under its heading.
fn example(text: &str) -> Vec<u8> {
    let after = text.split("## Example").nth(1).expect("it has an example");
    let block = after.split("```").nth(1).expect("between fences");
    let words = block.split_whitespace();
    words.map(|word| u8::from_str_radix(word, 16).expect("hexadecimal")).collect()
}

/// The pack that the document describes in words.
fn described() -> Vec<u8> {
    let quarter = Ticks::new(Ticks::PER_QUARTER);
    let note = ExpectedNote {
        string: GuitarString::new(1),
        ..ExpectedNote::plain(Ticks::ZERO, quarter, Pitch::new(64).unwrap())
    };
    let mut bytes = vec![0; 256];
    let mut writer = PackWriter::new(&mut bytes, 0x0102_0304_0506_0708, "T", 1).unwrap();
    writer
        .chunk(&ChunkParts {
            name: "A",
            goal: Tempo::from_beats_per_minute(60, quarter).unwrap(),
            metre: Metre::FOUR_FOUR,
            rules: Rules::of(PracticeLevel::Steady),
            tolerances: Tolerances::of(PracticeLevel::Steady),
            splits: false,
            varies: false,
            joins_next: false,
            voices: &[0],
            fingerings: 0,
        })
        .unwrap();
    writer.fingering("", |_| false).unwrap();
    let part = Part { first_bar: 1, into_first_bar: Ticks::ZERO, length: quarter, notes: &[note] };
    writer.part(&part).unwrap();
    writer.finish().unwrap().bytes().to_vec()
}

#[test]
fn the_example_in_the_document_is_right() {
    let bytes = example(&document("pack-format.md"));
    assert_eq!(described(), bytes, "\n{}", hexadecimal(&described()));
    let pack = Pack::open(&bytes).unwrap();
    assert_eq!((pack.title(), pack.name(0)), ("T", Some("A")));
    let task =
        Task { piece: Piece::Chunk(0), way: PracticeVariant::AsWritten, tempo: Tempo::SLOWEST };
    let mut notes = heapless::Vec::<_, EXPECTED_NOTES>::new();
    let chunk = pack.music(task, |_| 0, &mut notes).unwrap();
    assert_eq!(chunk.notes()[0].pitch.number(), 64);
}

fn hexadecimal(bytes: &[u8]) -> String {
    let lines = bytes
        .chunks(16)
        .map(|line| line.iter().map(|byte| format!("{byte:02x}")).collect::<Vec<_>>().join(" "));
    lines.collect::<Vec<_>>().join("\n")
}

/// The length and the checksum of the demo study's pack: a change of the format, or of how
/// pieces are built, shows here.
const GOLDEN: (usize, u32) = (7_699, 1_415_772_380);

#[test]
fn the_demo_study_makes_the_pack_that_it_made() {
    let folder = Folder::new();
    let file = folder.path("quay.pack");
    let study = bundled("studies/lantern-quay.study");
    let run = evenhand(&["pack", &study, "--out", &file]);
    let bytes = std::fs::read(&file).unwrap();
    let pack = Pack::open(&bytes).unwrap();
    assert_eq!((bytes.len(), pack.checksum()), GOLDEN);
    assert!(run.done().out.contains(&format!("{} bytes", bytes.len())), "{run:?}");
    let text = std::fs::read_to_string(&study).unwrap();
    assert_eq!(format!("{:016x}", pack.study()), evenhand::log::hash(&text));
    let size = thousands(bytes.len());
    assert!(document("pack-format.md").contains(&size), "the document states another size");
}

/// `12,345`.
fn thousands(number: usize) -> String {
    format!("{},{:03}", number / 1_000, number % 1_000)
}

#[test]
fn a_pack_stands_beside_its_study_and_says_so() {
    let folder = Folder::new();
    let text = std::fs::read_to_string(bundled("studies/small.study")).unwrap();
    let study = folder.write("mine.study", text);
    let run = evenhand(&["pack", &study, "--events"]);
    let made = run.done().events().into_iter().find(|event| event["kind"] == "pack").unwrap();
    let bytes = std::fs::read(folder.path("mine.pack")).unwrap();
    assert_eq!(made["bytes"], bytes.len());
    evenhand(&["pack", &study, "--out", &study]).refused(code::USAGE, &["study itself"]);
    evenhand(&["pack", &bundled("damaged/typos.study")]).refused(code::STUDY, &["problems"]);
    let nowhere = folder.path("no/such/folder.pack");
    evenhand(&["pack", &study, "--out", &nowhere]).refused(code::OUTPUT, &["cannot write"]);
}

/// The names in a folder, in order.
fn names(folder: &Folder) -> Vec<String> {
    let entries = std::fs::read_dir(folder.as_ref()).unwrap();
    let mut names: Vec<String> =
        entries.map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned()).collect();
    names.sort();
    names
}

fn small() -> String {
    std::fs::read_to_string(bundled("studies/small.study")).unwrap()
}

/// Whatever name of its it is asked for by, and however much it is meant.
#[cfg(unix)]
#[test]
fn a_study_is_never_overwritten_by_its_pack() {
    let folder = Folder::new();
    let study = folder.write("mine.study", small());
    let (link, hard) = (folder.path("link.study"), folder.path("hard.study"));
    std::os::unix::fs::symlink(&study, &link).unwrap();
    std::fs::hard_link(&study, &hard).unwrap();
    let inside = folder.path("inside");
    std::fs::create_dir(&inside).unwrap();
    let around = format!("{inside}/../mine.study");
    for out in [&study, &link, &hard, &around] {
        for (from, more) in [(&study, &[][..]), (&study, &["--replace"]), (&link, &["--replace"])] {
            let run = evenhand(&[&["pack", from, "--out", out], more].concat());
            run.refused(code::USAGE, &["is the study itself", "--out FILE"]);
            assert_eq!(std::fs::read_to_string(&study).unwrap(), small(), "{out}");
        }
    }
    assert_eq!(names(&folder), ["hard.study", "inside", "link.study", "mine.study"]);
}

#[test]
fn a_file_that_is_there_stays_unless_it_is_meant() {
    let folder = Folder::new();
    let study = folder.write("mine.study", small());
    let other = folder.write("other.study", "another study");
    evenhand(&["pack", &study, "--out", &other])
        .refused(code::OUTPUT, &["other.study is there already", "--replace"]);
    assert_eq!(std::fs::read(&other).unwrap(), b"another study");
    evenhand(&["pack", &study]).done();
    let made = std::fs::read(folder.path("mine.pack")).unwrap();
    evenhand(&["pack", &study]).refused(code::OUTPUT, &["mine.pack is there already"]);
    evenhand(&["pack", &study, "--out", &other, "--replace"]).done();
    assert_eq!(std::fs::read(&other).unwrap(), made);
    let folder_there = folder.path("");
    evenhand(&["pack", &study, "--out", &folder_there, "--replace"])
        .refused(code::OUTPUT, &["is a folder"]);
    assert_eq!(names(&folder), ["mine.pack", "mine.study", "other.study"]);
}

/// What leads nowhere is not made a file of by following it.
#[cfg(unix)]
#[test]
fn links_are_not_followed_into_nowhere() {
    let folder = Folder::new();
    let study = folder.write("mine.study", small());
    let (link, gone) = (folder.path("link.pack"), folder.path("gone"));
    std::os::unix::fs::symlink(&gone, &link).unwrap();
    for more in [&[][..], &["--replace"]] {
        evenhand(&[&["pack", &study, "--out", &link], more].concat())
            .refused(code::OUTPUT, &["link.pack", "leads nowhere"]);
    }
    assert!(!std::path::Path::new(&gone).exists());
    // What a link leads to is replaced, and the link stays.
    std::fs::write(&gone, "old").unwrap();
    evenhand(&["pack", &study, "--out", &link, "--replace"]).done();
    assert!(Pack::open(&std::fs::read(&gone).unwrap()).is_ok());
    assert!(std::fs::symlink_metadata(&link).unwrap().is_symlink());
}

/// Files may not grow beyond some length, as on a full disk.
#[cfg(unix)]
#[test]
fn on_a_full_disk_nothing_half_written_is_left() {
    let folder = Folder::new();
    let study = folder.write("mine.study", small());
    let old = folder.write("old.pack", "an older pack");
    for arguments in [&["--out", &old, "--replace"][..], &[]] {
        let mut limited = Command::new("sh");
        // The signal would end the program; without it, writing fails. A block has 512 bytes.
        limited.args(["-c", "trap '' XFSZ; ulimit -f 1; exec \"$@\"", "sh"]);
        limited.arg(evenhand_tests::program::path()).args(["pack", &study]).args(arguments);
        let run = Run::of(limited.stdout(Stdio::piped()), Vec::new());
        run.refused(code::OUTPUT, &["cannot write", "disk is full"]);
        assert_eq!(names(&folder), ["mine.study", "old.pack"]);
        assert_eq!(std::fs::read(&old).unwrap(), b"an older pack");
    }
}

/// A pack may be read by whom the user lets read new files, and a replaced one by whom its
/// predecessor could be read.
#[cfg(unix)]
#[test]
fn who_may_read_a_pack_is_the_users_to_say() {
    use std::os::unix::fs::PermissionsExt;
    let folder = Folder::new();
    let study = folder.write("mine.study", small());
    let file = folder.path("mine.pack");
    let pack = |mask: &str, more: &[&str]| {
        let mut masked = Command::new("sh");
        masked.args(["-c", &format!("umask {mask}; exec \"$@\""), "sh"]);
        masked.arg(evenhand_tests::program::path()).args(["pack", &study]).args(more);
        Run::of(masked.stdout(Stdio::piped()), Vec::new())
    };
    let mode = || std::fs::metadata(&file).unwrap().permissions().mode() & 0o777;
    pack("027", &[]).done();
    assert_eq!(mode(), 0o640);
    pack("022", &["--replace"]).done();
    assert_eq!(mode(), 0o640);
    std::fs::set_permissions(&file, std::fs::Permissions::from_mode(0o444)).unwrap();
    pack("022", &["--replace"]).refused(code::OUTPUT, &["mine.pack may only be read"]);
}
