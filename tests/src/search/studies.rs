//! What is played: the bundled studies, and studies that nothing was tuned on.

use evenhand::study::{Prepared, parse};

/// A study, by the name of its file.
#[derive(Clone, Debug)]
pub struct Study {
    /// The file, from the workspace on.
    pub file: &'static str,
    /// Its chunks.
    pub chunks: Vec<Prepared>,
}

/// File and text. Only the first two had been looked at when limits and costs were chosen.
const TEXTS: [(&str, &str); 9] = [
    (
        "fixtures/studies/lantern-quay.study",
        include_str!("../../../fixtures/studies/lantern-quay.study"),
    ),
    ("fixtures/studies/small.study", include_str!("../../../fixtures/studies/small.study")),
    ("tests/studies/ridge-path.study", include_str!("../../studies/ridge-path.study")),
    ("tests/studies/reed-song.study", include_str!("../../studies/reed-song.study")),
    ("tests/studies/mill-wheel.study", include_str!("../../studies/mill-wheel.study")),
    ("tests/studies/stone-steps.study", include_str!("../../studies/stone-steps.study")),
    ("tests/studies/rain-gutter.study", include_str!("../../studies/rain-gutter.study")),
    ("tests/studies/heron-dance.study", include_str!("../../studies/heron-dance.study")),
    ("tests/studies/pebbles.study", include_str!("../../studies/pebbles.study")),
];

/// All of them.
///
/// # Panics
/// If one is not right.
pub fn studies() -> Vec<Study> {
    let study = |(file, text)| {
        let chunks = parse(text).and_then(|study| study.prepare());
        Study { file, chunks: chunks.unwrap_or_else(|problems| panic!("{file}: {problems:?}")) }
    };
    TEXTS.into_iter().map(study).collect()
}
