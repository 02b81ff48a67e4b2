//! Index paths that were left behind when the scene was exported anew.

use foldhash::HashMap;

use dialect::NodePath;
use machine::Entry;
use scene::{Candidate, NodeIndex, Scene};
use syntax::TextRange;

use super::local::Local;
use super::scene::{Stale, follow, node_name, stands_at};
use super::site::Site;
use crate::node_names::plain;
use crate::node_paths::path_like;
use crate::repath::{Astray, label};
use crate::{Finding, Fix, codes};

/// The uses of an entry whose paths would lead astray if they were written for the scene as it was.
pub(super) fn suspects(site: &Site<'_>, entry: &Entry) -> Vec<usize> {
    let (Some(followed), Some(scene)) = (site.followed, site.scene) else {
        return Vec::new();
    };
    let goes_by_name = |range: TextRange, path: &NodePath| {
        let its = entry.facts.aliases.iter().find(|alias| {
            let path = alias.path.as_ref();
            path.is_some_and(|path| path.range == range)
        });
        let name = its.and_then(|alias| alias.name.as_ref());
        let there = scene.find(path).ok().map(|node| &*scene[node].name);
        let (Some(name), Some(there)) = (name, there) else {
            return false;
        };
        // Its node's name is that of the alias now, and was not before.
        plain(&name.value) == plain(there)
            && followed.led_to(path).is_some_and(|before| before != there)
    };
    let uses = entry.facts.uses.iter().enumerate();
    let astray = uses.filter(|(_, used)| {
        let path = used.path();
        path.is_some_and(|path| followed.astray(path).is_some() && !goes_by_name(used.range, path))
    });
    astray.map(|(at, _)| at).collect()
}

/// The paths of a document that lead astray, by where they stand.
pub(super) type Strays<'v> = HashMap<TextRange, Stray<'v>>;

/// An index path that leads to another node than the one that it was written for.
#[derive(Debug, Clone, Copy)]
pub(super) struct Stray<'v> {
    path: &'v NodePath,
    became: Astray<'v>,
}

/// Those of the suspects that have not been written since. `locals`: by entry.
pub(super) fn find<'v, 'l>(
    site: &Site<'v>,
    locals: impl Iterator<Item = &'l Local> + Clone,
) -> Strays<'v> {
    let mut strays = Strays::default();
    let Some(followed) = site.followed else {
        return strays;
    };
    if locals.clone().all(|local| local.astray.is_empty()) {
        return strays;
    }
    let mut kept = followed.kept(site.outline).into_iter();
    for (entry, local) in site.outline.entries().iter().zip(locals) {
        let mut suspects = local.astray.iter().peekable();
        for (at, used) in entry.facts.uses.iter().enumerate() {
            let Some(path) = used.path() else { continue };
            let is_kept = kept.next().unwrap_or_default();
            let is_suspect = suspects.next_if(|suspect| **suspect == at).is_some();
            if let Some(became) = followed.astray(path).filter(|_| is_suspect && is_kept) {
                strays.insert(used.range + entry.start(), Stray { path, became });
            }
        }
    }
    strays
}

impl Stray<'_> {
    /// The node that it leads to now.
    pub(super) fn node(&self, scene: &Scene) -> Option<NodeIndex> {
        scene.find(self.path).ok()
    }

    /// Whether it is known where the node is now.
    fn is_sure(&self) -> bool {
        matches!(self.became, Astray::Moved(_))
    }

    /// Where the node is now, with a blank before it, and how to follow it: for a path that leads nowhere.
    pub(super) fn add_to(&self, site: &Site<'_>, mut finding: Finding) -> Finding {
        let Some(scene) = site.scene else {
            return finding;
        };
        finding.message.push(' ');
        finding.message.push_str(&self.said(site, scene));
        match self.fix(site, scene, finding.range) {
            Some(fix) => finding.fix(fix),
            None => finding,
        }
    }

    fn finding(&self, site: &Site<'_>, range: TextRange) -> Option<Finding> {
        let scene = site.scene?;
        let node = self.node(scene)?;
        let (name, before) = (&*scene[node].name, self.before(site));
        let message = format!(
            "`{}` leads to {}. {}",
            site.written_path(self.path),
            match name {
                "" => node_name(scene, node),
                // Wheels often are called alike.
                name if name == before => format!("another node called `{name}`"),
                name => format!("the node `{name}`"),
            },
            self.said(site, scene)
        );
        let finding = codes::STALE_PATH.at(range, message);
        Some(match self.fix(site, scene, range) {
            Some(fix) => finding.fix(fix),
            None => finding,
        })
    }

    fn fix(&self, site: &Site<'_>, scene: &Scene, range: TextRange) -> Option<Fix> {
        match self.became {
            Astray::Moved(node) => follow(site, scene, range, node, self.path),
            Astray::Unsure(_) | Astray::Gone => None,
        }
    }

    /// What the node is called that it led to.
    fn before(&self, site: &Site<'_>) -> String {
        let before = site
            .followed
            .and_then(|followed| followed.led_to(self.path));
        before.unwrap_or_default()
    }

    /// What became of the node, as a sentence.
    fn said(&self, site: &Site<'_>, scene: &Scene) -> String {
        let before = self.before(site);
        let led = format!("Before the scene changed, it led to `{before}`");
        // Written as the path is.
        let place = |node| match path_like(site.dialect, scene, node, self.path) {
            Some(path) => format!("`{}`", site.written_path(&path)),
            None => stands_at(site, scene, node),
        };
        match self.became {
            Astray::Moved(node) => {
                let (now, place) = (label(scene, node), place(node));
                match now == before {
                    true => format!("{led}, which is at {place} now."),
                    false => format!("{led}, which most likely is `{now}` at {place} now."),
                }
            }
            Astray::Gone => format!("{led}, and nothing in the scene is like that now."),
            Astray::Unsure(candidates) => {
                let one = |one: &Candidate| {
                    format!("`{}` at {}", label(scene, one.node), place(one.node))
                };
                let all: Vec<String> = candidates.iter().map(one).collect();
                format!(
                    "{led}, and it is not sure which node that is now: {}?",
                    all.join(" or ")
                )
            }
        }
    }
}

/// What is told of stale paths: by what is known of the scene before, else by the names of aliases.
pub(super) fn findings(site: &Site<'_>, strays: &Strays<'_>, stale: &[Stale]) -> Vec<Finding> {
    let mut by_name: HashMap<TextRange, (bool, Finding)> = HashMap::default();
    for stale in stale {
        if let Some(finding) = stale.finding(site) {
            by_name.insert(finding.range, (stale.knows_its_node(), finding));
        }
    }
    let mut findings = Vec::new();
    for (range, stray) in strays {
        let named = by_name.get(range).is_some_and(|(is_known, _)| *is_known);
        if (stray.is_sure() || !named)
            && let Some(finding) = stray.finding(site, *range)
        {
            by_name.remove(range);
            findings.push(finding);
        }
    }
    findings.extend(by_name.into_values().map(|(_, finding)| finding));
    findings
}
