//! Result files to disk: all or nothing.

use std::io::Write as _;
use std::path::{Path, PathBuf};

use holdground::diagnostic::{Diagnostic, Place};
use holdground::export::OutputFile;
use holdground::messages::{COULD_NOT_WRITE, FILE_EXISTS, RESULT_FOLDER_EXISTS};

use super::Failure;
use super::exit_code::ExitCode;
use super::{audit, read_back};

/// Refuses a file that is there already, before any work is done; `help` says how to mend it.
pub(crate) fn refuse_existing(path: &Path, help: &str) -> Result<(), Failure> {
    if path.exists() {
        let message = format!("`{}` is there already, and is never overwritten", path.display());
        let place = Place::File(path.display().to_string());
        return Err(fault_at(&FILE_EXISTS, ExitCode::CouldNotWrite, message, help, place));
    }
    Ok(())
}

/// Writes a file that is not there yet: whole, or not at all.
pub(crate) fn new_file(path: &Path, bytes: &[u8], help_if_there: &str) -> Result<(), Failure> {
    refuse_existing(path, help_if_there)?;
    let name = path.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
    let part = path.with_file_name(format!(".{name}.part-{}", std::process::id()));
    let written = (|| {
        let mut handle = std::fs::File::create(&part)?;
        handle.write_all(bytes)?;
        handle.sync_all()?;
        // A link is refused where the name has come to exist meanwhile; a rename would overwrite it.
        match std::fs::hard_link(&part, path) {
            Err(error) if error.kind() != std::io::ErrorKind::AlreadyExists => std::fs::rename(&part, path),
            linked => linked,
        }
    })();
    let _ = std::fs::remove_file(&part);
    written.map_err(|error: std::io::Error| {
        let message = format!("could not write `{}`: {error}", path.display());
        let help = "look at the folder's rights and the space on the disk";
        fault_at(&COULD_NOT_WRITE, ExitCode::CouldNotWrite, message, help, Place::File(path.display().to_string()))
    })
}

/// The result folder of a run.
pub(crate) struct Target {
    folder: PathBuf,
    /// Beside the folder, so that renaming stays on one disk.
    part: PathBuf,
    replace: bool,
}

impl Drop for Target {
    /// What was half written is ours to take away, after a panic too; the user's folder was not touched.
    fn drop(&mut self) {
        let _ = std::fs::remove_dir_all(&self.part);
    }
}

impl Target {
    /// Refuses a folder that must not be touched, before any work is done.
    pub(crate) fn new(folder: &Path, replace: bool) -> Result<Self, Failure> {
        let name = folder.file_name().map(|name| name.to_string_lossy().into_owned());
        let Some(name) = name else {
            let message = format!("`{}` does not name a folder to make", folder.display());
            return Err(fault(&COULD_NOT_WRITE, ExitCode::CommandLine, message, "for example `--out north-2026`"));
        };
        if folder.exists() {
            let is_result = folder.join("run_record.json").is_file();
            if !is_result {
                let message = format!("`{}` exists and is not the folder of an earlier run", folder.display());
                return Err(fault(&RESULT_FOLDER_EXISTS, ExitCode::CouldNotWrite, message, "name another folder"));
            }
            let foreign = foreign_files(folder);
            if let Some(first) = foreign.first().filter(|_| replace) {
                let message = format!(
                    "`{}` holds {} file(s) that are not of the earlier run, `{first}` among them",
                    folder.display(),
                    foreign.len()
                );
                let help = "move them elsewhere, or name another folder";
                return Err(fault(&RESULT_FOLDER_EXISTS, ExitCode::CouldNotWrite, message, help));
            }
            if !replace {
                let message = format!("`{}` holds the results of an earlier run", folder.display());
                let help = "name another folder, or pass `--replace`";
                return Err(fault(&RESULT_FOLDER_EXISTS, ExitCode::CouldNotWrite, message, help));
            }
        }
        let parent = folder.parent().filter(|parent| !parent.as_os_str().is_empty()).unwrap_or(Path::new("."));
        let part = parent.join(format!(".{name}.part-{}", std::process::id()));
        Ok(Target { folder: folder.to_owned(), part, replace })
    }

    /// Writes every file to a temporary folder beside the target, reads the vector files back, audits, then renames.
    pub(crate) fn write(&self, files: &[OutputFile]) -> Result<(), Failure> {
        let could_not_write = |error: std::io::Error| {
            let message = format!("could not write `{}`: {error}", self.folder.display());
            let help = "look at the folder's rights and the space on the disk";
            fault(&COULD_NOT_WRITE, ExitCode::CouldNotWrite, message, help)
        };
        let result = self.write_part(files).map_err(could_not_write);
        let result = result.and_then(|()| read_back::check(&self.part, files));
        let result = result.and_then(|()| audit::own::check(&self.part, files));
        let result = result.and_then(|()| self.move_in().map_err(could_not_write));
        if result.is_err() {
            let _ = std::fs::remove_dir_all(&self.part);
        }
        result
    }

    fn write_part(&self, files: &[OutputFile]) -> std::io::Result<()> {
        for file in files {
            let path = self.part.join(&file.path);
            std::fs::create_dir_all(path.parent().unwrap_or(&self.part))?;
            let mut handle = std::fs::File::create(&path)?;
            handle.write_all(&file.bytes)?;
            handle.sync_all()?;
        }
        Ok(())
    }

    fn move_in(&self) -> std::io::Result<()> {
        if !self.folder.exists() || !self.replace {
            return std::fs::rename(&self.part, &self.folder);
        }
        let old = self.part.with_extension(format!("old-{}", std::process::id()));
        std::fs::rename(&self.folder, &old)?;
        if let Err(error) = std::fs::rename(&self.part, &self.folder) {
            // Put the earlier results back where they were.
            std::fs::rename(&old, &self.folder)?;
            return Err(error);
        }
        // The new results are in place; an old folder that cannot be taken away is no failure of the run.
        let _ = std::fs::remove_dir_all(&old);
        Ok(())
    }
}

/// Files of a result folder that its run record does not list: the user's own.
fn foreign_files(folder: &Path) -> Vec<String> {
    fn gather(folder: &Path, below: &Path, found: &mut Vec<String>) {
        for entry in std::fs::read_dir(folder).into_iter().flatten().flatten() {
            let name = below.join(entry.file_name());
            if entry.path().is_dir() {
                gather(&entry.path(), &name, found);
            } else {
                found.push(name.to_string_lossy().replace(std::path::MAIN_SEPARATOR, "/"));
            }
        }
    }
    let record = std::fs::read(folder.join("run_record.json")).unwrap_or_default();
    let record: serde_json::Value = serde_json::from_slice(&record).unwrap_or_default();
    let listed: Vec<&str> =
        record["files"].as_array().into_iter().flatten().filter_map(|file| file["file"].as_str()).collect();
    let mut found = Vec::new();
    gather(folder, Path::new(""), &mut found);
    found.retain(|name| name != "run_record.json" && !listed.contains(&name.as_str()));
    found.sort();
    found
}

fn fault(code: &'static holdground::diagnostic::Code, exit_code: ExitCode, message: String, help: &str) -> Failure {
    fault_at(code, exit_code, message, help, Place::Flag("--out"))
}

fn fault_at(
    code: &'static holdground::diagnostic::Code,
    exit_code: ExitCode,
    message: String,
    help: &str,
    place: Place,
) -> Failure {
    let diagnostic = Diagnostic::error(code, message).at(place).with_help(help);
    Failure { exit_code, diagnostics: vec![diagnostic] }
}
