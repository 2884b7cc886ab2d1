//! `search [EACH [CLEAN [BASE]]]`: the search, as a table and a list of what falsely passed.
//!
//! `search replay PATH LAPSE SIZE SEED [FILE]`: one case of that list once more, in words; its
//! stream is written to the file.

use evenhand::report::{self, Ink};
use evenhand_tests::paths::file;
use evenhand_tests::search::case::Case;
use evenhand_tests::search::gate;
use evenhand_tests::search::lapse::Lapse;
use evenhand_tests::search::path::Command;
use evenhand_tests::search::path::Path;
use evenhand_tests::search::scope::{Scope, search, stream};
use evenhand_tests::search::studies::studies;
use evenhand_tests::search::table;
use std::error::Error;
use std::io::Write;

fn main() -> Result<(), Box<dyn Error>> {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let words: Vec<&str> = words.iter().map(String::as_str).collect();
    if let ["replay", path, lapse, size, seed, rest @ ..] = words.as_slice() {
        return replay(path.parse()?, lapse, size.parse()?, seed.parse()?, rest.first().copied());
    }
    let number = |at: usize, default: u64| words.get(at).map_or(Ok(default), |word| word.parse());
    let scope = Scope {
        each: number(0, Scope::WHOLE.each.into())? as u32,
        clean: number(1, Scope::WHOLE.clean.into())? as u32,
        base: number(2, 0)?,
    };
    let tried = search(scope);
    let mut out = std::io::stdout().lock();
    write!(out, "{}", table::text(&tried))?;
    write!(out, "\n\nNot given\n{}", gate::text(&gate::misses(&tried, &studies())))?;
    write!(out, "\n\nCells over what is asked\n{}", gate::cells(&tried, &studies()))?;
    write!(out, "\n\nClean, not passed\n{}", table::clean_refused(&tried, &studies(), 4))?;
    write!(out, "\n\nFalsely passed\n{}", table::false_passes(&tried, &studies(), 4))?;
    Ok(())
}

fn replay(
    path: usize,
    lapse: &str,
    size: usize,
    seed: u64,
    to: Option<&str>,
) -> Result<(), Box<dyn Error>> {
    let studies = studies();
    let path = *Path::ALL.get(path).ok_or("no such path")?;
    let lapse = Lapse::ALL.into_iter().find(|known| format!("{known:?}") == lapse);
    let extents =
        lapse.map_or(&[evenhand_tests::search::extent::Extent::Whole][..], Lapse::extents);
    let extent = *extents.get(size).ok_or("no such size")?;
    let case = Case::new(&studies, lapse, extent, seed).ok_or("no place for it")?;
    let stream = stream(&studies, path, &case);
    let mut chunks = studies[case.study].chunks.clone();
    chunks.iter_mut().for_each(|chunk| chunk.tolerances = case.tolerances());
    println!("{} {case:?}\nlooked at: note-ons {:?}", studies[case.study].file, stream.attempt);
    println!("faults: {:?}", case.faults(&studies));
    let mut out = std::io::stdout().lock();
    let mut written = Ok(());
    path.hear(&chunks, &stream, |finished| {
        let numbers = finished.arrival.iter().flatten();
        let span = (numbers.clone().min(), numbers.max());
        written = writeln!(out, "\nnote-ons {span:?}, {} together", finished.together)
            .and_then(|()| report::attempt(&mut out, finished, Ink::Plain));
    });
    written?;
    if let Some(to) = to {
        match path.command {
            Command::Listen => std::fs::write(to, stream.lines())?,
            Command::Judge => std::fs::write(to, file(&stream.messages))?,
        }
    }
    Ok(())
}
