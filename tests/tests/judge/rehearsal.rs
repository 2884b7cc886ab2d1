//! Simulated rehearsals, as real ones are: what somebody did is told as what it was.
//!
//! A sample by default; `EVENHAND_ALL_SEEDS` asks for many more, `EVENHAND_SEED_BASE` for others.

use evenhand_tests::rehearsal::music::{Cut, study};
use evenhand_tests::rehearsal::{Tally, rehearse};
use evenhand_tests::seeds;

/// Minutes of each rehearsal.
const MINUTES: u64 = 10;

#[test]
fn rehearsals_are_told_as_what_they_were() {
    let rehearsals = if seeds::all() { 100 } else { 6 };
    let log = std::env::var_os("EVENHAND_LOG").is_some();
    let mut all = Tally::default();
    for cut in Cut::ALL {
        let mut tally = Tally::default();
        for seed in 0..rehearsals {
            let seed = seeds::base() + seed;
            let chunks = study(cut, seed % 10);
            let rehearsal = rehearse(&chunks, MINUTES, seed);
            tally.count(&chunks, &rehearsal, log);
            all.count(&chunks, &rehearsal, false);
        }
        println!("{cut:?}: {tally:?}");
    }
    println!("all: {all:?}");
    assert!(all.clean.is_at_least(98), "{:?}", all.clean);
    assert!(all.slips.is_at_least(95), "{:?}", all.slips);
    assert!(all.invented * 100 < all.told, "{} of {}", all.invented, all.told);
    let off = all.false_starts_told.abs_diff(all.false_starts);
    assert!(off * 10 <= all.false_starts, "{} of {}", all.false_starts_told, all.false_starts);
}
