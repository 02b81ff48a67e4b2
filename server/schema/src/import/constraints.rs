//! Keys and references to them, which become names and references.

use dialect::Kind;

use super::Importer;
use super::components::{Name, Site, Sort};
use super::simple_types::ID;
use super::walk::State;

/// What a `key`, `unique` or `keyref` says about one path.
#[derive(Clone, Debug)]
pub(super) struct Constraint<'a> {
    /// Index of the declaration of the element that it stands in.
    pub(super) declaration: usize,
    pub(super) role: Role,
    pub(super) steps: Vec<Step<'a>>,
    pub(super) leaf: Leaf<'a>,
}

#[derive(Clone, Debug, PartialEq)]
pub(super) enum Role {
    /// Gives names of a kind.
    Name {
        kind: Kind,
        /// Whether something refers to them.
        is_used: bool,
        /// Whether they must be there.
        is_required: bool,
    },
    /// Refers to names of a kind.
    Reference(Kind),
}

#[derive(Copy, Clone, Debug, PartialEq)]
pub(super) enum Step<'a> {
    /// To any depth.
    Descend,
    /// To children of this name; `None`: to all.
    Child(Option<Name<'a>>),
}

#[derive(Copy, Clone, Debug, PartialEq)]
pub(super) enum Leaf<'a> {
    Attribute(&'a str),
    Text,
}

const SCOPE: &str =
    "names are unique in a document, not within an element; this key or reference is not kept";

impl<'a> Importer<'a> {
    /// The constraints that hold for a whole document, since their element stands in it only once. `states`: of the
    /// documents, without any constraints.
    pub(super) fn constraints(&mut self, states: &[State<'a>]) -> Vec<Constraint<'a>> {
        let mut sites = Vec::new();
        for (schema, source) in self.components.schemas.iter().enumerate() {
            let of_interest =
                |site: &Site<'a>| ["key", "unique", "keyref"].iter().any(|name| site.is(name));
            sites.extend(
                source
                    .document
                    .descendants()
                    .map(|node| Site { schema, node })
                    .filter(of_interest),
            );
        }
        let mut kept: Vec<(Site<'a>, usize)> = Vec::new();
        for site in sites {
            let parent = site.node.parent().map(|node| site.at(node));
            let declaration = parent
                .and_then(|parent| self.declared_at.get(&parent.id()))
                .copied();
            let name = site.attribute("name").unwrap_or_default();
            // What no document comes to is of no interest.
            let Some(declaration) =
                declaration.filter(|at| states.iter().any(|state| state.declaration == *at))
            else {
                continue;
            };
            if site.children().filter(|child| child.is("field")).count() != 1 {
                self.notes
                    .add_about(name, "names of several parts are not kept");
            } else if !is_once(states, declaration) {
                self.notes.add_about(name, SCOPE);
            } else {
                kept.push((site, declaration));
            }
        }
        let mut constraints = Vec::new();
        for (site, declaration) in &kept {
            let role = match site.attribute("refer") {
                None => {
                    let refers = |(other, _): &(Site<'a>, usize)| {
                        self.referred(*other)
                            .is_some_and(|key| key.id() == site.id())
                    };
                    Role::Name {
                        kind: kind(*site),
                        is_used: kept.iter().any(refers),
                        is_required: site.is("key"),
                    }
                }
                Some(_) => match self
                    .referred(*site)
                    .filter(|key| kept.iter().any(|(site, _)| site.id() == key.id()))
                {
                    Some(key) => Role::Reference(kind(key)),
                    None => continue,
                },
            };
            for (steps, leaf) in self.paths(*site) {
                constraints.push(Constraint {
                    declaration: *declaration,
                    role: role.clone(),
                    steps,
                    leaf,
                });
            }
        }
        constraints
    }

    /// The key that a `keyref` refers to.
    fn referred(&self, site: Site<'a>) -> Option<Site<'a>> {
        self.components
            .find(Sort::Constraint, site, site.attribute("refer")?)
    }

    /// Each way from the element to the value.
    fn paths(&mut self, site: Site<'a>) -> Vec<(Vec<Step<'a>>, Leaf<'a>)> {
        let xpath = |name| {
            site.child(&[name])
                .and_then(|child| Some((child, child.attribute("xpath")?)))
        };
        let (Some((selector, selected)), Some((field, value))) =
            (xpath("selector"), xpath("field"))
        else {
            return Vec::new();
        };
        let mut paths = Vec::new();
        for start in selected.split('|') {
            for end in value.split('|') {
                let start = self.path(selector, start);
                let end = self.path(field, end);
                if let (Some((mut steps, Leaf::Text)), Some((more, leaf))) = (start, end) {
                    steps.extend(more);
                    paths.push((steps, leaf));
                } else {
                    self.notes.add_about(
                        site.attribute("name").unwrap_or_default(),
                        "the path of a key could not be read",
                    );
                }
            }
        }
        paths
    }

    /// The paths of XML Schema (part 1, 3.11.6): `.//a/b`, `a/*`, `@name`, `.`.
    fn path(&self, at: Site<'a>, path: &'a str) -> Option<(Vec<Step<'a>>, Leaf<'a>)> {
        let mut steps = Vec::new();
        let mut leaf = Leaf::Text;
        let path = path.trim();
        let path = match path.strip_prefix(".//") {
            Some(rest) => {
                steps.push(Step::Descend);
                rest
            }
            None => path,
        };
        for step in path.split('/').map(str::trim) {
            if leaf != Leaf::Text {
                return None;
            }
            let attribute = step.strip_prefix('@').or(step.strip_prefix("attribute::"));
            if let Some(name) = attribute.map(str::trim) {
                // Attributes with a prefix are left alone.
                let is_plain = !name.is_empty() && !name.contains([':', '*']);
                leaf = is_plain.then_some(Leaf::Attribute(name))?;
                continue;
            }
            let name = step.strip_prefix("child::").unwrap_or(step);
            match name {
                "." => {}
                "*" => steps.push(Step::Child(None)),
                "" => return None,
                name if name.ends_with(":*") => steps.push(Step::Child(None)),
                name => {
                    let mut name = self.components.resolve(at, name);
                    // The default namespace is not that of paths.
                    name.namespace = name.namespace.filter(|_| step.contains(':'));
                    steps.push(Step::Child(Some(name)));
                }
            }
        }
        Some((steps, leaf))
    }
}

/// What the names of a key are called.
fn kind(key: Site<'_>) -> Kind {
    match key.attribute("name").unwrap_or_default() {
        // These mean something else in a dialect.
        name @ (ID | "index-path") => Kind::new(&format!("{name}-key")),
        name => Kind::new(name),
    }
}

/// Whether an element stands in each document at most once.
fn is_once(states: &[State<'_>], declaration: usize) -> bool {
    let mut at: Vec<usize> = (0..states.len())
        .filter(|state| states[*state].declaration == declaration)
        .collect();
    let mut steps = 0;
    while let [only] = at.as_slice() {
        let only = *only;
        steps += 1;
        let mut parents = Vec::new();
        for (parent, state) in states.iter().enumerate() {
            for edge in state.edges.iter().filter(|edge| edge.to == only) {
                if edge.max != Some(1) {
                    return false;
                }
                parents.push(parent);
            }
        }
        if parents.is_empty() {
            return true;
        }
        if states[only].is_root || steps > states.len() {
            return false;
        }
        at = parents;
    }
    false
}
