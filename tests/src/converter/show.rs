//! One session in words: what each attempt of it is told, and its notes.

use std::io::{self, Write};

use evenhand::listening::Finished;
use evenhand::report::{self, Ink};
use evenhand_core::align::Role;

use super::hearing::hear;
use super::session::Session;
use super::stream::{Source, Stream, stream};

/// Writes it.
pub fn show(out: &mut dyn Write, session: &Session, source: Source) -> io::Result<()> {
    let Session { id, slip, places, .. } = session;
    writeln!(out, "{id}, {source:?}: {} at notes {places:?}", slip.name())?;
    let stream = stream(session, source);
    let mut written = Ok(());
    hear(session, &stream, |take, finished| {
        if written.is_ok() {
            written = attempt(out, take, finished, &stream);
        }
    });
    written
}

fn attempt(
    out: &mut dyn Write,
    take: Option<usize>,
    finished: &Finished<'_>,
    stream: &Stream<'_>,
) -> io::Result<()> {
    let of = take.map_or_else(|| "no take".to_owned(), |take| format!("take {}", take + 1));
    writeln!(out, "\n{of}, {} together", finished.together)?;
    report::attempt(out, finished, Ink::Plain)?;
    for finding in &finished.verdict.findings {
        let (kind, severity) = (finding.kind.name(), finding.severity);
        writeln!(out, "  {severity}: {kind}, note {:?}: {finding}", finding.note)?;
    }
    for (by, note) in finished.played.iter().enumerate() {
        let arrival = finished.arrival(by).and_then(|n| stream.notes.get(n as usize));
        let truth = arrival.map_or("-", |(_, sent)| &sent.truth);
        let role = match finished.pairing.role(by) {
            Role::Note(note) => format!("note {note}"),
            Role::Trill(note) => format!("trill {note}"),
            Role::Extra => "extra".to_owned(),
        };
        let at = f64::from(note.at.as_micros()) / 1e6;
        let pitch = note.pitch.number();
        let velocity = note.velocity.map_or(0, |velocity| velocity.value());
        let string = note.string.map_or(0, |string| string.number());
        let class = finished.pairing.classified(by);
        writeln!(
            out,
            "  {at:7.3} s  string {string}  pitch {pitch:3}  velocity {velocity:3}  {role:8}  \
             {:?} ({:?}); in truth {truth}",
            class.class, class.sureness
        )?;
    }
    Ok(())
}
