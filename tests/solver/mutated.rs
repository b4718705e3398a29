//! Every book at hand, and plans of them, with bytes, words, numbers, dates and members changed: whatever comes of it is
//! read, made ready, planned and checked, without a panic and without end.
//!
//! `YARDLESS_MUTATIONS=100000` runs so many instead of a few thousand.

use std::cell::OnceCell;
use std::ops::Range;
use std::path::Path;
use std::time::{Duration, Instant};

use fastrand::Rng;
use serde_json::Value;
use yardless_answer::changes;
use yardless_book::half_day::{Horizon, parse_date};
use yardless_book::{Faults, read};
use yardless_check::check;
use yardless_engine::Limits;
use yardless_plan::Plan;
use yardless_plan::shop::Shop;

/// Mutations in an everyday run.
const USUAL: u64 = 8_000;
/// What one mutation may take on a machine that does much else; alone they take milliseconds.
const PATIENCE: Duration = Duration::from_secs(20);

const NUMBERS: [&str; 18] = [
    "-1",
    "0",
    "-0.0",
    "0.5",
    "1",
    "2.0",
    "12",
    "999",
    "1000",
    "100000",
    "1000000",
    "10000000",
    "4294967295",
    "4294967296",
    "9007199254740993",
    "18446744073709551616",
    "1e308",
    "-1e-300",
];
const DATES: [&str; 18] = [
    "0000-01-01",
    "1583-01-01",
    "1899-12-31",
    "1900-01-01",
    "2026-02-29",
    "2026-12-06",
    "2026-12-08",
    "2026-12-13",
    "2199-12-31",
    "2200-01-01",
    "2262-04-12",
    "9999-12-31",
    "+262142-12-31",
    "-262143-01-01",
    "1900-01-01 am/2199-12-31 pm",
    "1900-01-01/2026-12-08 am",
    "2026-12-07 pm",
    "2199-12-31 am",
];
const WORDS: [&str; 14] = [
    "null",
    "true",
    "[]",
    "{}",
    "[[]]",
    "\"\"",
    "\"/\"",
    "\"never\"",
    "\"\\u202e\\u001b[2J\"",
    "\"towed\"",
    "\"mon\"",
    "[0, 0]",
    "\"02-29/02-28\"",
    "{\"crew\": \"x\", \"start\": \"2026-12-07 am\", \"end\": \"1900-01-01 am\", \"left\": 1}",
];

/// A book without fault, and a plan of its week.
struct Seed {
    name: String,
    text: String,
    plan: OnceCell<String>,
}

impl Seed {
    fn shop(&self) -> Option<Shop> {
        Shop::new(&read(self.text.as_bytes()).ok()?.book, horizon("2026-12-07")).ok()
    }
    fn plan(&self) -> &str {
        self.plan.get_or_init(|| {
            let plan = self.shop().map(|shop| yardless_engine::plan(&shop, "", &Limits::steps(2), &mut |_| {}));
            plan.map_or_else(String::new, |plan| serde_json::to_string(&plan).expect("a plan is plain data"))
        })
    }
}

/// The books of `data` and of the cases.
fn seeds() -> Vec<Seed> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../..");
    let mut seeds = Vec::new();
    for folder in ["data", "tests/cases", "tests/cases/may_split"] {
        let mut files: Vec<_> =
            std::fs::read_dir(root.join(folder)).expect(folder).flatten().map(|of| of.path()).collect();
        files.sort();
        for file in files.iter().filter(|file| file.extension().is_some_and(|extension| extension == "json")) {
            let text = std::fs::read_to_string(file).expect("a text");
            if read(text.as_bytes()).is_ok() {
                seeds.push(Seed { name: file.display().to_string(), text, plan: OnceCell::new() });
            }
        }
    }
    assert!(seeds.len() > 70, "{}", seeds.len());
    seeds
}

fn horizon(monday: &str) -> Horizon {
    Horizon::new(parse_date(monday).expect("a date"), 1).expect("a Monday")
}

/// Texts, numbers and words of a JSON text, the quotes with them.
fn tokens(text: &str) -> Vec<Range<usize>> {
    let (bytes, mut at, mut out) = (text.as_bytes(), 0, Vec::new());
    while at < bytes.len() {
        let start = at;
        if bytes[at] == b'"' {
            at += 1;
            while at < bytes.len() && bytes[at] != b'"' {
                at += if bytes[at] == b'\\' { 2 } else { 1 };
            }
            at = (at + 1).min(bytes.len());
        } else {
            while at < bytes.len() && (bytes[at].is_ascii_alphanumeric() || b"+-.".contains(&bytes[at])) {
                at += 1;
            }
        }
        if at == start {
            at += 1;
        } else if text.is_char_boundary(at) {
            out.push(start..at);
        }
    }
    out
}

fn one_of(all: &[&str], random: &mut Rng) -> String {
    all[random.usize(..all.len())].to_owned()
}

/// One change of the text.
fn changed(text: &str, random: &mut Rng) -> String {
    let mut text = text.to_owned();
    let all = tokens(&text);
    if random.u8(..6) == 0 || all.is_empty() {
        return members(&text, random).unwrap_or(text);
    }
    let pick = |which: &dyn Fn(&str) -> bool, random: &mut Rng| {
        let fit: Vec<&Range<usize>> = all.iter().filter(|at| which(&text[(*at).clone()])).collect();
        (!fit.is_empty()).then(|| fit[random.usize(..fit.len())].clone())
    };
    let is_date =
        |token: &str| token.len() >= 12 && token[1..].starts_with(|c: char| c.is_ascii_digit()) && token.contains('-');
    let is_number = |token: &str| token.starts_with(|c: char| c == '-' || c.is_ascii_digit());
    let (at, with) = match random.u8(..6) {
        0 => (pick(&is_number, random), one_of(&NUMBERS, random)),
        1 | 2 => (pick(&is_date, random), format!("\"{}\"", one_of(&DATES, random))),
        3 => {
            let other = pick(&|token| token.starts_with('"'), random).unwrap_or(0..0);
            (pick(&|token| token.starts_with('"'), random), text[other].to_owned())
        }
        4 => (pick(&|_| true, random), one_of(&WORDS, random)),
        _ => {
            // A byte, as long as the text stays one.
            let at = random.usize(..text.len());
            let byte = char::from(random.u8(1..128)).to_string();
            ((text.is_char_boundary(at) && text.is_char_boundary(at + 1)).then_some(at..at + 1), byte)
        }
    };
    if let Some(at) = at {
        text.replace_range(at, &with);
    }
    text
}

/// A field or an element taken out, given again, or put in place of another.
fn members(text: &str, random: &mut Rng) -> Option<String> {
    let mut root: Value = serde_json::from_str(text).ok()?;
    let mut at = &mut root;
    // Some way down.
    for _ in 0..random.usize(1..7) {
        let deeper = match at {
            Value::Array(list) => list.iter().any(|value| value.is_array() || value.is_object()),
            Value::Object(fields) => fields.values().any(|value| value.is_array() || value.is_object()),
            _ => false,
        };
        if !deeper {
            break;
        }
        at = match at {
            Value::Array(list) => {
                let n = random.usize(..list.len());
                &mut list[n]
            }
            Value::Object(fields) => {
                let n = random.usize(..fields.len());
                fields.values_mut().nth(n)?
            }
            _ => return None,
        };
    }
    match at {
        Value::Array(list) if !list.is_empty() => {
            let (n, other) = (random.usize(..list.len()), random.usize(..list.len()));
            match random.u8(..3) {
                0 => drop(list.remove(n)),
                1 => list.push(list[n].clone()),
                _ => list.swap(n, other),
            }
        }
        Value::Object(fields) if !fields.is_empty() => {
            let name = fields.keys().nth(random.usize(..fields.len()))?.clone();
            let value = fields.shift_remove(&name)?;
            if random.bool() {
                let other = fields.keys().nth(random.usize(..fields.len().max(1))).cloned().unwrap_or(name);
                fields.insert(other, value);
            }
        }
        _ => return None,
    }
    serde_json::to_string_pretty(&root).ok()
}

/// A book that may be none, from reading to a plan that holds. Whether it came so far.
fn book_ends_well(text: &str, random: &mut Rng) -> bool {
    let written = match read(text.as_bytes()) {
        Ok(written) => written,
        Err(Faults { all }) => {
            assert!(!all.is_empty() && all.iter().all(|(_, at)| at.start <= at.end && at.end <= text.len()));
            return false;
        }
    };
    let monday =
        ["2026-12-07", "2026-12-07", "2026-12-07", "2026-12-14", "1900-01-01", "2199-12-16"][random.usize(..6)];
    let now = [0, 0, 3, 13][random.usize(..4)];
    match Shop::again(&written.book, horizon(monday), now, Some(&[])) {
        Ok(shop) => {
            let plan = yardless_engine::plan(&shop, "", &Limits::steps(2), &mut |_| {});
            let verdict = check(&shop, &plan);
            assert!(verdict.holds(), "{:?}", verdict.breaches);
            true
        }
        Err(faults) => {
            let places = written.bytes_at(faults.iter().map(|fault| &fault.path));
            assert!(!faults.is_empty() && places.iter().all(|at| at.start <= at.end && at.end <= text.len()));
            false
        }
    }
}

/// A plan that may be none, judged, compared and planned on from. Whether it came so far.
fn plan_ends_well(text: &str, seed: &Seed) -> bool {
    let Ok(plan) = serde_json::from_str::<Plan>(text) else { return false };
    let (Ok(horizon), Ok(written)) = (Horizon::new(plan.from, plan.weeks), read(seed.text.as_bytes())) else {
        return false;
    };
    let now = plan.now.and_then(|now| horizon.index(now)).unwrap_or(0);
    let Ok(shop) = Shop::again(&written.book, horizon, now, Some(&plan.kept())) else { return false };
    let verdict = check(&shop, &plan);
    if horizon.weeks() <= 2 {
        let next = yardless_engine::replan(&shop, "", &plan, &Limits::steps(2), &mut |_| {});
        assert!(check(&shop, &next).holds(), "{:?}", check(&shop, &next).breaches);
        // What is compared with has held once.
        if verdict.holds() {
            changes(&shop, &plan, &next);
        }
    }
    true
}

/// Says which mutation it was, where one fails.
struct Named<'a>(&'a str, u64);

impl Drop for Named<'_> {
    fn drop(&mut self) {
        if std::thread::panicking() {
            eprintln!("mutation {} of {}", self.1, self.0);
        }
    }
}

#[test]
fn mutated_books_and_plans_never_panic_nor_hang() {
    let seeds = seeds();
    let count = std::env::var("YARDLESS_MUTATIONS").ok().and_then(|count| count.parse().ok()).unwrap_or(USUAL);
    // Books that were planned, and plans that were judged.
    let mut far = [0, 0];
    for number in 0..count {
        let mut random = Rng::with_seed(number);
        let seed = &seeds[random.usize(..seeds.len())];
        let _named = Named(&seed.name, number);
        let began = Instant::now();
        let of_plan = random.u8(..3) == 0;
        let mut text = if of_plan { seed.plan().to_owned() } else { seed.text.clone() };
        for _ in 0..random.usize(1..4) {
            text = changed(&text, &mut random);
        }
        let whole = if of_plan { plan_ends_well(&text, seed) } else { book_ends_well(&text, &mut random) };
        far[usize::from(of_plan)] += u64::from(whole);
        assert!(began.elapsed() < PATIENCE, "mutation {number} of {} took {:?}", seed.name, began.elapsed());
    }
    // Enough of them are still what they were made from.
    assert!(far[0] > count / 20 && far[1] > count / 20, "{far:?} of {count}");
}
