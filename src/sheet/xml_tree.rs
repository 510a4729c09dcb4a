//! A bounded reader of XML into a tree.

use std::collections::BTreeMap;

use quick_xml::events::{BytesStart, Event};
use quick_xml::{Reader, XmlVersion};

/// Deepest nesting taken.
const MOST_DEPTH: usize = 64;
/// Most elements taken.
const MOST_ELEMENTS: usize = 4_000_000;

/// One element: local names only, namespaces are not looked at.
#[derive(Debug, Default)]
pub(super) struct Element {
    pub(super) name: String,
    /// Line in the file, from 1.
    pub(super) line: usize,
    pub(super) attributes: BTreeMap<String, String>,
    /// Own text, pieces between children joined.
    pub(super) text: String,
    pub(super) children: Vec<Element>,
}

impl Element {
    /// Children of a name, in order.
    pub(super) fn all<'a>(&'a self, name: &'a str) -> impl Iterator<Item = &'a Element> {
        self.children.iter().filter(move |child| child.name == name)
    }

    /// Children of a name below the children of another.
    pub(super) fn all_below<'a>(&'a self, parent: &'a str, name: &'a str) -> impl Iterator<Item = &'a Element> {
        self.all(parent).flat_map(move |child| child.all(name))
    }

    /// Trimmed text of the first child of a name; blank if there is none.
    pub(super) fn text_of(&self, name: &str) -> &str {
        self.children.iter().find(|child| child.name == name).map_or("", |child| child.text.trim())
    }
}

/// Reads a document. No document type, no entities but the five of XML and characters by number.
///
/// # Errors
/// Line and words of the first fault.
pub(super) fn read(text: &str) -> Result<Element, (usize, String)> {
    let mut reader = Reader::from_str(text);
    reader.config_mut().expand_empty_elements = true;
    let mut line = Lines { text, counted: 0, line: 1 };
    let mut open: Vec<Element> = Vec::new();
    let mut root = None;
    let mut n_elements = 0;
    loop {
        let start = usize::try_from(reader.buffer_position()).unwrap_or(usize::MAX);
        let at = line.of(start);
        let event = reader.read_event().map_err(|error| (at, error.to_string()))?;
        match event {
            Event::Start(start) => {
                n_elements += 1;
                if open.len() >= MOST_DEPTH || n_elements > MOST_ELEMENTS {
                    return Err((at, "the elements are nested too deep, or too many".to_owned()));
                }
                if root.is_some() {
                    return Err((at, "a second root element".to_owned()));
                }
                open.push(element(&start, at)?);
            }
            Event::End(_) => {
                // The reader checks that ends match their starts.
                if let Some(closed) = open.pop() {
                    match open.last_mut() {
                        Some(parent) => parent.children.push(closed),
                        None => root = Some(closed),
                    }
                }
            }
            Event::Text(text) => push_text(&mut open, &text.xml10_content()),
            Event::CData(text) => push_text(&mut open, &text.xml10_content()),
            Event::GeneralRef(reference) => {
                let resolved = match &*reference {
                    "amp" => Some('&'),
                    "lt" => Some('<'),
                    "gt" => Some('>'),
                    "quot" => Some('"'),
                    "apos" => Some('\''),
                    _ => reference.resolve_char_ref().map_err(|error| (at, error.to_string()))?,
                };
                let letter = resolved.ok_or_else(|| (at, format!("`&{};` is not expanded", &*reference)))?;
                push_text(&mut open, letter.encode_utf8(&mut [0; 4]));
            }
            Event::DocType(_) => return Err((at, "a document type is not taken".to_owned())),
            Event::Eof => break,
            Event::Empty(_) | Event::Comment(_) | Event::Decl(_) | Event::PI(_) => (),
        }
    }
    match (root, open.last()) {
        (Some(root), None) => Ok(root),
        (_, Some(unclosed)) => Err((unclosed.line, format!("`<{}>` is never closed", unclosed.name))),
        (None, None) => Err((1, "no element".to_owned())),
    }
}

fn push_text(open: &mut [Element], text: &str) {
    if let Some(element) = open.last_mut() {
        element.text.push_str(text);
    }
}

fn element(start: &BytesStart<'_>, line: usize) -> Result<Element, (usize, String)> {
    let mut attributes = BTreeMap::new();
    for attribute in start.attributes() {
        let attribute = attribute.map_err(|error| (line, error.to_string()))?;
        // Fails for entities that are not of XML itself.
        let value = attribute.normalized_value(XmlVersion::Implicit1_0).map_err(|error| (line, error.to_string()))?;
        attributes.insert(attribute.key.local_name().as_ref().to_owned(), value.into_owned());
    }
    Ok(Element { name: start.local_name().as_ref().to_owned(), line, attributes, ..Element::default() })
}

/// Counts lines up to places that never fall.
struct Lines<'a> {
    text: &'a str,
    counted: usize,
    line: usize,
}

impl Lines<'_> {
    /// Line of the first letter at or after `at` that is not blank.
    fn of(&mut self, at: usize) -> usize {
        let bytes = self.text.as_bytes();
        let mut at = at.min(bytes.len());
        while bytes.get(at).is_some_and(u8::is_ascii_whitespace) {
            at += 1;
        }
        if at > self.counted {
            let is_end = |n: &usize| bytes[*n] == b'\n' || (bytes[*n] == b'\r' && bytes.get(n + 1) != Some(&b'\n'));
            self.line += (self.counted..at).filter(is_end).count();
            self.counted = at;
        }
        self.line
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn elements_texts_attributes_and_lines() {
        let root =
            read("<?xml version=\"1.0\"?>\n<n:a x=\"1 &amp; 2\">\n\n  <b/>\n<b>t&#65;&lt;<![CDATA[<c>]]></b></n:a>\n")
                .expect("reads");
        assert_eq!((root.name.as_str(), root.line, root.attributes["x"].as_str()), ("a", 2, "1 & 2"));
        assert_eq!(root.all("b").map(|b| (b.line, b.text.as_str())).collect::<Vec<_>>(), [(4, ""), (5, "tA<<c>")]);
    }

    #[test]
    fn what_could_grow_or_is_broken_is_refused() {
        let fault = |text: &str| read(text).expect_err("is refused");
        assert!(fault("<!DOCTYPE a [<!ENTITY x \"y\">]><a>&x;</a>").1.contains("document type"));
        assert!(fault("<a>\n&x;</a>").1.contains("not expanded"));
        assert_eq!(fault("<a>\n&x;</a>").0, 2);
        assert!(!fault("<a b=\"&x;\"/>").1.is_empty());
        assert!(fault(&"<a>".repeat(65)).1.contains("too deep"));
        for text in ["", "<a>", "<a></b>", "<a/><a/>", "<a", "</a>", "<a>&#0;</a>"] {
            fault(text);
        }
        assert_eq!(fault("<a>\n <b>\n").1, "`<b>` is never closed");
    }
}
