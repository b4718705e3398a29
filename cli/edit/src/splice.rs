//! From an edit to the bytes that it replaces. Nothing else in the text moves: the parser only says where things stand.

use std::fmt::Write;
use std::ops::Range;

use jsonc_parser::ast::{Object, Value as Node};
use jsonc_parser::common::Ranged;
use jsonc_parser::{CollectOptions, ParseOptions, parse_to_ast};
use serde_json::Value;
use yardless_book::{Path, PathPart};

use super::Edit;
use super::layout::{Style, text as quoted, written};

/// Longest line that a second element joins the first one on, in characters: else it comes below the first, where that
/// begins early in its line.
const LINE: usize = 120;
const EARLY: usize = 40;

/// Bytes of a text and what stands there instead.
#[derive(Clone, Debug, PartialEq)]
pub struct Splice {
    /// The bytes replaced.
    pub bytes: Range<usize>,
    /// The new text.
    pub by: String,
}

/// A text that was read: a tree of nodes that know where they stand.
pub struct Page<'t> {
    text: &'t str,
    root: Node<'t>,
    /// The line break that it uses.
    newline: &'static str,
}

fn inner<'n, 'a>(node: &'n Node<'a>, part: &PathPart) -> Option<&'n Node<'a>> {
    match (part, node) {
        (PathPart::Field(name), Node::Object(object)) => object.get(name).map(|property| &property.value),
        (PathPart::Index(index), Node::Array(list)) => list.elements.get(*index),
        _ => None,
    }
}

fn field_of(part: &PathPart) -> Option<&str> {
    match part {
        PathPart::Field(name) => Some(name),
        PathPart::Index(_) => None,
    }
}

/// The bytes of each field (its name included) or element.
fn members(node: &Node) -> Vec<Range<usize>> {
    match node {
        Node::Object(object) => object.properties.iter().map(|property| property.start()..property.end()).collect(),
        Node::Array(list) => list.elements.iter().map(|element| element.start()..element.end()).collect(),
        _ => Vec::new(),
    }
}

impl<'t> Page<'t> {
    /// Reads a text.
    pub fn read(text: &'t str) -> Option<Self> {
        let root = parse_to_ast(text, &CollectOptions::default(), &ParseOptions::default()).ok()?.value?;
        Some(Self { text, root, newline: if text.contains("\r\n") { "\r\n" } else { "\n" } })
    }

    /// What an edit replaces; nothing where there is nothing to remove. The path, where it leads nowhere.
    pub fn splice(&self, edit: &Edit) -> Result<Option<Splice>, Path> {
        let path = edit.path();
        let nowhere = || path.clone();
        let (last, above) = path.0.split_last().ok_or_else(nowhere)?;
        let parent = above.iter().try_fold(&self.root, inner).ok_or_else(nowhere)?;
        let at = inner(parent, last);
        let splice = match (edit, at, parent) {
            (Edit::Remove(_), None, _) => return Ok(None),
            (Edit::Remove(_), Some(_), _) => without(parent, last),
            (Edit::Set(_, value), Some(node), _) => {
                let by = written(value, self.style(parent, node.start()));
                Some(Splice { bytes: node.start()..node.end(), by })
            }
            (Edit::Set(_, value), None, Node::Object(object)) => {
                field_of(last).map(|name| self.field(object, name, value))
            }
            (Edit::Append(_, value), Some(Node::Array(_)), _) => at.map(|list| self.element(list, value)),
            (Edit::Append(_, value), None, Node::Object(object)) => {
                field_of(last).map(|name| self.field(object, name, &Value::Array(vec![value.clone()])))
            }
            _ => None,
        };
        splice.map(Some).ok_or_else(nowhere)
    }

    /// What an edit that adds to a list puts there, and so many of those that follow it and add to the same one: all of
    /// them where the list shows by two elements what stands between them.
    pub fn appended<'v>(&self, edit: &Edit, more: impl Iterator<Item = &'v Value>) -> Result<(Splice, usize), Path> {
        let mut splice = self.splice(edit)?.ok_or_else(|| edit.path().clone())?;
        let list = edit.path().0.iter().try_fold(&self.root, inner);
        let Some(list @ Node::Array(elements)) = list else { return Ok((splice, 0)) };
        let all = members(list);
        let (Some(last), Some(gap), true) = (all.last(), self.gap(elements.start(), &all), all.len() > 1) else {
            return Ok((splice, 0));
        };
        // Each is indented as the line on which the one before it begins: there, and where it ends.
        let mut style = self.style(list, last.start);
        let mut end = self.styled(style.tight, last.end).indent;
        let mut taken = 0;
        let mut is_long = splice.by.trim_start_matches([',', ' ', '\t', '\r', '\n']).contains('\n');
        for value in more {
            let begins = gap.rsplit_once('\n').map_or(end, |(_, indent)| indent);
            end = if is_long { style.indent } else { begins };
            style.indent = begins;
            let new = written(value, style);
            is_long = new.contains('\n');
            let _ = write!(splice.by, ",{gap}{new}");
            taken += 1;
        }
        Ok((splice, taken))
    }

    /// What values look like within an object or a list, for one that begins at a byte.
    fn style(&self, within: &Node, at: usize) -> Style<'t> {
        let tight = match within {
            Node::Object(object) => self.colon(object) == ":",
            Node::Array(list) => {
                list.elements.iter().any(|element| matches!(element, Node::Object(o) if self.colon(o) == ":"))
            }
            _ => false,
        };
        self.styled(tight, at)
    }

    fn styled(&self, tight: bool, at: usize) -> Style<'t> {
        let line = &self.text[self.text[..at].rfind('\n').map_or(0, |newline| newline + 1)..at];
        let indent = &line[..line.len() - line.trim_start().len()];
        Style { tight, newline: self.newline, indent }
    }

    /// What stands between a field's name and its value, as the last field has it.
    fn colon(&self, object: &Object) -> &'t str {
        let between = object.properties.last().map(|last| &self.text[last.name.end()..last.value.start()]);
        between.filter(|between| !between.contains('\n')).unwrap_or(": ")
    }

    /// What stands after the comma before the last member; nothing where there is one member and it begins on the line
    /// of the bracket.
    fn gap(&self, open: usize, members: &[Range<usize>]) -> Option<&'t str> {
        let between = match members {
            [.., before, last] => {
                let between = &self.text[before.end..last.start];
                between.split_once(',').map_or("", |(_, after)| after)
            }
            [only] => Some(&self.text[open + 1..only.start]).filter(|between| between.contains('\n'))?,
            [] => return None,
        };
        // One line break is enough, also where the neighbours have empty lines between them.
        let from = between.rfind('\n').unwrap_or(0);
        Some(if between[..from].ends_with('\r') { &between[from - 1..] } else { &between[from..] })
    }

    /// A new field, after the last.
    fn field(&self, object: &Object, name: &str, value: &Value) -> Splice {
        let all: Vec<Range<usize>> =
            object.properties.iter().map(|property| property.start()..property.end()).collect();
        let colon = self.colon(object);
        let tight = colon == ":";
        let Some(last) = all.last() else {
            let by = format!("{{ {}: {} }}", quoted(name), written(value, self.styled(false, object.start())));
            return Splice { bytes: object.start()..object.end(), by };
        };
        let gap = self.gap(object.start(), &all).unwrap_or(if tight { "" } else { " " });
        let style = self.styled(tight, last.start);
        Splice { bytes: last.end..last.end, by: format!(",{gap}{}{colon}{}", quoted(name), written(value, style)) }
    }

    /// A new element, after the last.
    fn element(&self, list: &Node, value: &Value) -> Splice {
        let all = members(list);
        let style = self.style(list, all.last().map_or(list.start(), |last| last.start));
        let new = written(value, style);
        let Some(last) = all.last() else {
            return Splice { bytes: list.start()..list.end(), by: format!("[{new}]") };
        };
        let gap = match self.gap(list.start(), &all) {
            Some(gap) => gap.to_owned(),
            None if style.tight => String::new(),
            None => {
                let line = &self.text[self.text[..last.start].rfind('\n').map_or(0, |newline| newline + 1)..last.end];
                let column = self.text[..last.start].rsplit('\n').next().map_or(0, |head| head.chars().count());
                let fits = line.chars().count() + new.chars().count() < LINE;
                if fits || column > EARLY { " ".to_owned() } else { format!("{}{}", style.newline, " ".repeat(column)) }
            }
        };
        Splice { bytes: last.end..last.end, by: format!(",{gap}{new}") }
    }
}

/// A field or an element taken away, with the comma that goes with it.
fn without(parent: &Node, part: &PathPart) -> Option<Splice> {
    if let (Node::Array(list), PathPart::Index(n @ 1..)) = (parent, part) {
        let bytes = list.elements.get(n - 1)?.end()..list.elements.get(*n)?.end();
        return Some(Splice { bytes, by: String::new() });
    }
    let all = members(parent);
    let n = match (parent, part) {
        (Node::Object(object), PathPart::Field(name)) => {
            object.properties.iter().position(|property| property.name.as_str() == name)?
        }
        (_, PathPart::Index(index)) => *index,
        _ => return None,
    };
    let own = all.get(n)?;
    let bytes = match (n.checked_sub(1).and_then(|before| all.get(before)), all.get(n + 1)) {
        (Some(before), _) => before.end..own.end,
        (None, Some(next)) => own.start..next.start,
        (None, None) => parent.start() + 1..parent.end() - 1,
    };
    Some(Splice { bytes, by: String::new() })
}
