//! What a rehearsal was, from what was meant, by the definitions of `docs/measures.md`.

use super::hand::Event;
use super::{Place, Run, SILENCE, STEP};
use evenhand::study::Prepared;

/// One note that is struck again is one too many, and no return.
const LEAST_RETURN: usize = 2;

/// What a traversal had in it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// Nothing.
    Clean,
    /// A wrong note, a missing one, or one too many.
    Slip,
    /// The player went back on the way.
    Return,
    /// Some notes were left out in a row.
    Gap,
}

/// A chunk that was played from its beginning to its end.
#[derive(Clone, Copy, Debug)]
pub struct Traversal {
    /// The chunk.
    pub chunk: usize,
    /// The number of its first note in the stream, and of its last.
    pub first: u32,
    /// The last.
    pub last: u32,
    /// What was in it.
    pub kind: Kind,
}

/// A chunk that was begun and broken off, too early to be an attempt.
#[derive(Clone, Copy, Debug)]
pub struct FalseStart {
    /// The chunk.
    pub chunk: usize,
    /// The number of its first note in the stream.
    pub first: u32,
}

/// A way through the study: which run played each of its events.
struct Way<'a> {
    events: Vec<(usize, &'a Run)>,
    returned: Vec<usize>,
    struck_again: Vec<usize>,
    furthest: usize,
    followed_by_silence: bool,
}

pub(super) fn truth(
    chunks: &[Prepared],
    events: &[Event],
    runs: &[Run],
    notes: &[(u64, Option<Place>)],
) -> (Vec<Traversal>, Vec<FalseStart>) {
    let mut traversals = Vec::new();
    let mut false_starts = Vec::new();
    let looped = looped(events, runs);
    for way in ways(events, runs) {
        let is_looped = way.events.iter().any(|(_, run)| looped.contains(&run.began));
        let first_chunk = way.events.first().map_or(0, |(event, _)| events[*event].place.chunk);
        let last_chunk = events[way.furthest].place.chunk;
        for (chunk, music) in chunks.iter().enumerate().take(last_chunk + 1).skip(first_chunk) {
            let own: Vec<usize> =
                (0..events.len()).filter(|&event| events[event].place.chunk == chunk).collect();
            let (begin, end) = (own[0], own[own.len() - 1]);
            let played: Vec<&(usize, &Run)> =
                way.events.iter().filter(|(event, _)| own.contains(event)).collect();
            let begins = way.events.first().is_some_and(|(event, _)| *event <= begin);
            let ends = way.furthest >= end;
            if begins && ends {
                let number = |at: usize, last: bool| number_of(events, notes, &played, at, last);
                let (Some(first), Some(last)) = (number(begin, false), number(end, true)) else {
                    continue;
                };
                let kind = if way.returned.iter().any(|event| own.contains(event)) {
                    Kind::Return
                } else if played.len() < own.len() {
                    Kind::Gap
                } else if way.struck_again.iter().any(|event| own.contains(event))
                    || played.iter().any(|(event, run)| run.slips.contains(event))
                {
                    Kind::Slip
                } else {
                    Kind::Clean
                };
                traversals.push(Traversal { chunk, first, last, kind });
            } else if begins {
                let notes_of = |event: usize| {
                    let onset = events[event].onset();
                    music.notes.iter().filter(|note| note.onset == onset).count()
                };
                let reached: usize =
                    own.iter().filter(|&&event| event <= way.furthest).map(|&e| notes_of(e)).sum();
                let all = music.notes.len();
                let enough = if way.followed_by_silence { 50 } else { 75 };
                if reached >= 3 && reached * 100 < all * enough && !is_looped {
                    let first = number_of(events, notes, &played, begin, false);
                    false_starts.extend(first.map(|first| FalseStart { chunk, first }));
                }
            }
        }
    }
    (traversals, false_starts)
}

/// The runs that are the same part again and again, by when they began: three in a row or more, of
/// four events at least, with ends that differ by one at most. The last is none if it went on.
fn looped(events: &[Event], runs: &[Run]) -> Vec<u64> {
    let mut looped = Vec::new();
    let mut at = 0;
    while let Some(first) = runs.get(at) {
        let again =
            |run: &&Run| run.from.abs_diff(first.from) <= 1 && run.to.abs_diff(first.to) <= 1;
        let mut times = runs[at..].iter().take_while(again).count();
        let goes_on = |next: &Run| {
            let last = &runs[at + times - 1];
            next.began - last.ended < SILENCE
                && next.to > last.to
                && is_within(events, next.from, last.to - 1)
                && last.to.abs_diff(next.from) <= STEP
        };
        if runs.get(at + times).is_some_and(goes_on) {
            times -= 1;
        }
        let whole = events[first.from].place.event == 0 && is_last(events, first.to - 1);
        if times >= 3 && first.to - first.from >= 4 && !whole {
            looped.extend(runs[at..at + times].iter().map(|run| run.began));
        }
        at += times.max(1);
    }
    looped
}

/// The number of the first or last note near an end of a chunk that was played there.
fn number_of(
    events: &[Event],
    notes: &[(u64, Option<Place>)],
    played: &[&(usize, &Run)],
    near: usize,
    last: bool,
) -> Option<u32> {
    let mut by_distance: Vec<&&(usize, &Run)> = played.iter().collect();
    by_distance.sort_by_key(|(event, _)| event.abs_diff(near));
    by_distance.iter().find_map(|(event, run)| {
        let place = Some(events[*event].place);
        let within = |at: u64| (run.began..=run.ended).contains(&at);
        let mut own = notes.iter().enumerate().filter(|(_, (at, of))| within(*at) && *of == place);
        let found = if last { own.next_back() } else { own.next() };
        found.map(|(number, _)| number as u32)
    })
}

/// Joins runs to ways: one that goes back at most eight events, not to a chunk's beginning and
/// without silence, and then gets further, goes on.
fn ways<'a>(events: &[Event], runs: &'a [Run]) -> Vec<Way<'a>> {
    let mut ways: Vec<Way<'a>> = Vec::new();
    let mut tried = 0;
    for (index, run) in runs.iter().enumerate() {
        let before = index.checked_sub(1).map(|before| &runs[before]);
        let silence = before.is_none_or(|before| run.began - before.ended >= SILENCE);
        if let Some(way) = ways.last_mut() {
            let back = (way.furthest + 1).checked_sub(run.from);
            let returns = back.is_some_and(|back| (1..=STEP).contains(&back))
                && is_within(events, run.from, way.furthest);
            if !silence && (returns || back == Some(0)) && tried < 3 {
                if run.to > way.furthest + 1 {
                    if returns {
                        // Across a seam it is one only in an attempt at both.
                        let ended = is_last(events, way.furthest);
                        let begin = run.from - events[run.from].place.event;
                        let across = ended
                            || events[run.from].place.chunk != events[way.furthest].place.chunk;
                        let both = way.events.first().is_some_and(|(first, _)| *first <= begin);
                        let again = way.furthest + 1 - run.from;
                        if again < LEAST_RETURN {
                            way.struck_again.push(way.furthest);
                        } else if both || !across {
                            way.returned.push(way.furthest + usize::from(ended));
                        }
                    }
                    // A chunk that had been left stays as it was.
                    let seam = events[way.furthest].place;
                    let own = (0..events.len()).find(|&e| events[e].place.chunk == seam.chunk);
                    let own = own.unwrap_or(0).max(run.from);
                    way.events.retain(|(event, _)| *event < own);
                    way.events.extend(played(run).filter(|event| *event >= own).map(|e| (e, run)));
                    way.furthest = run.to - 1;
                    tried = 0;
                } else {
                    // Another try, if something comes of it.
                    tried += 1;
                    let next = runs.get(index + 1);
                    let more = next.is_some_and(|next| {
                        next.began - run.ended < SILENCE
                            && (way.furthest + 1).saturating_sub(next.from) <= STEP
                            && next.from <= way.furthest + 1
                            && (next.from == way.furthest + 1
                                || is_within(events, next.from, way.furthest))
                    });
                    if more && tried < 3 {
                        continue;
                    }
                    ways.push(begin(run));
                    tried = 0;
                }
                continue;
            }
            way.followed_by_silence |= silence;
        }
        tried = 0;
        ways.push(begin(run));
    }
    if let Some(last) = ways.last_mut() {
        last.followed_by_silence = true;
    }
    ways
}

/// Whether an event is the last of its chunk.
fn is_last(events: &[Event], event: usize) -> bool {
    events.get(event + 1).is_none_or(|next| next.place.event == 0)
}

/// Whether going back to an event begins no chunk anew, and repeats no chunk that was finished.
fn is_within(events: &[Event], to: usize, furthest: usize) -> bool {
    let (to_chunk, chunk) = (events[to].place.chunk, events[furthest].place.chunk);
    let is_near = to_chunk == chunk || (to_chunk + 1 == chunk && !is_last(events, furthest));
    events[to].place.event > 0 && is_near
}

fn begin(run: &Run) -> Way<'_> {
    Way {
        events: played(run).map(|event| (event, run)).collect(),
        returned: Vec::new(),
        struck_again: Vec::new(),
        furthest: run.to - 1,
        followed_by_silence: false,
    }
}

fn played(run: &Run) -> impl Iterator<Item = usize> + '_ {
    (run.from..run.to)
        .filter(|event| !run.left_out.is_some_and(|(first, next)| (first..next).contains(event)))
}
