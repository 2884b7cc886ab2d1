//! Sharps and flats by their names.

/// By how much a sign before a note raises it.
pub(super) fn raises(name: &str) -> Option<i16> {
    Some(match name {
        "sharp" => 1,
        "flat" => -1,
        "natural" => 0,
        "double-sharp" | "sharp-sharp" => 2,
        "flat-flat" => -2,
        _ => return None,
    })
}
