//! The nearest known name to one that is not known.

/// The known name that was most likely meant, where one is near enough.
pub fn nearest<'a>(_name: &str, _known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    None
}
