//! How what stopped a command is told on stderr: drawn on a terminal, a line each elsewhere.

use std::io::{self, Write};

use yardless_edit::trouble::Trouble;

/// Tells it.
pub fn tell(trouble: &Trouble) {
    let _ = io::stderr().write_all(text(trouble).as_bytes());
}

#[cfg(feature = "drawn")]
fn text(trouble: &Trouble) -> String {
    use std::io::IsTerminal;
    if io::stderr().is_terminal() { crate::drawn::drawn(trouble) } else { trouble.plain() }
}

#[cfg(not(feature = "drawn"))]
fn text(trouble: &Trouble) -> String {
    trouble.plain()
}
