//! A document that an assist works on, with everything it leads to at hand.

use super::{
    habits::{self, Habits},
    naming::NameStyle,
};
use crate::writer::{self, Insertion, Names, NewElement, Parent, Unwritable};
use dialect::{AliasRole, AttributeDecl, ControlKind, Dialect, Kind, NameScope, NodePath, Path};
use foldhash::HashMap;
use machine::{
    Alias, Animation, Chain, Control, Definition, Located, Machine, NameIndex, NodeRef, Reader,
    Use, UseTarget, WheelRef, WheelTarget,
};
use motion::Rig;
use project::{Meaning, View};
use scene::Scene;
use std::{
    cell::{Cell, OnceCell, RefCell},
    rc::Rc,
    sync::Arc,
};
use syntax::{Style, TextEdit, TextRange, TextSize};

/// How others write controls of a role and kind; None: the library does not tell.
type KnownHabits = ((usize, ControlKind), Option<Rc<Habits>>);

/// The positions of the first wheels of each name, and on each node as it is asked for.
#[derive(Debug, Default)]
struct Wheels {
    by_name: HashMap<Arc<str>, usize>,
    by_node: HashMap<NodePath, usize>,
}

/// A document that a dialect fits.
#[derive(Debug)]
pub(crate) struct Site<'v> {
    pub(crate) view: &'v View,
    pub(crate) dialect: &'v Dialect,
    pub(crate) machine: &'v Machine,
    /// The machine's names, for looking up many.
    index: NameIndex<'v>,
    pub(crate) reader: Reader<'v>,
    /// None: no scene, or none that can be read.
    pub(crate) scene: Option<&'v Scene>,
    pub(crate) rig: Option<Rig<'v>>,
    pub(crate) style: Style,
    /// How others write controls, by role and kind, as far as it was asked for.
    habits: RefCell<Vec<KnownHabits>>,
    /// The library is left out of account.
    is_alone: Cell<bool>,
    /// By node: the position of the first alias for it.
    aliases: OnceCell<HashMap<Arc<[u32]>, usize>>,
    /// By where it stands: the position of a use.
    uses: OnceCell<HashMap<TextRange, usize>>,
    wheels: OnceCell<Wheels>,
    /// Per role for aliases of the dialect, whether the document has elements of it.
    written_roles: OnceCell<Vec<bool>>,
}

impl<'v> Site<'v> {
    pub(crate) fn of(view: &'v View) -> Option<Self> {
        let meaning: &'v Meaning = view.meaning.as_ref()?;
        let dialect: &'v Dialect = &meaning.dialect;
        let scene = view.scene();
        Some(Self {
            view,
            dialect,
            machine: meaning.machine(),
            index: meaning.machine().index(),
            reader: Reader::new(view.tree(), dialect, &meaning.kind),
            scene,
            rig: scene.map(|scene| Rig::new(scene, meaning.machine(), &dialect.notation)),
            style: Style::of(view.tree()),
            habits: RefCell::default(),
            is_alone: Cell::default(),
            aliases: OnceCell::new(),
            uses: OnceCell::new(),
            wheels: OnceCell::new(),
            written_roles: OnceCell::new(),
        })
    }

    /// How the library's machines write controls of a role.
    pub(crate) fn habits(&self, role: usize, kind: ControlKind) -> Option<Rc<Habits>> {
        if self.view.library.is_none() || self.is_alone.get() {
            return None;
        }
        let key = (role, kind);
        let known = self
            .habits
            .borrow()
            .iter()
            .find(|(own, _)| *own == key)
            .cloned();
        if let Some((_, habits)) = known {
            return habits;
        }
        let habits = Habits::of_controls(self, role, kind).map(Rc::new);
        self.habits.borrow_mut().push((key, habits.clone()));
        habits
    }

    /// How many machines of the library have elements where a role for controls looks for them.
    pub(crate) fn machines_with(&self, role: usize) -> u32 {
        let role = self.dialect.roles.controls.get(role);
        let role = role.filter(|_| !self.is_alone.get());
        let spot = role.and_then(|role| habits::spot(self, &role.at));
        spot.map_or(0, |spot| spot.machines())
    }

    /// How the library's machines write aliases of a role.
    pub(crate) fn alias_habits(&self, role: &AliasRole) -> Option<Habits> {
        let is_asked = self.view.library.is_some() && !self.is_alone.get();
        is_asked.then(|| Habits::of_aliases(self, role)).flatten()
    }

    /// From now on nothing is written as others write it. Whether that makes a difference.
    pub(crate) fn leave_library(&self) -> bool {
        let mut habits = self.habits.borrow_mut();
        habits.clear();
        self.view.library.is_some() && !self.is_alone.replace(true)
    }

    pub(crate) fn text(&self) -> &'v str {
        self.view.text()
    }

    pub(crate) fn slice(&self, range: TextRange) -> &'v str {
        self.text()
            .get(std::ops::Range::<usize>::from(range))
            .unwrap_or_default()
    }

    /// The line of an offset, counted from 1, for messages.
    pub(crate) fn line(&self, offset: TextSize) -> u32 {
        let position =
            self.view
                .document
                .lines
                .position(self.text(), offset, syntax::Encoding::Utf8);
        position.line + 1
    }

    /// The chain to the innermost element around an offset. None: outside of all, or in a foreign namespace.
    pub(crate) fn chain_at(&self, offset: TextSize) -> Option<Chain<'v>> {
        self.reader.chain(&self.view.tree().elements_at(offset))
    }

    /// The chain to the element of this range that plays a role.
    pub(crate) fn locate(
        &self,
        from: &[machine::Located<'v>],
        at: &Path,
        element: TextRange,
    ) -> Option<Chain<'v>> {
        let found = self.reader.elements(from, at);
        found.into_iter().find(|chain| {
            chain
                .last()
                .is_some_and(|last| last.element.range() == element)
        })
    }

    /// The edit that writes a value at a path from the end of a chain.
    pub(crate) fn set_value(
        &self,
        chain: &[Located<'_>],
        path: &Path,
        value: &str,
    ) -> Result<TextEdit, Unwritable> {
        let (machine, text) = (self.machine, self.text());
        writer::set_value(&self.reader, machine, text, &self.style, chain, path, value)
    }

    /// Gives a new element what its declarations want; `name` is what it is called.
    pub(crate) fn complete(&self, element: &mut NewElement, names: &mut Names, name: &str) {
        writer::complete(self.dialect, self.machine, element, names, name);
    }

    /// The edit that writes new elements where they belong.
    pub(crate) fn insertion(
        &self,
        parent: &Parent<'_>,
        elements: Vec<NewElement>,
        names: &mut Names,
    ) -> Result<Insertion, Unwritable> {
        let (machine, text) = (self.machine, self.text());
        writer::insertion(
            &self.reader,
            machine,
            text,
            &self.style,
            parent,
            elements,
            names,
        )
    }

    /// Whether something of a kind has this name, as far as this document shows.
    pub(crate) fn has(&self, kind: &Kind, name: &str) -> bool {
        let mut given = self.machine.definitions.iter();
        self.dialect.name_scope(kind) == NameScope::Folder
            || given.any(|one| one.kind == *kind && *one.name.value == *name)
    }

    /// What the grammar says of the value that a range is in.
    pub(crate) fn declared_at(&self, range: TextRange) -> Option<&'v AttributeDecl> {
        let chain = self.view.tree().elements_at(range.start());
        let element = *chain.last()?;
        let document = self.dialect.document_context(self.reader.kind);
        let context = chain.iter().fold(document, |context, element| {
            self.dialect.element_context(context, element)
        });
        let declared = self.dialect.element(context)?;
        let attribute = element.attributes().find(|attribute| {
            attribute
                .value_range()
                .is_some_and(|value| value.contains_range(range))
        });
        match attribute {
            Some(attribute) => declared.attribute(attribute.name()),
            None => declared.text.as_ref(),
        }
    }

    /// The quote around a value, or the document's own.
    pub(crate) fn quote_at(&self, range: TextRange) -> char {
        let chain = self.view.tree().elements_at(range.start());
        let quote = chain.last().and_then(|element| {
            let mut attributes = element.attributes();
            attributes
                .find(|attribute| attribute.range().contains_range(range))?
                .quote()
        });
        quote.unwrap_or(self.style.quote)
    }

    /// The path to a node that is asked for, its own or its alias's, as it is written.
    pub(crate) fn written_path(&self, node: &'v NodeRef) -> Option<&'v NodePath> {
        self.index.path_of(node)
    }

    /// The child positions that lead to a node that is asked for, by whatever words.
    pub(crate) fn path_of(&self, node: &'v NodeRef) -> Option<Arc<[u32]>> {
        self.positions_of(self.written_path(node)?)
    }

    fn positions_of(&self, path: &NodePath) -> Option<Arc<[u32]>> {
        match path {
            NodePath::Positions(positions) => Some(positions.clone()),
            NodePath::Names(_) => {
                let scene = self.scene?;
                Some(scene.index_path(scene.find(path).ok()?).into())
            }
        }
    }

    /// A path in the one way in which all that lead to the same node are equal.
    pub(crate) fn comparable(&self, path: &NodePath) -> NodePath {
        self.positions_of(path)
            .map_or_else(|| path.clone(), NodePath::Positions)
    }

    /// What a node of the scene is called here: by the alias for it, else by
    /// its name in the scene, else by its index path.
    pub(crate) fn node_label(&self, path: &[u32]) -> String {
        if let Some(name) = self.alias_of(path) {
            return name.to_owned();
        }
        let named = self
            .scene
            .and_then(|scene| scene.walk(path).ok().map(|id| scene[id].name.to_string()));
        named
            .filter(|name| !name.is_empty())
            .unwrap_or_else(|| self.dialect.notation.index_path.label(path))
    }

    /// The first alias for a node.
    pub(crate) fn alias_of(&self, path: &[u32]) -> Option<&'v str> {
        let aliases = &self.machine.aliases;
        let firsts = self.aliases.get_or_init(|| {
            let mut firsts = HashMap::default();
            for (at, alias) in aliases.iter().enumerate() {
                let path = alias.path.as_ref().and_then(|path| self.path_of(path));
                path.into_iter().for_each(|path| {
                    firsts.entry(path).or_insert(at);
                });
            }
            firsts
        });
        let first = aliases.get(*firsts.get(path)?)?;
        first.name.as_ref().map(|name| &*name.value)
    }

    /// What gives this name to something of one of these kinds.
    pub(crate) fn definition(&self, kinds: &[Kind], name: &str) -> Option<&'v Definition> {
        self.index.definition(kinds, name)
    }

    /// The use that stands in this range.
    pub(crate) fn used_at(&self, range: TextRange) -> Option<&'v Use> {
        let uses = &self.machine.uses;
        let firsts = self.uses.get_or_init(|| {
            let mut firsts = HashMap::default();
            for (at, used) in uses.iter().enumerate() {
                firsts.entry(used.range).or_insert(at);
            }
            firsts
        });
        uses.get(*firsts.get(&range)?)
    }

    /// The wheel that a control's word means; see [`Machine::wheel`].
    pub(crate) fn wheel(&self, word: &WheelRef) -> Option<usize> {
        let wheels = self.wheels.get_or_init(|| {
            let mut wheels = Wheels::default();
            for (at, wheel) in self.machine.wheels.iter().enumerate() {
                if let Some(name) = &wheel.name {
                    wheels.by_name.entry(name.value.clone()).or_insert(at);
                }
                let node = wheel.node.as_ref();
                if let Some(path) = node.and_then(|node| self.written_path(node)) {
                    wheels.by_node.entry(path.clone()).or_insert(at);
                }
            }
            wheels
        });
        match &word.target {
            WheelTarget::Position(_) => self.machine.wheel(word),
            WheelTarget::Name(name) => wheels.by_name.get(name).copied(),
            WheelTarget::Node(node) => wheels.by_node.get(self.index.path_of(node)?).copied(),
        }
    }

    /// The role by which aliases of one of these kinds are written: the one the document uses, else the first of the
    /// dialect.
    pub(crate) fn alias_role(&self, kinds: &[Kind]) -> Option<&'v AliasRole> {
        let roles = &self.dialect.roles.aliases;
        let is_written = |role: &AliasRole| !self.reader.elements(&[], &role.at).is_empty();
        let written = || roles.iter().map(is_written).collect();
        let written = self.written_roles.get_or_init(written);
        let fitting = || {
            let all = roles.iter().zip(written);
            all.filter(|(role, _)| kinds.contains(&role.kind))
        };
        let used = fitting().find(|(_, is_written)| **is_written);
        used.or_else(|| fitting().next()).map(|(role, _)| role)
    }

    /// What a use leads to, if it is written in this document.
    pub(crate) fn target_of(&self, used: &Use) -> Option<&'v Definition> {
        self.index.target_of(self.machine, used)
    }

    /// The alias that a definition names.
    pub(crate) fn alias(&self, named: &Definition) -> Option<&'v Alias> {
        self.index.alias(named)
    }

    /// The animation that a control plays, named or counted.
    pub(crate) fn played(&self, control: &Control) -> Option<usize> {
        let named = control.animation.as_ref()?;
        if let Some(found) = self.index.animation(&named.value) {
            return Some(found);
        }
        match &self.used_at(named.range)?.target {
            UseTarget::Position { kind, index } => {
                let is_animation = self
                    .dialect
                    .roles
                    .animations
                    .iter()
                    .any(|role| role.kind == *kind);
                usize::try_from(*index).ok().filter(|_| is_animation)
            }
            _ => None,
        }
    }

    /// The controls that play an animation.
    pub(crate) fn players(&self, animation: usize) -> Vec<&'v Control> {
        let controls = self.machine.controls.iter();
        controls
            .filter(|control| self.played(control) == Some(animation))
            .collect()
    }

    pub(crate) fn animation_label(&self, animation: &Animation) -> String {
        match &animation.name {
            Some(name) => format!("`{}`", name.value),
            None => format!(
                "the animation on line {}",
                self.line(animation.element.start())
            ),
        }
    }

    /// A giver of names in the style of the names of a kind.
    pub(crate) fn names(&self, kind: &Kind) -> Names {
        let style = NameStyle::of(self.machine, self.dialect, kind);
        Names::of(self.machine, &style.joiner())
    }
}
