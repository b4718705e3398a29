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
    let heads = rows.headers().map_err(|e| wrong(e.to_string()))?.clone();
    let all = rows.records().collect::<Result<_, _>>().map_err(|e| wrong(e.to_string()))?;
    Ok((heads, all))
}

/// Whether its columns are the plain ones.
pub fn is_plain(bytes: &[u8]) -> Result<bool, Refusal> {
    Ok(of(bytes)?.0.iter().any(|head| head.trim() == JOB))
}
