//! Where a program keeps what it can make again.

use std::path::PathBuf;

/// The platform's folder for caches: `XDG_CACHE_HOME` or `~/.cache` (XDG Base Directory
/// Specification), `~/Library/Caches`, or `LOCALAPPDATA`. None: the system does not say where.
pub fn cache_folder() -> Option<PathBuf> {
    let path = |variable: &str| {
        let path = PathBuf::from(std::env::var_os(variable)?);
        // What is no whole path is to be ignored, says XDG.
        path.is_absolute().then_some(path)
    };
    let home = |below: &str| Some(path("HOME")?.join(below));
    let caches = if cfg!(windows) {
        path("LOCALAPPDATA")
    } else if cfg!(target_os = "macos") {
        home("Library/Caches")
    } else {
        path("XDG_CACHE_HOME").or_else(|| home(".cache"))
    };
    Some(caches?.join("trunnion"))
}
