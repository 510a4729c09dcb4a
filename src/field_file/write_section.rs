//! `[write]`: the files a controller in the cab takes.

use super::Answer;
use super::reader::{Reader, Section, WRONG_VALUE, choice, wrong};

/// A format of the files for the controller.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ControllerFormat {
    /// Shapefile.
    Shapefile,
    /// GeoJSON.
    GeoJson,
    /// Task set by ISO 11783-10, version 3.3.
    TaskSet3,
    /// Task set by ISO 11783-10, version 4.3.
    TaskSet4,
    /// GeoTIFF: rates for the cab, maps and zones beside them.
    GeoTiff,
}

/// How a task set carries zones.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TaskSetZones {
    /// As cells.
    Grid,
    /// As outlines.
    Polygons,
}

/// What a task set lies in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TaskSetPlace {
    /// The folder `TASKDATA`.
    Folder,
    /// One zip archive that holds this folder.
    Zip,
}

/// What the files of a layer, shapefile or GeoJSON, lie in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LayerPlace {
    /// The folder for the cab.
    Folder,
    /// A zip archive a layer and format, the files at its top.
    Zip,
}

/// What a record of a shapefile holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ShapefileRecords {
    /// A zone with all its patches.
    Zones,
    /// A patch: some controllers take a single outline a record.
    Patches,
}

/// `[write]`
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WriteSettings {
    /// Formats, each once, in the order stated.
    pub controller: Vec<ControllerFormat>,
    /// What a record of a shapefile holds.
    pub records: ShapefileRecords,
    /// How a task set carries zones.
    pub task_set_zones: TaskSetZones,
    /// What a task set lies in.
    pub task_set_place: TaskSetPlace,
    /// What the files of a layer lie in.
    pub layer_place: LayerPlace,
}

impl Default for WriteSettings {
    fn default() -> Self {
        WriteSettings {
            controller: vec![ControllerFormat::Shapefile],
            records: ShapefileRecords::Zones,
            task_set_zones: TaskSetZones::Grid,
            task_set_place: TaskSetPlace::Folder,
            layer_place: LayerPlace::Folder,
        }
    }
}

impl ControllerFormat {
    /// All formats.
    pub const ALL: [ControllerFormat; 5] = [
        ControllerFormat::TaskSet3,
        ControllerFormat::TaskSet4,
        ControllerFormat::Shapefile,
        ControllerFormat::GeoJson,
        ControllerFormat::GeoTiff,
    ];

    /// The word of the field file.
    pub fn name(self) -> &'static str {
        match self {
            ControllerFormat::Shapefile => "shapefile",
            ControllerFormat::GeoJson => "geojson",
            ControllerFormat::TaskSet3 => "task-set-3",
            ControllerFormat::TaskSet4 => "task-set-4",
            ControllerFormat::GeoTiff => "geotiff",
        }
    }

    /// Whether it is a task set, of either version.
    pub fn is_task_set(self) -> bool {
        matches!(self, ControllerFormat::TaskSet3 | ControllerFormat::TaskSet4)
    }
}

/// `[write]`; what it does not state is the default.
pub(super) fn write<'a>(reader: &mut Reader<'a>, root: &mut Section<'a>) -> WriteSettings {
    let mut settings = WriteSettings::default();
    let mut section = reader.section(root, "write");
    match reader.texts(&mut section, "controller") {
        Answer::Given(words) => settings.controller = formats(reader, &section, &words),
        Answer::Absent => reader.default_row("write.controller", "[\"shapefile\"]"),
        Answer::Open | Answer::Unknown => {}
    }
    let parse = |word: &str| match word {
        "zones" => Some(ShapefileRecords::Zones),
        "patches" => Some(ShapefileRecords::Patches),
        _ => None,
    };
    let records = choice(reader, &mut section, "records", parse, &["zones", "patches"]);
    let has_shapefile = settings.controller.contains(&ControllerFormat::Shapefile);
    match records {
        Answer::Given(_) if !has_shapefile => {
            wrong(reader, &section, "records", "`records` means nothing without \"shapefile\"".to_owned());
        }
        Answer::Given(records) => settings.records = records,
        Answer::Absent if has_shapefile => reader.default_row("write.records", "zones"),
        _ => {}
    }
    task_set(reader, &mut section, &mut settings);
    layers(reader, &mut section, &mut settings);
    reader.finish(section);
    settings
}

/// Keys of the task set.
fn task_set<'a>(reader: &mut Reader<'a>, section: &mut Section<'a>, settings: &mut WriteSettings) {
    let n_versions = settings.controller.iter().filter(|format| format.is_task_set()).count();
    if n_versions > 1 {
        let message = "`task-set-3` and `task-set-4` cannot both lie at the top of one stick, one expected";
        wrong(reader, section, "controller", message.to_owned());
    }
    let zones = |word: &str| match word {
        "grid" => Some(TaskSetZones::Grid),
        "polygons" => Some(TaskSetZones::Polygons),
        _ => None,
    };
    let zones = choice(reader, section, "task_set", zones, &["grid", "polygons"]);
    let place = |word: &str| match word {
        "folder" => Some(TaskSetPlace::Folder),
        "zip" => Some(TaskSetPlace::Zip),
        _ => None,
    };
    let place = choice(reader, section, "task_set_in", place, &["folder", "zip"]);
    for (key, is_given) in
        [("task_set", matches!(zones, Answer::Given(_))), ("task_set_in", matches!(place, Answer::Given(_)))]
    {
        // A list of formats with a fault of its own says nothing of what belongs to it.
        if is_given && n_versions == 0 && !reader.told("write.controller") {
            let message = format!("`{key}` means nothing without \"task-set-3\" or \"task-set-4\"");
            wrong(reader, section, key, message);
        }
    }
    match zones {
        Answer::Given(zones) => settings.task_set_zones = zones,
        Answer::Absent if n_versions > 0 => reader.default_row("write.task_set", "grid"),
        _ => {}
    }
    match place {
        Answer::Given(place) => settings.task_set_place = place,
        Answer::Absent if n_versions > 0 => reader.default_row("write.task_set_in", "folder"),
        _ => {}
    }
}

/// Where shapefiles and GeoJSON lie.
fn layers<'a>(reader: &mut Reader<'a>, section: &mut Section<'a>, settings: &mut WriteSettings) {
    let place = |word: &str| match word {
        "folder" => Some(LayerPlace::Folder),
        "zip" => Some(LayerPlace::Zip),
        _ => None,
    };
    let has_layers = settings
        .controller
        .iter()
        .any(|format| matches!(format, ControllerFormat::Shapefile | ControllerFormat::GeoJson));
    match choice(reader, section, "layers_in", place, &["folder", "zip"]) {
        Answer::Given(_) if !has_layers && !reader.told("write.controller") => {
            let message = "`layers_in` means nothing without \"shapefile\" or \"geojson\"";
            wrong(reader, section, "layers_in", message.to_owned());
        }
        Answer::Given(place) => settings.layer_place = place,
        Answer::Absent if has_layers => reader.default_row("write.layers_in", "folder"),
        _ => {}
    }
}

fn formats<'a>(reader: &mut Reader<'a>, section: &Section<'a>, words: &[String]) -> Vec<ControllerFormat> {
    let mut formats = Vec::new();
    if words.is_empty() {
        wrong(reader, section, "controller", "`controller` names no format: nothing would go to the cab".to_owned());
    }
    for word in words {
        match ControllerFormat::ALL.into_iter().find(|format| format.name() == word) {
            Some(format) if formats.contains(&format) => {
                wrong(reader, section, "controller", format!("`{word}` is there twice, once expected"));
            }
            Some(format) => formats.push(format),
            None => {
                let line = section.line_of(reader, "controller");
                let help = format!(
                    "this version writes: `{}`",
                    ControllerFormat::ALL.map(ControllerFormat::name).join("`, `")
                );
                let message = format!("`{word}` is not a format this version writes");
                reader.fault(&WRONG_VALUE, line, "write.controller", message, &help);
            }
        }
    }
    formats
}
