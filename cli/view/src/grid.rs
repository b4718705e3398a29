//! A ruled grid on 100 columns of text: a label, then a cell for each half-day; a span covers several cells.

use textwrap::{Options, WordSeparator, WordSplitter, wrap};
use unicode_width::UnicodeWidthStr;

/// Columns of text that a sheet may take.
pub const WIDTH: usize = 100;
/// Fewest columns of text for the labels.
const LABEL: usize = 18;
/// Most lines that a cell takes before its text is cut.
const MOST_LINES: usize = 6;

/// How text is wrapped to a width: at blanks alone.
pub fn at_blanks(width: usize) -> Options<'static> {
    Options::new(width).word_separator(WordSeparator::AsciiSpace)
}

/// The ruling: how wide label and cells are, and where dates begin.
pub struct WeekGrid {
    label: usize,
    cell: usize,
    /// Whether each cell begins a date.
    begins_date: Vec<bool>,
}

/// What stands in one or more neighbouring cells.
pub struct CellSpan {
    /// The first cell.
    pub first: usize,
    /// The last cell.
    pub last: usize,
    /// What it says.
    pub says: Says,
}

/// What a span says.
pub enum Says {
    /// A head with a rule drawn out to the span's end, then lines of words under it.
    Words(String, String),
    /// Lines of words.
    Text(String),
    /// One character over the whole width.
    Fill(char),
    /// The first text that fits, in the middle.
    Fitting(Vec<String>),
}

/// A line of the table: a label, and what stands in its cells.
pub struct WeekRow {
    /// The label; its lines are wrapped, and lines after the first set in as they begin.
    pub label: Vec<String>,
    /// The spans, from left to right, apart from one another.
    pub spans: Vec<CellSpan>,
}

impl WeekGrid {
    /// A grid with so many cells.
    pub fn new(begins_date: Vec<bool>) -> Self {
        let n = begins_date.len().max(1);
        let cell = (WIDTH - LABEL) / n - 1;
        Self { label: WIDTH - n * (cell + 1), cell, begins_date }
    }

    /// How many cells.
    pub fn len(&self) -> usize {
        self.begins_date.len()
    }

    /// A rule from edge to edge, crossed by the dates.
    pub fn rule(&self, line: char, cross: char) -> String {
        let mut text = line.to_string().repeat(self.label);
        for begins_date in &self.begins_date {
            text.push(if *begins_date { cross } else { line });
            text.extend(std::iter::repeat_n(line, self.cell));
        }
        text + "\n"
    }

    /// A row, in as many lines as its fullest cell takes.
    pub fn row(&self, row: &WeekRow) -> String {
        let label: Vec<String> = row.label.iter().flat_map(|line| self.label_lines(line)).collect();
        let spans: Vec<(usize, usize, Vec<String>)> =
            row.spans.iter().map(|span| (span.first, span.last, self.span_lines(span))).collect();
        let lines = spans.iter().map(|(_, _, lines)| lines.len()).chain([label.len(), 1]).max().unwrap_or(1);
        let mut text = String::new();
        for n in 0..lines {
            let mut line = pad(label.get(n).map_or("", String::as_str), self.label);
            let mut c = 0;
            while c < self.len() {
                line.push(if self.begins_date[c] { '│' } else { '┊' });
                let (last, words) = match spans.iter().find(|(first, _, _)| *first == c) {
                    Some((_, last, words)) => (*last, words.get(n).map_or("", String::as_str)),
                    None => (c, ""),
                };
                line.push_str(&pad(words, self.width(c, last)));
                c = last + 1;
            }
            text.push_str(line.trim_end());
            text.push('\n');
        }
        text
    }

    /// Columns of text of the cells from first to last, the rules between them included.
    fn width(&self, first: usize, last: usize) -> usize {
        (last - first + 1) * (self.cell + 1) - 1
    }

    fn label_lines(&self, line: &str) -> Vec<String> {
        let indent = " ".repeat(line.len() - line.trim_start().len());
        let hang = format!("{indent} ");
        let options = Options::new(self.label - 1).initial_indent(&indent).subsequent_indent(&hang);
        wrap(line.trim_start(), options).into_iter().map(String::from).collect()
    }

    fn span_lines(&self, span: &CellSpan) -> Vec<String> {
        let width = self.width(span.first, span.last);
        let mut lines: Vec<String> = match &span.says {
            Says::Fill(c) => vec![c.to_string().repeat(width)],
            Says::Fitting(texts) => {
                let fits = texts.iter().find(|text| text.width() <= width).or(texts.last());
                vec![centred(fits.map_or("", String::as_str), width)]
            }
            Says::Text(text) => words(text, width),
            Says::Words(head, body) => {
                let mut lines = words(head, width);
                if let Some(first) =
                    lines.first_mut().filter(|first| first.width() + 2 <= width && span.last > span.first)
                {
                    *first = format!("{first} {}", "─".repeat(width - first.width() - 1));
                }
                lines.extend(words(body, width));
                lines
            }
        };
        if lines.len() > MOST_LINES {
            lines.truncate(MOST_LINES);
            if let Some(last) = lines.last_mut() {
                *last = format!("{}…", cut(last, width - 1));
            }
        }
        lines
    }
}

/// Words in lines of a width; a word that is wider ends in a point instead of breaking.
fn words(text: &str, width: usize) -> Vec<String> {
    let short = |word: &str| if word.width() > width { cut(word, width - 1) + "." } else { word.to_owned() };
    let text: Vec<String> = text.split_whitespace().map(short).collect();
    wrap(&text.join(" "), at_blanks(width).word_splitter(WordSplitter::NoHyphenation))
        .into_iter()
        .map(String::from)
        .collect()
}

/// Text followed by blanks up to a width; cut where it is longer.
pub fn pad(text: &str, width: usize) -> String {
    let text = cut(text, width);
    let blanks = width - text.width();
    text + &" ".repeat(blanks)
}

fn cut(text: &str, width: usize) -> String {
    let mut kept = String::new();
    for c in text.chars() {
        kept.push(c);
        if kept.width() > width {
            kept.pop();
            break;
        }
    }
    kept
}

fn centred(text: &str, width: usize) -> String {
    " ".repeat(width.saturating_sub(text.width()) / 2) + text
}
