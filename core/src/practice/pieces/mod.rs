//! The pieces of a study in practice, and what comes after each attempt.

mod attempted;
mod entry;
mod joins;
mod plateau;
mod settled;
mod spots;
mod taken_back;
mod turn;
mod ways;

use super::event_results::EventResults;
use super::misread::Misreadings;
use super::piece::{ChunkFacts, Earlier, Piece};
use super::place_record::PlaceRecord;
use super::rest::Rested;
use super::rules::{ACCENTS_NOTES, ACCENTS_PER_MILLE, JOIN_PER_MILLE};
use super::share::Share;
use super::step::{Choice, Choices, NotPossible, PracticeVariant, Reason, Step, Task};
use crate::limits;
use crate::units::{Seconds, Tempo, Ticks};
use crate::zeroed_option::ZeroedOption;
use entry::{Entry, Placing};
use heapless::Vec;
use taken_back::Before;
use ways::Variation;

/// A sitting of practice on the chunks of a study, of at most `PIECES` pieces.
///
/// ```
/// use evenhand_core::practice::{
///     Attempt, AttemptResult, ChunkFacts, Earlier, EventResults, Piece, Practice, Rules,
/// };
/// use evenhand_core::tolerance::PracticeLevel;
/// use evenhand_core::units::{Seconds, Tempo, Ticks};
///
/// let beat = Ticks::new(Ticks::PER_QUARTER);
/// let facts = ChunkFacts {
///     goal: Tempo::from_beats_per_minute(100, beat).unwrap(),
///     beat,
///     rules: Rules::of(PracticeLevel::First),
///     fastest_clean: None,
///     earlier: Earlier::Unknown,
///     notes: 12,
///     length: Ticks::new(4 * Ticks::PER_QUARTER),
///     splits: true,
///     varies: true,
///     joins_next: false,
///     fingerings: 0,
/// };
/// // A pedal with room for one chunk.
/// static EMPTY: Practice<5> = Practice::new();
/// let mut practice = EMPTY.clone();
/// practice.add(facts).unwrap();
/// let first = practice.begin(Seconds::ZERO).task.unwrap();
/// assert_eq!(first.piece, Piece::Chunk(0));
/// assert_eq!(first.tempo, Tempo::from_beats_per_minute(60, beat).unwrap());
/// let mut step = practice.begin(Seconds::ZERO);
/// // Clean at the first try, and once more: on by leaps of a fifth.
/// for attempt in 1..=2 {
///     step = practice.attempt(Attempt {
///         result: AttemptResult::Clean,
///         tempo: None,
///         lasted: Seconds::new(4),
///         ended: Seconds::new(attempt * 6),
///     }, &EventResults::NONE);
/// }
/// assert_eq!(step.task.unwrap().tempo, Tempo::from_beats_per_minute(86, beat).unwrap());
/// ```
#[derive(Clone, Debug)]
pub struct Practice<const PIECES: usize = { limits::PIECES }> {
    entries: Vec<Entry, PIECES>,
    current: Option<usize>,
    /// When the current piece had its turn.
    since: Seconds,
    turns: u32,
    variation: Variation,
    unclear: u8,
    rested: Rested,
    /// The tempo is the player's own.
    own_tempo: bool,
    /// Nothing but steps of tempo, and what the player chooses.
    by_steps: bool,
    /// Why practice is over.
    over: ZeroedOption<Reason>,
    /// What the last attempt changed, as long as it can be taken back.
    before: ZeroedOption<Before>,
    /// What the last attempt showed.
    last: EventResults,
    /// How often each event of the current piece failed.
    record: PlaceRecord,
    misread: Misreadings,
    /// Breakings-off in a row.
    broken_off: u8,
    /// The tempo of the last attempt, if it was clean and faster than it was asked for.
    shown: ZeroedOption<Tempo>,
    /// The events of the piece that the spot is in.
    spot_events: u8,
    /// The tempo at which it failed.
    spot_asked: Option<Tempo>,
}

impl<const PIECES: usize> Default for Practice<PIECES> {
    fn default() -> Self {
        Self::new()
    }
}

impl<const PIECES: usize> Practice<PIECES> {
    /// Nothing to practise yet. All zero bytes, so that a static of it takes no room in a board's
    /// flash.
    pub const fn new() -> Self {
        Self {
            entries: Vec::new(),
            current: None,
            since: Seconds::ZERO,
            turns: 0,
            variation: Variation::NONE,
            unclear: 0,
            rested: Rested::NEW,
            own_tempo: false,
            by_steps: false,
            over: ZeroedOption::Nothing,
            before: ZeroedOption::Nothing,
            last: EventResults::NONE,
            record: PlaceRecord::new(),
            misread: Misreadings::new(),
            broken_off: 0,
            shown: ZeroedOption::Nothing,
            spot_events: 0,
            spot_asked: None,
        }
    }

    /// Forgets everything, in place, as if it were new.
    pub fn clear(&mut self) {
        self.entries.clear();
        (self.current, self.since, self.turns) = (None, Seconds::ZERO, 0);
        (self.variation, self.unclear, self.rested) = (Variation::NONE, 0, Rested::NEW);
        (self.own_tempo, self.by_steps) = (false, false);
        self.over.clear();
        self.before.clear();
        self.last = EventResults::NONE;
        self.record.clear();
        self.misread.clear();
        self.shown.clear();
        (self.broken_off, self.spot_events, self.spot_asked) = (0, 0, None);
    }

    fn over(&self) -> Option<Reason> {
        self.over.get().copied()
    }

    /// From the next piece on the player chooses the tempo: it is not asked for, neither rises nor
    /// falls, and a piece is at its goal as soon as it is clean often enough in a row.
    pub const fn at_own_tempo(&mut self) {
        self.own_tempo = true;
    }

    /// From here on practice goes by steps of tempo alone: no leaps, no hard places, no changes that the
    /// player did not choose.
    pub const fn by_steps(&mut self) {
        self.by_steps = true;
    }

    /// Adds the next chunk of the study. For all that may become of a chunk there must be room
    /// for [`limits::PIECES_A_CHUNK`] pieces; with less, joins and halves are left out when there
    /// is no room.
    ///
    /// # Errors
    ///
    /// [`NotPossible::Full`].
    pub fn add(&mut self, facts: ChunkFacts) -> Result<Piece, NotPossible> {
        let chunk = self.chunks();
        if usize::from(chunk) >= limits::CHUNKS {
            return Err(NotPossible::Full);
        }
        let piece = Piece::Chunk(chunk);
        self.push(Entry::of(piece, &facts))?;
        Ok(piece)
    }

    /// What was known of a join when practice last ended. Chunks come with theirs in [`ChunkFacts`].
    ///
    /// # Errors
    ///
    /// [`NotPossible::NoSuchPiece`] for what is no join of the chunks that were added, or meets
    /// at a seam that is joined already; [`NotPossible::Full`].
    pub fn recall(
        &mut self,
        join: Piece,
        fastest_clean: Option<Tempo>,
        earlier: Earlier,
    ) -> Result<(), NotPossible> {
        let Piece::Join { first, seam, last } = join else { return Err(NotPossible::NoSuchPiece) };
        let taken = |entry: &Entry| matches!(entry.piece, Piece::Join { seam: s, .. } if s == seam);
        if first > seam || seam >= last || self.entries.iter().any(taken) {
            return Err(NotPossible::NoSuchPiece);
        }
        let mut both = *self.find(Piece::Chunk(first)).ok_or(NotPossible::NoSuchPiece)?;
        for chunk in first..last {
            let right = self.find(Piece::Chunk(chunk.saturating_add(1)));
            let right = right.ok_or(NotPossible::NoSuchPiece)?;
            if !both.joins_next {
                return Err(NotPossible::NoSuchPiece);
            }
            both = Entry::of_both(join, &both, right);
        }
        both.earlier = earlier;
        if let Some(tempo) = fastest_clean {
            both.stairs.was_clean_at(tempo);
            both.stairs.begin_cold();
        }
        self.push(both).map(|_| ())
    }

    /// The first step; later, what is to be played now.
    pub fn begin(&mut self, now: Seconds) -> Step {
        if self.current.is_none() && self.over().is_none() {
            // In the order of the study: joins from earlier days wait for their turn.
            return match self.entries.iter().position(|entry| entry.piece == Piece::Chunk(0)) {
                Some(index) => self.take(index, now, None),
                None => self.end(Reason::Nothing),
            };
        }
        self.step(self.over().unwrap_or(Reason::Taken))
    }

    /// What to play now; `None` before the beginning and when practice is over.
    pub fn current(&self) -> Option<Task> {
        let entry = self.entries.get(self.current?)?;
        let Variation { way, tempo, .. } = self.variation;
        let tempo = tempo.unwrap_or_else(|| entry.stairs.tempo());
        self.over().is_none().then_some(Task { piece: entry.piece, way, tempo })
    }

    /// The player chooses. What is offered in a [`Step`] can be chosen, and also without having
    /// been offered; see [`choices`](Self::choices).
    ///
    /// # Errors
    ///
    /// If that is not possible here; nothing is changed then.
    pub fn choose(&mut self, choice: Choice, now: Seconds) -> Result<Step, NotPossible> {
        let index = self.current.filter(|_| self.over().is_none()).ok_or(NotPossible::Over)?;
        if !self.choices().has(choice) {
            return Err(NotPossible::NotHere);
        }
        self.before.clear();
        let reason = Reason::Chosen(choice);
        match choice {
            Choice::Stop => return Ok(self.end(Reason::Stopped)),
            Choice::Shorter => {
                let shorter = match self.add_up(index) {
                    Some(first) => first,
                    None => self.shorten(index)?,
                };
                return Ok(self.take(shorter, now, Some(reason)));
            }
            Choice::Rhythm => self.variation = Variation::new(PracticeVariant::LongShort, None),
            Choice::Burst => {
                let tempo = self.entries.get(index).and_then(|entry| entry.stairs.burst());
                self.variation = Variation::new(PracticeVariant::Burst, tempo);
            }
            Choice::Accents => {
                let entry = self.entries.get(index).ok_or(NotPossible::NoSuchPiece)?;
                let own = entry.stairs.tempo();
                let half = own.at_per_mille(ACCENTS_PER_MILLE).in_whole_beats(entry.stairs.beat());
                let tempo = half.faster(entry.stairs.floor()).slower(own);
                self.variation = Variation::new(PracticeVariant::Accents, Some(tempo));
            }
            Choice::Fingering => {
                let entry = self.entries.get_mut(index).ok_or(NotPossible::NoSuchPiece)?;
                // One after the other, and back to the one that is written.
                entry.fingering =
                    if entry.fingering >= entry.fingerings { 0 } else { entry.fingering + 1 };
                // New for the hands: from where a join would begin. Our default.
                entry.stairs.begin_anew_at(entry.stairs.tempo().at_per_mille(JOIN_PER_MILLE));
                entry.share = Share::NONE;
                entry.reached = false;
                entry.passed = false;
            }
        }
        if let Some(entry) = self.entries.get_mut(index) {
            entry.stairs.interrupt();
        }
        Ok(self.step(reason))
    }

    /// What can be chosen now.
    pub fn choices(&self) -> Choices {
        let entry = self.current.and_then(|index| self.entries.get(index));
        let Some(entry) = entry.filter(|_| self.over().is_none()) else { return Choices::NONE };
        Choices::NONE
            .with(Choice::Shorter, self.shorter_of(entry).is_some() || self.can_add_up(entry))
            .with(Choice::Rhythm, entry.varies)
            .with(Choice::Fingering, entry.fingerings > 0)
            .with(Choice::Burst, entry.stairs.burst().is_some())
            .with(Choice::Accents, !self.own_tempo && entry.notes >= ACCENTS_NOTES)
            .with(Choice::Stop, true)
    }

    /// The player goes to another piece.
    ///
    /// # Errors
    ///
    /// If practice is over or there is no such piece (yet).
    pub fn go_to(&mut self, piece: Piece, now: Seconds) -> Result<Step, NotPossible> {
        if self.over().is_some() {
            return Err(NotPossible::Over);
        }
        let index = self.position(piece).ok_or(NotPossible::NoSuchPiece)?;
        if let Some(entry) = self.entries.get_mut(index) {
            entry.asleep = false;
        }
        Ok(self.take(index, now, Some(Reason::Taken)))
    }

    /// The player wants the current piece at another tempo; it is held between the slowest one
    /// and the goal, and goes on from there.
    ///
    /// # Errors
    ///
    /// If practice is over or has not begun.
    pub fn at_tempo(&mut self, tempo: Tempo) -> Result<Step, NotPossible> {
        let index = self.current.filter(|_| self.over().is_none()).ok_or(NotPossible::Over)?;
        let entry = self.entries.get_mut(index).ok_or(NotPossible::NoSuchPiece)?;
        entry.stairs.begin_at(tempo);
        entry.placing = Placing::Over;
        self.variation = Variation::NONE;
        self.before.clear();
        Ok(self.step(Reason::Taken))
    }

    /// It hurts: practice ends at once.
    pub fn hurts(&mut self) -> Step {
        self.end(Reason::Hurts)
    }

    /// Which fingering of a chunk is in use; 0 is the one that is written.
    pub fn fingering(&self, chunk: u8) -> u8 {
        self.find(Piece::Chunk(chunk)).map_or(0, |entry| entry.fingering)
    }

    /// The pieces so far: each with its fastest clean tempo, and whether it passed today.
    pub fn pieces(&self) -> impl Iterator<Item = (Piece, Option<Tempo>, bool)> + '_ {
        self.entries.iter().map(|entry| (entry.piece, entry.stairs.fastest_clean(), entry.passed))
    }

    /// Whether practice is over.
    pub fn is_over(&self) -> bool {
        self.over().is_some()
    }

    /// Whether there is this piece (yet).
    pub fn has(&self, piece: Piece) -> bool {
        self.position(piece).is_some()
    }

    /// The beat in which the tempo of the current piece is counted.
    pub fn beat(&self) -> Option<Ticks> {
        Some(self.entries.get(self.current?)?.stairs.beat())
    }

    /// Gives a piece its turn.
    fn take(&mut self, index: usize, now: Seconds, reason: Option<Reason>) -> Step {
        if let Some(left) = self.current.and_then(|current| self.entries.get_mut(current)) {
            left.stairs.interrupt();
        }
        self.before.clear();
        self.turns = self.turns.saturating_add(1);
        self.current = Some(index);
        self.since = now;
        self.variation = Variation::NONE;
        (self.unclear, self.broken_off) = (0, 0);
        self.shown.clear();
        self.misread.clear();
        let mut begin = Reason::Taken;
        if let Some(entry) = self.entries.get_mut(index) {
            entry.turn = self.turns;
            begin = Reason::Begin { clean_before: entry.stairs.fastest_clean().is_some() };
        }
        self.step(reason.unwrap_or(begin))
    }

    fn end(&mut self, reason: Reason) -> Step {
        self.before.clear();
        let _ = self.over.or_put(|| reason);
        // Nothing outweighs that it hurts.
        if reason == Reason::Hurts {
            self.over.put(reason);
        }
        self.step(self.over().unwrap_or(reason))
    }

    fn step(&self, reason: Reason) -> Step {
        Step { task: self.current(), reason, offer: Choices::NONE, rest: None }
    }

    fn offering(&self, reason: Reason) -> Step {
        Step { offer: self.choices(), ..self.step(reason) }
    }

    /// How many chunks there are.
    pub fn chunks(&self) -> u8 {
        let chunks = self.entries.iter().filter(|entry| matches!(entry.piece, Piece::Chunk(_)));
        u8::try_from(chunks.count()).unwrap_or(u8::MAX)
    }

    fn position(&self, piece: Piece) -> Option<usize> {
        self.entries.iter().position(|entry| entry.piece == piece)
    }

    fn find(&self, piece: Piece) -> Option<&Entry> {
        self.entries.iter().find(|entry| entry.piece == piece)
    }

    fn push(&mut self, mut entry: Entry) -> Result<usize, NotPossible> {
        if self.own_tempo {
            entry.stairs.hold();
        }
        if self.by_steps {
            entry.placing = Placing::Over;
        }
        self.entries.push(entry).map_err(|_| NotPossible::Full)?;
        Ok(self.entries.len().saturating_sub(1))
    }

    /// Puts a piece in, in place of what is known of it already.
    fn renew(&mut self, entry: Entry) -> Result<usize, NotPossible> {
        let Some(index) = self.position(entry.piece) else { return self.push(entry) };
        if let Some(old) = self.entries.get_mut(index) {
            *old = entry;
            if self.own_tempo {
                old.stairs.hold();
            }
        }
        Ok(index)
    }
}

/// Whoever adds to a piece sees here what it costs a pedal.
const _: () = assert!(size_of::<Entry>() <= limits::PIECE_BYTES);
