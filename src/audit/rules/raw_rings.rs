//! Rings as they stand in a file, for the rules on rings. No rule itself.

use super::prelude::*;
use crate::audit::task_set::corners;

/// A ring as it stands.
pub(super) struct RawRing<'a> {
    /// Corners, longitude first.
    pub(super) corners: std::borrow::Cow<'a, [(f64, f64)]>,
    /// Whether the form lets it be open.
    pub(super) may_be_open: bool,
    at: At<'a>,
}

enum At<'a> {
    Record { file: &'a str, record: usize, ring: usize },
    Element { file: &'a str, element: &'a Element },
}

impl RawRing<'_> {
    /// Where it stands.
    pub(super) fn place(&self) -> Place {
        match self.at {
            At::Record { file, record, ring } => record_place(file, record, format!("ring {}", ring + 1)),
            At::Element { file, element } => element.place(file, ""),
        }
    }
}

/// Rings of polygons, in the order of the file.
pub(super) fn raw_rings(of: &Prescription) -> Vec<RawRing<'_>> {
    let mut rings = Vec::new();
    match &of.form {
        Some(Form::Shapefile(file)) => {
            let Some(shapes) = &file.shapes else { return rings };
            for (record, shape) in shapes.records.iter().enumerate() {
                rings.extend(shape.rings.iter().enumerate().map(|(ring, corners)| RawRing {
                    corners: corners.as_slice().into(),
                    may_be_open: false,
                    at: At::Record { file: &shapes.file, record, ring },
                }));
            }
        }
        Some(Form::GeoJson(file)) => {
            for (record, feature) in file.features.iter().enumerate() {
                rings.extend(feature.rings.iter().enumerate().map(|(ring, raw)| RawRing {
                    corners: raw.positions.as_slice().into(),
                    may_be_open: false,
                    at: At::Record { file: &file.file, record, ring },
                }));
            }
        }
        Some(Form::TaskSet(set)) => {
            let is_v3 = set.root.whole("VersionMajor") == Some(3);
            for element in set.root.walk() {
                let is_ring = |ring: &&Element| matches!(ring.get("A"), Some("1" | "2"));
                if element.name == "PLN" {
                    rings.extend(element.all("LSG").filter(is_ring).map(|ring| RawRing {
                        corners: corners(ring).into(),
                        may_be_open: is_v3,
                        at: At::Element { file: &set.file, element: ring },
                    }));
                }
            }
        }
        _ => (),
    }
    rings
}
