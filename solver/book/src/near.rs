//! The nearest known name to one that is not known, and names fit to print.

use super::visible::steers;

/// Longest name that is compared, in bytes.
const LONGEST: usize = 100;

/// Names compared for all suggestions of one reading: no book of an honest size comes near it.
const MOST_COMPARED: usize = 200_000;

/// The known name that was most likely meant, where one is near enough; the first listed of equals.
pub fn nearest<'a>(name: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let wanted = folded(name)?;
    let mut best: Option<(f64, &str)> = None;
    for candidate in known {
        let Some(other) = folded(candidate) else { continue };
        let likeness = strsim::jaro_winkler(&wanted, &other);
        let (short, long) = if wanted.len() < other.len() { (&wanted, &other) } else { (&other, &wanted) };
        let slip = short.len() > 1 && strsim::osa_distance(&wanted, &other) == 1;
        // Most of the name, or one whole word of it.
        let most = 2 * short.len() >= long.len() && long.contains(short.as_str());
        let part = short.len() > 2 && (most || long.split('-').any(|word| word == short));
        if (likeness >= 0.84 || slip || part) && best.is_none_or(|(so_far, _)| likeness > so_far) {
            best = Some((likeness, candidate));
        }
    }
    best.map(|(_, candidate)| candidate)
}

/// Capitals, spaces and dashes are the usual slips: they do not count.
fn folded(name: &str) -> Option<String> {
    let short = name.len() <= LONGEST && !name.is_empty();
    short.then(|| name.to_lowercase().replace([' ', '_'], "-"))
}

/// Suggestions for the faults of one reading; a book of nothing but strange names stops getting them.
#[derive(Default)]
pub(super) struct Suggestions {
    compared: usize,
}

impl Suggestions {
    /// The nearest known name.
    pub(super) fn nearest<'a>(&mut self, name: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
        if self.compared > MOST_COMPARED {
            return None;
        }
        nearest(name, known.into_iter().inspect(|_| self.compared += 1))
    }

    /// `; did you mean ...?` where something known is near, else nothing.
    pub(super) fn did_you_mean<'a>(&mut self, name: &str, known: impl IntoIterator<Item = &'a str>) -> String {
        meant(self.nearest(name, known))
    }
}

/// The end of a sentence about a name that is not known.
pub(super) fn meant(near: Option<&str>) -> String {
    near.map_or_else(String::new, |near| format!("; did you mean `{}`?", shown(near)))
}

/// A text of the book inside a message: control characters escaped, cut where it is long.
pub(super) fn shown(text: &str) -> String {
    const MOST: usize = 80;
    let mut out = String::new();
    for (count, c) in text.chars().enumerate() {
        if count == MOST {
            out.push('…');
            break;
        }
        // Also what is not seen at all.
        if steers(c) || matches!(c, '\u{200b}'..='\u{200d}' | '\u{feff}') {
            out.extend(c.escape_unicode());
        } else {
            out.push(c);
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nearest_finds_what_was_cut_off_misspelt_or_capitalised() {
        let known = ["elm-street", "oak-hill", "shop"];
        assert_eq!(nearest("elm-st", known), Some("elm-street"));
        assert_eq!(nearest("Oak Hill", known), Some("oak-hill"));
        assert_eq!(nearest("shpo", known), Some("shop"));
        assert_eq!(nearest("air-seal", ["blow", "seal"]), Some("seal"));
        assert_eq!(nearest("half_day", ["half_days", "labor_hours"]), Some("half_days"));
        assert_eq!(nearest("power", ["needs", "needs_power", "skill"]), Some("needs_power"));
    }

    #[test]
    fn nearest_says_nothing_rather_than_something_far() {
        assert_eq!(nearest("quarry", ["elm-street", "oak-hill"]), None);
        assert_eq!(nearest("", ["elm-street"]), None);
        assert_eq!(nearest("b", ["a"]), None);
    }

    #[test]
    fn shown_text_cannot_break_a_line_or_flood_it() {
        assert_eq!(shown("a\nb\u{1b}"), "a\\u{a}b\\u{1b}");
        assert_eq!(shown(&"é".repeat(500)).chars().count(), 81);
    }
}
