//! `trunnion preview`: a page that shows the machine and follows its files.

use std::collections::BTreeSet;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::ExitCode;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::thread;
use std::time::Duration;

use ide::Finding;
use project::{CONFIG_FILE_NAME, Files, SceneState, View, Workspace};

use super::definition::{self, Failure};
use super::output;
use super::plain;
use crate::preview::{self, Host, Referred, Stamp, Subject};

/// Show a machine in 3D in the browser, with its controls to be moved
///
/// Opens a free port on this computer only and prints the page's address; the address holds a secret, and whoever does
/// not know it gets nothing. The page follows the definition and its scene whenever they are saved, until you end the
/// command (Ctrl+C).
///
/// Exit code: 2 if the page cannot be served.
#[derive(Debug, clap::Args)]
pub(crate) struct Args {
    /// The machine's definition
    #[arg(value_name = "FILE")]
    file: PathBuf,
}

/// So often files are looked at: what was saved has to be on the screen within a tenth of a second.
const PACE: Duration = Duration::from_millis(15);

pub(crate) fn run(args: &Args) -> ExitCode {
    match serve(&args.file) {
        Ok(never) => match never {},
        Err(failure) => output::failed(&failure),
    }
}

fn serve(file: &Path) -> Result<std::convert::Infallible, Failure> {
    if !preview::is_built() {
        return Err(Failure::broken(preview::NOT_BUILT));
    }
    let failed =
        |error: std::io::Error| Failure::broken(format!("the preview cannot be served: {error}"));
    let path = std::path::absolute(file).map_err(failed)?;
    // One that is not there is a mistake; what is wrong in it is for the page to show.
    if !Files::default().is_file(&path) {
        return Err(Failure::broken(format!(
            "{} cannot be read: there is no such file.",
            plain::name(file)
        )));
    }
    let saved = Arc::new(Saved {
        path,
        state: Mutex::default(),
    });
    saved.read();
    let host = Host::start().map_err(failed)?;
    let address = host.show(saved.clone()).map_err(failed)?;
    output::print(|out| writeln!(out, "{address}"), ExitCode::SUCCESS);
    let mut known = saved.stamps(host.referred());
    loop {
        thread::sleep(PACE);
        let now = saved.stamps(host.referred());
        if now != known {
            saved.read();
            // What the definition now names is looked at as it was before it was read.
            known = now;
            host.changed();
        }
    }
}

/// A definition as it was saved last.
#[derive(Debug)]
struct Saved {
    path: PathBuf,
    state: Mutex<State>,
}

#[derive(Debug, Default)]
struct State {
    workspace: Workspace,
    /// Why it could not be read.
    trouble: Option<String>,
}

impl Saved {
    fn state(&self) -> MutexGuard<'_, State> {
        self.state.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn read(&self) {
        let read = definition::text(&self.path);
        let mut state = self.state();
        state.trouble = match read {
            Ok(text) => {
                state.workspace.open(self.path.clone(), None, text);
                None
            }
            Err(failure) => Some(failure.message),
        };
    }

    fn known(&self) -> Result<Arc<View>, String> {
        let snapshot = {
            let state = self.state();
            match &state.trouble {
                Some(trouble) => return Err(trouble.clone()),
                None => state.workspace.snapshot(),
            }
        };
        let view = snapshot.view(&self.path);
        view.map_err(|error| error.to_string())
    }

    /// Size and age of every file that the page depends on.
    fn stamps(&self, referred: &Referred) -> Vec<(PathBuf, Stamp)> {
        let mut files: BTreeSet<PathBuf> = self
            .path
            .ancestors()
            .skip(1)
            .map(|folder| folder.join(CONFIG_FILE_NAME))
            .collect();
        files.insert(self.path.clone());
        if let Ok(view) = self.known() {
            files.extend(view.settings.config.dialects.iter().cloned());
            if let Some(scene) = scene_file(&view) {
                let largest = view.settings.config.limits.scene.bytes();
                files.extend(referred.by(&scene, largest).iter().cloned());
                files.insert(scene);
            }
        }
        let stamped = files.into_iter().map(|file| {
            let stamp = preview::stamp(&file);
            (file, stamp)
        });
        stamped.collect()
    }
}

/// The scene's file, there or not.
fn scene_file(view: &View) -> Option<PathBuf> {
    use project::FileState::{CaseDiffers, Found, InGame, Missing};
    match &view.meaning.as_ref()?.scene {
        SceneState::NotNamed | SceneState::NotThere(InGame) => None,
        SceneState::NotThere(Found(path) | Missing(path) | CaseDiffers { actual: path, .. })
        | SceneState::Unreadable { path, .. } => Some(path.clone()),
        SceneState::Loaded(file) => Some(file.path.clone()),
    }
}

impl Subject for Saved {
    fn file(&self) -> PathBuf {
        self.path.clone()
    }

    fn view(&self) -> Result<Arc<View>, String> {
        self.known()
    }

    fn findings(&self, view: &View) -> Vec<Finding> {
        let mut findings = ide::checks::settings_at(view);
        findings.extend(ide::checks::run(view));
        findings
    }
}
