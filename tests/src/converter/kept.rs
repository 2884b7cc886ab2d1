//! Sessions that are kept in the repository, in a form with as few letters as possible; see
//! `fixtures/converter/README.md`.

use serde_json::{Value, json};

use super::json::{Problem, list, member};
use super::session::{Session, sessions};

/// The sessions of such a text, each on six channels and on one.
pub fn read(text: &str) -> Result<Vec<Session>, Problem> {
    let kept: Value = serde_json::from_str(text).map_err(|error| error.to_string())?;
    let truths = list(&kept, "truths")?;
    let mut all = Vec::new();
    for (number, session) in list(&kept, "sessions")?.iter().enumerate() {
        let read = written_out(session, truths).and_then(|session| sessions(&session));
        all.extend(read.map_err(|problem| format!("session {number}: {problem}"))?);
    }
    Ok(all)
}

/// A session as the rig makes it.
fn written_out(kept: &Value, truths: &[Value]) -> Result<Value, Problem> {
    let expected: Vec<Value> = list(kept, "expected")?.iter().enumerate().map(expected).collect();
    let tempo = member(kept, "tempo_bpm")?;
    let take = |take: &Value| -> Result<Value, Problem> {
        let notes = |name| {
            let notes = list(take, name)?.iter().map(|note| sent(note, truths));
            Ok::<_, Problem>(notes.collect::<Vec<_>>())
        };
        Ok(json!({
            "tempo_bpm": tempo,
            "expected": expected,
            "played": notes("played")?,
            "ideal": notes("ideal")?,
            "lost": member(take, "lost")?,
        }))
    };
    let takes = list(kept, "takes")?.iter().map(take).collect::<Result<Vec<_>, _>>()?;
    let mut session = kept.clone();
    session["takes"] = Value::Array(takes);
    Ok(session)
}

/// `[onset in beats, length in beats, pitch, string, 1 if it is slurred]`.
fn expected((number, note): (usize, &Value)) -> Value {
    json!({
        "id": format!("e{number}"),
        "onset_beat": note[0],
        "duration_beat": note[1],
        "pitch": note[2],
        "string": note[3],
        "slur": note[4] == 1,
    })
}

/// `[onset, length, pitch, velocity, string, truth]`, times in tenths of milliseconds, the truth by its
/// place in the list of them; an ideal note has none.
fn sent(note: &Value, truths: &[Value]) -> Value {
    let seconds = |value: &Value| value.as_f64().map(|tenths| tenths / 10_000.0);
    let truth = note[5].as_u64().and_then(|truth| truths.get(truth as usize));
    let mut sent = json!({
        "onset_s": seconds(&note[0]),
        "duration_s": seconds(&note[1]),
        "pitch": note[2],
        "velocity": note[3],
        "string": note[4],
    });
    if let Some(truth) = truth {
        sent["cat"] = truth.clone();
    }
    sent
}
