//! Content models: from particles to what they say about each child.

use std::collections::HashSet;

use super::Importer;
use super::components::{Name, Site, Sort};
use super::content::Content;

/// An element as it is declared, once for each declaration.
#[derive(Copy, Clone, Debug)]
pub(super) struct Declaration<'a> {
    pub(super) site: Site<'a>,
    pub(super) name: Name<'a>,
}

const PARTICLES: [&str; 6] = ["element", "group", "sequence", "choice", "all", "any"];

impl<'a> Importer<'a> {
    /// The content model of a type, derivation or group.
    pub(super) fn model(&mut self, around: Site<'a>) -> Content<'a> {
        match around.child(&["group", "sequence", "choice", "all"]) {
            Some(particle) => self.particle(particle),
            None => Content::empty(),
        }
    }

    fn particle(&mut self, site: Site<'a>) -> Content<'a> {
        let count = |name| {
            site.attribute(name)
                .and_then(|text| text.parse::<u64>().ok())
        };
        let min = count("minOccurs").map_or(1, |min| u32::try_from(min).unwrap_or(u32::MAX));
        let max = match site.attribute("maxOccurs") {
            Some("unbounded") => None,
            _ => match count("maxOccurs") {
                Some(max) => u32::try_from(max).ok(),
                None => Some(1.max(min)),
            },
        };
        if max.is_some_and(|max| max < min) {
            let name = site.attribute("name").or(site.attribute("ref"));
            self.notes.add_about(
                name.unwrap_or_default(),
                "`minOccurs` asks for more than `maxOccurs` allows; what is allowed counts",
            );
        }
        let min = max.map_or(min, |max| max.min(min));
        let once = self.deeper(|importer| importer.particle_once(site));
        once.unwrap_or_else(Content::anything).repeated(min, max)
    }

    fn particle_once(&mut self, site: Site<'a>) -> Content<'a> {
        if site.is("element") {
            return self.element_particle(site);
        }
        if site.is("any") {
            return match self.welcomes_own(site) {
                true => Content::anything(),
                false => Content::empty(),
            };
        }
        if site.is("group") {
            return self.group(site);
        }
        let members: Vec<Site<'a>> = site
            .children()
            .filter(|child| PARTICLES.iter().any(|name| child.is(name)))
            .collect();
        let parts: Vec<Content<'a>> = members
            .into_iter()
            .map(|member| self.particle(member))
            .collect();
        match site.node.tag_name().name() {
            "choice" => Content::choice(parts),
            "all" => Content::all(parts),
            _ => Content::sequence(parts),
        }
    }

    fn group(&mut self, reference: Site<'a>) -> Content<'a> {
        let name = reference.attribute("ref").unwrap_or_default();
        let Some(group) = self.components.find(Sort::Group, reference, name) else {
            self.notes.add_about(
                name,
                "a group is not declared in these files, so that anything may stand there",
            );
            return Content::anything();
        };
        if let Some(known) = self.groups.get(&group.id()) {
            return known.clone();
        }
        // Met again while it is read, it holds itself: nothing is certain then.
        self.groups.insert(group.id(), Content::anything());
        let content = self.model(group);
        self.groups.insert(group.id(), content.clone());
        content
    }

    fn element_particle(&mut self, site: Site<'a>) -> Content<'a> {
        let Some(reference) = site.attribute("ref") else {
            let local = site.attribute("name").unwrap_or_default();
            let qualified = self.components.is_qualified(site, "elementFormDefault");
            let namespace = self.components.namespace(site).filter(|_| qualified);
            return self.declared(site, Name { namespace, local });
        };
        let Some(head) = self.components.find(Sort::Element, site, reference) else {
            let name = self.components.resolve(site, reference);
            if name.namespace != self.components.namespace(site) {
                self.notes
                    .add_about(name.local, "elements of other namespaces are left alone");
                return Content::empty();
            }
            self.notes.add_about(name.local, "an element is not declared in these files and was left out; what holds it may hold anything");
            return Content::anything();
        };
        // What may stand in its place is a choice.
        let mut heads = vec![head];
        let mut met = HashSet::from([head.id()]);
        let mut next = 0;
        while let Some(head) = heads.get(next).copied() {
            next += 1;
            for member in self.substitutes.get(&head.id()).into_iter().flatten() {
                if met.insert(member.id()) {
                    heads.push(*member);
                }
            }
        }
        heads.retain(|element| element.attribute("abstract") != Some("true"));
        let mut parts = Vec::new();
        for element in heads {
            let local = element.attribute("name").unwrap_or_default();
            let namespace = self.components.namespace(element);
            parts.push(self.declared(element, Name { namespace, local }));
        }
        Content::choice(parts)
    }

    fn declared(&mut self, site: Site<'a>, name: Name<'a>) -> Content<'a> {
        match name.local {
            "" => Content::empty(),
            _ => Content::element(name, self.declaration(site, name)),
        }
    }

    /// The index of a declaration.
    pub(super) fn declaration(&mut self, site: Site<'a>, name: Name<'a>) -> usize {
        let next = self.declarations.len();
        let at = *self.declared_at.entry(site.id()).or_insert(next);
        if at == next {
            self.declarations.push(Declaration { site, name });
        }
        at
    }
}
