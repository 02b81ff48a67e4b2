use super::Reader;
use super::expect::Expect;
use super::section::{Placed, Section};
use super::site::{Contexts, Site, ValuePlace};
use crate::documents::DocumentKind;
use crate::grammar::Grammar;
use crate::inputs::ControlKind;
use crate::path::{Leaf, Path};
use crate::roles::{
    AliasRole, AnimationRole, ChannelRole, ControlRole, Easing, Ends, Kinded, ListingRole, Motion,
    Property, Roles, Rule, SceneRole, SoundRole, WheelRole, Window, WordRule, WordingRole,
};
use crate::units::Quantity;
use crate::value_type::{ItemType, Kind};

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
    animations: Contexts,
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
            roles.channels.extend(self.channel(role));
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

    fn finish(&mut self, section: Section<'_>) {
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
        let path = self.required(&mut role, "path", &site, &Expect::IndexPath);
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

    fn channel(&mut self, mut role: Section<'_>) -> Option<ChannelRole> {
        if self.animations.is_empty() {
            let message = "a channel belongs to an animation; add a `[[role.animation]]`";
            let place = role.place.clone();
            self.reader.problems.report(place, message);
        }
        let animations = self.animations.clone();
        let (at, site) = self.at(&mut role, &animations);
        let site = site.filter(|_| !animations.is_empty());
        let node = self.required(&mut role, "node", &site, &Expect::Node);
        let window = self.window(&mut role, &site);
        if window.is_none()
            && !["begin", "end", "duration", "window"]
                .iter()
                .any(|key| role.has(key))
        {
            let message = "`[[role.channel]]` lacks the time window; add `begin = \"@begin\"` and \
                           `end = \"@end\"` (or `duration = \"@duration\"`), or `window = \"@window\"` for one list of both";
            self.reader.problems.report(role.place.clone(), message);
        }
        let easing = self.easing(&mut role, &site);
        let sections = role.sections(
            "motion",
            "`[[role.channel.motion]]`",
            &mut self.reader.problems,
        );
        if sections.is_empty() && !role.has("motion") {
            let example = "[{ property = \"translation\", from = \"@from\", to = \"@to\" }]";
            role.missing("motion", &mut self.reader.problems, example);
        }
        let mut motions = Vec::new();
        for section in sections {
            motions.extend(self.motion(section, &site));
        }
        self.finish(role);
        Some(ChannelRole {
            at: at?,
            node: node?.0,
            window: window?,
            easing,
            motions,
        })
    }

    fn motion(&mut self, mut section: Section<'_>, site: &Option<Contexts>) -> Option<Motion> {
        let property = self.rule(&mut section, "property", site, "\"translation\"");
        let properties = match &property {
            Some(Rule::Fixed(property)) => vec![*property],
            Some(Rule::Read(rule)) => rule.words.iter().map(|(_, property)| *property).collect(),
            None => Property::WORDS
                .iter()
                .map(|(_, property)| *property)
                .collect(),
        };
        let end = Expect::End(properties.clone());
        let from = self.optional(&mut section, "from", site, &end);
        let to = self.optional(&mut section, "to", site, &end);
        let ends = self.optional(&mut section, "ends", site, &Expect::Ends(properties));
        let given = (section.has("from"), section.has("to"), section.has("ends"));
        let ends = match given {
            (true, true, false) => from.zip(to).map(|(from, to)| Ends::Pair {
                from: from.0,
                to: to.0,
            }),
            (false, false, true) => ends.map(|ends| Ends::List(ends.0)),
            _ => {
                let message =
                    "a motion needs either `from` and `to`, or `ends` for one list of both";
                self.reader.problems.report(section.place.clone(), message);
                None
            }
        };
        let window = self.window(&mut section, site);
        self.finish(section);
        Some(Motion {
            property: property?,
            ends: ends?,
            window,
        })
    }

    fn window(&mut self, section: &mut Section<'_>, site: &Option<Contexts>) -> Option<Window> {
        let time = Expect::Number(Some(Quantity::Time));
        let begin = self.optional(section, "begin", site, &time);
        let end = self.optional(section, "end", site, &time);
        let duration = self.optional(section, "duration", site, &time);
        let window = self.optional(section, "window", site, &Expect::Times);
        match (
            section.has("begin"),
            section.has("end"),
            section.has("duration"),
            section.has("window"),
        ) {
            (false, false, false, false) => None,
            (true, true, false, false) => begin.zip(end).map(|(begin, end)| Window::Pair {
                begin: begin.0,
                end: end.0,
            }),
            (true, false, true, false) => {
                begin
                    .zip(duration)
                    .map(|(begin, duration)| Window::Lasting {
                        begin: begin.0,
                        duration: duration.0,
                    })
            }
            (false, false, false, true) => window.map(|window| Window::List(window.0)),
            _ => {
                let message = "write either `begin` and `end`, or `begin` and `duration`, or `window` for one \
                               list of begin and end";
                self.reader.problems.report(section.place.clone(), message);
                None
            }
        }
    }

    fn easing(
        &mut self,
        role: &mut Section<'_>,
        site: &Option<Contexts>,
    ) -> Option<WordRule<Easing>> {
        let value = role.take("easing")?;
        let place = role.key_place("easing");
        let section = super::section::as_section(
            "easing",
            "`easing`",
            place,
            value,
            &mut self.reader.problems,
        )?;
        self.word_rule(section, site)
    }

    fn control(&mut self, mut role: Section<'_>, roles: &Roles) -> Option<ControlRole> {
        let animations: Vec<Kind> = roles
            .animations
            .iter()
            .map(|role| role.kind.clone())
            .collect();
        let wheels: Vec<Kind> = roles.wheels.iter().map(|role| role.kind.clone()).collect();
        let aliases: Vec<Kind> = roles.aliases.iter().map(|role| role.kind.clone()).collect();
        let sounds: Vec<Kind> = roles.sounds.iter().map(|role| role.kind.clone()).collect();
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
