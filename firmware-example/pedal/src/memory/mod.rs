//! What a pedal keeps in its flash: results in front, packs behind them.

pub mod flash;
mod history;
mod marks;
mod packs;
mod results;

use evenhand_core::link::{PackId, PedalInfo, Stopped, Store, StoreProblem, Troubles};
use evenhand_core::pack::{Pack, ResultRecord};
use evenhand_core::pickup::Habits;
use evenhand_core::practice::{ChunkFacts, Piece, Task};
use evenhand_core::study::Chunk;
use evenhand_core::units::Seconds;

use crate::music::{Known, Music, Notes};
use crate::study::BUILT_IN;
pub use flash::{Failed, MappedFlash};
use history::recall;
use marks::Chosen;
use packs::Packs;
use results::Results;
pub use results::SECTORS;

/// Who a pedal is.
#[derive(Clone, Copy, Debug)]
pub struct Identity {
    /// The board.
    pub board: &'static str,
    /// A number that no other pedal has.
    pub device: u64,
    /// A number by chance, for a memory that is new.
    pub chance: u32,
}

/// The memory of a pedal.
#[derive(Debug)]
pub struct Memory<F> {
    flash: F,
    identity: Identity,
    results: Results,
    packs: Packs,
    /// The study that is practised: which pack it is, and its hash; `None` is the built-in one.
    study: Option<(usize, u64)>,
    sitting: u32,
    troubles: Troubles,
    /// Practice is under way, so packs stay as they are.
    in_use: bool,
    clock: Option<(u32, Seconds)>,
}

impl<F: MappedFlash> Memory<F> {
    /// Reads a flash. `sectors` of it, from the first on, are for results, the rest for packs.
    pub fn open(flash: F, sectors: usize, identity: Identity) -> Self {
        let results = Results::open(&flash, sectors, identity.chance);
        let packs = Packs::open(&flash, sectors);
        let last = results.last(&flash).and_then(|bytes| ResultRecord::decode(bytes).ok());
        let sitting = last.map_or(0, |(last, _)| last.sitting).saturating_add(1);
        let mut memory = Self {
            flash,
            identity,
            results,
            packs,
            study: None,
            sitting,
            troubles: Troubles::default(),
            in_use: false,
            clock: None,
        };
        memory.look_up();
        memory
    }

    /// The flash.
    pub const fn flash(&self) -> &F {
        &self.flash
    }

    /// The flash, given back.
    pub fn into_flash(self) -> F {
        self.flash
    }

    /// Looks which study is practised. Call it when packs have changed. It is the one that was chosen,
    /// unless another has come in since or it is gone; then it is the one that came in last.
    fn look_up(&mut self) {
        let index = self.chosen().or(self.packs.len().checked_sub(1));
        // A pack that was damaged in the flash is not practised.
        self.study = index.and_then(|index| {
            let bytes = self.packs.get(&self.flash, index)?;
            Some((index, Pack::open(bytes).ok()?.study()))
        });
    }

    /// Which pack the player has chosen, if that still counts.
    fn chosen(&self) -> Option<usize> {
        let chosen = self.results.chosen()?;
        if self.packs.newest_turn() > chosen.newest {
            return None;
        }
        (0..self.packs.len()).find(|index| self.hash(*index) == Some(chosen.study))
    }

    fn hash(&self, index: usize) -> Option<u64> {
        Pack::open_again(self.packs.get(&self.flash, index)?).map(|pack| pack.study())
    }

    /// Practises this study from now on, and remembers it. What is practised does not change
    /// where there is no such study.
    ///
    /// # Errors
    /// If the flash failed: it is practised, and not remembered.
    pub fn choose_study(&mut self, index: u8) -> Result<(), Failed> {
        let Some(study) = self.hash(index.into()) else { return Ok(()) };
        let chosen = Chosen { study, newest: self.packs.newest_turn() };
        let kept = self.results.choose(&mut self.flash, chosen);
        self.look_up();
        kept
    }

    /// The title of a study, counted from 0.
    pub fn title(&self, index: u8) -> &str {
        let bytes = self.packs.get(&self.flash, index.into()).unwrap_or(BUILT_IN);
        Pack::open_again(bytes).map_or("", |pack| pack.title())
    }

    /// The hash of the study that is practised; 0 for the built-in one.
    pub fn study_hash(&self) -> u64 {
        self.study.map_or(0, |(_, hash)| hash)
    }

    /// Practice begins or ends.
    pub const fn set_in_use(&mut self, in_use: bool) {
        self.in_use = in_use;
    }

    /// So many results could not be kept, since the power came.
    pub const fn set_lost(&mut self, lost: u32) {
        self.troubles.lost = lost;
    }

    /// The pedal has begun anew without its power going, for this reason.
    pub const fn set_stopped(&mut self, stopped: Stopped) {
        self.troubles.stopped = stopped;
    }

    /// Results that could not be kept.
    pub const fn lost(&self) -> u32 {
        self.troubles.lost
    }

    /// The number of this sitting.
    pub const fn sitting(&self) -> u32 {
        self.sitting
    }

    /// Seconds since 1970 at `now`, if a computer has told.
    pub fn clock_at(&self, now: Seconds) -> Option<u32> {
        self.clock.map(|(clock, then)| clock.saturating_add(now.since(then).get()))
    }

    /// Keeps a result, encoded with the number [`next`](Store::next).
    ///
    /// # Errors
    /// If the flash failed.
    pub fn keep_result(&mut self, result: &[u8]) -> Result<(), Failed> {
        self.results.keep(&mut self.flash, result)
    }

    /// What was learnt of the pickup in earlier sittings, if that is kept and can be read.
    pub fn learnt(&self) -> Option<Habits> {
        self.results.learnt(&self.flash)
    }

    /// Keeps what was learnt of the pickup. It takes the room of a few results, so it is for the end of a
    /// sitting or a rest.
    ///
    /// # Errors
    /// If the flash failed.
    pub fn keep_learnt(&mut self, habits: &Habits) -> Result<(), Failed> {
        self.results.keep_learnt(&mut self.flash, habits)
    }

    /// Whether [`prepare`](Self::prepare) has something to do.
    pub fn wants_preparing(&self) -> bool {
        self.results.wants_preparing::<F>()
    }

    /// Erases what will be written soon; takes as long as erasing a sector does.
    ///
    /// # Errors
    /// If the flash failed.
    pub fn prepare(&mut self) -> Result<(), Failed> {
        self.results.prepare(&mut self.flash)
    }

    /// The study that is practised.
    fn current(&self) -> Option<Pack<'_>> {
        let stored = self.study.and_then(|(index, _)| self.packs.get(&self.flash, index));
        Pack::open_again(stored.unwrap_or(BUILT_IN))
    }

    /// How often in a row a piece has to be clean; of a join the more lenient of its chunks says so, as in
    /// practice.
    fn in_a_row(&self, piece: Piece) -> Option<u8> {
        let (first, last) = piece.chunks()?;
        let pack = self.current()?;
        let facts = (first..=last).map_while(|chunk| pack.facts(chunk));
        facts.map(|facts| facts.rules.in_a_row()).min()
    }
}

impl<F: MappedFlash> Music for Memory<F> {
    fn facts(&self, chunk: u8) -> Option<ChunkFacts> {
        self.current()?.facts(chunk)
    }

    /// From all results that are there: those that a computer has, too.
    fn known(&self, known: &mut Known) {
        let results = self.results.all(&self.flash);
        recall(results, self.study_hash(), |piece| self.in_a_row(piece), known);
    }

    fn music<'n>(
        &self,
        task: Task,
        fingering: &dyn Fn(u8) -> u8,
        notes: &'n mut Notes,
    ) -> Option<Chunk<'n>> {
        self.current()?.music(task, fingering, notes).ok()
    }

    fn studies(&self) -> u8 {
        u8::try_from(self.packs.len()).unwrap_or(u8::MAX).max(1)
    }

    fn study(&self) -> u8 {
        self.study.and_then(|(index, _)| u8::try_from(index).ok()).unwrap_or(0)
    }

    fn chunks(&self) -> u8 {
        self.current().map_or(0, |pack| pack.chunks())
    }
}

impl<F: MappedFlash> Store for Memory<F> {
    fn about(&self) -> PedalInfo<'_> {
        PedalInfo {
            firmware: concat!("evenhand-pedal ", env!("CARGO_PKG_VERSION")),
            board: self.identity.board,
            device: self.identity.device,
            memory: self.results.memory(),
            sitting: self.sitting,
        }
    }

    fn troubles(&self) -> Troubles {
        self.troubles
    }

    fn free(&self) -> u32 {
        u32::try_from(self.packs.free::<F>()).unwrap_or(u32::MAX)
    }

    fn packs(&self) -> u16 {
        self.packs.len() as u16
    }

    fn pack(&self, index: u16) -> Option<&[u8]> {
        self.packs.get(&self.flash, index.into())
    }

    fn begin(&mut self, pack: PackId) -> Result<(), StoreProblem> {
        if self.in_use {
            return Err(StoreProblem::InUse);
        }
        let after = self.results.chosen().map_or(0, |chosen| chosen.newest);
        self.packs.begin(&mut self.flash, pack, after)
    }

    fn incoming(&self) -> Option<PackId> {
        self.packs.incoming()
    }

    fn received(&self) -> &[u8] {
        self.packs.received(&self.flash)
    }

    fn put(&mut self, bytes: &[u8]) -> Result<(), StoreProblem> {
        if self.in_use {
            return Err(StoreProblem::InUse);
        }
        self.packs.put(&mut self.flash, bytes)
    }

    fn keep(&mut self) -> Result<(), StoreProblem> {
        if self.in_use {
            return Err(StoreProblem::InUse);
        }
        self.packs.keep(&mut self.flash)?;
        self.look_up();
        Ok(())
    }

    fn drop_incoming(&mut self) {
        self.packs.drop_incoming();
    }

    fn remove(&mut self, index: u16) -> Result<(), StoreProblem> {
        if self.in_use {
            return Err(StoreProblem::InUse);
        }
        self.packs.remove(&mut self.flash, index.into())?;
        self.look_up();
        Ok(())
    }

    fn oldest(&self) -> u32 {
        self.results.oldest()
    }

    fn next(&self) -> u32 {
        self.results.next()
    }

    fn result(&self, number: u32) -> Option<&[u8]> {
        self.results.get(&self.flash, number)
    }

    fn forget(&mut self, up_to: u32) -> Result<(), StoreProblem> {
        self.results.forget(&mut self.flash, up_to).map_err(|Failed| StoreProblem::Failed)
    }

    fn set_clock(&mut self, clock: u32, now: Seconds) {
        self.clock = Some((clock, now));
    }
}
