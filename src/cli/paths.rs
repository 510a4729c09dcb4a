//! Paths as a field file names them: from its own folder.

use std::path::{Component, Path, PathBuf};

/// `path` (from the current folder) as seen from `folder` (from the current folder too), with forward slashes.
///
/// Where no way leads from one to the other the path is given whole.
pub(crate) fn seen_from(folder: &Path, path: &Path) -> String {
    let seen = relative(folder, path).unwrap_or_else(|| path.to_path_buf());
    seen.to_string_lossy().replace(std::path::MAIN_SEPARATOR, "/")
}

fn relative(folder: &Path, path: &Path) -> Option<PathBuf> {
    let is_plain = |path: &Path| path.components().all(|part| matches!(part, Component::Normal(_)));
    let without_here = |path: &Path| path.components().filter(|part| *part != Component::CurDir).collect::<PathBuf>();
    let (folder, path) = (&without_here(folder), &without_here(path));
    if path.is_absolute() {
        return None;
    }
    if folder.as_os_str().is_empty() {
        return Some(path.clone());
    }
    if is_plain(folder) && is_plain(path) {
        let shared = folder.components().zip(path.components()).take_while(|(a, b)| a == b).count();
        let up = std::iter::repeat_n(Component::ParentDir, folder.components().count() - shared);
        return Some(up.chain(path.components().skip(shared)).collect());
    }
    std::path::absolute(path).ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn paths_start_from_the_folder_of_the_field_file() {
        let seen = |folder: &str, path: &str| seen_from(Path::new(folder), Path::new(path));
        assert_eq!(seen("", "lab.csv"), "lab.csv");
        assert_eq!(seen("", "../sheets/lab.csv"), "../sheets/lab.csv");
        assert_eq!(seen("north", "north/lab.csv"), "lab.csv");
        assert_eq!(seen("north/2026", "north/lab.csv"), "../lab.csv");
        assert_eq!(seen("north", "lab.csv"), "../lab.csv");
        assert_eq!(seen("./north", "./lab.csv"), "../lab.csv");
        assert_eq!(seen(".", "lab.csv"), "lab.csv");
        assert_eq!(seen("./north", "./lab.csv"), "../lab.csv");
        assert!(Path::new(&seen("../north", "lab.csv")).is_absolute());
    }
}
