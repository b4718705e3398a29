//! CAP in other letters than those of UTF-8.

use yardless_weather::read_alerts;

use crate::{ALERTS, GRID, ICE};

/// The fixture with a headline and a declaration, its bytes written by a function.
fn written(encoding: &str, headline: &str, bytes: impl Fn(&str) -> Vec<u8>) -> Vec<u8> {
    let text = ICE.replace("encoding=\"UTF-8\"", encoding);
    let from = text.rfind("Ice &amp; sleet").expect("there");
    let to = from + text[from..].find("</headline>").expect("its end");
    bytes(&format!("{}{headline}{}", &text[..from], &text[to..]))
}

#[track_caller]
fn headline(file: &[u8]) -> String {
    let reading = read_alerts(file);
    assert_eq!(reading.faults, []);
    reading.alerts[0].info.headline.clone().expect("a headline")
}

/// ISO-8859-1: each of the first 256 letters is the byte of its number.
fn latin(text: &str) -> Vec<u8> {
    text.chars().map(|letter| u8::try_from(u32::from(letter)).expect("a letter of ISO-8859-1")).collect()
}

#[test]
fn declared_letters_are_read() {
    let words = "\u{c9}t\u{e9} \u{fd} \u{b0}F \u{df}\u{ff}";
    for name in ["ISO-8859-1", "iso-8859-1", "latin1", "windows-1252", "Windows-1252", "cp1252"] {
        assert_eq!(headline(&written(&format!("encoding=\"{name}\""), words, latin)), words, "{name}");
        assert_eq!(headline(&written(&format!("encoding = '{name}'"), words, latin)), words, "{name}");
    }
    // Windows-1252 has a dash at 0x96, the euro at 0x80, quotes at 0x93 and 0x94 (its table at the Unicode Consortium).
    let windows = |text: &str| -> Vec<u8> {
        let byte = |letter: char| match letter {
            '\u{2013}' => 0x96,
            '\u{20ac}' => 0x80,
            '\u{201c}' => 0x93,
            '\u{201d}' => 0x94,
            other => u8::try_from(u32::from(other)).expect("a letter of both"),
        };
        text.chars().map(byte).collect()
    };
    let words = "\u{201c}ice\u{201d} \u{2013} \u{20ac}5 \u{e9}";
    assert_eq!(headline(&written("encoding=\"windows-1252\"", words, windows)), words);
    // UTF-8 under any of its names or none, with and without its mark.
    for encoding in ["encoding=\"utf8\"", "encoding=\"UTF-8\"", "encoding=\"us-ascii\"", ""] {
        let plain = written(encoding, words, |text| text.as_bytes().to_vec());
        assert_eq!(headline(&plain), words, "{encoding}");
        assert_eq!(headline(&[b"\xef\xbb\xbf", &plain[..]].concat()), words, "{encoding}");
    }
    let marked = |text: &str| [b"\xef\xbb\xbf", text.as_bytes()].concat();
    assert_eq!(read_alerts(&marked(ALERTS)).alerts.len(), 6);
    assert!(yardless_weather::forecast::read(&marked(GRID)).is_ok());
}

#[track_caller]
fn refused(file: &[u8], at: &str, says: &str) {
    let reading = read_alerts(file);
    assert!(reading.alerts.is_empty() && reading.faults.len() == 1, "{reading:?}");
    let fault = &reading.faults[0];
    assert!(fault.at == at && fault.says.contains(says) && fault.help.contains("UTF-8"), "{fault:?}");
}

#[test]
fn other_letters_are_refused_by_name() {
    for name in ["ISO-8859-2", "windows-1251", "UTF-16", "Shift_JIS", "klingon"] {
        let file = written(&format!("encoding=\"{name}\""), "ice", |text| text.as_bytes().to_vec());
        refused(&file, "line 1, column 1", &format!("`{name}`"));
    }
    for big in [true, false] {
        let sixteen = |text: &str| -> Vec<u8> {
            text.encode_utf16().flat_map(|unit| if big { unit.to_be_bytes() } else { unit.to_le_bytes() }).collect()
        };
        for mark in ["", "\u{feff}"] {
            refused(&sixteen(&format!("{mark}{ICE}")), "line 1, column 1", "UTF-16");
        }
    }
    // ISO-8859-1 that does not say so is no UTF-8, and UTF-8 that says otherwise after its mark is told.
    let silent = written("", "\u{e9}t\u{e9}", latin);
    let at = silent.iter().position(|byte| *byte == 0xe9).expect("there");
    refused(&silent, &format!("byte {at}"), "no letter in UTF-8");
    let both = written("encoding=\"ISO-8859-1\"", "ice", |text| [b"\xef\xbb\xbf", text.as_bytes()].concat());
    let reading = read_alerts(&both);
    assert!(reading.faults.len() == 1 && reading.faults[0].says.contains("windows-1252"), "{reading:?}");
}
