//! Whatever is printed reads back as the same study, and no text makes the reader stumble.

use evenhand::study::{
    Again, Allow, AlternativeText, ChunkText, FigureText, FigureUse, Item, Landing, LeftFinger,
    MOST_PROBLEMS, MetreText, Note, NoteValue, Part, PartEnd, PitchName, Plectrum, Position,
    Problem, Ratio, RightFinger, Section, Settings, Shift, Sound, Spanned, Spot, Start, Step,
    Study, TempoText, TimeAllowance, TrillTo, Tuplet, VoiceLine, parse, print,
};
use evenhand_core::tolerance::PracticeLevel;
use evenhand_core::units::{GuitarString, Level, Offset};
use proptest::collection::vec;
use proptest::option::of;
use proptest::prelude::*;
use proptest::sample::select;
use proptest::test_runner::RngSeed;

fn config(cases: u32) -> ProptestConfig {
    ProptestConfig {
        cases,
        failure_persistence: None,
        rng_seed: RngSeed::Fixed(1_072),
        ..ProptestConfig::default()
    }
}

fn spanned<T: std::fmt::Debug>(s: impl Strategy<Value = T>) -> impl Strategy<Value = Spanned<T>> {
    s.prop_map(Spanned::from)
}

fn value() -> impl Strategy<Value = NoteValue> {
    (select(vec![1, 2, 4, 8, 16, 32, 64]), 0..=2_u8)
        .prop_filter_map("two dots on a 64th", |(part, dots)| NoteValue::new(part, dots))
}

fn pitch() -> impl Strategy<Value = PitchName> {
    (select(vec!['C', 'D', 'E', 'F', 'G', 'A', 'B']), -2..=2_i8, -1..=9_i8)
        .prop_filter_map("outside MIDI", |(letter, alter, octave)| {
            PitchName::new(letter, alter, octave)
        })
}

fn spot() -> impl Strategy<Value = Spot> {
    let fretted = (1..=8_u8, 0..=99_u8)
        .prop_filter_map("string", |(s, f)| Some(Spot::Fretted(GuitarString::new(s)?, f)));
    prop_oneof![fretted, pitch().prop_map(Spot::Named)]
}

fn note() -> impl Strategy<Value = Note> {
    let trill = prop_oneof![(0..=99_u8).prop_map(TrillTo::Fret), pitch().prop_map(TrillTo::Named),];
    let left = of(select(LeftFinger::ALL.to_vec()).prop_map(|(f, _)| f));
    let right = of(select(RightFinger::ALL.to_vec()).prop_map(|(f, _)| f));
    let flags = any::<[bool; 4]>();
    (spot(), left, right, of(trill), flags).prop_map(|(spot, left, right, trill, flags)| {
        let [slurred, hold, accent, short] = flags;
        Note { slurred, spot, left, right, trill, hold, accent, short }
    })
}

fn position() -> impl Strategy<Value = Position> {
    (1..=Position::HIGHEST).prop_filter_map("fret", Position::new)
}

fn sound() -> impl Strategy<Value = Sound> {
    let shift = of(of(position()).prop_map(|to| Shift { to }));
    (any::<bool>(), shift, of(position()), vec(spanned(note()), 1..5))
        .prop_map(|(rolled, shift, barre, notes)| Sound { rolled, shift, barre, notes })
}

fn step() -> impl Strategy<Value = Step> {
    prop_oneof![
        3 => value().prop_map(Step::Value),
        6 => sound().prop_map(Step::Sound),
        1 => Just(Step::Rest),
        1 => Just(Step::Tie),
    ]
}

fn item() -> impl Strategy<Value = Item> {
    let ratio = (2..=15_u8, 1..=16_u8).prop_filter_map("equal", |(n, m)| Ratio::new(n, m));
    let tuplet = (ratio, vec(spanned(step()), 1..5))
        .prop_map(|(ratio, steps)| Item::Tuplet(Tuplet { ratio, steps }));
    prop_oneof![6 => step().prop_map(Item::Step), 1 => Just(Item::Barline), 1 => tuplet]
}

/// What can stand in a figure.
fn of_figure() -> impl Strategy<Value = Item> {
    let number = (1..=8_u8).prop_map(|number| Note::plain(Spot::OfChord(number)));
    let sound = vec(spanned(prop_oneof![number, note()]), 1..4)
        .prop_map(|notes| Sound { notes, ..Sound::default() });
    prop_oneof![
        sound.prop_map(|sound| Item::Step(Step::Sound(sound))),
        value().prop_map(|v| Item::Step(Step::Value(v)))
    ]
}

const FIGURES: [&str; 2] = ["wave", "rolling-2"];

fn figures() -> impl Strategy<Value = Vec<FigureText>> {
    let note = Note::plain(Spot::OfChord(1));
    let figure = move |name: &'static str| {
        vec(spanned(of_figure()), 0..5).prop_map(move |mut items| {
            let sound = Sound { notes: vec![note.into()], ..Sound::default() };
            items.push(Item::Step(Step::Sound(sound)).into());
            FigureText { name: name.to_owned().into(), items }
        })
    };
    (figure(FIGURES[0]), figure(FIGURES[1])).prop_map(|(one, other)| vec![one, other])
}

/// What can stand in the music beside what can stand in a chunk.
fn again() -> impl Strategy<Value = Item> {
    let used = (select(FIGURES.to_vec()), sound()).prop_map(|(name, chord)| {
        Item::Figure(FigureUse { name: name.to_owned(), chord: Sound { rolled: false, ..chord } })
    });
    let bars = (0..=9_999_u16, 0..=9_999_u16, -24..=24_i8)
        .prop_map(|(a, b, higher)| Item::Again(Again { first: a.min(b), last: a.max(b), higher }));
    prop_oneof![used, bars]
}

fn start() -> impl Strategy<Value = Start> {
    (0..=9_999_u16, of(1..=32_u8), of(value())).prop_map(|(bar, beat, plus)| Start {
        bar,
        beat,
        plus,
    })
}

fn sections() -> impl Strategy<Value = Vec<Section>> {
    let line = (line(), vec(spanned(again()), 0..3)).prop_map(|(mut line, more)| {
        line.items.extend(more);
        line
    });
    let section =
        (spanned(start()), settings(), vec(line, 0..3)).prop_map(|(at, settings, lines)| Section {
            at,
            metre: settings.metre,
            tempo: settings.tempo,
            lines,
        });
    vec(section, 1..4).prop_map(|mut sections| {
        // Only the first may begin inside a bar.
        for section in &mut sections[1..] {
            section.at.value.beat = None;
            section.at.value.plus = None;
        }
        sections
    })
}

fn part() -> impl Strategy<Value = Part> {
    let whole = (0..=9_999_u16, 0..=9_999_u16)
        .prop_map(|(bar, last)| (Start { bar, beat: None, plus: None }, PartEnd::Bar(last)));
    let rest_of_bar = start().prop_map(|from| (from, PartEnd::Bar(from.bar)));
    let until = (start(), start()).prop_map(|(from, to)| (from, PartEnd::Until(to)));
    (prop_oneof![whole, rest_of_bar, until], vec("x[a-zäØ0-9_-]{0,6}", 0..3))
        .prop_map(|((from, to), voices)| Part { from, to, voices })
}

fn line() -> impl Strategy<Value = VoiceLine> {
    // None of our own words begins with x.
    (spanned("x[a-zäØ0-9_-]{0,6}"), vec(spanned(item()), 1..8))
        .prop_map(|(name, items)| VoiceLine { name, items })
}

fn name() -> impl Strategy<Value = String> {
    "[A-Za-z#(]([ -!#-~é’♯]{0,20}[a-z.#])?"
        .prop_map(|text| text.split_whitespace().collect::<Vec<_>>().join(" "))
}

fn time() -> impl Strategy<Value = TimeAllowance> {
    let offset = || (1_000..=1_000_000).prop_map(Offset::from_micros);
    prop_oneof![
        offset().prop_map(TimeAllowance::Time),
        (1..=2_000_u16).prop_map(TimeAllowance::Share),
        (offset(), 1..=2_000_u16).prop_map(|(t, s)| TimeAllowance::Either(t, s)),
    ]
}

fn allow() -> impl Strategy<Value = Vec<Spanned<Allow>>> {
    let level = || (10..=4_000_i16).prop_map(Level::from_hundredths);
    let part = || 1..=1_000_u16;
    let click = (-500_000..=500_000, -500_000..=500_000).prop_map(|(a, b): (i32, i32)| {
        Allow::ClickOffset(Offset::from_micros(a.min(b)), Offset::from_micros(a.max(b)))
    });
    let spread = (1_000..=500_000).prop_map(|t| Allow::ChordSpread(Offset::from_micros(t)));
    let first = (
        of((0..=1_000_u16).prop_map(Allow::Slips)),
        of(time().prop_map(Allow::Unsteadiness)),
        of(time().prop_map(Allow::NoteOffset)),
        of(time().prop_map(Allow::Hesitation)),
        of((1..=1_000_u16).prop_map(Allow::Drift)),
        of(spread),
    );
    let second = (
        of(level().prop_map(Allow::Unevenness)),
        of(level().prop_map(Allow::NoteLevel)),
        of(level().prop_map(Allow::SlurLevel)),
        of(click),
        of(part().prop_map(Allow::TrillUnevenness)),
    );
    let third = (
        of(part().prop_map(Allow::TrillLength)),
        of(part().prop_map(Allow::HeldLength)),
        of(part().prop_map(Allow::ShortLength)),
        of(part().prop_map(Allow::Gaps)),
        of(prop_oneof![Just(Level::ZERO), level()].prop_map(Allow::Accent)),
        of(part().prop_map(Allow::OtherStrings)),
    );
    (first, second, third).prop_map(|((a, b, c, d, e, f), (g, h, i, j, k), (l, m, n, o, p, q))| {
        [a, b, c, d, e, f, g, h, i, j, k, l, m, n, o, p, q]
            .into_iter()
            .flatten()
            .map(Spanned::from)
            .collect()
    })
}

fn settings() -> impl Strategy<Value = Settings> {
    let metre = (1..=32_u8, select(vec![1_u8, 2, 4, 8, 16, 32]))
        .prop_map(|(upper, lower)| MetreText { upper, lower });
    let tempo = (1..=9_999_u16, of(value())).prop_map(|(beats, of)| TempoText { beats, of });
    let level =
        select(vec![PracticeLevel::First, PracticeLevel::Steady, PracticeLevel::Performance]);
    (of(spanned(metre)), of(spanned(tempo)), of(spanned(level)), allow())
        .prop_map(|(metre, tempo, level, allow)| Settings { metre, tempo, level, allow })
}

fn landing() -> impl Strategy<Value = Landing> {
    prop_oneof![Just(Landing::Next), Just(Landing::Nothing), sound().prop_map(Landing::On)]
}

fn chunk() -> impl Strategy<Value = ChunkText> {
    let alternative = (spanned(name()), vec(line(), 0..3))
        .prop_map(|(name, lines)| AlternativeText { name, lines });
    (
        spanned(name()),
        of(spanned(start())),
        of(spanned(part())),
        settings(),
        vec(line(), 0..4),
        of(spanned(landing())),
        vec(alternative, 0..3),
    )
        .prop_map(|(name, at, part, settings, lines, landing, alternatives)| ChunkText {
            name,
            // A part of the music has no voices of its own.
            at: at.filter(|_| part.is_none()),
            lines: if part.is_some() { Vec::new() } else { lines },
            part,
            settings,
            landing,
            alternatives,
        })
}

fn study() -> impl Strategy<Value = Study> {
    let tuning = of(spanned(vec(pitch(), 4..=8)));
    let above = (of(name()), tuning, of(spanned(0..=12_u8)), any::<bool>(), settings());
    let once = of((figures(), sections()));
    (above, once, vec(chunk(), 0..4)).prop_map(
        |((title, tuning, capo, plectrum, settings), once, chunks)| {
            let mut study = Study::default();
            study.title = title;
            study.tuning = tuning;
            study.capo = capo;
            study.plectrum = plectrum.then_some(Spanned::from(Plectrum));
            study.settings = settings;
            (study.figures, study.music) = once.unwrap_or_default();
            study.chunks = chunks;
            study
        },
    )
}

/// Problems are in order, in the text, bounded in number, and can be shown.
fn assert_sensible(problems: &[Problem], text: &str) {
    assert!(!problems.is_empty() && problems.len() <= MOST_PROBLEMS + 1);
    let lines = text.replace("\r\n", "\n").replace('\r', "\n").split('\n').count();
    for pair in problems.windows(2) {
        let place = |p: &Problem| (p.line, p.column);
        assert!(place(&pair[0]) <= place(&pair[1]), "{}\n{}", pair[0], pair[1]);
    }
    for problem in problems {
        assert!((1..=lines).contains(&(problem.line as usize)), "{problem}");
        assert!(problem.column >= 1 && problem.to_string().chars().count() < 1_500, "{problem}");
    }
}

/// Reads a text that may be anything; what can be read must print and read back the same.
fn read_anything(text: &str) {
    match parse(text) {
        Err(problems) => assert_sensible(&problems, text),
        Ok(study) => {
            let printed = print(&study);
            let again = parse(&printed).unwrap_or_else(|p| panic!("{}\n{printed}", p[0]));
            assert_eq!(again, study);
            assert_eq!(print(&again), printed);
            match study.prepare() {
                Err(problems) => assert_sensible(&problems, text),
                Ok(chunks) => {
                    for chunk in &chunks {
                        assert_eq!(chunk.chunk().notes().len(), chunk.hand.len());
                        for index in 0..chunk.alternatives.len() {
                            let other = chunk.in_alternative(index).unwrap();
                            assert!(other.checked(other.tempo).is_ok());
                        }
                    }
                }
            }
        }
    }
}

const DEMO: &str = include_str!("../../../fixtures/studies/lantern-quay.study");

/// Pieces that a study is made of, and some that it is not.
const PIECES: [&str; 62] = [
    "evenhand study 1\n",
    "title ",
    "tuning ",
    "capo ",
    "metre ",
    "tempo ",
    "level ",
    "allow ",
    "chunk \"A\"\n",
    "chunk \"B\" at bar 2\n",
    "at bar ",
    "beat 2 ",
    "plus 1/8 ",
    "landing next\n",
    "landing ",
    "alternative \"C\"\n",
    "melody: ",
    "bass: ",
    "\nmelody: 1/8 ",
    "1/8 ",
    "1/4. ",
    "1/64 ",
    "1/9 ",
    "5:3 ",
    "^5:5 ",
    "4:2",
    "+3:0 ",
    "(3 p) ",
    "(trill 5)",
    "(",
    ")",
    "C#4 ",
    "Bb3 ",
    "rest ",
    "tie ",
    "rolled ",
    "shift VII ",
    "barre V ",
    "3in2[ ",
    "5in4[",
    "] ",
    "| ",
    "first ",
    "steady\n",
    "slips 1 in 8\n",
    "unsteadiness 15 ms or 5 %\n",
    "click offset ",
    "-45 to 25 ms\n",
    "72 of 1/8\n",
    "4/4\n",
    "E2 A2 D3 G3 B3 E4\n",
    "#",
    " # ",
    "\"",
    "”",
    "\t",
    "\r\n",
    "\n",
    "\u{feff}",
    "0",
    "9999",
    ",",
];

proptest! {
    #![proptest_config(config(300))]

    #[test]
    fn what_is_printed_reads_back(study in study()) {
        let text = print(&study);
        let again = parse(&text).map_err(|p| TestCaseError::fail(format!("{}\n{text}", p[0])))?;
        prop_assert_eq!(&again, &study);
        prop_assert_eq!(&print(&again), &text);
        // It may be impossible to play, but never trouble.
        if let Err(problems) = again.prepare() {
            assert_sensible(&problems, &text);
        }
        if let Err(problems) = study.prepare() {
            prop_assert!(problems.iter().all(|p| p.line == 0));
        }
    }
}

proptest! {
    #![proptest_config(config(2_000))]

    #[test]
    fn random_characters_are_no_trouble(text in any::<String>()) {
        read_anything(&text);
        read_anything(&format!("evenhand study 1\nchunk \"A\"\nmelody: {text}"));
    }

    #[test]
    fn random_pieces_are_no_trouble(pieces in vec(select(PIECES.to_vec()), 0..60)) {
        read_anything(&format!("evenhand study 1\n{}", pieces.concat()));
    }

    #[test]
    fn a_damaged_study_is_no_trouble(
        damage in vec((0..4_u8, any::<prop::sample::Index>(), select(PIECES.to_vec())), 1..6)
    ) {
        let mut chars: Vec<char> = DEMO.chars().collect();
        for (how, at, piece) in damage {
            let at = at.index(chars.len());
            match how {
                0 => { chars.remove(at); }
                1 => { chars.splice(at..at, piece.chars()); }
                2 => { chars.swap(at, (at + 1) % 40); }
                _ => { chars.truncate(at.max(40)); }
            }
        }
        read_anything(&chars.into_iter().collect::<String>());
    }
}

#[test]
fn names_that_cannot_be_typed_are_changed() {
    let mut study = Study::default();
    study.title = Some("  a \"b\"\n #c ".into());
    study.chunks = vec![ChunkText {
        name: String::new().into(),
        at: None,
        part: None,
        settings: Settings::default(),
        lines: vec![VoiceLine {
            name: "1 st: voice".to_owned().into(),
            items: vec![Item::Barline.into()],
        }],
        landing: None,
        alternatives: Vec::new(),
    }];
    let again = parse(&print(&study)).unwrap();
    assert_eq!(again.title.as_deref(), Some("a 'b' #c"));
    assert_eq!(again.chunks[0].name.value, "unnamed");
    assert_eq!(again.chunks[0].lines[0].name.value, "voice1stvoice");
}

#[test]
fn the_way_it_is_typed_makes_no_difference() {
    let plain =
        parse("evenhand study 1\ntitle A B\nchunk \"C d\"\nmelody: 1/8 5:3(3 p)+4:2 | B3\n");
    let other = parse(
        "\u{feff}# hello\r\nEVENHAND Study 1\r\ntitle\t\tA  B # c\r\rchunk “C  d”\r\n\
         \tmelody :1/8 5:3 ( P , 3 ) + 4:2|b3#\r\n"
            .replace("b3#", "b3 #")
            .as_str(),
    );
    assert_eq!(plain.unwrap(), other.unwrap());
}
