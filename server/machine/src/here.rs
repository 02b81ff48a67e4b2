//! One element, with its attributes cut up, for who reads what it says.

use crate::attributes::{Assigned, Attributes};
use crate::document::{Chain, Located, Reader};
use crate::found::Found;
use crate::model::NodeRef;
use crate::names;
use crate::select::stays;
use dialect::{ElementDecl, Leaf, Path};

/// An element with all that is around it and in its tag, for who reads what it says.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Here<'h, 't> {
    pub(crate) reader: &'h Reader<'t>,
    /// Down to the element, that one included.
    pub(crate) chain: &'h Chain<'t>,
    pub(crate) at: Located<'t>,
    pub(crate) declared: Option<&'t ElementDecl>,
    pub(crate) attributes: &'h Attributes<'t>,
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
        Some(self.here_among(chain, at, attributes))
    }

    /// The same for an element whose attributes are cut up.
    pub(crate) fn here_among<'h>(
        &'h self,
        chain: &'h Chain<'t>,
        at: Located<'t>,
        attributes: &'h mut Attributes<'t>,
    ) -> Here<'h, 't> {
        let declared = self.dialect.element(at.context);
        attributes.declare(declared);
        Here {
            reader: self,
            chain,
            at,
            declared,
            attributes,
        }
    }
}

impl<'t> Here<'_, 't> {
    /// See [`Reader::value`].
    pub(crate) fn value(&self, path: &Path) -> Option<Found<'t>> {
        match path.leaf() {
            Leaf::Attribute(name) if stays(path) => self.found(self.attributes.named(name)?),
            _ => self.reader.value(self.chain, path),
        }
    }

    /// See [`Reader::values`].
    pub(crate) fn values(&self, path: &Path) -> Vec<Found<'t>> {
        self.reader.values(self.chain, path)
    }

    /// The node that the value at a path asks for.
    pub(crate) fn node(&self, path: &Path) -> Option<NodeRef> {
        match path.leaf() {
            Leaf::Attribute(name) if stays(path) => self.node_of(self.attributes.named(name)?),
            _ => {
                let found = self.reader.value(self.chain, path)?;
                (!found.text.is_empty()).then(|| names::node_ref(self.reader, &found))
            }
        }
    }

    /// The node that the value of an attribute asks for.
    pub(crate) fn node_of(&self, assigned: &Assigned<'t>) -> Option<NodeRef> {
        let found = self
            .found(assigned)
            .filter(|found| !found.text.is_empty())?;
        // What a role reads is mostly what the grammar has as a node, too.
        let mut known = self.attributes.nodes.borrow_mut();
        if let Some(node) = known.iter().find(|node| node.range == found.range) {
            return Some(node.clone());
        }
        let node = names::node_ref(self.reader, &found);
        known.push(node.clone());
        Some(node)
    }

    pub(crate) fn found(&self, assigned: &Assigned<'t>) -> Option<Found<'t>> {
        assigned.found(self.at)
    }
}
