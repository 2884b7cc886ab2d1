//! `evenhand practice`: hands-free practice of a study, from the first chunk to the joins.
//!
//! It listens, judges each attempt, says what comes next and why, and goes on by itself. The
//! rules and the time between attempts are the engine's ([`crate::practice`]). Here they meet the
//! stream (`handler`), the log ([`crate::days`]), and what the player sees (`view`).

mod earlier;
mod evening;
mod handler;
mod portion;
mod spoken;
mod view;

use crate::args::PracticeArgs;
use crate::days::day_of;
use crate::fault::{Exit, Fault};
use crate::listening::Listener;
use crate::live::Source;
use crate::output::Output;
use crate::practice::Settings;
use crate::sitting::connection;
use crate::sitting::live_loop::{Ended, LiveLoop};
use crate::sitting::sounding;
use crate::sitting::{Sitting, SittingDetails, origin};
use crate::sound::Sound;
use crate::studies;
use crate::study::Prepared;
use crate::switches::Switches;
use crate::{settings, stop};
use earlier::Earlier;
use evenhand_core::practice::Pacing;
use evenhand_core::session::{Ends, SessionConfig};
use evenhand_core::units::Offset;
use evenhand_core::verdict::Pool;
use evening::turn_to;
use handler::PracticeHandler;
use portion::Portion;
use spoken::Spoken;
use view::View;

/// Runs the command.
pub fn run(args: &PracticeArgs) -> Result<Exit, Fault> {
    stop::listen_for_it();
    let origin = origin(&args.live)?;
    let day = day_of(origin);
    let portions = evening::portions(args, day)?;
    let Some((first, others)) = portions.split_first() else { return Ok(Exit::Done) };
    let pickup = studies::live_pickup(&args.hearing)?;
    let mut config = SessionConfig { pickup, click: None, ends: Ends::ByItself };
    let mut switches = settings::switches()?;
    let chunks = portions.iter().flat_map(Portion::chunks);
    let unheard = take_out_call(&mut switches, chunks);
    let can_choose = switches.can_choose();
    // MIDI before the terminal: what its library has to say must not land on the page.
    let mut live = LiveLoop::open(&args.live, switches.clone())?;
    let mut output = Output::new(&args.output)?;
    connection::say_what_is_heard(&live.source, &mut output)?;
    let (plan, unknown) = first.plan(args, day, can_choose);
    let about = SittingDetails { live: &args.live, hearing: &args.hearing, origin };
    let sitting = Sitting::begin(&about, first.study().clone(), &live.source, &mut output)?;
    let sound = sound(args, &live.source)?;
    let mut view = View::open(&first.study().name, &args.output)?;
    for why in unknown.into_iter().chain(unheard) {
        view.notice_at_the_beginning(&why);
    }
    let spoken = Spoken::new(args.speak, live.source.started().is_none());
    let handler = PracticeHandler::new(plan, view, sound, sitting, output, switches, args.free);
    let mut handler = handler.with(spoken);
    let now = live.source.now();
    let mut practised =
        handler.begin(first, now).and_then(|()| practise(&mut handler, &mut live, &mut config));
    for portion in others {
        if !matches!(practised, Ok(Then::Next)) {
            break;
        }
        let turned = turn_to(portion, &mut handler, &live.source, &about, (args, day, can_choose));
        practised = turned.and_then(|()| practise(&mut handler, &mut live, &mut config));
    }
    let (sittings, mut output) = handler.leave();
    let ended = end(sittings, &mut output);
    let is_live = live.source.started().is_some();
    studies::keep_learnt(&args.hearing, &pickup.habits, &config.pickup.habits, is_live);
    live.end(practised.map(|_| ()).and(ended))?;
    Ok(output.exit())
}

/// What becomes of each chunk in the end, study by study where there were several.
fn end(sittings: Vec<Sitting>, output: &mut Output) -> Result<(), Fault> {
    let several = sittings.len() > 1;
    let mut ended = Ok(());
    for mut sitting in sittings {
        let this = if several { sitting.end_of_one(output) } else { sitting.end(output) };
        ended = ended.and(this);
    }
    ended
}

/// What comes after a study.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Then {
    /// The next one, if there is one.
    Next,
    /// The end: the player has had enough, or the stream is over.
    End,
}

/// How long an offer stands beside a verdict for whoever chooses with the feet or the guitar. Our default: a
/// sentence to read, and a foot to find a switch.
const OFFER: Offset = Offset::from_millis(5_000);

fn plan_settings(args: &PracticeArgs, earlier: Earlier, can_choose: bool) -> Settings {
    let pause = |seconds: u8| Offset::from_millis(i32::from(seconds) * 1_000);
    let offer = if can_choose { OFFER } else { Pacing::PAGE.offer };
    let pacing = args.pause.map_or(Pacing { offer, ..Pacing::PAGE }, |seconds| Pacing {
        verdict: pause(seconds),
        heading: pause(seconds),
        offer,
    });
    let Earlier { known, warm_up } = earlier;
    // By steps there is nothing but steps.
    let warm_up = warm_up.filter(|_| !args.by_steps);
    Settings { known, own_tempo: args.free, by_steps: args.by_steps, pacing, warm_up }
}

/// A figure that asks what can be chosen is none in a study that holds it.
fn take_out_call<'c>(
    switches: &mut Switches,
    mut chunks: impl Iterator<Item = &'c Prepared>,
) -> Option<String> {
    let figure = switches.figure()?;
    let pitches = |chunk: &Prepared| chunk.notes.iter().map(|note| note.pitch).collect::<Vec<_>>();
    let chunk = chunks.find(|chunk| figure.is_in(&pitches(chunk)))?;
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
) -> Result<Then, Fault> {
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
            return Ok(Then::End);
        }
        if handler.has_had_its_time() {
            break;
        }
    }
    Ok(if handler.is_over() { Then::End } else { Then::Next })
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
