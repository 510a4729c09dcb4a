//! Opening a vector file, what it says of its CRS, and the way to longitude and latitude.

use std::fs::File;
use std::io::Read;
use std::path::Path;

use gdal::spatial_ref::SpatialRef;
use gdal::vector::{Feature, Geometry};
use gdal::{Dataset, DatasetOptions, GdalOpenFlags};
use holdground::crs::{GdalMessage, InputCrs, LonLat, StatedAccuracy, keep_gdal_quiet, take_gdal_messages};
use holdground::diagnostic::{Code, Diagnostic, Place, Severity};
use serde_json::Value;

/// A file that cannot be read as a vector file.
pub(crate) static UNREADABLE_VECTOR_FILE: Code = Code {
    name: "unreadable-vector-file",
    checks: "that an outline or point file is there, is whole, and is in a vector format known here",
    why: "a file read in part gives a field in part",
    example: "a shapefile sent without its .shx file",
    mend: "send all files of a shapefile together (.shp .shx .dbf .prj), unpack archives, or save again as GeoJSON, GeoPackage, KML, GPX or shapefile",
};

/// A vector file that does not say where on earth it is.
pub(crate) static VECTOR_FILE_WITHOUT_CRS: Code = Code {
    name: "vector-file-without-crs",
    checks: "that a vector file states its coordinate reference system, or that the field file does",
    why: "numbers alone do not say whether they are degrees, meters or feet, nor from where they count",
    example: "a shapefile without its .prj file",
    mend: "send the .prj file along, or state the CRS in the field file",
};

/// Two different statements of a CRS.
pub(crate) static STATED_CRS_DIFFERS: Code = Code {
    name: "stated-crs-differs",
    checks: "that a CRS stated in the field file puts the points where the file's own CRS puts them",
    why: "one of the two is wrong, and only a person can say which",
    example: "the file says NAD83 / UTM zone 15N, the field file zone 14",
    mend: "remove the CRS from the field file, or correct the vector file",
};

/// File formats opened. Formats that point to other files or to the network (VRT, GML schemas, services) are left out.
const DRIVERS: [&str; 12] = [
    "ESRI Shapefile",
    "GeoJSON",
    "GeoJSONSeq",
    "TopoJSON",
    "ESRIJSON",
    "KML",
    "LIBKML",
    "GPX",
    "GPKG",
    "FlatGeobuf",
    "MapInfo File",
    "OpenFileGDB",
];
/// Where the file's and the stated CRS may differ and still be one, degrees: about 1 cm.
pub(crate) const SAME_PLACE_DEG: f64 = 1e-7;
/// What a vector file is read for: words and keys in messages.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Purpose {
    Outline,
    Points,
    KeepOff,
    Zones,
    Covariate,
    Log,
}

impl Purpose {
    fn act(self) -> &'static str {
        match self {
            Purpose::Outline => "loading the field outline",
            Purpose::Points => "loading the sample places",
            Purpose::KeepOff => "loading what to keep off",
            Purpose::Zones => "loading the zones",
            Purpose::Covariate => "loading a dense measurement",
            Purpose::Log => "loading the log",
        }
    }

    fn crs_key(self) -> &'static str {
        match self {
            Purpose::Outline => "`outline_crs` under `[field]`",
            Purpose::Points => "`crs` in `places` under `[samples]`",
            Purpose::KeepOff => "`crs` under `[[keep_off]]`",
            Purpose::Zones | Purpose::Covariate => "`crs` beside the file's name",
            Purpose::Log => "the CRS in the file itself (a .prj file)",
        }
    }
}

/// An opened file.
pub(super) struct VectorFile {
    pub(super) dataset: Dataset,
    /// Path as typed.
    pub(super) shown: String,
    purpose: Purpose,
}

impl VectorFile {
    pub(super) fn open(path: &Path, purpose: Purpose) -> Result<Self, Vec<Diagnostic>> {
        keep_gdal_quiet();
        take_gdal_messages();
        let shown = path.display().to_string();
        let extension =
            path.extension().map(|extension| extension.to_string_lossy().to_lowercase()).unwrap_or_default();
        let fault = |why: &str, help: Option<&str>| {
            let message = format!("could not read `{shown}` while {}: {why}", purpose.act());
            let fault = Diagnostic::error(&UNREADABLE_VECTOR_FILE, message).at(Place::File(shown.clone()));
            vec![match help {
                Some(help) => fault.with_help(help),
                None => fault,
            }]
        };
        let metadata = std::fs::metadata(path).map_err(|error| {
            let text = error.to_string();
            fault(&text.split(" (os error").next().unwrap_or_default().to_lowercase(), None)
        })?;
        if metadata.is_dir() && extension != "gdb" {
            return Err(fault("it is a folder", Some("name the file in it")));
        }
        if metadata.is_file() && metadata.len() == 0 {
            return Err(fault("the file is empty", None));
        }
        if metadata.is_file() && links_to_a_crs(path) {
            let help = "write the CRS into the file, or save the file as GeoJSON in longitude and latitude";
            return Err(fault("its CRS is a link, and links are not followed", Some(help)));
        }
        let options = DatasetOptions {
            open_flags: GdalOpenFlags::GDAL_OF_VECTOR | GdalOpenFlags::GDAL_OF_VERBOSE_ERROR,
            allowed_drivers: Some(&DRIVERS),
            ..DatasetOptions::default()
        };
        match Dataset::open_ex(path, options) {
            Ok(dataset) => Ok(VectorFile { dataset, shown, purpose }),
            Err(_) => {
                let messages = take_gdal_messages();
                let why = messages.first().map_or("not a vector format known here", |message| message.text.as_str());
                let help = match extension.as_str() {
                    "shp" if !path.with_extension("shx").exists() && !path.with_extension("SHX").exists() => {
                        "the .shx file is missing: send .shp, .shx, .dbf and .prj together"
                    }
                    "zip" => "unpack the archive and name the file in it",
                    _ => "save the file as GeoJSON, GeoPackage, KML, GPX or shapefile",
                };
                Err(fault(why, Some(help)))
            }
        }
    }

    pub(super) fn is_gpx(&self) -> bool {
        self.dataset.driver().short_name() == "GPX"
    }

    pub(super) fn place(&self) -> Place {
        Place::File(self.shown.clone())
    }

    /// GDAL's remarks while reading: its failures refuse the file, its warnings are returned.
    pub(super) fn remarks(&self, messages: &[GdalMessage], faults: &mut Vec<Diagnostic>) -> Vec<Diagnostic> {
        let mut warnings = Vec::new();
        // Open rings are closed, and said so, by the boundary.
        for message in messages.iter().filter(|message| !message.text.starts_with("Non closed ring")) {
            let text = format!("GDAL says of `{}`: {}", self.shown, message.text);
            match message.severity {
                Severity::Error => {
                    let fault = Diagnostic::error(&UNREADABLE_VECTOR_FILE, text).at(self.place());
                    let names_no_crs = message.text.contains("crs not found");
                    faults.push(if names_no_crs {
                        fault.with_help("correct the CRS the file names, or save it again in longitude and latitude")
                    } else {
                        fault
                    });
                }
                _ => warnings.push(Diagnostic::warning(&UNREADABLE_VECTOR_FILE, text).at(self.place())),
            }
        }
        warnings
    }
}

/// The way from each layer's CRS to longitude and latitude.
pub(super) struct WaysToLonLat<'a> {
    source: &'a VectorFile,
    stated: Option<InputCrs>,
    used: Vec<(String, StatedAccuracy)>,
}

impl<'a> WaysToLonLat<'a> {
    /// # Errors
    /// A stated text that names no CRS; without a place, as it does not stand in the vector file.
    pub(super) fn new(source: &'a VectorFile, stated: Option<&str>) -> Result<Self, Vec<Diagnostic>> {
        let stated = stated.map(InputCrs::from_text).transpose()?;
        Ok(WaysToLonLat { source, stated, used: Vec::new() })
    }

    /// Turns the coordinates of a layer into longitude and latitude.
    ///
    /// # Errors
    /// No CRS known, the file's and the stated one differ, or coordinates the CRS cannot hold.
    pub(super) fn convert(
        &mut self,
        of_layer: Option<SpatialRef>,
        given: &[(f64, f64)],
    ) -> Result<Vec<LonLat>, Vec<Diagnostic>> {
        if given.is_empty() {
            return Ok(Vec::new());
        }
        let place = self.source.place();
        let at_file =
            |faults: Vec<Diagnostic>| faults.into_iter().map(|fault| fault.at(place.clone())).collect::<Vec<_>>();
        let of_file = of_layer.map(InputCrs::from_spatial_ref).transpose().map_err(at_file)?;
        let Some(crs) = of_file.as_ref().or(self.stated.as_ref()) else {
            return Err(vec![self.unknown_crs(given)]);
        };
        let (places, accuracy) = lon_lat_by(crs, given).map_err(at_file)?;
        if let (Some(of_file), Some(stated)) = (&of_file, &self.stated) {
            let apart = |(a, b): (&LonLat, &LonLat)| (a.0 - b.0).abs().max((a.1 - b.1).abs());
            let agrees = lon_lat_by(stated, given).is_ok_and(|(by_stated, _)| {
                places.iter().zip(&by_stated).map(apart).fold(0.0, f64::max) <= SAME_PLACE_DEG
            });
            if !agrees {
                let message = format!(
                    "`{}` states the CRS {}, but {} is stated for it",
                    self.source.shown,
                    of_file.name(),
                    stated.name()
                );
                return Err(vec![
                    Diagnostic::error(&STATED_CRS_DIFFERS, message)
                        .at(place.clone())
                        .with_help(format!("remove {}, or correct the file", self.source.purpose.crs_key())),
                ]);
            }
        }
        let used = (crs.name().to_string(), accuracy);
        if !self.used.contains(&used) {
            self.used.push(used);
        }
        Ok(places)
    }

    /// Names of the CRSs used and what GDAL states of their accuracy.
    pub(super) fn summary(&self) -> (String, String) {
        let names: Vec<&str> = self.used.iter().map(|(name, _)| name.as_str()).collect();
        let accuracies: Vec<String> = self.used.iter().map(|(_, accuracy)| accuracy.to_string()).collect();
        (names.join("; "), accuracies.join("; "))
    }

    fn unknown_crs(&self, given: &[(f64, f64)]) -> Diagnostic {
        let message = format!("`{}` does not state its coordinate reference system", self.source.shown);
        let fault = Diagnostic::error(&VECTOR_FILE_WITHOUT_CRS, message)
            .at(self.source.place())
            .with_help(format!("state it as {}, for example `EPSG:4326`", self.source.purpose.crs_key()));
        if given.iter().all(|(x, y)| x.abs() <= 180.0 && y.abs() <= 90.0) {
            fault.with_note("its numbers could be longitude and latitude in degrees (WGS 84 is `EPSG:4326`)")
        } else {
            let (x, y) = given[0];
            fault.with_note(format!("its first point is {x:.2}, {y:.2}: not degrees"))
        }
    }
}

/// The geometry of a feature; `None` where it has none, or an empty one.
///
/// NOTE: `Feature::geometry` hands out a null pointer where a feature has no geometry.
pub(super) fn geometry_of<'a>(feature: &'a Feature<'_>) -> Option<&'a Geometry> {
    feature.geometry_by_index(0).ok().filter(|geometry| !geometry.is_empty())
}

/// The attribute of that name: exactly, else without regard to capitals.
pub(crate) fn column_of(attributes: &[String], name: &str) -> Option<usize> {
    let exact = attributes.iter().position(|attribute| attribute == name);
    exact.or_else(|| attributes.iter().position(|attribute| attribute.eq_ignore_ascii_case(name)))
}

/// Whether an old GeoJSON names its CRS by a web address, which GDAL would fetch.
fn links_to_a_crs(path: &Path) -> bool {
    fn holds_link(value: &Value) -> bool {
        match value {
            Value::Object(members) => {
                members.get("crs").is_some_and(|crs| crs["type"] == "link") || members.values().any(holds_link)
            }
            Value::Array(items) => items.iter().any(holds_link),
            _ => false,
        }
    }
    let Ok(mut file) = File::open(path) else { return false }; // GDAL will say why
    let mut start = [0; 64];
    let n_read = file.read(&mut start).unwrap_or(0);
    let looks_like_json = String::from_utf8_lossy(&start[..n_read])
        .trim_start_matches(['\u{feff}', ' ', '\t', '\r', '\n'])
        .starts_with('{');
    let text = if looks_like_json { std::fs::read_to_string(path).unwrap_or_default() } else { String::new() };
    // One object, or one a line. What is no JSON is refused by GDAL with a better reason.
    let values = serde_json::Deserializer::from_str(text.trim_start_matches('\u{feff}')).into_iter::<Value>();
    values.map_while(Result::ok).any(|value| holds_link(&value))
}

fn lon_lat_by(crs: &InputCrs, given: &[(f64, f64)]) -> Result<(Vec<LonLat>, StatedAccuracy), Vec<Diagnostic>> {
    let (mut xs, mut ys): (Vec<f64>, Vec<f64>) = given.iter().copied().unzip();
    match crs.to_lon_lat(&mut xs, &mut ys) {
        Ok(accuracy) => Ok((xs.into_iter().zip(ys).collect(), accuracy)),
        Err(faults) => Err(faults.into_iter().map(|(_, fault)| fault).collect()),
    }
}
