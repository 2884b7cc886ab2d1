//! A session as `listen` hears it: one listener for all its takes, no profile, channels found out by
//! themselves, attempts cut out of the stream by themselves.

use evenhand::listening::Finished;

use super::session::Session;
use super::stream::Stream;
use crate::paths::{listen, live};

/// Whether the player was told on the way that the pickup is heard too badly to judge by. Gives each attempt that is heard to `with`, with the number of the take that it is of. What
/// is less than half of a take is none's.
pub fn hear(
    session: &Session,
    stream: &Stream<'_>,
    mut with: impl FnMut(Option<usize>, &Finished<'_>),
) -> bool {
    let chunks = std::slice::from_ref(&session.chunk);
    let input = (stream.messages.as_slice(), Some(stream.until));
    listen(chunks, live(None), input, |finished| {
        with(take_of(session, stream, finished), finished);
    })
}

fn take_of(session: &Session, stream: &Stream<'_>, finished: &Finished<'_>) -> Option<usize> {
    let mut counts = vec![0_usize; session.takes.len()];
    for number in finished.arrival.iter().flatten() {
        let (take, _) = stream.notes.get(*number as usize)?;
        counts[*take] += 1;
    }
    let sent = |take: usize| stream.notes.iter().filter(|(of, _)| *of == take).count();
    let whole = |take: usize| sent(take).min(session.chunk.notes.len());
    let (take, count) = counts.into_iter().enumerate().max_by_key(|(_, count)| *count)?;
    (2 * count >= whole(take)).then_some(take)
}
