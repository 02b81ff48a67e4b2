//! The parts that roles are made of: paths to elements and values, and the meanings of words.

use toml::de::DeValue;

use super::expect::{Expect, Match};
use super::roles::RoleReader;
use super::section::{Placed, Section, Value, choose};
use super::site::{Contexts, ValuePlace};
use crate::kinds::Kind;
use crate::nearest::nearest;
use crate::path::{Leaf, Path};
use crate::roles::{Kinded, Rule, WordRule};
use crate::value_type::ItemType;

impl RoleReader<'_, '_, '_> {
    /// The elements that play a role, and where they stand. No place if the path is wrong.
    pub(super) fn at(
        &mut self,
        role: &mut Section<'_>,
        from: &Contexts,
    ) -> (Option<Path>, Option<Contexts>) {
        if !role.has("at") {
            role.take("at");
            role.missing("at", &mut self.reader.problems, "\"machine/wheels/wheel\"");
            return (None, None);
        }
        let Some(at) = role.path("at", &mut self.reader.problems) else {
            return (None, None);
        };
        if *at.value.leaf() != Leaf::Element {
            let message = "`at` leads to elements; leave out `@name` or `text()` at the end";
            self.reader.problems.report(at.place, message);
            return (None, None);
        }
        match self.site.walk(from, &at.value) {
            Ok(site) => (Some(at.value), Some(site)),
            // Where it cannot start, that has been said.
            Err(_) if from.is_empty() => (Some(at.value), None),
            Err(message) => {
                let message = format!("`at` leads nowhere: {message}");
                self.reader.problems.report(at.place, message);
                (Some(at.value), None)
            }
        }
    }

    pub(super) fn required(
        &mut self,
        role: &mut Section<'_>,
        key: &'static str,
        site: &Option<Contexts>,
        expect: &Expect,
    ) -> Option<(Path, Vec<ValuePlace>)> {
        if !role.has(key) {
            role.take(key);
            role.missing(key, &mut self.reader.problems, &format!("\"@{key}\""));
            return None;
        }
        self.optional(role, key, site, expect)
    }

    /// A path to a value. A path to an element means its text.
    pub(super) fn optional(
        &mut self,
        role: &mut Section<'_>,
        key: &'static str,
        site: &Option<Contexts>,
        expect: &Expect,
    ) -> Option<(Path, Vec<ValuePlace>)> {
        let path = role.path(key, &mut self.reader.problems)?;
        self.resolve(key, path, site, Some(expect))
    }

    pub(super) fn resolve(
        &mut self,
        key: &str,
        path: Placed<Path>,
        site: &Option<Contexts>,
        expect: Option<&Expect>,
    ) -> Option<(Path, Vec<ValuePlace>)> {
        let place = path.place;
        let path = path.value.to_text();
        let Some(site) = site else {
            return Some((path, Vec::new()));
        };
        let places = match self.site.values(site, &path) {
            Ok(places) => places,
            Err(message) => {
                let message = format!("`{key}` leads nowhere: {message}");
                self.reader.problems.report(place, message);
                return Some((path, Vec::new()));
            }
        };
        for value in &places {
            let element = self.site.element(value);
            let (Some(expect), Some(declared)) = (expect, element.value_at(&value.leaf)) else {
                continue;
            };
            let unreadable = (value.element, declared.name.clone());
            if self.reader.unreadable.contains(&unreadable) {
                continue;
            }
            match expect.check(declared) {
                Match::Fits => {}
                Match::FitsIn(quantity) => self.measured.push((value.clone(), quantity)),
                Match::No(instead) => {
                    let message = format!(
                        "`{key}` leads to `{}` of element `{}`, whose type does not fit; \
                         it needs {instead}",
                        declared.name, element.key
                    );
                    self.reader.problems.report(place.clone(), message);
                }
            }
        }
        Some((path, places))
    }

    /// What a role's name is a name of; the role's own word if it has no name.
    pub(super) fn kind(&self, name: Option<&(Path, Vec<ValuePlace>)>, role: &str) -> Kind {
        let places = name.into_iter().flat_map(|(_, places)| places);
        let mut kinds = places.filter_map(|place| {
            match &self.site.element(place).value_at(&place.leaf)?.value.item {
                ItemType::NameOf(kind) => Some(*kind),
                _ => None,
            }
        });
        kinds.next().unwrap_or_else(|| Kind::new(role))
    }

    /// A fixed concept, or a table that says which word of the document means which.
    pub(super) fn rule<T: Kinded>(
        &mut self,
        role: &mut Section<'_>,
        key: &'static str,
        site: &Option<Contexts>,
        example: &str,
    ) -> Option<Rule<T>> {
        let Some(value): Option<Value<'_>> = role.take(key) else {
            role.missing(key, &mut self.reader.problems, example);
            return None;
        };
        let problems = &mut self.reader.problems;
        if let DeValue::String(word) = value.get_ref() {
            let word = Placed {
                value: word.as_ref(),
                place: value.span(),
            };
            return choose(key, &word, T::WORDS, problems).map(Rule::Fixed);
        }
        let place = role.key_place(key);
        let section = super::section::as_section(key, format!("`{key}`"), place, value, problems)?;
        self.word_rule(section, site).map(Rule::Read)
    }

    pub(super) fn word_rule<T: Kinded>(
        &mut self,
        mut section: Section<'_>,
        site: &Option<Contexts>,
    ) -> Option<WordRule<T>> {
        let at = self.required(&mut section, "at", site, &Expect::Word);
        let mut words: Vec<(String, T)> = Vec::new();
        for (concept, meaning) in T::WORDS {
            let found = section.strings(concept, &mut self.reader.problems);
            for word in found.into_iter().flat_map(|found| found.value) {
                if words.iter().any(|(known, _)| known == word.value) {
                    let message = format!("`{}` is given two meanings; keep one", word.value);
                    self.reader.problems.report(word.place, message);
                    continue;
                }
                self.check_word(at.as_ref(), &word);
                words.push((word.value.to_owned(), *meaning));
            }
        }
        if words.is_empty() {
            let concepts: Vec<&str> = T::WORDS.iter().map(|(concept, _)| *concept).collect();
            let message = format!(
                "{} says of no word what it means; add, for example, `{} = \"…\"` (known: {})",
                section.label,
                concepts.first().copied().unwrap_or(""),
                concepts.join(", ")
            );
            self.reader.problems.report(section.place.clone(), message);
        }
        section.finish(&mut self.reader.problems);
        let default = self.common_default(at.as_ref());
        let (at, _) = at?;
        Some(WordRule { at, words, default })
    }

    /// The default of all declarations that a path leads to, if it is the same.
    fn common_default(&self, at: Option<&(Path, Vec<ValuePlace>)>) -> Option<String> {
        let places = at.into_iter().flat_map(|(_, places)| places);
        let declared = places.filter_map(|place| self.site.element(place).value_at(&place.leaf));
        let mut defaults = declared.map(|declared| declared.default.as_deref());
        let first = defaults.next()??;
        let is_common = defaults.all(|default| default == Some(first));
        is_common.then(|| first.to_owned())
    }

    /// A word that is given a meaning must be one that documents may have.
    fn check_word(&mut self, at: Option<&(Path, Vec<ValuePlace>)>, word: &Placed<&str>) {
        for place in at.into_iter().flat_map(|(_, places)| places) {
            let declared = self.site.element(place).value_at(&place.leaf);
            let Some(ItemType::Word(list)) = declared.map(|declared| &declared.value.item) else {
                continue;
            };
            if list.get(word.value).is_some() {
                continue;
            }
            let advice = match nearest(word.value, list.texts()) {
                Some(meant) => format!("did you mean `{meant}`?"),
                None => format!("its words are {}", crate::values::or_list(list.texts())),
            };
            let message = format!(
                "`{}` is no word of `{}`; {advice}",
                word.value,
                declared.map_or("", |declared| declared.name.as_str())
            );
            self.reader.problems.report(word.place.clone(), message);
        }
    }
}
