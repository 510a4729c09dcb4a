//! The field file: one TOML file that states a field's work. Text in, settings of every stage out, with their origin.

mod answer;
mod compare_section;
mod crops_section;
mod field_section;
mod hold_section;
mod keep_off_section;
mod machine_section;
mod need_section;
mod passes_section;
mod patch_keys;
mod products_section;
mod rate_sections;
mod reader;
mod samples_section;
mod sharing_section;
mod sheet_section;
mod write_section;
mod zone_method;
mod zone_sections;

pub use answer::Answer;
pub use patch_keys::PatchSettings;
pub use reader::{FIELD_FILE_UNREADABLE, MISSING_KEY, SettingRow, UNKNOWN_KEY, WRONG_VALUE};
pub use write_section::{ControllerFormat, LayerPlace, ShapefileRecords, TaskSetPlace, TaskSetZones, WriteSettings};

use crate::diagnostic::{Code, Diagnostic, Place};
use crate::rates::RateSettings;
use crate::rates::guide::Guide;
use crate::rates::sharing::SharingSettings;
use crate::samples::SampleSettings;
use crate::setback::KeepOffSettings;
use crate::soil_surface::SurfaceSettings;
use crate::units::UnitSystem;
use crate::zones::{CovariateSettings, PatchLimits, ZoneSettings};
use reader::Reader;

/// Messages of the field file, for `holdground explain`.
pub static CODES: &[&Code] = &[&FIELD_FILE_UNREADABLE, &UNKNOWN_KEY, &MISSING_KEY, &WRONG_VALUE];

/// What to do with an outline file that holds lines and no polygon.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum OutlineLine {
    /// An error (the default): a line may be half a walk.
    Refuse,
    /// Each line is a walk round the field, or round a part of it: close it.
    Close,
}

/// `[field]`: what is printed on every page, and the outline.
#[derive(Debug, Clone)]
pub struct FieldSettings {
    /// Name printed on every page and picture.
    pub name: String,
    /// Starts file names: 1 to 6 letters or digits.
    pub short: String,
    /// Outline file, as typed.
    pub outline: String,
    /// CRS of the outline, where its file does not state one.
    pub outline_crs: Option<String>,
    /// What to do with an outline that is a line.
    pub outline_line_rule: OutlineLine,
    /// Line of `field.outline`.
    pub outline_line: usize,
    /// Work CRS, where it is not to be the UTM zone of the field.
    pub work_crs: Option<String>,
    /// Harvest year.
    pub season: Option<u32>,
    /// Date printed, ISO 8601; the program never reads the clock.
    pub issued: Option<String>,
    /// Units of printed results.
    pub units: UnitSystem,
}

/// A field file, read and settled.
#[derive(Debug, Clone)]
pub struct FieldFile {
    /// File as typed.
    pub file: String,
    /// `[field]`
    pub field: FieldSettings,
    /// `[samples]`
    pub samples: SampleSettings,
    /// `[surface]`
    pub surface: SurfaceSettings,
    /// `[zones]`; `None` when the file has no such section.
    pub zones: Option<ZoneSettings>,
    /// `[covariates]`, in file order; all of them are named in `[zones]`.
    pub covariates: Vec<CovariateSettings>,
    /// Which patches of `[zones]` stay, defaults settled.
    pub patches: PatchSettings,
    /// `[need]`, `[products]`, `[passes]`, `[machine]`, as far as they are answered.
    pub rates: RateSettings,
    /// `[sharing]`, and `need.approach`.
    pub sharing: SharingSettings,
    /// `[write]`
    pub write: WriteSettings,
    /// `[[keep_off]]`, in file order.
    pub keep_off: Vec<KeepOffSettings>,
    /// Day the cores were taken, ISO 8601.
    pub taken: Option<String>,
    /// Every setting with its origin.
    pub rows: Vec<SettingRow>,
    /// Keys still to be answered, in file order: (line, key).
    pub open: Vec<(usize, String)>,
    /// Keys answered "unknown": (line, key).
    pub unknown: Vec<(usize, String)>,
}

impl FieldFile {
    /// Reads a field file's text. `file` is its name as typed.
    ///
    /// # Errors
    /// All faults at once, each with its line.
    pub fn parse(file: &str, text: &str) -> Result<FieldFile, Vec<Diagnostic>> {
        let document = toml_edit::Document::parse(text).map_err(|error| {
            let line = error.span().map_or(1, |span| 1 + text[..span.start.min(text.len())].matches('\n').count());
            let place = Place::Row { file: file.to_owned(), line, columns: Vec::new() };
            vec![Diagnostic::error(&FIELD_FILE_UNREADABLE, error.message().trim().to_owned()).at(place)]
        })?;
        let mut reader = Reader::new(file, text);
        let mut root = reader.root(document.as_table());
        let form = reader.number(&mut root, "form");
        if let Some(form) = reader.required(&root, "form", form)
            && form != 1.0
        {
            let message = format!("`form = {form}`, but this version reads form 1");
            let line = root.line_of(&reader, "form");
            reader.fault(&WRONG_VALUE, line, "form", message, "write `form = 1` and the keys of docs/field-file.md");
        }
        let (field, years) = field_section::field(&mut reader, &mut root);
        let (samples, taken) = samples_section::samples(&mut reader, &mut root);
        let surface = zone_sections::surface(&mut reader, &mut root);
        let covariates = zone_method::covariates(&mut reader, &mut root);
        crops_section::unknown_covariates(&mut reader, &years, &covariates);
        let (zones, patch_keys) = zone_sections::zones(&mut reader, &mut root, &covariates, &years);
        let approach = sharing_section::approach(&mut reader, &mut root);
        let sharing = sharing_section::sharing(&mut reader, &mut root, approach);
        let mut rates = rate_sections::rates(&mut reader, &mut root, years);
        // A guide of the user's own is read at the edge, and the rest settled there.
        if rates.open_guides().is_empty()
            && let Err(faults) = rates.settle(file)
        {
            reader.faults.extend(faults);
        }
        let write = write_section::write(&mut reader, &mut root);
        let patches = patch_keys::settled(&mut reader, &patch_keys, &rates.travel);
        let keep_off = keep_off_section::keep_off(&mut reader, &mut root, &rates.products);
        reader.finish(root);
        let Reader { faults, rows, mut open, unknown, .. } = reader;
        open.sort_by_key(|(line, _)| *line);
        match (field, samples, surface) {
            (Some(field), Some(mut samples), Some(surface)) if faults.is_empty() => {
                samples.season = field.season;
                Ok(FieldFile {
                    file: file.to_owned(),
                    field,
                    samples,
                    surface,
                    zones,
                    covariates,
                    patches,
                    rates,
                    sharing,
                    write,
                    keep_off,
                    taken,
                    rows,
                    open,
                    unknown,
                })
            }
            _ if faults.is_empty() => {
                // Only open answers can stand in the way here.
                let stops = |key: &str| {
                    ["field.name", "field.short", "field.outline", "samples.file", "samples.id"].contains(&key)
                        || key.starts_with("samples.places")
                        || key.starts_with("samples.depth_in")
                        || key.starts_with("samples.sheet")
                };
                let unanswered = open.iter().chain(&unknown).filter(|(_, key)| stops(key));
                let open_keys = unanswered.map(|(line, key)| {
                    let place = Place::Key { file: file.to_owned(), line: *line, key: key.clone() };
                    Diagnostic::error(
                        &MISSING_KEY,
                        format!("`{key}` is still to be answered, and nothing can be mapped without it"),
                    )
                    .at(place)
                });
                Err(open_keys.collect())
            }
            _ => Err(faults),
        }
    }

    /// Gives a guide file of the user's own to the needs that name it; with the last of them all is settled.
    ///
    /// # Errors
    /// What does not fit together now that the guide is known.
    pub fn add_guide(&mut self, name: &str, guide: &Guide) -> Result<(), Vec<Diagnostic>> {
        self.rates.add_guide(name, guide);
        if self.rates.open_guides().is_empty() { self.rates.settle(&self.file) } else { Ok(()) }
    }

    /// What a patch must have to be spread on its own, by `[zones]` and `[machine]`.
    pub fn patch_limits(&self) -> PatchLimits {
        self.patches.limits(&self.rates.travel)
    }
}
