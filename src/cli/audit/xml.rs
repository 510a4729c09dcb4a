//! XML to a tree, with lines. Nothing is expanded but the five entities of XML and characters by number.

use holdground::audit::xml_element::Element;
use quick_xml::escape::EscapeError;
use quick_xml::events::{BytesStart, Event};
use quick_xml::{Reader, XmlVersion};

/// Deepest nesting taken; a task set has 6.
const MOST_DEPTH: usize = 32;

/// What reading gave.
#[derive(Default)]
pub(super) struct Document {
    pub(super) root: Element,
    /// Text between `<?` and `?>` of the declaration.
    pub(super) declaration: Option<String>,
    /// Line of a document type or a foreign entity.
    pub(super) expands_at: Option<usize>,
    /// Line and words of the first fault.
    pub(super) fault: Option<(usize, String)>,
}

/// Why reading ends before the end.
enum Stop {
    Expands(usize),
    Fault(usize, String),
}

/// Reads a document.
pub(super) fn read(text: &str) -> Document {
    let mut document = Document::default();
    match read_elements(text, &mut document) {
        Ok(()) => (),
        Err(Stop::Expands(line)) => document.expands_at = Some(line),
        Err(Stop::Fault(line, why)) => document.fault = Some((line, why)),
    }
    document
}

fn read_elements(text: &str, document: &mut Document) -> Result<(), Stop> {
    let mut reader = Reader::from_str(text);
    reader.config_mut().expand_empty_elements = true;
    let mut lines = Lines { text: text.as_bytes(), counted: 0, line: 1 };
    let mut open: Vec<Element> = Vec::new();
    let mut is_done = false;
    loop {
        let line = lines.of(usize::try_from(reader.buffer_position()).unwrap_or(usize::MAX));
        let fault = |why: String| Stop::Fault(line, why);
        match reader.read_event().map_err(|error| fault(error.to_string()))? {
            Event::Start(_) if is_done => return Err(fault("a second root element".to_owned())),
            Event::Start(_) if open.len() >= MOST_DEPTH => {
                return Err(fault("elements are nested too deep".to_owned()));
            }
            Event::Start(start) => open.push(element(&start, line)?),
            Event::End(_) => {
                let Some(closed) = open.pop() else { continue };
                match open.last_mut() {
                    Some(parent) => parent.children.push(closed),
                    None => {
                        document.root = closed;
                        is_done = true;
                    }
                }
            }
            Event::Text(found) if !found.trim().is_empty() => match open.last_mut() {
                Some(element) => element.has_text = true,
                None => return Err(fault("text outside the root element".to_owned())),
            },
            Event::CData(_) => {
                if let Some(element) = open.last_mut() {
                    element.has_text = true;
                }
            }
            Event::GeneralRef(_) => return Err(Stop::Expands(line)),
            Event::DocType(_) => return Err(Stop::Expands(line)),
            Event::Decl(found) => document.declaration = Some((*found).to_owned()),
            Event::Eof => break,
            Event::Text(_) | Event::Empty(_) | Event::Comment(_) | Event::PI(_) => (),
        }
    }
    match open.last() {
        Some(unclosed) => Err(Stop::Fault(unclosed.line, format!("`<{}>` is never closed", unclosed.name))),
        None if !is_done => Err(Stop::Fault(1, "there is no element".to_owned())),
        None => Ok(()),
    }
}

fn element(start: &BytesStart<'_>, line: usize) -> Result<Element, Stop> {
    let mut attributes = Vec::new();
    for attribute in start.attributes() {
        let attribute = attribute.map_err(|error| Stop::Fault(line, error.to_string()))?;
        let value = attribute.normalized_value(XmlVersion::Implicit1_0);
        let value = value.map_err(|error| match error {
            quick_xml::Error::Escape(EscapeError::UnrecognizedEntity(..)) => Stop::Expands(line),
            other => Stop::Fault(line, other.to_string()),
        })?;
        attributes.push((attribute.key.as_ref().to_owned(), value.into_owned()));
    }
    Ok(Element { name: start.name().as_ref().to_owned(), line, attributes, ..Element::default() })
}

/// Counts lines up to places that never fall.
struct Lines<'a> {
    text: &'a [u8],
    counted: usize,
    line: usize,
}

impl Lines<'_> {
    /// Line of the first letter at or after `at` that is no blank.
    fn of(&mut self, at: usize) -> usize {
        let mut at = at.min(self.text.len());
        while self.text.get(at).is_some_and(u8::is_ascii_whitespace) {
            at += 1;
        }
        if at > self.counted {
            self.line += self.text[self.counted..at].iter().filter(|byte| **byte == b'\n').count();
            self.counted = at;
        }
        self.line
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn elements_attributes_and_lines_are_kept_as_written() {
        let document = read("<?xml version=\"1.0\"?>\n<a x=\"1 &amp; 2\">\n <b/>\n\n <b>word</b></a>");
        assert_eq!(document.declaration.as_deref(), Some("xml version=\"1.0\""));
        let root = document.root;
        assert_eq!((root.line, root.get("x")), (2, Some("1 & 2")));
        let children: Vec<(usize, bool)> = root.all("b").map(|b| (b.line, b.has_text)).collect();
        assert_eq!(children, [(3, false), (5, true)]);
    }

    #[test]
    fn nothing_is_expanded_and_faults_have_their_line() {
        assert_eq!(read("<!DOCTYPE a [<!ENTITY x \"y\">]><a/>").expands_at, Some(1));
        assert_eq!(read("<a>\n<b c=\"&x;\"/></a>").expands_at, Some(2));
        assert_eq!(read("<a>\n<b></a>").fault.map(|(line, _)| line), Some(2));
        assert_eq!(read("<a>\n<b>").fault.map(|(line, _)| line), Some(2));
        for text in ["", "<a/><a/>", "<a x=1/>", "<a x=\"1\" x=\"2\"/>", "word<a/>"] {
            assert!(read(text).fault.is_some(), "{text}");
        }
        assert!(read(&"<a>".repeat(40)).fault.is_some());
    }
}
