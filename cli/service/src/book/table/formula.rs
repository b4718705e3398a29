//! Texts in a table that a spreadsheet would take for a formula: they get an apostrophe in front, and lose it again.
//!
//! A spreadsheet that splits at semicolons, tabs or line ends begins a cell in the middle of one of ours, whatever our
//! quotes (OWASP, CSV Injection: the separators count as much as the beginning).

/// What a formula begins with, the wide forms too.
const BEGINS: [char; 10] = ['=', '+', '-', '@', '\t', '\r', '\u{ff1d}', '\u{ff0b}', '\u{ff0d}', '\u{ff20}'];
/// After these a cell may begin.
const ENDS: [char; 4] = [';', '\t', '\r', '\n'];

/// With an apostrophe wherever a formula would begin.
pub fn guarded(text: &str) -> String {
    each(text, |out, c| {
        out.push('\'');
        out.push(c);
    })
}

/// The same without them again.
pub fn unguarded(text: &str) -> String {
    each(text, |out, c| {
        if c != '\'' {
            out.push(c);
        }
    })
}

/// A text with something else for each character where a formula begins, or apostrophes before one.
fn each(text: &str, begins: impl Fn(&mut String, char)) -> String {
    let mut out = String::with_capacity(text.len());
    let mut may_begin = true;
    for (at, c) in text.char_indices() {
        if may_begin && text[at..].trim_start_matches('\'').starts_with(BEGINS) {
            begins(&mut out, c);
        } else {
            out.push(c);
        }
        may_begin = ENDS.contains(&c) || (may_begin && [' ', '"'].contains(&c));
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_cell_begins_with_a_formula_wherever_a_spreadsheet_splits_and_all_comes_back() {
        let mut draw = fastrand::Rng::with_seed(11);
        let letters: Vec<char> = "=+-@;\t\r\n'\" ,ax1\u{ff1d}".chars().collect();
        for _ in 0..20_000 {
            let text: String = (0..draw.usize(0..12)).map(|_| letters[draw.usize(0..letters.len())]).collect();
            let guarded = guarded(&text);
            assert_eq!(unguarded(&guarded), text, "{guarded:?}");
            for cell in guarded.split([';', '\t', '\r', '\n']) {
                let cell = cell.trim_start_matches([' ', '"']);
                assert!(!cell.starts_with(['=', '+', '-', '@', '\u{ff1d}']), "{text:?} as {guarded:?}");
            }
        }
        assert_eq!(guarded("Elm 3; =HYPERLINK(\"x\")"), "Elm 3; '=HYPERLINK(\"x\")");
        assert_eq!(guarded("a-b = c; d'=e, -5"), "a-b = c; d'=e, -5", "what begins no cell stays");
    }
}
