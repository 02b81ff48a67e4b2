//! The named things of a schema, and how names lead to them.

use std::collections::HashMap;

use roxmltree::Node;

use super::XS;
use super::sources::Schema;

/// What a name may name. Types of both sorts share their names.
#[derive(Copy, Clone, Debug, PartialEq, Eq, Hash)]
pub(super) enum Sort {
    Element,
    Attribute,
    Type,
    Group,
    AttributeGroup,
    /// A `key` or `unique`.
    Constraint,
}

/// A namespace and a local name.
#[derive(Copy, Clone, Debug, PartialEq, Eq, Hash)]
pub(super) struct Name<'a> {
    pub(super) namespace: Option<&'a str>,
    pub(super) local: &'a str,
}

/// A node of one of the schema's files.
#[derive(Copy, Clone, Debug)]
pub(super) struct Site<'a> {
    pub(super) schema: usize,
    pub(super) node: Node<'a, 'a>,
}

impl<'a> Site<'a> {
    /// To tell sites apart, and to remember what was made of them.
    pub(super) fn id(self) -> (usize, u32) {
        (self.schema, self.node.id().get())
    }

    /// Another node of the same file.
    pub(super) fn at(self, node: Node<'a, 'a>) -> Site<'a> {
        Site { node, ..self }
    }

    pub(super) fn attribute(self, name: &str) -> Option<&'a str> {
        self.node.attribute(name).map(str::trim)
    }

    /// Whether it is this element of XML Schema.
    pub(super) fn is(self, name: &str) -> bool {
        self.node.has_tag_name((XS, name))
    }

    /// The elements of XML Schema that it holds.
    pub(super) fn children(self) -> impl Iterator<Item = Site<'a>> {
        let own = move |node: &Node| node.is_element() && node.tag_name().namespace() == Some(XS);
        self.node
            .children()
            .filter(own)
            .map(move |node| self.at(node))
    }

    /// The first child that is one of these elements of XML Schema.
    pub(super) fn child(self, names: &[&str]) -> Option<Site<'a>> {
        self.children()
            .find(|child| names.iter().any(|name| child.is(name)))
    }

    /// What its documentation says, on one line.
    pub(super) fn doc(self) -> String {
        let annotations = self.children().filter(|child| child.is("annotation"));
        let texts = annotations
            .flat_map(Site::children)
            .filter(|child| child.is("documentation"));
        let mut words: Vec<&str> = Vec::new();
        for text in texts {
            let pieces = text.node.descendants().filter(Node::is_text);
            words.extend(
                pieces
                    .filter_map(|piece| piece.text())
                    .flat_map(str::split_whitespace),
            );
        }
        words.join(" ")
    }
}

/// All named things.
#[derive(Debug)]
pub(super) struct Components<'a> {
    pub(super) schemas: &'a [Schema<'a>],
    named: HashMap<(Sort, Name<'a>), Site<'a>>,
    /// What a `redefine` puts something else in the place of.
    redefined: HashMap<(Sort, Name<'a>), Site<'a>>,
}

impl<'a> Components<'a> {
    pub(super) fn new(schemas: &'a [Schema<'a>]) -> Self {
        let mut components = Self {
            schemas,
            named: HashMap::new(),
            redefined: HashMap::new(),
        };
        let mut replacements = Vec::new();
        for (schema, source) in schemas.iter().enumerate() {
            let root = Site {
                schema,
                node: source.document.root_element(),
            };
            for child in root.children() {
                if child.is("redefine") || child.is("override") {
                    replacements.extend(child.children());
                } else {
                    components.add(child);
                }
            }
            // Names of constraints share one table, wherever they stand.
            for node in source.document.descendants() {
                let site = root.at(node);
                if site.is("key") || site.is("unique") {
                    components.add(site);
                }
            }
        }
        for site in replacements {
            if let Some(name) = components.name_of(site)
                && let Some(original) = components.named.insert(name, site)
            {
                components.redefined.insert(name, original);
            }
        }
        components
    }

    fn add(&mut self, site: Site<'a>) {
        if let Some(name) = self.name_of(site) {
            self.named.entry(name).or_insert(site);
        }
    }

    fn name_of(&self, site: Site<'a>) -> Option<(Sort, Name<'a>)> {
        let sort = match site.node.tag_name().name() {
            "element" => Sort::Element,
            "attribute" => Sort::Attribute,
            "simpleType" | "complexType" => Sort::Type,
            "group" => Sort::Group,
            "attributeGroup" => Sort::AttributeGroup,
            "key" | "unique" => Sort::Constraint,
            _ => return None,
        };
        let local = site.attribute("name")?;
        let namespace = self.schemas.get(site.schema)?.namespace;
        Some((sort, Name { namespace, local }))
    }

    /// The name that a prefixed name means where it stands.
    pub(super) fn resolve(&self, at: Site<'a>, name: &'a str) -> Name<'a> {
        let (prefix, local) = match name.trim().split_once(':') {
            Some((prefix, local)) => (Some(prefix), local),
            None => (None, name.trim()),
        };
        if prefix == Some("xml") {
            let namespace = Some("http://www.w3.org/XML/1998/namespace");
            return Name { namespace, local };
        }
        let mut namespace = at
            .node
            .lookup_namespace_uri(prefix)
            .filter(|uri| !uri.is_empty());
        if let (None, None, Some(schema)) = (prefix, namespace, self.schemas.get(at.schema))
            && schema.adopted
        {
            namespace = schema.namespace;
        }
        Name { namespace, local }
    }

    /// What a name means where it stands. Within a redefinition, its own name means what it redefines.
    pub(super) fn find(&self, sort: Sort, at: Site<'a>, name: &'a str) -> Option<Site<'a>> {
        let name = (sort, self.resolve(at, name));
        let found = *self.named.get(&name)?;
        let is_inside =
            || at.schema == found.schema && at.node.ancestors().any(|node| node == found.node);
        match self.redefined.get(&name) {
            Some(original) if is_inside() => Some(*original),
            _ => Some(found),
        }
    }

    /// All things of a sort, by file and place.
    pub(super) fn all(&self, sort: Sort) -> Vec<(Name<'a>, Site<'a>)> {
        let named = self.named.iter().filter(|((of, _), _)| *of == sort);
        let mut all: Vec<_> = named.map(|((_, name), site)| (*name, *site)).collect();
        all.sort_by_key(|(_, site)| (site.schema, site.node.range().start));
        all
    }

    /// The namespace of what a file declares.
    pub(super) fn namespace(&self, at: Site<'a>) -> Option<&'a str> {
        self.schemas.get(at.schema)?.namespace
    }

    /// Whether local elements (or attributes) of a file are in its namespace unless they say otherwise.
    pub(super) fn is_qualified(&self, at: Site<'a>, default: &str) -> bool {
        let form = at.attribute("form").or_else(|| {
            let schema = self.schemas.get(at.schema)?;
            schema.document.root_element().attribute(default)
        });
        form == Some("qualified")
    }
}
