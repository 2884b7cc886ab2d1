//! Scores in MusicXML that are none, or that are made to do harm.

use crate::bad_input::{MOST, SECONDS, no_study_comes_of};
use evenhand_tests::run::{Folder, Run, bounded_in_time, bundled, code, evenhand};
use std::io::{Cursor, Write};
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, ZipWriter};

const HEAD: &str = "<?xml version=\"1.0\"?>\n<score-partwise version=\"4.0\"><part-list>\
    <score-part id=\"P\"><part-name>Guitar</part-name></score-part></part-list><part id=\"P\">";
const TAIL: &str = "</part></score-partwise>";

const NOTE: &str =
    "<note><pitch><step>E</step><octave>4</octave></pitch><duration>1</duration></note>";

fn score(bars: &str) -> String {
    format!("{HEAD}{bars}{TAIL}")
}

/// A packed score of these files.
fn packed(files: &[(&str, &[u8])]) -> Vec<u8> {
    let mut zip = ZipWriter::new(Cursor::new(Vec::new()));
    let options = SimpleFileOptions::default().compression_method(CompressionMethod::Deflated);
    for (name, content) in files {
        zip.start_file(*name, options).unwrap();
        zip.write_all(content).unwrap();
    }
    zip.finish().unwrap().into_inner()
}

const CONTAINER: (&str, &[u8]) = (
    "META-INF/container.xml",
    b"<container><rootfiles><rootfile full-path=\"score.xml\"/></rootfiles></container>",
);

/// Ten of them, each with a word of what is said.
fn hostile() -> Vec<(&'static str, Vec<u8>, &'static str)> {
    let entities: String =
        (0..30).map(|n| format!("<!ENTITY e{} \"&e{n};&e{n};&e{n};&e{n};\">", n + 1)).collect();
    let bombs = format!("<!DOCTYPE a [<!ENTITY e0 \"ha\">{entities}]><a>&e30;</a>");
    let long = "x".repeat(100_000);
    let one_entity = format!("<!DOCTYPE a [<!ENTITY e \"{long}\">]><a>{}</a>", "&e;".repeat(3_000));
    let outside = "<!DOCTYPE a [<!ENTITY e SYSTEM \"file:///etc/passwd\">]><a>&e;</a>".to_owned();
    let deep = format!("{}{}", "<a>".repeat(100_000), "</a>".repeat(100_000));
    let many = format!("<score-partwise>{}</score-partwise>", "<a/>".repeat(2_500_000));
    let attributes: String = (0..1_000_000).map(|n| format!(" a{n}='' ")).collect();
    let for_ever = score(&format!(
        "<measure number=\"1\">{NOTE}<barline><repeat direction=\"backward\" times=\"4000000000\"/>\
         </barline></measure>"
    ));
    let zeros = vec![b' '; 200 * 1024 * 1024];
    let bomb = packed(&[CONTAINER, ("score.xml", &zeros)]);
    let mut lies = packed(&[CONTAINER, ("score.xml", score("").as_bytes())]);
    let end = lies.len() - 22;
    lies[end + 8..end + 12].copy_from_slice(&[0xff, 0xff, 0xff, 0xff]);
    vec![
        ("bombs.xml", bombs.into_bytes(), "declares a document type"),
        ("one-entity.xml", one_entity.into_bytes(), "declares a document type"),
        ("outside.xml", outside.into_bytes(), "declares a document type"),
        ("deep.xml", deep.into_bytes(), "more than 40 deep"),
        ("many.xml", many.into_bytes(), "larger than a score"),
        ("attributes.xml", format!("<score-partwise{attributes}/>").into_bytes(), "larger"),
        ("for-ever.xml", for_ever.into_bytes(), "more than 9999 bars"),
        ("bomb.mxl", bomb, "larger than a score"),
        ("lies.mxl", lies, "more than 200 files"),
        ("zeros.xml", zeros[..20 * 1024 * 1024].to_vec(), "larger than 12 MiB"),
    ]
}

#[test]
fn files_made_to_do_harm_are_refused_at_once_and_in_little_memory() {
    no_study_comes_of(hostile());
    let folder = Folder::new();
    // The same bounds are enough for what is right.
    let right = bundled("scores/two-lamps.musicxml");
    let out = folder.path("right.study");
    let arguments = ["study", "import", &right, "--out", &out];
    let run = Run::of(&mut bounded_in_time(MOST, SECONDS, &arguments), Vec::new());
    run.done();
}

/// Wherever a score is cut or a letter of it is changed, it is read or refused in words.
#[test]
fn a_damaged_score_is_read_or_refused() {
    let text = std::fs::read(bundled("scores/two-lamps.musicxml")).unwrap();
    let mxl = packed(&[CONTAINER, ("score.xml", &text)]);
    assert!(evenhand::score::read(&mxl).is_ok());
    let mut refused = 0;
    for content in [text, mxl] {
        for at in (0..content.len()).step_by(7) {
            refused += usize::from(evenhand::score::read(&content[..at]).is_err());
            for byte in [0, b'<', b'9', 0xff] {
                let mut changed = content.clone();
                changed[at] = byte;
                if let Ok(score) = evenhand::score::read(&changed) {
                    // Whatever comes of it, it is told and does not stop the program.
                    let _ = evenhand::import::study(&score, &Default::default(), "damaged");
                }
            }
        }
    }
    assert!(refused > 1_000, "{refused}");
}

#[test]
fn what_lacks_is_said_with_what_to_do() {
    let folder = Folder::new();
    let out = folder.path("out.study");
    let import = |name: &str, content: &[u8], more: &[&str]| {
        let path = folder.write(name, content);
        let arguments = [&["study", "import", path.as_str(), "--out", out.as_str()], more].concat();
        evenhand(&arguments)
    };
    let two = |a: &str, b: &str| {
        format!(
            "<score-partwise><part-list><score-part id='A'><part-name>{a}</part-name></score-part>\
             <score-part id='B'><part-name>{b}</part-name></score-part></part-list>\
             <part id='A'><measure number='1'>{NOTE}</measure></part>\
             <part id='B'><measure number='1'>{}</measure></part></score-partwise>",
            NOTE.replace('E', "G")
        )
    };
    let duet = two("First lamp", "Second lamp");
    let words = ["several parts: 1 “First lamp” and 2 “Second lamp”", "--part"];
    import("duet.xml", duet.as_bytes(), &[]).refused(code::USAGE, &words);
    import("duet.xml", duet.as_bytes(), &["--part", "third"])
        .refused(code::USAGE, &["no part “third”", "1 “First lamp”"]);
    import("duet.xml", duet.as_bytes(), &["--part", "2", "--bars", "3-4"])
        .refused(code::USAGE, &["no bars 3 to 4", "bars 1 to 1"]);
    import("duet.xml", duet.as_bytes(), &["--part", "2", "--voice", "9"])
        .refused(code::USAGE, &["no voice “9” there; it has 1"]);
    import("duet.xml", duet.as_bytes(), &["--part", "second"]).done();
    let over = import("duet.xml", duet.as_bytes(), &["--part", "second"]);
    over.refused(code::OUTPUT, &["is there already", "--replace"]);
    let none = score("<measure number='1'><note><rest/><duration>4</duration></note></measure>");
    let replace = ["--replace"];
    import("none.xml", none.as_bytes(), &replace).refused(code::INPUT, &["no notes", "--part"]);
    import("empty.xml", b"", &replace).refused(code::INPUT, &["no score in MusicXML"]);
    import("html.xml", b"<html/>", &replace).refused(code::INPUT, &["“html”"]);
    import("cut.xml", HEAD.as_bytes(), &replace)
        .refused(code::INPUT, &["damaged", "export it again"]);
    let odd = score("<measure number='7'><note><rest/><duration>long</duration></note></measure>");
    import("odd.xml", odd.as_bytes(), &replace)
        .refused(code::INPUT, &["part “Guitar”, bar 7", "“long”"]);
    let study = bundled("studies/small.study");
    evenhand(&["study", "import", &study, "--out", &out, "--replace"])
        .refused(code::INPUT, &["no score in MusicXML"]);
    evenhand(&["study", "import", &study, "--out", &study]).refused(code::USAGE, &["itself"]);
}
