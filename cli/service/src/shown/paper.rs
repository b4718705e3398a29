//! What stands at the foot of every printed page, and how large the page is: a style of each sheet's own, as only a style can
//! count pages.

use std::fmt::Write;

use chrono::{DateTime, Utc};
use chrono_tz::Tz;
use yardless_book::visible;

/// The paper that a sheet is laid out for; all of it lies broadside.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Paper {
    /// Whatever the printer holds.
    #[default]
    Any,
    /// 8.5 by 11 inches.
    Letter,
    /// 210 by 297 millimetres.
    A4,
}

impl Paper {
    fn size(self) -> &'static str {
        match self {
            Self::Any => "landscape",
            Self::Letter => "11in 8.5in",
            Self::A4 => "297mm 210mm",
        }
    }
}

/// The foot of a sheet's pages.
pub struct Foot<'a> {
    /// The shop.
    pub shop: &'a str,
    /// What is printed: `week of Mon 7 Dec 2026`.
    pub what: &'a str,
    /// Which plan: `plan 3`.
    pub plan: &'a str,
    /// When, by the shop's clock.
    pub at: DateTime<Tz>,
}

/// What is true of every sheet.
const WHO_DECIDES: &str =
    "Driver and competent person on site decide; local codes and licensed practice rule. A forecast is not the road.";

impl Foot<'_> {
    /// The style of the pages.
    pub fn style(&self, paper: Paper) -> String {
        let Self { shop, what, plan, at } = self;
        let printed = format!("printed {}", at.format("%a %-d %b %Y, %H:%M"));
        let left = quoted(&[*shop, *what, *plan, printed.as_str()].map(visible).join(" · "));
        let decides = quoted(WHO_DECIDES);
        let size = paper.size();
        format!(
            "@page{{size:{size};@bottom-left{{content:{left} \"\\A \" {decides}}}\
             @bottom-right{{content:\"page \" counter(page) \" of \" counter(pages)}}}}"
        )
    }
}

/// The time now by a shop's clock.
pub fn now(zone: Tz) -> DateTime<Tz> {
    Utc::now().with_timezone(&zone)
}

/// A text as a string of a style, in which nothing ends the string, or the style.
fn quoted(text: &str) -> String {
    let mut style = "\"".to_owned();
    for c in text.chars() {
        if c.is_alphanumeric() || matches!(c, ' ' | ',' | '.' | ':' | ';' | '·') {
            style.push(c);
        } else {
            let _ = write!(style, "\\{:x} ", u32::from(c));
        }
    }
    style + "\""
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn name_of_a_shop_ends_neither_the_string_nor_the_style() {
        let shop = "A\"}</style>\\B\n& Söhne";
        let at = DateTime::<Utc>::UNIX_EPOCH.with_timezone(&Tz::UTC);
        let style = Foot { shop, what: "week", plan: "plan 1", at }.style(Paper::Letter);
        assert_eq!(style.matches('"').count() % 2, 0, "{style}");
        assert!(!style.contains('<') && !style.contains('\n') && !style.contains("A\""), "{style}");
        assert!(style.contains("Söhne · week · plan 1 · printed Thu 1 Jan 1970, 00:00"), "{style}");
    }
}
