//! A plain table without rules: cells wrapped to their columns, the last column taking what is left of the width.

use textwrap::wrap;
use unicode_width::UnicodeWidthStr;

use super::grid::{WIDTH, at_blanks, pad};

/// What the last column gets at least, if it has that much to say, at the expense of the widest.
const LEAST: usize = 24;

/// Writes rows of cells; `caps` is the widest that each column but the last may get (the last entry is not read). Columns are two blanks apart.
pub fn table<const N: usize>(indent: usize, rows: &[[String; N]], caps: [usize; N]) -> String {
    columns(indent, rows, &caps)
}

/// The same where the number of columns is known only at run time: that of `caps`, and of each row.
pub fn columns(indent: usize, rows: &[impl AsRef<[String]>], caps: &[usize]) -> String {
    let n = caps.len();
    let widest = |c: usize| rows.iter().map(|row| row.as_ref()[c].width()).max().unwrap_or(0);
    let mut widths: Vec<usize> = (0..n).map(|c| widest(c).min(if c + 1 < n { caps[c] } else { WIDTH })).collect();
    if let Some((last, before)) = widths.split_last_mut() {
        let left =
            |before: &[usize]| WIDTH.saturating_sub(indent + before.iter().map(|width| width + 2).sum::<usize>());
        while left(before) < (*last).min(LEAST) {
            match before.iter_mut().max() {
                Some(widest) if *widest > 1 => *widest -= 1,
                _ => break,
            }
        }
        *last = left(before).max(1);
    }
    let mut text = String::new();
    for row in rows {
        let cells: Vec<Vec<String>> = row
            .as_ref()
            .iter()
            .zip(&widths)
            .map(|(cell, width)| {
                wrap(&cell.replace('\n', " "), at_blanks((*width).max(1))).into_iter().map(String::from).collect()
            })
            .collect();
        for n in 0..cells.iter().map(Vec::len).max().unwrap_or(0) {
            let line: Vec<String> = cells
                .iter()
                .zip(&widths)
                .map(|(cell, width)| pad(cell.get(n).map_or("", String::as_str), *width))
                .collect();
            text.push_str(" ".repeat(indent).as_str());
            text.push_str(line.join("  ").trim_end());
            text.push('\n');
        }
    }
    text
}
