//! Words that fit the room they have: as they are, a little narrower, on two lines, or ended by an ellipsis; never cut.

use super::widths::{SANS, SANS_BOLD, SERIF_BOLD, Widths};

/// What a text is set in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Face {
    /// The narrow sans.
    Sans,
    /// The same, bold.
    Bold,
    /// The serif, bold.
    Serif,
}

/// How narrow a text may be set before it is ended instead.
const NARROWEST: f32 = 0.88;

/// From this share of its room on a text is held to its length, as another font may have to do and be wider.
const NEAR: f32 = 0.6;

/// A text on one line.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Label {
    /// What it says.
    pub text: String,
    /// How long it is made, in pixels, where it would be longer or fills its room.
    pub length: Option<i32>,
}

impl Label {
    /// What holds it to its length, as attributes of its element.
    pub fn held(&self) -> String {
        held(self.length)
    }
}

pub(super) fn held(length: Option<i32>) -> String {
    length.map_or_else(String::new, |long| format!(" textLength=\"{long}\" lengthAdjust=\"spacingAndGlyphs\""))
}

/// How wide a text is, in pixels.
pub(super) fn width(text: &str, face: Face, size: f32) -> f32 {
    let widths: &Widths = match face {
        Face::Sans => &SANS,
        Face::Bold => &SANS_BOLD,
        Face::Serif => &SERIF_BOLD,
    };
    text.chars().map(|c| widths.of(c)).sum::<f32>() * size / 1000.0
}

/// The first of some texts that fits as it is or a little narrower; else the last one, ended. None: there is no room.
pub(super) fn fit(texts: &[&str], face: Face, size: f32, room: i32) -> Option<Label> {
    let room_f = room as f32;
    let fits = |text: &&&str| width(text, face, size) * NARROWEST <= room_f;
    match texts.iter().find(fits) {
        Some(text) => Some(whole(text, face, size, room)),
        None => ended(texts.last()?, face, size, room),
    }
}

/// A text that fits; one that comes near its room is held to it, whatever it is set in.
fn whole(text: &str, face: Face, size: f32, room: i32) -> Label {
    let wide = width(text, face, size);
    let length = (wide > room as f32 * NEAR).then(|| (wide.floor() as i32).min(room));
    Label { text: text.to_owned(), length }
}

/// As much of a text as fits, with an ellipsis.
fn ended(text: &str, face: Face, size: f32, room: i32) -> Option<Label> {
    let mut kept = String::new();
    for c in text.chars() {
        kept.push(c);
        if width(&kept, face, size) + width("…", face, size) > room as f32 {
            kept.pop();
            break;
        }
    }
    let kept = kept.trim_end();
    (kept.chars().count() >= 2).then(|| whole(&format!("{kept}…"), face, size, room))
}

/// A text on two lines of which the first has less room; none where its first word does not fit there.
pub(super) fn wrapped(text: &str, face: Face, size: f32, first: i32, second: i32) -> Option<(Label, Label)> {
    let words: Vec<&str> = text.split_whitespace().collect();
    let fits = |n: &usize| width(&words[..*n].join(" "), face, size) <= first as f32;
    let many = (1..words.len()).rev().find(fits)?;
    let rest = fit(&[&words[many..].join(" ")], face, size, second)?;
    Some((whole(&words[..many].join(" "), face, size, first), rest))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_does_not_fit_is_narrowed_then_ended_and_never_longer_than_its_room() {
        let text = "Drill and dense pack";
        let wide = width(text, Face::Sans, 12.0);
        let of = |room: f32| fit(&[text], Face::Sans, 12.0, room as i32);
        assert_eq!(of(wide * 2.0), Some(Label { text: text.to_owned(), length: None }));
        let narrowed = of(wide * 0.92).expect("a label");
        assert!(narrowed.text == text && narrowed.length.is_some_and(|long| long as f32 <= wide * 0.92));
        let short = of(wide * 0.5).expect("a label");
        assert!(short.text.ends_with('…') && width(&short.text, Face::Sans, 12.0) <= wide * 0.5, "{short:?}");
        assert_eq!(of(3.0), None);
    }

    #[test]
    fn words_go_on_to_a_second_line_whole() {
        let (first, rest) = wrapped("Drill and dense pack", Face::Sans, 12.0, 60, 90).expect("two lines");
        assert_eq!(format!("{} {}", first.text, rest.text), "Drill and dense pack");
        assert!(width(&first.text, Face::Sans, 12.0) <= 60.0);
        assert_eq!(wrapped("Drill", Face::Sans, 12.0, 60, 90), None);
    }
}
