//! Studies as MusicXML and back: nothing is lost that both can say.

use evenhand::import::{self, Choice};
use evenhand::study::{Piece, Study, gather, parse};
use evenhand::{export, score};
use std::fs;
use std::path::PathBuf;

fn study(text: &str) -> Study {
    parse(text).unwrap_or_else(|problems| panic!("{text}\n{problems:?}"))
}

fn whole(study: &Study) -> Piece {
    export::whole(study, None).unwrap_or_else(|problems| panic!("{problems:?}")).piece
}

/// The study that comes back.
fn there_and_back(study: &Study) -> Study {
    let whole = export::whole(study, None).unwrap_or_else(|problems| panic!("{problems:?}"));
    let text = export::musicxml(&whole);
    let score = score::read(text.as_bytes()).unwrap_or_else(|error| panic!("{error}\n{text}"));
    let back = import::study(&score, &Choice::default(), "untitled").expect("a study");
    assert_eq!(back.left_out, [""; 0], "{text}");
    back.study
}

/// Both are the same music for the same hands. Voices may be called and counted otherwise.
fn assert_same(study: &Study, what: &str) {
    let back = there_and_back(study);
    let (was, is) = (whole(study), whole(&back));
    let notes = |piece: &Piece| -> Vec<_> {
        let plain = piece.notes.iter().map(|note| {
            let mut note = *note;
            note.voice = 0;
            note
        });
        plain.zip(piece.hand.clone()).collect()
    };
    for ((was, was_hand), (mut is, mut is_hand)) in notes(&was).into_iter().zip(notes(&is)) {
        if was.string.is_none() {
            // A pitch without a string comes back with a first guess.
            (is.string, is_hand.fret, is_hand.trill_fret) = (None, None, was_hand.trill_fret);
        }
        assert_eq!((was, was_hand), (is, is_hand), "{what}");
    }
    assert_eq!((was.notes.len(), &was.bars), (is.notes.len(), &is.bars), "{what}");
    assert_eq!(study.title.as_deref().unwrap_or("untitled"), back.title.unwrap(), "{what}");
    let tuning = |study: &Study| study.tuning.clone().map(|tuning| tuning.value);
    let capo = |study: &Study| study.capo.map_or(0, |capo| capo.value);
    let standard = study.tuning.as_ref().is_some_and(|tuning| {
        let names: Vec<String> = tuning.iter().map(ToString::to_string).collect();
        names.join(" ") == "E2 A2 D3 G3 B3 E4"
    });
    assert_eq!(tuning(study).filter(|_| !standard), back.tuning.map(|tuning| tuning.value));
    assert_eq!(capo(study), back.capo.map_or(0, |capo| capo.value), "{what}");
}

fn folder(name: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("..").join(name)
}

#[test]
fn every_study_of_ours_comes_back_as_it_was() {
    let mut tried = 0;
    for name in ["fixtures/studies", "tests/studies"] {
        for entry in fs::read_dir(folder(name)).expect("it is there").flatten() {
            let path = entry.path();
            if path.extension().is_none_or(|ending| ending != "study") {
                continue;
            }
            let study = study(&fs::read_to_string(&path).expect("it is text"));
            let gathered =
                if study.music.is_empty() { gather(&study).unwrap().study } else { study };
            // Chunks that have their own music are not in what is exported.
            if gathered.music.is_empty() {
                continue;
            }
            assert_same(&gathered, &path.display().to_string());
            tried += 1;
        }
    }
    assert!(tried >= 4, "{tried}");
}

#[test]
fn everything_that_both_can_say_comes_back() {
    let text = "evenhand study 2\n\
        title Fish & <chips>\n\
        tuning D2 A2 D3 G3 B3 E4\n\
        capo 3\n\
        metre 6/8\n\
        tempo 72\n\
        figure waves: 1/8 1st(p) 2nd(i) 3rd(m)\n\
        music at bar 0 beat 2 plus 1/8\n\
        \x20 melody: 1/8 2:1(1 m) 2:3(4 a) |\n\
        \x20 bar 1\n\
        \x20 melody: shift VII 1/8 1:7(1 m) ^1:8(2) ^1:7 shift 2:2(3 short) barre II 1:2(1 accent) 1:5 |\n\
        \x20 bass: 1/2. 6:0(p hold) |\n\
        \x20 bar 2\n\
        \x20 melody: 1/4. 2:3(trill 5) 3in2[ 1/8 2:1 2:3 2:5 ] 1/8 tie |\n\
        \x20 bass: waves 5:3+4:2+3:0 1/4. rolled 5:0+4:2+3:2(3 i) |\n\
        \x20 bar 3\n\
        \x20 metre 3/4\n\
        \x20 tempo 50\n\
        \x20 melody: 1/4 Bb3 5in4[ 1/16 C#4 D4 rest E4 F#4 ] 1/4 2:0(trill 3) |\n\
        \x20 bar 4\n\
        \x20 melody: as bar 3 |\n\
        chunk \"All\" bar 1\n";
    assert_same(&study(text), "everything");
}

#[test]
fn a_tempo_that_is_asked_for_holds_throughout() {
    let text = "evenhand study 2\nmusic\n  m: 1/1 1:0 |\n  bar 2\n  tempo 90\n  m: 1/1 1:0 |\nchunk \"A\" bar 1\n";
    let tempo = evenhand_core::units::Tempo::from_micros_per_quarter(1_000_000);
    let whole = export::whole(&study(text), tempo).unwrap();
    assert!(whole.piece.bars.iter().all(|bar| Some(bar.tempo) == tempo));
    let xml = export::musicxml(&whole);
    assert_eq!(
        (xml.matches("<per-minute>60</per-minute>").count(), xml.matches("per-minute").count()),
        (1, 2)
    );
}

/// Whoever draws tablature has to know where the second half of a tied note stands.
#[test]
fn every_note_of_the_tablature_has_its_string_and_fret() {
    let text =
        "evenhand study 2\n\nmusic\n  a: 1/1 2:3 |\n  a: 1/1 tie |\n\nchunk \"A\" bars 1 to 2\n";
    let written = export::musicxml(&export::whole(&study(text), None).unwrap());
    let tablature = written.matches("<staff>2</staff>").count();
    assert_eq!(tablature, 2);
    assert_eq!(written.matches("<string>2</string><fret>3</fret>").count(), tablature);
}
