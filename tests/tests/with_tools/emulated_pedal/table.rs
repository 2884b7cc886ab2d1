//! Tables of what happens to the emulated board, as `firmware-example/boards/mps2/src/table.rs`
//! reads them.

use evenhand_core::link::{Answer, Computer, DATA, PackId, Question};
use evenhand_core::pack::Pack;
use evenhand_core::units::Instant;

/// A table that is being written. Times begin anew when the power comes.
#[derive(Default)]
pub(crate) struct Table {
    entries: Vec<[u8; 8]>,
    now: u64,
}

impl Table {
    fn add(&mut self, at: u64, what: u8, value: u8, more: u16) {
        let after = u32::try_from(at - self.now).expect("times do not step back");
        self.now = at;
        let [a, b, c, d] = after.to_le_bytes();
        let [low, high] = more.to_le_bytes();
        self.entries.push([a, b, c, d, what, value, low, high]);
    }

    /// The table as the board finds it.
    pub(crate) fn bytes(&self) -> Vec<u8> {
        let count = u32::try_from(self.entries.len()).expect("a table of a reasonable length");
        let mut bytes = b"EvhT".to_vec();
        bytes.extend(count.to_le_bytes());
        bytes.extend(self.entries.concat());
        bytes
    }

    /// What time it is on the board.
    pub(crate) fn now(&self) -> Instant {
        Instant::from_micros(self.now)
    }

    pub(crate) fn midi(&mut self, byte: u8, at: Instant) {
        self.add(at.as_micros(), 0, byte, 0);
    }

    /// A foot comes down on a switch, the left one is 0, and leaves again. Both times are in
    /// milliseconds, from now on.
    pub(crate) fn step(&mut self, switch: u8, after: u64, lasting: u64) {
        self.add(self.now + after * 1_000, 1 + switch, 1, 0);
        self.add(self.now + lasting * 1_000, 1 + switch, 0, 0);
    }

    /// Both feet come down, and leave.
    pub(crate) fn step_on_both(&mut self, after: u64, lasting: u64) {
        self.add(self.now + after * 1_000, 1, 1, 0);
        self.add(self.now, 2, 1, 0);
        self.add(self.now + lasting * 1_000, 1, 0, 0);
        self.add(self.now, 2, 0, 0);
    }

    /// Bytes from the computer.
    pub(crate) fn link(&mut self, bytes: &[u8]) {
        for byte in bytes {
            self.add(self.now + 20, 3, *byte, 0);
        }
    }

    /// Nothing, for so many milliseconds.
    pub(crate) fn wait(&mut self, millis: u64) {
        self.add(self.now + millis * 1_000, 7, u8::from(self.talks()), 0);
    }

    fn talks(&self) -> bool {
        let last = self.entries.iter().rev().find(|entry| entry[4] == 7);
        last.is_some_and(|entry| entry[5] != 0)
    }

    /// From here on everything is written down, or only what is sent to the computer.
    pub(crate) fn talk(&mut self, talks: bool) {
        self.add(self.now, 7, u8::from(talks), 0);
    }

    /// The power goes and comes back, and will be cut after so many steps of writing to the flash.
    pub(crate) fn cut_after(&mut self, steps: u16) {
        self.add(self.now, 4, 0, steps);
        self.now = 0;
    }

    /// The power goes and comes back.
    pub(crate) fn restart(&mut self) {
        self.add(self.now, 5, 0, 0);
        self.now = 0;
    }

    /// The results are printed and forgotten; then the power goes and comes back.
    pub(crate) fn harvest(&mut self) {
        self.add(self.now, 6, 0, 0);
        self.now = 0;
    }
}

/// The questions by which a computer loads a pack.
pub(crate) fn loading(pack: &[u8]) -> Vec<Question<'_>> {
    let opened = Pack::open(pack).expect("a right pack");
    let (length, checksum) = (pack.len() as u32, opened.checksum());
    let mut questions =
        vec![Question::Hello, Question::Begin(PackId { study: opened.study(), length, checksum })];
    questions.extend(pack.chunks(DATA).enumerate().map(|(index, bytes)| {
        let offset = (index * DATA) as u32;
        Question::Data { checksum, offset, bytes }
    }));
    questions.push(Question::End { checksum });
    questions
}

/// What the board printed.
#[derive(Debug, Default)]
pub(crate) struct Printed {
    /// What it sent to the computer, frame by frame.
    pub(crate) frames: Vec<Vec<u8>>,
    /// The results of each harvest.
    pub(crate) harvests: Vec<Vec<Vec<u8>>>,
    /// Every other line.
    pub(crate) lines: Vec<String>,
}

/// Reads what the board printed.
pub(crate) fn read(transcript: &[u8]) -> Printed {
    let text = String::from_utf8_lossy(transcript);
    let bytes = |digits: &str| -> Option<Vec<u8>> {
        let whole = digits.len().is_multiple_of(2) && !digits.is_empty();
        let pairs = (0..digits.len() / 2).map(|n| digits.get(2 * n..2 * n + 2));
        pairs
            .map(|pair| u8::from_str_radix(pair?, 16).ok())
            .collect::<Option<_>>()
            .filter(|_| whole)
    };
    let mut printed = Printed::default();
    for line in text.lines() {
        if let Some(frame) = line.strip_prefix("to the computer: ") {
            printed.frames.push(bytes(frame).expect("digits"));
        } else if line == "results:" {
            printed.harvests.push(Vec::new());
        } else if let (Some(result), Some(harvest)) = (bytes(line), printed.harvests.last_mut()) {
            harvest.push(result);
        } else {
            printed.lines.push(line.to_owned());
        }
    }
    printed
}

/// Asks all questions of one session again, and calls `check` with each answer.
pub(crate) fn answers<'q>(
    session: u32,
    questions: &[Question<'q>],
    frames: &[Vec<u8>],
    mut check: impl FnMut(&Question<'q>, &Answer<'_>),
) {
    let mut computer = Computer::new(session);
    assert_eq!(questions.len(), frames.len(), "a question, an answer");
    for (question, frame) in questions.iter().zip(frames) {
        computer.ask(question).expect("it is short enough");
        let mut answered = false;
        for byte in frame {
            if let Some(answer) = computer.push(*byte) {
                check(question, &answer.expect("an answer that is understood"));
                answered = true;
            }
        }
        assert!(answered, "{question:?}");
    }
}
