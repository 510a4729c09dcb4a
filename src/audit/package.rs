//! What was typed: a file, a folder or a zip, and what lies in it.

/// A file, a folder or a zip.
#[derive(Debug, Default)]
pub struct Package {
    /// Path as typed.
    pub name: String,
    /// Whether it is a zip.
    pub is_zip: bool,
    /// Names of all files in it, parts joined as they stand.
    pub entries: Vec<String>,
    /// Files left unread, with the reason: too large, or growing beyond what they state.
    pub too_large: Vec<(String, String)>,
}

impl Package {
    /// Path of an entry for a message.
    pub fn shown(&self, entry: &str) -> String {
        if self.is_zip { format!("{}/{entry}", self.name) } else { entry.to_owned() }
    }
}

/// Last part of a path, and what stands before it.
pub fn folder_and_name(path: &str) -> (&str, &str) {
    path.rsplit_once('/').unwrap_or(("", path))
}

/// Name without its ending, and the ending without the dot.
pub fn stem_and_ending(name: &str) -> (&str, &str) {
    name.rsplit_once('.').unwrap_or((name, ""))
}
