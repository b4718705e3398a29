//! An answer in words, tables and heads: written out as text here, and on a page by whoever serves it.

use super::table::columns;
use super::words::wrapped;

/// A part of an answer.
#[derive(Clone, Debug, PartialEq)]
pub enum Block {
    /// A rule over the whole width.
    Rule,
    /// An empty line.
    Gap,
    /// A line that heads what follows.
    Head(String),
    /// A paragraph.
    Says(String),
    /// Rows of cells.
    Rows(Grid),
}

/// Rows of cells, and how they are laid out as text.
#[derive(Clone, Debug, PartialEq)]
pub struct Grid {
    /// Blanks before each line of text.
    pub indent: usize,
    /// Whether the first row heads the columns.
    pub headed: bool,
    /// The rows, with as many cells each.
    pub rows: Vec<Vec<String>>,
    /// The widest that each column but the last may get as text.
    pub caps: Vec<usize>,
}

/// An answer.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Told {
    /// Its parts, in order.
    pub blocks: Vec<Block>,
}

impl Told {
    /// Nothing but a paragraph.
    pub fn says(text: &str) -> Self {
        Self::default().say(text)
    }
    /// With one more paragraph.
    #[must_use]
    pub fn say(self, text: &str) -> Self {
        self.and(Block::Says(text.to_owned()))
    }
    /// With one more head.
    #[must_use]
    pub fn head(self, text: impl Into<String>) -> Self {
        self.and(Block::Head(text.into()))
    }
    /// With a rule.
    #[must_use]
    pub fn rule(self) -> Self {
        self.and(Block::Rule)
    }
    /// With an empty line.
    #[must_use]
    pub fn gap(self) -> Self {
        self.and(Block::Gap)
    }
    /// With rows; none where there are none.
    #[must_use]
    pub fn rows<const N: usize>(self, indent: usize, rows: Vec<[String; N]>, caps: [usize; N]) -> Self {
        self.table(indent, false, rows, caps)
    }
    /// With rows of which the first heads the columns.
    #[must_use]
    pub fn headed<const N: usize>(self, indent: usize, rows: Vec<[String; N]>, caps: [usize; N]) -> Self {
        self.table(indent, true, rows, caps)
    }
    /// With all that another one says.
    #[must_use]
    pub fn then(mut self, other: Self) -> Self {
        self.blocks.extend(other.blocks);
        self
    }

    fn table<const N: usize>(self, indent: usize, headed: bool, rows: Vec<[String; N]>, caps: [usize; N]) -> Self {
        if rows.is_empty() {
            return self;
        }
        let rows = rows.into_iter().map(Vec::from).collect();
        self.and(Block::Rows(Grid { indent, headed, rows, caps: caps.to_vec() }))
    }

    fn and(mut self, block: Block) -> Self {
        self.blocks.push(block);
        self
    }

    /// For 100 columns of text.
    pub fn text(&self) -> String {
        let text = |block: &Block| match block {
            Block::Rule => "═".repeat(super::grid::WIDTH) + "\n",
            Block::Gap => "\n".to_owned(),
            Block::Head(text) => format!("{text}\n"),
            Block::Says(text) => wrapped(text),
            Block::Rows(of) => columns(of.indent, &of.rows, &of.caps),
        };
        self.blocks.iter().map(text).collect()
    }
}
