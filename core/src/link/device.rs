//! The pedal's side.

use super::frame::{Frame, Head, Incoming, Kind, LINK_VERSION};
use super::message::{Answer, DATA, Hello, NAME, PackId, Question, Refusal, Troubles};
use super::store::Store;
use crate::pack::{self, Pack, PackProblem};
use crate::units::Seconds;

/// Answers a computer's questions from a [`Store`]. It holds one frame that comes in and the
/// last one that went out, and nothing else: what matters is in the store.
#[derive(Debug)]
pub struct Device {
    incoming: Incoming,
    answer: Frame,
    session: Option<u32>,
    /// The number of the last question that was done.
    last: u32,
}

impl Default for Device {
    fn default() -> Self {
        Self::new()
    }
}

impl Device {
    /// No session yet.
    pub const fn new() -> Self {
        Self { incoming: Incoming::NEW, answer: Frame::EMPTY, session: None, last: 0 }
    }

    /// Takes a byte from the cable. `now` is the time since the pedal was switched on. What is
    /// given back is a frame to be sent, whole, before the next byte is taken.
    pub fn push(&mut self, byte: u8, store: &mut impl Store, now: Seconds) -> Option<&[u8]> {
        let Self { incoming, answer, session, last } = self;
        let (head, body) = incoming.push(byte)?;
        let reply = Head { version: LINK_VERSION, kind: Kind::Answer, ..head };
        match head.kind {
            Kind::Question if head.version != LINK_VERSION => {
                answer.make::<()>(Head { kind: Kind::OtherVersion, ..reply }, None)?;
                // It was no question of a session; the last one has no answer any more.
                *session = None;
                return Some(answer.bytes());
            }
            Kind::Question => {}
            // Answers are for computers: a cable that leads back to itself.
            Kind::Answer | Kind::OtherVersion => return None,
        }
        let question = postcard::take_from_bytes::<Question<'_>>(body);
        let question = question.ok().filter(|(_, rest)| rest.is_empty()).map(|(q, _)| q);
        if *session != Some(head.session) {
            if question != Some(Question::Hello) {
                // Late, from a session that is over; or the pedal was switched off in between.
                if session.is_some() {
                    return None;
                }
                answer.make(reply, Some(&Answer::Refused(Refusal::NoSession)))?;
                return Some(answer.bytes());
            }
            *session = Some(head.session);
        } else if head.number == *last {
            // The answer was lost: once more, but nothing is done twice.
            return Some(answer.bytes());
        } else if head.number < *last {
            // Late: the computer has gone on.
            return None;
        }
        *last = head.number;
        let given = match &question {
            Some(question) => answered(question, store, now),
            None => Answer::Refused(Refusal::NotUnderstood),
        };
        answer.make(reply, Some(&given))?;
        Some(answer.bytes())
    }
}

/// Does what is asked.
fn answered<'s, S: Store>(question: &Question<'_>, store: &'s mut S, now: Seconds) -> Answer<'s> {
    match *question {
        Question::Hello => hello(store, now),
        Question::List { index } => listed(store, index),
        Question::Begin(id) => begin(store, id),
        Question::Data { checksum, offset, bytes } => data(store, checksum, offset, bytes),
        Question::End { checksum } => end(store, checksum),
        Question::Remove(id) => match find(store, id) {
            Some(index) => match store.remove(index) {
                Ok(()) => Answer::Removed,
                Err(problem) => Answer::Refused(problem.into()),
            },
            None => Answer::Refused(Refusal::NoSuchPack),
        },
        Question::Read { pack, offset } => read(store, pack, offset),
        Question::Result { number, offset } => result(store, number, offset),
        Question::Forget { up_to } => {
            // What was never there cannot be safe.
            let up_to = up_to.min(store.next().saturating_sub(1));
            match store.forget(up_to) {
                Ok(()) => Answer::Forgotten { oldest: store.oldest() },
                Err(problem) => Answer::Refused(problem.into()),
            }
        }
        Question::Clock { seconds } => {
            store.set_clock(seconds, now);
            Answer::ClockSet
        }
        Question::Troubles => {
            let Troubles { lost, stopped } = store.troubles();
            Answer::Troubles { lost, stopped: stopped.code() }
        }
    }
}

fn hello<S: Store>(store: &S, now: Seconds) -> Answer<'_> {
    let about = store.about();
    Answer::Hello(Hello {
        firmware: cut(about.firmware),
        board: cut(about.board),
        device: about.device,
        memory: about.memory,
        pack_version: pack::VERSION,
        free: store.free(),
        packs: store.packs(),
        oldest: store.oldest(),
        next: store.next(),
        sitting: about.sitting,
        seconds: now.get(),
    })
}

/// A name of at most [`NAME`] bytes.
fn cut(name: &str) -> &str {
    let whole = name.char_indices().map(|(at, letter)| at + letter.len_utf8());
    let end = whole.take_while(|end| *end <= NAME).last().unwrap_or(0);
    name.get(..end).unwrap_or_default()
}

/// The stored pack at `index`, with what it is.
fn stored<S: Store>(store: &S, index: u16) -> Option<(PackId, Pack<'_>)> {
    let pack = Pack::open(store.pack(index)?).ok()?;
    Some((identity(&pack), pack))
}

fn identity(pack: &Pack<'_>) -> PackId {
    PackId {
        study: pack.study(),
        length: u32::try_from(pack.bytes().len()).unwrap_or(u32::MAX),
        checksum: pack.checksum(),
    }
}

fn find<S: Store>(store: &S, id: PackId) -> Option<u16> {
    (0..store.packs()).find(|index| stored(store, *index).is_some_and(|(own, _)| own == id))
}

fn listed<S: Store>(store: &S, index: u16) -> Answer<'_> {
    match stored(store, index) {
        Some((pack, opened)) => Answer::Listed { pack, title: opened.title() },
        // One that is damaged in the memory is told from one that is not there.
        None if index < store.packs() => Answer::Refused(Refusal::Damaged),
        None => Answer::Refused(Refusal::NoSuchPack),
    }
}

fn begin<S: Store>(store: &mut S, id: PackId) -> Answer<'static> {
    if find(store, id).is_some() {
        return Answer::Stored { checksum: id.checksum };
    }
    if store.incoming() != Some(id) || store.received().len() > id.length as usize {
        if id.length > store.free() {
            return Answer::Refused(Refusal::NoRoom);
        }
        if let Err(problem) = store.begin(id) {
            return Answer::Refused(problem.into());
        }
    }
    want(store, id)
}

fn want<S: Store>(store: &S, id: PackId) -> Answer<'static> {
    let offset = u32::try_from(store.received().len()).unwrap_or(u32::MAX);
    Answer::Want { checksum: id.checksum, offset }
}

fn data<S: Store>(store: &mut S, checksum: u32, offset: u32, bytes: &[u8]) -> Answer<'static> {
    let Some(id) = store.incoming().filter(|id| id.checksum == checksum) else {
        return Answer::Refused(Refusal::NotBegun);
    };
    let received = store.received().len();
    let left = (id.length as usize).saturating_sub(received);
    // Whatever else was sent, what is wanted next is said again.
    if received == offset as usize
        && !bytes.is_empty()
        && bytes.len() == left.min(DATA)
        && let Err(problem) = store.put(bytes)
    {
        return Answer::Refused(problem.into());
    }
    want(store, id)
}

fn end<S: Store>(store: &mut S, checksum: u32) -> Answer<'static> {
    let Some(id) = store.incoming().filter(|id| id.checksum == checksum) else {
        let done = (0..store.packs())
            .any(|index| stored(store, index).is_some_and(|(own, _)| own.checksum == checksum));
        return match done {
            true => Answer::Stored { checksum },
            false => Answer::Refused(Refusal::NotBegun),
        };
    };
    if store.received().len() < id.length as usize {
        return want(store, id);
    }
    let refusal = match Pack::open(store.received()) {
        Ok(pack) if identity(&pack) == id => None,
        Err(PackProblem::TooNew { .. }) => Some(Refusal::TooNew),
        Ok(_) | Err(_) => Some(Refusal::Damaged),
    };
    if let Some(refusal) = refusal {
        store.drop_incoming();
        return Answer::Refused(refusal);
    }
    match store.keep() {
        Ok(()) => {
            // The same study, packed by another version of the program. If it cannot be removed
            // it stays, which harms nothing.
            let older = (0..store.packs()).find(|index| {
                stored(store, *index).is_some_and(|(own, _)| own.study == id.study && own != id)
            });
            let _ = older.map(|index| store.remove(index));
            Answer::Stored { checksum }
        }
        Err(problem) => Answer::Refused(problem.into()),
    }
}

fn read<S: Store>(store: &S, id: PackId, offset: u32) -> Answer<'_> {
    let Some((_, pack)) = find(store, id).and_then(|index| stored(store, index)) else {
        return Answer::Refused(Refusal::NoSuchPack);
    };
    let bytes = pack.bytes().get(offset as usize..).unwrap_or_default();
    Answer::Part { offset, bytes: bytes.get(..DATA).unwrap_or(bytes) }
}

fn result<S: Store>(store: &S, number: u32, offset: u16) -> Answer<'_> {
    let from = number.max(store.oldest());
    // What was damaged in the memory is passed over.
    let found = (from..store.next()).find_map(|n| store.result(n).map(|bytes| (n, bytes)));
    let Some((number, bytes)) = found else { return Answer::NoResult { next: store.next() } };
    let total = u16::try_from(bytes.len()).unwrap_or(u16::MAX);
    let bytes = bytes.get(usize::from(offset)..).unwrap_or_default();
    Answer::Result { number, total, offset, bytes: bytes.get(..DATA).unwrap_or(bytes) }
}
