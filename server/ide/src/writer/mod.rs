//! Writing new constructs into a document in the document's own style.
//!
//! A construct is put together as a [`NewElement`] by following a dialect's
//! paths backwards ([`NewElement::set`]), filled up with what the grammar
//! wants ([`complete`]), and printed at a [`Spot`] of the document. What is
//! moved rather than made keeps its text ([`NewItem::Source`]).

mod complete;
mod element;
mod insert;
mod lines;
mod number;
mod order;
mod print;
mod remove;
mod set;
mod spot;

pub(crate) use complete::{Names, complete, guess};
pub(crate) use element::{NewAttribute, NewElement, NewItem};
pub(crate) use insert::{new_attribute, set_value};
pub(crate) use lines::Lines;
pub(crate) use number::{least_decimals, number_like};
pub(crate) use remove::{remove_elements, remove_items};
pub(crate) use set::{Unwritable, declaration};
pub(crate) use spot::{Insertion, Parent, insertion, parent_for};
