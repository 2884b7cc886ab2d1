//! `converter DIR...`: every session in these folders, played to the judge; a table of what it says,
//! what failed clean players, and the goals.
//!
//! `converter --show ID DIR...`: one session, take by take, in words; `--ideal` shows what was
//! played instead of what the converter sent.
//!
//! `converter --failing DIR...`: each take of a clean player that needs work, with the first thing that it
//! is told.

use std::error::Error;
use std::io::Write;
use std::path::PathBuf;

use evenhand_tests::converter::session::read_all;
use evenhand_tests::converter::show::show;
use evenhand_tests::converter::stream::Source;
use evenhand_tests::converter::{failing, report};

fn main() -> Result<(), Box<dyn Error>> {
    let mut words = std::env::args().skip(1);
    let (mut places, mut id, mut source) = (Vec::new(), None, Source::Converter);
    let mut failing = false;
    while let Some(word) = words.next() {
        match word.as_str() {
            "--show" => id = Some(words.next().ok_or("--show wants the name of a session")?),
            "--ideal" => source = Source::Ideal,
            "--failing" => failing = true,
            _ => places.push(PathBuf::from(word)),
        }
    }
    if places.is_empty() {
        return Err(
            "converter [--show ID [--ideal] | --failing] DIR...: name a folder with sessions"
                .into(),
        );
    }
    let sessions = read_all(&places)?;
    let mut out = std::io::stdout().lock();
    if let Some(id) = id {
        let session = sessions.iter().find(|session| session.id == id);
        show(&mut out, session.ok_or_else(|| format!("no session is called {id}"))?, source)?;
        return Ok(());
    }
    if failing {
        write!(out, "{}", failing::text(&sessions))?;
        return Ok(());
    }
    write!(out, "{}", report(&sessions))?;
    Ok(())
}
