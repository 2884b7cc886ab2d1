//! The order of an evening: study after study, and no twin last.

use super::alike::are_alike;
use super::due::{Due, fitting};
use super::study::StudyDays;
use crate::study::Prepared;
use evenhand_core::practice::Piece;
use jiff::civil::Date;

/// What is due today of these studies, as much of it as fits into the minutes, in the order in which it is
/// practised; and how many pieces do not fit.
pub fn due(studies: &[StudyDays], today: Date, minutes: u32) -> (Vec<Due>, usize) {
    let (due, beyond) = fitting(studies, today, minutes);
    (in_order(due, studies, today), beyond)
}

/// Puts what is due in the order in which it is practised: study after study, in the order of what is most
/// pressing in each; and what is much like something else of today does not come last, if anything else can.
/// What was moved for that is told with its twin.
fn in_order(due: Vec<Due>, studies: &[StudyDays], today: Date) -> Vec<Due> {
    let mut groups: Vec<Vec<Due>> = Vec::new();
    for one in due {
        match groups.iter_mut().find(|group| group.first().is_some_and(|of| of.study == one.study))
        {
            Some(group) => group.push(one),
            None => groups.push(vec![one]),
        }
    }
    let twins = Twins::of(&groups, studies, today);
    // The last of the last study that is like nothing else; else the last of the study before, and so on.
    let free = |group: &Vec<Due>| group.iter().rposition(|one| twins.of_piece(one).is_none());
    let last = groups.iter().rposition(|group| free(group).is_some());
    if let Some(at) = last
        && let Some(piece) = groups.get(at).and_then(free)
    {
        let mut group = groups.remove(at);
        let moved = group.remove(piece);
        // Whatever stood behind it gives way to it.
        for one in group.iter_mut().skip(piece).chain(groups.iter_mut().skip(at).flatten()) {
            one.alike = twins.of_piece(one);
        }
        group.push(moved);
        groups.push(group);
    }
    groups.into_iter().flatten().collect()
}

/// What is much like what.
struct Twins {
    all: Vec<(usize, Piece, String)>,
}

impl Twins {
    fn of(groups: &[Vec<Due>], studies: &[StudyDays], today: Date) -> Self {
        let chunks = |study: usize, piece: Piece| -> Vec<&Prepared> {
            let (first, last) = piece.span();
            let all = studies.get(study).map_or(&[][..], StudyDays::chunks);
            all.get(usize::from(first)..=usize::from(last)).unwrap_or(&[]).iter().collect()
        };
        let due = || groups.iter().flatten().map(|one| (one.study, one.piece, one.name.clone()));
        // What has been played today is part of the evening, too.
        let played = (0..).zip(studies).flat_map(|(number, study)| {
            let today = study.pieces().iter().filter(move |days| days.days.contains_key(&today));
            today.map(move |days| (number, days.piece, days.name.clone()))
        });
        let others: Vec<(usize, Piece, String)> = due().chain(played).collect();
        let twin = |(study, piece, _): &(usize, Piece, String)| {
            let own = chunks(*study, *piece);
            let apart =
                |other: &&(usize, Piece, String)| other.0 != *study || !(overlap(other.1, *piece));
            let mut apart = others.iter().filter(apart);
            apart
                .find(|other| are_alike(&own, &chunks(other.0, other.1)))
                .map(|other| other.2.clone())
        };
        let all = due().filter_map(|one| Some((one.0, one.1, twin(&one)?))).collect();
        Self { all }
    }

    /// The name of what a piece is much like.
    fn of_piece(&self, due: &Due) -> Option<String> {
        let own =
            self.all.iter().find(|(study, piece, _)| (*study, *piece) == (due.study, due.piece));
        own.map(|(_, _, twin)| twin.clone())
    }
}

/// Whether one is part of the other: a chunk and its join are no twins.
fn overlap(one: Piece, other: Piece) -> bool {
    let ((a, b), (c, d)) = (one.span(), other.span());
    a <= d && c <= b
}

#[cfg(test)]
mod tests {
    use super::*;

    const UP: &str = "1/8 5:0 5:2 5:3 4:0 5:3 5:2 5:0 4:2";
    const UP_ELSEWHERE: &str = "1/8 6:0 6:2 6:3 5:0 6:3 6:2 6:0 5:2";
    const DOWN: &str = "1/8 1:7 1:5 1:3 1:1 1:0 2:3 2:1 2:0";

    /// The names of what is due of studies of one chunk each, in order, with their twins.
    fn evening(studies: &[(&str, &str)]) -> Vec<(String, Option<String>)> {
        let study = |(name, notes): &(&str, &str)| {
            let text =
                format!("evenhand study 1\nmetre 4/4\nchunk \"{name}\" at bar 1\n  m: {notes} |\n");
            StudyDays::new(&crate::study::parse(&text).unwrap().prepare().unwrap())
        };
        let studies: Vec<StudyDays> = studies.iter().map(study).collect();
        let (due, _) = due(&studies, "2026-03-01".parse().unwrap(), 600);
        due.into_iter().map(|one| (one.name, one.alike)).collect()
    }

    fn plain(names: &[&str]) -> Vec<(String, Option<String>)> {
        names.iter().map(|name| ((*name).to_owned(), None)).collect()
    }

    #[test]
    fn what_is_like_something_else_of_today_does_not_come_last() {
        assert_eq!(evening(&[("A", UP), ("B", DOWN)]), plain(&["A", "B"]));
        let twins = evening(&[("A", UP), ("B", DOWN), ("C", UP_ELSEWHERE)]);
        let names: Vec<&str> = twins.iter().map(|(name, _)| name.as_str()).collect();
        assert_eq!(names, ["A", "C", "B"]);
        assert_eq!(twins[1].1.as_deref(), Some("A"), "and it is told why");
        assert_eq!((&twins[0].1, &twins[2].1), (&None, &None));
    }

    #[test]
    fn where_all_are_alike_the_order_stays() {
        assert_eq!(evening(&[("A", UP), ("B", UP_ELSEWHERE)]), plain(&["A", "B"]));
        assert_eq!(evening(&[]), plain(&[]));
    }
}
