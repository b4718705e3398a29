//! Of a question.

use chrono::NaiveDate;
use yardless_book::half_day::HalfDay;

use super::topic::{Cause, Help, Topic};
use super::words::{Called, ONE_JOB, all, did_you_mean, some};

/// What a question names by its id or name.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Noun {
    /// A job.
    Job,
    /// A place where units are wanted.
    Place,
    /// A kind of equipment.
    Kind,
    /// A crew.
    Crew,
    /// A thing.
    Thing,
}

impl Noun {
    fn word(self) -> &'static str {
        match self {
            Self::Job => "job",
            Self::Place => "place",
            Self::Kind => "kind",
            Self::Crew => "crew",
            Self::Thing => "thing",
        }
    }
}

/// Why a question is not answered.
#[derive(Clone, Debug, PartialEq)]
pub enum OfQuestion {
    /// What it names is not in the book.
    Unknown {
        /// What it names.
        noun: Noun,
        /// As it was asked.
        asked: String,
        /// What it was perhaps meant to be.
        near: Option<String>,
        /// The ids of the book.
        known: Vec<String>,
    },
    /// The plan has steps before now of which the book says nothing, and they cannot have gone as planned.
    NotNoted {
        /// The plan.
        plan: Called,
        /// The steps, `job/step`; none: it is not known which.
        steps: Vec<String>,
        /// The half-day now.
        until: HalfDay,
        /// Why they cannot have, in words.
        why: String,
    },
    /// The plan has steps begun that by the book have not.
    NotBegun {
        /// The plan.
        plan: Called,
        /// How many steps.
        steps: usize,
        /// The half-day now.
        now: HalfDay,
    },
    /// The plan does not hold any more.
    Breaks {
        /// The plan.
        plan: Called,
        /// What breaks first, as the judge says it.
        first: Option<String>,
    },
    /// The plan does not hold any more, so that what it says of equipment counts for nothing.
    FreeBreaks {
        /// The plan.
        plan: Called,
    },
    /// The plan found does not hold.
    FoundBreaks {
        /// What breaks first, as the judge says it.
        first: String,
    },
    /// More units are wanted than the book has.
    Count {
        /// How many.
        count: usize,
        /// The kind's name.
        kind: String,
        /// The units' names.
        owned: Vec<String>,
    },
    /// The half-day asked about lies outside the plan.
    Outside {
        /// The half-day.
        at: HalfDay,
        /// The plan's first date.
        first: NaiveDate,
        /// Its last one.
        last: NaiveDate,
    },
    /// The date asked about lies outside the plan.
    WeekOutside {
        /// The date.
        date: NaiveDate,
        /// The plan's first one.
        first: NaiveDate,
        /// Its last one.
        last: NaiveDate,
    },
    /// No job is named.
    NoJob,
    /// A job's file cannot be read.
    JobUnreadable {
        /// The file's name.
        name: String,
        /// What the machine says.
        why: String,
    },
    /// A job's file is not JSON.
    JobNotJson {
        /// The file's name.
        name: String,
        /// What the reader says.
        why: String,
    },
    /// A job's file cannot be put into the book.
    JobNotPut {
        /// The file's name.
        name: String,
    },
    /// There is no job in it.
    JobMissing,
    /// With the job the book has a fault.
    JobFaulty {
        /// The job.
        job: String,
    },
    /// The job is done, so that there is no date to offer.
    OfferDone {
        /// The job.
        job: String,
    },
    /// The job is done, so that nothing holds it.
    WhyDone {
        /// The job.
        job: String,
    },
    /// The book leaves nothing to chance.
    NoChance,
    /// The plan could not be run through seasons.
    NotRun,
    /// The book cannot be planned from now on.
    NotPlanned,
}

impl Topic for OfQuestion {
    fn code(&self) -> &'static str {
        match self {
            Self::Unknown { noun, .. } => match noun {
                Noun::Job => "ask::unknown-job",
                Noun::Place => "free::unknown-place",
                Noun::Kind => "free::unknown-kind",
                Noun::Crew => "week::unknown-crew",
                Noun::Thing => "where::unknown-thing",
            },
            Self::NotNoted { .. } => "plan::not-noted",
            Self::NotBegun { .. } => "plan::not-begun",
            Self::Breaks { .. } | Self::FreeBreaks { .. } | Self::FoundBreaks { .. } => "plan::breach",
            Self::Count { .. } => "free::count",
            Self::Outside { .. } => "free::now",
            Self::WeekOutside { .. } => "week::date",
            Self::NoJob => "usage::job",
            Self::JobUnreadable { .. } => "offer::unreadable",
            Self::JobNotJson { .. } => "offer::not-json",
            Self::JobNotPut { .. } | Self::JobMissing | Self::JobFaulty { .. } => "offer::job",
            Self::OfferDone { .. } => "offer::done",
            Self::WhyDone { .. } => "why::done",
            Self::NoChance => "chance::nothing",
            Self::NotRun => "chance::plan",
            Self::NotPlanned => "worth::book",
        }
    }

    fn cause(&self) -> Cause {
        match self {
            Self::Breaks { .. } | Self::FreeBreaks { .. } => Cause::DoesNotHold,
            Self::NotRun | Self::NotPlanned => Cause::OurFailure,
            _ => Cause::BadInput,
        }
    }

    fn says(&self) -> String {
        let does_not_hold = |plan: &Called, first: &str| {
            format!("{} does not hold by the book as it is now{first}, so nothing is answered from it", plan.plan())
        };
        match self {
            Self::Unknown { noun, asked, near, .. } => {
                format!("no {} `{asked}`{}", noun.word(), did_you_mean(near.as_ref()))
            }
            Self::NotNoted { plan, until, why, .. } => format!(
                "the book does not say how all went that {} has before {until}, and it cannot have gone as planned: {why}",
                plan.quoted()
            ),
            Self::NotBegun { plan, steps, now } => format!(
                "{steps} step{} of {} {} to have begun before {now}, and by the book {} not",
                if *steps == 1 { "" } else { "s" },
                plan.quoted(),
                if *steps == 1 { "was" } else { "were" },
                if *steps == 1 { "has" } else { "have" },
            ),
            Self::Breaks { plan, first } => {
                does_not_hold(plan, &first.as_ref().map_or_else(String::new, |first| format!(" ({first})")))
            }
            Self::FreeBreaks { plan } => does_not_hold(plan, ""),
            Self::FoundBreaks { first } => format!("the plan does not hold: {first}"),
            Self::Count { count, kind, owned } => {
                format!("{count} units of `{kind}` are never free together: the book has {}", owned.len())
            }
            Self::Outside { at, .. } => format!("{at} is outside the plan"),
            Self::WeekOutside { date, .. } => format!("{date} is outside the plan"),
            Self::NoJob => "no job is named".to_owned(),
            Self::JobUnreadable { name, why } => format!("the job `{name}` cannot be read: {why}"),
            Self::JobNotJson { name, why } => format!("`{name}` is not JSON: {why}"),
            Self::JobNotPut { name } => format!("`{name}` cannot be put into the book"),
            Self::JobMissing => "there is no job".to_owned(),
            Self::JobFaulty { job } => format!("the book with `{job}` has a fault"),
            Self::OfferDone { job } => format!("`{job}` is done: there is no date to offer"),
            Self::WhyDone { job } => format!("`{job}` is done: nothing holds it"),
            Self::NoChance => {
                "the book gives neither spread nor climate, so that there is no chance to work out".to_owned()
            }
            Self::NotRun => "the plan could not be run".to_owned(),
            Self::NotPlanned => "the book cannot be planned from now on".to_owned(),
        }
    }

    fn help(&self) -> Help {
        match self {
            Self::Unknown { noun: Noun::Place, known, .. } => {
                Help::command(format!("the book has {}; --now gives the half-day", all(known)))
            }
            Self::Unknown { known, .. } => Help::plain(format!("the book has {}", all(known))),
            Self::NotNoted { steps, until, .. } => Help::command(format!(
                "`yardless note JOB/STEP ...` says how each went{}, `yardless note --until \"{until}\"` that all went as \
                 planned after all",
                if steps.is_empty() { String::new() } else { format!(" ({})", some(steps)) }
            )),
            Self::NotBegun { .. } => Help::command(
                "`yardless replan --out PLAN` plans them again; where they have begun, `yardless note JOB/STEP ...` says so",
            ),
            Self::Breaks { .. } => {
                Help::command("note what has happened (`yardless note`), then `yardless replan --out PLAN`")
            }
            Self::FreeBreaks { plan } => Help::command(format!(
                "`yardless check {}` lists what breaks; plan again with `yardless plan --out {0}`",
                plan.bare()
            )),
            Self::FoundBreaks { .. } => Help::command("plan again with `yardless plan --out PLAN`"),
            Self::Count { owned, .. } => Help::plain(format!("ask for up to {}: {}", owned.len(), owned.join(", "))),
            Self::Outside { first, last, .. } | Self::WeekOutside { first, last, .. } => {
                Help::plain(format!("the plan covers {first} to {last}"))
            }
            Self::NoJob => Help::command("name a job of the book, or a file with --job FILE"),
            Self::JobUnreadable { .. } | Self::JobNotJson { .. } | Self::JobNotPut { .. } | Self::JobMissing => {
                Help::plain(ONE_JOB)
            }
            Self::JobFaulty { .. } => Help::command("`yardless plan` names it"),
            Self::OfferDone { .. } => Help::command("`yardless note JOB/STEP again` plans a step again"),
            Self::WhyDone { .. } => Help::plain("ask of another job"),
            Self::NoChance => Help::plain(
                "give steps a `spread`, or the book a `chance` with `low`, `high` and `climate` (RULES.md, S1 and S2)",
            ),
            Self::NotRun => Help::command("`yardless check` says whether it holds"),
            Self::NotPlanned => Help::plain("plan it again first"),
        }
    }
}
