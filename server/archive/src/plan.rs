//! Which files of a folder go into its archive, and which do not.

use std::collections::{BTreeMap, BTreeSet};
use std::fs::{self, Metadata};
use std::path::{Path, PathBuf};
use std::time::SystemTime;

use walkdir::{DirEntry, WalkDir};

use crate::leftovers::leftover;
use crate::names::{self, Taken};
use crate::pack::Place;
use crate::{Refused, Stopped};

/// What is known of a folder's files besides their names. Paths are relative, with `/` between the steps.
#[derive(Clone, Debug, Default)]
pub struct Wishes {
    /// Files that stay out, each with the reason: a sentence.
    pub without: BTreeMap<String, String>,
    /// Files that go in, even if they look like leftovers: somebody needs them.
    pub needed: BTreeSet<String>,
}

/// What will be packed, as it was found.
#[derive(Debug)]
pub struct Plan {
    /// Absolute, without links.
    pub(crate) folder: PathBuf,
    pub(crate) target: PathBuf,
    wishes: Wishes,
    pub(crate) found: Found,
}

/// What a look into the folder shows.
#[derive(Debug, Default, PartialEq, Eq)]
pub(crate) struct Found {
    /// By name, in the order of the archive: that of the bytes.
    pub(crate) files: BTreeMap<String, State>,
    pub(crate) left_out: Vec<Refused>,
}

/// By what it is seen that a file was changed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct State {
    pub(crate) size: u64,
    modified: Option<SystemTime>,
}

impl From<&Metadata> for State {
    fn from(about: &Metadata) -> Self {
        Self {
            size: about.len(),
            modified: about.modified().ok(),
        }
    }
}

impl Plan {
    /// Looks at a folder that is to become the archive `target`.
    ///
    /// # Errors
    /// It is no folder, cannot be read, or has files that no archive can hold for all systems: all that are. Or what is
    /// at `target` is not to be replaced.
    pub fn of(folder: &Path, target: &Path, wishes: Wishes) -> Result<Self, Stopped> {
        Place::of(target)?;
        let cannot = |error: std::io::Error| {
            Stopped::Failed(format!("{} cannot be read: {error}", folder.display()))
        };
        // The folder itself, should this be a link to it.
        let folder = fs::canonicalize(folder).map_err(cannot)?;
        if !folder.is_dir() {
            let folder = folder.display();
            return Err(Stopped::Failed(format!("{folder} is no folder")));
        }
        let mut plan = Self {
            folder,
            target: target.to_path_buf(),
            wishes,
            found: Found::default(),
        };
        plan.found = plan.look()?;
        if plan.found.files.is_empty() {
            let nothing = "There is nothing in it that could be packed.";
            return Err(Stopped::Refused(vec![Refused::all(nothing)]));
        }
        Ok(plan)
    }

    /// The names of the files that will be packed, in the archive's order.
    pub fn files(&self) -> impl Iterator<Item = &str> {
        self.found.files.keys().map(String::as_str)
    }

    /// What will not be packed, and why.
    pub fn left_out(&self) -> &[Refused] {
        &self.found.left_out
    }

    /// Looks into the folder.
    pub(crate) fn look(&self) -> Result<Found, Stopped> {
        let mut found = Found::default();
        let (mut refused, mut taken) = (Vec::new(), Taken::default());
        let mut walk = WalkDir::new(&self.folder)
            .min_depth(1)
            .sort_by_file_name()
            .into_iter();
        while let Some(entry) = walk.next() {
            let entry = entry.map_err(|error| {
                let folder = self.folder.display();
                Stopped::Failed(format!("{folder} cannot be read: {error}"))
            })?;
            let is_folder = entry.file_type().is_dir();
            match self.judge(&entry, &mut taken) {
                Judged::Packed(name, state) => {
                    found.files.insert(name, state);
                }
                Judged::Opened => {}
                Judged::LeftOut(one) => {
                    found.left_out.push(one);
                    if is_folder {
                        walk.skip_current_dir();
                    }
                }
                Judged::Refused(one) => {
                    refused.push(one);
                    if is_folder {
                        walk.skip_current_dir();
                    }
                }
            }
        }
        match refused.is_empty() {
            true => Ok(found),
            false => Err(Stopped::Refused(refused)),
        }
    }

    fn judge(&self, entry: &DirEntry, taken: &mut Taken) -> Judged {
        let inside = entry.path().strip_prefix(&self.folder);
        let inside = inside.unwrap_or(entry.path());
        let Some(name) = name(inside) else {
            let shown = inside.to_string_lossy();
            return Judged::Refused(Refused::one(shown, "Its name is no UTF-8."));
        };
        let is_folder = entry.file_type().is_dir();
        let leave_out = |why: &str| Judged::LeftOut(Refused::one(name.as_str(), why));
        let refuse = |why: String| Judged::Refused(Refused::one(name.as_str(), why));
        if let Some(why) = self.stays_out(&name, is_folder, entry) {
            return leave_out(&why);
        }
        if is_folder {
            let is_empty = fs::read_dir(entry.path()).is_ok_and(|mut all| all.next().is_none());
            if is_empty {
                return leave_out("An empty folder.");
            }
        }
        if entry.path_is_symlink() {
            return refuse("It is a link. Put the file itself in its place.".to_owned());
        }
        if !is_folder && !entry.file_type().is_file() {
            return refuse("It is neither a file nor a folder.".to_owned());
        }
        if name.contains('\\') {
            return refuse("Its path holds `\\`, which Windows does not allow.".to_owned());
        }
        if let Err(why) = names::steps(&name).and_then(|steps| taken.take(&steps, is_folder)) {
            return refuse(why);
        }
        match entry.metadata() {
            _ if is_folder => Judged::Opened,
            Ok(about) => Judged::Packed(name, State::from(&about)),
            Err(error) => refuse(format!("It cannot be read: {error}.")),
        }
    }

    fn stays_out(&self, name: &str, is_folder: bool, entry: &DirEntry) -> Option<String> {
        let needed = &self.wishes.needed;
        let below = format!("{name}/");
        let is_needed = match is_folder {
            true => needed
                .range(below.clone()..)
                .next()
                .is_some_and(|one| one.starts_with(&below)),
            false => needed.contains(name),
        };
        if is_needed {
            return None;
        }
        if let Some(why) = self.wishes.without.get(name) {
            return Some(why.clone());
        }
        if let Some(own) = self.target.file_name() {
            let is_beside = fs::canonicalize(whole::parent(&self.target))
                .is_ok_and(|folder| Some(&*folder) == entry.path().parent());
            if is_beside && entry.file_name() == own {
                return Some("The archive itself.".to_owned());
            }
            if is_beside && whole::is_backup_of(entry.file_name(), own) {
                return Some("A backup of the archive.".to_owned());
            }
        }
        let step = name.rsplit('/').next().unwrap_or(name);
        leftover(step, is_folder).map(str::to_owned)
    }
}

enum Judged {
    Packed(String, State),
    /// A folder that is looked into.
    Opened,
    LeftOut(Refused),
    Refused(Refused),
}

/// With `/` between the steps. None: it is no UTF-8.
pub(crate) fn name(inside: &Path) -> Option<String> {
    let steps: Option<Vec<&str>> = inside.iter().map(|step| step.to_str()).collect();
    Some(steps?.join("/"))
}
