//! The book's text as a tree that remembers where everything stands; refuses whatever is not strict JSON.

use std::cell::RefCell;
use std::collections::HashMap;
use std::ops::Range;

use jsonc_parser::ast::{self, ObjectProp};
use jsonc_parser::common::Ranged;
use jsonc_parser::errors::{ParseError, ParseErrorKind};
use jsonc_parser::{CollectOptions, ParseOptions, ParseStringErrorKind, parse_to_ast};

use super::fault::{Code, Fault, Path, PathPart};
use super::near::shown;

/// Lists and objects inside one another: a book needs 8.
const DEEPEST: usize = 64;

/// A text that is JSON, with the bytes of each of its values.
pub(super) struct Source<'a> {
    pub(super) text: &'a str,
    pub(super) root: ast::Value<'a>,
    /// Where fields stand in their objects, as far as they were looked for: by where the object begins.
    found: RefCell<HashMap<(usize, String), Option<usize>>>,
}

/// A fault and the bytes that it points at.
pub(super) type Placed = (Fault, Range<usize>);

impl<'a> Source<'a> {
    /// Parses the bytes of a file; the first fault of the text is the only one, as nothing after it can be trusted.
    pub(super) fn parse(bytes: &'a [u8]) -> Result<Self, Placed> {
        let text = std::str::from_utf8(bytes).map_err(|e| {
            let at = e.valid_up_to();
            let says = "the file is not plain text: this byte belongs to no letter in UTF-8";
            (fault(Code::NotText, says).help("save the book as UTF-8"), at..at + 1)
        })?;
        if text.starts_with('\u{feff}') {
            let says = "the file begins with an invisible mark (a byte order mark)";
            return Err((fault(Code::NotText, says).help("save the book as UTF-8 without a byte order mark"), 0..3));
        }
        if text.trim().is_empty() {
            let help = "`yardless new FILE` writes a small starter book";
            return Err((fault(Code::NotJson, "the file is empty").help(help), 0..text.len()));
        }
        too_deep(text)?;
        let root = parse_to_ast(text, &CollectOptions::default(), &STRICT).map_err(|e| not_json(&e))?.value;
        // The judge of what JSON is: whatever the parser above lets pass and this one does not is no JSON either.
        let strict: Result<serde_json::Value, _> = serde_json::from_str(text);
        match (root, strict) {
            (Some(root), Ok(_)) => Ok(Self { text, root, found: RefCell::default() }),
            (_, Err(e)) => Err(no_strict_json(text, &e)),
            (None, Ok(_)) => Err((fault(Code::NotJson, "the file is empty"), 0..text.len())),
        }
    }

    /// The bytes of the value at a path, or of the nearest thing around it.
    pub(super) fn bytes_at(&self, path: &Path) -> Range<usize> {
        let mut value = &self.root;
        for part in &path.0 {
            let inner = match (part, value) {
                (PathPart::Field(name), ast::Value::Object(object)) => self.field(object, name),
                (PathPart::Index(index), ast::Value::Array(list)) => list.elements.get(*index),
                _ => None,
            };
            match inner {
                Some(inner) => value = inner,
                None => break,
            }
        }
        self.spot(value)
    }

    /// A field's value, looked for once: many faults may lie in one object of many fields.
    fn field<'v>(&self, object: &'v ast::Object<'a>, name: &str) -> Option<&'v ast::Value<'a>> {
        let look = || object.properties.iter().position(|property| property.name.as_str() == name);
        let mut found = self.found.borrow_mut();
        let at = *found.entry((object.range.start, name.to_owned())).or_insert_with(look);
        at.map(|at| &object.properties[at].value)
    }

    /// Where to point for a value: an object over several lines is known by its id, a long list by its first line.
    pub(super) fn spot(&self, value: &ast::Value) -> Range<usize> {
        let (start, end) = (value.start(), value.end());
        let Some(first_line) = self.text[start..end].find('\n') else { return start..end };
        match value {
            ast::Value::Object(object) => match object.get("id") {
                Some(id) if !self.text[id.start()..id.end()].contains('\n') => id.start()..id.end(),
                _ => start..start + self.text[start..start + first_line].trim_end().len(),
            },
            _ => start..start + self.text[start..start + first_line].trim_end().len(),
        }
    }
}

/// The bytes of a field's name.
pub(super) fn name_bytes(property: &ObjectProp) -> Range<usize> {
    property.name.start()..property.name.end()
}

const STRICT: ParseOptions = ParseOptions {
    allow_comments: false,
    allow_loose_object_property_names: false,
    allow_trailing_commas: false,
    allow_missing_commas: false,
    allow_single_quoted_strings: false,
    allow_hexadecimal_numbers: false,
    allow_unary_plus_numbers: false,
    allow_bare_decimal_point_numbers: false,
    allow_non_finite_numbers: false,
    allow_extended_string_escapes: false,
};

fn fault(code: Code, says: impl Into<String>) -> Fault {
    Fault::new(code, Path::default(), says)
}

/// Counts brackets outside texts, so that no parser is asked to go deeper than its stack.
fn too_deep(text: &str) -> Result<(), Placed> {
    let (mut depth, mut in_text, mut escaped) = (0_usize, false, false);
    for (at, byte) in text.bytes().enumerate() {
        match byte {
            _ if escaped => escaped = false,
            b'\\' if in_text => escaped = true,
            b'"' => in_text = !in_text,
            _ if in_text => {}
            b'{' | b'[' => {
                depth += 1;
                if depth > DEEPEST {
                    let says = format!("lists and objects stand inside one another more than {DEEPEST} deep");
                    return Err((
                        fault(Code::TooDeep, says).help("no part of a book needs that; look for a missing `]` or `}`"),
                        at..at + 1,
                    ));
                }
            }
            b'}' | b']' => depth = depth.saturating_sub(1),
            _ => {}
        }
    }
    Ok(())
}

fn not_json(error: &ParseError) -> Placed {
    use ParseErrorKind as Kind;
    let (says, help) = match error.kind() {
        Kind::CommentsNotAllowed | Kind::UnterminatedCommentBlock => {
            ("a book has no comments", "write the remark as a `note` field")
        }
        Kind::TrailingCommasNotAllowed => ("nothing follows this comma", "remove the comma"),
        Kind::ExpectedComma => ("a comma is missing here", "put a comma between this and the next"),
        Kind::SingleQuotedStringsNotAllowed => ("text stands between single quotes", "use double quotes: \"...\""),
        Kind::ExpectedStringObjectProperty => ("a field's name stands without quotes", "put it in double quotes"),
        Kind::ExpectedColonAfterObjectKey => ("no colon follows this field's name", "write \"name\": value"),
        Kind::ExpectedObjectValue => ("a field has no value", "write \"name\": value"),
        Kind::UnterminatedObject => ("this `{` is never closed", "add the missing `}`"),
        Kind::UnterminatedArray => ("this `[` is never closed", "add the missing `]`"),
        Kind::UnexpectedCloseBrace => {
            ("this `}` does not belong here", "look for what is missing or too much before it")
        }
        Kind::UnexpectedCloseBracket => {
            ("this `]` does not belong here", "look for what is missing or too much before it")
        }
        Kind::MultipleRootJsonValues => ("the book has ended before this", "look for a `}` too many above"),
        Kind::String(ParseStringErrorKind::UnterminatedStringLiteral) => {
            ("this text has no closing quote", "end it with a double quote: \"...\"")
        }
        Kind::String(ParseStringErrorKind::InvalidUnicodeEscapeSequence(_)) => {
            ("this \\u names half a letter", "write the letter itself")
        }
        Kind::String(_) => {
            ("this \\ is followed by something that it cannot stand before", "write \\\\ for a backslash")
        }
        Kind::UnaryPlusNumbersNotAllowed
        | Kind::HexadecimalNumbersNotAllowed
        | Kind::BareDecimalPointNumbersNotAllowed
        | Kind::NonFiniteNumbersNotAllowed
        | Kind::ExpectedDigit
        | Kind::ExpectedDigitFollowingNegativeSign
        | Kind::ExpectedPlusMinusOrDigitInNumberLiteral => ("this is no number", "write numbers as 12, -5 or 0.25"),
        Kind::UnexpectedWord => {
            ("this word has no quotes", "put text in double quotes; only true, false and null stand alone")
        }
        _ => ("this does not belong here", "look for a missing quote, comma or bracket before it"),
    };
    (fault(Code::NotJson, says).help(help), error.range().start..error.range().end)
}

fn no_strict_json(text: &str, error: &serde_json::Error) -> Placed {
    let line_start = text.split_inclusive('\n').take(error.line().saturating_sub(1)).map(str::len).sum::<usize>();
    let mut at = (line_start + error.column().saturating_sub(1)).min(text.len());
    while !text.is_char_boundary(at) {
        at -= 1;
    }
    let end = at + text[at..].chars().next().map_or(0, char::len_utf8);
    let reason = error.to_string();
    let reason = reason.split(" at line ").next().unwrap_or_default();
    let (says, help) = if reason.contains("control character") {
        (
            "a line break or other invisible sign stands inside a text".into(),
            "write \\n for a line break, \\t for a tab",
        )
    } else if reason.contains("out of range") {
        ("this number is too large for any computer".into(), "write a smaller one")
    } else {
        (format!("this is not JSON: {}", shown(reason)), "look for a missing quote, comma or bracket before it")
    };
    (fault(Code::NotJson, says).help(help), at..end)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn source_takes_nothing_but_strict_json() {
        for text in [
            "{} // no",
            "{\"a\":1,}",
            "[1 2]",
            "[{} {}]",
            "{'a':1}",
            "{a:1}",
            "[0x1]",
            "[+1]",
            "[.5]",
            "[5.]",
            "[01]",
            "[NaN]",
            "[-Infinity]",
            "[1e999]",
            "[\"\\x41\"]",
            "[\"\\ud800\"]",
            "[\"a\nb\"]",
            "\u{b}[]",
            "\u{a0}[]",
            "[]\0",
            "{} {}",
            "-",
            "\"",
            "[\"\\'\"]",
            "[tru]",
            "{\"a\" 1}",
            "[1,]",
            "[,1]",
        ] {
            let found =
                Source::parse(text.as_bytes()).map(|source| source.root.range()).map_err(|(fault, _)| fault.code);
            assert_eq!(found, Err(Code::NotJson), "{text:?}");
        }
    }

    #[test]
    fn source_allows_64_levels_and_no_65th() {
        let nested = |n: usize| format!("{}{}", "[".repeat(n), "]".repeat(n));
        assert!(Source::parse(nested(64).as_bytes()).is_ok());
        assert!(
            matches!(Source::parse(nested(65).as_bytes()), Err((Fault { code: Code::TooDeep, .. }, at)) if at == (64..65))
        );
        assert!(Source::parse(nested(1_000_000).as_bytes()).is_err());
        // Brackets inside a text are text.
        assert!(Source::parse(format!("[\"\\\"{}\"]", "[".repeat(100)).as_bytes()).is_ok());
    }

    #[test]
    fn source_points_at_ids_of_long_objects_and_at_what_is_around_a_path_that_leads_nowhere() {
        let text = "{ \"jobs\": [\n  { \"id\": \"elm\",\n    \"due\": 5 } ] }";
        let source = Source::parse(text.as_bytes()).expect("JSON");
        let job = Path::default().field("jobs").index(0);
        assert_eq!(&text[source.bytes_at(&job)], "\"id\": \"elm\"");
        assert_eq!(&text[source.bytes_at(&job.field("due"))], "5");
        assert_eq!(&text[source.bytes_at(&job.field("place").index(3))], "\"id\": \"elm\"");
    }
}
