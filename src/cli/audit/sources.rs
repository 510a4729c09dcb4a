//! Which prescriptions lie among the files, and each one read by the reader of its form.

use std::collections::BTreeMap;

use holdground::audit::Prescription;
use holdground::audit::package::{folder_and_name, stem_and_ending};

use super::load::LoadedFile;
use super::{geo_json, geo_package, raster, shapefile_source, task_set};

/// Reads every prescription among the files, in the order of their names.
pub(super) fn prescriptions(files: &[LoadedFile], in_zip: bool) -> Vec<Prescription> {
    let mut found: Vec<(String, Prescription)> = Vec::new();
    for main in files.iter().filter(|file| is_main_file(file, files.len())) {
        let (folder, _) = folder_and_name(&main.inner);
        let others: Vec<&LoadedFile> =
            files.iter().filter(|file| folder_and_name(&file.inner).0 == folder && file.inner != main.inner).collect();
        found.push((main.inner.clone(), task_set::read(main, &others, in_zip)));
    }
    // Parts of a shapefile, by folder and stem.
    let mut families: BTreeMap<String, Vec<&LoadedFile>> = BTreeMap::new();
    for file in files {
        let ending = ending(file);
        if ["shp", "shx", "dbf", "prj", "cpg"].contains(&ending.as_str()) {
            let stem = file.inner[..file.inner.len() - ending.len() - 1].to_lowercase();
            families.entry(stem).or_default().push(file);
        }
    }
    let has_shapes = |parts: &[&LoadedFile]| parts.iter().any(|part| ["shp", "shx"].contains(&ending(part).as_str()));
    for parts in families.into_values().filter(|parts| has_shapes(parts)) {
        found.push((parts[0].inner.clone(), shapefile_source::read(&parts)));
    }
    for file in files {
        let read = match ending(file).as_str() {
            "geojson" => geo_json::read(file),
            // Of files in a folder only those that say they are GeoJSON; a single one is what was meant.
            "json" if files.len() == 1 || geo_json::looks_like_it(&file.bytes) => geo_json::read(file),
            "tif" | "tiff" => raster::read(file),
            "gpkg" => geo_package::read(file),
            _ => continue,
        };
        found.push((file.inner.clone(), read));
    }
    found.sort_by(|a, b| a.0.cmp(&b.0));
    found.into_iter().map(|(_, prescription)| prescription).collect()
}

/// Whether a file is the main file of a task set: by its name in any case, or because it alone was typed.
fn is_main_file(file: &LoadedFile, n_files: usize) -> bool {
    let (_, name) = folder_and_name(&file.inner);
    name.eq_ignore_ascii_case("TASKDATA.XML")
        || (ending(file) == "xml" && (n_files == 1 || holds(&file.bytes, b"<ISO11783_TaskData")))
}

fn holds(bytes: &[u8], word: &[u8]) -> bool {
    bytes[..bytes.len().min(2000)].windows(word.len()).any(|window| window == word)
}

fn ending(file: &LoadedFile) -> String {
    stem_and_ending(folder_and_name(&file.inner).1).1.to_lowercase()
}
