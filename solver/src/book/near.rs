//! The nearest known name to one that is not known, and names fit to print.

/// Longest name that is compared, in characters: ids end here too.
pub(super) const LONGEST: usize = 200;

/// The known name that was most likely meant, where one is near enough; the first listed of equals.
pub fn nearest<'a>(name: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let wanted = folded(name)?;
    let mut best: Option<(f64, &str)> = None;
    for candidate in known {
        let Some(other) = folded(candidate) else { continue };
        let likeness = strsim::jaro_winkler(&wanted, &other);
        let slip = wanted.len().min(other.len()) > 1 && strsim::osa_distance(&wanted, &other) == 1;
        if (likeness >= 0.84 || slip) && best.is_none_or(|(so_far, _)| likeness > so_far) {
            best = Some((likeness, candidate));
        }
    }
    best.map(|(_, candidate)| candidate)
}

/// Capitals, spaces and dashes are the usual slips: they do not count.
fn folded(name: &str) -> Option<String> {
    let short = name.len() <= 4 * LONGEST && !name.is_empty();
    short.then(|| name.to_lowercase().replace([' ', '_'], "-"))
}

/// `; did you mean ...?` where something known is near, else nothing.
pub(super) fn did_you_mean<'a>(name: &str, known: impl IntoIterator<Item = &'a str>) -> String {
    nearest(name, known).map_or_else(String::new, |near| format!("; did you mean `{}`?", shown(near)))
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
        // Also what turns the writing direction around, or is not seen at all.
        if c.is_control()
            || matches!(c, '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2066}'..='\u{2069}' | '\u{feff}')
        {
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
        assert_eq!(nearest("half_day", ["half_days", "labor_hours"]), Some("half_days"));
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
