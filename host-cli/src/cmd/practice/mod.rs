//! `evenhand practice`: hands-free practice of a study, from the first chunk to the joins.
//!
//! It listens, judges each attempt, says what comes next and why, and goes on by itself. The
//! rules and the time between attempts are the engine's ([`crate::practice`]). Here they meet the
//! stream (`handler`), the log ([`crate::days`]), and what the player sees (`view`).

mod handler;
mod spoken;
mod view;

use crate::args::PracticeArgs;
use crate::days::StudyDays;
use crate::fault::{Exit, Fault};
use crate::listening::Listener;
use crate::live::Source;
use crate::log::{self, Filter, Reader, StudyText};
use crate::output::Output;
use crate::practice::{Known, Plan, Settings};
use crate::sitting::connection;
use crate::sitting::live_loop::{Ended, LiveLoop};
use crate::sitting::sounding;
use crate::sitting::{Sitting, SittingDetails};
use crate::sound::Sound;
use crate::studies;
use crate::study::Prepared;
use crate::switches::Switches;
use crate::{settings, stop};
use evenhand_core::practice::Pacing;
use evenhand_core::session::{Ends, SessionConfig};
use evenhand_core::units::Offset;
use evenhand_core::verdict::Pool;
use handler::PracticeHandler;
use spoken::Spoken;
use view::View;

/// Runs the command.
pub fn run(args: &PracticeArgs) -> Result<Exit, Fault> {
    stop::listen_for_it();
    let (chunks, study) = studies::read_whole(&args.study)?;
    let mut chunks = studies::choose(chunks, &args.chunk)?;
    studies::adjust(&mut chunks, &args.hearing)?;
    let pickup = studies::live_pickup(&args.hearing)?;
    let mut config = SessionConfig { pickup, click: None, ends: Ends::ByItself };
    let mut switches = settings::switches()?;
    let unheard = take_out_call(&mut switches, &chunks);
    // MIDI before the terminal: what its library has to say must not land on the page.
    let mut live = LiveLoop::open(&args.live, switches.clone())?;
    let mut output = Output::new(&args.output)?;
    connection::say_what_is_heard(&live.source, &mut output)?;
    let known = if args.live.no_log { Ok(Vec::new()) } else { known(args, &chunks, &study) };
    let (known, unknown) = match known {
        Ok(known) => (known, None),
        Err(why) => (Vec::new(), Some(why)),
    };
    let plan = Plan::of_chunks(chunks, &plan_settings(args, known, switches.can_choose()));
    let name = study.name.clone();
    let about = SittingDetails { live: &args.live, hearing: &args.hearing };
    let sitting = Sitting::begin(&about, study, &live.source.name, &mut output)?;
    let sound = sound(args, &live.source)?;
    let mut view = View::open(&name, &args.output)?;
    for why in unknown.into_iter().chain(unheard) {
        view.notice_at_the_beginning(&why);
    }
    let spoken = Spoken::new(args.speak, live.source.started().is_none());
    let handler = PracticeHandler::new(plan, view, sound, sitting, output, switches, args.free);
    let mut handler = handler.with(spoken);
    let practised = practise(&mut handler, &mut live, &mut config);
    let (mut sitting, mut output) = handler.leave();
    let ended = sitting.end(&mut output);
    let is_live = live.source.started().is_some();
    studies::keep_learnt(&args.hearing, &pickup.habits, &config.pickup.habits, is_live);
    live.end(practised.and(ended))?;
    Ok(output.exit())
}

/// How long an offer stands beside a verdict for whoever chooses with the feet or the guitar. Our default: a
/// sentence to read, and a foot to find a switch.
const OFFER: Offset = Offset::from_millis(5_000);

fn plan_settings(args: &PracticeArgs, known: Vec<Known>, can_choose: bool) -> Settings {
    let pause = |seconds: u8| Offset::from_millis(i32::from(seconds) * 1_000);
    let offer = if can_choose { OFFER } else { Pacing::PAGE.offer };
    let pacing = args.pause.map_or(Pacing { offer, ..Pacing::PAGE }, |seconds| Pacing {
        verdict: pause(seconds),
        heading: pause(seconds),
        offer,
    });
    Settings { known, own_tempo: args.free, by_steps: args.by_steps, pacing }
}

/// A figure that asks what can be chosen is none in a study that holds it.
fn take_out_call(switches: &mut Switches, chunks: &[Prepared]) -> Option<String> {
    let figure = switches.figure()?;
    let pitches = |chunk: &Prepared| chunk.notes.iter().map(|note| note.pitch).collect::<Vec<_>>();
    let chunk = chunks.iter().find(|chunk| figure.is_in(&pitches(chunk)))?;
    let why = format!(
        "the guitar's figure {figure} is in “{}”, so it asks for nothing here. `evenhand footswitch \
         --guitar` learns another one.",
        chunk.name
    );
    switches.learn_call(None);
    Some(why)
}

/// One piece after the other, until practice is over.
fn practise(
    handler: &mut PracticeHandler,
    live: &mut LiveLoop,
    config: &mut SessionConfig,
) -> Result<(), Fault> {
    handler.begin(live.source.now())?;
    let mut before = None;
    let mut pool = Pool::new();
    while let Some(playing) = handler.playing() {
        config.click = handler.click();
        let restored = handler.is_restored();
        if before != Some(playing.task) && !restored {
            pool.begin_anew();
        }
        before = Some(playing.task);
        let chunks = [playing.chunk.clone()];
        let mut listener = Listener::for_attempts(&chunks, *config).after(pool);
        let ended = live.listen(&mut listener, handler)?;
        // What was found out about the channels need not be found out again.
        config.pickup.channels = listener.channels();
        config.pickup.habits = *listener.habits();
        pool = listener.into_attempts();
        if ended == Ended::Over || handler.is_over() {
            break;
        }
    }
    Ok(())
}

/// The click and the cues. A stream that tells its own time is nothing to click to.
fn sound(args: &PracticeArgs, source: &Source) -> Result<Sound, Fault> {
    match source.started() {
        Some(clock) => sounding::open(&args.sound, clock),
        None if sounding::is_asked_for(&args.sound) => Err(Fault::new(
            Exit::Live,
            "there is no sound to a stream that tells its own time (--timed)",
        )
        .advise("Leave the sound away, or say --sound none.")),
        None => Ok(Sound::silent(std::time::Instant::now())),
    }
}

/// What the log knows of these chunks from earlier days. One that another program holds is waited
/// for. One that cannot be read is no reason not to practise, but why, and what to do, has to be
/// said: it begins as if nothing had ever been played.
fn known(
    args: &PracticeArgs,
    chunks: &[Prepared],
    study: &StudyText,
) -> Result<Vec<Known>, String> {
    let folder = match log::folder(args.live.log.data.as_deref()) {
        Ok(folder) => folder,
        // The sitting says why.
        Err(_) => return Ok(Vec::new()),
    };
    let read = || {
        let Some(reader) = Reader::open(&folder)? else { return Ok(Vec::new()) };
        let sittings = reader.read(&Filter::default())?;
        let who = args.live.who.as_deref();
        Ok(StudyDays::of(chunks, study, who, &sittings, &reader)?.known())
    };
    read().map_err(|trouble: log::LogError| {
        let place = folder.join(log::FILE);
        format!(
            "what was clean on earlier days is not known, so every chunk begins as new; the log {}: \
             {trouble}\n{} Then start again.",
            place.display(),
            trouble.advice()
        )
    })
}
