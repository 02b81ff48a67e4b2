//! A dialect's paths followed backwards: from a value to the construct that
//! says it.

use super::element::{NewAttribute, NewElement, NewItem};
use dialect::{AttributeDecl, Context, Dialect, Leaf, Path, Predicate, Step, StepKind};
use std::collections::{HashSet, VecDeque};

/// Why a path cannot be written along.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Unwritable {
    /// It leads out of the construct: the value must be there already.
    Outside,
    /// It does not say what to write.
    Vague(String),
    /// The element it would go into holds as many of its kind as it may.
    Full { parent: String, child: String },
    /// A node would have to be called by its name in the scene.
    Nameless,
}

impl std::fmt::Display for Unwritable {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Outside => f.write_str("the dialect looks for this outside of the new element"),
            Self::Full { parent, child } => {
                write!(f, "`<{parent}>` cannot hold another `<{child}>`")
            }
            Self::Nameless => f.write_str("no name in the scene leads to the node and to no other"),
            Self::Vague(path) => write!(
                f,
                "the dialect's path `{path}` does not say which element to write"
            ),
        }
    }
}

/// What a step means for an element that is being made.
pub(super) enum Down {
    /// Child elements of these names, one in the other.
    Through(Vec<String>),
    Stay,
    Up,
}

impl NewElement {
    /// Writes one value where a path leads, making what is missing on the way.
    pub(crate) fn set(
        &mut self,
        dialect: &Dialect,
        path: &Path,
        value: &str,
    ) -> Result<(), Unwritable> {
        self.put(dialect, path, value, None)
    }

    /// Writes several values where a path leads: as one list where the
    /// dialect has a list there (`joint`: what the document has between its
    /// members), else each into an element of its own.
    pub(crate) fn set_all(
        &mut self,
        dialect: &Dialect,
        path: &Path,
        values: &[String],
        joint: Option<&str>,
    ) -> Result<(), Unwritable> {
        let declared = declaration(dialect, &[self.context], path);
        if let Some(declared) = declared.filter(|declared| declared.value.list.is_some()) {
            let list = match joint {
                Some(joint) => values.join(joint),
                None => dialect.write_list(&declared.value, values),
            };
            return self.put(dialect, path, &list, None);
        }
        let Some(repeated) = self.repeated_step(dialect, path) else {
            return match values {
                [] => Ok(()),
                [only] => self.put(dialect, path, only, None),
                _ => Err(Unwritable::Vague(path.to_string())),
            };
        };
        values
            .iter()
            .try_for_each(|value| self.put(dialect, path, value, Some(repeated)))
    }

    /// Which step of a path leads to an element that may stand several times:
    /// the innermost one.
    fn repeated_step(&self, dialect: &Dialect, path: &Path) -> Option<usize> {
        let mut context = self.context;
        let mut last = None;
        let mut repeatable = None;
        for (at, step) in path.steps().iter().enumerate() {
            let Down::Through(names) = down(dialect, context, step)? else {
                continue;
            };
            let count = names.len();
            for (number, name) in names.iter().enumerate() {
                let max = dialect
                    .element(context)
                    .and_then(|known| known.child(name))
                    .map(|rule| rule.max);
                last = Some(at);
                if max.is_some_and(|max| max != Some(1)) {
                    repeatable = Some(at);
                }
                context = made_by(dialect, context, name, step, number + 1 == count);
            }
        }
        repeatable.or(last)
    }

    fn put(
        &mut self,
        dialect: &Dialect,
        path: &Path,
        value: &str,
        fresh_at: Option<usize>,
    ) -> Result<(), Unwritable> {
        if path.is_absolute() {
            return Err(Unwritable::Outside);
        }
        // Child positions from `self` to where the path has led so far.
        let mut trail: Vec<usize> = Vec::new();
        for (at, step) in path.steps().iter().enumerate() {
            let vague = || Unwritable::Vague(path.to_string());
            let context = self.at(&trail).ok_or_else(vague)?.context;
            match down(dialect, context, step).ok_or_else(vague)? {
                Down::Stay => {}
                Down::Up => {
                    trail.pop().ok_or(Unwritable::Outside)?;
                }
                Down::Through(names) => {
                    let last = names.len().saturating_sub(1);
                    for (depth, name) in names.iter().enumerate() {
                        let predicates = if depth == last {
                            step.predicates.as_slice()
                        } else {
                            &[]
                        };
                        let fresh = fresh_at == Some(at) && depth == last;
                        let here = self.at(&trail).ok_or_else(vague)?;
                        let next = here.child(dialect, name, predicates, fresh)?;
                        trail.push(next);
                    }
                }
            }
        }
        let here = self
            .at(&trail)
            .ok_or_else(|| Unwritable::Vague(path.to_string()))?;
        match path.leaf() {
            Leaf::Attribute(name) => here.set_attribute(NewAttribute::new(name, value)),
            Leaf::Text | Leaf::Element => here.set_text(value, false),
        }
        Ok(())
    }

    /// The element below this one that child positions lead to.
    fn at(&mut self, trail: &[usize]) -> Option<&mut NewElement> {
        let mut here = self;
        for &index in trail {
            match here.content.get_mut(index)? {
                NewItem::Element(child) => here = child,
                _ => return None,
            }
        }
        Some(here)
    }

    /// The position in the content of the child that a step leads to, made if
    /// it is missing.
    pub(super) fn child(
        &mut self,
        dialect: &Dialect,
        name: &str,
        predicates: &[Predicate],
        fresh: bool,
    ) -> Result<usize, Unwritable> {
        let named = |item: &NewItem| matches!(item, NewItem::Element(child) if child.name == name);
        if !fresh {
            let found = self
                .content
                .iter()
                .enumerate()
                .filter(|(_, item)| named(item))
                .enumerate()
                .find(|(position, (_, item))| match item {
                    NewItem::Element(child) => predicates
                        .iter()
                        .all(|predicate| child.fits(predicate, *position)),
                    _ => false,
                })
                .map(|(_, (at, _))| at);
            if let Some(at) = found {
                self.satisfy_child(dialect, at, predicates)?;
                return Ok(at);
            }
        }
        let wanted = predicates.iter().find_map(|predicate| match predicate {
            Predicate::Position(position) => usize::try_from(*position).ok(),
            Predicate::Holds { .. } => None,
        });
        let there = self.content.iter().filter(|item| named(item)).count();
        // `param[3]` needs two before it. More than a few is no format anybody writes by hand.
        for _ in there + 1..wanted.unwrap_or(1).min(16) {
            self.push_child(dialect, name, &[]);
        }
        let at = self.push_child(dialect, name, predicates);
        self.satisfy_child(dialect, at, predicates)?;
        Ok(at)
    }

    fn push_child(&mut self, dialect: &Dialect, name: &str, predicates: &[Predicate]) -> usize {
        let child = Self::child_of(self, name, predicates, dialect);
        self.content.push(NewItem::Element(child));
        self.content.len() - 1
    }

    fn satisfy_child(
        &mut self,
        dialect: &Dialect,
        at: usize,
        predicates: &[Predicate],
    ) -> Result<(), Unwritable> {
        match self.at(&[at]) {
            Some(child) => child.satisfy(dialect, predicates),
            None => Ok(()),
        }
    }

    /// Writes what conditions ask for, as far as they say a value.
    pub(crate) fn satisfy(
        &mut self,
        dialect: &Dialect,
        predicates: &[Predicate],
    ) -> Result<(), Unwritable> {
        for predicate in predicates {
            match predicate {
                Predicate::Holds {
                    path,
                    value: Some(value),
                } => self.set(dialect, &path.clone().to_text(), value)?,
                Predicate::Holds { path, value: None } if *path.leaf() == Leaf::Element => {
                    let mut trail = Vec::new();
                    for step in path.steps() {
                        let Some(here) = self.at(&trail) else { break };
                        let Some(Down::Through(names)) = down(dialect, here.context, step) else {
                            break;
                        };
                        for name in names {
                            let Some(here) = self.at(&trail) else { break };
                            let next = here.child(dialect, &name, &step.predicates, false)?;
                            trail.push(next);
                        }
                    }
                }
                // An attribute that only has to be there is one that is written for its own sake.
                Predicate::Holds { .. } | Predicate::Position(_) => {}
            }
        }
        Ok(())
    }
}

/// The context of one of the elements that a step makes; the last of them is the one that its conditions are about.
fn made_by(dialect: &Dialect, above: Context, name: &str, step: &Step, is_last: bool) -> Context {
    let conditions: &[Predicate] = if is_last { &step.predicates } else { &[] };
    dialect.context_where(above, name, conditions)
}

pub(super) fn down(dialect: &Dialect, context: Context, step: &Step) -> Option<Down> {
    match &step.kind {
        StepKind::Itself => Some(Down::Stay),
        StepKind::Parent => Some(Down::Up),
        StepKind::Child(Some(name)) => Some(Down::Through(vec![name.clone()])),
        StepKind::Child(None) => match &dialect.element(context)?.children[..] {
            [only] => Some(Down::Through(vec![only.name.clone()])),
            _ => None,
        },
        StepKind::Descendant(name) => {
            let name = name.as_deref()?;
            Some(Down::Through(names_down_to(dialect, context, name)?))
        }
    }
}

/// The names of the shortest declared way down to an element of this name.
fn names_down_to(dialect: &Dialect, from: Context, name: &str) -> Option<Vec<String>> {
    let mut waiting: VecDeque<(Context, Vec<String>)> = VecDeque::from([(from, Vec::new())]);
    let mut seen: HashSet<Context> = HashSet::from([from]);
    while let Some((context, way)) = waiting.pop_front() {
        let Some(element) = dialect.element(context) else {
            continue;
        };
        for rule in &element.children {
            let mut way = way.clone();
            way.push(rule.name.clone());
            if rule.name == name {
                return Some(way);
            }
            let child = dialect.child_context(context, &rule.name);
            if seen.insert(child) {
                waiting.push_back((child, way));
            }
        }
    }
    None
}

/// What the grammar says of the value that a path leads to. `chain` is the
/// contexts from the root down to where the path starts, at least that one.
pub(crate) fn declaration<'d>(
    dialect: &'d Dialect,
    chain: &[Context],
    path: &Path,
) -> Option<&'d AttributeDecl> {
    let mut chain = if path.is_absolute() {
        vec![Context::DOCUMENT]
    } else {
        chain.to_vec()
    };
    for step in path.steps() {
        let here = *chain.last()?;
        match down(dialect, here, step)? {
            Down::Stay => {}
            Down::Up => {
                chain.pop();
            }
            Down::Through(names) => {
                let count = names.len();
                for (number, name) in names.iter().enumerate() {
                    let above = *chain.last()?;
                    chain.push(made_by(dialect, above, name, step, number + 1 == count));
                }
            }
        }
    }
    let leaf = match path.leaf() {
        Leaf::Element => &Leaf::Text,
        leaf => leaf,
    };
    dialect.element(*chain.last()?)?.value_at(leaf)
}
