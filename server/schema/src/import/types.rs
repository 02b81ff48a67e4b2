//! Complex types: the attributes, the children and the text of an element.

use std::rc::Rc;

use super::Importer;
use super::components::{Name, Site, Sort};
use super::content::Content;
use super::simple_types::Simple;

/// What the type of an element is.
#[derive(Copy, Clone, Debug)]
pub(super) enum TypeRef<'a> {
    /// One of XML Schema's own simple types.
    BuiltIn(&'a str),
    Simple(Site<'a>),
    Complex(Site<'a>),
    /// Whatever one likes.
    Any,
}

/// What a complex type allows.
#[derive(Clone, Debug)]
pub(super) struct Complex<'a> {
    pub(super) content: Content<'a>,
    pub(super) attributes: Vec<Attribute<'a>>,
    /// Whether other attributes are welcome.
    pub(super) open: bool,
    pub(super) text: Option<Simple>,
    pub(super) doc: String,
    /// What is not kept, as sentences without full stop.
    pub(super) lost: Vec<String>,
}

/// An attribute as a type uses it.
#[derive(Clone, Debug)]
pub(super) struct Attribute<'a> {
    pub(super) name: &'a str,
    pub(super) simple: Simple,
    pub(super) required: bool,
    pub(super) default: Option<&'a str>,
    pub(super) doc: String,
}

impl<'a> Complex<'a> {
    pub(super) fn empty() -> Self {
        Self {
            content: Content::empty(),
            attributes: Vec::new(),
            open: false,
            text: None,
            doc: String::new(),
            lost: Vec::new(),
        }
    }

    /// Whatever one likes.
    pub(super) fn anything() -> Self {
        Self {
            content: Content::anything(),
            open: true,
            text: Some(Simple::text()),
            ..Self::empty()
        }
    }

    /// What allows all that any of these allows.
    fn any_of(types: &[Rc<Complex<'a>>]) -> Self {
        let contents = types.iter().map(|one| one.content.clone());
        let mut whole = Self {
            content: Content::choice(contents.collect()),
            open: types.iter().any(|one| one.open),
            ..Self::empty()
        };
        for attribute in types.iter().flat_map(|one| &one.attributes) {
            if whole
                .attributes
                .iter()
                .any(|known| known.name == attribute.name)
            {
                continue;
            }
            let mut merged = attribute.clone();
            for one in types {
                match one
                    .attributes
                    .iter()
                    .find(|other| other.name == attribute.name)
                {
                    Some(same) if same.simple.value == merged.simple.value => {
                        merged.required &= same.required
                    }
                    Some(_) => merged.simple = Simple::text(),
                    None => merged.required = false,
                }
            }
            whole.attributes.push(merged);
        }
        let texts: Vec<&Simple> = types.iter().filter_map(|one| one.text.as_ref()).collect();
        whole.text = match texts.as_slice() {
            [] => None,
            [first, others @ ..]
                if texts.len() == types.len()
                    && others.iter().all(|other| other.value == first.value) =>
            {
                Some((*first).clone())
            }
            _ => Some(Simple::text()),
        };
        whole
    }
}

impl<'a> Importer<'a> {
    /// What a `complexType` element declares.
    pub(super) fn complex_type(&mut self, site: Site<'a>) -> Rc<Complex<'a>> {
        if let Some(known) = self.complex_types.get(&site.id()) {
            return Rc::clone(known);
        }
        // Met again while it is read, it is derived from itself: nothing is certain then.
        self.complex_types
            .insert(site.id(), Rc::new(Complex::anything()));
        let read = self.deeper(|importer| importer.read_complex_type(site));
        let complex = Rc::new(read.unwrap_or_else(Complex::anything));
        self.complex_types.insert(site.id(), Rc::clone(&complex));
        complex
    }

    /// What an element of this type may be: of this type, or (if it says so itself with `xsi:type`) of one that is
    /// derived from it.
    pub(super) fn instances(&mut self, site: Site<'a>) -> Rc<Complex<'a>> {
        let extended = self.extensions(site);
        let is_abstract = site.attribute("abstract") == Some("true");
        if extended.is_empty() {
            return self.complex_type(site);
        }
        let own = (!is_abstract).then_some(site);
        let types = own.into_iter().chain(extended);
        let types: Vec<_> = types.map(|site| self.complex_type(site)).collect();
        let mut whole = Complex::any_of(&types);
        whole.doc = site.doc();
        whole
            .lost
            .push("it may be of several types; what any of them allows is allowed".to_owned());
        Rc::new(whole)
    }

    /// The types that extend this one, in any number of steps, and may be used. Restrictions allow nothing more.
    fn extensions(&self, site: Site<'a>) -> Vec<Site<'a>> {
        let mut known = vec![site];
        let mut next = 0;
        while let Some(base) = known.get(next).copied() {
            next += 1;
            for derived in self.derivations.get(&base.id()).into_iter().flatten() {
                if known.iter().all(|site| site.id() != derived.id()) {
                    known.push(*derived);
                }
            }
        }
        known.retain(|derived| {
            let content = derived.child(&["complexContent", "simpleContent"]);
            let extends = content.is_some_and(|content| content.child(&["extension"]).is_some());
            derived.id() != site.id() && extends && derived.attribute("abstract") != Some("true")
        });
        known
    }

    fn read_complex_type(&mut self, site: Site<'a>) -> Complex<'a> {
        let mut complex = match site.child(&["simpleContent", "complexContent"]) {
            Some(content) => self.derived_content(site, content),
            None => {
                let content = self.model(site);
                let mut complex = Complex {
                    content,
                    ..Complex::empty()
                };
                self.attributes(site, &mut complex);
                complex
            }
        };
        let is_mixed = |at: Site<'a>| matches!(at.attribute("mixed"), Some("true" | "1"));
        let content = site.child(&["complexContent"]);
        if complex.text.is_none() && (is_mixed(site) || content.is_some_and(is_mixed)) {
            complex.text = Some(Simple::text());
        }
        for other in site.children() {
            if other.is("assert") || other.is("openContent") {
                let name = other.node.tag_name().name();
                complex.lost.push(format!("`{name}` is not kept"));
            }
        }
        complex.doc = site.doc();
        complex
    }

    /// An extension or a restriction of another type.
    fn derived_content(&mut self, site: Site<'a>, content: Site<'a>) -> Complex<'a> {
        let Some(derivation) = content.child(&["extension", "restriction"]) else {
            return Complex::empty();
        };
        let extends = derivation.is("extension");
        let base = match derivation.attribute("base") {
            Some(name) => self.type_named(derivation, name),
            None => TypeRef::Any,
        };
        let mut complex = match base {
            TypeRef::Complex(base) if base.id() != site.id() => (*self.complex_type(base)).clone(),
            TypeRef::Simple(simple) => Complex {
                text: Some(self.simple_type(simple)),
                ..Complex::empty()
            },
            TypeRef::BuiltIn(_) => {
                let name = derivation.attribute("base").unwrap_or_default();
                Complex {
                    text: Some(self.simple_type_named(derivation, name)),
                    ..Complex::empty()
                }
            }
            // All complex types restrict `anyType`; who extends it allows anything.
            TypeRef::Any if !extends => Complex::empty(),
            TypeRef::Complex(_) | TypeRef::Any => Complex::anything(),
        };
        complex.lost.retain(|lost| !lost.starts_with('`'));
        if content.is("simpleContent") {
            if !extends {
                let inline = derivation
                    .child(&["simpleType"])
                    .map(|inline| self.simple_type(inline));
                let text = inline.or(complex.text.take()).unwrap_or_else(Simple::text);
                complex.text = Some(self.restricted(text, derivation, None));
            }
        } else {
            let model = self.model(derivation);
            complex.content = match extends {
                true => Content::sequence(vec![complex.content, model]),
                false => model,
            };
            if !extends {
                complex.open = false;
                // Whether it is mixed is said anew.
                complex.text = None;
            }
        }
        self.attributes(derivation, &mut complex);
        complex
    }

    /// Adds the attributes that a type or a derivation declares.
    fn attributes(&mut self, around: Site<'a>, complex: &mut Complex<'a>) {
        let mut groups = Vec::new();
        let mut waiting: Vec<Site<'a>> = around.children().collect();
        waiting.reverse();
        while let Some(site) = waiting.pop() {
            if site.is("attribute") {
                self.attribute(site, complex);
            } else if site.is("anyAttribute") {
                complex.open |= self.welcomes_own(site);
            } else if site.is("attributeGroup")
                && let Some(name) = site.attribute("ref")
            {
                match self.components.find(Sort::AttributeGroup, site, name) {
                    Some(group) if !groups.contains(&group.id()) => {
                        groups.push(group.id());
                        let members: Vec<Site<'a>> = group.children().collect();
                        waiting.extend(members.into_iter().rev());
                    }
                    Some(_) => {}
                    None => {
                        self.notes.add_about(name, "a group of attributes is not declared in these files, so that any attribute may stand there");
                        complex.open = true;
                    }
                }
            }
        }
    }

    fn attribute(&mut self, site: Site<'a>, complex: &mut Complex<'a>) {
        let reference = site.attribute("ref");
        let declared = match reference {
            Some(name) => self.components.find(Sort::Attribute, site, name),
            None => Some(site),
        };
        let name = match reference {
            Some(name) => self.components.resolve(site, name),
            None => Name {
                namespace: self
                    .components
                    .namespace(site)
                    .filter(|_| self.components.is_qualified(site, "attributeFormDefault")),
                local: site.attribute("name").unwrap_or_default(),
            },
        };
        if name.local.is_empty() {
            return;
        }
        if name.namespace.is_some() {
            complex.lost.push(
                "attributes with a prefix are left alone, whatever the schema says about them"
                    .to_owned(),
            );
            return;
        }
        complex.attributes.retain(|known| known.name != name.local);
        if site.attribute("use") == Some("prohibited") {
            return;
        }
        let Some(declared) = declared else {
            self.notes.add_about(
                name.local,
                "an attribute is not declared in these files, so that it may be any text",
            );
            complex.attributes.push(Attribute {
                name: name.local,
                simple: Simple::text(),
                required: false,
                default: None,
                doc: String::new(),
            });
            return;
        };
        let mut simple = self.attribute_type(declared);
        let value = |name| site.node.attribute(name).or(declared.node.attribute(name));
        if let Some(fixed) = value("fixed") {
            simple = simple.fixed(fixed);
        }
        let doc = [site.doc(), declared.doc()]
            .into_iter()
            .find(|doc| !doc.is_empty());
        complex.attributes.push(Attribute {
            name: name.local,
            simple,
            required: site.attribute("use") == Some("required"),
            default: value("default").or(value("fixed")),
            doc: doc.unwrap_or_default(),
        });
    }

    /// Whether a wildcard takes what is in the document's own namespace (an attribute: in none).
    pub(super) fn welcomes_own(&self, wildcard: Site<'a>) -> bool {
        let own = self.components.namespace(wildcard);
        let of_attributes = wildcard.is("anyAttribute");
        let takes = |token: &str| match token {
            "##any" => true,
            "##targetNamespace" => !of_attributes || own.is_none(),
            "##local" => of_attributes || own.is_none(),
            "##other" => false,
            uri => !of_attributes && Some(uri) == own,
        };
        let namespaces = wildcard.attribute("namespace").unwrap_or("##any");
        wildcard.attribute("notNamespace").is_some() || namespaces.split_whitespace().any(takes)
    }
}
