//! A long text, parsed by two threads: the near half from its start, the far half from somewhere in what is left when it
//! begins. Nobody knows which elements are open there. So the far half parses siblings up to an end tag that closes none
//! of them: that is a run. It goes on with the next run behind that end tag. The near half takes a run over when it has
//! come to where the run begins. A run in which nothing is odd has the same tree wherever it stands; the others are thrown
//! away.

use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::mpsc::{Receiver, Sender, channel};

use super::{Outer, Parser};
use crate::tree::Notes;
use crate::wide::Green;

/// A shorter rest is not worth the trouble.
const SHORTEST: usize = 64 << 10;

/// At most so many elements are open around a run.
const AROUND: usize = 100;

/// Stands for a place that is not known yet, or that is not in the text.
const NOWHERE: usize = usize::MAX;

/// Siblings that stand one behind the other.
#[derive(Debug)]
struct Run {
    children: Vec<Green>,
    end: usize,
    /// Where the next run may begin: behind the end tag that stands at `end`.
    next: usize,
}

/// What the halves tell each other.
#[derive(Debug)]
struct Places {
    /// How far the near half had come before the far one began. From then on nothing is written here, since the far half
    /// looks here all the time and the value would go back and forth between the cores; but for [`NOWHERE`], once no
    /// runs are wanted any more.
    reached: AtomicUsize,
    /// Where the far half begins.
    begin: AtomicUsize,
}

/// The near half's view of the far one.
#[derive(Debug)]
pub(super) struct Ahead {
    places: Arc<Places>,
    runs: Receiver<Run>,
    /// Where the run begins that is awaited; None: it is the first, which begins at [`Places::begin`].
    next: Option<usize>,
}

/// The half that begins at the start of the text and takes over the runs of the other one.
#[derive(Debug)]
pub struct Near<'s> {
    pub(crate) text: &'s str,
    ahead: Ahead,
}

/// The half that begins somewhere in what is left when it begins.
#[derive(Debug)]
pub struct Far<'s> {
    text: &'s str,
    places: Arc<Places>,
    runs: Sender<Run>,
}

/// A text in two halves, for two threads. Whether there is a second one, and when it begins, makes no difference to the
/// tree.
pub fn in_two(text: &str) -> (Near<'_>, Far<'_>) {
    let places = Arc::new(Places {
        reached: AtomicUsize::new(0),
        begin: AtomicUsize::new(NOWHERE),
    });
    let (sender, runs) = channel();
    let ahead = Ahead {
        places: places.clone(),
        runs,
        next: None,
    };
    let far = Far {
        text,
        places,
        runs: sender,
    };
    (Near { text, ahead }, far)
}

impl<'s> Near<'s> {
    pub(crate) fn parser(self) -> Parser<'s> {
        Parser {
            ahead: Some(self.ahead),
            ..Parser::new(self.text)
        }
    }
}

impl Drop for Ahead {
    fn drop(&mut self) {
        self.places.reached.store(NOWHERE, Ordering::Relaxed);
    }
}

impl Far<'_> {
    /// Parses ahead of the other half until the end, or until that wants no more.
    pub fn parse(self) {
        let reached = self.places.reached.load(Ordering::Relaxed);
        let left = self.text.len().saturating_sub(reached);
        if left >= SHORTEST
            && let Some(begin) = start_of_tag(self.text, reached + left / 2)
        {
            self.parse_from(begin);
        }
    }

    fn parse_from(self, begin: usize) {
        self.places.begin.store(begin, Ordering::Relaxed);
        let mut at = begin;
        while let Some(run) = self.run(at) {
            at = run.next;
            if self.runs.send(run).is_err() {
                return;
            }
        }
    }

    /// The run from `begin`. None: there is no end tag behind it, something in it is odd, or nobody wants it.
    fn run(&self, begin: usize) -> Option<Run> {
        let text = self.text;
        let outer = Outer {
            elements: Vec::new(),
            names: None,
            depth: AROUND,
            doctype: None,
        };
        let mut parser = Parser::fragment(text, begin..text.len(), outer);
        while !(parser.frames.is_empty() && text[parser.at..].starts_with("</")) {
            let is_wanted = self.places.reached.load(Ordering::Relaxed) != NOWHERE;
            if parser.at == text.len() || !is_wanted || !parser.is_as_anywhere() {
                return None;
            }
            parser.step();
        }
        let next = parser.at + memchr::memchr(b'>', &text.as_bytes()[parser.at..])? + 1;
        parser.is_as_anywhere().then_some(Run {
            children: parser.children,
            end: parser.at,
            next,
        })
    }
}

impl Parser<'_> {
    /// Takes the run that begins here, if one does.
    #[inline]
    pub(super) fn take_run(&mut self) -> bool {
        let Some(ahead) = &self.ahead else {
            return false;
        };
        let begin = || ahead.places.begin.load(Ordering::Relaxed);
        let begin = ahead.next.unwrap_or_else(begin);
        if begin == NOWHERE {
            ahead.places.reached.store(self.at, Ordering::Relaxed);
        }
        // Once something is wrong, no run will do, and the other thread need not go on.
        (self.at >= begin || !self.errors.is_empty()) && self.take_run_or_none()
    }

    #[cold]
    fn take_run_or_none(&mut self) -> bool {
        let Some(mut ahead) = self.ahead.take() else {
            return false;
        };
        let begin = || ahead.places.begin.load(Ordering::Relaxed);
        let is_here = self.at == ahead.next.unwrap_or_else(begin);
        let fits = (1..=AROUND).contains(&self.frames.len())
            && self.is_as_anywhere()
            && self.doctype.is_none();
        let run = (is_here && fits).then(|| ahead.runs.recv().ok()).flatten();
        let Some(run) = run else {
            return false;
        };
        self.children.extend(run.children);
        self.at = run.end;
        ahead.next = Some(run.next);
        self.ahead = Some(ahead);
        true
    }

    /// Whether nothing has been odd so far, so that it makes no difference what stands around.
    fn is_as_anywhere(&self) -> bool {
        self.errors.is_empty()
            && self.doubtful.is_empty()
            && !self.aborted
            && self.notes == Notes::default()
    }
}

/// The next start tag, as it seems.
fn start_of_tag(text: &str, from: usize) -> Option<usize> {
    let bytes = text.as_bytes();
    let starts = memchr::memchr_iter(b'<', &bytes[from..]).map(|found| from + found);
    let is_named = |&at: &usize| bytes.get(at + 1).is_some_and(u8::is_ascii_alphabetic);
    starts.into_iter().find(is_named)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::incremental::tests::{MACHINE, PIECES, Random, assert_same};
    use crate::parse;

    /// The text parsed in halves of which the far one begins at `begin` and is done before the near one starts.
    fn assert_same_from(text: &str, begin: usize) {
        let (near, far) = in_two(text);
        far.parse_from(begin);
        let tree = near.parse(|| true);
        assert_same(&tree, text, &|| format!("in halves, from {begin}"));
    }

    fn every_place(text: &str) -> impl Iterator<Item = usize> {
        (0..=text.len()).filter(|&at| text.is_char_boundary(at))
    }

    #[test]
    fn a_sound_text_is_the_same_wherever_it_is_cut() {
        for begin in every_place(MACHINE) {
            assert_same_from(MACHINE, begin);
        }
    }

    #[test]
    fn so_is_any_other_text() {
        let mut random = Random(3);
        for round in 0..60 {
            let mut text = match round % 3 {
                0 => "<a><b>1</b><b x=\"1\"/><a>t</a></a>".repeat(3),
                _ => MACHINE.to_owned(),
            };
            for _ in 0..random.below(4) {
                let at = text.floor_char_boundary(random.below(text.len() + 1));
                let end = text.floor_char_boundary(at + random.below(2) * random.below(12));
                let insert = PIECES[random.below(PIECES.len())];
                text.replace_range(at..end.max(at), insert);
            }
            let offset = random.below(7);
            for begin in every_place(&text).skip(offset).step_by(7) {
                assert_same_from(&text, begin);
            }
        }
    }

    /// Where the runs from a place begin and end.
    fn runs(text: &str, begin: usize) -> Vec<&str> {
        let (_near, far) = in_two(text);
        let mut at = begin;
        let mut runs = Vec::new();
        while let Some(run) = far.run(at) {
            runs.push(&text[at..run.end]);
            at = run.next;
        }
        runs
    }

    #[test]
    fn a_run_goes_up_to_an_end_tag_of_something_around() {
        let text = "<m><a>1<b/><b>2</b></a ><a/><c x='>'>3</c></m>\n";
        let begin = text.find("<b/>").unwrap();
        assert_eq!(runs(text, begin), ["<b/><b>2</b>", "<a/><c x='>'>3</c>"]);
    }

    #[test]
    fn nothing_odd_stands_in_a_run() {
        for odd in [
            "<b x=1/>",
            "<b",
            "&e;",
            "<p:b/>",
            "<b></c>",
            "<!DOCTYPE b>",
            "]]>",
        ] {
            let text = format!("<m xmlns:p='u'><a/>{odd}</m>");
            assert!(runs(&text, 16).is_empty(), "{odd}");
        }
        let deep = format!("<m><a/>{}{}</m>", "<b>".repeat(450), "</b>".repeat(450));
        assert!(runs(&deep, 3).is_empty());
    }

    #[test]
    fn nothing_is_parsed_that_nobody_wants() {
        let text = "<m><a/></m>";
        let (near, far) = in_two(text);
        drop(near);
        assert!(far.run(3).is_none());
    }

    #[test]
    fn nothing_is_wanted_once_something_is_wrong() {
        let (near, far) = in_two("<m x=1><a/></m>");
        let mut parser = near.parser();
        parser.take_run();
        assert!(far.run(7).is_some());
        parser.step();
        parser.take_run();
        assert!(far.run(7).is_none());
    }

    #[test]
    fn the_far_half_begins_in_the_middle_of_a_long_rest() {
        let rows = "  <a x='1'>1</a>\n".repeat(10_000);
        let text = format!("<m>\n{rows}</m>\n");
        let (near, far) = in_two(&text);
        let (places, middle) = (far.places.clone(), text.len() / 2);
        far.parse();
        let begin = places.begin.load(Ordering::Relaxed);
        assert!((middle..middle + 20).contains(&begin), "{begin}");
        assert_same(&near.parse(|| false), &text, &|| "in halves".into());
        let (_near, far) = in_two(MACHINE);
        let places = far.places.clone();
        far.parse();
        assert_eq!(places.begin.load(Ordering::Relaxed), NOWHERE);
    }

    #[test]
    fn both_at_the_same_time_make_the_same_tree() {
        let rows = "  <a x='1'><b>1</b><!-- c --></a>\n".repeat(5_000);
        for odd in ["", "<a>", "</m>", "<!-- ", "\u{1}"] {
            let text = format!("<m>\n{rows}{odd}{rows}</m>\n");
            let (near, far) = in_two(&text);
            let tree = std::thread::scope(|scope| {
                scope.spawn(|| far.parse());
                near.parse(|| true)
            });
            let full = parse(&text);
            assert_eq!(tree.green, full.green, "{odd:?}");
            assert_eq!(tree.errors, full.errors, "{odd:?}");
        }
    }
}
