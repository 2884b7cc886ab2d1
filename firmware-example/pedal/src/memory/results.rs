//! The results: a ring of sectors, each erased in its turn, so that all wear alike.
//!
//! A sector begins with a head (its number in the order of writing, the number of its first
//! result, which memory it belongs to, a checksum). Behind it stand entries, each at a multiple of
//! eight bytes: results as they are encoded, which carry a checksum, and marks: up to where results
//! are forgotten, which study was chosen, and what was learnt of the pickup. Nothing is ever written twice.
//!
//! When the power is cut while an entry is written, its checksum is wrong; the sector is closed
//! then, and writing goes on in the next one. So a cut costs the entry that was being written, and
//! nothing else. When a sector is erased for new results, the oldest go.

use evenhand_core::limits::RESULT_BYTES;
use evenhand_core::pack::ResultRecord;
use evenhand_core::pickup::Habits;

use super::flash::{
    ALIGN, Failed, MappedFlash, clear, is_erased, sealed, sector_of, unsealed, write,
};
use super::marks::{Chosen, Mark, learnt, learnt_written};

/// Sectors that a pedal keeps results in, at most.
pub const SECTORS: usize = 64;

/// So many sectors are erased ahead, but no more than this part of all: what a sitting without a rest may take,
/// since nothing is erased while somebody practises. 32 KiB are some hundred usual results. Our default.
const SECTORS_AHEAD: usize = 8;
const PART_AHEAD: usize = 8;

/// A sector's head: the magic, three numbers, the checksum, filled up.
const HEAD: usize = 24;
const MAGIC: [u8; 4] = *b"EvhR";
/// What is known of a sector.
#[derive(Clone, Copy, Debug)]
struct Sector {
    /// Its place in the order of writing, from 1; 0 if it holds nothing.
    turn: u32,
    /// The number of its first result.
    first: u32,
    results: u16,
    /// Where the next entry belongs; the end of the sector, if it is closed.
    end: u32,
}

impl Sector {
    const NONE: Self = Self { turn: 0, first: 0, results: 0, end: 0 };
}

/// The results in the first sectors of a flash.
#[derive(Debug)]
pub(super) struct Results {
    sectors: [Sector; SECTORS],
    count: usize,
    /// The one that is written to.
    newest: Option<usize>,
    forgotten: u32,
    chosen: Option<Chosen>,
    /// Where the last that was learnt of the pickup stands in the flash; 0 if there is none. When its
    /// sector has been erased, what stands there is no such mark.
    learnt: u32,
    next: u32,
    memory: u32,
    /// So many sectors after the newest are erased.
    prepared: usize,
}

impl Results {
    /// Reads what is in the first `count` sectors, at most [`SECTORS`], at least two. A memory
    /// that is new gets the number `memory`.
    pub(super) fn open<F: MappedFlash>(flash: &F, count: usize, memory: u32) -> Self {
        let count = count.min(SECTORS);
        let mut results = Self {
            sectors: [Sector::NONE; SECTORS],
            count,
            newest: None,
            forgotten: 0,
            chosen: None,
            learnt: 0,
            next: 1,
            memory,
            prepared: 0,
        };
        // The sectors in which the last choice stands, and what was learnt last.
        let (mut chosen_in, mut learnt_in) = (0, 0);
        for index in 0..count {
            let Some((sector, own, chosen, learnt)) = results.read(sector_of(flash, index)) else {
                continue;
            };
            if chosen.is_some() && sector.turn > chosen_in {
                results.chosen = chosen;
                chosen_in = sector.turn;
            }
            if learnt > 0 && sector.turn > learnt_in {
                results.learnt = (index * F::ERASE_SIZE) as u32 + learnt;
                learnt_in = sector.turn;
            }
            let turn = results.newest.and_then(|newest| results.sectors.get(newest));
            if turn.is_none_or(|newest| newest.turn < sector.turn) {
                results.newest = Some(index);
                results.memory = own;
                results.next = sector.first.saturating_add(sector.results.into());
            }
            if let Some(place) = results.sectors.get_mut(index) {
                *place = sector;
            }
        }
        let ahead = 0..count.saturating_sub(1);
        let erased = ahead.take_while(|n| is_erased(sector_of(flash, results.after_newest(*n))));
        results.prepared = erased.count();
        results
    }

    /// What is in a sector, which memory it belongs to, the last choice in it, and where in it the last
    /// that was learnt stands, 0 for nowhere.
    fn read(&mut self, bytes: &[u8]) -> Option<(Sector, u32, Option<Chosen>, u32)> {
        let [turn, first, memory] = unsealed(bytes, MAGIC)?;
        let mut sector = Sector { turn, first, results: 0, end: 0 };
        let mut at = HEAD;
        let (mut chosen, mut learnt) = (None, 0);
        while let Some(entry) = bytes.get(at..).filter(|entry| !entry.is_empty()) {
            if is_erased(entry) {
                break;
            }
            let length = if let Some(mark) = Mark::read(entry) {
                match mark {
                    Mark::Forgotten { up_to } => self.forgotten = self.forgotten.max(up_to),
                    Mark::Chosen(choice) => chosen = Some(choice),
                    Mark::Learnt { .. } => learnt = at as u32,
                }
                mark.length()
            } else if ResultRecord::decode(entry).is_ok() {
                sector.results += 1;
                ResultRecord::total(entry).unwrap_or(entry.len())
            } else {
                // The power was cut here.
                at = bytes.len();
                break;
            };
            at = (at + length).next_multiple_of(ALIGN);
        }
        sector.end = u32::try_from(at).unwrap_or(u32::MAX);
        Some((sector, memory, chosen, learnt))
    }

    /// The number of this memory.
    pub(super) const fn memory(&self) -> u32 {
        self.memory
    }

    /// The number that the next result will have.
    pub(super) const fn next(&self) -> u32 {
        self.next
    }

    /// The number of the oldest result that is kept; equal to the next if there is none.
    pub(super) fn oldest(&self) -> u32 {
        let kept = self.sectors.iter().filter(|sector| sector.turn > 0 && sector.results > 0);
        let oldest = kept.map(|sector| sector.first).min().unwrap_or(self.next);
        oldest.max(self.forgotten.saturating_add(1)).min(self.next)
    }

    /// The bytes of a result.
    pub(super) fn get<'f, F: MappedFlash>(&self, flash: &'f F, number: u32) -> Option<&'f [u8]> {
        if number < self.oldest() || number >= self.next {
            return None;
        }
        self.find(flash, number)
    }

    /// The bytes of the last result, also if it is forgotten.
    pub(super) fn last<'f, F: MappedFlash>(&self, flash: &'f F) -> Option<&'f [u8]> {
        self.find(flash, self.next.checked_sub(1)?)
    }

    fn find<'f, F: MappedFlash>(&self, flash: &'f F, number: u32) -> Option<&'f [u8]> {
        let holds = |sector: &Sector| {
            let last = sector.first.checked_add(sector.results.into());
            sector.turn > 0 && sector.first <= number && last.is_some_and(|last| number < last)
        };
        let (index, sector) = self.sectors.iter().enumerate().find(|(_, sector)| holds(sector))?;
        let bytes = sector_of(flash, index);
        let (mut at, mut left) = (HEAD, number - sector.first);
        loop {
            let entry = bytes.get(at..sector.end as usize)?;
            let mark = Mark::read(entry).map(Mark::length);
            let length = mark.or_else(|| ResultRecord::total(entry))?;
            if mark.is_none() {
                if left == 0 {
                    return entry.get(..length);
                }
                left -= 1;
            }
            at = (at + length).next_multiple_of(ALIGN);
        }
    }

    /// All results that are there, the oldest first, those that are forgotten, too.
    pub(super) fn all<'f, F: MappedFlash>(&self, flash: &'f F) -> impl Iterator<Item = &'f [u8]> {
        // The one after the newest was written longest ago.
        let sectors = (0..self.count).map(|beyond| self.after_newest(beyond));
        let there = sectors.filter_map(|index| {
            let sector = self.sectors.get(index).filter(|sector| sector.turn > 0)?;
            sector_of(flash, index).get(..sector.end as usize)
        });
        there.flat_map(|sector| {
            let mut left = sector.get(HEAD..).unwrap_or_default();
            core::iter::from_fn(move || {
                let length = Mark::read(left).map(Mark::length);
                let length = length.or_else(|| ResultRecord::total(left))?;
                let entry = left.get(..length)?;
                left = left.get(length.next_multiple_of(ALIGN)..).unwrap_or_default();
                Some(entry)
            })
        })
    }

    /// Keeps a result that was encoded with the number [`next`](Self::next).
    ///
    /// # Errors
    /// If the flash failed, in two places.
    pub(super) fn keep<F: MappedFlash>(
        &mut self,
        flash: &mut F,
        result: &[u8],
    ) -> Result<(), Failed> {
        self.append(flash, result)?;
        if let Some(sector) = self.newest.and_then(|newest| self.sectors.get_mut(newest)) {
            sector.results += 1;
        }
        self.next = self.next.saturating_add(1);
        Ok(())
    }

    /// Forgets results up to a number.
    ///
    /// # Errors
    /// If the flash failed.
    pub(super) fn forget<F: MappedFlash>(
        &mut self,
        flash: &mut F,
        up_to: u32,
    ) -> Result<(), Failed> {
        if up_to <= self.forgotten || self.newest.is_none() {
            return Ok(());
        }
        self.append(flash, &Mark::Forgotten { up_to }.written())?;
        self.forgotten = up_to;
        Ok(())
    }

    /// The study that was chosen last.
    pub(super) const fn chosen(&self) -> Option<Chosen> {
        self.chosen
    }

    /// Remembers a choice. It counts in any case, for as long as the power is on.
    ///
    /// # Errors
    /// If the flash failed.
    pub(super) fn choose<F: MappedFlash>(
        &mut self,
        flash: &mut F,
        chosen: Chosen,
    ) -> Result<(), Failed> {
        self.chosen = Some(chosen);
        self.append(flash, &Mark::Chosen(chosen).written())
    }

    /// What was learnt last of the pickup, if this firmware can read it. When its sector was erased for
    /// newer results, it is learnt anew.
    pub(super) fn learnt<F: MappedFlash>(&self, flash: &F) -> Option<Habits> {
        let at = Some(self.learnt as usize).filter(|at| *at > 0)?;
        learnt(flash.mapped().get(at..)?)
    }

    /// Keeps what was learnt of the pickup.
    ///
    /// # Errors
    /// If the flash failed.
    // Not inlined: what it takes of the stack is not needed while an attempt is judged.
    #[inline(never)]
    pub(super) fn keep_learnt<F: MappedFlash>(
        &mut self,
        flash: &mut F,
        habits: &Habits,
    ) -> Result<(), Failed> {
        let entry = learnt_written(habits);
        self.append(flash, &entry)?;
        if let Some((index, sector)) =
            self.newest.and_then(|newest| Some((newest, self.sectors.get(newest)?)))
        {
            let end = index * F::ERASE_SIZE + sector.end as usize;
            self.learnt = end.saturating_sub(entry.len()) as u32;
        }
        Ok(())
    }

    /// Erases a sector if it will be needed soon: erasing takes so long that a board should do it while nobody
    /// plays. Again and again until nothing [is wanted](Self::wants_preparing) any more.
    ///
    /// # Errors
    /// If the flash failed.
    pub(super) fn prepare<F: MappedFlash>(&mut self, flash: &mut F) -> Result<(), Failed> {
        if self.wants_preparing::<F>() {
            self.clear_ahead(flash, self.prepared)?;
            self.prepared += 1;
        }
        Ok(())
    }

    /// Whether [`prepare`](Self::prepare) has something to do.
    pub(super) fn wants_preparing<F: MappedFlash>(&self) -> bool {
        let wanted = (self.count / PART_AHEAD).min(SECTORS_AHEAD) * F::ERASE_SIZE;
        let free = self.prepared * F::ERASE_SIZE + self.room::<F>();
        free < wanted.max(RESULT_BYTES) && self.prepared + 2 < self.count
    }

    /// Bytes left in the sector that is written to.
    fn room<F: MappedFlash>(&self) -> usize {
        let sector = self.newest.and_then(|newest| self.sectors.get(newest));
        sector.map_or(0, |sector| F::ERASE_SIZE.saturating_sub(sector.end as usize))
    }

    /// The sector so many places beyond the one after the newest.
    fn after_newest(&self, beyond: usize) -> usize {
        self.newest.map_or(beyond, |newest| newest + 1 + beyond) % self.count.max(1)
    }

    fn clear_ahead<F: MappedFlash>(
        &mut self,
        flash: &mut F,
        beyond: usize,
    ) -> Result<usize, Failed> {
        let next = self.after_newest(beyond);
        if let Some(sector) = self.sectors.get_mut(next) {
            *sector = Sector::NONE;
        }
        clear(flash, next)?;
        Ok(next)
    }

    fn append<F: MappedFlash>(&mut self, flash: &mut F, entry: &[u8]) -> Result<(), Failed> {
        let mut tries = 0;
        loop {
            if self.room::<F>() < entry.len().next_multiple_of(ALIGN) {
                self.begin_sector(flash)?;
            }
            let index = self.newest.ok_or(Failed)?;
            let sector = self.sectors.get_mut(index).ok_or(Failed)?;
            let at = sector.end as usize;
            match write(flash, index * F::ERASE_SIZE + at, entry) {
                Ok(()) => {
                    let end = (at + entry.len()).next_multiple_of(ALIGN);
                    sector.end = u32::try_from(end).map_err(|_| Failed)?;
                    return Ok(());
                }
                Err(Failed) => {
                    // This place is spoilt; once more in the next sector.
                    sector.end = u32::try_from(F::ERASE_SIZE).unwrap_or(u32::MAX);
                    tries += 1;
                    if tries == 2 {
                        return Err(Failed);
                    }
                }
            }
        }
    }

    fn begin_sector<F: MappedFlash>(&mut self, flash: &mut F) -> Result<(), Failed> {
        let newest = self.newest.and_then(|newest| self.sectors.get(newest));
        let turn = newest.map_or(1, |sector| sector.turn.saturating_add(1));
        let next = self.clear_ahead(flash, 0)?;
        self.prepared = self.prepared.saturating_sub(1);
        let head: [u8; HEAD] = sealed(MAGIC, &[turn, self.next, self.memory]);
        write(flash, next * F::ERASE_SIZE, &head)?;
        // A choice is said again in each sector, so that it stays when old ones are erased. It is
        // written before the sector is used; until then the one before it says the same.
        let mut end = HEAD;
        if let Some(chosen) = self.chosen {
            let mark = Mark::Chosen(chosen).written();
            write(flash, next * F::ERASE_SIZE + end, &mark)?;
            end += mark.len();
        }
        if let Some(sector) = self.sectors.get_mut(next) {
            *sector = Sector { turn, first: self.next, results: 0, end: end as u32 };
        }
        self.newest = Some(next);
        Ok(())
    }
}
