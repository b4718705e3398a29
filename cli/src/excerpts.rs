//! The lines of a text around a place, as they are shown on a terminal.

use std::ops::Range;

use miette::{MietteError, MietteSpanContents, SourceCode, SourceSpan, SpanContents};
use yardless_book::steers;
use yardless_edit::trouble::printable;

/// Longest lines that are shown, in bytes.
const LONGEST: usize = 400;

/// A text of which the lines around a place are shown.
pub struct Excerpts {
    name: String,
    /// As long as the text, byte for byte, with nothing in it that steers a terminal.
    text: String,
    /// Where each line begins.
    starts: Vec<usize>,
}

impl Excerpts {
    /// The text under a name.
    pub fn new(name: &str, text: &str) -> Self {
        let seen = |c: char| match c.len_utf8() {
            _ if !steers(c) || matches!(c, '\n' | '\t' | '\r') => c,
            1 => '?',
            2 => '\u{b7}',
            _ => char::REPLACEMENT_CHARACTER,
        };
        let starts = std::iter::once(0).chain(text.match_indices('\n').map(|(at, _)| at + 1)).collect();
        Self { name: printable(name), text: text.chars().map(seen).collect(), starts }
    }

    /// A range widened to whole characters within the text; `None` where its lines, or those around them, are too long.
    pub fn short(&self, at: &Range<usize>) -> Option<Range<usize>> {
        let mut start = at.start.min(self.text.len());
        while !self.text.is_char_boundary(start) {
            start -= 1;
        }
        let mut end = at.end.clamp(start, self.text.len());
        while !self.text.is_char_boundary(end) {
            end += 1;
        }
        let lines = self.lines(start, end, 1, 1);
        let long = |line: usize| self.end(line) - self.starts[line] > LONGEST;
        (!lines.into_iter().any(long)).then_some(start..end)
    }

    /// The lines from one byte to another, and so many around them.
    fn lines(&self, start: usize, end: usize, before: usize, after: usize) -> Range<usize> {
        let line = |at: usize| self.starts.partition_point(|start| *start <= at) - 1;
        line(start).saturating_sub(before)..(line(end) + after + 1).min(self.starts.len())
    }

    /// One past a line's last byte, its end of line included.
    fn end(&self, line: usize) -> usize {
        self.starts.get(line + 1).copied().unwrap_or(self.text.len())
    }
}

impl SourceCode for Excerpts {
    fn read_span<'a>(
        &'a self,
        span: &SourceSpan,
        before: usize,
        after: usize,
    ) -> Result<Box<dyn SpanContents<'a> + 'a>, MietteError> {
        let (start, end) = (span.offset(), span.offset() + span.len());
        if end > self.text.len() {
            return Err(MietteError::OutOfBounds);
        }
        let lines = self.lines(start, end, before, after);
        let (from, to) = (self.starts[lines.start], self.end(lines.end - 1));
        let shown = MietteSpanContents::new_named(
            self.name.clone(),
            &self.text.as_bytes()[from..to],
            (from, to - from).into(),
            lines.start,
            0,
            lines.len(),
        );
        Ok(Box::new(shown.with_language("JSON")))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn excerpts_are_short_lines_without_what_steers_a_terminal() {
        let text = format!("one\ntw\u{1b}\u{202e}o\nthree\nfour\n{}", "x".repeat(LONGEST + 1));
        let source = Excerpts::new("a\u{1b}b", &text);
        let shown = source.read_span(&(5, 1).into(), 1, 1).expect("a place in the text");
        assert_eq!(std::str::from_utf8(shown.data()), Ok("one\ntw?\u{fffd}o\nthree\n"));
        assert_eq!((shown.line(), shown.name()), (0, Some("a\\u001bb")));
        assert_eq!(source.short(&(7..8)), Some(7..10));
        assert_eq!(source.short(&(text.len()..text.len())), None);
    }
}
