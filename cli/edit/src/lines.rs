//! Where in a text a fault lies.

/// Lines and columns of a text's bytes. Asked in the order of the text, all answers together take one way through it.
pub struct Lines<'a> {
    bytes: &'a [u8],
    /// What was asked for last, with its line and column, from 0.
    last: (usize, usize, usize),
}

impl<'a> Lines<'a> {
    /// Those of a text.
    pub fn new(bytes: &'a [u8]) -> Self {
        Self { bytes, last: (0, 0, 0) }
    }

    /// Line and column of a byte, from 1; the column counts characters.
    pub fn at(&mut self, at: usize) -> (usize, usize) {
        let at = at.min(self.bytes.len());
        let (from, mut line, mut column) = if self.last.0 <= at { self.last } else { (0, 0, 0) };
        for byte in &self.bytes[from..at] {
            match byte {
                b'\n' => (line, column) = (line + 1, 0),
                // What goes on in a character is not one of its own.
                0x80..=0xbf => {}
                _ => column += 1,
            }
        }
        self.last = (at, line, column);
        (line + 1, column + 1)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_count_characters_in_whatever_order_they_are_asked() {
        let mut lines = Lines::new("a\né\u{1f469}b\n\nc".as_bytes());
        assert_eq!(
            [0, 2, 4, 8, 11, 8, 99].map(|at| lines.at(at)),
            [(1, 1), (2, 1), (2, 2), (2, 3), (4, 1), (2, 3), (4, 2)]
        );
    }
}
