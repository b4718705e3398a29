//! The rows of a table as it was sent.

use csv::StringRecord;

use super::columns::JOB;
use crate::refusal::Refusal;

/// A table that cannot be taken in.
pub fn wrong(says: String) -> Refusal {
    Refusal::input("web::csv", says, "Begin with the table that jobs.csv gives.")
}

/// Its heads, and its rows. Separated by what there is more of in the first line: spreadsheets write a semicolon where the
/// comma is the decimal point.
pub fn of(bytes: &[u8]) -> Result<(StringRecord, Vec<StringRecord>), Refusal> {
    let head = bytes.split(|byte| *byte == b'\n').next().unwrap_or_default();
    let many = |of: u8| head.split(|byte| *byte == of).count();
    let separator = if many(b';') > many(b',') { b';' } else { b',' };
    let mut rows = csv::ReaderBuilder::new()
        .delimiter(separator)
        .flexible(false)
        .from_reader(bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes));
    let heads = rows.headers().map_err(|e| wrong(says(&e)))?.clone();
    let all = rows.records().collect::<Result<_, _>>().map_err(|e| wrong(says(&e)))?;
    Ok((heads, all))
}

/// What is wrong with a table as such, by its row.
fn says(e: &csv::Error) -> String {
    let row = |position: &Option<csv::Position>| position.as_ref().map_or(1, csv::Position::line);
    match e.kind() {
        csv::ErrorKind::UnequalLengths { pos, expected_len, len } => {
            let cells = if *len == 1 { "one cell".to_owned() } else { format!("{len} cells") };
            format!("Row {} of the table has {cells}, its head {expected_len}.", row(pos))
        }
        csv::ErrorKind::Utf8 { pos, .. } => format!("Row {} of the table is not text (UTF-8).", row(pos)),
        _ => "The table cannot be read.".to_owned(),
    }
}

/// Heads that no table has, as they can be shown.
pub fn unknown(heads: &[&str]) -> Refusal {
    let shown = |head: &&str| match head.replace(char::is_control, "").trim() {
        "" => "one without a name".to_owned(),
        head => format!("`{head}`"),
    };
    let heads: Vec<String> = heads.iter().map(shown).collect();
    wrong(format!("The table has columns that no job has: {}.", heads.join(", ")))
}

/// Whether its columns are the plain ones.
pub fn is_plain(bytes: &[u8]) -> Result<bool, Refusal> {
    Ok(of(bytes)?.0.iter().any(|head| head.trim() == JOB))
}
