//! The codes of all checks: a word each, with its group, its severity and an offline page.
//!
//! A page is Markdown: the code as title, one line that says what it is, then the sections Bad, Good, Why and Fix.
//! Its examples are in the house dialect; a test checks that the bad one yields the code and the good one does not.

use std::fmt;
use syntax::TextRange;

use crate::{Finding, Severity};

/// One code that a finding may carry.
#[derive(Debug)]
pub struct Code {
    pub name: &'static str,
    pub group: Group,
    pub severity: Severity,
    /// The page as Markdown.
    pub page: &'static str,
}

impl Code {
    /// What the code stands for, in one line.
    pub fn summary(&self) -> &'static str {
        let after_title = self.page.lines().skip(1);
        after_title
            .map(str::trim)
            .find(|line| !line.is_empty())
            .unwrap_or_default()
    }

    /// A finding of this code and its usual severity.
    pub fn at(&self, range: TextRange, message: impl Into<String>) -> Finding {
        Finding::new(self.name, self.severity, range, message)
    }
}

/// What a code is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Group {
    Form,
    Grammar,
    Names,
    Scene,
    Files,
    Motion,
    Controls,
    Mod,
    Suppressions,
    Setup,
}

impl Group {
    pub const ALL: [Group; 10] = [
        Group::Form,
        Group::Grammar,
        Group::Names,
        Group::Scene,
        Group::Files,
        Group::Motion,
        Group::Controls,
        Group::Mod,
        Group::Suppressions,
        Group::Setup,
    ];

    /// The word that stands with a finding and names the folder of its examples.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Form => "form",
            Self::Grammar => "grammar",
            Self::Names => "names",
            Self::Scene => "scene",
            Self::Files => "files",
            Self::Motion => "motion",
            Self::Controls => "controls",
            Self::Mod => "mod",
            Self::Suppressions => "suppressions",
            Self::Setup => "setup",
        }
    }

    /// What the group's checks look at, in a few words.
    pub fn about(self) -> &'static str {
        match self {
            Self::Form => "is it well-formed XML",
            Self::Grammar => "does the dialect know it",
            Self::Names => "do names and their uses fit together",
            Self::Scene => "do paths lead to the right nodes",
            Self::Files => "are the files there",
            Self::Motion => "do the motions make sense",
            Self::Controls => "can the player use it",
            Self::Mod => "does the folder fit the manifest",
            Self::Suppressions => "do comments accept what is found",
            Self::Setup => "can the file and the settings be read",
        }
    }
}

impl fmt::Display for Group {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.as_str())
    }
}

/// Every code, by group.
pub fn all() -> impl Iterator<Item = &'static Code> {
    ALL.iter().copied()
}

/// The code of this name.
pub fn find(name: &str) -> Option<&'static Code> {
    all().find(|code| code.name == name)
}

macro_rules! codes {
    ($($group:ident { $($constant:ident $name:literal $severity:ident)* })*) => {
        $($(
            pub static $constant: Code = Code {
                name: $name,
                group: Group::$group,
                severity: Severity::$severity,
                page: include_str!(concat!("codes/", $name, ".md")),
            };
        )*)*
        static ALL: &[&Code] = &[$($(&$constant),*),*];
    };
}

codes! {
    Form {
        UNCLOSED_ELEMENT "unclosed-element" Error
        STRAY_END_TAG "stray-end-tag" Error
        MISMATCHED_END_TAG "mismatched-end-tag" Error
        UNCLOSED_TAG "unclosed-tag" Error
        UNFINISHED_ATTRIBUTE "unfinished-attribute" Error
        DUPLICATE_ATTRIBUTE "duplicate-attribute" Error
        MISSING_SPACE "missing-space" Error
        STRAY_CHARACTERS "stray-characters" Error
        BAD_REFERENCE "bad-reference" Error
        BAD_CHARACTER "bad-character" Error
        BAD_NAME "bad-name" Error
        BAD_COMMENT "bad-comment" Error
        UNCLOSED_COMMENT "unclosed-comment" Error
        BAD_CDATA "bad-cdata" Error
        BAD_INSTRUCTION "bad-instruction" Error
        BAD_DECLARATION "bad-declaration" Error
        LATE_DECLARATION "late-declaration" Error
        BAD_DOCTYPE "bad-doctype" Error
        BAD_ENTITY "bad-entity" Error
        MISSING_ROOT "missing-root" Error
        EXTRA_ROOT "extra-root" Error
        EXTRA_TEXT "extra-text" Error
        UNBOUND_PREFIX "unbound-prefix" Error
        BAD_NAMESPACE "bad-namespace" Error
        TOO_DEEP "too-deep" Information
        TOO_MANY_ATTRIBUTES "too-many-attributes" Information
        TOO_MANY_ERRORS "too-many-errors" Information
    }
    Grammar {
        UNKNOWN_ELEMENT "unknown-element" Error
        UNKNOWN_ATTRIBUTE "unknown-attribute" Error
        MISSING_ATTRIBUTE "missing-attribute" Error
        MISSING_CHILD "missing-child" Error
        TOO_MANY "too-many" Error
        WRONG_ORDER "wrong-order" Error
        UNEXPECTED_TEXT "unexpected-text" Error
        WRONG_TYPE "wrong-type" Error
        OUT_OF_RANGE "out-of-range" Error
        UNKNOWN_WORD "unknown-word" Error
        WRONG_NAMESPACE "wrong-namespace" Error
    }
    Names {
        UNKNOWN_NAME "unknown-name" Error
        DUPLICATE_NAME "duplicate-name" Error
        UNUSED_ALIAS "unused-alias" Hint
    }
    Scene {
        PATH_NOT_IN_SCENE "path-not-in-scene" Error
        STALE_PATH "stale-path" Warning
        SCENE_UNREADABLE "scene-unreadable" Error
        SCENE_INCOMPLETE "scene-incomplete" Warning
    }
    Files {
        FILE_MISSING "file-missing" Error
        FILE_CASE "file-case" Warning
    }
    Motion {
        EMPTY_WINDOW "empty-window" Error
        PAST_DURATION "past-duration" Warning
        CONTESTED_PART "contested-part" Warning
        JUMP "jump" Warning
        STILL_CHANNEL "still-channel" Information
        REST_MISMATCH "rest-mismatch" Information
        AGAINST_CARRIER "against-carrier" Information
        WHEEL_LEFT_BEHIND "wheel-left-behind" Warning
        LOPSIDED "lopsided" Warning
    }
    Controls {
        INPUT_CLASH "input-clash" Warning
        WRONG_INPUT_KIND "wrong-input-kind" Error
        UNREACHABLE_ANIMATION "unreachable-animation" Information
    }
    Mod {
        ARCHIVE_SHADOWS_FOLDER "archive-shadows-folder" Warning
        UNLISTED_MACHINE "unlisted-machine" Warning
        UNUSED_FILE "unused-file" Hint
        LEFTOVER_FILE "leftover-file" Information
        HEAVY_FILE "heavy-file" Information
        UNTRANSLATED_TEXT "untranslated-text" Information
        MISSING_TEXT "missing-text" Information
    }
    Suppressions {
        BAD_SUPPRESSION "bad-suppression" Warning
        UNUSED_SUPPRESSION "unused-suppression" Hint
    }
    Setup {
        CONFIG_PROBLEM "config-problem" Error
        DIALECT_PROBLEM "dialect-problem" Error
        TWO_DIALECTS "two-dialects" Information
        ENCODING "encoding" Error
        TOO_LARGE "too-large" Error
        ARCHIVE_REFUSED "archive-refused" Error
        OUT_OF_STEP "out-of-step" Error
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_page_has_its_title_a_summary_and_the_four_sections() {
        for code in all() {
            let headings: Vec<&str> = code
                .page
                .lines()
                .filter(|line| line.starts_with('#'))
                .collect();
            let title = format!("# {}", code.name);
            assert_eq!(
                headings,
                [title.as_str(), "## Bad", "## Good", "## Why", "## Fix"],
                "{}",
                code.name
            );
            assert!(
                code.summary().ends_with('.'),
                "{}: {}",
                code.name,
                code.summary()
            );
        }
    }

    #[test]
    fn every_bad_and_every_good_section_shows_an_example() {
        for code in all() {
            for section in ["## Bad", "## Good"] {
                let body = code.page.split(section).nth(1).unwrap();
                assert!(
                    body.trim_start().starts_with("```"),
                    "{} {section}",
                    code.name
                );
            }
        }
    }

    #[test]
    fn codes_are_sorted_by_group_and_no_name_is_used_twice() {
        let groups: Vec<Group> = all().map(|code| code.group).collect();
        assert!(groups.is_sorted());
        let names: std::collections::BTreeSet<&str> = all().map(|code| code.name).collect();
        assert_eq!(names.len(), all().count());
    }

    #[test]
    fn the_form_group_is_what_the_parser_reports() {
        let of_parser: Vec<&str> = syntax::FormCode::ALL
            .iter()
            .map(|code| code.as_str())
            .collect();
        let of_pages: Vec<&str> = all()
            .filter(|code| code.group == Group::Form)
            .map(|code| code.name)
            .collect();
        assert_eq!(of_pages, of_parser);
    }

    #[test]
    fn a_code_is_found_by_its_name_only() {
        assert_eq!(
            find("jump").map(|code| code.severity),
            Some(Severity::Warning)
        );
        assert!(find("Jump").is_none());
    }
}
