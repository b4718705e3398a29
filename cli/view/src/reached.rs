//! A telephone number among the words that say how a customer is reached.

/// Words around a number that a telephone can dial.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Reached {
    /// What stands before it.
    pub before: String,
    /// The number as it is written; empty: there is none.
    pub number: String,
    /// The number as it is dialled.
    pub dialled: String,
    /// What stands after it.
    pub after: String,
}

/// Fewest and most digits of a number (E.164 has 15 at most).
const DIGITS: std::ops::RangeInclusive<usize> = 7..=15;

impl Reached {
    /// Of what is entered of a customer: the first number in it.
    pub fn of(text: &str) -> Self {
        let belongs = |c: char| c.is_ascii_digit() || " +-.()/".contains(c);
        let mut from = 0;
        while let Some(first) = text[from..].find(|c: char| c.is_ascii_digit() || c == '+' || c == '(') {
            let first = from + first;
            let end = text[first..].find(|c: char| !belongs(c)).map_or(text.len(), |n| first + n);
            let number = text[first..end].trim_end_matches(|c: char| !c.is_ascii_digit());
            let digits: String = number.chars().filter(char::is_ascii_digit).collect();
            if DIGITS.contains(&digits.len()) {
                let plus = if number.starts_with('+') { "+" } else { "" };
                return Self {
                    before: text[..first].to_owned(),
                    dialled: format!("{plus}{digits}"),
                    after: text[first + number.len()..].to_owned(),
                    number: number.to_owned(),
                };
            }
            from = end;
        }
        Self { before: text.to_owned(), number: String::new(), dialled: String::new(), after: String::new() }
    }
}

#[test]
fn number_is_found_among_the_words_and_what_is_none_is_left_alone() {
    let of = |text: &str| {
        let Reached { before, number, dialled, after } = Reached::of(text);
        assert_eq!(format!("{before}{number}{after}"), text);
        (number, dialled)
    };
    let found = |number: &str, dialled: &str| (number.to_owned(), dialled.to_owned());
    assert_eq!(of("Mrs. Example, 555-0102"), found("555-0102", "5550102"));
    assert_eq!(of("+1 (802) 555-0199 after 5, Ms. Instance"), found("+1 (802) 555-0199", "+18025550199"));
    assert_eq!(of("flat 12, 555.0142."), found("555.0142", "5550142"));
    for none in ["", "Mr. Placeholder", "2 and 3 Rowan Street", "+", "12345678901234567890"] {
        assert_eq!(of(none), found("", ""), "{none}");
    }
}
