//! One element, with its attributes cut up, for who reads what it says.

use crate::attributes::{Assigned, Attributes};
use crate::document::{Chain, Content, Located, Reader};
use crate::found::{Found, has_text};
use crate::model::{NodeRef, NodeTarget, Spanned};
use crate::names;
use crate::select::{goes_down_by_name, own_attribute};
use dialect::{ElementDecl, EndValue, ItemType, Path, Property, Quantity};
use std::borrow::Cow;

/// An element with all that is around it and in its tag, for who reads what it says.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Here<'h, 't> {
    pub(crate) reader: &'h Reader<'t>,
    /// Down to the element, that one included.
    pub(crate) chain: &'h Chain<'t>,
    pub(crate) at: Located<'t>,
    pub(crate) declared: Option<&'t ElementDecl>,
    pub(crate) attributes: &'h Attributes<'t>,
    /// What stands in it, if that was looked at already.
    content: Option<Content<'h, 't>>,
}

impl<'t> Reader<'t> {
    /// The element at the end of a chain; None if the chain is empty. `attributes` is where those of the element go.
    pub(crate) fn here<'h>(
        &'h self,
        chain: &'h Chain<'t>,
        attributes: &'h mut Attributes<'t>,
    ) -> Option<Here<'h, 't>> {
        let at = *chain.last()?;
        attributes.cut(at.element);
        Some(self.here_among(chain, at, attributes, None))
    }

    /// The same for an element whose attributes are cut up; `content`, if that is known.
    pub(crate) fn here_among<'h>(
        &'h self,
        chain: &'h Chain<'t>,
        at: Located<'t>,
        attributes: &'h mut Attributes<'t>,
        content: Option<Content<'h, 't>>,
    ) -> Here<'h, 't> {
        let declared = self.dialect.element(at.context);
        attributes.declare(declared);
        Here {
            reader: self,
            chain,
            at,
            declared,
            attributes,
            content,
        }
    }
}

impl<'h, 't: 'h> Here<'h, 't> {
    /// See [`Reader::value`].
    pub(crate) fn value(&self, path: &Path) -> Option<Found<'h>> {
        Some(self.value_and_attribute(path)?.0)
    }

    /// The same with the attribute that it is the value of, if that is the element's own.
    fn value_and_attribute(&self, path: &Path) -> Option<(Found<'h>, Option<&'h Assigned<'t>>)> {
        let Some(name) = own_attribute(path) else {
            return Some((self.value_elsewhere(path)?, None));
        };
        let assigned = self.attributes.named(name)?;
        Some((self.found(assigned)?, Some(assigned)))
    }

    fn value_elsewhere(&self, path: &Path) -> Option<Found<'t>> {
        match self.content {
            Some(content) if goes_down_by_name(path) => {
                let (steps, leaf) = (path.steps(), path.leaf());
                let children = content.children();
                self.reader.first_among(self.chain, children, steps, leaf)
            }
            _ => self.reader.value(self.chain, path),
        }
    }

    /// Whether it has anything but white space, comments and elements.
    pub(crate) fn has_text(&self) -> bool {
        match self.content {
            Some(content) => content.has_text,
            None => has_text(self.at.element),
        }
    }

    /// Whether something stands in it that may be the document's own but for a prefix.
    pub(crate) fn may_lack_prefix(&self) -> bool {
        let holds = |content: Content<'_, '_>| content.some_without_prefix();
        !self.at.default_is_ours() && self.content.is_none_or(holds)
    }

    /// See [`Reader::values`].
    pub(crate) fn values(&self, path: &Path) -> Vec<Found<'t>> {
        self.reader.values(self.chain, path)
    }

    /// See [`Reader::leads_to`]: whether a path leads from the first `start` elements around it to this one.
    pub(crate) fn is_at(&self, path: &Path, start: usize) -> bool {
        let own = Some(self.attributes);
        self.reader.leads_to(path, start, self.chain, own)
    }

    /// The node that the value at a path asks for.
    pub(crate) fn node(&self, path: &Path) -> Option<NodeRef> {
        match own_attribute(path) {
            Some(name) => self.node_of(self.attributes.named(name)?),
            None => {
                let found = self.value_elsewhere(path)?;
                (!found.text.is_empty()).then(|| names::node_ref(self.reader, &found))
            }
        }
    }

    /// The node that the value of an attribute asks for.
    fn node_of(&self, assigned: &'h Assigned<'t>) -> Option<NodeRef> {
        let range = self.found(assigned)?.range;
        let mut known = self.attributes.nodes.borrow_mut();
        match known.iter().position(|node| node.range == range) {
            // Hardly any is asked for again.
            Some(at) => Some(known.swap_remove(at)),
            None => self.read_node(assigned),
        }
    }

    /// The same for the grammar, which asks first. What it has as a node is mostly what a role reads, too: so it is kept
    /// for that one.
    pub(crate) fn with_node(&self, assigned: &'h Assigned<'t>, ask: impl FnOnce(&NodeRef)) {
        if let Some(node) = self.read_node(assigned) {
            ask(&node);
            self.attributes.nodes.borrow_mut().push(node);
        }
    }

    fn read_node(&self, assigned: &'h Assigned<'t>) -> Option<NodeRef> {
        let found = self
            .found(assigned)
            .filter(|found| !found.text.is_empty())?;
        let node = names::node_ref(self.reader, &found);
        if is_right(assigned, &node) {
            assigned.note_fit();
        }
        Some(node)
    }

    /// The number that the value at a path says, in base units.
    pub(crate) fn number(&self, path: &Path, quantity: Option<Quantity>) -> Option<Spanned<f64>> {
        let dialect = self.reader.dialect;
        let (found, assigned) = self.value_and_attribute(path)?;
        let value_type = found.value_type();
        let number = dialect.read_number(&found.text)?;
        if let Some(assigned) = assigned
            && dialect.number_fits(value_type, number)
        {
            assigned.note_fit();
        }
        Some(Spanned {
            value: dialect.to_quantity(value_type, number, quantity)?,
            range: found.range,
        })
    }

    /// What the value at a path says that this property has.
    pub(crate) fn end(&self, path: &Path, property: Property) -> Option<Spanned<EndValue>> {
        let dialect = self.reader.dialect;
        let (found, assigned) = self.value_and_attribute(path)?;
        let value = dialect.read_end(found.value_type(), &found.text, property)?;
        if let Some(assigned) = assigned
            && dialect.end_fits(found.value_type(), property)
        {
            assigned.note_fit_moving(property);
        }
        Some(Spanned {
            value,
            range: found.range,
        })
    }

    /// The value of an attribute, without a copy of its text.
    pub(crate) fn found(&self, assigned: &'h Assigned<'t>) -> Option<Found<'h>> {
        let (text, range) = assigned.text_and_range()?;
        Some(Found {
            text: Cow::Borrowed(text),
            range,
            at: self.at,
            declared: assigned.declared,
        })
    }
}

/// Whether a node that the value of an attribute asks for shows that the value is as declared.
fn is_right(assigned: &Assigned<'_>, node: &NodeRef) -> bool {
    let is_readable = !matches!(node.target, NodeTarget::Unreadable);
    is_readable
        && assigned.declared.is_some_and(|declared| {
            let is_node = matches!(
                declared.value.item,
                ItemType::Node { .. } | ItemType::IndexPath
            );
            is_node && declared.value.is_single()
        })
}

#[cfg(test)]
mod tests {
    use crate::attributes::Attributes;
    use crate::channel::channel;
    use crate::document::{Reader, walk_from};
    use crate::found::{Found, has_text};
    use crate::names;
    use dialect::{Dialect, Kinded, Path, Property};

    /// What reading a channel has noted of its values, for all sorts of values and properties.
    #[test]
    fn what_was_seen_to_fit_fits() {
        let values = [
            "", " ", "1", " 2 ", "-1", "0 1 2", " 0 1 2\n", "0 1", "0 1 2 3", "true", "false", "x",
            "a.b", "0/1", "0//1", "1e999", "&#49;", "smooth",
        ];
        let house = Dialect::house();
        let (mut known, mut unknown) = (0, 0);
        for (word, _) in Property::WORDS {
            for value in values {
                let text = format!(
                    "<channel target='{value}' property='{word}' begin='{value}' end='{value}' from='{value}' \
                     to='{value}' easing='{value}' to='0 0 0'/>"
                );
                let text = format!(
                    "<machine xmlns='urn:trunnion:machine:1'><animations><animation>{text}</animation></animations>\
                     </machine>"
                );
                let tree = syntax::parse(&text);
                let reader = Reader::new(&tree, &house, &house.documents[0]);
                let root = reader.root().map(|root| root.element);
                let mut attributes = Attributes::default();
                walk_from(&reader, Vec::new(), root, &mut attributes, |here| {
                    names::collect(here, &mut Default::default());
                    for role in &house.roles.channels {
                        channel(here, role);
                    }
                    for assigned in here.attributes {
                        let (Some(declared), Some((value, _))) =
                            (assigned.declared, assigned.value_and_range())
                        else {
                            continue;
                        };
                        let moved = Property::WORDS.iter().map(|(_, property)| Some(*property));
                        for moved in moved.chain([None]) {
                            let fits = house.fits(&declared.value, value, moved);
                            let is_known = assigned.is_known_to_fit(moved);
                            assert!(fits || !is_known, "{text}: {}, {moved:?}", assigned.name());
                            known += usize::from(is_known);
                            unknown += usize::from(fits && !is_known);
                        }
                    }
                });
            }
        }
        assert!(known > 200 && unknown > 200, "{known} {unknown}");
    }

    /// What is asked of an element whose content is known, and of the document.
    #[test]
    fn content_that_is_known_says_what_the_document_says() {
        let text = "<machine xmlns='urn:trunnion:machine:1' xmlns:o='u'> <!-- 0 -->
            <a>1<b/><b> 2 </b><b t='3'/></a><a><o:b>4</o:b><b><![CDATA[]]></b> &#32;<b xmlns='u'>5</b></a>
            <p:a xmlns:p='urn:trunnion:machine:1'><p:b><p:c t=' 6 '>7</p:c></p:b><p:b t=''>8<c/>9</p:b></p:a>
            <a> <b/> <b> <c/> </b> </a><a>&lt;</a>
        </machine>";
        let house = Dialect::house();
        let tree = syntax::parse(text);
        let reader = Reader::new(&tree, &house, &house.documents[0]);
        let paths = [
            "b/text()",
            "b/@t",
            "b/c/text()",
            "b/c/@t",
            "a/b/text()",
            "b",
            "text()",
            "@t",
            "//c/@t",
        ];
        let paths = paths.map(|path| Path::parse(path).unwrap());
        let root = reader.root().map(|root| root.element);
        let (mut found, mut with_text) = (0, 0);
        walk_from(
            &reader,
            Vec::new(),
            root,
            &mut Attributes::default(),
            |here| {
                assert!(here.content.is_some());
                for path in &paths {
                    let of = |found: Found<'_>| (found.text.into_owned(), found.range);
                    let quick = here.value(path).map(of);
                    assert_eq!(quick, reader.value(here.chain, path).map(of), "{path}");
                    found += usize::from(quick.is_some());
                }
                assert_eq!(here.has_text(), has_text(here.at.element));
                with_text += usize::from(here.has_text());
            },
        );
        assert!(found > 12, "{found}");
        assert_eq!(with_text, 7);
    }
}
