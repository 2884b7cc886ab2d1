//! `evenhand study export`: a study in a form that other programs read.

use crate::args::ExportArgs;
use crate::export;
use crate::fault::{Exit, Fault};
use crate::output::{Output, path};
use crate::report::count;
use crate::study::{self, LARGEST_TEXT};
use crate::{read, studies};
use evenhand_core::study::Metre;
use evenhand_core::units::Tempo;
use std::path::Path;

/// The forms, by how a file's name ends.
enum Form {
    MusicXml,
    Midi,
}

pub(super) fn run(args: &ExportArgs, output: &mut Output) -> Result<Exit, Fault> {
    let form = form(&args.out)?;
    path::spare(&args.study, &args.out, "Name another file with --out FILE.")?;
    path::find(&args.out, args.replace)?;
    let name = args.study.display().to_string();
    let text = read::text(&args.study, LARGEST_TEXT as u64, "study")?;
    let study = study::parse(&text).map_err(|problems| studies::in_words(&name, &problems))?;
    let metre = study.settings.metre.and_then(|metre| Metre::new(metre.upper, metre.lower));
    let beat = metre.unwrap_or(Metre::FOUR_FOUR).beat();
    let tempo = args
        .tempo
        .map(|beats| {
            Tempo::from_beats_per_minute(beats, beat).ok_or_else(|| {
                Fault::new(Exit::Usage, format!("{beats} beats a minute is no tempo of {name}"))
                    .advise("Choose one between 10 and 1500 quarter notes a minute.")
            })
        })
        .transpose()?;
    let whole =
        export::whole(&study, tempo).map_err(|problems| studies::in_words(&name, &problems))?;
    if whole.piece.notes.is_empty() {
        return Err(Fault::new(Exit::Usage, format!("{name} has no music that goes through it"))
            .advise("Write the music once, under a line “music”; see study gather."));
    }
    let content = match form {
        Form::MusicXml => export::musicxml(&whole).into_bytes(),
        Form::Midi => export::midi(&whole),
    };
    path::put(&args.out, &content, args.replace)?;
    output.say(&format!(
        "{}: {}, {}",
        args.out.display(),
        count(whole.piece.bars.len(), "bar"),
        count(whole.piece.notes.len(), "note"),
    ))?;
    for name in &whole.apart {
        output.say(&format!("“{name}” has a music of its own, which is not in it."))?;
    }
    let kept = match form {
        Form::MusicXml => "Chunks, levels and tolerances are the study's own, and not in it.",
        Form::Midi => {
            "Fingers, slurs, chunks, levels and tolerances are the study's own, and not in it."
        }
    };
    output.say(kept)?;
    Ok(Exit::Done)
}

fn form(path: &Path) -> Result<Form, Fault> {
    let ending = path.extension().map(|ending| ending.to_string_lossy().to_lowercase());
    match ending.as_deref() {
        Some("musicxml" | "xml") => Ok(Form::MusicXml),
        Some("mid" | "midi") => Ok(Form::Midi),
        _ => Err(Fault::new(
            Exit::Usage,
            format!("{} says by its ending no form that can be written", path.display()),
        )
        .advise("Let it end in .musicxml for notation, or in .mid for a Standard MIDI File.")),
    }
}
