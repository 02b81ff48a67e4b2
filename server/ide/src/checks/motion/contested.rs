//! Properties of nodes that more than one animation drives, under whatever names.

use std::collections::{BTreeMap, HashMap, HashSet};

use dialect::Property;
use machine::{NodeRef, Ranges};
use syntax::TextSize;

use super::super::index::Place;
use super::super::site::Site;
use super::Moving;
use crate::{Finding, codes};

/// A property of a node, by the path to it.
type Driven = (Box<[u32]>, Property);

/// Which animations drive what.
#[derive(Debug, Default)]
pub(super) struct Drivers {
    by_driven: HashMap<Driven, BTreeMap<Place, Driver>>,
    by_animation: HashMap<Place, Vec<Driven>>,
    /// What several animations drive.
    shared: HashSet<Driven>,
}

/// The first motion of an animation that drives something.
#[derive(Debug)]
struct Driver {
    /// The name of the animation.
    animation: Option<String>,
    /// Range relative to the start of the animation's entry.
    node: NodeRef,
}

impl Drivers {
    /// Takes in what an animation drives now. `start`: of its entry.
    pub(super) fn replace(
        &mut self,
        animation: Place,
        name: Option<&str>,
        moving: &[Moving<'_>],
        start: TextSize,
    ) {
        self.forget(animation);
        let mut driven = Vec::new();
        for one in moving {
            let key: Driven = (one.path.into(), one.property);
            let drivers = self.by_driven.entry(key.clone()).or_default();
            if drivers.contains_key(&animation) {
                continue;
            }
            let driver = Driver {
                animation: name.map(str::to_owned),
                node: one.node.clone().moved_back(start),
            };
            drivers.insert(animation, driver);
            if drivers.len() == 2 {
                self.shared.insert(key.clone());
            }
            driven.push(key);
        }
        self.by_animation.insert(animation, driven);
    }

    pub(super) fn forget(&mut self, animation: Place) {
        for driven in self.by_animation.remove(&animation).unwrap_or_default() {
            let Some(drivers) = self.by_driven.get_mut(&driven) else {
                continue;
            };
            drivers.remove(&animation);
            if drivers.len() == 1 {
                self.shared.remove(&driven);
            } else if drivers.is_empty() {
                self.by_driven.remove(&driven);
            }
        }
    }

    /// The later of two animations is reported, once for each property of a node.
    pub(super) fn findings(&self, site: &Site<'_>) -> Vec<Finding> {
        let mut findings = Vec::new();
        for driven in &self.shared {
            let drivers = self.by_driven.get(driven).into_iter().flatten();
            let mut drivers = drivers.filter_map(|(place, driver)| {
                let entry = site.outline.position(place.label)?;
                let node = driver.node.clone();
                Some((driver, node.moved_on(site.outline.entries()[entry].start())))
            });
            let Some((first, first_node)) = drivers.next() else {
                continue;
            };
            for (later, node) in drivers {
                // Two of the same name are one mistake, and it is reported as that.
                if later.animation.is_none() || later.animation != first.animation {
                    findings.push(finding(site, driven.1, first, &first_node, later, &node));
                }
            }
        }
        findings
    }
}

fn finding(
    site: &Site<'_>,
    property: Property,
    earlier: &Driver,
    earlier_node: &NodeRef,
    later: &Driver,
    node: &NodeRef,
) -> Finding {
    let called = |driver: &Driver| match &driver.animation {
        Some(name) => format!("`{name}`"),
        None => "a nameless one".to_owned(),
    };
    let there = if node.text == earlier_node.text {
        String::new()
    } else {
        format!(" (as `{}`)", earlier_node.text)
    };
    let message = format!(
        "The {} of {} is driven by {}{there} and by {}: when both play, it jumps between the two.",
        property.as_str(),
        site.node_label(node),
        called(earlier),
        called(later),
    );
    codes::CONTESTED_PART
        .at(node.range, message)
        .see(earlier_node.range, "driven here as well")
}
