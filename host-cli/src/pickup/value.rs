//! The values of a profile.

use super::errors;
use evenhand_core::pickup::{Bends, Channels, Latency, Pickup};
use evenhand_core::units::{GuitarString, Level, Offset};

/// The names of the settings, for errors.
const NAMES: &str = "channels, bend-range, bends, latency-ms, latency-periods, late-ms, \
     late-scatter-ms, string-levels-db, level-scatter-db, noise-percent, velocity, notes-heard, errors-lost, \
     errors-lost-repeats, errors-doubles, errors-ghosts, errors-stale, errors-blips, errors-octaves, \
     errors-trailing";

/// Sets what `name` stands for; an error says what would be right.
pub(super) fn set(pickup: &mut Pickup, name: &str, value: &str) -> Result<(), String> {
    match name {
        "channels" => pickup.channels = channels(value)?,
        "bend-range" => pickup.bend_range = whole(value, 1, 96, "semitones")?,
        "bends" => {
            pickup.bends = match value {
                "slurs" => Bends::MaySlur,
                "colour" => Bends::OnlyColour,
                _ => return Err(format!("bends = {value}? It is “slurs” or “colour”")),
            }
        }
        "latency-ms" => {
            let most = i64::from(Latency::MOST.as_millis_rounded());
            let micros = decimal(value, 3)
                .filter(|micros| (0..=most * 1_000).contains(micros))
                .ok_or_else(|| format!("latency-ms = {value}? Give milliseconds, 0 to {most}"))?;
            pickup.latency.base = Offset::from_micros(micros as i32);
        }
        "latency-periods" => {
            let percent = decimal(value, 2).filter(|percent| (0..=500).contains(percent));
            let percent = percent.ok_or_else(|| {
                format!("latency-periods = {value}? Give periods of the note, 0 to 5.00")
            })?;
            pickup.latency.periods_percent = percent as u16;
        }
        "late-ms" => {
            for (string, by) in strings(value, name, MOST_LATE)? {
                let known = &mut pickup.habits.string_mut(Some(string)).late.known;
                (known.by, known.notes) = (by, TOLD);
            }
        }
        "late-scatter-ms" => {
            for (string, scatter) in strings(value, name, MOST_LATE)? {
                let scatter = u16::try_from(scatter)
                    .map_err(|_| format!("{name} = {value}? Give milliseconds from 0 on"))?;
                pickup.habits.string_mut(Some(string)).late.known.scatter = scatter;
            }
        }
        "string-levels-db" => pickup.string_levels = levels(value)?,
        "level-scatter-db" => {
            for (string, scatter) in strings(value, name, MOST_LEVEL)? {
                let own = pickup.level_scatter.get_mut(usize::from(string.number()) - 1);
                let scatter = Some(scatter).filter(|scatter| *scatter >= 0);
                let scatter =
                    scatter.ok_or_else(|| format!("{name} = {value}? Give decibels from 0 on"))?;
                own.into_iter().for_each(|own| *own = Level::from_hundredths(scatter));
            }
        }
        "noise-percent" => pickup.noise_percent = whole(value, 0, 100, "per cent, without a sign")?,
        "velocity" => {
            pickup.fixed_velocity = match value {
                "heard" => false,
                "fixed" => true,
                _ => return Err(format!("velocity = {value}? It is “heard” or “fixed”")),
            }
        }
        _ => match errors::set(&mut pickup.habits, name, value) {
            Some(set) => set?,
            None => return Err(format!("“{name}” is no setting of a profile; there are {NAMES}")),
        },
    }
    Ok(())
}

fn channels(value: &str) -> Result<Channels, String> {
    let words: Vec<&str> = value.split_whitespace().collect();
    match words.as_slice() {
        ["auto"] => Ok(Channels::Auto),
        ["one"] => Ok(Channels::One),
        ["strings", "from", first] => {
            let first: u8 = whole(first, 1, 11, "for the channel of string 1")?;
            Ok(Channels::PerString { first: first - 1 })
        }
        _ => Err(format!("channels = {value}? It is “auto”, “one”, or “strings from 11”")),
    }
}

fn levels(value: &str) -> Result<[Level; GuitarString::MOST as usize], String> {
    let mut levels = [Level::ZERO; GuitarString::MOST as usize];
    let parts: Vec<&str> = value.split(',').map(str::trim).collect();
    if parts.len() > levels.len() {
        return Err(format!(
            "{} levels, and there are at most {} strings",
            parts.len(),
            levels.len()
        ));
    }
    for (string, (part, level)) in (1..).zip(parts.iter().zip(&mut levels)) {
        let hundredths = decimal(part, 2).filter(|hundredths| hundredths.abs() <= 4_000);
        let hundredths = hundredths.ok_or_else(|| {
            format!("the level of string {string}, “{part}”, is no number from -40 to 40")
        })?;
        *level = Level::from_hundredths(hundredths as i16);
    }
    Ok(levels)
}

/// What a profile tells of a string counts for so many notes. Our default, and no weight: what is learnt
/// takes its place where lines and chords say something else alike.
pub(super) const TOLD: u16 = 32;

/// How late a string may be against the others, in milliseconds. Our default: more than any that was
/// measured (60).
const MOST_LATE: i64 = 100;

/// How far a string's levels may scatter, in decibels: as far as one may be from the others.
const MOST_LEVEL: i64 = 40;

/// Numbers by string, string 1 first, in hundredths; a string that stands as `?` is not known.
fn strings(value: &str, name: &str, most: i64) -> Result<Vec<(GuitarString, i16)>, String> {
    let parts: Vec<&str> = value.split(',').map(str::trim).collect();
    if parts.len() > usize::from(GuitarString::MOST) {
        let most = GuitarString::MOST;
        return Err(format!("{name}: {} strings, and there are at most {most}", parts.len()));
    }
    let mut known = Vec::new();
    for (string, part) in (1..).map_while(GuitarString::new).zip(parts) {
        if part == "?" {
            continue;
        }
        let by = decimal(part, 2).filter(|by| by.abs() <= most * 100);
        let by = by.and_then(|by| i16::try_from(by).ok()).ok_or_else(|| {
            let number = string.number();
            format!(
                "{name}: string {number}, “{part}”, is no number from -{most} to {most}, nor “?”"
            )
        })?;
        known.push((string, by));
    }
    Ok(known)
}

fn whole(value: &str, least: u8, most: u8, of: &str) -> Result<u8, String> {
    let number = value.parse::<u8>().ok().filter(|number| (least..=most).contains(number));
    number.ok_or_else(|| format!("{value}? Give a whole number from {least} to {most} {of}"))
}

/// A decimal number as a whole number of its last place: "1.5" with two places is 150.
fn decimal(text: &str, places: usize) -> Option<i64> {
    let (negative, text) = match text.strip_prefix('-') {
        Some(rest) => (true, rest),
        None => (false, text),
    };
    let (whole, fraction) = text.split_once('.').unwrap_or((text, ""));
    let digits = |part: &str| part.bytes().all(|byte| byte.is_ascii_digit());
    let written = !whole.is_empty() && (!fraction.is_empty() || !text.contains('.'));
    if !written || !digits(whole) || !digits(fraction) || fraction.len() > places || whole.len() > 9
    {
        return None;
    }
    let number: i64 = format!("{whole}{fraction:0<places$}").parse().ok()?;
    Some(if negative { -number } else { number })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn decimals_are_exact() {
        assert_eq!(decimal("1.5", 2), Some(150));
        assert_eq!(decimal("-0.05", 2), Some(-5));
        assert_eq!(decimal("12", 3), Some(12_000));
        for wrong in ["", "-", ".5", "1.", "1.234", "1,5", "+1", "1e3", "９", "99999999999"] {
            assert_eq!(decimal(wrong, 2), None, "{wrong}");
        }
    }
}
