//! How wide the letters of the pages' fonts are, in thousandths of their size. Made with the fonts, by `fonts/make`.

/// The widths of a font.
pub(super) struct Widths {
    /// From the blank to the tilde.
    plain: [u16; 95],
    /// The ellipsis.
    ellipsis: u16,
    /// A small letter and a capital, for those that are not listed.
    small: u16,
    capital: u16,
}

impl Widths {
    /// Of a letter; of one that the fonts do not have, what another font is likely to give it.
    pub(super) fn of(&self, letter: char) -> f32 {
        let listed = (letter as usize).checked_sub(0x20).and_then(|n| self.plain.get(n).copied());
        let other = match letter {
            '…' => self.ellipsis,
            _ if (letter as u32) >= 0x1100 => 1000,
            _ if letter.is_uppercase() => self.capital,
            _ => self.small,
        };
        f32::from(listed.unwrap_or(other))
    }
}

/// Yardless Sans, 400.
#[rustfmt::skip]
pub(super) const SANS: Widths = Widths {
    plain: [
        228, 228, 291, 456, 456, 729, 547, 157, 273, 273, 319, 479, 228, 273, 228, 228,
        456, 456, 456, 456, 456, 456, 456, 456, 456, 456, 228, 228, 479, 479, 479, 456,
        832, 547, 547, 592, 592, 547, 501, 638, 592, 228, 410, 547, 456, 683, 592, 638,
        547, 638, 592, 547, 501, 592, 547, 774, 547, 547, 501, 228, 228, 228, 385, 456,
        0, 456, 456, 410, 456, 456, 228, 456, 456, 228, 182, 410, 182, 683, 456, 456,
        456, 456, 273, 410, 228, 456, 410, 592, 410, 410, 410, 274, 213, 274, 479,
    ],
    ellipsis: 820,
    small: 456,
    capital: 592,
};

/// Yardless Sans, 600.
#[rustfmt::skip]
pub(super) const SANS_BOLD: Widths = Widths {
    plain: [
        228, 258, 355, 456, 456, 729, 577, 182, 273, 273, 319, 479, 228, 273, 228, 228,
        456, 456, 456, 456, 456, 456, 456, 456, 456, 456, 258, 258, 479, 479, 479, 486,
        811, 577, 577, 592, 592, 547, 501, 638, 592, 228, 440, 577, 486, 683, 592, 638,
        547, 638, 592, 547, 501, 592, 547, 774, 547, 547, 501, 258, 228, 258, 447, 456,
        0, 456, 486, 440, 486, 456, 258, 486, 486, 228, 212, 440, 212, 713, 486, 486,
        486, 486, 303, 440, 258, 486, 440, 622, 440, 440, 410, 304, 224, 304, 479,
    ],
    ellipsis: 820,
    small: 486,
    capital: 592,
};

/// Yardless Serif, 600.
#[rustfmt::skip]
pub(super) const SERIF_BOLD: Widths = Widths {
    plain: [
        219, 284, 392, 611, 611, 838, 742, 211, 296, 296, 432, 512, 253, 362, 247, 405,
        611, 611, 611, 611, 611, 611, 611, 611, 611, 611, 268, 278, 512, 512, 512, 483,
        896, 756, 689, 716, 785, 670, 620, 770, 835, 371, 476, 772, 637, 1024, 781, 790,
        650, 789, 700, 586, 700, 784, 728, 1028, 758, 723, 654, 328, 405, 328, 512, 410,
        500, 490, 568, 461, 578, 482, 378, 520, 588, 304, 277, 580, 292, 868, 600, 542,
        584, 567, 430, 412, 381, 572, 550, 782, 533, 553, 460, 322, 246, 322, 512,
    ],
    ellipsis: 704,
    small: 600,
    capital: 781,
};
