//! One mistake is told once: what only follows from a mistake that is told already is left out.
//!
//! Looks at the findings of a whole document together, and only where there are both causes and consequences among
//! them. A pure function of the document and its findings, so it is the same whatever was checked before.

use std::borrow::Cow;
use std::cell::OnceCell;

use foldhash::{HashMap, HashSet};

use dialect::{AttributeDecl, Context, ElementDecl, ItemType, Kind};
use syntax::{Element, FormCode, FormError, Item, TextRange, TextSize};

use super::broken::Broken;
use super::site::Site;
use super::unread::{Unread, Words};
use crate::codes::{self, Code};
use crate::{Finding, Severity};

/// So many mistakes are asked for their consequences. Whoever has more is past caring.
const MOST_CAUSES: usize = 500;

/// The findings without those that follow from mistakes of one severity. `findings` are all of the document's. Against
/// what was only learnt, mistakes are hints, and no more than hints follow from them.
pub(super) fn without(site: &Site<'_>, findings: Vec<Finding>, of: Severity) -> Vec<Finding> {
    let errors = site.tree().errors();
    let is_one_of = |finding: &Finding, codes: &[&Code]| {
        finding.severity == of && codes.iter().any(|code| is(finding, code))
    };
    let is_cause = |finding: &&Finding| {
        let codes = [
            &codes::MISSING_ATTRIBUTE,
            &codes::MISSING_CHILD,
            &codes::DUPLICATE_NAME,
            &codes::UNEXPECTED_TEXT,
            &codes::WRONG_NAMESPACE,
            &codes::OUT_OF_RANGE,
            &codes::WRONG_TYPE,
            &codes::WRONG_INPUT_KIND,
            &codes::UNKNOWN_ELEMENT,
        ];
        is_one_of(finding, &codes)
    };
    // What may be the missing use of something, and leaves something out of a motion.
    let is_gap =
        |finding: &&Finding| is_one_of(finding, &[&codes::UNKNOWN_ATTRIBUTE, &codes::UNKNOWN_NAME]);
    let is_told = |finding: &Finding| is_cause(&finding) || is_gap(&finding);
    let is_broken = of == Severity::Error && !errors.is_empty();
    if findings.len() < 2 || !(is_broken || findings.iter().any(is_told)) {
        return findings;
    }
    let mut causes = Causes::new(site);
    for error in errors.iter().take(MOST_CAUSES) {
        causes.form_error(error);
    }
    for finding in findings.iter().filter(is_cause).take(MOST_CAUSES) {
        causes.finding(finding);
    }
    for finding in findings.iter().filter(is_gap).take(MOST_CAUSES) {
        causes.gap(finding);
    }
    let excused = causes.excused_names(&findings);
    let missed = causes.missed(&findings);
    let follows = |finding: &Finding| {
        excused.contains(&finding.range)
            || is_unused(finding) && missed.contains(&finding.range)
            || causes.explain(finding)
    };
    let may_follow = |finding: &Finding| of == Severity::Error || finding.severity == of;
    findings
        .into_iter()
        .filter(|finding| !(may_follow(finding) && follows(finding)))
        .collect()
}

fn is(finding: &Finding, code: &Code) -> bool {
    finding.code == code.name
}

/// Nothing uses a name.
fn is_unused(finding: &Finding) -> bool {
    is(finding, &codes::UNREACHABLE_ANIMATION) || is(finding, &codes::UNUSED_ALIAS)
}

/// What the mistakes of a document explain.
struct Causes<'s, 'v> {
    site: &'s Site<'v>,
    broken: Broken<'v>,
    /// Starts of the elements right in which something is wrong, so that what they lack may be there after all.
    disturbed: HashSet<TextSize>,
    /// Starts of the elements that hold one that nobody knows: it may be a control.
    mysterious: HashSet<TextSize>,
    /// Name ranges of the elements whose end tag bears another name.
    mismatched: HashSet<TextRange>,
    /// By the start of an element: the names on stray end tags right in it. Their start tags are lost.
    strays: HashMap<TextSize, Vec<String>>,
    /// How many names of each kind may be given in places that cannot be read.
    lost: HashMap<Kind, usize>,
    /// The words of texts where none belong, and of elements whose prefix nobody declares.
    text: Unread,
    /// Values that are wrong in themselves.
    wrong_values: Vec<TextRange>,
    /// Starts of the elements of which it is told that an attribute is missing.
    lacking: HashSet<TextSize>,
    /// Where something cannot be read.
    gaps: Vec<TextSize>,
    /// The kinds of things that are asked for there.
    asked: Vec<(Kind, TextSize)>,
    /// The root is in another namespace.
    is_foreign: bool,
    /// Where the names of the animations stand that are played by controls of which something on wheels cannot be read.
    unread_controls: OnceCell<HashSet<TextRange>>,
    /// The channels with a keyframe that cannot be read.
    unread_channels: OnceCell<Vec<TextRange>>,
}

impl<'s, 'v> Causes<'s, 'v> {
    fn new(site: &'s Site<'v>) -> Self {
        Self {
            site,
            broken: Broken::of(site.tree()),
            disturbed: HashSet::default(),
            mysterious: HashSet::default(),
            mismatched: HashSet::default(),
            strays: HashMap::default(),
            lost: HashMap::default(),
            text: Unread::default(),
            wrong_values: Vec::new(),
            lacking: HashSet::default(),
            gaps: Vec::new(),
            asked: Vec::new(),
            is_foreign: false,
            unread_controls: OnceCell::new(),
            unread_channels: OnceCell::new(),
        }
    }

    fn form_error(&mut self, error: &FormError) {
        let path = self.path(error.range.start());
        let Some((element, declared)) = path.last().copied() else {
            return;
        };
        self.disturbed.insert(element.range().start());
        let around = path.len().checked_sub(2).map(|around| path[around]);
        match error.code {
            FormCode::StrayEndTag => {
                let name = self.site.text(error.range);
                let name = name.trim_start_matches("</").trim_end_matches('>').trim();
                let strays = self.strays.entry(element.range().start()).or_default();
                strays.push(name.to_owned());
                let lost = self.child(&path, name);
                lost.into_iter()
                    .for_each(|lost| self.lose(&given_by(self.site, lost)));
                return;
            }
            // It counts as foreign, with all that it holds.
            FormCode::UnboundPrefix => self.unread(element.range()),
            FormCode::MismatchedEndTag => {
                self.mismatched.insert(element.name_range());
                return;
            }
            _ => {}
        }
        if element
            .start_tag_range()
            .contains_inclusive(error.range.start())
        {
            if let Some((around, _)) = around {
                self.disturbed.insert(around.range().start());
            }
            // What has no name that anybody knows may be any of the children.
            if let Some(declared) = declared.or(around.and_then(|(_, around)| around)) {
                self.lose(&given_by(self.site, declared));
            }
        }
    }

    fn finding(&mut self, finding: &Finding) {
        let start = finding.range.start();
        self.gaps.push(start);
        if is(finding, &codes::UNKNOWN_ELEMENT) {
            // There may be thousands, and what the grammar makes of the elements around does not matter.
            let mut around = self.site.tree().elements_at(start).into_iter().rev();
            let holder = around.nth(1).map(|holder| holder.range().start());
            self.mysterious.extend(holder);
            return;
        }
        let path = self.path(start);
        let Some((element, declared)) = path.last().copied() else {
            return;
        };
        if is(finding, &codes::MISSING_ATTRIBUTE) {
            let absent = declared
                .into_iter()
                .flat_map(|declared| &declared.attributes);
            let absent = absent.filter(|known| element.attribute(&known.name).is_none());
            self.lose(&absent.filter_map(name_of).collect::<Vec<_>>());
            self.ask_for_absent(&element, declared);
            self.lacking.insert(element.range().start());
        } else if is(finding, &codes::MISSING_CHILD) {
            let there = |name: &str| element.children().any(|child| child.local_name() == name);
            let rules = declared.into_iter().flat_map(|declared| &declared.children);
            let single = rules.filter(|rule| rule.min > 0 && !there(&rule.name));
            let choices = declared.into_iter().flat_map(|declared| {
                let choices = declared.choices.iter().filter(|choice| choice.min > 0);
                choices.map(|choice| declared.members(choice))
            });
            let unmade = choices.filter(|rules| !rules.iter().any(|rule| there(&rule.name)));
            let absent: Vec<&ElementDecl> = single
                .chain(unmade.flatten())
                .filter_map(|rule| self.child(&path, &rule.name))
                .collect();
            let given = absent.iter().flat_map(|child| given_by(self.site, child));
            self.lose(&given.collect::<Vec<_>>());
            let texts = absent.into_iter().filter_map(|child| child.text.as_ref());
            texts.for_each(|text| self.ask(text, start));
        } else if is(finding, &codes::DUPLICATE_NAME) {
            let kind = self.declared_at(finding.range.start()).and_then(name_of);
            self.lose(&Vec::from_iter(kind));
        } else if is(finding, &codes::UNEXPECTED_TEXT) {
            self.unread(finding.range);
            self.disturbed.insert(element.range().start());
        } else if is(finding, &codes::WRONG_NAMESPACE) {
            self.is_foreign = true;
        } else {
            self.wrong_values.push(finding.range);
            self.gap(finding);
        }
    }

    /// A value that cannot be read, or leads nowhere, or has a name that nobody knows.
    fn gap(&mut self, finding: &Finding) {
        let start = finding.range.start();
        if is(finding, &codes::UNKNOWN_ATTRIBUTE) {
            self.gaps.push(start);
            if let Some((element, declared)) = self.path(start).pop() {
                self.ask_for_absent(&element, declared);
                // Where it is taken for one that must be there, that is not told to be missing.
                if !self.lacking.contains(&element.range().start()) {
                    let known = declared.into_iter().flat_map(|known| &known.attributes);
                    let absent = known
                        .filter(|known| known.required && element.attribute(&known.name).is_none());
                    self.lose(&absent.filter_map(name_of).collect::<Vec<_>>());
                }
            }
        } else if let Some(declared) = self.declared_at(start) {
            self.lose(&Vec::from_iter(name_of(declared)));
            // What an unknown name leads to was not meant to be anything else that is there, but perhaps a wheel.
            if !is(finding, &codes::UNKNOWN_NAME)
                || kinds_meant(declared).iter().any(|kind| self.is_wheel(kind))
            {
                self.ask(declared, start);
            }
        }
    }

    fn is_wheel(&self, kind: &Kind) -> bool {
        let wheels = &self.site.dialect.roles.wheels;
        wheels.iter().any(|role| role.kind == *kind)
    }

    fn ask_for_absent(&mut self, element: &Element<'_>, declared: Option<&ElementDecl>) {
        let known = declared.into_iter().flat_map(|known| &known.attributes);
        let absent = known.filter(|known| element.attribute(&known.name).is_none());
        absent.for_each(|absent| self.ask(absent, element.range().start()));
    }

    fn ask(&mut self, declared: &AttributeDecl, at: TextSize) {
        let kinds = kinds_meant(declared).into_iter();
        self.asked.extend(kinds.map(|kind| (kind, at)));
    }

    /// What is written there may be a name that is asked for elsewhere.
    fn unread(&mut self, range: TextRange) {
        let mut words = Words::default();
        words.add(&self.site.text(range));
        self.text.add(&words);
    }

    fn lose(&mut self, kinds: &[Kind]) {
        for kind in kinds {
            *self.lost.entry(*kind).or_default() += 1;
        }
    }

    /// Whether a finding follows from another one, looked at by itself.
    fn explain(&self, finding: &Finding) -> bool {
        let start = finding.range.start();
        let is_one_of = |codes: &[&Code]| codes.iter().any(|code| is(finding, code));
        match codes::find(finding.code).map(|code| code.group) {
            Some(codes::Group::Form) => {
                return is(finding, &codes::STRAY_END_TAG) && self.is_told_by_text(finding);
            }
            // A value that is broken as XML is not what was meant.
            Some(codes::Group::Names | codes::Group::Files | codes::Group::Scene)
                if finding.severity == Severity::Error && self.broken.touches(finding.range) =>
            {
                return true;
            }
            Some(codes::Group::Motion)
                if finding.severity == Severity::Error || is(finding, &codes::PAST_DURATION) =>
            {
                return self.has_wrong_value(finding);
            }
            _ => {}
        }
        if is(finding, &codes::INPUT_CLASH) {
            self.has_wrong_value(finding)
        } else if is(finding, &codes::WHEEL_LEFT_BEHIND) {
            self.may_be_carried(finding)
        } else if is_one_of(&[&codes::REST_MISMATCH, &codes::LOPSIDED]) {
            self.has_unread_keyframe(finding)
        } else if is(finding, &codes::UNREACHABLE_ANIMATION) {
            self.may_be_called_otherwise(start)
        } else if is(finding, &codes::UNKNOWN_ELEMENT) {
            self.mismatched.contains(&finding.range) || self.lost_its_parent(start)
        } else if is(finding, &codes::MISSING_CHILD) {
            let element = self.site.tree().elements_at(start).pop();
            element.is_some_and(|element| {
                self.disturbed.contains(&element.range().start())
                    || element.items().any(|item| matches!(item, Item::Error(_)))
            })
        } else if is(finding, &codes::WRONG_NAMESPACE) {
            self.broken.touches(finding.range)
        } else if is(finding, &codes::UNKNOWN_ATTRIBUTE) {
            self.is_foreign && self.site.tree().elements_at(start).len() == 1
        } else if is_one_of(&[&codes::UNKNOWN_NAME, &codes::PATH_NOT_IN_SCENE])
            && self.text.may_hold(&self.site.text(finding.range))
        {
            true
        } else {
            let of_value = [
                &codes::WRONG_TYPE,
                &codes::UNKNOWN_WORD,
                &codes::OUT_OF_RANGE,
                &codes::UNKNOWN_NAME,
            ];
            is_one_of(&of_value) && self.is_behind_garbled_tag(start)
        }
    }

    /// Whether the animation whose name stands here, or should, may have another one.
    fn may_be_called_otherwise(&self, start: TextSize) -> bool {
        // Its name stands in its tag, or is the text of a child.
        let mut around = self.site.tree().elements_at(start).into_iter().rev();
        let animation = around.find(|around| {
            let text = around.text_range();
            text.is_none_or(|text| !text.contains(start))
        });
        animation.is_some_and(|one| self.mysterious.contains(&one.range().start()))
    }

    /// Whether a value stands in an element whose start tag cannot be read.
    fn is_behind_garbled_tag(&self, start: TextSize) -> bool {
        if self.broken.garbled_tags().is_empty() {
            return false;
        }
        let element = self.site.tree().elements_at(start).pop();
        element.is_some_and(|element| self.broken.is_garbled(element.range().start()))
    }

    /// Whether a value that a finding goes by is wrong in itself.
    fn has_wrong_value(&self, finding: &Finding) -> bool {
        let related = finding.related.iter().map(|related| related.range);
        let mut ranges = related.chain([finding.range]);
        ranges.any(|range| {
            let mut wrong = self.wrong_values.iter();
            wrong.any(|wrong| wrong.intersect(range).is_some())
        })
    }

    /// Whether the control has a word on wheels that cannot be read.
    fn may_be_carried(&self, finding: &Finding) -> bool {
        let unread = self.unread_controls.get_or_init(|| {
            let asked = self.asked.iter().filter(|(kind, _)| self.is_wheel(kind));
            let asked = asked.map(|(_, at)| *at);
            let places = sorted(asked.chain(self.mysterious.iter().copied()));
            let controls = self.site.meaning.machine().controls.iter();
            let unread = controls.filter(|control| holds_one(control.element, &places));
            let played = unread.filter_map(|control| control.animation.as_ref());
            played.map(|played| played.range).collect()
        });
        unread.contains(&finding.range)
    }

    /// Whether a motion that a finding is about lacks a moment, or has one that cannot be read.
    fn has_unread_keyframe(&self, finding: &Finding) -> bool {
        let unread = self.unread_channels.get_or_init(|| {
            let gaps = sorted(self.gaps.iter().copied());
            let animations = self.site.meaning.machine().animations.iter();
            let channels = animations.flat_map(|animation| &animation.channels);
            let keyed = channels.filter(|one| one.motions.iter().any(|motion| motion.is_keyed));
            let elements = keyed.map(|channel| channel.element);
            elements.filter(|one| holds_one(*one, &gaps)).collect()
        });
        let related = finding.related.iter().map(|related| related.range);
        let mut about = related.chain([finding.range]);
        about.any(|range| unread.iter().any(|channel| channel.contains_range(range)))
    }

    /// Whether text where none belongs is the start tag of a stray end tag, without its `<`: that is told.
    fn is_told_by_text(&self, stray: &Finding) -> bool {
        let name = self.site.text(stray.range);
        let name = name.trim_start_matches("</").trim_end_matches('>').trim();
        self.text.may_hold(name)
    }

    /// Whether an element stands where it does because the start tag around it is lost: its end tag is there.
    fn lost_its_parent(&self, at: TextSize) -> bool {
        let elements = self.site.tree().elements_at(at);
        let [.., around, element] = &elements[..] else {
            return false;
        };
        let Some(strays) = self.strays.get(&around.range().start()) else {
            return false;
        };
        // What the grammar makes of the elements around takes longest, and is asked for where it matters.
        let path = self.path(at);
        let may_hold = |stray: &String| {
            let lost = self.child(&path[..path.len() - 1], stray);
            lost.is_some_and(|lost| lost.open || lost.child(element.local_name()).is_some())
        };
        strays.iter().any(may_hold)
    }

    /// The places of the unknown names that are given where nobody can read it: as many names of a kind as were lost.
    fn excused_names(&self, findings: &[Finding]) -> HashSet<TextRange> {
        let mut unknown: HashMap<Cow<'_, str>, (Vec<Kind>, Vec<TextRange>)> = HashMap::default();
        if self.lost.is_empty() {
            return HashSet::default();
        }
        // Where the name of a node may stand as well, names are looked for in the scene.
        let paths = &self.site.dialect.notation.index_path;
        let asked_for = [&codes::UNKNOWN_NAME, &codes::PATH_NOT_IN_SCENE];
        let asking = findings.iter();
        for finding in asking.filter(|one| asked_for.iter().any(|code| is(one, code))) {
            let name = self.site.text(finding.range);
            if is(finding, &codes::UNKNOWN_NAME) || paths.parse(&name).is_err() {
                unknown.entry(name).or_default().1.push(finding.range);
            }
        }
        if unknown.len() > MOST_CAUSES {
            return HashSet::default();
        }
        let mut count: HashMap<&Kind, usize> = HashMap::default();
        for (kinds, places) in unknown.values_mut() {
            let declared = places
                .first()
                .and_then(|place| self.declared_at(place.start()));
            *kinds = declared.map(kinds_meant).unwrap_or_default();
        }
        for (kinds, _) in unknown.values() {
            kinds
                .iter()
                .for_each(|kind| *count.entry(kind).or_default() += 1);
        }
        let enough = |kind: &Kind| {
            let lost = self.lost.get(kind).copied().unwrap_or(0);
            lost > 0 && count.get(kind).copied().unwrap_or(0) <= lost
        };
        unknown
            .values()
            .filter(|(kinds, _)| kinds.iter().any(enough))
            .flat_map(|(_, places)| places.iter().copied())
            .collect()
    }

    /// The places of the names that nothing uses as far as can be read: no more of a kind than are asked for where it
    /// cannot be read.
    fn missed(&self, findings: &[Finding]) -> Vec<TextRange> {
        let mut unused: HashMap<Kind, Vec<TextRange>> = HashMap::default();
        if self.asked.is_empty() {
            return Vec::new();
        }
        for finding in findings
            .iter()
            .filter(|one| is_unused(one))
            .take(MOST_CAUSES)
        {
            let kind = self.declared_at(finding.range.start()).and_then(name_of);
            kind.into_iter()
                .for_each(|kind| unused.entry(kind).or_default().push(finding.range));
        }
        let asked = |kind: &Kind| self.asked.iter().filter(|(asked, _)| asked == kind).count();
        unused.retain(|kind, places| places.len() <= asked(kind));
        unused.into_values().flatten().collect()
    }

    /// The context around the root.
    fn document(&self) -> Context {
        let kind = &self.site.meaning.kind;
        self.site.dialect.document_context(kind)
    }

    /// The elements around a place, outermost first, each with its declaration.
    fn path(&self, at: TextSize) -> Vec<(Element<'v>, Option<&'v ElementDecl>)> {
        let mut context = self.document();
        let elements = self.site.tree().elements_at(at).into_iter();
        elements
            .map(|element| {
                context = self.site.dialect.element_context(context, &element);
                (element, self.site.dialect.element(context))
            })
            .collect()
    }

    /// The declaration of a child of the last element of a path.
    fn child(
        &self,
        path: &[(Element<'v>, Option<&'v ElementDecl>)],
        name: &str,
    ) -> Option<&'v ElementDecl> {
        let dialect = self.site.dialect;
        let around = path.iter().fold(self.document(), |context, (element, _)| {
            dialect.element_context(context, element)
        });
        let name = name.rsplit(':').next().unwrap_or(name);
        dialect.element(dialect.child_context(around, name))
    }

    /// The declaration of the attribute or text at a place.
    fn declared_at(&self, at: TextSize) -> Option<&'v AttributeDecl> {
        let (element, declared) = self.path(at).pop()?;
        let declared = declared?;
        match element
            .attributes()
            .find(|attribute| attribute.range().contains_inclusive(at))
        {
            Some(attribute) => declared.attribute(attribute.name()),
            None => declared.text.as_ref(),
        }
    }
}

fn sorted(places: impl Iterator<Item = TextSize>) -> Vec<TextSize> {
    let mut places: Vec<TextSize> = places.collect();
    places.sort_unstable();
    places
}

/// Whether one of some sorted places is in an element.
fn holds_one(element: TextRange, places: &[TextSize]) -> bool {
    let first = places.partition_point(|at| *at < element.start());
    places.get(first).is_some_and(|at| element.contains(*at))
}

/// The kind of thing that a value gives a name to.
fn name_of(declared: &AttributeDecl) -> Option<Kind> {
    match &declared.value.item {
        ItemType::NameOf(kind) => Some(*kind),
        _ => None,
    }
}

/// The kinds of things that a value can mean by their names.
fn kinds_meant(declared: &AttributeDecl) -> Vec<Kind> {
    match &declared.value.item {
        ItemType::Reference(kinds) | ItemType::Node { aliases: kinds, .. } => kinds.to_vec(),
        ItemType::PositionOf { kind, .. } => vec![*kind],
        _ => Vec::new(),
    }
}

/// The kinds of things that an element gives names to: in its attributes, its text, or its children.
fn given_by(site: &Site<'_>, declared: &ElementDecl) -> Vec<Kind> {
    let own = |declared: &ElementDecl| -> Vec<Kind> {
        let values = declared.attributes.iter().chain(&declared.text);
        values.filter_map(name_of).collect()
    };
    let mut kinds = own(declared);
    for rule in &declared.children {
        let child = site
            .dialect
            .elements()
            .iter()
            .find(|element| element.name == rule.name);
        kinds.extend(child.into_iter().flat_map(own));
    }
    kinds
}
