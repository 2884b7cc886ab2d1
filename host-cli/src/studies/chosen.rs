//! Which chunks of a study are asked for: by name, by a part of it, or by bars.

use crate::fault::{Exit, Fault};
use crate::study::{self, Prepared};

/// Keeps the chunks that are asked for, in the order of the study; all of them where nothing is. A name
/// is that of a chunk, or a part that one or several of them have, upper or lower case alike; or it is a
/// bar (`5`) or bars (`5-8`), for the chunks that lie in them.
///
/// # Errors
///
/// For a name that no chunk fits, with the nearest or with all of them.
pub(crate) fn choose(chunks: Vec<Prepared>, names: &[String]) -> Result<Vec<Prepared>, Fault> {
    if names.is_empty() {
        return Ok(chunks);
    }
    let mut asked = vec![false; chunks.len()];
    for name in names {
        let fits = fitting(&chunks, name);
        if !fits.contains(&true) {
            return Err(unknown(&chunks, name));
        }
        asked.iter_mut().zip(fits).for_each(|(asked, fits)| *asked |= fits);
    }
    Ok(chunks.into_iter().zip(asked).filter(|(_, asked)| *asked).map(|(chunk, _)| chunk).collect())
}

/// For each chunk whether a name means it.
fn fitting(chunks: &[Prepared], name: &str) -> Vec<bool> {
    let wanted = name.to_lowercase();
    let by = |fits: &dyn Fn(&Prepared) -> bool| chunks.iter().map(fits).collect::<Vec<bool>>();
    let whole = by(&|chunk| chunk.name.to_lowercase() == wanted);
    if whole.contains(&true) {
        return whole;
    }
    if let Some((from, to)) = bars(&wanted) {
        return by(&|chunk| {
            let (first, last) = bars_of(chunk);
            from <= first && last <= to
        });
    }
    by(&|chunk| !wanted.trim().is_empty() && chunk.name.to_lowercase().contains(wanted.trim()))
}

/// `5`, `5-8`, `bar 5`, `bars 5 - 8`, `bars 5 to 8`.
fn bars(text: &str) -> Option<(u32, u32)> {
    let text = text.trim();
    let text = text.strip_prefix("bars").or_else(|| text.strip_prefix("bar")).unwrap_or(text);
    let number = |text: &str| text.trim().parse::<u32>().ok();
    match text.split_once('-').or_else(|| text.split_once("to")) {
        Some((from, to)) => Some((number(from)?, number(to)?)),
        None => number(text).map(|bar| (bar, bar)),
    }
}

/// The first and the last bar of a chunk.
fn bars_of(chunk: &Prepared) -> (u32, u32) {
    let first = u32::from(chunk.first_bar);
    let end = chunk.into_first_bar.plus(chunk.length).get();
    let bar = chunk.metre.bar().get().max(1);
    (first, first + end.div_ceil(bar).saturating_sub(1))
}

fn unknown(chunks: &[Prepared], name: &str) -> Fault {
    let fault = Fault::new(Exit::Usage, format!("the study has no chunk “{name}”"));
    let lower: Vec<String> = chunks.iter().map(|chunk| chunk.name.to_lowercase()).collect();
    let near = study::nearest(name, lower.iter().map(String::as_str));
    let near = near.and_then(|near| chunks.iter().find(|chunk| chunk.name.to_lowercase() == near));
    fault.advise(match near {
        Some(chunk) => format!("Did you mean “{}”?", chunk.name),
        None => {
            let names: Vec<String> =
                chunks.iter().map(|chunk| format!("“{}”", chunk.name)).collect();
            format!("Its chunks are {}; a part of a name is enough.", names.join(", "))
        }
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn chosen(names: &[&str]) -> Result<Vec<String>, String> {
        let text = "evenhand study 1\nmetre 2/4\n\
                    chunk \"Lanterns, one\" at bar 1\n  m: 1/8 6:3 5:0 5:2 5:3 |\n\
                    chunk \"Lanterns, two\" at bar 2\n  m: 1/8 4:0 4:2 4:3 3:0 | 6:3 5:0 5:2 5:3 |\n\
                    chunk \"Mooring\" at bar 4\n  m: 1/8 6:3 5:0 5:2 5:3 |\n";
        let chunks = study::parse(text).unwrap().prepare().unwrap();
        let names: Vec<String> = names.iter().map(|name| (*name).to_owned()).collect();
        match choose(chunks, &names) {
            Ok(chosen) => Ok(chosen.into_iter().map(|chunk| chunk.name).collect()),
            Err(fault) => Err(fault.advice.unwrap_or_default()),
        }
    }

    #[test]
    fn by_name_by_a_part_of_it_and_several() {
        assert_eq!(chosen(&[]).unwrap().len(), 3);
        assert_eq!(chosen(&["MOORING"]).unwrap(), ["Mooring"]);
        assert_eq!(chosen(&["lanterns"]).unwrap(), ["Lanterns, one", "Lanterns, two"]);
        assert_eq!(chosen(&["moor", "one"]).unwrap(), ["Lanterns, one", "Mooring"]);
    }

    #[test]
    fn by_bars() {
        assert_eq!(chosen(&["2-4"]).unwrap(), ["Lanterns, two", "Mooring"]);
        assert_eq!(chosen(&["bar 1"]).unwrap(), ["Lanterns, one"]);
        assert_eq!(chosen(&["bars 1 to 3"]).unwrap(), ["Lanterns, one", "Lanterns, two"]);
        assert!(chosen(&["2"]).is_err(), "no chunk lies in bar 2 alone");
        assert!(chosen(&["9-2"]).is_err());
    }

    #[test]
    fn what_fits_nothing_is_told_with_the_nearest() {
        assert_eq!(chosen(&["Moorign"]).unwrap_err(), "Did you mean “Mooring”?");
        let all = chosen(&["flageolet"]).unwrap_err();
        assert!(all.contains("“Lanterns, one”, “Lanterns, two”, “Mooring”"), "{all}");
        assert!(chosen(&[""]).is_err() && chosen(&["  "]).is_err());
    }
}
