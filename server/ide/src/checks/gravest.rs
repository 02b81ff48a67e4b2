//! The gravest of many findings, chosen while they are made: a document full of mistakes takes no more room than one
//! with some, and no message is written that nobody will read.

use std::cmp::Ordering;

use syntax::TextSize;

use super::MOST_FINDINGS;
use crate::{Finding, Severity};

/// So many are looked at together before the [`MOST_FINDINGS`] gravest are told, since some follow from others or are
/// accepted by comments.
pub(super) const MOST: usize = 2 * MOST_FINDINGS;

/// So many more are taken before those are chosen: the fewer, the less memory, and the more often it is done.
const ROOM: usize = MOST / 4;

/// Takes findings in any order, and keeps the gravest; of those that are equally grave, the first of the document.
#[derive(Debug, Default)]
pub(super) struct Gravest {
    /// Not many more than count in the end.
    kept: Vec<Finding>,
    /// Severity and place of the last one that counts, if there are enough.
    last: Option<(Severity, TextSize)>,
    /// Findings of this severity and lesser ones are not taken at all.
    bar: Option<Severity>,
    some_left_out: bool,
}

impl Gravest {
    /// Takes only findings that are graver than `bar`, if there is one.
    pub(super) fn below(bar: Option<Severity>) -> Self {
        Self {
            bar,
            ..Self::default()
        }
    }

    /// Whether a finding that is at most so grave, and not before this place, would be kept; else nobody need make it.
    pub(super) fn wants(&self, severity: Severity, start: TextSize) -> bool {
        self.bar.is_none_or(|bar| severity < bar)
            && self.last.is_none_or(|last| (severity, start) <= last)
    }

    /// There are findings that were left out before these were chosen from.
    pub(super) fn leave_out(&mut self) {
        self.some_left_out = true;
    }

    pub(super) fn push(&mut self, finding: Finding) {
        if self.wants(finding.severity, finding.range.start()) {
            self.kept.push(finding);
            if self.kept.len() >= MOST + ROOM {
                self.choose();
            }
        }
    }

    fn choose(&mut self) {
        if self.kept.len() > MOST {
            self.kept.select_nth_unstable_by(MOST - 1, by_severity);
            self.kept.truncate(MOST);
            let last = self.kept.last();
            self.last = last.map(|last| (last.severity, last.range.start()));
            self.leave_out();
        }
    }

    /// Those that count, by place, and whether they are all there were but for those that the bar keeps out.
    pub(super) fn done(mut self) -> (Vec<Finding>, bool) {
        self.choose();
        self.kept.sort_by(by_place);
        (self.kept, !self.some_left_out)
    }
}

impl Extend<Finding> for Gravest {
    fn extend<I: IntoIterator<Item = Finding>>(&mut self, findings: I) {
        findings.into_iter().for_each(|finding| self.push(finding));
    }
}

/// By place; if they are more than [`MOST_FINDINGS`], only the gravest of them. Whether these are all.
pub(super) fn most_of(mut findings: Vec<Finding>) -> (Vec<Finding>, bool) {
    let are_all = findings.len() <= MOST_FINDINGS;
    if !are_all {
        findings.select_nth_unstable_by(MOST_FINDINGS - 1, by_severity);
        findings.truncate(MOST_FINDINGS);
    }
    findings.sort_by(by_place);
    (findings, are_all)
}

/// How many findings of each severity there are, going through a document from its start.
#[derive(Debug, Default)]
pub(super) struct Tally {
    counts: [usize; 4],
}

impl Tally {
    /// `are_all`: whether these are all that there were.
    pub(super) fn add(&mut self, findings: &[Finding], are_all: bool) {
        for finding in findings {
            self.counts[finding.severity as usize] += 1;
        }
        let least = findings.iter().map(|finding| finding.severity).max();
        if let Some(least) = least.filter(|_| !are_all) {
            self.counts[least as usize] += 1;
        }
    }

    /// Of what comes behind, only what is graver than this can still be among the gravest: there is enough of it.
    pub(super) fn bar(&self) -> Option<Severity> {
        let mut sum = 0;
        Severity::ALL.into_iter().find(|severity| {
            sum += self.counts[*severity as usize];
            sum > MOST
        })
    }

    /// Whether some of what was counted will not be told.
    pub(super) fn is_over(&self) -> bool {
        self.bar().is_some()
    }
}

fn by_place(a: &Finding, b: &Finding) -> Ordering {
    let place = |finding: &Finding| (finding.range.start(), finding.range.end(), finding.code);
    place(a)
        .cmp(&place(b))
        .then_with(|| a.message.cmp(&b.message))
}

fn by_severity(a: &Finding, b: &Finding) -> Ordering {
    a.severity.cmp(&b.severity).then_with(|| by_place(a, b))
}

#[cfg(test)]
mod tests {
    use syntax::TextRange;

    use super::*;
    use crate::codes;

    /// One at each place, every tenth an error, in an order that jumps about.
    fn all(count: u32) -> Vec<Finding> {
        let places = (0..count).map(|n| n * 7919 % count);
        let finding = |at: u32| {
            let range = TextRange::at(TextSize::new(at), TextSize::new(1));
            match at % 10 {
                0 => codes::UNKNOWN_NAME.at(range, "gone"),
                _ => codes::UNUSED_ALIAS.at(range, "unused"),
            }
        };
        places.map(finding).collect()
    }

    #[test]
    fn those_are_kept_that_sorting_all_would_choose() {
        let count = u32::try_from(5 * MOST).unwrap() + 3;
        let mut expected = all(count);
        expected.sort_by(by_severity);
        expected.truncate(MOST);
        expected.sort_by(by_place);
        let mut gravest = Gravest::default();
        gravest.extend(all(count));
        assert!(gravest.kept.len() < MOST + ROOM);
        assert_eq!(gravest.done(), (expected, false));
    }

    #[test]
    fn as_many_as_fit_are_all() {
        let count = u32::try_from(MOST).unwrap();
        let mut gravest = Gravest::default();
        gravest.extend(all(count));
        let (kept, are_all) = gravest.done();
        assert_eq!((kept.len(), are_all), (MOST, true));
    }

    #[test]
    fn behind_enough_errors_nothing_counts_and_behind_enough_hints_errors_do() {
        let of = |finding: &Finding, count| vec![finding.clone(); count];
        let error = codes::UNKNOWN_NAME.at(TextRange::default(), "gone");
        let hint = codes::UNUSED_ALIAS.at(TextRange::default(), "unused");
        let mut tally = Tally::default();
        tally.add(&of(&error, MOST), true);
        assert_eq!(tally.bar(), None);
        tally.add(&of(&hint, 1), true);
        assert_eq!(tally.bar(), Some(hint.severity));
        tally.add(&of(&error, 1), true);
        assert_eq!(tally.bar(), Some(Severity::Error));
        assert!(!Gravest::below(tally.bar()).wants(Severity::Error, TextSize::new(0)));
    }
}
