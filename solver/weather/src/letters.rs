//! From the bytes of an XML file to its letters: UTF-8, ISO-8859-1 or Windows-1252, whichever it declares.

use std::borrow::Cow;

use encoding_rs::{Encoding, UTF_8, WINDOWS_1252};
use quick_xml::Reader;
use quick_xml::events::{BytesDecl, Event};

use super::{FileFault, shown};

const HELP: &str = "give it in UTF-8, ISO-8859-1 or Windows-1252, and declared as what it is";
/// Most bytes of a declaration.
const LONGEST: usize = 1_000;

/// The letters of a file, and how they are written.
pub(super) fn letters(bytes: &[u8]) -> Result<(Cow<'_, str>, &'static Encoding), FileFault> {
    if [&b"\xff\xfe"[..], b"\xfe\xff", b"<\0", b"\0<"].iter().any(|begins| bytes.starts_with(begins)) {
        return Err(FileFault::new("line 1, column 1", "the file is in UTF-16, which is not read", HELP));
    }
    let marked = bytes.strip_prefix(b"\xef\xbb\xbf");
    let bytes = marked.unwrap_or(bytes);
    let written = if marked.is_some() { UTF_8 } else { declared(bytes.trim_ascii_start())?.unwrap_or(UTF_8) };
    if written == WINDOWS_1252 {
        // The WHATWG's encoding standard reads what is declared as ISO-8859-1 as Windows-1252 too, which has all its letters.
        return Ok((written.decode_without_bom_handling(bytes).0, written));
    }
    match std::str::from_utf8(bytes) {
        Ok(text) => Ok((text.into(), written)),
        Err(e) => {
            let says = "the file is not plain text: a byte belongs to no letter in UTF-8";
            Err(FileFault::new(format!("byte {}", e.valid_up_to()), says, HELP))
        }
    }
}

/// What the declaration at the beginning names, where there is one.
fn declared(bytes: &[u8]) -> Result<Option<&'static Encoding>, FileFault> {
    let head = bytes.get(..LONGEST).unwrap_or(bytes);
    let end = head.windows(2).position(|two| two == b"?>");
    let head = end.and_then(|end| std::str::from_utf8(&head[..end + 2]).ok());
    match head.map(|head| Reader::from_str(head).read_event().map(Event::into_owned)) {
        Some(Ok(Event::Decl(declaration))) => encoding(&declaration, "line 1, column 1"),
        _ => Ok(None),
    }
}

/// The encoding that a declaration names, if any; a fault where it is none that is read.
pub(super) fn encoding(declaration: &BytesDecl, at: &str) -> Result<Option<&'static Encoding>, FileFault> {
    let Some(name) = declaration.encoding().and_then(Result::ok) else { return Ok(None) };
    let name = name.trim();
    // What is no more than ASCII is UTF-8 as well.
    let found = if name.to_lowercase().contains("ascii") { Some(UTF_8) } else { Encoding::for_label(name.as_bytes()) };
    match found.filter(|found| [UTF_8, WINDOWS_1252].contains(found)) {
        Some(found) => Ok(Some(found)),
        None => {
            Err(FileFault::new(at, format!("the file says that it is in `{}`, which is not read", shown(name)), HELP))
        }
    }
}
