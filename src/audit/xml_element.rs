//! An XML document as a tree.

use crate::diagnostic::Place;

/// One element.
#[derive(Debug, Default, Clone, PartialEq, Eq)]
pub struct Element {
    /// Name as written.
    pub name: String,
    /// Line in the file, from 1.
    pub line: usize,
    /// Attributes as written, in order.
    pub attributes: Vec<(String, String)>,
    /// Whether text that is no blank stands in it.
    pub has_text: bool,
    /// Children, in order.
    pub children: Vec<Element>,
}

impl Element {
    /// An attribute.
    pub fn get(&self, key: &str) -> Option<&str> {
        self.attributes.iter().find(|(name, _)| name == key).map(|(_, value)| value.as_str())
    }

    /// An attribute as a number; `None` where it is missing or no finite number.
    pub fn number(&self, key: &str) -> Option<f64> {
        self.get(key)?.trim().parse::<f64>().ok().filter(|number| number.is_finite())
    }

    /// An attribute as a whole number.
    pub fn whole(&self, key: &str) -> Option<i64> {
        self.get(key)?.trim().parse().ok()
    }

    /// Children of a name, in order.
    pub fn all<'a>(&'a self, name: &'a str) -> impl Iterator<Item = &'a Element> {
        self.children.iter().filter(move |child| child.name == name)
    }

    /// This element and all below it, in the order of the file.
    pub fn walk(&self) -> Vec<&Element> {
        let mut found = vec![self];
        for child in &self.children {
            found.extend(child.walk());
        }
        found
    }

    /// `GRD`, or with an id `TSK TSK1`.
    pub fn shown(&self) -> String {
        match self.get("A").filter(|id| id.starts_with(&self.name)) {
            Some(id) => format!("{} {id}", self.name),
            None => self.name.clone(),
        }
    }

    /// Place of the element, or of one of its attributes.
    pub fn place(&self, file: &str, attribute: &str) -> Place {
        let element = if attribute.is_empty() { self.shown() } else { format!("{}/@{attribute}", self.shown()) };
        Place::Element { file: file.to_owned(), line: self.line, element }
    }
}
