//! The picture and the word agree: under a passed verdict no mark is over its limit, and what is
//! claimed was judged.

use evenhand::listening::Finished;
use evenhand::marks::{NoteMark, marks};
use evenhand_core::verdict::{Kind, Outcome};
use evenhand_tests::search::case::Case;
use evenhand_tests::search::lapse::Lapse;
use evenhand_tests::search::path::Path;
use evenhand_tests::search::scope::{Scope, stream};
use evenhand_tests::search::studies::studies;

/// Seeds for each size of each lapse, on each path; an eighth of that without all seeds.
const SEEDS: u64 = 40;

/// What of an attempt is marked as over its limit.
fn over(finished: &Finished<'_>) -> Vec<String> {
    let marks = marks(finished);
    let over = marks.iter().enumerate().filter(|(_, mark)| match mark {
        NoteMark::Right { over, .. } => over.time || over.level,
        _ => false,
    });
    over.map(|(note, mark)| format!("note {note}: {mark:?}")).collect()
}

#[test]
fn under_a_passed_verdict_no_mark_is_over_its_limit() {
    let studies = studies();
    let scope = Scope::asked();
    let seeds = if scope.each >= Scope::WHOLE.each { SEEDS } else { SEEDS / 8 };
    let (mut passed, mut marked) = (0, 0);
    for lapse in Lapse::ALL {
        for (path, extent, seed) in Path::ALL.into_iter().flat_map(|path| {
            let extents = lapse.extents().iter().copied();
            extents.flat_map(move |extent| (0..seeds).map(move |seed| (path, extent, seed)))
        }) {
            let seed = scope.base.wrapping_mul(1_000_003).wrapping_add(seed * 7_919 + 13);
            let Some(case) = Case::new(&studies, Some(lapse), extent, seed) else { continue };
            let stream = stream(&studies, path, &case);
            let mut chunks = studies[case.study].chunks.clone();
            chunks.iter_mut().for_each(|chunk| chunk.tolerances = case.tolerances());
            path.hear(&chunks, &stream, |finished| {
                let over = over(finished);
                marked += usize::from(!over.is_empty());
                if finished.verdict.outcome == Outcome::Passed {
                    passed += 1;
                    assert!(over.is_empty(), "{case:?}: {over:?}\n{:?}", finished.verdict);
                    let unjudged = Kind::LandingNotPlayed;
                    assert!(finished.verdict.finding(unjudged).is_none(), "{case:?}");
                }
            });
        }
    }
    // Both kinds of attempts are among them, or nothing was compared.
    assert!(passed > 500 && marked > 500, "{passed} passed, {marked} with marks over their limit");
}
