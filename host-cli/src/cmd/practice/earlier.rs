//! What is known from earlier days of what is practised.

use crate::args::PracticeArgs;
use crate::days::{StudyDays, has_played};
use crate::log::{self, Filter, Reader, StudyText};
use crate::practice::Known;
use crate::study::Prepared;
use evenhand_core::practice::Piece;
use jiff::civil::Date;

/// What is known from earlier days.
#[derive(Default)]
pub(super) struct Earlier {
    pub(super) known: Vec<Known>,
    /// What the day begins with.
    pub(super) warm_up: Option<Piece>,
}

/// What the log knows of these chunks from earlier days. One that another program holds is waited
/// for. One that cannot be read is no reason not to practise, but why, and what to do, has to be
/// said: it begins as if nothing had ever been played.
pub(super) fn known(
    args: &PracticeArgs,
    chunks: &[Prepared],
    study: &StudyText,
    day: Date,
) -> Result<Earlier, String> {
    let folder = match log::folder(args.live.log.data.as_deref()) {
        Ok(folder) => folder,
        // The sitting says why.
        Err(_) => return Ok(Earlier::default()),
    };
    let read = || {
        let Some(reader) = Reader::open(&folder)? else { return Ok(Earlier::default()) };
        let sittings = reader.read(&Filter::default())?;
        let who = args.live.who.as_deref();
        let days = StudyDays::of(chunks, study, who, &sittings, &reader)?;
        // The hands are warm once something has been played today, whatever it was.
        let warm_up = if has_played(&sittings, who, day) { None } else { days.warm_up(day) };
        Ok(Earlier { known: days.known(day), warm_up })
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
