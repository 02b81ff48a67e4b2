//! The library that a command compares with: what the command line names, else what the settings do.

use std::io::{IsTerminal, Write};
use std::path::PathBuf;
use std::sync::Arc;

use learn::Precedents;
use project::{Progress, View};

use super::definition::Failure;
use super::output;
use super::plain;

#[derive(Debug, clap::Args)]
pub(super) struct LibraryArgs {
    /// A folder of mods, or an archive, to see how others do it, in place of what trunnion.toml names; may be repeated
    #[arg(long, value_name = "DIR")]
    library: Vec<PathBuf>,

    /// Where what is known of the library is kept; the system's folder for caches if it is not said
    #[arg(long, value_name = "DIR")]
    cache_folder: Option<PathBuf>,
}

/// None: nobody named one.
///
/// # Errors
/// The command line names something that is not there.
pub(super) fn read(args: &LibraryArgs, view: &View) -> Result<Option<Arc<Precedents>>, Failure> {
    let config = &view.settings.config;
    let mut roots = Vec::new();
    for root in &args.library {
        let failed = |reason| Failure::broken(format!("{}: {reason}.", plain::name(root)));
        let path = std::path::absolute(root).map_err(|error| failed(error.to_string()))?;
        roots.push(project::straightened(&path));
        if !root.exists() {
            return Err(failed("there is no such folder or archive".to_owned()));
        }
    }
    if roots.is_empty() {
        roots.clone_from(&config.library);
    }
    if roots.is_empty() {
        return Ok(None);
    }
    let set = args
        .cache_folder
        .clone()
        .or_else(|| config.cache_folder.clone());
    let cache = set.or_else(project::cache_folder);
    let shows = std::io::stderr().is_terminal();
    let told = |progress| {
        if let (true, Progress::Read { done, of: of @ 1.. }) = (shows, progress) {
            let _ = write!(
                std::io::stderr(),
                "\rReading the library: {done} of {of} files"
            );
        }
    };
    let index = project::read_index(&roots, cache.as_deref(), &config.limits, &told);
    if shows && index.read > 0 {
        output::remark("\n");
    }
    if let Some(reason) = &index.not_kept {
        output::complain(&format!(
            "what is known of the library is not kept for the next time: {reason}"
        ));
    }
    if let [first, others @ ..] = index.unread.as_slice() {
        let file = plain::name(&first.source.file);
        let more = match others.len() {
            0 => String::new(),
            more => format!(" And {more} more like this."),
        };
        output::complain(&format!(
            "a file of the library is left out, {file}: {}{more}",
            first.reason
        ));
    }
    Ok(Some(Arc::new(Precedents::of(index.corpus))))
}
