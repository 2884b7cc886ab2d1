//! The packs: each in sectors of its own, with a head before it.
//!
//! The head is written last, in one piece with a checksum, so a pack is there as a whole or not
//! at all, whenever the power is cut. A pack is removed by writing zeros over a place in its head;
//! its sectors are erased when they are needed.

use evenhand_core::link::{PackId, StoreProblem};
use heapless::Vec;

use super::flash::{ALIGN, ERASED, Failed, MappedFlash, clear, sealed, sector_of, unsealed, write};

/// Packs that a pedal keeps, at most. Our default.
const PACKS: usize = 16;

/// The head takes a page of common flash, so that the pieces of a pack are pages, too.
const HEAD: usize = 256;
/// The magic, order and length of the pack, a checksum.
const HEAD_WRITTEN: usize = 16;
const MAGIC: [u8; 4] = *b"EvhS";
/// Where zeros say that the pack is removed.
const REMOVED: usize = 32;

/// Where a pack is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Extent {
    /// Its first sector, and how many it takes.
    first: usize,
    sectors: usize,
    length: usize,
    /// The order in which packs came in.
    turn: u32,
}

#[derive(Clone, Copy, Debug)]
struct Incoming {
    id: PackId,
    extent: Extent,
    received: usize,
}

/// The packs in the last sectors of a flash.
#[derive(Debug)]
pub(super) struct Packs {
    from: usize,
    until: usize,
    /// In the order in which they came in.
    list: Vec<Extent, PACKS>,
    incoming: Option<Incoming>,
}

impl Packs {
    /// Finds the packs in the sectors from `from` on.
    pub(super) fn open<F: MappedFlash>(flash: &F, from: usize) -> Self {
        let until = (flash.mapped().len() / F::ERASE_SIZE).max(from);
        let mut packs = Self { from, until, list: Vec::new(), incoming: None };
        let mut at = from;
        while at < until {
            match packs.read(flash, at) {
                Some(extent) => {
                    at += extent.sectors;
                    // In the order in which they came: put in their places, which are few, as a
                    // sort takes 2 KB of code. More than there is room for cannot have been kept.
                    let later = packs.list.iter().position(|other| other.turn > extent.turn);
                    let place = later.unwrap_or(packs.list.len());
                    let _ = packs.list.insert(place, extent);
                }
                None => at += 1,
            }
        }
        packs
    }

    fn read<F: MappedFlash>(&self, flash: &F, first: usize) -> Option<Extent> {
        let head = sector_of(flash, first);
        let [turn, length] = unsealed(head, MAGIC)?;
        let removed = head.get(REMOVED..REMOVED + ALIGN)?;
        if removed.iter().any(|byte| *byte != ERASED) {
            return None;
        }
        let length = length as usize;
        let sectors = sectors::<F>(length);
        let fits = first + sectors <= self.until;
        fits.then_some(Extent { first, sectors, length, turn })
    }

    /// How many packs there are.
    pub(super) fn len(&self) -> usize {
        self.list.len()
    }

    /// The turn of the pack that came in last; 0 if there is none.
    pub(super) fn newest_turn(&self) -> u32 {
        self.list.iter().map(|extent| extent.turn).max().unwrap_or(0)
    }

    /// The bytes of a pack, in the order in which they came in.
    pub(super) fn get<'f, F: MappedFlash>(&self, flash: &'f F, index: usize) -> Option<&'f [u8]> {
        bytes(flash, self.list.get(index)?, None)
    }

    /// The longest pack that there is room for.
    pub(super) fn free<F: MappedFlash>(&self) -> usize {
        if self.list.is_full() {
            return 0;
        }
        let longest = self.gaps().map(|(_, sectors)| sectors).max().unwrap_or(0);
        (longest * F::ERASE_SIZE).saturating_sub(HEAD)
    }

    /// What lies between packs: first sectors, and how many.
    fn gaps(&self) -> impl Iterator<Item = (usize, usize)> + '_ {
        let starts = core::iter::once(self.from)
            .chain(self.list.iter().map(|extent| extent.first + extent.sectors));
        starts.map(|start| {
            let next = self.list.iter().map(|extent| extent.first).filter(|at| *at >= start).min();
            (start, next.unwrap_or(self.until) - start)
        })
    }

    /// Makes room for a pack, whose turn comes after `after` and that of every other.
    pub(super) fn begin<F: MappedFlash>(
        &mut self,
        flash: &mut F,
        id: PackId,
        after: u32,
    ) -> Result<(), StoreProblem> {
        self.incoming = None;
        let length = id.length as usize;
        let sectors = sectors::<F>(length);
        if self.list.is_full() {
            return Err(StoreProblem::NoRoom);
        }
        // The smallest gap that is large enough, so that large ones stay.
        let gap = self.gaps().filter(|(_, room)| *room >= sectors).min_by_key(|(_, room)| *room);
        let (first, _) = gap.ok_or(StoreProblem::NoRoom)?;
        clear(flash, first).map_err(|Failed| StoreProblem::Failed)?;
        let turn = self.newest_turn().max(after);
        let extent = Extent { first, sectors, length, turn: turn.saturating_add(1) };
        self.incoming = Some(Incoming { id, extent, received: 0 });
        Ok(())
    }

    /// The pack that is coming in.
    pub(super) fn incoming(&self) -> Option<PackId> {
        self.incoming.map(|incoming| incoming.id)
    }

    /// What has come in of it.
    pub(super) fn received<'f, F: MappedFlash>(&self, flash: &'f F) -> &'f [u8] {
        let incoming = self.incoming.as_ref();
        incoming
            .and_then(|incoming| bytes(flash, &incoming.extent, Some(incoming.received)))
            .unwrap_or_default()
    }

    /// Puts a piece behind what has come in.
    pub(super) fn put<F: MappedFlash>(
        &mut self,
        flash: &mut F,
        piece: &[u8],
    ) -> Result<(), StoreProblem> {
        let incoming = self.incoming.as_mut().ok_or(StoreProblem::Failed)?;
        let at = HEAD + incoming.received;
        let first = incoming.extent.first;
        let sectors = at.div_ceil(F::ERASE_SIZE)..(at + piece.len()).div_ceil(F::ERASE_SIZE);
        if !at.is_multiple_of(ALIGN) || first + sectors.end > self.until {
            return Err(StoreProblem::Failed);
        }
        for sector in sectors {
            clear(flash, first + sector).map_err(|Failed| StoreProblem::Failed)?;
        }
        write(flash, first * F::ERASE_SIZE + at, piece).map_err(|Failed| StoreProblem::Failed)?;
        incoming.received += piece.len();
        Ok(())
    }

    /// Makes what has come in a pack that is kept.
    pub(super) fn keep<F: MappedFlash>(&mut self, flash: &mut F) -> Result<(), StoreProblem> {
        let incoming = self.incoming.take().ok_or(StoreProblem::Failed)?;
        let Extent { first, length, turn, .. } = incoming.extent;
        let length = u32::try_from(length).map_err(|_| StoreProblem::Failed)?;
        let head: [u8; HEAD_WRITTEN] = sealed(MAGIC, &[turn, length]);
        write(flash, first * F::ERASE_SIZE, &head).map_err(|Failed| StoreProblem::Failed)?;
        self.list.push(incoming.extent).map_err(|_| StoreProblem::NoRoom)
    }

    /// Throws away what has come in.
    pub(super) const fn drop_incoming(&mut self) {
        self.incoming = None;
    }

    /// Removes a pack.
    pub(super) fn remove<F: MappedFlash>(
        &mut self,
        flash: &mut F,
        index: usize,
    ) -> Result<(), StoreProblem> {
        let extent = self.list.get(index).ok_or(StoreProblem::Failed)?;
        let at = extent.first * F::ERASE_SIZE + REMOVED;
        write(flash, at, &[0; ALIGN]).map_err(|Failed| StoreProblem::Failed)?;
        self.list.remove(index);
        Ok(())
    }
}

fn sectors<F: MappedFlash>(length: usize) -> usize {
    (HEAD + length).div_ceil(F::ERASE_SIZE)
}

fn bytes<'f, F: MappedFlash>(
    flash: &'f F,
    extent: &Extent,
    length: Option<usize>,
) -> Option<&'f [u8]> {
    let from = extent.first * F::ERASE_SIZE + HEAD;
    flash.mapped().get(from..from + length.unwrap_or(extent.length))
}
