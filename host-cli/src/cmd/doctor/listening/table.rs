//! What was heard of each string, in numbers: as a table for people, and as records.

use crate::calibrate::playing::{Account, StringHeard};
use evenhand_core::pickup::TrackingError;
use serde::Serialize;

/// The mistakes that can be told without a study, with the heads of their columns.
const COLUMNS: [(&str, TrackingError); 6] = [
    ("twice", TrackingError::Double),
    ("ghost", TrackingError::Ghost),
    ("false", TrackingError::Blip),
    ("octave", TrackingError::Octave),
    ("lifted", TrackingError::Trailing),
    ("lost", TrackingError::Lost),
];

/// One string, for programs.
#[derive(Clone, Debug, Serialize)]
#[serde(tag = "kind", rename = "string-heard")]
pub(super) struct StringRecord {
    /// None for notes of no string that is known.
    string: Option<usize>,
    notes: usize,
    doubles: usize,
    ghosts: usize,
    blips: usize,
    octaves: usize,
    trailing: usize,
    lost: usize,
    velocity: Option<u8>,
    spread_db: Option<f64>,
    late_us: Option<i64>,
    scatter_us: Option<i64>,
}

/// The strings of which there is something to show, with their numbers.
fn shown(account: &Account) -> impl Iterator<Item = (Option<usize>, &StringHeard)> {
    let knows_strings = account.strings[..6].iter().any(|string| *string != StringHeard::default());
    account.strings.iter().enumerate().filter_map(move |(index, string)| {
        let number = (index < 6).then_some(index + 1);
        let is_shown =
            if number.is_some() { knows_strings } else { *string != StringHeard::default() };
        is_shown.then_some((number, string))
    })
}

/// A record for each string, where strings are known; and one for notes of no string that is known.
pub(super) fn records(account: &Account) -> Vec<StringRecord> {
    let of = |string: &StringHeard, error: TrackingError| string.mistakes[error as usize];
    shown(account)
        .map(|(number, string)| StringRecord {
            string: number,
            notes: string.notes,
            doubles: of(string, TrackingError::Double),
            ghosts: of(string, TrackingError::Ghost),
            blips: of(string, TrackingError::Blip),
            octaves: of(string, TrackingError::Octave),
            trailing: of(string, TrackingError::Trailing),
            lost: of(string, TrackingError::Lost),
            velocity: string.velocity,
            spread_db: string.spread.map(|spread| spread as f64 / 100.0),
            late_us: string.late.map(|late| late.by),
            scatter_us: string.late.map(|late| late.scatter),
        })
        .collect()
}

/// The same as lines.
pub(super) fn lines(account: &Account) -> Vec<String> {
    let heads: String = COLUMNS.iter().map(|(head, _)| format!(" {head}")).collect();
    let mut lines = vec![format!("string  notes{heads}  velocity  spread     late")];
    for (number, string) in shown(account) {
        let name = number.map_or("?".to_owned(), |number| number.to_string());
        let counts: String = COLUMNS
            .iter()
            .map(|(head, error)| {
                let width = head.len() + 1;
                match string.mistakes[*error as usize] {
                    0 => format!("{:>width$}", "."),
                    count => format!("{count:>width$}"),
                }
            })
            .collect();
        let velocity = string.velocity.map_or("-".to_owned(), |velocity| velocity.to_string());
        let spread = string
            .spread
            .map_or("-".to_owned(), |spread| format!("{:.1} dB", spread as f64 / 100.0));
        let late = string.late.map_or("-".to_owned(), |late| {
            let ms = |micros: i64| (micros as f64 / 1_000.0).round() as i64;
            format!("{:+} ±{}", ms(late.by), ms(late.scatter))
        });
        lines.push(format!(
            "{name:>4}    {notes:>5}{counts}  {velocity:>7}  {spread:>7}  {late:>7}",
            notes = string.notes
        ));
    }
    lines
}
