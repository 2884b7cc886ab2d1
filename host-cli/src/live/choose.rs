//! Which port is meant: by name, as remembered, or because there is only one that can be.

use thiserror::Error;

/// The names under which this program enters the MIDI system: to listen, to look after what is
/// listened to, to click, and to look after that. Some systems list these as ports, which are
/// nothing to listen to or to click on.
pub(super) const ENTRANCES: [&str; 4] = [LISTENS, WATCHES, CLICKS, WATCHES_CLICK];
pub(super) const LISTENS: &str = "evenhand";
pub(super) const WATCHES: &str = "evenhand watch";
pub(crate) const CLICKS: &str = "evenhand click";
pub(crate) const WATCHES_CLICK: &str = "evenhand click watch";

/// A port as the system lists it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Listed {
    /// Its name.
    pub name: String,
    /// What the system tells it apart by.
    pub id: String,
}

impl Listed {
    /// Its name without what changes when it is plugged in again: ALSA's address, as in
    /// “… 20:0”, which stands last.
    pub fn lasting_name(&self) -> &str {
        lasting(&self.name)
    }

    /// Whether it is an entrance of this program, of this run or another: what stands before the
    /// colon is how it enters, perhaps with a number where there are several (JACK).
    pub(super) fn is_ours(&self) -> bool {
        let Some((client, _)) = self.name.split_once(':') else { return false };
        let number = |text: &str| text.bytes().all(|byte| byte.is_ascii_digit());
        let name = match client.rsplit_once('-') {
            Some((name, last)) if number(last) => name,
            _ => client,
        };
        ENTRANCES.contains(&name)
    }

    /// Whether it only passes on what other programs send. No pickup is behind such a port,
    /// unless somebody has put it there, and they can say so.
    pub fn passes_on(&self) -> bool {
        // “Midi Through” is ALSA's, “VirMIDI” its virtual card's, “IAC Driver” that of macOS.
        const WORDS: [&str; 6] = ["through", "thru", "virtual", "virmidi", "loop", "iac driver"];
        let name = self.name.to_lowercase();
        WORDS.iter().any(|word| name.contains(word))
    }
}

fn lasting(name: &str) -> &str {
    let Some((before, address)) = name.rsplit_once(' ') else { return name };
    let is_number = |text: &str| !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit());
    match address.split_once(':') {
        Some((client, port)) if is_number(client) && is_number(port) => before,
        _ => name,
    }
}

/// Why no port was chosen.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum NotChosen {
    /// There is none at all.
    #[error("there is no MIDI input")]
    Nothing,
    /// None has this in its name.
    #[error("no MIDI input has “{0}” in its name")]
    Unknown(String),
    /// More than one has.
    #[error("“{0}” could be {len} MIDI inputs: {names}", len = .1.len(), names = quoted(.1))]
    Ambiguous(String, Vec<String>),
    /// None was asked for, and more than one can be meant.
    #[error("more than one MIDI input could be the pickup")]
    Several,
    /// None was asked for, and those that there are only pass on what programs send.
    #[error("no pickup is there: what there is only passes on what programs send")]
    OnlyPassingOn,
}

/// Names for a sentence.
pub(crate) fn quoted(names: &[String]) -> String {
    let names: Vec<String> = names.iter().map(|name| format!("“{name}”")).collect();
    names.join(", ")
}

/// The port that is meant. `wanted` is a name or a part of one, in any case; without it the
/// remembered port comes first, then the only one that can be a pickup.
pub fn choose<'l>(
    listed: &'l [Listed],
    wanted: Option<&str>,
    remembered: Option<&str>,
) -> Result<&'l Listed, NotChosen> {
    if let Some(wanted) = wanted {
        return by_name(listed, wanted);
    }
    if listed.is_empty() {
        return Err(NotChosen::Nothing);
    }
    let is_remembered = |port: &&Listed| Some(port.lasting_name()) == remembered.map(lasting);
    let obvious = |port: &&Listed| !port.passes_on();
    only(listed.iter().filter(is_remembered))
        .or_else(|| only(listed.iter().filter(obvious)))
        .ok_or_else(|| match listed.iter().any(|port| !port.passes_on()) {
            true => NotChosen::Several,
            false => NotChosen::OnlyPassingOn,
        })
}

fn by_name<'l>(listed: &'l [Listed], wanted: &str) -> Result<&'l Listed, NotChosen> {
    let lower = wanted.to_lowercase();
    let whole = listed.iter().filter(|port| port.name.to_lowercase() == lower);
    let but_address = listed.iter().filter(|port| port.lasting_name().to_lowercase() == lower);
    let part: Vec<&Listed> =
        listed.iter().filter(|port| port.name.to_lowercase().contains(&lower)).collect();
    only(whole).or_else(|| only(but_address)).or_else(|| only(part.iter().copied())).ok_or_else(
        || match part.is_empty() {
            true if listed.is_empty() => NotChosen::Nothing,
            true => NotChosen::Unknown(wanted.to_owned()),
            false => {
                let names = part.iter().map(|port| port.name.clone()).collect();
                NotChosen::Ambiguous(wanted.to_owned(), names)
            }
        },
    )
}

fn only<'l>(mut found: impl Iterator<Item = &'l Listed>) -> Option<&'l Listed> {
    found.next().filter(|_| found.next().is_none())
}

/// The port that was lost, if it is back: of its name, and none of those of the same name that
/// were there when it went.
pub(super) fn back<'l>(
    listed: &'l [Listed],
    lost: &Listed,
    others: &[Listed],
) -> Option<&'l Listed> {
    listed.iter().find(|port| port.lasting_name() == lost.lasting_name() && !others.contains(port))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ports(names: &[&str]) -> Vec<Listed> {
        let port =
            |(id, name): (usize, &&str)| Listed { name: (*name).to_owned(), id: id.to_string() };
        names.iter().enumerate().map(port).collect()
    }

    const THROUGH: &str = "Midi Through:Midi Through Port-0 14:0";
    const PICKUP: &str = "Six String Converter:Six String Converter MIDI 1 20:0";
    const KEYS: &str = "Keys:Keys MIDI 1 24:0";

    #[test]
    fn the_only_one_that_can_be_a_pickup_is_taken() {
        for loops in [THROUGH, "VirMIDI 1-0:VirMIDI 1-0 28:0", "IAC Driver Bus 1", "loopback 2"] {
            let listed = ports(&[loops, PICKUP]);
            assert_eq!(choose(&listed, None, None), Ok(&listed[1]));
            assert_eq!(choose(&listed[..1], None, None), Err(NotChosen::OnlyPassingOn));
        }
        assert_eq!(choose(&[], None, Some(PICKUP)), Err(NotChosen::Nothing));
        assert_eq!(choose(&ports(&[KEYS, PICKUP]), None, None), Err(NotChosen::Several));
    }

    #[test]
    fn the_remembered_one_is_known_again_at_another_address() {
        let listed = ports(&[THROUGH, KEYS, &PICKUP.replace("20:0", "32:0")]);
        assert_eq!(choose(&listed, None, Some(PICKUP)), Ok(&listed[2]));
        // Whoever has once chosen a port that passes on keeps it.
        assert_eq!(choose(&listed[..2], None, Some(THROUGH)), Ok(&listed[0]));
        // A remembered one that is not there is in nobody's way.
        assert_eq!(choose(&listed[..2], None, Some(PICKUP)), Ok(&listed[1]));
    }

    #[test]
    fn a_part_of_a_name_is_enough_unless_it_fits_two() {
        let listed = ports(&[THROUGH, PICKUP, KEYS]);
        assert_eq!(choose(&listed, Some("six string"), Some(KEYS)), Ok(&listed[1]));
        assert_eq!(choose(&listed, Some("24:0"), None), Ok(&listed[2]));
        let unknown = choose(&listed, Some("drum"), None);
        assert_eq!(unknown, Err(NotChosen::Unknown("drum".to_owned())));
        let Err(NotChosen::Ambiguous(_, names)) = choose(&listed, Some("MIDI 1"), None) else {
            panic!("it fits two");
        };
        assert_eq!(names, [PICKUP, KEYS]);
        // A whole name beats a part of another.
        let listed = ports(&["Keys", "Keys too"]);
        assert_eq!(choose(&listed, Some("keys"), None), Ok(&listed[0]));
    }

    #[test]
    fn a_twin_that_stayed_is_not_the_one_that_comes_back() {
        let twin = PICKUP.replace("20:0", "28:0");
        let listed = ports(&[PICKUP, &twin]);
        let (lost, others) = (&listed[0], &listed[1..]);
        assert_eq!(back(others, lost, others), None);
        let again = [others, &ports(&[&PICKUP.replace("20:0", "36:0")])].concat();
        assert_eq!(back(&again, lost, others), Some(&again[1]));
    }

    #[test]
    fn our_own_entrances_are_nobody_elses() {
        let ours = |name: &str| ports(&[name])[0].is_ours();
        assert!(
            ["evenhand:input 129:0", "evenhand-01:input", "evenhand click:click"].map(ours)
                == [true; 3]
        );
        assert!(
            [PICKUP, THROUGH, "evenhand", "Evenhand pedal:MIDI 1", "evenhand-x:1"].map(ours)
                == [false; 5]
        );
    }

    #[test]
    fn only_an_address_is_left_out_of_a_name() {
        let lasting = |name: &str| ports(&[name])[0].lasting_name().to_owned();
        assert_eq!(lasting(PICKUP), "Six String Converter:Six String Converter MIDI 1");
        for name in ["system:midi_capture_1", "Keys 1:", "Keys :0", "Keys 1:x", "Keys", ""] {
            assert_eq!(lasting(name), name);
        }
    }
}
