//! "Make adjustable" for parts that are called by name, with an account of
//! what the change comes to: what the command line needs.

use super::{
    adjust::{Refusal, Request, proven, usual_kind},
    adjust_offers::spoken,
    naming::listed,
    parts::{Parts, each_once, wheels_on},
    site::Site,
};
use dialect::{ControlKind, Property};
use foldhash::{HashMap, HashSet};
use machine::{Alias, Animation, Wheel};
use motion::{Difference, Rig, Travel};
use project::View;
use std::{cell::OnceCell, sync::Arc};
use syntax::{TextEdit, TextRange};

/// What is to be adjustable, and how.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Wish {
    /// Aliases, names of nodes, or index paths in the dialect's notation.
    pub parts: Vec<String>,
    /// The animation that moves them now, if several do.
    pub animation: Option<String>,
    /// The opposite parts, too.
    pub mirrored: bool,
    /// What the new animation is called.
    pub name: Option<String>,
    pub input: Option<String>,
    /// An axis by default, a button for what can only be shown or hidden.
    pub kind: Option<ControlKind>,
}

/// A change that was tried on paper, and what it comes to.
#[derive(Debug, Clone, PartialEq)]
pub struct Adjustment {
    pub edits: Vec<TextEdit>,
    /// The document with the edits.
    pub text: String,
    /// Where something is left to fill in, in that text.
    pub places: Vec<TextRange>,
    /// The animation that moves the parts then.
    pub animation: Option<String>,
    pub input: Option<String>,
    /// Empty without a scene.
    pub travels: Vec<PartTravel>,
    /// The pairs of wheels that move along, from front to back.
    pub tracks: Vec<Track>,
    /// Between the poses before and after, at both ends and on the way. None:
    /// there is no scene, so the channels were compared instead.
    pub difference: Option<Difference>,
    /// Opposite parts that move the mirrored way and stay where they are.
    pub left_behind: Vec<String>,
}

/// One motion of one part.
#[derive(Debug, Clone, PartialEq)]
pub struct PartTravel {
    pub part: String,
    pub property: Property,
    /// Seconds from the start of the animation after the change.
    pub window: (f64, f64),
    pub travel: Travel,
}

/// A pair of wheels and how far apart they are. Metres.
#[derive(Debug, Clone, PartialEq)]
pub struct Track {
    pub left: String,
    pub right: String,
    pub at_start: f64,
    pub at_end: f64,
    /// On the way, the ends included.
    pub least: f64,
    pub most: f64,
}

/// Makes parts adjustable, on paper.
///
/// # Errors
/// Why it cannot be done and what could be done instead, as a sentence.
pub fn adjust(view: &View, wish: &Wish) -> Result<Adjustment, String> {
    let site = Site::of(view).ok_or("No dialect fits this document.")?;
    let alone = asked_for(&site, wish)?;
    let mirrored = alone.with_mirrored(&site);
    let left_behind = match &mirrored {
        Some(whole) if !wish.mirrored => {
            let own: HashSet<String> = alone.labels(&site).into_iter().collect();
            whole
                .labels(&site)
                .into_iter()
                .filter(|label| !own.contains(label))
                .collect()
        }
        _ => Vec::new(),
    };
    let parts = match (wish.mirrored, mirrored) {
        (true, Some(whole)) => whole,
        (true, None) => {
            let labels = listed(&alone.labels(&site));
            return Err(format!(
                "Nothing else in the same animation moves as the mirror image of {labels}."
            ));
        }
        (false, _) => alone,
    };
    let request = Request {
        control: Some(wish.kind.unwrap_or_else(|| usual_kind(&site, &parts))),
        name: wish.name.clone(),
        input: wish.input.clone(),
        parts,
    };
    let (plan, proof) = proven(&site, &request).map_err(|refusal| match refusal {
        Refusal::Planned(reason) => spoken(&reason),
        Refusal::Tried(reason) => spoken(&format!("this was not done: {reason}")),
    })?;
    let changed = Site::of(&proof.after).ok_or("No dialect fits the document after the change.")?;
    let (travels, tracks) = match &changed.rig {
        Some(rig) => (
            travels(&changed, rig, proof.animation),
            tracks(&changed, rig, proof.animation),
        ),
        None => (Vec::new(), Vec::new()),
    };
    Ok(Adjustment {
        text: proof.after.text().to_owned(),
        edits: plan.edits,
        places: plan.places,
        animation: plan.name,
        input: plan.input,
        travels,
        tracks,
        difference: proof.difference,
        left_behind,
    })
}

/// The channels that move the parts of a wish.
fn asked_for(site: &Site<'_>, wish: &Wish) -> Result<Parts, String> {
    let known = Known::of(site);
    let paths = wish.parts.iter().map(|word| node(site, &known, word));
    let paths = paths.collect::<Result<Vec<_>, String>>()?;
    if paths.is_empty() {
        return Err("No part is named.".to_owned());
    }
    let animations = &site.machine.animations;
    let animation = moving(site, wish, &paths)?;
    let wanted: HashSet<&[u32]> = paths.iter().map(|path| &path[..]).collect();
    let channels = animations[animation].channels.iter().enumerate();
    let channels = channels.filter(|(_, channel)| {
        let path = channel.node.as_ref().and_then(|node| site.path_of(node));
        path.is_some_and(|path| wanted.contains(&path[..]))
    });
    let parts = Parts {
        animation,
        channels: channels.map(|(at, _)| at).collect(),
    };
    Ok(parts.completed(site))
}

/// The animation that moves all parts of a wish. `paths`: their nodes.
fn moving(site: &Site<'_>, wish: &Wish, paths: &[Vec<u32>]) -> Result<usize, String> {
    let animations = &site.machine.animations;
    let moved = |animation: &Animation| -> HashSet<Arc<[u32]>> {
        let channels = animation.channels.iter();
        let nodes = channels.filter_map(|channel| channel.node.as_ref());
        nodes.filter_map(|node| site.path_of(node)).collect()
    };
    let moved: Vec<HashSet<Arc<[u32]>>> = animations.iter().map(moved).collect();
    let moved_by_some: HashSet<&[u32]> = moved.iter().flatten().map(|path| &path[..]).collect();
    let mut parts = wish.parts.iter().zip(paths);
    let still = parts.find(|(_, path)| !moved_by_some.contains(&path[..]));
    if let Some((word, _)) = still {
        return Err(format!("No channel moves `{word}`. {}", what_moves(site)));
    }
    let together: Vec<usize> = (0..animations.len())
        .filter(|at| paths.iter().all(|path| moved[*at].contains(&path[..])))
        .collect();
    match (&wish.animation, together.as_slice()) {
        (Some(name), found) => {
            let known = site.machine.animation(name);
            let known = known.ok_or_else(|| {
                let all = labels(animations.iter());
                format!("There is no animation `{name}`. There is {all}.")
            })?;
            match found.contains(&known) {
                true => Ok(known),
                false => Err(format!(
                    "The animation `{name}` does not move {}.",
                    listed(&wish.parts)
                )),
            }
        }
        (None, [only]) => Ok(*only),
        (None, []) => Err(
            "No single animation moves all of these parts: name parts that move together."
                .to_owned(),
        ),
        (None, several) => Err(format!(
            "Several animations move {}: {}. Say which one is meant.",
            listed(&wish.parts),
            labels(several.iter().map(|at| &animations[*at]))
        )),
    }
}

fn labels<'m>(animations: impl Iterator<Item = &'m Animation>) -> String {
    let labels: Vec<String> = animations.map(label).collect();
    listed(&labels)
}

fn label(animation: &Animation) -> String {
    animation.name.as_ref().map_or_else(
        || "one without a name".to_owned(),
        |name| name.value.to_string(),
    )
}

/// What words are looked up in: there may be thousands.
struct Known<'m> {
    /// By name; of several of one name the first.
    aliases: HashMap<&'m str, &'m Alias>,
    /// The nodes that move, once somebody asks.
    moved: OnceCell<HashSet<Arc<[u32]>>>,
}

impl<'m> Known<'m> {
    fn of(site: &Site<'m>) -> Self {
        let mut aliases = HashMap::default();
        for alias in &site.machine.aliases {
            if let Some(name) = &alias.name {
                aliases.entry(&*name.value).or_insert(alias);
            }
        }
        Self {
            aliases,
            moved: OnceCell::new(),
        }
    }
}

/// The node that a word means: by alias, by index path, by name in the scene, by names as the dialect writes them.
fn node(site: &Site<'_>, known: &Known<'_>, word: &str) -> Result<Vec<u32>, String> {
    let alias = known.aliases.get(word);
    if let Some(path) = alias.and_then(|alias| site.path_of(alias.path.as_ref()?)) {
        return Ok(path.to_vec());
    }
    if let Ok(path) = site.dialect.notation.index_path.parse(word) {
        return Ok(path);
    }
    let Some(scene) = site.scene else {
        return Err(format!(
            "There is no alias `{word}`, and the scene cannot be read to look for a node of that name. {}",
            what_moves(site)
        ));
    };
    let mut nodes = scene.by_name(word);
    if nodes.is_empty()
        && let Some(names) = site.dialect.notation.node_names.read(word)
    {
        nodes = scene.named(&names).collect();
    }
    let paths: Vec<Vec<u32>> = nodes.iter().map(|id| scene.index_path(*id)).collect();
    let all_moved = known
        .moved
        .get_or_init(|| moved_nodes(site).into_iter().collect());
    let moved: Vec<&Vec<u32>> = paths
        .iter()
        .filter(|path| all_moved.contains(&path[..]))
        .collect();
    match (paths.as_slice(), moved.as_slice()) {
        ([], _) => Err(format!(
            "There is no alias and no node `{word}`.{} {}",
            did_you_mean(site, word),
            what_moves(site)
        )),
        ([only], _) => Ok(only.clone()),
        (_, [only]) => Ok((*only).clone()),
        _ => {
            let written: Vec<String> = paths
                .iter()
                .map(|path| site.dialect.notation.index_path.label(path))
                .collect();
            Err(format!(
                "Several nodes are called `{word}`: {}. Name one by its index path.",
                listed(&written)
            ))
        }
    }
}

/// The nodes that move, each once.
fn moved_nodes(site: &Site<'_>) -> Vec<Arc<[u32]>> {
    let animations = site.machine.animations.iter();
    let channels = animations.flat_map(|animation| &animation.channels);
    each_once(channels.filter_map(|channel| site.path_of(channel.node.as_ref()?)))
}

fn did_you_mean(site: &Site<'_>, word: &str) -> String {
    let labels: Vec<String> = moved_nodes(site)
        .iter()
        .map(|path| site.node_label(path))
        .collect();
    match dialect::nearest(word, labels.iter().map(String::as_str)) {
        Some(near) => format!(" Did you mean `{near}`?"),
        None => String::new(),
    }
}

/// "What moves here: …" for those who misspelled a part.
fn what_moves(site: &Site<'_>) -> String {
    let labels: Vec<String> = moved_nodes(site)
        .iter()
        .map(|path| site.node_label(path))
        .collect();
    let moving = match labels.as_slice() {
        [] => "Nothing moves in this definition.".to_owned(),
        labels => format!(
            "What moves here: {}.",
            labels
                .iter()
                .map(|label| format!("`{label}`"))
                .collect::<Vec<_>>()
                .join(", ")
        ),
    };
    match site.view.tree().expanded() {
        Some(_) => format!(
            "{moving} What entities stand for that the file declares itself cannot be changed: write it out where it is used."
        ),
        None => moving,
    }
}

fn travels(site: &Site<'_>, rig: &Rig<'_>, animation: usize) -> Vec<PartTravel> {
    let drives = rig.drives_of(animation).iter();
    let mut drives: Vec<_> = drives.filter(|drive| !drive.waits(site.machine)).collect();
    drives.sort_by_key(|drive| (drive.channel, drive.motion));
    let travel = |drive: &&motion::Drive| PartTravel {
        part: site.node_label(&rig.scene.index_path(drive.node)),
        property: drive.property,
        window: (drive.begin, drive.end),
        travel: rig.travel(drive),
    };
    drives.iter().map(travel).collect()
}

/// The track widths while an animation plays, of wheels that move with it.
fn tracks(site: &Site<'_>, rig: &Rig<'_>, animation: usize) -> Vec<Track> {
    let Some(moving) = site.machine.animations.get(animation) else {
        return Vec::new();
    };
    let moved = super::parts::moved_paths(site, &moving.channels.iter().collect::<Vec<_>>());
    let carried: HashSet<usize> = wheels_on(site, &moved).into_iter().collect();
    let name = |wheel: usize| {
        let label = site.machine.wheels.get(wheel).and_then(Wheel::label);
        label.map_or_else(|| format!("wheel {}", wheel + 1), str::to_owned)
    };
    let tracks = rig.tracks(animation).into_iter();
    tracks
        .filter(|track| carried.contains(&track.left) || carried.contains(&track.right))
        .map(|track| Track {
            left: name(track.left),
            right: name(track.right),
            at_start: track.start,
            at_end: track.end,
            least: track.least,
            most: track.most,
        })
        .collect()
}
