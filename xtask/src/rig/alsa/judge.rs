//! What the guest's log has to hold.

use crate::process::Stop;

/// Noticed later than this, a pickup that is unplugged in an attempt is noticed late.
const NOTICED: f64 = 2.0;

/// A line of the log: when, in seconds, and what.
fn lines(log: &str) -> impl Iterator<Item = (f64, &str)> {
    log.lines().filter_map(|line| {
        let (time, text) = line.trim_end().split_once("RIG ")?.1.split_once(' ')?;
        Some((time.parse().ok()?, text))
    })
}

/// What the log has to hold, in order. Gives what is worth telling, or says what is missing.
pub(super) fn judge(log: &str) -> Result<Vec<String>, Stop> {
    let mut told = Vec::new();
    let failed = |what: &str| Stop::Failed { what: format!("{what}\n\n{log}"), code: 1 };
    let mut rest = lines(log);
    let mut find = |wanted: &str, what: &str| {
        rest.find(|(_, text)| text.contains(wanted)).ok_or_else(|| failed(what))
    };
    find("ports Six String Converter", "the pickup is not listed")?;
    find("takes “Six String Converter", "the pickup is not the port that is taken")?;
    let (begun, _) = find("sends 1000 notes", "nothing was sent")?;
    let (sent, _) = find("sends 100 chords", "no chords were sent")?;
    told.push(format!("1000 notes in {:.1} s, then 100 chords of six.", sent - begun));
    // Numbers count all note-ons: if the octave's first is 1600, none before it was lost.
    for number in 1_600..1_608 {
        find(&format!("\"played\":{number},"), "not every note arrived")?;
    }
    find("\"kind\":\"verdict\"", "no verdict came")?;
    told.push("Nothing was lost, and the octave after it was judged.".to_owned());
    let (_, idle) = find("idle ", "the program's costs are not told")?;
    told.push(format!("The program was {idle}."));
    let (unplugged, _) = find("unplugs", "the pickup was not unplugged")?;
    let (noticed, event) =
        find("\"kind\":\"interrupted\"", "nobody noticed that it was unplugged")?;
    told.push(format!("Unplugged in an attempt: said after {:.2} s.", noticed - unplugged));
    if noticed - unplugged > NOTICED || !event.contains("\"attempt_under_way\":true") {
        return Err(failed("unplugging was noticed late, or not as an interruption"));
    }
    let (plugged, _) = find("plugs in", "the pickup was not plugged in again")?;
    let (back, _) = find("\"kind\":\"resumed\"", "nobody noticed that it was back")?;
    told.push(format!("Plugged in again: said after {:.2} s.", back - plugged));
    for number in 1_613..1_621 {
        find(&format!("\"played\":{number},"), "not every note arrived after that")?;
    }
    find("\"kind\":\"verdict\"", "no verdict came after that")?;
    find("is away", "it is not said that the pickup is away")?;
    find("is back", "it is not said that the pickup is back")?;
    let (begun, _) = find("practises", "practice did not begin")?;
    find("\"piece\":{\"chunk\":0}", "practice does not begin with the first chunk")?;
    find("\"piece\":{\"chunk\":1}", "practice does not come to the second chunk")?;
    let (unplugged, _) = find("unplugs", "nothing was unplugged in practice")?;
    let (noticed, event) = find("\"kind\":\"interrupted\"", "practice did not notice it")?;
    if noticed - unplugged > NOTICED || !event.contains("\"attempt_under_way\":true") {
        return Err(failed("practice noticed late, or not as an interruption"));
    }
    let (plugged, _) = find("plugs in", "the pickup was not plugged in again in practice")?;
    let (back, _) = find("\"kind\":\"resumed\"", "practice did not notice that it was back")?;
    find("\"piece\":{\"join\":", "practice does not come to the joined chunks")?;
    let (over, _) = find("\"reason\":\"all-at-goal\"", "practice did not come to its goal")?;
    find("ended 0", "practice did not end by itself")?;
    find("done", "the guest did not come to its end")?;
    let sitting = || lines(log).filter(|(time, _)| *time >= begun);
    let number = |what: &str| sitting().filter(|(_, text)| text.contains(what)).count();
    let (judged, kept) = (number("\"kind\":\"verdict\""), number("\"kind\":\"kept-attempt\""));
    if judged == 0 || judged != kept {
        return Err(failed(&format!("{judged} attempts were judged in practice, {kept} kept")));
    }
    told.push(format!(
        "Practice, hands-free, from the first note to the joined chunks: {judged} attempts in {:.0} \
         s, all kept. Unplugged in an attempt: said after {:.2} s; plugged in again: after {:.2} s.",
        over - begun,
        noticed - unplugged,
        back - plugged
    ));
    Ok(told)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A log as it should be.
    fn good() -> String {
        let pair = |number: u32| {
            format!("RIG 20.00 event {{\"kind\":\"pair\",\"played\":{number},\"x\":1}}")
        };
        let verdict = "RIG 21.00 event {\"kind\":\"verdict\"}".to_owned();
        let mut lines = vec![
            "[    0.1] a word of the kernel".to_owned(),
            "RIG 2.00 ports Six String Converter:MIDI 1 20:0".to_owned(),
            "RIG 2.10 ports `evenhand listen STUDY` takes “Six String Converter:MIDI 1”."
                .to_owned(),
            "RIG 3.00 sends 1000 notes".to_owned(),
            "RIG 13.00 sends 100 chords".to_owned(),
        ];
        lines.extend((1_600..1_608).map(pair));
        lines.push(verdict.clone());
        lines.push("RIG 26.00 idle 2 hundredths of a second in 5 s".to_owned());
        lines.push("RIG 30.00 unplugs".to_owned());
        let interrupted = "{\"kind\":\"interrupted\",\"attempt_under_way\":true}";
        lines.push(format!("RIG 30.40 event {interrupted}"));
        lines.push("RIG 33.00 plugs in".to_owned());
        lines.push("RIG 34.00 event {\"kind\":\"resumed\"}".to_owned());
        lines.extend((1_613..1_621).map(pair));
        lines.push(verdict);
        lines.push("RIG 40.00 said evenhand: “Six” is away, unplugged".to_owned());
        lines.push("RIG 40.00 said evenhand: “Six” is back.".to_owned());
        let step = |time: u32, piece: &str| {
            format!("RIG {time}.00 event {{\"kind\":\"step\",\"task\":{{\"piece\":{{\"{piece}\":")
        };
        let judged = |time: u32| format!("RIG {time}.00 event {{\"kind\":\"verdict\"}}");
        let kept = || "RIG 80.00 kept {\"kind\":\"kept-attempt\"}".to_owned();
        lines.extend([
            "RIG 41.00 practises".to_owned(),
            step(42, "chunk") + "0}",
            judged(46),
            step(46, "chunk") + "1}",
            "RIG 50.00 unplugs".to_owned(),
            format!("RIG 50.40 event {interrupted}"),
            "RIG 53.00 plugs in".to_owned(),
            "RIG 54.00 event {\"kind\":\"resumed\"}".to_owned(),
            judged(60),
            step(60, "join") + "{",
            judged(70),
            "RIG 71.00 event {\"kind\":\"step\",\"reason\":\"all-at-goal\"}".to_owned(),
            "RIG 72.00 ended 0".to_owned(),
            kept(),
            kept(),
            kept(),
            "RIG 80.10 done".to_owned(),
        ]);
        lines.join("\n")
    }

    #[test]
    fn a_log_is_only_good_with_every_line() {
        let log = good();
        assert!(judge(&log).is_ok());
        // The kernel's line is nobody's business.
        for missing in 1..log.lines().count() {
            let kept = log.lines().enumerate().filter(|(index, _)| *index != missing);
            let cut: Vec<&str> = kept.map(|(_, line)| line).collect();
            assert!(judge(&cut.join("\n")).is_err(), "{}", log.lines().nth(missing).unwrap());
        }
    }

    #[test]
    fn what_is_noticed_late_is_noticed() {
        assert!(judge(&good().replace("RIG 30.40", "RIG 32.10")).is_err());
        assert!(judge(&good().replace("RIG 50.40", "RIG 52.10")).is_err());
        assert!(judge(&good().replace("way\":true", "way\":false")).is_err());
    }
}
