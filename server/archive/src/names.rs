//! Names of files in archives: which ones are safe on every system.

use std::collections::HashMap;
use std::collections::hash_map::Entry;

use unicode_normalization::UnicodeNormalization;

/// What the systems allow for one step, in bytes.
const LONGEST_STEP: usize = 255;
/// Longer paths cannot be opened on some system.
const LONGEST_NAME: usize = 1024;
const MOST_STEPS: usize = 64;

/// Names that are devices on Windows, whatever their ending.
const DEVICES: [&str; 6] = ["con", "prn", "aux", "nul", "conin$", "conout$"];

/// The steps of a name. Made safe are `\` between the steps, `.`, and empty steps.
///
/// # Errors
/// Why it is no safe name: a sentence.
pub(crate) fn steps(name: &str) -> Result<Vec<String>, String> {
    let plain = name.replace('\\', "/");
    if plain.starts_with('/') {
        return Err("Its path begins at the root of the disk.".to_owned());
    }
    if plain.len() > LONGEST_NAME {
        return Err(format!(
            "Its path has {} bytes, more than {LONGEST_NAME}.",
            plain.len()
        ));
    }
    let steps: Vec<&str> = plain
        .split('/')
        .filter(|step| !step.is_empty() && *step != ".")
        .collect();
    if steps.is_empty() {
        return Err("It has no name.".to_owned());
    }
    if steps.len() > MOST_STEPS {
        return Err(format!(
            "It lies {} folders deep, deeper than {MOST_STEPS}.",
            steps.len()
        ));
    }
    for step in &steps {
        if let Some(reason) = unsafe_step(step) {
            return Err(reason);
        }
    }
    Ok(steps.into_iter().map(str::to_owned).collect())
}

fn unsafe_step(step: &str) -> Option<String> {
    if step == ".." {
        return Some("Its path leads out of the folder (`..`).".to_owned());
    }
    if step.len() > LONGEST_STEP {
        return Some(format!(
            "A step of its path has {} bytes, more than {LONGEST_STEP}.",
            step.len()
        ));
    }
    if let Some(bad) = step.chars().find(|character| is_invisible(*character)) {
        return Some(format!(
            "Its path holds the invisible character U+{:04X}.",
            u32::from(bad)
        ));
    }
    if step.chars().nth(1) == Some(':') {
        return Some("Its path names a drive, or a hidden part of a file (`:`).".to_owned());
    }
    if let Some(bad) = step
        .chars()
        .find(|character| "<>:\"|?*".contains(*character))
    {
        return Some(format!(
            "Its path holds `{bad}`, which Windows does not allow."
        ));
    }
    if step.ends_with(['.', ' ']) {
        return Some(
            "A step of its path ends in a dot or a space, which Windows drops.".to_owned(),
        );
    }
    is_device(step).then(|| format!("`{step}` is the name of a device on Windows."))
}

fn is_device(step: &str) -> bool {
    let stem = step.split('.').next().unwrap_or_default();
    let stem = stem.trim_end().to_lowercase();
    let port = |start| {
        stem.strip_prefix(start).is_some_and(|rest: &str| {
            let mut rest = rest.chars();
            let digit = rest.next().is_some_and(|one| "0123456789¹²³".contains(one));
            digit && rest.next().is_none()
        })
    };
    DEVICES.contains(&stem.as_str()) || port("com") || port("lpt")
}

/// Control characters, and those that turn the direction of what is shown.
fn is_invisible(character: char) -> bool {
    character.is_control()
        || matches!(character, '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}' | '\u{feff}')
}

/// For people to read, whatever is in it.
pub(crate) fn shown(name: &str) -> String {
    name.chars()
        .map(|character| match is_invisible(character) {
            true => '\u{fffd}',
            false => character,
        })
        .collect()
}

/// The same for all names that some system takes for one: in upper and lower case, and with letters and their marks as
/// one character or as several (Unicode's normalisation, form D).
pub(crate) fn folded(path: &str) -> String {
    path.nfd().flat_map(in_one_case).nfd().collect()
}

/// Letters that have one capital are one letter, as `σ` and `ς` are. All systems tell `ı` from `i`.
fn in_one_case(letter: char) -> impl Iterator<Item = char> {
    let mut capital = letter.to_uppercase();
    let capital = match capital.len() {
        1 if letter != 'ı' => capital.next().unwrap_or(letter),
        _ => letter,
    };
    capital.to_lowercase()
}

/// Names that were taken, to see which ones would meet on a system that takes different names for one.
#[derive(Debug, Default)]
pub(crate) struct Taken {
    /// By what systems take for one: as it is written, and whether it is a folder.
    known: HashMap<String, (String, bool)>,
}

impl Taken {
    /// # Errors
    /// It meets another one: a sentence.
    pub(crate) fn take(&mut self, steps: &[String], is_folder: bool) -> Result<(), String> {
        let mut path = String::new();
        for (at, step) in steps.iter().enumerate() {
            if at > 0 {
                path.push('/');
            }
            path.push_str(step);
            let is_folder = is_folder || at + 1 < steps.len();
            match self.known.entry(folded(&path)) {
                Entry::Vacant(free) => {
                    free.insert((path.clone(), is_folder));
                }
                Entry::Occupied(known) => {
                    let (other, other_is_folder) = known.get();
                    if *other != path {
                        let what = match other.nfd().eq(path.nfd()) {
                            true => "in how letters and their marks are put together",
                            false => "in upper and lower case",
                        };
                        return Err(format!(
                            "`{path}` and `{other}` differ only {what}, which many systems do not tell apart."
                        ));
                    }
                    match (other_is_folder, is_folder) {
                        (true, true) => {}
                        (false, false) => {
                            return Err("There is another one of the same name.".to_owned());
                        }
                        _ => return Err(format!("`{path}` is a file and a folder at once.")),
                    }
                }
            }
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn unsafe_names_are_refused() {
        let long = "a".repeat(256);
        for name in [
            "../a",
            "a/../../b",
            "..\\a",
            "/etc/a",
            "\\\\host\\a",
            "C:\\a",
            "c:a",
            "a:stream",
            "a/nul.xml",
            "COM1",
            "lpt³.txt",
            "aux .xml",
            "a./b",
            "a /b",
            "a\u{0}b",
            "a\u{202e}lmx",
            "",
            "./",
            "a?b",
            &long,
        ] {
            assert!(steps(name).is_err(), "{name:?}");
        }
    }

    #[test]
    fn harmless_names_are_made_plain() {
        for (name, plain) in [
            ("a\\b.xml", "a/b.xml"),
            ("./a//b", "a/b"),
            ("größe/b c.xml", "größe/b c.xml"),
            ("console.xml", "console.xml"),
            ("com10", "com10"),
            ("..a/b..c", "..a/b..c"),
        ] {
            assert_eq!(
                steps(name).map(|steps| steps.join("/")),
                Ok(plain.to_owned())
            );
        }
    }

    #[test]
    fn names_that_meet_are_found() {
        let mut taken = Taken::default();
        let mut take = |name: &str, is_folder| taken.take(&steps(name).unwrap(), is_folder).is_ok();
        assert!(take("a/b.xml", false));
        assert!(take("a", true));
        assert!(take("gr\u{f6}\u{df}e", true));
        assert!(take("a/c.xml", false));
        // Each a letter of its own.
        for name in ["straße", "strasse", "ı", "i", "σ", "\u{b5}"] {
            assert!(take(name, false), "{name}");
        }
        for (name, is_folder) in [
            ("a/B.xml", false),
            ("A/d.xml", false),
            ("gro\u{308}\u{df}e", true),
            ("STRASSE", false),
            ("I", false),
            ("ς", false),
            ("Σ", false),
            ("\u{3bc}", false),
            ("a/b.xml", false),
            ("a/b.xml/c", false),
            ("a", false),
        ] {
            assert!(!take(name, is_folder), "{name}");
        }
    }

    #[test]
    fn names_are_as_long_and_as_deep_as_all_systems_take() {
        let step = |length| "a".repeat(length);
        assert!(steps(&step(255)).is_ok());
        // 128 letters, 256 bytes.
        assert!(steps(&"ö".repeat(128)).is_err());
        let path = |last| format!("{}/{}", vec![step(200); 5].join("/"), step(last));
        assert!(steps(&path(19)).is_ok() && steps(&path(20)).is_err());
        let deep = |count| vec!["a"; count].join("/");
        assert!(steps(&deep(64)).is_ok() && steps(&deep(65)).is_err());
    }

    #[test]
    fn what_turns_or_hides_text_is_invisible_and_its_neighbours_are_not() {
        for bad in "\u{200e}\u{200f}\u{202a}\u{202e}\u{2066}\u{2069}\u{feff}".chars() {
            assert!(steps(&format!("a{bad}b")).is_err(), "{bad:?}");
            assert_eq!(shown(&format!("a{bad}b")), "a\u{fffd}b");
        }
        for good in "\u{200d}\u{2010}\u{202f}\u{2065}\u{206a}\u{ff00}".chars() {
            assert!(steps(&format!("a{good}b")).is_ok(), "{good:?}");
        }
    }

    #[test]
    fn a_colon_is_told_by_what_it_would_do() {
        assert!(steps("c:a").unwrap_err().contains("drive"));
        assert!(steps("ab:c").unwrap_err().contains("does not allow"));
        assert!(steps("a/com0.txt").unwrap_err().contains("device"));
    }

    #[test]
    fn marks_that_are_letters_in_capitals_are_taken_apart_first() {
        assert_eq!(folded("\u{1fb3}"), folded("\u{3b1}\u{345}"));
    }
}
