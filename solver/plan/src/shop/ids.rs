//! An id per noun, and lists that only the right id opens.

use std::marker::PhantomData;
use std::ops::{Index, IndexMut};

/// An index into one list of the shop.
pub trait Id: Copy + Eq + Ord + std::hash::Hash + std::fmt::Debug {
    /// From a position in the list.
    fn from_index(index: usize) -> Self;
    /// The position in the list.
    fn index(self) -> usize;
}

macro_rules! ids {
    ($($(#[$doc:meta])* $name:ident),* $(,)?) => {$(
        $(#[$doc])*
        #[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
        pub struct $name(u32);
        impl Id for $name {
            fn from_index(index: usize) -> Self {
                Self(index as u32)
            }
            fn index(self) -> usize {
                self.0 as usize
            }
        }
    )*};
}
ids! {
    /// A crew of the shop.
    CrewId,
    /// A crew with its helpers, or alone.
    TeamId,
    /// A truck.
    TruckId,
    /// A unit of equipment.
    UnitId,
    /// A place.
    PlaceId,
    /// A kind of equipment.
    KindId,
    /// A job.
    JobId,
    /// A step, counted over all jobs.
    StepId,
}

/// A list opened by one kind of id.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Table<I, T> {
    rows: Vec<T>,
    id: PhantomData<I>,
}

impl<I: Id, T> Table<I, T> {
    /// How many rows.
    pub fn len(&self) -> usize {
        self.rows.len()
    }
    /// Whether there is no row.
    pub fn is_empty(&self) -> bool {
        self.rows.is_empty()
    }
    /// The ids, in order.
    pub fn ids(&self) -> impl DoubleEndedIterator<Item = I> + ExactSizeIterator + use<I, T> {
        (0..self.rows.len()).map(I::from_index)
    }
    /// The rows, in order.
    pub fn iter(&self) -> std::slice::Iter<'_, T> {
        self.rows.iter()
    }
    /// The rows, to be changed.
    pub fn iter_mut(&mut self) -> std::slice::IterMut<'_, T> {
        self.rows.iter_mut()
    }
    /// Ids and rows, in order.
    pub fn pairs(&self) -> impl Iterator<Item = (I, &T)> {
        self.rows.iter().enumerate().map(|(i, row)| (I::from_index(i), row))
    }
    /// The first row that fits.
    pub fn find(&self, fits: impl Fn(&T) -> bool) -> Option<I> {
        self.rows.iter().position(fits).map(I::from_index)
    }
    /// A row for each of `len` ids.
    pub fn filled(len: usize, row: T) -> Self
    where
        T: Clone,
    {
        vec![row; len].into_iter().collect()
    }
    /// One more row.
    pub fn push(&mut self, row: T) -> I {
        self.rows.push(row);
        I::from_index(self.rows.len() - 1)
    }
}

impl<I, T> Default for Table<I, T> {
    fn default() -> Self {
        Self { rows: Vec::new(), id: PhantomData }
    }
}
impl<I: Id, T> FromIterator<T> for Table<I, T> {
    fn from_iter<A: IntoIterator<Item = T>>(rows: A) -> Self {
        Self { rows: rows.into_iter().collect(), id: PhantomData }
    }
}
impl<I: Id, T> Index<I> for Table<I, T> {
    type Output = T;
    fn index(&self, id: I) -> &T {
        &self.rows[id.index()]
    }
}
impl<I: Id, T> IndexMut<I> for Table<I, T> {
    fn index_mut(&mut self, id: I) -> &mut T {
        &mut self.rows[id.index()]
    }
}
impl<'a, I: Id, T> IntoIterator for &'a Table<I, T> {
    type Item = &'a T;
    type IntoIter = std::slice::Iter<'a, T>;
    fn into_iter(self) -> Self::IntoIter {
        self.rows.iter()
    }
}
impl<'a, I: Id, T> IntoIterator for &'a mut Table<I, T> {
    type Item = &'a mut T;
    type IntoIter = std::slice::IterMut<'a, T>;
    fn into_iter(self) -> Self::IntoIter {
        self.rows.iter_mut()
    }
}
