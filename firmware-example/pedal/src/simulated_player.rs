//! A simulated player who practises with the pedal: steps on the switches, waits for the count,
//! plays what is asked for with faults now and then, and stops when the join has been clean.

use evenhand_core::limits::PLAYED_NOTES;
use evenhand_core::player::{Chance, Fault, Performance, Skill, perform};
use evenhand_core::practice::{Piece, Step, Task};
use evenhand_core::study::Chunk;
use evenhand_core::units::{Instant, Level, Offset};
use evenhand_core::verdict::Outcome;
use heapless::Deque;

use crate::board::{Board, BoardEvent};
use crate::contacts::Contacts;
use crate::lights::View;
use crate::music::{Music, Notes};
use crate::observer::{Judgement, Observer};

/// Something the player does: a byte to send, or a foot.
#[derive(Clone, Copy, Debug)]
enum Act {
    Byte(u8),
    /// Which switch, 0 is the left one, and whether the foot is on it.
    Foot(usize, bool),
    End,
}

/// Bytes of one performance: six a note.
const ACTS: usize = PLAYED_NOTES * 6;

/// A verdict, what it was about and a bar of counting are over after this long, at any tempo that
/// the built-in study is played at. Our default.
const PAUSE: Offset = Offset::from_millis(9_000);

/// A byte takes this long on a MIDI line: 10 bits at 31,250 baud (IEC 63035).
const BYTE: Offset = Offset::from_micros(320);

/// The player, before a board that is told what happens; it is never waited for.
pub struct SimulatedPlayer<'a, M, B> {
    music: M,
    board: B,
    contacts: &'a Contacts,
    acts: Deque<(Instant, Act), ACTS>,
    now: Instant,
    task: Option<Task>,
    attempts: u32,
    joins_passed: u8,
    notes: Notes,
}

impl<'a, M: Music, B: Board> SimulatedPlayer<'a, M, B> {
    /// A player who holds the right switch to begin.
    pub fn new(music: M, board: B, contacts: &'a Contacts) -> Self {
        let mut player = Self {
            music,
            board,
            contacts,
            acts: Deque::new(),
            now: Instant::ZERO,
            task: None,
            attempts: 0,
            joins_passed: 0,
            notes: Notes::new(),
        };
        player.step_on(1, Offset::from_millis(2_000), Offset::from_millis(900));
        player
    }

    /// The board.
    pub const fn board(&mut self) -> &mut B {
        &mut self.board
    }

    /// The board, when the player has gone.
    pub fn into_board(self) -> B {
        self.board
    }

    /// How many attempts were judged.
    pub const fn attempts(&self) -> u32 {
        self.attempts
    }

    fn act(&mut self, at: Instant, act: Act) {
        // What finds no room is not played, and shows as a missing note.
        let _ = self.acts.push_back((at, act));
    }

    fn step_on(&mut self, switch: usize, after: Offset, lasting: Offset) {
        let down = self.now.plus(after);
        self.act(down, Act::Foot(switch, true));
        self.act(down.plus(lasting), Act::Foot(switch, false));
    }

    /// The faults of this attempt: none in most, each kind now and then.
    const fn faults(&self) -> &'static [Fault] {
        const NOTES: [Fault; 3] = [
            Fault::Wrong { note: 2, semitones: 1 },
            Fault::Missing(5),
            Fault::Extra { after: 6, semitones: 2 },
        ];
        const TIME: Fault = Fault::Hesitation { note: 4, lost: Offset::from_millis(400) };
        const SOUND: Fault = Fault::Loud { note: 3, by: Level::from_hundredths(-1_400) };
        match self.attempts % 17 {
            3 => &NOTES,
            9 => &[TIME],
            14 => &[SOUND],
            _ => &[],
        }
    }

    /// Plans the next performance, to begin when the pedal is ready for it.
    fn plan(&mut self) {
        let Some(task) = self.task else { return };
        let seed = u64::from(self.attempts);
        let faults = self.faults();
        let Some(chunk) = self.music.music(task, &|_| 0, &mut self.notes) else { return };
        let performance = perform(&chunk, task.tempo, Skill::SKILLED, faults, seed);
        let mut chance = Chance::new(seed);
        let begin = self.now.plus(PAUSE).plus(Offset::from_millis(chance.below(300) as i32));
        self.send(&performance, begin);
    }

    /// Puts a performance on the line: one byte after the other, each string on its channel.
    fn send(&mut self, performance: &Performance, begin: Instant) {
        let mut busy = begin;
        let mut last = None;
        // Changes in order of time; of two at once, ends come first.
        while let Some(change) = next_change(performance, last) {
            last = Some(change);
            let (at, is_begin, index) = change;
            let Some(note) = performance.notes().get(index) else { break };
            let channel = note.string.map_or(0, |string| string.number() - 1);
            let velocity = if is_begin { note.velocity.value() } else { 0 };
            busy = busy.max(begin.plus(at));
            for byte in [0x90 | channel & 0x0f, note.pitch.number(), velocity] {
                busy = busy.plus(BYTE);
                self.act(busy, Act::Byte(byte));
            }
        }
    }
}

/// When, whether it is a beginning, and of which note.
type Change = (Offset, bool, usize);

fn next_change(performance: &Performance, last: Option<Change>) -> Option<Change> {
    let changes = performance.notes().iter().enumerate().flat_map(|(index, note)| {
        let end = note.at.as_micros().saturating_add(note.lasts.as_micros());
        [(note.at, true, index), (Offset::from_micros(end), false, index)]
    });
    changes.filter(|change| last.is_none_or(|last| last < *change)).min()
}

impl<M: Music, B: Board> Observer for SimulatedPlayer<'_, M, B> {
    fn click(&mut self, strong: bool, at: Instant) {
        self.board.click(strong, at);
    }

    fn judged(&mut self, judgement: &Judgement<'_>) {
        self.attempts += 1;
        let joined = matches!(judgement.task.piece, Piece::Join { .. });
        if joined && judgement.verdict.outcome == Outcome::Passed {
            self.joins_passed += 1;
        }
        self.board.judged(judgement);
        // Clean twice, which takes it up: enough for today.
        if self.joins_passed == 2 && self.acts.iter().all(|(_, act)| matches!(act, Act::Byte(_))) {
            self.acts.clear();
            self.step_on(0, PAUSE, Offset::from_millis(900));
            let end = self.now.plus(PAUSE).plus(PAUSE);
            self.act(end, Act::End);
        }
    }

    fn show_task(&mut self, task: &Task, chunk: &Chunk<'_>) {
        self.board.show_task(task, chunk);
    }

    fn next(&mut self, step: &Step, at: Instant) {
        self.task = step.task;
        self.board.next(step, at);
    }
}

impl<M: Music, B: Board> Board for SimulatedPlayer<'_, M, B> {
    fn wait(&mut self, until: Option<Instant>) -> BoardEvent {
        if self.acts.is_empty() {
            self.plan();
        }
        let Some(&(at, act)) = self.acts.front() else {
            return until.map_or(BoardEvent::End, |at| BoardEvent::Nothing { at });
        };
        if let Some(until) = until.filter(|until| *until < at) {
            self.now = until;
            return BoardEvent::Nothing { at: until };
        }
        self.now = at;
        self.acts.pop_front();
        match act {
            Act::Byte(byte) => BoardEvent::Midi { byte, at },
            Act::Foot(switch, down) => {
                if let Some(switch) = self.contacts.switches.get(switch) {
                    switch.set(down);
                }
                BoardEvent::Nothing { at }
            }
            Act::End => BoardEvent::End,
        }
    }

    fn look(&mut self, view: View, now: Instant) {
        self.board.look(view, now);
    }

    fn study(&mut self, study: u8, of: u8, title: &str) {
        self.board.study(study, of, title);
    }
}
