//! How far a dialect's roles look from the element that plays one.

use dialect::{ControlRole, Dialect, Leaf, Path, Predicate, Rule, Step, StepKind};

/// What the meaning of an element depends on, besides the element with all that is in it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Reach {
    /// The names of the elements around it.
    Names,
    /// Their attributes as well.
    Ancestors,
    /// Anything in the document.
    Document,
}

/// How far the farthest of a dialect's roles looks.
pub(crate) fn of(dialect: &Dialect) -> Reach {
    let roles = &dialect.roles;
    let mut places: Vec<&Path> = Vec::new();
    let mut values: Vec<&Path> = Vec::new();
    for role in &roles.scenes {
        places.push(&role.at);
        values.push(&role.file);
    }
    for role in &roles.wordings {
        places.push(&role.at);
        values.extend([&role.key, &role.language]);
    }
    for role in &roles.aliases {
        places.push(&role.at);
        values.extend([&role.name, &role.path]);
    }
    for role in &roles.wheels {
        places.push(&role.at);
        values.push(&role.node);
        values.extend(role.name.iter().chain(&role.radius).chain(&role.width));
    }
    for role in &roles.sounds {
        places.push(&role.at);
        values.extend(role.name.iter().chain(&role.file));
    }
    for role in &roles.animations {
        places.push(&role.at);
        values.extend(role.name.iter().chain(&role.duration));
    }
    for role in &roles.controls {
        places.push(&role.at);
        control(role, &mut values);
    }
    for role in &roles.listings {
        places.push(&role.at);
        values.push(&role.file);
    }
    let mut farthest = Reach::Names;
    for role in &roles.channels {
        // It starts at an animation, so it must not lead away from there; nor may the animation stand elsewhere.
        farthest = farthest.max(if role.at.is_absolute() || role.animation.is_some() {
            Reach::Document
        } else {
            place(&role.at)
        });
        values.extend(role.paths());
    }
    let places = places.into_iter().map(place);
    let values = values.into_iter().map(value);
    places.chain(values).fold(farthest, Reach::max)
}

fn control<'d>(role: &'d ControlRole, values: &mut Vec<&'d Path>) {
    if let Rule::Read(rule) = &role.kind {
        values.push(&rule.at);
    }
    values.extend([&role.animation, &role.input]);
    let optional = [
        &role.gain,
        &role.rate,
        &role.node,
        &role.wheels,
        &role.sounds,
        &role.text,
    ];
    values.extend(optional.into_iter().flatten());
}

/// A path to the elements that play a role.
fn place(path: &Path) -> Reach {
    let Some((last, before)) = path.steps().split_last() else {
        return Reach::Names;
    };
    let mut farthest = Reach::Names;
    for step in before {
        for predicate in &step.predicates {
            // Asked of an element around the one that plays the role.
            farthest = farthest.max(match predicate {
                Predicate::Holds { path, .. } if is_own_attribute(path) => Reach::Ancestors,
                _ => Reach::Document,
            });
        }
    }
    for predicate in &last.predicates {
        farthest = farthest.max(match predicate {
            Predicate::Holds { path, .. } => value(path),
            // It counts what stands beside the element.
            Predicate::Position(_) => Reach::Document,
        });
    }
    let leaves = |step: &Step| step.kind == StepKind::Parent;
    if path.steps().iter().any(leaves) {
        Reach::Document
    } else {
        farthest
    }
}

/// A path that starts at the element that plays the role.
fn value(path: &Path) -> Reach {
    if path.is_absolute() {
        return Reach::Document;
    }
    let up = path
        .steps()
        .iter()
        .take_while(|step| matches!(step.kind, StepKind::Parent | StepKind::Itself))
        .count();
    let (up, down) = path.steps().split_at(up);
    let goes_up = up.iter().any(|step| step.kind == StepKind::Parent);
    if goes_up {
        let is_attribute = down.is_empty() && matches!(path.leaf(), Leaf::Attribute(_));
        return if is_attribute && up.iter().all(|step| step.predicates.is_empty()) {
            Reach::Ancestors
        } else {
            Reach::Document
        };
    }
    let leaves = |step: &Step| step.kind == StepKind::Parent;
    if down.iter().any(leaves) {
        return Reach::Document;
    }
    let predicates = path.steps().iter().flat_map(|step| &step.predicates);
    predicates
        .map(|predicate| match predicate {
            Predicate::Position(_) => Reach::Names,
            Predicate::Holds { path, .. } => match value(path) {
                Reach::Names => Reach::Names,
                _ => Reach::Document,
            },
        })
        .fold(Reach::Names, Reach::max)
}

fn is_own_attribute(path: &Path) -> bool {
    let stays = |step: &Step| step.kind == StepKind::Itself && step.predicates.is_empty();
    !path.is_absolute()
        && matches!(path.leaf(), Leaf::Attribute(_))
        && path.steps().iter().all(stays)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn path(text: &str) -> Path {
        Path::parse(text).unwrap()
    }

    #[test]
    fn values_below_an_element_are_its_own() {
        for own in [
            "@name",
            "text()",
            "carry/@wheel",
            "part[2]/@x",
            "a[@b='c']//d/text()",
        ] {
            assert_eq!(value(&path(own)), Reach::Names, "{own}");
        }
    }

    #[test]
    fn attributes_of_elements_around_are_near() {
        assert_eq!(value(&path("../@id")), Reach::Ancestors);
        assert_eq!(place(&path("/a[@on='yes']/b")), Reach::Ancestors);
    }

    #[test]
    fn all_else_may_be_anywhere() {
        for far in ["../other/@id", "/machine/@id", "a[../@x]/@y", "../text()"] {
            assert_eq!(value(&path(far)), Reach::Document, "{far}");
        }
        for far in ["/a/b[2]", "/a[b]/c", "/a[b/@c='d']/e", "//a/../b"] {
            assert_eq!(place(&path(far)), Reach::Document, "{far}");
        }
    }
}
