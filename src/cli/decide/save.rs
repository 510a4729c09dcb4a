//! The field file written: whole or not at all, and never over what someone else wrote meanwhile.

use std::io::Write as _;
use std::path::Path;

use holdground::diagnostic::{Diagnostic, Place};
use holdground::messages::COULD_NOT_WRITE;

use super::FIELD_FILE_CHANGED;

/// Puts `new` in the place of `old`, which the file must still hold.
pub(super) fn replace(path: &Path, old: &[u8], new: &[u8]) -> Result<(), Box<Diagnostic>> {
    let file = path.display().to_string();
    let could_not = |error: &dyn std::fmt::Display| {
        let fault = Diagnostic::error(&COULD_NOT_WRITE, format!("could not write `{file}`: {error}"));
        Box::new(fault.at(Place::File(file.clone())).with_help("look at the folder's rights and the space on the disk"))
    };
    if path.symlink_metadata().map_err(|error| could_not(&error))?.is_symlink() {
        return Err(could_not(&"it is a link to another file; name that file"));
    }
    let unchanged = || match std::fs::read(path) {
        Ok(bytes) if bytes == old => Ok(()),
        Ok(_) => {
            let message = format!("`{file}` has changed on disk since it was read; nothing was written");
            let help = "press Stop and start again: the page then shows the file as it is";
            Err(Box::new(Diagnostic::error(&FIELD_FILE_CHANGED, message).at(Place::File(file.clone())).with_help(help)))
        }
        Err(error) => Err(could_not(&error)),
    };
    unchanged()?;
    let name = path.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
    let part = path.with_file_name(format!(".{name}.part-{}", std::process::id()));
    let written = (|| {
        let mut handle = std::fs::File::options().write(true).create_new(true).open(&part)?;
        handle.set_permissions(std::fs::metadata(path)?.permissions())?;
        handle.write_all(new)?;
        handle.sync_all()
    })();
    let result = written.map_err(|error: std::io::Error| could_not(&error));
    let result = result.and_then(|()| unchanged());
    let result = result.and_then(|()| std::fs::rename(&part, path).map_err(|error| could_not(&error)));
    if result.is_err() {
        let _ = std::fs::remove_file(&part);
    }
    result
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_is_replaced_whole_and_only_as_it_was_read() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("field.toml");
        std::fs::write(&path, "old").unwrap();
        replace(&path, b"old", b"new").unwrap();
        assert_eq!(std::fs::read_to_string(&path).unwrap(), "new");
        let fault = replace(&path, b"old", b"newer").unwrap_err();
        assert_eq!(fault.code.name, "field-file-changed");
        assert_eq!(std::fs::read_to_string(&path).unwrap(), "new");
        assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 1, "nothing is left beside it");
    }

    #[cfg(unix)]
    #[test]
    fn rights_stay_and_links_are_not_followed() {
        use std::os::unix::fs::PermissionsExt as _;
        let folder = tempfile::tempdir().unwrap();
        let (path, link) = (folder.path().join("field.toml"), folder.path().join("link.toml"));
        std::fs::write(&path, "old").unwrap();
        std::fs::set_permissions(&path, std::fs::Permissions::from_mode(0o640)).unwrap();
        replace(&path, b"old", b"new").unwrap();
        assert_eq!(path.metadata().unwrap().permissions().mode() & 0o777, 0o640);
        std::os::unix::fs::symlink(&path, &link).unwrap();
        assert!(replace(&link, b"new", b"newer").is_err());
        assert_eq!(std::fs::read_to_string(&path).unwrap(), "new");
    }
}
