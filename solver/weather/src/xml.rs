//! XML as far as alerts need it: CAP alerts as small trees. Document types and entities are refused, never expanded.

use encoding_rs::Encoding;
use quick_xml::NsReader;
use quick_xml::events::{BytesRef, BytesStart, Event};
use quick_xml::name::{Namespace, ResolveResult};

use super::{FileFault, letters, shown};

/// The namespace of CAP 1.2.
const CAP: &str = "urn:oasis:names:tc:emergency:cap:1.2";
/// Elements inside one another; an alert in a feed needs 8.
const DEEPEST: usize = 32;
/// Elements of one file.
const MOST: usize = 1_000_000;

/// An element of CAP 1.2.
#[derive(Debug)]
pub(super) struct Node {
    /// Its name without prefix; empty where it is of another vocabulary.
    pub(super) name: String,
    /// The byte at which it begins.
    pub(super) at: usize,
    /// Its own text.
    pub(super) text: String,
    /// What it holds.
    pub(super) inner: Vec<Node>,
}

impl Node {
    /// The elements of a name in it.
    pub(super) fn all<'n>(&'n self, name: &'n str) -> impl Iterator<Item = &'n Node> {
        self.inner.iter().filter(move |node| node.name == name)
    }
    /// The first element of a name in it.
    pub(super) fn one<'n>(&'n self, name: &'n str) -> Option<&'n Node> {
        self.all(name).next()
    }
    /// The text of the first element of a name, unless it is blank.
    pub(super) fn text_of<'n>(&'n self, name: &'n str) -> Option<&'n str> {
        self.one(name).map(|node| node.text.trim()).filter(|text| !text.is_empty())
    }
}

/// `line 3, column 5` of a byte.
pub(super) fn place(text: &str, at: usize) -> String {
    let before = text.as_bytes().get(..at).unwrap_or_default();
    let line = before.split(|byte| *byte == b'\n').count();
    let start = before.iter().rposition(|byte| *byte == b'\n').map_or(0, |at| at + 1);
    let column = String::from_utf8_lossy(before.get(start..).unwrap_or_default()).chars().count() + 1;
    format!("line {line}, column {column}")
}

/// Every CAP alert of a text, wherever it stands in it; `written` is how its bytes were read.
pub(super) fn alerts(text: &str, written: &'static Encoding) -> Result<Vec<Node>, FileFault> {
    let mut walk = Walk { text, open: Vec::new(), depth: 0, count: 0, found: Vec::new() };
    let mut reader = NsReader::from_str(text);
    loop {
        let at = usize::try_from(reader.buffer_position()).unwrap_or(text.len());
        let (named, event) = match reader.read_resolved_event() {
            Ok((named, event)) => (named == ResolveResult::Bound(Namespace(CAP)), event),
            Err(e) => {
                let at = usize::try_from(reader.error_position()).unwrap_or(at);
                let says = format!("this is not well-formed XML: {}", shown(&e.to_string()));
                return Err(FileFault::new(place(text, at), says, "fetch the file again: it may be cut off"));
            }
        };
        match event {
            Event::Start(start) => walk.start(&start, named, at)?,
            Event::Empty(start) => {
                walk.start(&start, named, at)?;
                walk.end();
            }
            Event::End(_) => walk.end(),
            Event::Text(words) => walk.words(&words.xml10_content()),
            Event::CData(words) => walk.words(&words.xml10_content()),
            Event::GeneralRef(name) => walk.reference(&name, at)?,
            Event::DocType(_) => {
                return Err(FileFault::new(
                    place(text, at),
                    "the file declares a document type (DOCTYPE); none is read, and no entity expanded",
                    "a CAP alert has none: fetch it from its publisher again",
                ));
            }
            Event::Decl(declaration) => {
                let at = place(text, at);
                if let Some(says) = letters::encoding(&declaration, &at)?.filter(|says| *says != written) {
                    let says = format!("the file says that it is in {} and is read as {}", says.name(), written.name());
                    return Err(FileFault::new(at, says, "give it in one encoding, and declared as that"));
                }
            }
            Event::Comment(_) | Event::PI(_) => {}
            Event::Eof => break,
        }
    }
    if walk.depth > 0 {
        let says = "the file ends in the middle of an element";
        return Err(FileFault::new(place(text, text.len()), says, "fetch the file again: it is cut off"));
    }
    Ok(walk.found)
}

struct Walk<'t> {
    text: &'t str,
    /// The alert that is open, and what is open in it.
    open: Vec<Node>,
    depth: usize,
    count: usize,
    found: Vec<Node>,
}

impl Walk<'_> {
    fn start(&mut self, start: &BytesStart, of_cap: bool, at: usize) -> Result<(), FileFault> {
        (self.depth, self.count) = (self.depth + 1, self.count + 1);
        if self.depth > DEEPEST {
            let says = format!("elements stand inside one another more than {DEEPEST} deep");
            return Err(FileFault::new(
                place(self.text, at),
                says,
                "no alert needs that; fetch it from its publisher again",
            ));
        }
        if self.count > MOST {
            let says = format!("the file has more than {MOST} elements");
            return Err(FileFault::new(place(self.text, at), says, "ask for fewer areas"));
        }
        let name = if of_cap { start.local_name().as_ref().to_owned() } else { String::new() };
        if !self.open.is_empty() || name == "alert" {
            self.open.push(Node { name, at, text: String::new(), inner: Vec::new() });
        }
        Ok(())
    }

    fn end(&mut self) {
        self.depth = self.depth.saturating_sub(1);
        let Some(node) = self.open.pop() else { return };
        match self.open.last_mut() {
            Some(around) => around.inner.push(node),
            None => self.found.push(node),
        }
    }

    fn words(&mut self, words: &str) {
        if let Some(node) = self.open.last_mut() {
            node.text.push_str(words);
        }
    }

    /// A character by its number, or one of the five entities that XML itself has.
    fn reference(&mut self, name: &BytesRef, at: usize) -> Result<(), FileFault> {
        let letter = match name.as_ref() {
            "lt" => Some('<'),
            "gt" => Some('>'),
            "amp" => Some('&'),
            "apos" => Some('\''),
            "quot" => Some('"'),
            _ => name.resolve_char_ref().ok().flatten(),
        };
        let Some(letter) = letter else {
            let says = format!("`&{};` is no letter: entities are not expanded", shown(name));
            return Err(FileFault::new(place(self.text, at), says, "write the letters themselves"));
        };
        self.words(letter.encode_utf8(&mut [0; 4]));
        Ok(())
    }
}
