//! The same in lines that read well aloud: one an attempt, one for what else happens.

use super::page::{Page, PracticeState};

/// What has happened, as one line: what is practised, at which tempo, the verdict and why.
pub fn line(page: &Page) -> String {
    let mut line = page.piece.clone();
    if let Some(tempo) = page.tempo {
        line.push_str(&format!(", {tempo}"));
    }
    if let PracticeState::Judged(outcome) = page.standing {
        line.push_str(&format!(", {}", outcome.word()));
    }
    if !page.progress.is_empty() {
        line.push_str(&format!(", {}", page.progress));
    }
    line.push_str(": ");
    line.push_str(&page.sentences.join(" "));
    line.trim_end_matches([':', ' ']).to_owned()
}
