//! Bytes of what was typed, within limits: a file with the files beside it that belong to it, a folder, or a zip.
//!
//! Nothing is unpacked to the disk, links to folders are not followed, and only files a prescription can consist of are
//! read.

use std::io::Read as _;
use std::path::Path;

use holdground::audit::package::{Package, folder_and_name, stem_and_ending};
use holdground::audit::rules::escapes;
use holdground::diagnostic::{Diagnostic, Place};
use holdground::messages::COULD_NOT_READ;

/// Endings of files a prescription can consist of.
const ENDINGS: [&str; 12] = ["xml", "bin", "shp", "shx", "dbf", "prj", "cpg", "geojson", "json", "tif", "tiff", "gpkg"];
/// Largest file read, bytes. The page of the rule names these limits.
const MOST_BYTES: u64 = 128 << 20;
/// Most read in all, bytes.
const MOST_BYTES_IN_ALL: u64 = 256 << 20;
/// Most names in a folder or zip.
const MOST_ENTRIES: usize = 4_000;
/// Deepest folder looked into.
const MOST_DEPTH: usize = 6;

/// A file in memory.
pub(super) struct LoadedFile {
    /// Path within what was typed, parts joined by `/`.
    pub(super) inner: String,
    /// Path for messages.
    pub(super) shown: String,
    pub(super) bytes: Vec<u8>,
}

/// What was typed, in memory.
pub(super) struct Loaded {
    pub(super) package: Package,
    pub(super) files: Vec<LoadedFile>,
}

/// Reads what was typed.
///
/// # Errors
/// One fault where it is not there or is neither file nor folder nor a zip that opens.
pub(super) fn load(path: &Path) -> Result<Loaded, Box<Diagnostic>> {
    let name = path.display().to_string();
    let fault = |why: String| {
        let message = format!("could not read `{name}` as a prescription: {why}");
        Box::new(Diagnostic::error(&COULD_NOT_READ, message).at(Place::File(name.clone())))
    };
    let metadata = std::fs::metadata(path).map_err(|error| fault(plain(&error)))?;
    let mut loaded = Loaded { package: Package { name: name.clone(), ..Package::default() }, files: Vec::new() };
    if metadata.is_dir() {
        loaded.take_folder(path).map_err(|error| fault(plain(&error)))?;
    } else if starts_as_zip(path) && !name.to_lowercase().ends_with(".kmz") {
        loaded.package.is_zip = true;
        loaded.take_zip(path).map_err(fault)?;
    } else {
        loaded.take_file_and_family(path).map_err(|error| fault(plain(&error)))?;
    }
    loaded.files.sort_by(|a, b| a.inner.cmp(&b.inner));
    loaded.package.entries.sort();
    Ok(loaded)
}

impl Loaded {
    fn take_folder(&mut self, root: &Path) -> std::io::Result<()> {
        let mut names = Vec::new();
        gather(root, "", 0, &mut names)?;
        // The folder itself may be the one a controller looks for.
        let is_task_folder = names.iter().any(|name| name.eq_ignore_ascii_case("TASKDATA.XML"));
        let own_name = std::path::absolute(root)?.file_name().map(|name| name.to_string_lossy().into_owned());
        let above = own_name.filter(|_| is_task_folder).map_or(String::new(), |name| format!("{name}/"));
        let prefix = self.package.name.trim_end_matches('/').to_owned();
        for name in names.iter().take(MOST_ENTRIES) {
            let shown = if prefix == "." { name.clone() } else { format!("{prefix}/{name}") };
            self.package.entries.push(shown.clone());
            self.take_path(&root.join(name), format!("{above}{name}"), shown)?;
        }
        if names.len() > MOST_ENTRIES {
            let why = format!("the folder holds more than {MOST_ENTRIES} files");
            self.package.too_large.push((self.package.name.clone(), why));
        }
        Ok(())
    }

    /// A file, and those beside it that belong to it: the parts of a shapefile, the grids of a task set.
    fn take_file_and_family(&mut self, path: &Path) -> std::io::Result<()> {
        let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
        let file_name = path.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
        let (stem, ending) = stem_and_ending(&file_name);
        let ending = ending.to_lowercase();
        let family: &[&str] = match ending.as_str() {
            "shp" | "shx" | "dbf" | "prj" => &["shp", "shx", "dbf", "prj", "cpg"],
            "xml" => &["bin"],
            _ => &[],
        };
        let mut names = vec![file_name.clone()];
        for entry in std::fs::read_dir(folder)? {
            let name = entry?.file_name().to_string_lossy().into_owned();
            let (other_stem, other_ending) = stem_and_ending(&name);
            let belongs = ending == "xml" || other_stem.eq_ignore_ascii_case(stem);
            if name != file_name && belongs && family.contains(&other_ending.to_lowercase().as_str()) {
                names.push(name);
            }
        }
        names.sort();
        let typed_folder = path.parent().map(|folder| folder.display().to_string()).filter(|text| !text.is_empty());
        // A task set's folder has a name to keep, even where only its file was typed.
        let own_name = std::path::absolute(folder)?.file_name().map(|name| name.to_string_lossy().into_owned());
        let above = own_name.filter(|_| ending == "xml").map_or(String::new(), |name| format!("{name}/"));
        for name in names.iter().take(MOST_ENTRIES) {
            let shown = typed_folder.as_ref().map_or(name.clone(), |folder| format!("{folder}/{name}"));
            self.take_path(&folder.join(name), format!("{above}{name}"), shown)?;
        }
        Ok(())
    }

    fn take_path(&mut self, path: &Path, inner: String, shown: String) -> std::io::Result<()> {
        if !is_wanted(&inner) {
            return Ok(());
        }
        let n_bytes = std::fs::metadata(path)?.len();
        if self.refuses(&shown, n_bytes) {
            return Ok(());
        }
        let mut bytes = Vec::new();
        std::fs::File::open(path)?.take(MOST_BYTES + 1).read_to_end(&mut bytes)?;
        self.files.push(LoadedFile { inner, shown, bytes });
        Ok(())
    }

    fn take_zip(&mut self, path: &Path) -> Result<(), String> {
        let file = std::fs::File::open(path).map_err(|error| plain(&error))?;
        let mut zip = zip::ZipArchive::new(file).map_err(|error| format!("the zip does not open: {error}"))?;
        let n_entries = zip.len();
        for index in 0..n_entries.min(MOST_ENTRIES) {
            // By its central list first: names are looked at before anything is unpacked.
            let entry = zip.by_index_raw(index).map_err(|error| format!("the zip is damaged: {error}"))?;
            if !entry.is_dir() {
                self.package.entries.push(String::from_utf8_lossy(entry.name_raw()).into_owned());
            }
        }
        if n_entries > MOST_ENTRIES {
            let why = format!("the zip holds {n_entries} names, at most {MOST_ENTRIES} are read");
            self.package.too_large.push((self.package.name.clone(), why));
        }
        if !self.package.too_large.is_empty() || self.package.entries.iter().any(|entry| escapes(entry)) {
            return Ok(());
        }
        for index in 0..n_entries {
            let (inner, stated) = {
                let entry = zip.by_index_raw(index).map_err(|error| format!("the zip is damaged: {error}"))?;
                (String::from_utf8_lossy(entry.name_raw()).into_owned(), entry.size())
            };
            let shown = self.package.shown(&inner);
            if !is_wanted(&inner) || self.refuses(&inner, stated) {
                continue;
            }
            let entry = zip.by_index(index).map_err(|error| format!("`{inner}` cannot be unpacked: {error}"))?;
            let mut bytes = Vec::new();
            let read = entry.take(stated + 1).read_to_end(&mut bytes);
            // The unpacker has a guard of its own, which ends reading at what is stated.
            let is_stopped = read.as_ref().is_err_and(|error| error.to_string().contains("larger than"));
            if is_stopped || bytes.len() as u64 > stated {
                let why = format!("{stated} bytes stated, it unpacks to more");
                self.package.too_large.push((inner, why));
                continue;
            }
            read.map_err(|error| format!("`{inner}` cannot be unpacked: {error}"))?;
            self.files.push(LoadedFile { inner, shown, bytes });
        }
        Ok(())
    }

    /// Whether a file is too large by itself or with those already read; if so it is noted.
    fn refuses(&mut self, shown: &str, n_bytes: u64) -> bool {
        let read: u64 = self.files.iter().map(|file| file.bytes.len() as u64).sum();
        let why = if n_bytes > MOST_BYTES {
            format!("{n_bytes} bytes, at most {MOST_BYTES} are read")
        } else if read + n_bytes > MOST_BYTES_IN_ALL {
            format!("with the others it comes to {} bytes, at most {MOST_BYTES_IN_ALL} are read", read + n_bytes)
        } else {
            return false;
        };
        self.package.too_large.push((shown.to_owned(), why));
        true
    }
}

/// Names of all files below a folder, parts joined by `/`; hidden ones left out.
fn gather(folder: &Path, above: &str, depth: usize, names: &mut Vec<String>) -> std::io::Result<()> {
    let mut entries: Vec<std::fs::DirEntry> = std::fs::read_dir(folder)?.collect::<Result<_, _>>()?;
    entries.sort_by_key(std::fs::DirEntry::file_name);
    for entry in entries {
        let name = entry.file_name().to_string_lossy().into_owned();
        if name.starts_with('.') || names.len() > MOST_ENTRIES {
            continue;
        }
        let inner = format!("{above}{name}");
        let kind = entry.file_type()?;
        if kind.is_dir() && depth < MOST_DEPTH {
            gather(&entry.path(), &format!("{inner}/"), depth + 1, names)?;
        } else if kind.is_file() || (kind.is_symlink() && entry.path().is_file()) {
            names.push(inner);
        }
    }
    Ok(())
}

fn is_wanted(inner: &str) -> bool {
    let (_, name) = folder_and_name(inner);
    let ending = stem_and_ending(name).1.to_lowercase();
    !name.starts_with('.') && ENDINGS.contains(&ending.as_str())
}

fn starts_as_zip(path: &Path) -> bool {
    let mut start = [0; 4];
    let read = std::fs::File::open(path).and_then(|mut file| file.read_exact(&mut start));
    // An empty zip begins with the end of its list.
    read.is_ok() && matches!(start, [b'P', b'K', 3, 4] | [b'P', b'K', 5, 6])
}

fn plain(error: &std::io::Error) -> String {
    error.to_string().split(" (os error").next().unwrap_or_default().to_lowercase()
}
