//! How text goes into pages: as HTML, and with what turns the writing direction seen instead of done.

use std::fmt::{self, Write};

use askama::filters::{Escaper, Html};
use yardless_book::{steers, visible};

/// Every template's escape but the form fields', whose values must come back as they are (see `askama.toml`).
#[derive(Clone, Copy)]
pub struct Visible;

impl Escaper for Visible {
    fn write_escaped_str<W: Write>(&self, mut dest: W, text: &str) -> fmt::Result {
        // Line breaks are the pages' own.
        let turns = |c: char| steers(c) && !c.is_control();
        for piece in text.split_inclusive(turns) {
            let says = piece.trim_end_matches(turns);
            Html.write_escaped_str(&mut dest, says)?;
            dest.write_str(&visible(&piece[says.len()..]))?;
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_cannot_turn_the_rest_of_a_sentence_around() {
        let mut out = String::new();
        Visible
            .write_escaped_str(&mut out, "<\u{202e}Elm\u{2066} attic>\n& \u{5d1}")
            .expect("a text takes every write");
        assert_eq!(out, "&#60;\\u202eElm\\u2066 attic&#62;\n&#38; \u{5d1}");
    }
}
