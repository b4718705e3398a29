//! Weather entries added at the end of a book's `weather`; every other byte of the file stays as it is.

use std::fmt::Write as _;
use std::io::Write as _;
use std::path::Path;

use jsonc_parser::ast::{Array, Object, Value as Tree};
use jsonc_parser::common::Ranged;
use jsonc_parser::{CollectOptions, ParseOptions, parse_to_ast};
use serde_json::Value;
use yardless_solver::book::{self, Weather};

use crate::trouble::Trouble;

/// The book's text with entries at the end of its `weather`, which is put at the end of the book where it has none.
/// Refused where the text is no book, or where what comes out would be any other book.
pub fn append_weather(text: &str, entries: &[Weather]) -> Result<String, String> {
    let mut expected = book::read(text.as_bytes()).map_err(|_| "the book has faults".to_owned())?.book;
    if entries.is_empty() {
        return Ok(text.to_owned());
    }
    let tree = parse_to_ast(text, &CollectOptions::default(), &ParseOptions::default()).map_err(|e| e.to_string())?;
    let Some(Tree::Object(root)) = tree.value else { return Err("the book is no object".to_owned()) };
    let written: Vec<String> = entries
        .iter()
        .map(|entry| serde_json::to_value(entry).map(|value| in_one_line(&value)))
        .collect::<Result<_, _>>()
        .map_err(|e| e.to_string())?;
    let (at, piece) = match root.get("weather").map(|property| &property.value) {
        Some(Tree::Array(list)) => into_list(text, list, &written),
        Some(_) => return Err("`weather` is no list".to_owned()),
        None => as_field(text, &root, &written)?,
    };
    let (before, after) = text.split_at_checked(at).ok_or("the text was cut in the middle of a letter")?;
    let new = format!("{before}{piece}{after}");
    expected.weather.extend_from_slice(entries);
    match book::read(new.as_bytes()) {
        Ok(read) if read.book == expected => Ok(new),
        _ => Err("the book would not be the same with the entries added".to_owned()),
    }
}

fn line_end(text: &str) -> &'static str {
    if text.contains("\r\n") { "\r\n" } else { "\n" }
}

/// The blanks before a byte, where nothing else stands before it in its line.
fn indent(text: &str, at: usize) -> Option<&str> {
    let before = text.get(..at)?;
    let line = before.rsplit('\n').next()?;
    (before.contains('\n') && line.trim().is_empty()).then_some(line)
}

/// The blanks that a byte's line begins with.
fn margin(text: &str, at: usize) -> &str {
    let line = text.get(..at).and_then(|before| before.rsplit('\n').next()).unwrap_or_default();
    line.get(..line.len() - line.trim_start().len()).unwrap_or_default()
}

fn into_list(text: &str, list: &Array, written: &[String]) -> (usize, String) {
    let end = line_end(text);
    match list.elements.last() {
        Some(last) => {
            let between =
                indent(text, last.start()).map_or_else(|| ", ".to_owned(), |blanks| format!(",{end}{blanks}"));
            (last.end(), written.iter().fold(String::new(), |out, entry| out + &between + entry))
        }
        None => (list.start() + 1, block(margin(text, list.start()), end, written)),
    }
}

fn as_field(text: &str, root: &Object, written: &[String]) -> Result<(usize, String), String> {
    let last = root.properties.last().ok_or("the book is empty")?;
    let end = line_end(text);
    let (between, blanks) = match indent(text, last.start()) {
        Some(blanks) => (format!(",{end}{blanks}"), blanks),
        None => (", ".to_owned(), ""),
    };
    Ok((last.end(), format!("{between}\"weather\": [{}]", block(blanks, end, written))))
}

/// Entries a line each, between two brackets that stand at a margin.
fn block(blanks: &str, end: &str, written: &[String]) -> String {
    let between = format!(",{end}{blanks}  ");
    format!("{end}{blanks}  {}{end}{blanks}", written.join(&between))
}

/// JSON in one line, as a book is written by hand; whole numbers without decimals.
fn in_one_line(value: &Value) -> String {
    match value {
        Value::Object(fields) if !fields.is_empty() => {
            let mut out = String::new();
            for (name, value) in fields {
                let before = if out.is_empty() { "{ " } else { ", " };
                let _ = write!(out, "{before}{}: {}", Value::from(name.as_str()), in_one_line(value));
            }
            out + " }"
        }
        Value::Array(list) => format!("[{}]", list.iter().map(in_one_line).collect::<Vec<_>>().join(", ")),
        Value::Number(number) => match number.as_f64() {
            Some(whole) if whole.fract() == 0.0 && whole.abs() < 1e15 => format!("{whole:.0}"),
            _ => number.to_string(),
        },
        other => other.to_string(),
    }
}

/// Replaces a book's file in one piece, unless it has changed since it was read.
pub fn replace(path: &Path, was: &[u8], text: &str) -> Result<(), Trouble> {
    let help = "nothing was written; close other programs that have the book open and try again";
    let unwritten = |e: std::io::Error| {
        Trouble::ours("weather::unwritten", format!("`{}` could not be written: {e}", path.display()), help)
    };
    // The file itself, not a link to it; with the rights that it has.
    let file = path.canonicalize().map_err(unwritten)?;
    let folder = file.parent().unwrap_or(Path::new("."));
    let rights = std::fs::metadata(&file).map_err(unwritten)?.permissions();
    let mut new = tempfile::NamedTempFile::new_in(folder).map_err(unwritten)?;
    new.write_all(text.as_bytes()).map_err(unwritten)?;
    new.as_file().set_permissions(rights).map_err(unwritten)?;
    new.as_file().sync_all().map_err(unwritten)?;
    if std::fs::read(&file).map_err(unwritten)? != was {
        let says = format!("`{}` has changed meanwhile", path.display());
        return Err(Trouble::input("weather::changed", says, help));
    }
    new.persist(&file).map(drop).map_err(|e| unwritten(e.error))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn book(rest: &str) -> String {
        format!(
            "{{ \"book\": 1, \"shop\": {{ \"name\": \"é\", \"time_zone\": \"UTC\" }}, \"places\": [{{ \"id\": \"a\" }}], \"crews\": [],\n  \"trucks\": [], \"equipment\": [],{rest} \"jobs\": []\n}}\n"
        )
    }

    fn entries() -> Vec<Weather> {
        let text = "[{\"on\":\"2026-12-08\",\"at\":[\"a\"],\"storm\":true,\"gust_mph\":46.0,\"note\":\"q\\\"\"},{\"on\":\"2026-12-09 am\",\"low_f\":-3.5}]";
        serde_json::from_str(text).expect("entries")
    }

    const ONE: &str =
        "{ \"on\": \"2026-12-08\", \"at\": [\"a\"], \"storm\": true, \"gust_mph\": 46, \"note\": \"q\\\"\" }";
    const TWO: &str = "{ \"on\": \"2026-12-09 am\", \"low_f\": -3.5 }";

    #[test]
    fn entries_are_inserted_and_every_other_byte_stays() {
        let old = "{ \"on\": \"2026-12-07\",\t\"roads\":\"clear\" }";
        for (before, after) in [
            (format!(" \"weather\": [{old}],"), format!(" \"weather\": [{old}, {ONE}, {TWO}],")),
            (
                format!("\n  \"weather\": [\n     {old}\n  ],"),
                format!("\n  \"weather\": [\n     {old},\n     {ONE},\n     {TWO}\n  ],"),
            ),
            (
                format!("\r\n  \"weather\": [\r\n    {old}\r\n  ],"),
                format!("\r\n  \"weather\": [\r\n    {old},\r\n    {ONE},\r\n    {TWO}\r\n  ],"),
            ),
            ("\n  \"weather\": [],".to_owned(), format!("\n  \"weather\": [\n    {ONE},\n    {TWO}\n  ],")),
        ] {
            assert_eq!(append_weather(&book(&before), &entries()).expect("a book"), book(&after));
        }
    }

    #[test]
    fn weather_is_made_where_there_is_none() {
        let new = append_weather(&book(""), &entries()).expect("a book");
        assert_eq!(
            new,
            book("").replace("\"jobs\": []", &format!("\"jobs\": [], \"weather\": [\n  {ONE},\n  {TWO}\n]"))
        );
        let apart = book("\n ");
        let new = append_weather(&apart, &entries()).expect("a book");
        assert_eq!(
            new,
            apart.replace("\"jobs\": []", &format!("\"jobs\": [],\n  \"weather\": [\n    {ONE},\n    {TWO}\n  ]"))
        );
    }

    #[test]
    fn nothing_is_added_to_what_is_no_book() {
        assert!(append_weather("{}", &entries()).is_err());
        let elsewhere = book("").replace("\"a\"", "\"b\"");
        assert!(append_weather(&elsewhere, &entries()).is_err(), "an entry for a place that the book does not have");
        assert_eq!(append_weather(&elsewhere, &[]), Ok(elsewhere));
    }
}
