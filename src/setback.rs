//! Ground kept free by a product: everything nearer to a feature than the distance its rules ask for.
//!
//! ```text
//!   shapes of one file ──► those near the field ──► setback_area: discs and strips, united ──► Setback
//!   (points, lines,        (a county's wells          never smaller than asked,                one area,
//!    polygons; lon/lat)     may be in one file)       at most 1 % larger                       its products
//! ```
//!
//! The distance is the user's, from local rules; this program knows none.

mod area;
mod near_field;

use geo::{Geometry, MultiPolygon};

pub use area::setback_area;
pub use near_field::{kept_off_share, nearest_m};

use crate::boundary::FieldBoundary;
use crate::diagnostic::{Checked, Code, Diagnostic};
use crate::units::feet_and_meters;

/// A feature to keep off that keeps nothing of the field off.
pub static KEEP_OFF_BESIDE_FIELD: Code = Code {
    name: "keep-off-beside-field",
    checks: "whether any ground of the field lies within the distance of a feature to keep off",
    why: "a feature in the wrong place keeps nothing off, and looks as if it did",
    example: "a well drawn in the next county, or a file whose longitude and latitude are exchanged",
    mend: "look at the feature on a map; nothing, if it really lies that far from the field",
};
/// A feature that keeps the whole field off.
pub static KEEP_OFF_WHOLE_FIELD: Code = Code {
    name: "keep-off-whole-field",
    checks: "that something of the field is left beside the ground kept off",
    why: "a field without ground to treat needs no rates; mostly the file holds the field's own outline",
    example: "`file = \"north.geojson\"` under `[[keep_off]]`, the outline of the field itself",
    mend: "name the file of the feature to keep off, or correct the distance",
};
/// A point or a line kept off by nothing.
pub static KEEP_OFF_WITHOUT_DISTANCE: Code = Code {
    name: "keep-off-without-distance",
    checks: "that points and lines to keep off have a distance above 0",
    why: "a point has no ground of its own: at distance 0 nothing is kept off",
    example: "a well as a point with `distance_ft = 0`",
    mend: "write the distance your local rules ask for; 0 is for polygons, whose own ground is kept off",
};
/// Messages of this module, for `holdground explain`.
pub static CODES: &[&Code] = &[&KEEP_OFF_BESIDE_FIELD, &KEEP_OFF_WHOLE_FIELD, &KEEP_OFF_WITHOUT_DISTANCE];

/// Features farther than this from the field are hardly meant, meters.
const ANOTHER_PLACE_M: f64 = 100_000.0;
/// A field with less than this left is kept off whole, as a share.
const NOTHING_LEFT_SHARE: f64 = 1e-6;

/// One `[[keep_off]]` of the field file.
#[derive(Debug, Clone, PartialEq)]
pub struct KeepOffSettings {
    /// File of the features, as typed.
    pub file: String,
    /// CRS of the file, where it does not state one.
    pub crs: Option<String>,
    /// Distance to keep, meters on the ground; 0 for the ground of polygons alone.
    pub distance_m: f64,
    /// The distance as typed, with its unit: `100 ft`.
    pub distance: String,
    /// What it is: `well`.
    pub name: String,
    /// Short names of the products that keep off; empty = every product.
    pub products: Vec<String>,
    /// Line of `file`.
    pub line: usize,
}

/// One feature, or several of one file, to keep off.
#[derive(Debug, Clone, PartialEq)]
pub struct Setback {
    /// What it is, in words for pages and files: `well, 100 ft`.
    pub name: String,
    /// Ground within the distance, longitude and latitude; empty where no feature lies near the field.
    pub area: MultiPolygon<f64>,
    /// Short names of the products that keep off; empty = every product.
    pub products: Vec<String>,
}

impl Setback {
    /// The ground round the shapes of one file, as far as they lie near the field.
    ///
    /// # Units
    /// `shapes`: longitude and latitude, degrees.
    ///
    /// # Errors
    /// [`KEEP_OFF_WITHOUT_DISTANCE`], [`KEEP_OFF_WHOLE_FIELD`], and those of [`setback_area`]; warns by
    /// [`KEEP_OFF_BESIDE_FIELD`]. None carries a place: add the file's.
    pub fn around(
        settings: &KeepOffSettings,
        shapes: &[Geometry<f64>],
        boundary: &FieldBoundary,
    ) -> Result<Checked<Setback>, Box<Diagnostic>> {
        let n_without_ground = shapes.iter().filter(|shape| !area::has_ground(shape)).count();
        if settings.distance_m <= 0.0 && n_without_ground > 0 {
            let what = if n_without_ground == 1 { "1 point or line" } else { "points or lines" };
            let message = format!("`{}` holds {what}, and a distance of 0 keeps nothing off them", settings.file);
            let help = "write the distance your local rules ask for, for example `distance_ft = 100`";
            return Err(Box::new(Diagnostic::error(&KEEP_OFF_WITHOUT_DISTANCE, message).with_help(help)));
        }
        let near = near_field::shapes_near(shapes, boundary, settings.distance_m);
        let area = setback_area(&near, settings.distance_m, boundary.work_crs())?;
        let share = kept_off_share(&[&area], boundary);
        let mut warnings = Vec::new();
        if share >= 1.0 - NOTHING_LEFT_SHARE {
            let message = format!("`{}` is kept off the whole field: nothing is left to treat", settings.title());
            let help = "name the file of the feature to keep off, not the field's outline; or correct the distance";
            return Err(Box::new(Diagnostic::error(&KEEP_OFF_WHOLE_FIELD, message).with_help(help)));
        } else if share <= 0.0 {
            warnings.push(beside_field(settings, shapes, boundary));
        }
        let setback = Setback { name: settings.title(), area, products: settings.products.clone() };
        Ok(Checked { value: setback, warnings })
    }

    /// Whether a product keeps off.
    pub fn applies_to(&self, product: &str) -> bool {
        self.products.is_empty() || self.products.iter().any(|name| name == product)
    }
}

impl KeepOffSettings {
    /// For pages and files: `well, 100 ft`; a polygon kept off alone has no distance: `pond`.
    pub fn title(&self) -> String {
        if self.distance_m > 0.0 { format!("{}, {}", self.name, self.distance) } else { self.name.clone() }
    }
}

fn beside_field(settings: &KeepOffSettings, shapes: &[Geometry<f64>], boundary: &FieldBoundary) -> Diagnostic {
    let nearest_m = nearest_m(shapes, boundary).unwrap_or(f64::INFINITY);
    let message = format!(
        "`{}` keeps off no ground of the field: the nearest feature of `{}` lies {} away",
        settings.title(),
        settings.file,
        if nearest_m < ANOTHER_PLACE_M { feet_and_meters(nearest_m) } else { far_text(nearest_m) }
    );
    let warning = Diagnostic::warning(&KEEP_OFF_BESIDE_FIELD, message);
    if nearest_m < ANOTHER_PLACE_M {
        return warning.with_help("nothing, if it really lies there; else: the wrong file, or the wrong CRS?");
    }
    let exchanged = near_field::exchanged(shapes);
    if near_field::nearest_m(&exchanged, boundary).is_some_and(|m| m < ANOTHER_PLACE_M) {
        return warning.with_help("longitude and latitude are exchanged: the other way round it lies at the field");
    }
    warning.with_help("the wrong file, the wrong CRS, or longitude and latitude exchanged?")
}

fn far_text(m: f64) -> String {
    format!("{:.0} miles ({:.0} km)", m / (5280.0 * crate::units::M_PER_FOOT), m / 1000.0)
}

#[cfg(test)]
mod tests;
