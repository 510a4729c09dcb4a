//! `TASKDATA.XML`: fields, units, products and tasks, as attributes by the schema of each version.
//!
//! | element | what |
//! |---|---|
//! | PFD, PLN, LSG, PNT | field, its surfaces, their rings, their corners (C latitude, D longitude) |
//! | VPN | how a count is shown: unit, factor, decimals |
//! | PDT | product |
//! | TSK, TZN, PDV | task, its zones, the count each product has there |
//! | GRD | where the cells lie, and their file |

use std::io::{Result, Write};

use quick_xml::Writer;
use quick_xml::events::{BytesDecl, BytesStart, Event};

use super::names::distinct_names;
use super::setpoint::Setpoint;
use super::task_zones::{OUT_OF_FIELD, Task, TaskGrid};
use super::{TaskField, TaskProduct, TaskSetVersion};
use crate::coverage::{Lattice, LatticePolygon, Vertex};
use crate::rates::RateUnit;

/// Types of surfaces (PLN): a field's outline, a treatment zone.
const FIELD_SURFACE: &str = "1";
const ZONE_SURFACE: &str = "2";
/// Types of rings (LSG): around ground, around a hole.
const EXTERIOR: &str = "1";
const INTERIOR: &str = "2";
/// Type of a corner (PNT): none of the named ones.
const OTHER_POINT: &str = "2";
/// Status of a task: planned.
const PLANNED: &str = "1";
/// Where the data come from: an office.
const FROM_OFFICE: &str = "1";

/// Units shown and products, each once; ids count from 1 in this order.
struct Coded<'a> {
    units: Vec<(RateUnit, usize)>,
    products: Vec<(&'a str, RateUnit)>,
}

/// The main file. Tasks are those of the fields, in their order.
pub(super) fn task_data(fields: &[TaskField], tasks: &[Task<'_>], version: TaskSetVersion) -> Vec<u8> {
    let mut out = Writer::new_with_indent(Vec::new(), b' ', 1);
    out.write_event(Event::Decl(BytesDecl::new("1.0", Some("UTF-8"), None)))
        .and_then(|()| root(&mut out, fields, tasks, version))
        .expect("memory takes it");
    let mut bytes = out.into_inner();
    bytes.push(b'\n');
    bytes
}

fn root<W: Write>(
    out: &mut Writer<W>,
    fields: &[TaskField],
    tasks: &[Task<'_>],
    version: TaskSetVersion,
) -> Result<()> {
    let (major, minor) = match version {
        TaskSetVersion::V3 => ("3", "3"),
        TaskSetVersion::V4 => ("4", "3"),
    };
    let mut attributes = vec![
        ("VersionMajor", major),
        ("VersionMinor", minor),
        ("ManagementSoftwareManufacturer", "holdground"),
        ("ManagementSoftwareVersion", env!("CARGO_PKG_VERSION")),
        ("DataTransferOrigin", FROM_OFFICE),
    ];
    // The language is new in version 4.
    attributes.extend((version == TaskSetVersion::V4).then_some(("lang", "en")));
    element(out, "ISO11783_TaskData", &attributes, |out| {
        let names = distinct_names(fields.iter().map(|field| field.name.as_str()));
        for (index, (field, name)) in fields.iter().zip(&names).enumerate() {
            let (id, area) = (id("PFD", index), format!("{:.0}", field.area_m2));
            element(out, "PFD", &[("A", &id), ("C", name), ("D", &area)], |out| {
                let parts: Vec<&LatticePolygon> = field.boundary.iter().collect();
                surfaces(out, FIELD_SURFACE, &parts, &field.lattice, version)
            })?;
        }
        let coded = Coded::of(tasks);
        coded.write(out)?;
        let names = distinct_names(task_names(fields, tasks).iter().map(String::as_str));
        for (index, (task, name)) in tasks.iter().zip(&names).enumerate() {
            write_task(out, (index, name), task, &fields[task.field].lattice, &coded, version)?;
        }
        Ok(())
    })
}

/// "2 Before planting", after the field's letters where there are several: what is cut off a long name is its end.
fn task_names(fields: &[TaskField], tasks: &[Task<'_>]) -> Vec<String> {
    let name = |task: &Task<'_>| {
        let pass = format!("{} {}", task.pass.number, task.pass.name);
        if fields.len() > 1 { format!("{} {pass}", fields[task.field].short) } else { pass }
    };
    tasks.iter().map(name).collect()
}

impl<'a> Coded<'a> {
    fn of(tasks: &[Task<'a>]) -> Self {
        let mut coded = Coded { units: Vec::new(), products: Vec::new() };
        for product in tasks.iter().flat_map(|task| &task.pass.products) {
            let (unit, named) = ((product.unit, product.decimals()), (product.name.as_str(), product.unit));
            if !coded.units.contains(&unit) {
                coded.units.push(unit);
            }
            if !coded.products.contains(&named) {
                coded.products.push(named);
            }
        }
        coded
    }

    /// No PDT/@D: it presents the amounts of PDT/@E, grams or milliliters, not rates; those have PDV/@E.
    fn write<W: Write>(&self, out: &mut Writer<W>) -> Result<()> {
        for (index, (unit, decimals)) in self.units.iter().enumerate() {
            let (id, scale) = (id("VPN", index), Setpoint::of(*unit).scale_text());
            let decimals = decimals.to_string();
            let attributes = [("A", &*id), ("B", "0"), ("C", &scale), ("D", &decimals), ("E", unit.name())];
            empty(out, "VPN", &attributes)?;
        }
        let names = distinct_names(self.products.iter().map(|(name, _)| *name));
        for (index, ((_, unit), name)) in self.products.iter().zip(&names).enumerate() {
            let (id, amount) = (id("PDT", index), hexadecimal(Setpoint::of(*unit).amount_ddi));
            empty(out, "PDT", &[("A", &id), ("B", name), ("E", &amount)])?;
        }
        Ok(())
    }

    /// Ids of a product and of the way its rates are shown.
    fn ids(&self, product: &TaskProduct) -> (String, String) {
        let unit = self.units.iter().position(|unit| *unit == (product.unit, product.decimals()));
        let named = self.products.iter().position(|named| *named == (product.name.as_str(), product.unit));
        (id("PDT", named.unwrap_or_default()), id("VPN", unit.unwrap_or_default()))
    }
}

fn write_task<W: Write>(
    out: &mut Writer<W>,
    (index, name): (usize, &str),
    task: &Task<'_>,
    lattice: &Lattice,
    coded: &Coded<'_>,
    version: TaskSetVersion,
) -> Result<()> {
    let (own_id, field) = (id("TSK", index), id("PFD", task.field));
    let (lost, outside) = (task.position_lost.to_string(), OUT_OF_FIELD.to_string());
    let attributes =
        [("A", &*own_id), ("B", name), ("E", &field), ("G", PLANNED), ("H", &lost), ("I", &lost), ("J", &outside)];
    element(out, "TSK", &attributes, |out| {
        let names = distinct_names(task.zones.iter().map(|zone| zone.name.as_str()));
        for (code, (zone, name)) in task.zones.iter().zip(&names).enumerate() {
            element(out, "TZN", &[("A", &code.to_string()), ("B", name)], |out| {
                surfaces(out, ZONE_SURFACE, &zone.polygons, lattice, version)?;
                for (product, count) in task.pass.products.iter().zip(&zone.counts) {
                    let (product_id, unit_id) = coded.ids(product);
                    let (ddi, count) = (hexadecimal(Setpoint::of(product.unit).ddi), count.to_string());
                    empty(out, "PDV", &[("A", &ddi), ("B", &count), ("C", &product_id), ("E", &unit_id)])?;
                }
                Ok(())
            })?;
        }
        task.grid.as_ref().map_or(Ok(()), |grid| write_grid(out, grid, task.grid_type()))
    })
}

fn write_grid<W: Write>(out: &mut Writer<W>, grid: &TaskGrid, (kind, template): (u8, Option<u8>)) -> Result<()> {
    let frame = &grid.frame;
    let degrees = [frame.south_e9, frame.west_e9, frame.cell_north_e9, frame.cell_east_e9].map(degrees_text);
    let counts = [frame.n_cols, frame.n_rows, grid.length].map(|count| count.to_string());
    let (file, kind, template) =
        (format!("GRD{:05}", grid.number), kind.to_string(), template.map(|code| code.to_string()));
    let mut attributes: Vec<(&str, &str)> =
        ["A", "B", "C", "D"].into_iter().zip(degrees.iter().map(String::as_str)).collect();
    attributes.extend([("E", &*counts[0]), ("F", &counts[1]), ("G", &file), ("H", &counts[2]), ("I", &kind)]);
    attributes.extend(template.as_deref().map(|code| ("J", code)));
    empty(out, "GRD", &attributes)
}

/// Polygons as surfaces: version 4 holds one a surface, version 3 one surface with several exteriors \[S].
fn surfaces<W: Write>(
    out: &mut Writer<W>,
    kind: &str,
    polygons: &[&LatticePolygon],
    lattice: &Lattice,
    version: TaskSetVersion,
) -> Result<()> {
    let at_once = match version {
        TaskSetVersion::V3 => polygons.len().max(1),
        TaskSetVersion::V4 => 1,
    };
    for together in polygons.chunks(at_once) {
        element(out, "PLN", &[("A", kind)], |out| {
            for polygon in together {
                ring(out, EXTERIOR, &polygon.exterior, lattice)?;
                polygon.interiors.iter().try_for_each(|hole| ring(out, INTERIOR, hole, lattice))?;
            }
            Ok(())
        })?;
    }
    Ok(())
}

/// A closed ring, first corner repeated: version 4 wants that \[S], and readers of version 3 take it \[R].
fn ring<W: Write>(out: &mut Writer<W>, kind: &str, corners: &[Vertex], lattice: &Lattice) -> Result<()> {
    element(out, "LSG", &[("A", kind)], |out| {
        for corner in corners {
            let (lon, lat) = lattice.lon_lat_text(*corner);
            empty(out, "PNT", &[("A", OTHER_POINT), ("C", &lat), ("D", &lon)])?;
        }
        Ok(())
    })
}

fn element<W: Write>(
    out: &mut Writer<W>,
    name: &str,
    attributes: &[(&str, &str)],
    content: impl FnOnce(&mut Writer<W>) -> Result<()>,
) -> Result<()> {
    let start = BytesStart::new(name).with_attributes(attributes.iter().copied());
    let end = start.to_end().into_owned();
    out.write_event(Event::Start(start))?;
    content(out)?;
    out.write_event(Event::End(end))
}

fn empty<W: Write>(out: &mut Writer<W>, name: &str, attributes: &[(&str, &str)]) -> Result<()> {
    out.write_event(Event::Empty(BytesStart::new(name).with_attributes(attributes.iter().copied())))
}

/// `PFD1` for index 0: ids count from 1, without leading zeros \[S].
fn id(tag: &str, index: usize) -> String {
    format!("{tag}{}", index + 1)
}

/// A data dictionary number as the schema wants it: two bytes, upper case.
fn hexadecimal(ddi: u16) -> String {
    format!("{ddi:04X}")
}

/// 1e-9 degrees as degrees with nine decimals, exact.
fn degrees_text(e9: i64) -> String {
    let (sign, size) = (if e9 < 0 { "-" } else { "" }, e9.unsigned_abs());
    format!("{sign}{}.{:09}", size / 1_000_000_000, size % 1_000_000_000)
}
