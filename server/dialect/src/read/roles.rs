//! `[[role.…]]`: what elements mean.

use super::Reader;
use super::expect::Expect;
use super::section::{Placed, Section};
use super::site::{Contexts, Site, ValuePlace};
use crate::documents::DocumentKind;
use crate::grammar::Grammar;
use crate::inputs::ControlKind;
use crate::kinds::Kind;
use crate::path::{Leaf, Path};
use crate::roles::{
    AliasRole, AnimationRole, ControlRole, ListingRole, Roles, SceneRole, SoundRole, WheelRole,
    WordingRole,
};
use crate::units::Quantity;
use crate::value_type::ItemType;

impl Reader<'_> {
    /// `[[role.…]]`
    pub(super) fn roles(
        &mut self,
        file: &mut Section<'_>,
        grammar: &mut Grammar,
        documents: &[Placed<DocumentKind>],
    ) -> Roles {
        let mut roles = Roles::default();
        let Some(mut section) = file.section("role", "`[role]`", &mut self.problems) else {
            return roles;
        };
        let mut reading = RoleReader {
            site: Site::new(grammar, documents.iter().map(|kind| &kind.value)),
            measured: Vec::new(),
            animations: Contexts::new(),
            reader: self,
        };
        reading.all(&mut section, &mut roles);
        section.finish(&mut reading.reader.problems);
        for (place, quantity) in reading.measured {
            let unit = self.notation.units.of(quantity);
            let element = &mut grammar.elements[place.element];
            let declared = match &place.leaf {
                Leaf::Text => element.text.as_mut(),
                Leaf::Attribute(name) => element
                    .attributes
                    .iter_mut()
                    .find(|known| known.name == *name),
                Leaf::Element => None,
            };
            if let Some(ItemType::Number { unit: none, .. } | ItemType::Vector { unit: none, .. }) =
                declared.map(|declared| &mut declared.value.item)
            {
                none.get_or_insert_with(|| unit.clone());
            }
        }
        roles
    }
}

pub(super) struct RoleReader<'r, 't, 'g> {
    pub(super) reader: &'r mut Reader<'t>,
    pub(super) site: Site<'g>,
    /// Numbers whose quantity only their role tells.
    pub(super) measured: Vec<(ValuePlace, Quantity)>,
    pub(super) animations: Contexts,
}

impl RoleReader<'_, '_, '_> {
    fn all(&mut self, section: &mut Section<'_>, roles: &mut Roles) {
        for role in self.sections(section, "scene") {
            roles.scenes.extend(self.scene(role));
        }
        for role in self.sections(section, "alias") {
            roles.aliases.extend(self.alias(role));
        }
        for role in self.sections(section, "wheel") {
            roles.wheels.extend(self.wheel(role));
        }
        for role in self.sections(section, "sound") {
            roles.sounds.extend(self.sound(role));
        }
        for role in self.sections(section, "animation") {
            roles.animations.extend(self.animation(role));
        }
        for role in self.sections(section, "channel") {
            let kinds = roles.animations.iter().map(|role| role.kind);
            roles.channels.extend(self.channel(role, kinds.collect()));
        }
        for role in self.sections(section, "control") {
            let role = self.control(role, roles);
            roles.controls.extend(role);
        }
        for role in self.sections(section, "listing") {
            roles.listings.extend(self.listing(role));
        }
        for role in self.sections(section, "wording") {
            roles.wordings.extend(self.wording(role));
        }
    }

    fn sections<'a>(&mut self, section: &mut Section<'a>, key: &'static str) -> Vec<Section<'a>> {
        let label = format!("`[[role.{key}]]`");
        let mut sections = section.sections(key, &label, &mut self.reader.problems);
        for role in &mut sections {
            self.learnt(role);
        }
        sections
    }

    /// How sure a learnt role is, and whether a person confirmed it: for people, and for learning again.
    fn learnt(&mut self, role: &mut Section<'_>) {
        let problems = &mut self.reader.problems;
        let label = format!("`learnt` of {}", role.label);
        if let Some(mut learnt) = role.section("learnt", label, problems) {
            learnt.number("confidence", problems);
            learnt.boolean("confirmed", problems);
            learnt.finish(problems);
        }
    }

    pub(super) fn finish(&mut self, section: Section<'_>) {
        section.finish(&mut self.reader.problems);
    }

    fn scene(&mut self, mut role: Section<'_>) -> Option<SceneRole> {
        let (at, site) = self.at(&mut role, &Site::document());
        let file = self.required(&mut role, "file", &site, &Expect::File);
        self.finish(role);
        Some(SceneRole {
            at: at?,
            file: file?.0,
        })
    }

    fn alias(&mut self, mut role: Section<'_>) -> Option<AliasRole> {
        let (at, site) = self.at(&mut role, &Site::document());
        let name = self.required(&mut role, "name", &site, &Expect::Name);
        let path = self.required(&mut role, "path", &site, &Expect::NodePath);
        self.finish(role);
        let name = name?;
        Some(AliasRole {
            kind: self.kind(Some(&name), "alias"),
            at: at?,
            name: name.0,
            path: path?.0,
        })
    }

    fn wheel(&mut self, mut role: Section<'_>) -> Option<WheelRole> {
        let length = Expect::Number(Some(Quantity::Length));
        let (at, site) = self.at(&mut role, &Site::document());
        let name = self.optional(&mut role, "name", &site, &Expect::Name);
        let node = self.required(&mut role, "node", &site, &Expect::Node);
        let radius = self.optional(&mut role, "radius", &site, &length);
        let width = self.optional(&mut role, "width", &site, &length);
        self.finish(role);
        Some(WheelRole {
            kind: self.kind(name.as_ref(), "wheel"),
            at: at?,
            name: only_path(name),
            node: node?.0,
            radius: only_path(radius),
            width: only_path(width),
        })
    }

    fn sound(&mut self, mut role: Section<'_>) -> Option<SoundRole> {
        let (at, site) = self.at(&mut role, &Site::document());
        let name = self.optional(&mut role, "name", &site, &Expect::Name);
        let file = self.optional(&mut role, "file", &site, &Expect::File);
        self.finish(role);
        Some(SoundRole {
            kind: self.kind(name.as_ref(), "sound"),
            at: at?,
            name: only_path(name),
            file: only_path(file),
        })
    }

    fn animation(&mut self, mut role: Section<'_>) -> Option<AnimationRole> {
        let time = Expect::Number(Some(Quantity::Time));
        let (at, site) = self.at(&mut role, &Site::document());
        let name = self.optional(&mut role, "name", &site, &Expect::Name);
        let duration = self.optional(&mut role, "duration", &site, &time);
        self.finish(role);
        self.animations.extend(site.into_iter().flatten());
        Some(AnimationRole {
            kind: self.kind(name.as_ref(), "animation"),
            at: at?,
            name: only_path(name),
            duration: only_path(duration),
        })
    }

    fn control(&mut self, mut role: Section<'_>, roles: &Roles) -> Option<ControlRole> {
        let animations: Vec<Kind> = roles.animations.iter().map(|role| role.kind).collect();
        let wheels: Vec<Kind> = roles.wheels.iter().map(|role| role.kind).collect();
        let aliases: Vec<Kind> = roles.aliases.iter().map(|role| role.kind).collect();
        let sounds: Vec<Kind> = roles.sounds.iter().map(|role| role.kind).collect();
        let (at, site) = self.at(&mut role, &Site::document());
        let kind = self.rule::<ControlKind>(&mut role, "kind", &site, "\"analog\"");
        let expect = Expect::PointerOrName(animations, "animation");
        let animation = self.required(&mut role, "animation", &site, &expect);
        let input = self.required(&mut role, "input", &site, &Expect::Input);
        let gain = self.optional(&mut role, "gain", &site, &Expect::Number(None));
        let rate = self.optional(&mut role, "rate", &site, &Expect::Number(None));
        let node = self.optional(&mut role, "node", &site, &Expect::Node);
        let wheels = self.optional(
            &mut role,
            "wheels",
            &site,
            &Expect::Wheels { wheels, aliases },
        );
        let sounds = self.optional(
            &mut role,
            "sounds",
            &site,
            &Expect::Pointer(sounds, "sound"),
        );
        let text = self.optional(&mut role, "text", &site, &Expect::Text);
        let usual = self.usual(&mut role, &site);
        self.finish(role);
        Some(ControlRole {
            at: at?,
            kind: kind?,
            animation: animation?.0,
            input: input?.0,
            gain: only_path(gain),
            rate: only_path(rate),
            node: only_path(node),
            wheels: only_path(wheels),
            sounds: only_path(sounds),
            text: only_path(text),
            usual,
        })
    }

    fn usual(&mut self, role: &mut Section<'_>, site: &Option<Contexts>) -> Vec<(Path, String)> {
        let Some(section) = role.section("usual", "`usual`", &mut self.reader.problems) else {
            return Vec::new();
        };
        let mut usual = Vec::new();
        for (path, value) in section.entries() {
            let parsed = super::section::parse_path("usual", &path, &mut self.reader.problems);
            let value = self.reader.sample_value(path.value, value);
            let (Some(parsed), Some(value)) = (parsed, value) else {
                continue;
            };
            let Some((path, places)) = self.resolve("usual", parsed, site, None) else {
                continue;
            };
            for place in places {
                self.reader.values.push(super::usual::PlacedValue {
                    element: place.element,
                    name: match &place.leaf {
                        Leaf::Attribute(name) => name.clone(),
                        _ => super::elements::TEXT.to_owned(),
                    },
                    key: "usual",
                    value: value.clone(),
                });
            }
            usual.push((path, value.value));
        }
        usual
    }

    fn listing(&mut self, mut role: Section<'_>) -> Option<ListingRole> {
        let (at, site) = self.at(&mut role, &Site::document());
        let file = self.required(&mut role, "file", &site, &Expect::File);
        self.finish(role);
        Some(ListingRole {
            at: at?,
            file: file?.0,
        })
    }

    fn wording(&mut self, mut role: Section<'_>) -> Option<WordingRole> {
        let (at, site) = self.at(&mut role, &Site::document());
        let key = self.required(&mut role, "key", &site, &Expect::Text);
        let language = self.required(&mut role, "language", &site, &Expect::Text);
        self.finish(role);
        Some(WordingRole {
            at: at?,
            key: key?.0,
            language: language?.0,
        })
    }
}

fn only_path(found: Option<(Path, Vec<ValuePlace>)>) -> Option<Path> {
    found.map(|(path, _)| path)
}
