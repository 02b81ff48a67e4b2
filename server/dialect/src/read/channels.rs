//! What moves in an animation: channels, their motions, and where the times and values stand.

use toml::de::DeValue;

use super::expect::Expect;
use super::roles::RoleReader;
use super::section::{Section, as_section};
use super::site::{Contexts, Site};
use crate::kinds::Kind;
use crate::roles::{
    AxisSaid, ChannelRole, Easing, Ends, Keyframes, Kinded as _, Motion, Place, Property, Rule,
    Window, WordRule,
};
use crate::units::Quantity;

impl RoleReader<'_, '_, '_> {
    /// `[[role.channel]]`. `kinds`: of the names of animations.
    pub(super) fn channel(
        &mut self,
        mut role: Section<'_>,
        kinds: Vec<Kind>,
    ) -> Option<ChannelRole> {
        if self.animations.is_empty() {
            let message = "a channel belongs to an animation; add a `[[role.animation]]`";
            let place = role.place.clone();
            self.reader.problems.report(place, message);
        }
        // What names its animation may stand anywhere.
        let animations = match role.has("animation") {
            true => Site::document(),
            false => self.animations.clone(),
        };
        let (at, site) = self.at(&mut role, &animations);
        let site = site.filter(|_| !animations.is_empty());
        let expected = Expect::Pointer(kinds, "animation");
        let animation = self.optional(&mut role, "animation", &site, &expected);
        let node = self.required(&mut role, "node", &site, &Expect::Node);
        let window = self.window(&mut role, &site);
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
        let needs_window = |motion: &Section<'_>| !motion.has("keyframes") && !has_window(motion);
        if !has_window(&role) && (sections.is_empty() || sections.iter().any(needs_window)) {
            let message = "`[[role.channel]]` lacks the time window; add `begin = \"@begin\"` and \
                           `end = \"@end\"` (or `duration = \"@duration\"`), or `window = \"@window\"` for one list of both";
            self.reader.problems.report(role.place.clone(), message);
        }
        let mut motions = Vec::new();
        for section in sections {
            motions.extend(self.motion(section, &site));
        }
        self.finish(role);
        Some(ChannelRole {
            at: at?,
            animation: animation.map(|found| found.0),
            node: node?.0,
            window,
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
        let mut place = |key, lists| self.place(&mut section, key, site, &properties, lists);
        let (from, to, by) = (place("from", false), place("to", false), place("by", false));
        let list = place("ends", true);
        let keyframes = self.keyframes(&mut section, site, &properties);
        let given = ["from", "to", "by", "ends", "keyframes"].map(|key| section.has(key));
        let ends = match given {
            [true, true, false, false, false] => {
                from.zip(to).map(|(from, to)| Ends::Pair { from, to })
            }
            [false, true, false, false, false] => to.map(Ends::To),
            [false, false, true, false, false] => by.map(Ends::By),
            [false, false, false, true, false] => list.map(Ends::List),
            [false, false, false, false, true] => keyframes.map(Ends::Keyframes),
            _ => {
                let message = "a motion needs either `from` and `to`, or `to` or `by` alone where it goes on from \
                               where the node is, or `ends` for one list of both, or `keyframes`";
                self.reader.problems.report(section.place.clone(), message);
                None
            }
        };
        if properties == [Property::Visibility] && section.has("by") {
            let message =
                "showing and hiding cannot be said by a change; write `to` instead of `by`";
            self.reader
                .problems
                .report(section.key_place("by"), message);
        }
        if section.has("keyframes") && has_window(&section) {
            let message = "keyframes say their times themselves; remove the time window";
            self.reader.problems.report(section.place.clone(), message);
        }
        let window = self.window(&mut section, site);
        let from_rest = section.boolean("from-rest", &mut self.reader.problems);
        if from_rest == Some(true) && properties.contains(&Property::Visibility) {
            let message = "showing and hiding cannot be added to how the node rests; leave visibility to a motion of its own";
            let place = section.key_place("from-rest");
            self.reader.problems.report(place, message);
        }
        self.finish(section);
        Some(Motion {
            property: property?,
            ends: ends?,
            window,
            from_rest: from_rest.unwrap_or_default(),
        })
    }

    /// Where a value stands: all of it, or a number for each axis. `lists`: two values, in lists.
    fn place(
        &mut self,
        section: &mut Section<'_>,
        key: &'static str,
        site: &Option<Contexts>,
        properties: &[Property],
        lists: bool,
    ) -> Option<Place> {
        let value = section.take(key)?;
        if !matches!(value.get_ref(), DeValue::Table(_)) {
            let expected = match lists {
                true => Expect::Ends(properties.to_vec()),
                false => Expect::End(properties.to_vec()),
            };
            let found = self.optional(section, key, site, &expected);
            return found.map(|found| Place::Whole(found.0));
        }
        let place = section.key_place(key);
        let problems = &mut self.reader.problems;
        let mut axes = as_section(key, format!("`{key}`"), place, value, problems)?;
        if properties.contains(&Property::Visibility) {
            let message = format!(
                "showing and hiding has no axes; let `{key}` lead to one value, or leave visibility to a motion of its own"
            );
            problems.report(axes.place.clone(), message);
        }
        let quantity = match properties {
            [property] => property.quantity(),
            _ => None,
        };
        let expected = match lists {
            true => Expect::Numbers(quantity),
            false => Expect::Number(quantity),
        };
        if axes.has("along") || axes.has("amount") {
            return self.along(axes, site, &expected);
        }
        let found = ["x", "y", "z"].map(|axis| {
            let found = self.optional(&mut axes, axis, site, &expected);
            found.map(|found| found.0)
        });
        if found.iter().all(Option::is_none) {
            axes.missing("x", &mut self.reader.problems, "\"@x\"");
        }
        self.finish(axes);
        Some(Place::Axes(found))
    }

    /// `along` and `amount`: a number, and where its axis is said.
    fn along(
        &mut self,
        mut table: Section<'_>,
        site: &Option<Contexts>,
        expected: &Expect,
    ) -> Option<Place> {
        let amount = self.required(&mut table, "amount", site, expected);
        let axis = match table.take("along") {
            None => {
                let example = "{ at = \"@axis\", x = \"x\", y = \"y\", z = \"z\" }";
                table.missing("along", &mut self.reader.problems, example);
                None
            }
            Some(value) if matches!(value.get_ref(), DeValue::Table(_)) => {
                let place = table.key_place("along");
                let problems = &mut self.reader.problems;
                let words = as_section("along", "`along`", place, value, problems)?;
                self.word_rule(words, site).map(AxisSaid::Word)
            }
            Some(_) => {
                let vector = self.optional(&mut table, "along", site, &Expect::Axis);
                vector.map(|found| AxisSaid::Vector(found.0))
            }
        };
        self.finish(table);
        Some(Place::Along {
            axis: axis?,
            amount: amount?.0,
        })
    }

    fn keyframes(
        &mut self,
        section: &mut Section<'_>,
        site: &Option<Contexts>,
        properties: &[Property],
    ) -> Option<Keyframes> {
        let problems = &mut self.reader.problems;
        let mut table = section.section("keyframes", "`keyframes`", problems)?;
        let nowhere = Contexts::new();
        let (at, inner) = self.at(&mut table, site.as_ref().unwrap_or(&nowhere));
        let inner = inner.filter(|_| site.is_some());
        let time = Expect::Number(Some(Quantity::Time));
        let time = self.required(&mut table, "time", &inner, &time);
        if !table.has("value") {
            table.missing("value", &mut self.reader.problems, "\"@value\"");
        }
        let value = self.place(&mut table, "value", &inner, properties, false);
        self.finish(table);
        Some(Keyframes {
            at: at?,
            time: time?.0,
            value: value?,
        })
    }

    fn window(&mut self, section: &mut Section<'_>, site: &Option<Contexts>) -> Option<Window> {
        let time = Expect::Number(Some(Quantity::Time));
        let begin = self.optional(section, "begin", site, &time);
        let end = self.optional(section, "end", site, &time);
        let duration = self.optional(section, "duration", site, &time);
        let window = self.optional(
            section,
            "window",
            site,
            &Expect::Numbers(Some(Quantity::Time)),
        );
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
}

fn has_window(section: &Section<'_>) -> bool {
    ["begin", "end", "duration", "window"]
        .iter()
        .any(|key| section.has(key))
}
