//! [`RasterLayer`]: a raster, decided once, for the edge to write as GeoTIFF and to compare when read back.
//!
//! | file | cells | what |
//! |---|---|---|
//! | `gis/<quantity>.tif` | those of the maps, on the work plane | one mapped quantity |
//! | `gis/zones.tif` | the same | zone numbers |
//! | `for-the-cab/<stem>.tif` | those of the task set, longitude and latitude | rate of a product |

use super::iso11783::{GridFrame, TaskField, TaskProduct, ground_of_cells};
use super::{FOR_THE_CAB, Report};
use crate::cell_grid::CellGrid;
use crate::coverage::LatticePolygon;
use crate::crs::WorkCrs;

/// Stands for "no value" among numbers: no quantity of a soil and no rate is negative.
pub const NO_NUMBER: f32 = -9999.0;
/// Stands for "no zone" among classes.
pub const NO_CLASS: u8 = 0;

/// A raster for a file.
#[derive(Debug, Clone, PartialEq)]
pub struct RasterLayer {
    /// Path below the result folder, parts joined by `/`.
    pub path: String,
    /// What the cells hold, in words: "CEC".
    pub title: String,
    /// Product the cells are rates of; `None` for what is no rate.
    pub product: Option<String>,
    /// Unit of the cells, as printed; empty for classes.
    pub unit: String,
    /// Where the cells lie.
    pub place: RasterPlace,
    /// `cells[row * n_cols + col]`, south row first.
    pub cells: RasterCells,
}

/// Where cells lie: edges and sizes in the units of the CRS.
#[derive(Debug, Clone, PartialEq)]
pub struct RasterPlace {
    /// The CRS: `EPSG:4326` (longitude first), `EPSG:32615`, or a PROJ string.
    pub crs: String,
    /// West edge.
    pub west: f64,
    /// South edge.
    pub south: f64,
    /// Size of a cell eastwards.
    pub cell_east: f64,
    /// Size of a cell northwards.
    pub cell_north: f64,
    /// Columns, west to east.
    pub n_cols: usize,
    /// Rows, south to north.
    pub n_rows: usize,
}

/// Values of the cells.
#[derive(Debug, Clone, PartialEq)]
pub enum RasterCells {
    /// Zone numbers, [`NO_CLASS`] where there is none: coarser views take the number most cells have.
    Classes(Vec<u8>),
    /// Numbers, [`NO_NUMBER`] where there is none: coarser views take the mean.
    Numbers(Vec<f32>),
}

/// Mapped quantities and zones on the work plane, then the rates of each product and pass in longitude and latitude.
///
/// Zones beyond 255 are no classes of a byte; such a map is left out (no field file asks for more than six).
pub fn raster_layers(report: &Report<'_>, field: Option<&TaskField>, stems: &[Vec<String>]) -> Vec<RasterLayer> {
    let grid = report.surfaces.mask().grid();
    let place = work_place(grid, report.boundary.work_crs());
    let mut layers = Vec::new();
    for quality in &report.surfaces.quality {
        let Some(values) = report.surfaces.values(quality.variable) else { continue };
        let number = |value: f64| if value.is_finite() { value as f32 } else { NO_NUMBER };
        layers.push(RasterLayer {
            path: format!("gis/{}.tif", quality.variable.key()),
            title: quality.variable.label().to_owned(),
            product: None,
            unit: quality.variable.unit_name(report.samples.basis).to_owned(),
            place: place.clone(),
            cells: RasterCells::Numbers(values.into_iter().map(number).collect()),
        });
    }
    let labels = report.zones.and_then(|zones| zones.labels().iter().map(|&label| u8::try_from(label).ok()).collect());
    layers.extend(labels.map(|labels| RasterLayer {
        path: "gis/zones.tif".to_owned(),
        title: "zone, 1 holds least".to_owned(),
        product: None,
        unit: String::new(),
        place,
        cells: RasterCells::Classes(labels),
    }));
    for (field, pass, stems) in
        field.into_iter().flat_map(|field| field.passes.iter().zip(stems).map(move |(p, s)| (field, p, s)))
    {
        layers.extend(pass.products.iter().zip(stems).map(|(product, stem)| rate_layer(field, product, stem)));
    }
    layers
}

/// Rates of a product by the cells of its task set: 0 on ground kept off, no value outside the field.
fn rate_layer(field: &TaskField, product: &TaskProduct, stem: &str) -> RasterLayer {
    let frame = GridFrame::covering(field);
    let grounds: Vec<&[LatticePolygon]> = product.grounds.iter().map(|ground| &ground.polygons[..]).collect();
    let of_cell = |ground: u16| match usize::from(ground).checked_sub(1) {
        Some(index) => product.grounds[index].rate as f32,
        None => NO_NUMBER,
    };
    RasterLayer {
        path: format!("{FOR_THE_CAB}/{stem}.tif"),
        title: format!("{}, product", product.name),
        product: Some(product.name.clone()),
        unit: product.unit.name().to_owned(),
        place: RasterPlace {
            crs: "EPSG:4326".to_owned(),
            west: frame.west_e9 as f64 / 1e9,
            south: frame.south_e9 as f64 / 1e9,
            cell_east: frame.cell_east_e9 as f64 / 1e9,
            cell_north: frame.cell_north_e9 as f64 / 1e9,
            n_cols: frame.n_cols,
            n_rows: frame.n_rows,
        },
        cells: RasterCells::Numbers(
            ground_of_cells(&frame, &field.lattice, &grounds).into_iter().map(of_cell).collect(),
        ),
    }
}

/// Cells of the maps on the plane of the work CRS, origin put back.
fn work_place(grid: &CellGrid, work_crs: &WorkCrs) -> RasterPlace {
    let (east_m, north_m) = work_crs.origin_m();
    RasterPlace {
        crs: work_crs.epsg().map_or_else(|| work_crs.definition().to_owned(), |code| format!("EPSG:{code}")),
        west: grid.west_m + east_m,
        south: grid.south_m + north_m,
        cell_east: grid.cell_m,
        cell_north: grid.cell_m,
        n_cols: grid.n_cols,
        n_rows: grid.n_rows,
    }
}
