//! The works of the drawing: a strip each, in its place's row.

use std::collections::BTreeSet;
use std::fmt::Write;

use yardless_plan::shop::{CrewId, Id, Table};

use super::super::course::{Course, Novelty, Work};
use super::super::words::{BROKEN, span};
use super::hauls::Crossing;
use super::labels::{Face, Label, fit, held, width, wrapped};
use super::lanes::lanes;
use super::{Band, Columns, Sizes};

/// How words in a strip are set.
const SIZE: f32 = 12.0;
/// Less than that is no room for words, and that much is enough to read on from.
const LEAST: i32 = 22;
const ROOMY: i32 = 70;

/// A work.
#[derive(Clone, Debug)]
pub struct Strip {
    /// Its number among the plan's works, dropped ones after all others.
    pub number: usize,
    /// Its left edge.
    pub x: i32,
    /// Its upper edge.
    pub y: i32,
    /// Its width.
    pub width: i32,
    /// Its height.
    pub height: i32,
    /// Its outline, open to the side on which the work goes on.
    pub outline: String,
    /// Its solid left edge; empty: it was begun before.
    pub edge: String,
    /// The number of its crew, from 0: what colour goes by.
    pub crew: usize,
    /// Who does it.
    pub who: String,
    /// What is done.
    pub what: String,
    /// The job that it is of.
    pub job: String,
    /// The job's id, and the step's.
    pub ids: (String, String),
    /// When: `Mon 7 Dec am to Tue 8 Dec pm`.
    pub when: String,
    /// What is written in it, as far as there is room.
    pub lines: Vec<Line>,
    /// Where it waits.
    pub waits: Vec<Wait>,
    /// Against the plan given out: `moved`, `new`, `dropped`; none: as told, or nothing is laid beside it.
    pub mark: Option<&'static str>,
    /// Whether something that does not hold any more is about it.
    pub broken: bool,
}

/// A stretch in which a work waits.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Wait {
    /// Its left edge.
    pub x: i32,
    /// Its width.
    pub width: i32,
    /// The foot of its words: under those of the work, where they stand in it.
    pub y: i32,
    /// Why.
    pub why: &'static str,
    /// The words for that which fit.
    pub says: Option<Label>,
}

/// A line of words.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Line {
    /// Its left end.
    pub x: i32,
    /// Its foot.
    pub y: i32,
    /// Who, in bold.
    pub who: String,
    /// What.
    pub what: String,
    /// How long it is made, where it would be longer or fills its room.
    pub length: Option<i32>,
}

impl Line {
    /// What holds it to its length, as attributes of its element.
    pub fn held(&self) -> String {
        held(self.length)
    }
}

impl Strip {
    /// What it is, for who cannot see it: first the words as they are seen, where they are shortened.
    pub fn spoken(&self) -> String {
        let waits = self.waits.iter().map(|of| of.says.as_ref().map_or(of.why, |label| label.text.as_str()));
        let words = self.lines.iter().flat_map(|line| [line.who.as_str(), line.what.as_str()]);
        let seen = words.filter(|word| !word.is_empty()).chain(waits.clone()).collect::<Vec<_>>().join(" ");
        let who = format!("{}{} {}", self.sign(), self.who, self.what);
        let whole = [who.as_str()].into_iter().chain(waits).collect::<Vec<_>>().join(" ");
        let seen = if whole.starts_with(&seen) { String::new() } else { seen + "; " };
        let broken = if self.broken { format!(", {BROKEN}") } else { String::new() };
        format!("{seen}{whole}, {}, {}{broken}", self.job, self.when)
    }

    /// The sign before its words, as on the printed sheet.
    pub fn sign(&self) -> &'static str {
        match self.mark {
            _ if self.broken => "! ",
            Some("moved") => "* ",
            Some("new") => "+ ",
            Some(_) => "- ",
            None => "",
        }
    }
}

/// What strips are laid out by.
pub(super) struct Layout<'a> {
    pub(super) course: &'a Course<'a>,
    pub(super) columns: &'a Columns,
    pub(super) sizes: Sizes,
    pub(super) letters: &'a Table<CrewId, String>,
    pub(super) crossings: &'a [Crossing],
}

impl Layout<'_> {
    /// The strips of a row.
    pub(super) fn of_band(&self, band: &Band) -> Vec<Strip> {
        let lanes = lanes(self.course, self.columns, band.place);
        let works = || self.course.works.iter().chain(&self.course.dropped.works);
        let jobs: BTreeSet<_> = lanes.iter().flatten().filter_map(|n| works().nth(*n)).map(|work| work.job).collect();
        let all = lanes.into_iter().enumerate().flat_map(|(lane, works)| works.into_iter().map(move |n| (lane, n)));
        all.filter_map(|(lane, n)| {
            let y = band.top + lane as i32 * self.sizes.strip;
            self.strip(n, works().nth(n)?, y, jobs.len() > 1)
        })
        .collect()
    }

    fn strip(&self, n: usize, work: &Work, y: i32, named: bool) -> Option<Strip> {
        let shop = self.course.shop;
        let (x, width) = self.columns.span(work.start, work.end)?;
        let height = self.sizes.strip - 4;
        let dropped = n >= self.course.works.len();
        let mark = match work.mark {
            _ if dropped => Some("dropped"),
            Some(Novelty::Moved) => Some("moved"),
            Some(Novelty::New) => Some("new"),
            None => None,
        };
        let (outline, edge) = self.outline(work, (x, y, width, height));
        let way = &shop.steps[work.step].ways;
        let name = work.name(shop);
        let mut strip = Strip {
            number: n,
            x,
            y,
            width,
            height,
            outline,
            edge,
            crew: work.team.crew.index(),
            who: work.who(shop),
            what: if way.len() > 1 { format!("{name} ({})", way[work.way].id) } else { name },
            job: shop.jobs[work.job].name.clone(),
            ids: (shop.jobs[work.job].id.clone(), shop.steps[work.step].id.clone()),
            when: span(shop.horizon.half_day(work.start), shop.horizon.half_day(work.end)),
            lines: Vec::new(),
            waits: if dropped { Vec::new() } else { self.waits(work, (y, height)) },
            mark,
            broken: work.broken,
        };
        let letter: Vec<&str> = work.team.crews().map(|crew| self.letters[crew].as_str()).collect();
        strip.lines = self.words(&strip, &letter.join("+"), named);
        let of_work = strip.lines.first().map(|line| line.x);
        for wait in &mut strip.waits {
            if of_work.is_some_and(|x| (wait.x..wait.x + wait.width).contains(&x)) {
                wait.y = y + height - 6;
            }
        }
        Some(strip)
    }

    /// The outline and the solid edge of a box, open where the work goes over the drawn half-days.
    fn outline(&self, work: &Work, (x, y, width, height): (i32, i32, i32, i32)) -> (String, String) {
        let shown = &self.columns.shown;
        let before = shown.first().is_some_and(|first| work.start < *first);
        let after = shown.last().is_some_and(|last| work.end > *last);
        let (point, middle) = (self.sizes.edge + 2, height / 2);
        let mut outline = format!("M{x} {y}");
        if after {
            let _ = write!(outline, "h{}l{point} {middle}l-{point} {}", width - point, height - middle);
        } else {
            let _ = write!(outline, "h{width}v{height}");
        }
        let _ = write!(outline, "H{x}");
        if before {
            let _ = write!(outline, "l{point} -{}", height - middle);
        }
        let edge =
            if before { String::new() } else { format!("M{x} {y}h{}v{height}h-{}Z", self.sizes.edge, self.sizes.edge) };
        (outline + "Z", edge)
    }

    /// The widest part of a strip that no haul crosses and in which it does not wait, but the first one that has room.
    fn room(&self, strip: &Strip) -> (i32, i32) {
        let (left, right) = (strip.x + self.sizes.edge + 4, strip.x + strip.width - 4);
        let crossed = self.crossings.iter().filter(|of| of.meets(left, right, strip.y, strip.y + strip.height));
        let mut taken: Vec<(i32, i32)> = crossed.map(|of| (of.from.0 - 2, of.from.0 + 6)).collect();
        taken.extend(strip.waits.iter().map(|of| (of.x, of.x + of.width)));
        taken.sort_unstable();
        let mut free: Vec<(i32, i32)> = Vec::new();
        let mut from = left;
        for (begins, ends) in taken.into_iter().chain([(right, right)]) {
            if begins > from {
                free.push((from, begins));
            }
            from = from.max(ends);
        }
        let roomy = free.iter().copied().find(|(from, to)| to - from >= ROOMY);
        roomy.or_else(|| free.into_iter().max_by_key(|(from, to)| to - from)).unwrap_or((left, left))
    }

    /// Who and what on two lines, as well as it fits; the letter alone in a short strip.
    fn words(&self, strip: &Strip, letter: &str, named: bool) -> Vec<Line> {
        let (left, right) = self.room(strip);
        let room = right - left;
        let who = format!("{}{}", strip.sign(), strip.who);
        let letter = format!("{}{letter}", strip.sign());
        let wide = |text: &str| width(text, Face::Bold, SIZE).ceil() as i32;
        let (first, second) = (strip.y + 13, strip.y + strip.height - 5);
        let line = |y: i32, who: &str, what: Label, before: i32| Line {
            x: left,
            y,
            who: who.to_owned(),
            what: what.text,
            length: what.length.map(|length| length + before),
        };
        // Held to its length as all words are: another font may be wider.
        let alone = |y: i32, who: &str| {
            let length = fit(&[who], Face::Bold, SIZE, room).and_then(|label| label.length);
            line(y, who, Label { text: String::new(), length }, 0)
        };
        if !self.columns.scale.words || room < LEAST {
            return self.letter_alone(strip, &letter).into_iter().collect();
        }
        let beside = |who: &str, texts: &[&str]| {
            let before = wide(who) + 4;
            fit(texts, Face::Sans, SIZE, room - before).map(|what| line(first, who, what, before))
        };
        let what = |texts: &[&str]| fit(texts, Face::Sans, SIZE, room).map(|what| line(second, "", what, 0));
        if named {
            let job = [strip.job.as_str()];
            let whole = beside(&who, &job).filter(|line| line.what == strip.job);
            return whole.or_else(|| beside(&letter, &job)).into_iter().chain(what(&[&strip.what])).collect();
        }
        let fits = wide(&who) <= room;
        let whole = what(&[&strip.what]).filter(|line| fits && line.what == strip.what);
        if let Some(second) = whole {
            return vec![alone(first, &who), second];
        }
        let before = wide(&letter) + 4;
        if let Some((begun, rest)) = wrapped(&strip.what, Face::Sans, SIZE, room - before, room)
            && !rest.text.ends_with('…')
        {
            return vec![line(first, &letter, begun, before), line(second, "", rest, 0)];
        }
        let head = alone(first, if fits { &who } else { &letter });
        std::iter::once(head).chain(what(&[&strip.what])).collect()
    }

    /// The letter in a short strip, beside what crosses its left end.
    fn letter_alone(&self, strip: &Strip, letter: &str) -> Option<Line> {
        let edge = strip.x + self.sizes.edge + 1;
        let crossed = self.crossings.iter().any(|of| of.meets(strip.x, edge + 4, strip.y, strip.y + strip.height));
        let x = if crossed && strip.width > 16 { edge + 5 } else { edge };
        // Where it waits all the time, the words for that stand under it.
        let waits = self.columns.scale.words && strip.waits.iter().any(|of| of.x <= x && x < of.x + of.width);
        let y = strip.y + if waits { 14 } else { strip.height / 2 + 4 };
        let x = if waits { x + 2 } else { x };
        let Label { text: who, length } = fit(&[letter], Face::Bold, self.sizes.letter, strip.x + strip.width - x)?;
        Some(Line { x, y, who, what: String::new(), length })
    }

    /// The half-days in which a work waits, each stretch once.
    fn waits(&self, work: &Work, (y, height): (i32, i32)) -> Vec<Wait> {
        let course = self.course;
        let mut waits: Vec<(usize, usize, &'static str)> = Vec::new();
        for (c, h) in self.columns.shown.iter().copied().enumerate() {
            let pauses = (work.start..=work.end).contains(&h) && h >= course.shop.now && !work.works_at(course.shop, h);
            if !pauses {
                continue;
            }
            let why = work.waits_for(course.shop, h);
            match waits.last_mut() {
                Some((_, last, same)) if *same == why && *last + 1 == c => *last = c,
                _ => waits.push((c, c, why)),
            }
        }
        let drawn = |(first, last, why): (usize, usize, &'static str)| {
            let (x, right) = (self.columns.left(first), self.columns.right(last));
            let says = if self.columns.scale.words {
                fit(&[&format!("waits: {why}"), why, "waits"], Face::Sans, 11.0, right - x - 10)
            } else {
                None
            };
            Wait { x, width: right - x, y: y + height / 2 + 4, why, says }
        };
        waits.into_iter().map(drawn).collect()
    }
}
