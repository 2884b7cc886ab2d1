//! Whether a text is fit to be made a tree of: told by one pass over its letters, before anything in it is believed.
//!
//! A score never needs what a document type can declare inside the file, and nothing in one lies deep.

use super::refusal::Refusal;

/// The largest score, unpacked. Our default: the largest of some six hundred printed scores has 1.3 MB.
pub(super) const LARGEST: usize = 12 * 1024 * 1024;

/// The most elements. Our default: the same scores have 34,000 at most.
const MOST_ELEMENTS: usize = 250_000;

/// Elements within elements. Our default: MusicXML 4.0 itself needs ten or so.
const DEEPEST: usize = 40;

/// Attributes of all elements together. Our default.
const MOST_ATTRIBUTES: usize = 500_000;

/// The same text without its document type, if a tree can be made of it.
pub(super) fn fit(text: &str) -> Result<String, Refusal> {
    if text.len() > LARGEST {
        return Err(Refusal::Large);
    }
    let kind = document_type(text)?;
    let mut text = text.to_owned();
    if let Some(range) = kind {
        // Spaces keep every place in the text where it was.
        let blank: String =
            text[range.clone()].chars().map(|c| if c == '\n' { c } else { ' ' }).collect();
        text.replace_range(range, &blank);
    }
    depth(&text)?;
    Ok(text)
}

/// Where the line with the document type stands.
fn document_type(text: &str) -> Result<Option<std::ops::Range<usize>>, Refusal> {
    let mut at = text.len() - text.trim_start_matches('\u{feff}').len();
    loop {
        let rest = &text[at..];
        let rest = rest.trim_start();
        at = text.len() - rest.len();
        if let Some(inside) = rest.strip_prefix("<?") {
            at += 2 + inside.find("?>").ok_or(Refusal::NotXml)? + 2;
        } else if let Some(inside) = rest.strip_prefix("<!--") {
            at += 4 + inside.find("-->").ok_or(Refusal::NotXml)? + 3;
        } else if rest.starts_with("<!DOCTYPE") {
            let end = end_of_tag(rest).ok_or(Refusal::NotXml)?;
            if outside_quotes(&rest[..end]).any(|(_, c)| c == '[') {
                return Err(Refusal::Declares);
            }
            return Ok(Some(at..at + end));
        } else {
            return Ok(None);
        }
    }
}

/// The letters of a tag that stand in no quotes.
fn outside_quotes(tag: &str) -> impl Iterator<Item = (usize, char)> {
    let mut quote: Option<char> = None;
    tag.char_indices().filter(move |(_, c)| match quote {
        Some(open) => {
            if *c == open {
                quote = None;
            }
            false
        }
        None => {
            if matches!(c, '"' | '\'') {
                quote = Some(*c);
            }
            true
        }
    })
}

/// How long the tag is that a text begins with.
fn end_of_tag(text: &str) -> Option<usize> {
    outside_quotes(text).find(|(_, c)| *c == '>').map(|(at, _)| at + 1)
}

/// Counts elements, and how deep they lie.
fn depth(text: &str) -> Result<(), Refusal> {
    let (mut at, mut deep, mut elements, mut attributes) = (0, 0_usize, 0_usize, 0_usize);
    while let Some(found) = text[at..].find('<') {
        at += found;
        let rest = &text[at..];
        let skipped = [("<!--", "-->"), ("<![CDATA[", "]]>"), ("<?", "?>")];
        if let Some((open, close)) = skipped.iter().find(|(open, _)| rest.starts_with(open)) {
            at += open.len() + rest[open.len()..].find(close).ok_or(Refusal::NotXml)? + close.len();
            continue;
        }
        let end = end_of_tag(rest).ok_or(Refusal::NotXml)?;
        let tag = &rest[..end];
        if tag.starts_with("<!") {
            return Err(Refusal::Declares);
        } else if tag.starts_with("</") {
            deep = deep.saturating_sub(1);
        } else {
            elements += 1;
            attributes += outside_quotes(tag).filter(|(_, c)| *c == '=').count();
            if !tag.ends_with("/>") {
                deep += 1;
            }
            if elements > MOST_ELEMENTS || attributes > MOST_ATTRIBUTES {
                return Err(Refusal::Large);
            }
            if deep > DEEPEST {
                return Err(Refusal::Deep);
            }
        }
        at += end;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_usual_line_is_taken_out_and_every_other_letter_stays() {
        let text = "\u{feff}<?xml version=\"1.0\"?>\n<!-- by [hand] -->\n<!DOCTYPE a PUBLIC \"-//[x]//\"\n \"b.dtd\">\n<a><b c='>'/></a>";
        let kept = fit(text).unwrap();
        assert_eq!(kept.len(), text.len());
        assert_eq!(kept.lines().count(), text.lines().count());
        assert!(!kept.contains("DOCTYPE") && kept.ends_with("<a><b c='>'/></a>"), "{kept}");
    }

    #[test]
    fn what_declares_or_lies_too_deep_is_refused() {
        let entity = "<!DOCTYPE a [<!ENTITY b \"c\">]><a>&b;</a>";
        assert_eq!(fit(entity), Err(Refusal::Declares));
        assert_eq!(fit("<a><!ENTITY b \"c\"></a>"), Err(Refusal::Declares));
        assert_eq!(fit(&"<a>".repeat(DEEPEST + 1)), Err(Refusal::Deep));
        assert!(fit(&"<a>".repeat(DEEPEST)).is_ok());
        assert!(fit(&"<a></a>".repeat(1_000)).is_ok());
        assert_eq!(fit(&"<a/>".repeat(MOST_ELEMENTS + 1)), Err(Refusal::Large));
        assert_eq!(fit("<a"), Err(Refusal::NotXml));
        assert_eq!(fit("<!-- a"), Err(Refusal::NotXml));
    }
}
