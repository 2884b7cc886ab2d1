//! Making the session where it stays.

use core::mem::MaybeUninit;

use evenhand_core::session::Session;

/// Makes a session without a chunk in its place, which is not on the stack: it is by far the
/// largest thing there is.
///
/// A function of its own, so that the compiler sees the session written to its place and nowhere
/// else. The figures of the stack show whether it did.
#[inline(never)]
pub fn idle_session(
    place: &'static mut MaybeUninit<Session<'static>>,
) -> &'static mut Session<'static> {
    place.write(Session::idle())
}
