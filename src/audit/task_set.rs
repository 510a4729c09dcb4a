//! What an ISO 11783-10 task set says, element by element.

use std::collections::BTreeMap;

use super::rate_entity;
use super::xml_element::Element;
use crate::diagnostic::Place;

/// Name of the folder, and of the main file, as the standard wants them.
pub const FOLDER: &str = "TASKDATA";
/// See [`FOLDER`].
pub const MAIN_FILE: &str = "TASKDATA.XML";

/// A task set with its files.
#[derive(Debug, Default)]
pub struct TaskSet {
    /// Main file as typed.
    pub file: String,
    /// Folder of the main file within what was typed; empty for its top.
    pub folder: String,
    /// Name of the main file as it stands on the medium.
    pub main_file: String,
    /// Whether the files lie in a zip, where capitals count.
    pub in_zip: bool,
    /// Whether the file begins with a byte order mark.
    pub has_byte_order_mark: bool,
    /// The XML declaration between `<?` and `?>`.
    pub declaration: Option<String>,
    /// Line of a document type or of an entity that is not of XML itself.
    pub expands_at: Option<usize>,
    /// Line and words of the first thing that is not well-formed.
    pub not_well_formed: Option<(usize, String)>,
    /// The document, as far as it is well-formed.
    pub root: Element,
    /// Other files of the folder.
    pub others: Vec<OtherFile>,
}

/// A file beside the main one.
#[derive(Debug, Clone, Default)]
pub struct OtherFile {
    /// Name in the folder.
    pub name: String,
    /// File as typed.
    pub shown: String,
    /// Content.
    pub bytes: Vec<u8>,
}

/// One treatment zone of a task.
#[derive(Debug, Clone)]
pub struct TaskZone<'a> {
    /// The `TZN`.
    pub element: &'a Element,
    /// Its code, where it is a number from 0 to 254.
    pub code: Option<u8>,
    /// Its `PDV`s.
    pub rates: Vec<&'a Element>,
    /// Its `PLN`s.
    pub polygons: Vec<&'a Element>,
}

impl TaskSet {
    /// Place of an element or attribute of the main file.
    pub fn place(&self, element: &Element, attribute: &str) -> Place {
        element.place(&self.file, attribute)
    }

    /// Tasks.
    pub fn tasks(&self) -> Vec<&Element> {
        self.root.all("TSK").collect()
    }

    /// Elements by their id.
    pub fn by_id(&self) -> BTreeMap<&str, &Element> {
        let with_id = self.root.walk().into_iter().filter_map(|element| {
            let id = element.get("A").filter(|id| looks_like_id(&element.name, id))?;
            Some((id, element))
        });
        with_id.collect()
    }

    /// The element an attribute refers to.
    pub fn referred(&self, element: &Element, attribute: &str) -> Option<&Element> {
        let id = element.get(attribute)?;
        self.root.children.iter().find(|other| other.get("A") == Some(id))
    }

    /// Field of a task.
    pub fn field(&self, task: &Element) -> Option<&Element> {
        self.referred(task, "E").filter(|field| field.name == "PFD")
    }

    /// File of a grid: `GRD/@G` with the ending `.bin`, in any case.
    pub fn grid_file(&self, grid: &Element) -> Option<&OtherFile> {
        let wanted = format!("{}.bin", grid.get("G")?);
        let exact = self.others.iter().find(|other| other.name == wanted);
        exact.or_else(|| self.others.iter().find(|other| other.name.eq_ignore_ascii_case(&wanted)))
    }
}

/// Treatment zones of a task.
pub fn zones(task: &Element) -> Vec<TaskZone<'_>> {
    let zone = |element| TaskZone {
        element,
        code: element.get("A").and_then(|text| text.parse().ok()).filter(|code| *code <= 254),
        rates: element.all("PDV").collect(),
        polygons: element.all("PLN").collect(),
    };
    task.all("TZN").map(zone).collect()
}

/// The zone of a code.
pub fn zone_of<'a, 'b>(zones: &'b [TaskZone<'a>], code: &str) -> Option<&'b TaskZone<'a>> {
    let code: u8 = code.parse().ok()?;
    zones.iter().find(|zone| zone.code == Some(code))
}

/// Numbers of the data dictionary a zone sets, in order; 0 for what is no hexadecimal number.
pub fn entities(zone: &TaskZone<'_>) -> Vec<u16> {
    zone.rates.iter().map(|rate| rate.get("A").and_then(rate_entity::number).unwrap_or(0)).collect()
}

/// Whether a value is meant as the id of an element: `TSK`, a minus perhaps, digits.
pub fn looks_like_id(element: &str, value: &str) -> bool {
    let Some(rest) = value.strip_prefix(element) else { return false };
    let digits = rest.strip_prefix('-').unwrap_or(rest);
    element.len() == 3 && !digits.is_empty() && digits.bytes().all(|byte| byte.is_ascii_digit())
}

/// Corners of a ring as longitude and latitude; NaN for what is no number.
pub fn corners(ring: &Element) -> Vec<(f64, f64)> {
    let number = |point: &Element, key| point.number(key).unwrap_or(f64::NAN);
    ring.all("PNT").map(|point| (number(point, "D"), number(point, "C"))).collect()
}
