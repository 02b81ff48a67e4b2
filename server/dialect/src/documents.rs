//! Which documents a dialect is about.

use syntax::Element;

use crate::grammar::Learnt;

/// The key under which a dialect file has the name of a document.
pub const NAME_KEY: &str = "name";

/// One kind of document.
#[derive(Clone, Debug, PartialEq)]
pub struct DocumentKind {
    /// What the dialect calls it.
    pub name: String,
    /// What it is for; may be empty.
    pub doc: String,
    /// The local name of the root element.
    pub root: String,
    /// The root's namespace: `None` asks for none in particular, an empty one for none at all.
    pub namespace: Option<String>,
    /// Other namespaces whose elements belong to the document as well; an empty one is none at all.
    pub inner_namespaces: Vec<String>,
    /// Patterns for the file's name with `*` and `?`; letter case means nothing.
    pub files: Vec<String>,
    /// What the root looks like, where other kinds have the same root.
    pub marks: Marks,
    /// Whether it is the manifest of a mod.
    pub is_manifest: bool,
    /// Where it comes from, if it was told from others with the same root by what files look like.
    pub learnt: Option<Learnt>,
}

/// What tells a kind of document from others with the same root.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct Marks {
    /// Local names of elements: one of them at least stands directly in the root. Empty: they tell nothing.
    pub holds: Vec<String>,
    /// Attributes of the root, each with the values that it may have, or none if any value will do.
    pub attributes: Vec<(String, Vec<String>)>,
}

/// Whether a document has the marks of a kind; greater is better.
#[derive(Copy, Clone, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Marked {
    /// It lacks some: such a document is of this kind if it is of no other.
    No,
    /// The kind has none.
    Unasked,
    /// It has them all.
    Yes,
}

/// So many of the root's children are looked at: what a document is about shows early.
const LOOKED_AT: usize = 200;

impl Marks {
    /// Whether there are none.
    pub fn is_empty(&self) -> bool {
        self.holds.is_empty() && self.attributes.is_empty()
    }

    /// Whether a root has them.
    pub fn fit(&self, root: Option<Element<'_>>) -> Marked {
        if self.is_empty() {
            return Marked::Unasked;
        }
        let Some(root) = root else {
            return Marked::No;
        };
        let is_said = |(name, values): &(String, Vec<String>)| {
            root.attribute(name).is_some_and(|attribute| {
                values.is_empty() || values.iter().any(|value| *value == attribute.value())
            })
        };
        let mut children = root.children().take(LOOKED_AT);
        let holds = self.holds.is_empty()
            || children.any(|child| self.holds.iter().any(|name| name == child.local_name()));
        match holds && self.attributes.iter().all(is_said) {
            true => Marked::Yes,
            false => Marked::No,
        }
    }
}

/// How well a document fits a kind; greater is better.
#[derive(Copy, Clone, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Fit {
    /// Only by the file's name: the root is missing, misspelled or without its namespace; or by the names of file
    /// and root, but not by its namespace.
    FileName,
    /// By its namespace, but the root's name is another.
    Namespace,
    /// By its namespace and the file's name, but the root's name is another.
    NamespaceAndFileName,
    /// By the root's name; the kind asks for no namespace.
    Root,
    /// By the root's name and the file's name; the kind asks for no namespace.
    RootAndFileName,
    /// By the root's name and namespace.
    RootAndNamespace,
    /// By the names of root and file, and by the namespace.
    All,
}

impl DocumentKind {
    /// How well a document fits, if at all.
    ///
    /// `root` is the root element's namespace and local name, if there is a root.
    /// `file_name` may have folders before it; they are ignored.
    pub fn fit(&self, root: Option<(Option<&str>, &str)>, file_name: &str) -> Option<Fit> {
        let mut steps = file_name.bytes();
        let start = steps.rposition(|byte| matches!(byte, b'/' | b'\\'));
        let start = start.map_or(0, |at| at + 1);
        let named = self
            .files
            .iter()
            .any(|pattern| fits_pattern(pattern, &file_name[start..]));
        let by_name = named.then_some(Fit::FileName);
        let Some((namespace, root)) = root else {
            return by_name;
        };
        let namespace = namespace.unwrap_or("");
        match &self.namespace {
            Some(asked) if asked == namespace => match root == self.root {
                true if !asked.is_empty() && named => Some(Fit::All),
                true if !asked.is_empty() => Some(Fit::RootAndNamespace),
                true if named => Some(Fit::RootAndFileName),
                true if self.files.is_empty() => Some(Fit::Root),
                false if !asked.is_empty() && named => Some(Fit::NamespaceAndFileName),
                false if !asked.is_empty() => Some(Fit::Namespace),
                _ => by_name,
            },
            // A namespace that is neither asked for nor absent marks somebody else's document, unless all else fits.
            Some(asked) if !namespace.is_empty() => {
                by_name.filter(|_| root == self.root && !asked.is_empty())
            }
            Some(_) => by_name,
            None if root == self.root => match (named, self.files.is_empty()) {
                (true, _) => Some(Fit::RootAndFileName),
                (false, true) => Some(Fit::Root),
                (false, false) => None,
            },
            None => by_name,
        }
    }
}

/// Whether a pattern with `*` (any run) and `?` (any one character) fits a whole name.
fn fits_pattern(pattern: &str, name: &str) -> bool {
    if pattern.is_ascii() && name.is_ascii() {
        // Asked of every file around a document, and nearly all are so.
        let (pattern, name) = (pattern.as_bytes(), name.as_bytes());
        let end = pattern.last().filter(|end| !matches!(end, b'*' | b'?'));
        let may_end = |end: &u8| {
            name.last()
                .is_some_and(|last| last.eq_ignore_ascii_case(end))
        };
        return end.is_none_or(may_end)
            && fits_wild(pattern, name, (b'*', b'?'), u8::eq_ignore_ascii_case);
    }
    let small = |text: &str| text.to_lowercase().chars().collect::<Vec<char>>();
    fits_wild(&small(pattern), &small(name), ('*', '?'), char::eq)
}

fn fits_wild<T: PartialEq>(
    pattern: &[T],
    name: &[T],
    (any_run, any_one): (T, T),
    is_same: impl Fn(&T, &T) -> bool,
) -> bool {
    let (mut p, mut n) = (0, 0);
    // Where to go on if the run that the last `*` took was too short.
    let mut retry: Option<(usize, usize)> = None;
    while n < name.len() {
        match pattern.get(p) {
            Some(c) if *c == any_run => {
                retry = Some((p + 1, n));
                p += 1;
            }
            Some(c) if *c == any_one || is_same(c, &name[n]) => {
                p += 1;
                n += 1;
            }
            _ => match retry {
                Some((after_run, from)) => {
                    retry = Some((after_run, from + 1));
                    p = after_run;
                    n = from + 1;
                }
                None => return false,
            },
        }
    }
    pattern[p..].iter().all(|c| *c == any_run)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn kind(namespace: Option<&str>, files: &[&str]) -> DocumentKind {
        DocumentKind {
            name: "machine".into(),
            doc: String::new(),
            root: "machine".into(),
            namespace: namespace.map(str::to_owned),
            inner_namespaces: Vec::new(),
            files: files.iter().map(|file| file.to_string()).collect(),
            marks: Marks::default(),
            is_manifest: false,
            learnt: None,
        }
    }

    #[test]
    fn patterns() {
        assert!(fits_pattern("*.machine.xml", "bram-6.machine.xml"));
        assert!(fits_pattern("*.machine.xml", "BRAM.Machine.XML"));
        assert!(!fits_pattern("*.machine.xml", "bram-6.xml"));
        assert!(fits_pattern("mod.xml", "mod.xml"));
        assert!(!fits_pattern("mod.xml", "mod.xml.bak"));
        assert!(fits_pattern("a*b*c", "a-b-b-c"));
        assert!(fits_pattern("?.xml", "ä.xml"));
        assert!(!fits_pattern("?.xml", ".xml"));
        assert!(fits_pattern("*", ""));
    }

    #[test]
    fn a_namespace_decides() {
        let kind = kind(Some("urn:a"), &["*.machine.xml"]);
        let root = |namespace, name| Some((namespace, name));
        assert_eq!(
            kind.fit(root(Some("urn:a"), "machine"), "x.xml"),
            Some(Fit::RootAndNamespace)
        );
        assert_eq!(kind.fit(root(Some("urn:b"), "machine"), "x.xml"), None);
        assert_eq!(
            kind.fit(root(Some("urn:b"), "other"), "x.machine.xml"),
            None
        );
        assert_eq!(
            kind.fit(root(Some("urn:a"), "machne"), "x.xml"),
            Some(Fit::Namespace)
        );
        // Of several kinds in one namespace, a misspelled root is of that which the file's name tells.
        let named = kind.fit(root(Some("urn:a"), "machne"), "x.machine.xml");
        assert_eq!(named, Some(Fit::NamespaceAndFileName));
        assert!(named > Some(Fit::Namespace) && named < Some(Fit::RootAndNamespace));
        assert_eq!(kind.fit(root(None, "machine"), "x.xml"), None);
    }

    #[test]
    fn a_slip_in_the_namespace_is_forgiven_where_all_else_fits() {
        let kind = kind(Some("urn:a"), &["*.machine.xml"]);
        assert_eq!(
            kind.fit(Some((Some("urn:b"), "machine")), "x.machine.xml"),
            Some(Fit::FileName)
        );
    }

    #[test]
    fn a_slip_in_the_root_is_forgiven_where_the_file_name_fits() {
        let kind = kind(Some("urn:a"), &["*.machine.xml"]);
        assert_eq!(
            kind.fit(Some((None, "machine")), "a/x.machine.xml"),
            Some(Fit::FileName)
        );
        assert_eq!(
            kind.fit(Some((None, "mach")), "x.machine.xml"),
            Some(Fit::FileName)
        );
        assert_eq!(kind.fit(None, "x.machine.xml"), Some(Fit::FileName));
        assert_eq!(kind.fit(None, "x.xml"), None);
    }

    #[test]
    fn without_a_namespace_root_and_file_name_decide() {
        let by_root = kind(None, &[]);
        assert_eq!(
            by_root.fit(Some((None, "machine")), "x.xml"),
            Some(Fit::Root)
        );
        assert_eq!(by_root.fit(Some((None, "other")), "x.xml"), None);
        let both = kind(None, &["*.m"]);
        assert_eq!(
            both.fit(Some((Some("urn:z"), "machine")), "x.m"),
            Some(Fit::RootAndFileName)
        );
        assert_eq!(both.fit(Some((None, "machine")), "x.xml"), None);
        let none_at_all = kind(Some(""), &[]);
        assert_eq!(
            none_at_all.fit(Some((None, "machine")), "x.xml"),
            Some(Fit::Root)
        );
        assert_eq!(
            none_at_all.fit(Some((Some("urn:z"), "machine")), "x.xml"),
            None
        );
    }

    #[test]
    fn marks_of_the_root() {
        let marks = Marks {
            holds: vec!["rig".into(), "limb".into()],
            attributes: vec![
                ("kind".into(), vec!["crane".into(), "lift".into()]),
                ("version".into(), Vec::new()),
            ],
        };
        let fit = |text: &str| marks.fit(syntax::parse(text).root());
        assert_eq!(
            fit("<a kind='lift' version='3'><b/><rig/></a>"),
            Marked::Yes
        );
        assert_eq!(fit("<a kind='lift' version='3'><b/></a>"), Marked::No);
        assert_eq!(fit("<a kind='lift'><rig/></a>"), Marked::No);
        assert_eq!(fit("<a kind='boat' version=''><rig/></a>"), Marked::No);
        assert_eq!(marks.fit(None), Marked::No);
        assert_eq!(Marks::default().fit(None), Marked::Unasked);
    }
}
