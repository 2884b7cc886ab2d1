//! `evenhand doctor --listen`: hears a minute of playing, and says string by string how the pickup hears.

mod table;
mod words;

use super::Check;
use crate::args::DoctorArgs;
use crate::calibrate::playing::Playing;
use crate::fault::Fault;
use crate::live::{Change, Source, SourceEvent};
use crate::output::{Output, warn};
use crate::sitting::connection;
use crate::{pickup, settings, stop};
use evenhand_core::pickup::Channels;
use std::sync::mpsc::RecvTimeoutError;

/// From the first note on it is listened for so long, in microseconds. Our default: what is asked for
/// takes about a minute.
const LONGEST: u64 = 75_000_000;

/// Before the first note, and after the last one, it is waited for so long, in microseconds. Our default:
/// long enough to tune a string.
const PATIENCE: u64 = 20_000_000;

/// How often it is said how far it is, in microseconds. Our default.
const EVERY: u64 = 20_000_000;

/// What is asked for.
const ASKED: &str = "Play for about a minute, as loud as you practise: each open string five times, evenly, from the \
     lowest; then a scale; then a few chords, each struck at once; then some slurs. Ctrl-C ends it \
     earlier.";

/// What happened to the line meanwhile.
#[derive(Default)]
struct Line {
    /// It went away, and came back or not.
    gone: bool,
    back: bool,
    /// Messages were lost on the way.
    lost: bool,
    /// It broke off, with this.
    broke: Option<String>,
}

/// Listens, tells what was heard, and gives what there is to say.
pub(super) fn checks(args: &DoctorArgs, output: &mut Output) -> Result<Vec<Check>, Fault> {
    stop::listen_for_it();
    let source = connection::open(&args.source)?;
    connection::say_what_is_heard(&source, output)?;
    output.paragraph(ASKED)?;
    output.say("")?;
    let (playing, line) = listen(&source, output)?;
    let account = playing.account();
    for record in table::records(&account) {
        output.record(&record)?;
    }
    if playing.note_ons() > 0 {
        for row in table::lines(&account) {
            output.say(&row)?;
        }
        output.say("")?;
    }
    let heard = words::Heard {
        name: &source.name,
        playing: &playing,
        account: &account,
        told: told_channels(args),
    };
    let mut checks = of_line(&line, &source);
    checks.extend(words::checks(&heard));
    Ok(checks)
}

/// What the profile says of channels, if there is one that can be read.
fn told_channels(args: &DoctorArgs) -> Channels {
    let own = || settings::own_profile().ok().flatten();
    let profile = args.pickup.clone().or_else(own);
    profile.and_then(|path| pickup::read(&path).ok()).map_or(Channels::Auto, |it| it.channels)
}

fn listen(source: &Source, output: &mut Output) -> Result<(Playing, Line), Fault> {
    let (mut playing, mut line) = (Playing::default(), Line::default());
    let began = source.now().as_micros();
    let (mut last, mut next) = (began, None);
    while !stop::is_asked() && !playing.is_full() && !output.is_closed() {
        match source.next(stop::LOOK) {
            Ok(SourceEvent::Bytes { bytes, at }) => {
                let before = playing.note_ons();
                playing.hear(&bytes, at);
                if playing.note_ons() > before {
                    last = at.as_micros();
                }
            }
            Ok(SourceEvent::Changed(change)) => {
                warn(&connection::words(change, source, false));
                match change {
                    Change::Gone => (line.gone, line.back) = (true, false),
                    Change::Back => line.back = true,
                    Change::Lost(_) => line.lost = true,
                }
            }
            Ok(SourceEvent::Broke(error)) => {
                line.broke = Some(error);
                break;
            }
            Err(RecvTimeoutError::Timeout) => {}
            Err(RecvTimeoutError::Disconnected) => break,
        }
        let now = source.now().as_micros();
        if now.saturating_sub(last) >= PATIENCE {
            break;
        }
        let Some(first) = playing.first() else { continue };
        if now.saturating_sub(first.as_micros()) >= LONGEST {
            break;
        }
        let due = next.get_or_insert(first.as_micros().saturating_add(EVERY));
        if now >= *due {
            *due = due.saturating_add(EVERY);
            output.paragraph(&words::so_far(&playing))?;
        }
    }
    output.say("")?;
    Ok((playing, line))
}

/// What there is to say about the line itself.
fn of_line(line: &Line, source: &Source) -> Vec<Check> {
    let name = &source.name;
    let mut checks = Vec::new();
    let cable = "Check cable and sockets: one that loses contact loses notes as well.";
    if let Some(error) = &line.broke {
        checks.push(Check::new("line", super::State::Wrong, format!("{name} broke off: {error}")));
    } else if line.gone && !line.back {
        let found = format!("“{name}” went away, unplugged or switched off, and did not come back");
        checks.push(Check::new("line", super::State::Wrong, found));
    } else if line.gone {
        let found = format!("“{name}” went away for a while, unplugged or switched off");
        checks.push(Check::new("line", super::State::Mind, found));
    }
    let mut checks: Vec<Check> = checks.into_iter().map(|check| check.advise(cable)).collect();
    if line.lost {
        let found = "more came than this computer could take, and messages were lost";
        checks.push(
            Check::new("line", super::State::Mind, found)
                .advise("Close what else keeps it busy, and listen again."),
        );
    }
    checks
}
