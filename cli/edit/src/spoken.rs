//! The book in an owner's words: what its fields are called, where a value stands, and what it says. Forms, faults, lists
//! and changes all speak so.

mod called;
mod capital;
mod label;
mod place;
mod refers;
mod sentence;
mod value;

pub use capital::capital;
pub use label::{label, noun};
pub use place::{at_object, fault_words, place, words_for_fields};
pub use refers::refers_to;
pub use sentence::{sentence, sentence_of};
pub use value::{date, half_day, range, season, value, weekday};
