//! What people read: that it is true, that it can be followed, and that samples are what is said.

mod asked;
mod helps;
mod house;
mod own_passage;
mod samples;
mod shown;

/// The words of a line as a shell has them.
pub(super) fn words(line: &str) -> Vec<String> {
    let mut words = Vec::new();
    for (index, part) in line.split('"').enumerate() {
        if index % 2 == 1 {
            words.push(part.to_owned());
        } else {
            words.extend(part.split_whitespace().map(str::to_owned));
        }
    }
    words
}
