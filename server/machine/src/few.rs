//! Lists that are empty nearly everywhere.

use std::ops::{Deref, DerefMut};

/// A list that takes a third of another one as long as nothing is in it.
#[derive(Clone, Debug, PartialEq)]
#[allow(
    clippy::box_collection,
    reason = "a list has the size of three pointers"
)]
pub struct Few<T>(
    /// Not empty.
    Option<Box<Vec<T>>>,
);

impl<T> Few<T> {
    pub(crate) fn push(&mut self, one: T) {
        self.0.get_or_insert_default().push(one);
    }

    /// What is there, without room for more. Nothing stays.
    pub(crate) fn take(&mut self) -> Self {
        let mut taken = self.0.take();
        if let Some(list) = &mut taken {
            list.shrink_to_fit();
        }
        Self(taken)
    }
}

impl<T> Extend<T> for Few<T> {
    fn extend<I: IntoIterator<Item = T>>(&mut self, more: I) {
        more.into_iter().for_each(|one| self.push(one));
    }
}

impl<T> From<Vec<T>> for Few<T> {
    fn from(list: Vec<T>) -> Self {
        Self((!list.is_empty()).then(|| Box::new(list)))
    }
}

impl<T> From<Few<T>> for Vec<T> {
    fn from(list: Few<T>) -> Self {
        list.0.map_or_else(Self::new, |list| *list)
    }
}

impl<T> Default for Few<T> {
    fn default() -> Self {
        Self(None)
    }
}

impl<T> Deref for Few<T> {
    type Target = [T];

    fn deref(&self) -> &[T] {
        self.0.as_deref().map_or(&[], Vec::as_slice)
    }
}

impl<T> DerefMut for Few<T> {
    fn deref_mut(&mut self) -> &mut [T] {
        self.0.as_deref_mut().map_or(&mut [], Vec::as_mut_slice)
    }
}

impl<'l, T> IntoIterator for &'l Few<T> {
    type Item = &'l T;
    type IntoIter = std::slice::Iter<'l, T>;

    fn into_iter(self) -> Self::IntoIter {
        self.iter()
    }
}
