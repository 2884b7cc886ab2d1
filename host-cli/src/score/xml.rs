//! Looking into elements.

use super::time::Quarters;
use roxmltree::Node;

/// An element.
pub(super) type Element<'a> = Node<'a, 'a>;

/// The elements directly within one.
pub(super) fn children<'a>(of: Element<'a>) -> impl Iterator<Item = Element<'a>> {
    of.children().filter(Node::is_element)
}

/// Those with a name.
pub(super) fn named<'a>(of: Element<'a>, name: &'a str) -> impl Iterator<Item = Element<'a>> {
    children(of).filter(move |child| child.tag_name().name() == name)
}

/// The first with a name.
pub(super) fn child<'a>(of: Element<'a>, name: &str) -> Option<Element<'a>> {
    children(of).find(|child| child.tag_name().name() == name)
}

/// The text within an element, without the spaces around it.
pub(super) fn text<'a>(of: Element<'a>) -> &'a str {
    of.text().unwrap_or_default().trim()
}

/// The text of the first child with a name.
pub(super) fn text_of<'a>(of: Element<'a>, name: &str) -> Option<&'a str> {
    child(of, name).map(text)
}

/// The number in the first child with a name.
pub(super) fn number_of<T: std::str::FromStr>(of: Element<'_>, name: &str) -> Option<T> {
    text_of(of, name)?.parse().ok()
}

/// A number with a point, exactly.
pub(super) fn decimal(word: &str) -> Option<Quarters> {
    let (negative, digits) = match word.strip_prefix('-') {
        Some(rest) => (true, rest),
        None => (false, word.strip_prefix('+').unwrap_or(word)),
    };
    let (whole, part) = digits.split_once('.').unwrap_or((digits, ""));
    let part = part.trim_end_matches('0');
    let all = format!("{whole}{part}");
    if all.is_empty() || !all.bytes().all(|byte| byte.is_ascii_digit()) || part.len() > 9 {
        return None;
    }
    let over: i64 = all.parse().ok()?;
    let under = 10_i64.checked_pow(u32::try_from(part.len()).ok()?)?;
    Quarters::new(if negative { -over } else { over }, under)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_with_a_point_are_exact() {
        for (word, over, under) in [("3", 3, 1), ("-2", -2, 1), ("0.5", 1, 2), ("2.50", 5, 2)] {
            assert_eq!(decimal(word), Quarters::new(over, under), "{word}");
        }
        for word in ["", ".", "-", "1e3", "0x1", "1.0000000001", "99999999999999999999"] {
            assert_eq!(decimal(word), None, "{word}");
        }
    }
}
