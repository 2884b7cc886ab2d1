//! The power is cut while a result is written, and comes back; the computer fetches what is left.

use crate::emulated_pedal::table::{Table, answers, read};
use crate::emulated_pedal::{image, run};
use evenhand_core::link::{Answer, Computer, Question};
use evenhand_core::pack::Pack;
use evenhand_core::pack::ResultRecord;
use evenhand_core::player::{Skill, perform};
use evenhand_core::practice::{Piece, PracticeVariant, Task};
use evenhand_core::units::Tempo;
use evenhand_core::verdict::Outcome;
use evenhand_pedal::music::Notes;
use evenhand_pedal::study::BUILT_IN;
use std::time::Duration;

/// Steps on the right switch, waits for the count, plays the first built-in chunk well, and waits
/// for the verdict.
pub(crate) fn practise(table: &mut Table, seed: u64) {
    table.step(1, 300, 900);
    let tempo = Tempo::from_micros_per_quarter(1_111_111).expect("54 a minute");
    let task = Task { piece: Piece::Chunk(0), way: PracticeVariant::AsWritten, tempo };
    let mut notes = Notes::new();
    let chunk = Pack::open(BUILT_IN)
        .unwrap()
        .music(task, |_| 0, &mut notes)
        .expect("there is such a piece");
    let performance = perform(&chunk, tempo, Skill::SKILLED, &[], seed);
    let from = table.now().as_micros() + 6_000_000;
    let mut messages: Vec<_> = performance
        .notes()
        .iter()
        .flat_map(|note| {
            let at = from.saturating_add_signed(note.at.as_micros().into());
            let channel = note.string.map_or(0, |string| string.number() - 1);
            let end = at + u64::from(note.lasts.as_micros().unsigned_abs());
            let pitch = note.pitch.number();
            [
                (at, [0x90 | channel, pitch, note.velocity.value()]),
                (end, [0x90 | channel, pitch, 0]),
            ]
        })
        .collect();
    messages.sort_unstable_by_key(|(at, bytes)| (*at, bytes[2]));
    for (at, message) in messages {
        for (index, byte) in message.into_iter().enumerate() {
            let due = at + 320 * (index as u64 + 1);
            table.midi(byte, evenhand_core::units::Instant::from_micros(due).max(table.now()));
        }
    }
    table.wait(4_000);
}

pub(crate) fn a_cut_costs_one_attempt_at_most_and_the_rest_is_fetched() {
    const CUTS: u16 = 40;
    let mut table = Table::default();
    // Twice without a cut.
    practise(&mut table, 1);
    table.restart();
    practise(&mut table, 2);
    for steps in 0..CUTS {
        table.cut_after(steps);
        practise(&mut table, 10 + u64::from(steps));
        table.restart();
    }
    // The switches and lamps of one more practice, and that it hurts.
    table.talk(true);
    practise(&mut table, 3);
    table.step_on_both(100, 1_500);
    table.wait(500);
    table.talk(false);
    let questions: Vec<Question<'_>> = std::iter::once(Question::Hello)
        .chain((1..=2 * u32::from(CUTS)).map(|number| Question::Result { number, offset: 0 }))
        .collect();
    let mut computer = Computer::new(5);
    for question in &questions {
        table.link(computer.ask(question).expect("short enough"));
    }
    table.harvest();

    let ran = run(&image(), &table.bytes(), Duration::from_secs(60));
    let printed = read(&ran.transcript);
    assert!(ran.success, "{}\n{:?}", ran.complaint, printed.lines);
    let kept = &printed.harvests[0];
    let records: Vec<ResultRecord> =
        kept.iter().map(|bytes| ResultRecord::decode(bytes).expect("it is whole").0).collect();
    let numbers: Vec<u32> = records.iter().map(|record| record.number).collect();
    assert_eq!(numbers, (1..=kept.len() as u32).collect::<Vec<_>>());
    // The three without a cut at least; and not all of the others, or nothing was cut.
    assert!(kept.len() > 3 && kept.len() < usize::from(CUTS) + 3, "{}", kept.len());
    assert!(records.iter().all(|record| record.outcome == Outcome::Passed));

    // What the computer fetches is what is there.
    let mut fetched = Vec::new();
    answers(5, &questions, &printed.frames, |question, answer| match (question, answer) {
        (Question::Hello, Answer::Hello(hello)) => {
            assert_eq!((hello.board, hello.oldest), ("mps2-an386", 1));
            assert_eq!(hello.next as usize, kept.len() + 1);
        }
        (Question::Result { number, .. }, Answer::Result { number: given, total, bytes, .. }) => {
            assert_eq!(number, given);
            let whole = &kept[*number as usize - 1];
            assert_eq!(whole.len(), usize::from(*total));
            assert!(whole.starts_with(bytes));
            fetched.push(*number);
        }
        (Question::Result { number, .. }, Answer::NoResult { next }) => assert!(number >= next),
        other => panic!("{other:?}"),
    });
    assert_eq!(fetched, numbers);

    // The lamps of the practice that was written down.
    let shows = |what: &str| printed.lines.iter().any(|line| line.ends_with(what));
    for line in ["[# # #] count-in", "[. # .] playing", "[. . #] passed", "[. # .] hurts"] {
        assert!(shows(line), "{line}\n{:#?}", printed.lines);
    }
    assert!(printed.lines.iter().any(|line| line.contains("over: Hurts")));
}
