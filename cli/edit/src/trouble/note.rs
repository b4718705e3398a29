//! Of a note.

use yardless_book::When;
use yardless_book::half_day::{HalfDay, NotATime};

use super::topic::{Help, Topic};
use super::words::{Called, RANGE, all, did_you_mean};

/// What a note of a step can leave unsaid.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unsaid {
    /// The crew.
    Crew,
    /// The way.
    Way,
    /// The half-day in which it started.
    Start,
    /// The half-day in which it ended.
    End,
    /// The units that it holds.
    Units,
}

impl Unsaid {
    /// What it is.
    pub fn word(self) -> &'static str {
        match self {
            Self::Crew => "crew",
            Self::Way => "way",
            Self::Start => "start",
            Self::End => "end",
            Self::Units => "units",
        }
    }
    /// How a command says it.
    fn option(self) -> &'static str {
        match self {
            Self::Crew => "--crew CREW",
            Self::Way => "--way WAY",
            Self::Start => "--start HALF-DAY",
            Self::End => "--end HALF-DAY",
            Self::Units => "--units UNIT,UNIT",
        }
    }
}

/// Why a crew that was named cannot have helped.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum NotHelper {
    /// The book has no such crew.
    Unknown {
        /// As it was named.
        asked: String,
        /// What it was perhaps meant to be.
        near: Option<String>,
    },
    /// It is named twice.
    Twice(String),
    /// It does the step itself.
    Itself(String),
    /// It is not the shop's own.
    NotOwn(String),
}

impl NotHelper {
    fn says(&self) -> String {
        match self {
            Self::Unknown { asked, near } => format!("no crew `{asked}`{}", did_you_mean(near.as_ref())),
            Self::Twice(crew) => format!("`{crew}` is named twice"),
            Self::Itself(crew) => format!("`{crew}` does it and cannot help with it as well"),
            Self::NotOwn(crew) => format!("`{crew}` is not a crew of the shop's own"),
        }
    }
}

/// Why something cannot be noted.
#[derive(Clone, Debug, PartialEq)]
pub enum OfNote {
    /// There is no kept plan to take it from.
    NoPlan,
    /// Of a step something is known nowhere.
    Missing {
        /// The step, `job/step`.
        step: String,
        /// What.
        what: Vec<Unsaid>,
        /// The plan that does not have it either.
        plan: Option<Called>,
    },
    /// The plan has it still to come.
    Ahead {
        /// The step, `job/step`.
        step: String,
        /// The plan.
        plan: Option<Called>,
        /// What it has when.
        what: Vec<(Unsaid, HalfDay)>,
        /// The half-day now.
        now: HalfDay,
    },
    /// The plan has a step done as the book does not know it.
    UnknownWay {
        /// The plan.
        plan: Called,
        /// The step, `job/step`.
        step: String,
        /// The crew's id.
        crew: String,
        /// The way.
        way: String,
    },
    /// A step would have ended before it started.
    Order {
        /// The step, `job/step`.
        step: String,
        /// Its first half-day.
        start: HalfDay,
        /// Its last one.
        end: HalfDay,
    },
    /// Which units are parked at a job that begins is known nowhere.
    NotParked {
        /// The job.
        job: String,
        /// The kinds, and how many of each.
        kinds: Vec<(String, u32)>,
        /// Whether it was said that all went as planned, which names no units.
        as_planned: bool,
    },
    /// What was given is not parked at the job.
    ParkedOtherwise {
        /// The job.
        job: String,
        /// What was given: a kind and its units.
        given: (String, Vec<String>),
        /// The kinds that the job parks.
        kinds: Vec<String>,
    },
    /// Crews cannot have helped with a step.
    Helpers {
        /// The step, `job/step`.
        step: String,
        /// Each that cannot, one at least.
        faults: Vec<NotHelper>,
        /// The ids of those that can.
        known: Vec<String>,
    },
    /// More people are away than the crew has, or none.
    People {
        /// The crew.
        crew: String,
        /// How many are away.
        away: u32,
        /// How many it has.
        all: u32,
    },
    /// What is to be back is not out.
    NotOut {
        /// Its id.
        id: String,
        /// `out` or `away`.
        word: &'static str,
        /// From when on it is to be back.
        from: HalfDay,
        /// When it is out by the book.
        known: Vec<When>,
    },
    /// A range is none.
    Range(NotATime),
    /// A half-day is none.
    HalfDay(NotATime),
    /// Nothing is said.
    Silent,
    /// Nothing is said of something.
    SilentOf(String),
    /// There is no such thing to say.
    NoVerb(String),
    /// It is said otherwise.
    Form {
        /// The verb.
        verb: String,
        /// How it is said.
        form: String,
    },
    /// Options that mean nothing with what is said.
    Options {
        /// The options.
        options: Vec<&'static str>,
        /// The verb.
        verb: &'static str,
    },
}

const FORMS: &str = "write: JOB/STEP done, JOB/STEP left N, JOB/STEP again, UNIT at PLACE, THING at PLACE, THING in TRUCK, \
                     UNIT out RANGE, TRUCK out RANGE, CREW away RANGE, or UNIT back [HALF-DAY]; `yardless note --help` explains them";

impl Topic for OfNote {
    fn code(&self) -> &'static str {
        match self {
            Self::NoPlan | Self::Missing { .. } => "note::missing",
            Self::Ahead { .. } => "note::ahead",
            Self::UnknownWay { .. } => "note::plan",
            Self::Order { .. } => "note::order",
            Self::NotParked { .. } | Self::ParkedOtherwise { .. } => "note::parked",
            Self::Helpers { .. } => "note::with",
            Self::People { .. } => "note::people",
            Self::NotOut { .. } => "note::not-out",
            Self::Range(_) => "note::range",
            Self::HalfDay(_) => "note::half-day",
            Self::Silent | Self::SilentOf(_) | Self::NoVerb(_) | Self::Form { .. } => "note::words",
            Self::Options { .. } => "note::option",
        }
    }

    fn says(&self) -> String {
        match self {
            Self::NoPlan => "no plan was given out: no plan.json beside the book".to_owned(),
            Self::Missing { step, what, .. } => format!("of `{step}` it is not known: {}", words(what)),
            Self::Ahead { step, plan, what, now } => {
                let all: Vec<String> = what.iter().map(|(what, at)| format!("{} {at}", what.word())).collect();
                let plan = plan.as_ref().map_or_else(|| "the plan".to_owned(), Called::plan);
                format!("{plan} has `{step}` otherwise: {}, and it is {now} now", all.join(", "))
            }
            Self::UnknownWay { plan, step, crew, way } => format!(
                "{} has `{step}` done by `{crew}` in the way `{way}`, which the book does not know",
                plan.plan()
            ),
            Self::Order { step, start, end } => {
                format!("`{step}` would have ended on {end}, before it started on {start}")
            }
            Self::NotParked { job, .. } => {
                format!("the job `{job}` begins, and which units are parked there is not known")
            }
            Self::ParkedOtherwise { job, given: (kind, units), .. } => {
                let given = if units.is_empty() { kind.clone() } else { format!("{kind}={}", units.join(",")) };
                format!("`{given}` names no units parked at the job `{job}`")
            }
            Self::Helpers { step, faults, .. } => {
                let all: Vec<String> = faults.iter().map(NotHelper::says).collect();
                format!("who helps with `{step}`: {}", all.join("; "))
            }
            Self::People { crew, away, all } => format!("{away} people away, and the crew `{crew}` has {all}"),
            Self::NotOut { id, word, from, .. } => format!("by the book `{id}` is not {word} on {from} or later"),
            Self::Range(why) | Self::HalfDay(why) => why.to_string(),
            Self::Silent => "nothing is said".to_owned(),
            Self::SilentOf(what) => format!("nothing is said of `{what}`"),
            Self::NoVerb(verb) => format!("`{verb}` cannot be said of anything"),
            Self::Form { verb, form } => format!("`{verb}` is written: {form}"),
            Self::Options { options, verb } => format!("{} has no meaning with `{verb}`", options.join(", ")),
        }
    }

    fn help(&self) -> Help {
        match self {
            Self::NoPlan => Help::command("name the plan that the crews work by with --kept PLAN"),
            Self::Missing { what, plan, .. } => {
                let why = plan.as_ref().map_or_else(
                    || "no plan was given out (plan.json beside the book, or --kept PLAN)".to_owned(),
                    |plan| format!("{} does not have it", plan.plan()),
                );
                Help::command(format!("{why}: give {}", options(what)))
            }
            Self::Ahead { what, .. } => {
                let what: Vec<Unsaid> = what.iter().map(|(what, _)| *what).collect();
                Help::command(format!("say when it was: {}", options(&what)))
            }
            Self::UnknownWay { .. } => Help::plain("correct the book, or note the step by hand first"),
            Self::Order { .. } => Help::command("give --start HALF-DAY and --end HALF-DAY"),
            Self::NotParked { kinds, as_planned, .. } => not_parked(kinds, *as_planned),
            Self::ParkedOtherwise { kinds, .. } if kinds.is_empty() => Help::plain("it parks nothing"),
            Self::ParkedOtherwise { kinds, .. } => Help::plain(format!("it parks: {}", kinds.join(", "))),
            Self::Helpers { known, .. } => Help::plain(format!("who can help: {}", all(known))),
            Self::People { all, .. } => Help::command(format!("give --people 1 to {all}, or none for all")),
            Self::NotOut { word, known, .. } if known.is_empty() => Help::plain(format!("it is never {word}")),
            Self::NotOut { word, known, .. } => {
                let known: Vec<String> = known.iter().map(When::to_string).collect();
                Help::plain(format!("it is {word} {}", known.join(", ")))
            }
            Self::Range(_) => Help::plain(RANGE),
            Self::HalfDay(_) | Self::Silent | Self::SilentOf(_) | Self::NoVerb(_) | Self::Form { .. } => {
                Help::command(FORMS)
            }
            Self::Options { .. } => Help::command("leave it out; `yardless note --help` says what goes together"),
        }
    }
}

fn words(what: &[Unsaid]) -> String {
    what.iter().map(|what| what.word()).collect::<Vec<_>>().join(", ")
}

fn options(what: &[Unsaid]) -> String {
    what.iter().map(|what| what.option()).collect::<Vec<_>>().join(" ")
}

fn not_parked(kinds: &[(String, u32)], as_planned: bool) -> Help {
    let given =
        |(kind, count): &(String, u32)| format!("--parked \"{kind}={}\"", vec!["UNIT"; *count as usize].join(","));
    let given: Vec<String> = kinds.iter().map(given).collect();
    let given = given.join(" ");
    Help::command(if as_planned {
        format!("note one of its steps by hand first, with {given}")
    } else {
        format!("name them: {given}; or --kept PLAN")
    })
}
