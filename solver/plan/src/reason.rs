//! Why a plan leaves a job out: the reason as a fact, and the sentence that the plan keeps of it.

use yardless_book::half_day::HalfDay;
use yardless_book::money::Cents;
use yardless_book::{Place, visible};

use crate::shop::{Id, JobId, PlaceId, Shop, StepId, Want};

/// Why a plan leaves a job out.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum LeftOut {
    /// No plan can do it.
    Impossible(Impossible),
    /// It comes after a job that is left out.
    After(JobId),
    /// It has begun, and no way was found to end it.
    Begun,
    /// It is proven to cost no more so.
    Proven {
        /// What leaving it out costs.
        left_out: Cents,
        /// What it would cost by itself; `None`: no way was found to do it.
        alone: Option<Cents>,
    },
    /// It was not planned in the time given, and nothing proves that it cannot be.
    NotFound {
        /// What leaving it out costs.
        left_out: Cents,
        /// What it would cost by itself; `None`: no way was found to do it.
        alone: Option<Cents>,
    },
    /// It is not in the plan given out.
    NotGivenOut,
}

/// Why no plan of a horizon does a job.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Impossible {
    /// Its earliest date is after the horizon.
    Later,
    /// It comes after a job that cannot begin within the horizon.
    AfterLater(JobId),
    /// It comes after a step of another job that is later (W12).
    AfterLaterStep(StepId),
    /// It comes after a job that cannot be done.
    After(JobId),
    /// A step is fixed to start outside the horizon.
    FixedOutside(StepId, HalfDay),
    /// A step cannot end within the horizon if it starts when it is fixed to.
    FixedTooLate(StepId, HalfDay),
    /// Nobody knows when what a step waits on comes (W14).
    Undated(StepId),
    /// What a step waits on is expected too late for it to end within the horizon (W14).
    ExpectedTooLate(StepId, HalfDay),
    /// No crew with the skill can finish a step.
    NoCrew(StepId),
    /// No crew that could do it can drive there from its home (C15).
    NoWayFromHome(StepId),
    /// A step takes so many trailers at once, and fewer may stand there.
    Spots {
        /// The step.
        step: StepId,
        /// How many trailers.
        trailers: usize,
        /// How many may stand there.
        spots: usize,
    },
    /// A unit is wanted that cannot be had.
    Lacks {
        /// What it is wanted for.
        by: By,
        /// What is wanted.
        want: Want,
        /// Why it cannot be had.
        why: Lack,
    },
}

/// What a unit is wanted for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum By {
    /// To be parked at the job.
    Parked,
    /// For a step.
    Step(StepId),
    /// For a step at a place without power.
    Dark(StepId),
}

/// Why a unit cannot be had at a place.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Lack {
    /// The shop has fewer than are wanted.
    Few {
        /// How many are wanted.
        wanted: usize,
        /// How many the shop has.
        has: usize,
    },
    /// No drive leads to the place from anywhere (H6).
    CutOff(PlaceId),
    /// No drive to the place is known from where the units are (H6).
    NoDrive {
        /// The place.
        to: PlaceId,
        /// Where the units are.
        from: Vec<PlaceId>,
    },
    /// No truck is strong enough, or may take it by its ratings (H4, H7).
    TooHeavy(PlaceId),
    /// Every truck that may take it weighs too much with it for what is posted on its way to the place (H8).
    Posted(PlaceId),
    /// No road to the place is open to it, or no truck can take it (H2, H4).
    NoRoad(PlaceId),
}

impl LeftOut {
    /// The reason in a sentence, as a plan keeps it.
    pub fn says(&self, shop: &Shop) -> String {
        match self {
            Self::Impossible(why) => format!("no plan can do it: {}", why.says(shop)),
            Self::After(other) => format!("it comes after {}, which is left out", shop.jobs[*other].name),
            Self::Begun => {
                "it has begun, and no way was found to end it within these weeks: its units stay with it".to_owned()
            }
            Self::Proven { left_out, alone: Some(cost) } => format!(
                "leaving it out (${left_out}) is proven to cost no more than doing it: by itself it would cost ${cost}, and \
                 the crews and equipment it wants are better used elsewhere"
            ),
            Self::Proven { left_out, alone: None } => {
                format!("leaving it out (${left_out}) is proven to cost no more than doing it")
            }
            Self::NotFound { left_out, alone: Some(cost) } => format!(
                "not planned in the time given: by itself it would cost ${cost}, left out it costs ${left_out}, and \
                 nothing proves that it cannot be done beside the rest"
            ),
            Self::NotFound { left_out, alone: None } => format!(
                "not planned in the time given: no way was found to do it for less than leaving it out costs (${left_out}), \
                 and nothing proves that there is none"
            ),
            Self::NotGivenOut => "it is not in the plan given out".to_owned(),
        }
    }
}

impl Impossible {
    /// The reason in a clause, half-days as in the book.
    pub fn says(&self, shop: &Shop) -> String {
        self.says_with(shop, |half_day| half_day.to_string())
    }

    /// The same, half-days written in another way.
    pub fn says_with(&self, shop: &Shop, written: impl Fn(HalfDay) -> String) -> String {
        match self {
            Self::Later => {
                "it may not begin before its earliest date, or what it waits on, which is after them".to_owned()
            }
            Self::AfterLater(other) => {
                format!("it comes after {}, which is not begun within these weeks", shop.jobs[*other].name)
            }
            Self::AfterLaterStep(step) => {
                let facts = &shop.steps[*step];
                format!("it comes after {} of {}, which comes after these weeks", facts.name, shop.jobs[facts.job].name)
            }
            Self::After(other) => format!("it comes after {}, which cannot be done", shop.jobs[*other].name),
            Self::FixedOutside(step, start) => {
                let start = written(*start);
                format!("{} is fixed to start on {start}, outside these weeks", shop.steps[*step].name)
            }
            Self::FixedTooLate(step, start) => {
                let start = written(*start);
                format!("{}, fixed to start on {start}, cannot end within these weeks", shop.steps[*step].name)
            }
            Self::Undated(step) => {
                let facts = &shop.steps[*step];
                let job = &shop.book.jobs[facts.job.index()];
                let waits = job.steps[facts.listed].waits_on.iter().chain(&job.waits_on);
                let what = waits.filter(|wait| wait.expected.is_none()).map(|wait| visible(&wait.what)).next();
                format!(
                    "{} waits on {}, for which no date is known",
                    facts.name,
                    what.unwrap_or_else(|| "something".to_owned())
                )
            }
            Self::ExpectedTooLate(step, expected) => {
                let name = &shop.steps[*step].name;
                format!(
                    "{name} waits on something that is expected on {}, too late to end within these weeks",
                    written(*expected)
                )
            }
            Self::NoCrew(step) => {
                let facts = &shop.steps[*step];
                format!(
                    "no crew with the skill {} can finish {} within these weeks: too few people, no access or the weather",
                    facts.skill, facts.name
                )
            }
            Self::NoWayFromHome(step) => {
                let facts = &shop.steps[*step];
                let place = &shop.places[shop.jobs[facts.job].place].name;
                format!("no crew that can do {} can drive to {place}: no drive is known from its home", facts.name)
            }
            Self::Spots { step, trailers, spots } => {
                let facts = &shop.steps[*step];
                let place = &shop.places[shop.jobs[facts.job].place].name;
                format!("{} takes {trailers} trailers at once at {place}, and {spots} may stand there", facts.name)
            }
            Self::Lacks { by, want, why } => lacks(shop, *by, *want, why),
        }
    }
}

fn lacks(shop: &Shop, by: By, want: Want, why: &Lack) -> String {
    let by = match by {
        By::Parked => "to be parked there".to_owned(),
        By::Step(step) => format!("for {}", shop.steps[step].name),
        By::Dark(step) => format!("for {}, without power there", shop.steps[step].name),
    };
    let what = match want {
        Want::Kind(kind) => shop.kinds[kind].name.as_str(),
        Want::Power => "unit that gives power",
        Want::Unit(unit) => shop.units[unit].name.as_str(),
    };
    let name = |place: PlaceId| shop.places[place].name.as_str();
    let why = match why {
        Lack::Few { wanted, has } => {
            return format!("{by} {wanted} of kind {what} are wanted, and the shop has {has}");
        }
        Lack::CutOff(place) => nothing_hauled(&[&shop.book.places[place.index()]]),
        Lack::NoDrive { to, from } => {
            let from: Vec<&str> = from.iter().map(|from| name(*from)).collect();
            format!("none can be brought to {}: no drive is known from {}", name(*to), from.join(", "))
        }
        Lack::TooHeavy(place) => {
            let why =
                if shop.rated() { "no truck may take it by the figures entered" } else { "no truck is strong enough" };
            format!("none can be brought to {}: {why}", name(*place))
        }
        Lack::Posted(place) => format!(
            "none can be brought to {}: every truck that may take it weighs too much with it for the weight posted on its way",
            name(*place)
        ),
        Lack::NoRoad(place) => {
            format!("none can be brought to {}: no road there is open to it, or no truck can take it", name(*place))
        }
    };
    format!("{by} a {what} is wanted, and {why}")
}

/// That nothing can be hauled to places which no drive leads to ([`Book::cut_off`](yardless_book::Book::cut_off)), and why.
pub fn nothing_hauled(places: &[&Place]) -> String {
    let names: Vec<&str> = places.iter().map(|place| place.printed()).collect();
    let (it, has) = if places.len() == 1 { ("it", "has") } else { ("they", "have") };
    let lacks = if places.iter().any(|place| place.at.is_some()) {
        "no drive minutes, and no other place has coordinates"
    } else {
        "neither drive minutes nor coordinates"
    };
    format!("nothing can be hauled to {}: {it} {has} {lacks}", names.join(", "))
}
