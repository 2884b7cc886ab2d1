//! Attempts judged again by what is kept of them.

use crate::disputes;
use crate::fault::Fault;
use crate::log::{LogError, Reader, StoredSitting};
use crate::output::Output;
use crate::report;
use serde::Serialize;

/// What may go wrong while attempts are judged again.
pub(super) enum Trouble {
    Log(LogError),
    Output(Fault),
}

/// Judges attempts again, and tells those whose verdict is another today.
pub(super) fn judge_again(
    kept: &[StoredSitting],
    reader: &Reader,
    output: &mut Output,
) -> Result<(), Trouble> {
    let (mut same, mut other, mut not) = (0_usize, 0_usize, 0_usize);
    for sitting in kept {
        let text = reader.study(&sitting.hash).map_err(Trouble::Log)?;
        let chunks = disputes::chunks(&text).unwrap_or_default();
        for attempt in &sitting.attempts {
            let Some(now) = disputes::again(&chunks, attempt) else {
                not += 1;
                continue;
            };
            let differs = now.verdict != attempt.verdict;
            same += usize::from(!differs);
            other += usize::from(differs);
            let record = AgainRecord {
                kind: "judged-again",
                sitting: sitting.id,
                attempt: attempt.number,
                chunk: &attempt.chunk,
                attempts_together: attempt.together,
                then: attempt.verdict.word(),
                now: now.verdict.word(),
                why: now.why,
            };
            output.record(&record).map_err(Trouble::Output)?;
            if differs {
                let together = match attempt.together {
                    0 | 1 => String::new(),
                    more => format!(" by {more} attempts together"),
                };
                let why = now.why.map_or_else(String::new, |why| format!(" ({why})"));
                let line = format!(
                    "Sitting {}, attempt {}, {}: {}{together} then, {}{why} by itself now.",
                    sitting.id,
                    attempt.number,
                    attempt.chunk,
                    attempt.verdict.word(),
                    now.verdict.word()
                );
                output.paragraph(&line).map_err(Trouble::Output)?;
            }
        }
    }
    let line = format!(
        "{} judged again: {same} as before, {other} otherwise; {not} cannot be judged again by what is \
         kept.",
        report::count(same + other, "attempt")
    );
    output.paragraph(&line).map_err(Trouble::Output)
}

/// An attempt that was judged again, in the event stream.
#[derive(Serialize)]
struct AgainRecord<'a> {
    kind: &'static str,
    sitting: i64,
    attempt: u32,
    chunk: &'a str,
    attempts_together: u8,
    then: &'static str,
    now: &'static str,
    why: Option<&'static str>,
}
