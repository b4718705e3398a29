//! Free text made fit to print: what steers a terminal, or turns a sentence's direction, is seen and does nothing.

use std::fmt::Write;

/// The text with its escape in place of each sign that steers what shows it: control characters, line breaks among
/// them, and what turns the writing direction (Unicode Standard Annex 9). An escape is written as in JSON (`\u202e`).
pub fn visible(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        if steers(c) {
            // None of them takes more than four digits.
            write!(out, "\\u{:04x}", u32::from(c)).expect("a text takes every write");
        } else {
            out.push(c);
        }
    }
    out
}

/// Whether a character is a control character, or one that turns the writing direction.
pub fn steers(c: char) -> bool {
    c.is_control()
        || matches!(c, '\u{61c}' | '\u{200e}' | '\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_steers_is_written_out_and_letters_of_every_script_stay() {
        assert_eq!(visible("a\u{1b}[2J\u{202e}b\n\u{7f}\u{9b}"), "a\\u001b[2J\\u202eb\\u000a\\u007f\\u009b");
        for text in ["Müller & Søn", "\u{5d1}\u{5d9}\u{5ea}", "\u{1f469}\u{200d}\u{1f527}", "tab-less 12 \u{2013} 14"]
        {
            assert_eq!(visible(text), text);
        }
    }
}
