//! What killed runs left behind: recognised by its name, and by that nobody holds its lock.

use std::fs::{self, DirEntry, File};
use std::path::Path;
use std::process;
use std::time::Duration;

const BEFORE: &str = ".trunnion-";
const AFTER: &str = ".tmp";

/// Whoever makes something beside a target has locked it long before.
const SETTLED: Duration = Duration::from_secs(60);

/// The name of what this process makes beside a target.
pub(crate) fn name(attempt: u32) -> String {
    format!("{BEFORE}{}-{attempt}{AFTER}", process::id())
}

/// The process that made what bears this name.
fn maker(name: &str) -> Option<u32> {
    let (process, attempt) = name
        .strip_prefix(BEFORE)?
        .strip_suffix(AFTER)?
        .split_once('-')?;
    attempt.parse::<u32>().ok()?;
    process.parse().ok()
}

/// Removes what runs that are gone left in a folder. What cannot be removed is no worse than that it is there.
pub(crate) fn clear(folder: &Path) {
    let Ok(entries) = fs::read_dir(folder) else {
        return;
    };
    for entry in entries.flatten() {
        let is_ours = entry.file_name().to_str().and_then(maker);
        if is_ours.is_some_and(|maker| is_settled(&entry, maker)) && is_given_up(&entry) {
            remove(&entry.path());
        }
    }
}

/// Whether its maker, if alive, has had the time to lock it.
fn is_settled(entry: &DirEntry, maker: u32) -> bool {
    let modified = entry.metadata().and_then(|about| about.modified());
    let age = modified.ok().and_then(|then| then.elapsed().ok());
    age.is_some_and(|age| age > SETTLED) || is_gone(maker)
}

/// Where the system shows its processes as files.
fn is_gone(process: u32) -> bool {
    Path::new("/proc/self/stat").exists() && !Path::new("/proc").join(process.to_string()).exists()
}

/// Whether nobody holds its lock. Never of what cannot be locked.
fn is_given_up(entry: &DirEntry) -> bool {
    let is_link = entry.file_type().is_ok_and(|kind| kind.is_symlink());
    !is_link && File::open(entry.path()).is_ok_and(|handle| handle.try_lock().is_ok())
}

pub(crate) fn remove(path: &Path) {
    let _ = match fs::symlink_metadata(path) {
        Ok(about) if about.is_dir() => fs::remove_dir_all(path),
        Ok(_) => fs::remove_file(path),
        Err(error) => Err(error),
    };
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Beside;
    use crate::replace::tests::Yard;
    use std::time::SystemTime;

    /// No process has it: above what Linux gives out.
    const NOBODY: &str = ".trunnion-4194999-0.tmp";

    #[test]
    fn names_tell_their_maker() {
        assert_eq!(maker(&name(3)), Some(process::id()));
        for other in [
            ".trunnion-.tmp",
            ".trunnion-1-x.tmp",
            "trunnion-1-2.tmp",
            ".trunnion-1-2.tmp2",
        ] {
            assert_eq!(maker(other), None, "{other}");
        }
    }

    #[test]
    fn what_a_run_that_is_gone_left_is_removed() {
        let yard = Yard::new();
        fs::write(yard.at(NOBODY), "half").unwrap();
        let folder = yard.at(".trunnion-4194999-1.tmp");
        fs::create_dir_all(folder.join("deep")).unwrap();
        fs::write(folder.join("deep/a.xml"), "half").unwrap();
        // Of a process with a number that is in use again.
        let reused = yard.at(".trunnion-1-0.tmp");
        fs::write(&reused, "half").unwrap();
        let old = SystemTime::now() - SETTLED * 2;
        File::options()
            .write(true)
            .open(&reused)
            .unwrap()
            .set_modified(old)
            .unwrap();
        clear(yard.path());
        let kept = if cfg!(target_os = "linux") { 0 } else { 2 };
        assert_eq!(fs::read_dir(yard.path()).unwrap().count(), kept);
    }

    #[test]
    #[cfg(target_os = "linux")]
    fn whoever_makes_something_removes_what_was_left() {
        let yard = Yard::new();
        fs::write(yard.at(NOBODY), "half").unwrap();
        drop(Beside::file(&yard.at("a.xml")).unwrap());
        assert_eq!(yard.count(), 0);
    }

    /// No run makes any.
    #[test]
    #[cfg(unix)]
    fn links_are_none_of_ours() {
        let yard = Yard::new();
        std::os::unix::fs::symlink(yard.file(b"<a/>"), yard.at(NOBODY)).unwrap();
        clear(yard.path());
        assert_eq!(yard.count(), 2);
    }

    #[test]
    fn what_somebody_works_on_stays() {
        let yard = Yard::new();
        let ours = Beside::file(&yard.at("a.xml")).unwrap();
        let old = SystemTime::now() - SETTLED * 2;
        ours.handle().unwrap().set_modified(old).unwrap();
        let folder = Beside::folder(&yard.at("a")).unwrap();
        #[cfg(unix)]
        File::open(folder.path())
            .and_then(|folder| folder.set_modified(old))
            .unwrap();
        clear(yard.path());
        // If the file had gone, the folder would have its name.
        assert!(ours.path().is_file() && folder.path().is_dir());
        drop((ours, folder));
        assert_eq!(fs::read_dir(yard.path()).unwrap().count(), 0);
        // Just made, by a process that runs: it may be about to be locked.
        fs::write(yard.at(&format!("{BEFORE}{}-7{AFTER}", process::id())), "").unwrap();
        // Somebody else's.
        fs::write(yard.at(".trunnion-mine.tmp"), "").unwrap();
        clear(yard.path());
        assert_eq!(fs::read_dir(yard.path()).unwrap().count(), 2);
    }
}
