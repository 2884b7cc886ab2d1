//! `evenhand study import`: a study of a score.

use crate::args::ImportArgs;
use crate::fault::{Exit, Fault};
use crate::import::{self, Choice, Imported, Problem};
use crate::output::{Output, path};
use crate::report::count;
use crate::score::{self, LARGEST_FILE, Score};
use crate::smf::sheet::{self, Reading};
use crate::{read, study};
use std::path::Path;

pub(super) fn run(args: &ImportArgs, output: &mut Output) -> Result<Exit, Fault> {
    path::spare(&args.score, &args.out, "Name another file with --out STUDY.")?;
    // Before the work: a file that is not to be replaced is said at once.
    path::find(&args.out, args.replace)?;
    let content = read::bytes(&args.score, LARGEST_FILE, "score")?;
    let name = args.score.file_stem().unwrap_or_default().to_string_lossy();
    let choice = Choice {
        part: args.part.clone(),
        bars: args.bars,
        voices: args.voice.clone(),
        whole: false,
    };
    let imported = match is_midi(&content, &args.score) {
        true => {
            let reading =
                Reading { channels: args.channels.unwrap_or_default(), joined: args.joined };
            let score = sheet::sheet(&content, &args.score.display().to_string(), reading)?;
            of_score(&score, &args.score, &choice, &name, WHICH_TRACK)?
        }
        false if args.channels.is_some() || args.joined => {
            let what = format!("{} is no Standard MIDI File", args.score.display());
            return Err(Fault::new(Exit::Usage, what)
                .advise("--channels and --joined are for those; leave them out."));
        }
        false => imported(&content, &args.score, &choice, &name)?,
    };
    let text = study::print(&imported.study);
    path::put(&args.out, text.as_bytes(), args.replace)?;
    tell(&imported, &args.out, output)?;
    Ok(Exit::Done)
}

/// A study of a score in MusicXML.
pub(in crate::cmd) fn imported(
    content: &[u8],
    path: &Path,
    choice: &Choice,
    name: &str,
) -> Result<Imported, Fault> {
    let score = score::read(content).map_err(|refusal| {
        Fault::new(Exit::Input, format!("{} {refusal}", path.display())).advise(refusal.advice())
    })?;
    of_score(&score, path, choice, name, "Choose one with --part.")
}

/// What to do about several tracks.
const WHICH_TRACK: &str = "Choose one with --part, or take them together with --joined.";

/// Whether it is one by its beginning, or by its name where it is no other score.
fn is_midi(content: &[u8], path: &Path) -> bool {
    let kind = path.extension().map(|kind| kind.to_string_lossy().to_lowercase());
    let named = kind.is_some_and(|kind| kind == "mid" || kind == "midi");
    sheet::is_one(content) || (named && !score::is_one(content))
}

fn of_score(
    score: &Score,
    path: &Path,
    choice: &Choice,
    name: &str,
    which: &str,
) -> Result<Imported, Fault> {
    import::study(score, choice, name).map_err(|problem| {
        let exit = if problem.is_asked_wrongly() { Exit::Usage } else { Exit::Input };
        let advice = match problem {
            Problem::WhichPart(_) => which,
            _ => problem.advice(),
        };
        Fault::new(exit, format!("{} {problem}", path.display())).advise(advice)
    })
}

/// Says what was made, what was decided, and what was left out.
fn tell(imported: &Imported, out: &Path, output: &mut Output) -> Result<(), Fault> {
    let Imported { chunks, part, decided, left_out, .. } = imported;
    let notes: usize = chunks.iter().map(|chunk| chunk.notes.len()).sum();
    output.say(&format!(
        "{}: {} of {}, {} with landings",
        out.display(),
        count(chunks.len(), "chunk"),
        if part.is_empty() { "the only part".to_owned() } else { format!("the part “{part}”") },
        count(notes, "note"),
    ))?;
    section("Decided here; change it in the file where it is not so:", decided, output)?;
    section("In the score and not in the study, by printed bars:", left_out, output)?;
    output.say(&format!("To see whether hands can do it: evenhand study check {}", out.display()))
}

fn section(head: &str, lines: &[String], output: &mut Output) -> Result<(), Fault> {
    if lines.is_empty() {
        return Ok(());
    }
    output.say(head)?;
    lines.iter().try_for_each(|line| output.set_in(line, "  ", "    "))
}
