//! What is asked for on the command line.

use std::fmt;
use std::ops::Range;
use std::str::FromStr;

use yardless_book::half_day::MOST_WEEKS;

pub const USAGE: &str = "\
usage: cargo bench --profile dev -p yardless-solver --bench quality -- [SIZE...] [--seeds N] [--judge] [--seconds N] [--full] [--tight] [--peer] [--keep]
  SIZE         jobs/weeks/crews, such as 12/4/3; without any: 8/3/2 12/4/3 20/6/3 40/10/5 60/13/8
  --seeds N    books of each size, 1 to 1000 (10)
  --judge      other books than those that the planner may be tuned by: the seeds from 1000 on
  --seconds N  seconds a book, above 0 (60)
  --full       plan the same books with every field too
  --tight      plan tight books instead: few trucks, spots and half-days
  --peer       plan the same books with benches/peer too
  --keep       write the table to benches/runs";

/// Without any size on the command line.
const SIZES: [Size; 5] =
    [Size::new(8, 3, 2), Size::new(12, 4, 3), Size::new(20, 6, 3), Size::new(40, 10, 5), Size::new(60, 13, 8)];

/// How large a book is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Size {
    pub jobs: usize,
    pub weeks: u32,
    pub crews: usize,
}

impl Size {
    pub const fn new(jobs: usize, weeks: u32, crews: usize) -> Self {
        Self { jobs, weeks, crews }
    }
}

impl fmt::Display for Size {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}/{}/{}", self.jobs, self.weeks, self.crews)
    }
}

impl FromStr for Size {
    type Err = String;
    fn from_str(text: &str) -> Result<Self, String> {
        let numbers: Option<Vec<u32>> = text.split('/').map(|number| number.parse().ok()).collect();
        match numbers.as_deref() {
            Some(&[jobs, weeks, crews]) if jobs > 0 && crews > 0 && (1..=MOST_WEEKS).contains(&weeks) => {
                Ok(Self::new(jobs as usize, weeks, crews as usize))
            }
            _ => Err(format!("`{text}` is not understood: a size is jobs/weeks/crews, weeks up to {MOST_WEEKS}")),
        }
    }
}

/// From this seed on books are for judging only; nothing is tuned by them.
const JUDGED: u64 = 1000;

/// What the generated books say.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Books {
    /// Whether they have every field that came later; without, those of the first rules.
    pub full: bool,
    /// Whether trucks, spots and time are scarce.
    pub tight: bool,
}

impl fmt::Display for Books {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(if self.tight { "tight-" } else { "" })?;
        f.write_str(if self.full { "full" } else { "plain" })
    }
}

pub struct BenchArgs {
    pub sizes: Vec<Size>,
    /// Books of each size.
    pub seeds: u64,
    /// The seed of the first of them.
    pub first_seed: u64,
    /// Seconds a book.
    pub seconds: f64,
    /// Which books: tight ones or not, and with every field too or not.
    pub most: Books,
    pub peer: bool,
    pub keep: bool,
}

impl BenchArgs {
    pub fn read(words: &[String]) -> Result<Self, String> {
        let mut asked = Self {
            sizes: Vec::new(),
            seeds: 10,
            first_seed: 0,
            seconds: 60.0,
            most: Books { full: false, tight: false },
            peer: false,
            keep: false,
        };
        let mut words = words.iter();
        while let Some(word) = words.next() {
            match word.as_str() {
                "--seeds" => asked.seeds = number(word, words.next(), |seeds| (1..=1000).contains(seeds))?,
                "--seconds" => asked.seconds = number(word, words.next(), |n: &f64| *n > 0.0 && n.is_finite())?,
                "--judge" => asked.first_seed = JUDGED,
                "--full" => asked.most.full = true,
                "--tight" => asked.most.tight = true,
                "--peer" => asked.peer = true,
                "--keep" => asked.keep = true,
                option if option.starts_with('-') => return Err(format!("there is no option {option}")),
                size => asked.sizes.push(size.parse()?),
            }
        }
        if asked.sizes.is_empty() {
            asked.sizes = SIZES.to_vec();
        }
        Ok(asked)
    }

    /// Which books are planned, in their order.
    pub fn books(&self) -> impl Iterator<Item = Books> {
        let Books { full: most, tight } = self.most;
        [false, true].into_iter().filter(move |full| !full || most).map(move |full| Books { full, tight })
    }

    /// The seeds of the books.
    pub fn all_seeds(&self) -> Range<u64> {
        self.first_seed..self.first_seed + self.seeds
    }

    /// Whether they are for judging.
    pub fn judges(&self) -> bool {
        self.first_seed >= JUDGED
    }
}

fn number<N: FromStr>(option: &str, word: Option<&String>, allowed: impl Fn(&N) -> bool) -> Result<N, String> {
    let number = word.and_then(|word| word.parse().ok()).filter(allowed);
    number.ok_or_else(|| format!("{option} wants a number, not {}", word.map_or("nothing", |word| word)))
}
