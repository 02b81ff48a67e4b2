//! What people call the elements of a machine.

use dialect::Property;
use foldhash::HashMap;
use machine::{Machine, Window};
use std::sync::Arc;
use syntax::TextRange;

use crate::document::{Document, Id, TOP};
use crate::identity::{Identities, Rank};

/// Longer texts are cut.
const LONGEST: usize = 60;

#[derive(Debug, Default)]
pub(crate) struct Labels {
    /// By the range of an element that plays a role.
    own: HashMap<TextRange, String>,
    windows: HashMap<TextRange, Window>,
}

impl Labels {
    pub(crate) fn of(machine: Option<&Machine>) -> Self {
        let mut labels = Self::default();
        let Some(machine) = machine else {
            return labels;
        };
        let name = |name: &Option<machine::Spanned<Arc<str>>>| match name {
            Some(name) => format!(" {}", cut(&name.value)),
            None => " without a name".to_owned(),
        };
        for animation in &machine.animations {
            labels.own.insert(
                animation.element,
                format!("animation{}", name(&animation.name)),
            );
            for channel in &animation.channels {
                let node = channel.node.as_ref().map_or_else(
                    || "a node that is not said".to_owned(),
                    |node| cut(&node.text),
                );
                let property = channel.property().map(Property::as_str);
                let own = format!("{} of {node}", property.unwrap_or("movement"));
                if let [first, .., last] | [first @ last] = &channel.motions[..] {
                    let mut window = first.window.clone();
                    if first.is_keyed {
                        window.end.clone_from(&last.window.end);
                    }
                    labels.windows.insert(channel.element, window);
                }
                // An animation may be its own channel.
                labels.own.entry(channel.element).or_insert(own);
            }
        }
        for alias in &machine.aliases {
            let label = format!("alias{}", name(&alias.name));
            labels.own.entry(alias.element).or_insert(label);
        }
        for wheel in &machine.wheels {
            let label = format!("wheel{}", name(&wheel.name));
            labels.own.entry(wheel.element).or_insert(label);
        }
        for sound in &machine.sounds {
            let label = format!("sound{}", name(&sound.name));
            labels.own.entry(sound.element).or_insert(label);
        }
        for control in &machine.controls {
            let label = match &control.animation {
                Some(animation) => format!("control of {}", cut(&animation.value)),
                None => "control".to_owned(),
            };
            labels.own.entry(control.element).or_insert(label);
        }
        labels
    }

    pub(crate) fn window(&self, element: TextRange) -> Option<&Window> {
        self.windows.get(&element)
    }

    /// What an element is called, without where it is.
    pub(crate) fn own(
        &self,
        document: &Document<'_>,
        identities: Identities<'_>,
        id: Id,
    ) -> String {
        if let Some(label) = self.own.get(&document.nodes[id].range) {
            return label.clone();
        }
        let Some(tag) = document.tag(id) else {
            return "the document".to_owned();
        };
        let local = tag.element.local_name();
        if let Some(name) = identities.name(document, id) {
            return format!("`{local}` {}", cut(&name));
        }
        let alike = document
            .elements(document.nodes[id].parent)
            .filter(|other| {
                document
                    .tag(*other)
                    .is_some_and(|other| other.is_named_as(tag))
            });
        if alike.take(2).count() < 2 {
            return format!("`{local}`");
        }
        let attributes = identities.attributes(document, id);
        let best = attributes.iter().min_by_key(|(.., rank)| *rank);
        match best.filter(|(.., rank)| *rank != Rank::Quantity) {
            Some((name, value, _)) => format!("`{local}` with {name} {}", cut(value)),
            None => format!("a `{local}`"),
        }
    }

    /// With what it is in, as far as that has a name.
    pub(crate) fn full(
        &self,
        document: &Document<'_>,
        identities: Identities<'_>,
        id: Id,
    ) -> String {
        let own = self.own(document, identities, id);
        let mut outer = document.nodes[id].parent;
        while outer != TOP {
            let known = self.own.contains_key(&document.nodes[outer].range)
                || identities.name(document, outer).is_some();
            if known && document.nodes[outer].parent != TOP {
                return format!("{own} in {}", self.own(document, identities, outer));
            }
            outer = document.nodes[outer].parent;
        }
        own
    }
}

/// In one line, in backquotes, and not too long.
pub(crate) fn cut(text: &str) -> String {
    if text == "\u{feff}" {
        return "the byte order mark".to_owned();
    }
    let words: Vec<&str> = text.split_whitespace().collect();
    let mut line: String = words.join(" ");
    if let Some((at, _)) = line.char_indices().nth(LONGEST) {
        line.truncate(at);
        line.push('…');
    }
    let line: String = line
        .chars()
        .map(|one| if one.is_control() { '\u{fffd}' } else { one })
        .collect();
    format!("`{}`", line.replace('`', "'"))
}
