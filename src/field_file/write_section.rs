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
}

impl Default for WriteSettings {
    fn default() -> Self {
        WriteSettings { controller: vec![ControllerFormat::Shapefile], records: ShapefileRecords::Zones }
    }
}

impl ControllerFormat {
    /// All formats.
    pub const ALL: [ControllerFormat; 2] = [ControllerFormat::Shapefile, ControllerFormat::GeoJson];

    /// The word of the field file.
    pub fn name(self) -> &'static str {
        match self {
            ControllerFormat::Shapefile => "shapefile",
            ControllerFormat::GeoJson => "geojson",
        }
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
    reader.finish(section);
    settings
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
