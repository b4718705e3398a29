//! A caller's wish as it is laid aside: the fields of its form.

use std::sync::OnceLock;

/// What a caller wants.
pub struct Wish {
    /// The fields of its form: names and values.
    pub fields: Vec<(String, String)>,
    /// What named the form with which a date was taken.
    pub taken: OnceLock<Option<String>>,
}
