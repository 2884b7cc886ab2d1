//! The same notes in another rhythm: pairs of equal notes become long and short, in the same
//! time. Beats stay where they are, so it can be played to the same click.

use crate::study::{Fingering, Prepared};
use evenhand_core::practice::PracticeVariant;
use evenhand_core::study::{ExpectedNote, Marks};
use evenhand_core::units::Ticks;

/// Pairs that must be there to make another rhythm worth while. Our default.
const FEWEST_PAIRS: usize = 2;

/// How the time of a chunk is bent.
#[derive(Clone, Copy, Debug)]
pub(super) struct Bend {
    /// The first of a pair in the written rhythm.
    single: u32,
    /// The same in the other one.
    bent: u32,
    /// From here on nothing is bent: no whole pair is left.
    until: u32,
}

impl Bend {
    /// How this chunk is bent for this way of playing. `None` where it has too few pairs of
    /// equal notes.
    pub(super) fn of(chunk: &Prepared, way: PracticeVariant) -> Option<Self> {
        let single = usual_interval(chunk)?;
        // Three to one, the dotted rhythm: plain to read and to hear. Our default.
        let bent = match way {
            PracticeVariant::LongShort => single.checked_mul(3)? / 2,
            PracticeVariant::ShortLong => single / 2,
            PracticeVariant::AsWritten | PracticeVariant::Burst | PracticeVariant::Accents => {
                return None;
            }
        };
        let until = chunk.length.get() / (2 * single) * (2 * single);
        let begins = |at: u32| chunk.notes.iter().any(|note| note.onset.get() == at);
        let pairs = (0..until).step_by(2 * single as usize);
        let pairs = pairs.filter(|at| begins(*at) && begins(at + single)).count();
        (pairs >= FEWEST_PAIRS).then_some(Self { single, bent, until })
    }

    /// Where a position of the written rhythm is in the other one.
    pub(super) const fn at(self, at: Ticks) -> Ticks {
        let ticks = at.get();
        let pair = 2 * self.single;
        if ticks >= self.until {
            return at;
        }
        let into = (ticks % pair) as u64;
        let (single, bent) = (self.single as u64, self.bent as u64);
        let into = if into <= single {
            into * bent / single
        } else {
            bent + (into - single) * (2 * single - bent) / single
        };
        Ticks::new(ticks - ticks % pair + into as u32)
    }

    /// The chunk in the other rhythm. `None` if that cannot be judged, because notes that lie
    /// very close would fall together.
    pub(super) fn bend(self, chunk: &Prepared) -> Option<Prepared> {
        let bent = chunk.notes.iter().zip(&chunk.hand).map(|(note, hand)| {
            let onset = self.at(note.onset);
            let end = self.at(note.onset.plus(note.duration));
            let duration = Ticks::new(end.since(onset).get().max(1));
            (ExpectedNote { onset, duration, ..*note }, *hand)
        });
        let mut bent: Vec<(ExpectedNote, Fingering)> = bent.collect();
        bent.sort_by_key(|(note, _)| note.order());
        let (notes, hand) = bent.into_iter().unzip();
        let bent = Prepared { notes, hand, alternatives: Vec::new(), ..chunk.clone() };
        bent.checked(bent.tempo).is_ok().then_some(bent)
    }
}

/// The interval between events that is the most common, the shorter of equally common ones.
fn usual_interval(chunk: &Prepared) -> Option<u32> {
    let own = chunk.notes.iter().filter(|note| !note.marks.has(Marks::LANDING));
    let mut onsets: Vec<u32> = own.map(|note| note.onset.get()).collect();
    onsets.dedup();
    let mut intervals: Vec<u32> = onsets.windows(2).map(|pair| pair[1] - pair[0]).collect();
    intervals.sort_unstable();
    let runs = intervals.chunk_by(|a, b| a == b);
    let most = runs.max_by_key(|run| (run.len(), std::cmp::Reverse(run[0])))?;
    // Shorter than two ticks nothing can be halved.
    most.first().copied().filter(|interval| *interval >= 2)
}
