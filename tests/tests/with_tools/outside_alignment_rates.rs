//! The same as `alignment_rates`, on a human performance whose alignment other people made.
//!
//! Reference: `mozart_k265_var1.match` in the Python package parangonar 3.4.0 (Apache-2.0).

use evenhand_tests::lab::alignment::{missed, rows, text};
use evenhand_tests::{matchfile, outside};

pub(crate) fn pairs_of_a_human_performance_are_found_among_many_mistakes() {
    let performance = matchfile::parse(&outside::data("mozart_k265_var1.match"));
    let whole = performance.expect("the match file reads").window(1, 24);
    // The same performance twenty times, with other mistakes each time.
    let rows = rows(&vec![whole; 20], &[false]);
    let missed = missed(&rows);
    assert!(missed.is_empty(), "{missed}\n{}", text("F of the pairs in per cent", &rows));
}
