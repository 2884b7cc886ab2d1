//! The music stand: one session, and the notes it listens for.

use core::ptr::NonNull;

use evenhand_core::limits::EXPECTED_NOTES;
use evenhand_core::session::{Judged, Session, SessionConfig};
use evenhand_core::study::{Chunk, ExpectedNote};
use evenhand_core::units::Instant;
use heapless::Vec;

/// Room for the notes of the longest piece.
pub type Notes = Vec<ExpectedNote, EXPECTED_NOTES>;

/// A session and the notes it borrows, changed together.
///
/// A session borrows its chunk for as long as it lives, and here one session lives for ever while
/// its notes are written anew for each piece. So the borrow is looked after by hand, in this
/// file and nowhere else.
pub struct SessionSlot {
    session: &'static mut Session<'static>,
    notes: NonNull<Notes>,
}

// SAFETY: `notes` is the only way to what was a `&'static mut` to plain data, which may be sent.
unsafe impl Send for SessionSlot {}

impl SessionSlot {
    /// A slot of these parts, with nothing loaded.
    pub fn new(session: &'static mut Session<'static>, notes: &'static mut Notes) -> Self {
        session.unload();
        Self { session, notes: NonNull::from(notes) }
    }

    /// Puts other music up: what `write` makes of the notes. `false`, and an empty desk, if it
    /// makes nothing.
    pub fn change(
        &mut self,
        config: SessionConfig,
        write: impl for<'n> FnOnce(&'n mut Notes) -> Option<Chunk<'n>>,
    ) -> bool {
        // From here on the session refers to no notes.
        self.session.unload();
        // SAFETY: `notes` came from a `&'static mut` that nothing else has. The only borrows made
        // of it since are the session's, which has just given its own back, and those of what
        // `poll` and `chunk` return, which end before `self` can be borrowed again. `write` has
        // to do for any lifetime, so it cannot keep the notes.
        let notes: &'static mut Notes = unsafe { self.notes.as_mut() };
        let Some(chunk) = write(notes) else { return false };
        self.session.change(chunk, config);
        true
    }

    /// Nothing is listened for any more.
    pub fn unload(&mut self) {
        self.session.unload();
    }

    /// Takes a byte, see [`Session::feed`].
    pub fn feed(&mut self, byte: u8, at: Instant) {
        self.session.feed(&[byte], at);
    }

    /// See [`Session::poll_at`].
    pub fn poll_at(&self) -> Option<Instant> {
        self.session.poll_at()
    }

    /// See [`Session::poll`].
    pub fn poll(&mut self, now: Instant) -> Option<Judged<'_>> {
        self.session.poll(now)
    }

    /// See [`Session::finish`].
    pub fn finish(&mut self) -> Option<Judged<'_>> {
        self.session.finish()
    }

    /// See [`Session::discard`].
    pub fn discard(&mut self) {
        self.session.discard();
    }

    /// See [`Session::interrupt`].
    pub fn interrupt(&mut self) -> bool {
        self.session.interrupt()
    }

    /// See [`Session::notes_heard`].
    pub fn notes_heard(&self) -> u32 {
        self.session.notes_heard()
    }

    /// Whether an attempt is under way.
    pub fn is_played(&self) -> bool {
        self.session.under_way_from().is_some()
    }

    /// The loaded chunk, for no longer than the slot is left alone.
    pub fn chunk(&self) -> Chunk<'_> {
        *self.session.chunk()
    }
}
