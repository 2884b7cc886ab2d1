//! `lab [ASKED [OTHERS [BASE]]]`: the tables of error rates, and the goals that are not met.
//!
//! `lab show TROUBLE LEVEL SIZE LATE GROUP [PLAYERS]`: some players of a cell, and what they are told.
//! TROUBLE is a name of the code or `None`, LEVEL, LATE and GROUP are numbers from 0, SIZE is in per
//! mille of the tolerance.

use evenhand::report::{self, Ink};
use evenhand_tests::lab::live::Sitting;
use evenhand_tests::lab::piece::Group;
use evenhand_tests::lab::rows::{LEVELS, PICKUPS, Players, empty, more_rows, pieces, player, rows};
use evenhand_tests::lab::table::{HEAD, HEAD_OF_MORE, not_met, text};
use evenhand_tests::lab::trouble::Trouble;
use std::collections::BTreeMap;
use std::error::Error;
use std::io::Write;

fn main() -> Result<(), Box<dyn Error>> {
    let words: Vec<String> = std::env::args().skip(1).collect();
    if let [show, trouble, rest @ ..] = words.as_slice()
        && show == "show"
    {
        return self::show(trouble, rest);
    }
    let number = |at: usize, default: u64| words.get(at).map_or(Ok(default), |word| word.parse());
    let players = Players {
        asked: number(0, Players::WHOLE.asked.into())? as u32,
        others: number(1, Players::WHOLE.others.into())? as u32,
        base: number(2, 0)?,
    };
    let (mut rows, more) = (rows(players), more_rows(players));
    let mut out = std::io::stdout().lock();
    write!(out, "{}\n{}\n", text(HEAD, &rows), text(HEAD_OF_MORE, &more))?;
    rows.extend(more);
    write!(out, "{}", not_met(&rows))?;
    Ok(())
}

fn show(trouble: &str, rest: &[String]) -> Result<(), Box<dyn Error>> {
    let number = |at: usize| rest.get(at).map_or(Ok(0), |word| word.parse::<usize>());
    let all = Trouble::ALL.into_iter().chain(Trouble::MORE);
    let trouble = all.into_iter().find(|known| format!("{known:?}") == trouble);
    let level = *LEVELS.get(number(0)?).ok_or("no such level")?;
    let lateness = *PICKUPS.get(number(2)?).ok_or("no such pickup")?;
    let group = *Group::ALL.get(number(3)?).ok_or("no such group")?;
    let row = empty(trouble, level, lateness, number(1)? as u32);
    let pieces = pieces(&row, group);
    let mut out = std::io::stdout().lock();
    let mut found: BTreeMap<String, u32> = BTreeMap::new();
    for seed in 0..number(4)?.max(1) as u32 {
        let (at, plan) = player(&row, &pieces, seed.into(), seed).ok_or("no place for it")?;
        let chunk = [pieces[at].prepared(level)];
        writeln!(out, "\nPlayer {seed}, {}: {:?}", pieces[at].name, plan.faults)?;
        let sitting = Sitting::new(&chunk[0], &plan, row.together, lateness, seed.into());
        let mut written = Ok(());
        sitting.hear(&chunk, |finished| {
            let numbers = finished.arrival.iter().flatten();
            let span = (numbers.clone().min(), numbers.max());
            let told = writeln!(out, "note-ons {span:?}, {} together", finished.together);
            for finding in &finished.verdict.findings {
                *found.entry(format!("{:?} {:?}", finding.severity, finding.kind)).or_default() +=
                    1;
            }
            written = told.and_then(|()| report::attempt(&mut out, finished, Ink::Plain));
        });
        written?;
    }
    writeln!(out, "\nFindings: {found:?}")?;
    Ok(())
}
