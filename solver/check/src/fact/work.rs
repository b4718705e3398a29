//! Facts of jobs and steps: W1, W4 to W6, W8, W9, W11 to W14 and W16.

use yardless_book::half_day::HalfDay;
use yardless_plan::shop::{CrewId, JobId, StepId};

use super::Field;

facts! {
    /// What is wrong with whether a job is done (W1).
    OfJob {
        /// It is listed more than once as left out or later.
        "listed-twice" ListedTwice {
            /// The job.
            job: JobId,
        }
        /// It cannot begin within the horizon, and is not listed as later.
        "not-listed-later" NotListedLater {
            /// The job.
            job: JobId,
        }
        /// It is listed as later, and could begin within the horizon.
        "listed-later" ListedLater {
            /// The job.
            job: JobId,
        }
        /// It is listed as not done, and all its steps are.
        "listed-and-over" ListedAndOver {
            /// The job.
            job: JobId,
        }
        /// It is listed as not done, and has steps in the plan.
        "listed-and-planned" ListedAndPlanned {
            /// The job.
            job: JobId,
        }
        /// It cannot begin within the horizon, and has steps in the plan.
        "later-and-planned" LaterAndPlanned {
            /// The job.
            job: JobId,
        }
        /// It is done without one of its steps.
        "without-step" WithoutStep {
            /// The step.
            step: StepId,
        }
        /// It is neither done nor left out.
        "neither" Neither {
            /// The job.
            job: JobId,
        }
    }
}

facts! {
    /// What is wrong with whether a step of a job planned in part is later (W12).
    OfLater {
        /// It is planned, and is later: it cannot end within the horizon.
        "later-step-planned" Planned {
            /// The step.
            step: StepId,
        }
        /// It is listed as later, and is not, or its job is not done.
        "listed-later-step" Listed {
            /// The step.
            step: StepId,
        }
        /// It is listed as later, and is done.
        "listed-later-done" ListedDone {
            /// The job.
            job: JobId,
            /// The step's id.
            done: String,
        }
        /// It is later, and not listed so.
        "not-listed-later-step" NotListed {
            /// The step.
            step: StepId,
        }
    }
}

facts! {
    /// What is wrong with how a step is done.
    OfWork {
        /// It is planned more than once.
        "planned-twice" Twice {
            /// The step.
            step: StepId,
        }
        /// It has no such way.
        "unknown-way" NoWay {
            /// The step.
            step: StepId,
            /// The way's id, as it is written.
            way: String,
        }
        /// It is done in overtime, and no half-day may be (W9).
        "no-overtime" NoOvertime {
            /// The step.
            step: StepId,
        }
        /// The crew has not the skill that it takes (W5).
        "no-skill" NoSkill {
            /// The step.
            step: StepId,
            /// The crew.
            crew: CrewId,
        }
        /// It is fixed for another crew (W8).
        "fixed-crew" FixedCrew {
            /// The step.
            step: StepId,
            /// Whom it is fixed for.
            fixed: CrewId,
            /// Who does it.
            crew: CrewId,
        }
        /// It is fixed to be done another way (W8).
        "fixed-way" FixedWay {
            /// The step.
            step: StepId,
            /// The way that is fixed.
            fixed: String,
            /// The way in which it is done.
            way: String,
        }
        /// It is fixed to start in another half-day (W8).
        "fixed-start" FixedStart {
            /// The step.
            step: StepId,
            /// The half-day that is fixed.
            fixed: HalfDay,
            /// When it starts.
            start: HalfDay,
        }
        /// A crew works on two steps in a half-day (W4).
        "two-at-once" TwoAtOnce {
            /// The crew.
            crew: CrewId,
            /// The one step.
            step: StepId,
            /// The other.
            other: StepId,
            /// The half-day, the first of which that is so.
            at: HalfDay,
        }
        /// A crew works on more steps in a half-day than it may (W13).
        "too-many-at-once" TooManyAtOnce {
            /// The crew.
            crew: CrewId,
            /// The step that is one too many.
            step: StepId,
            /// The half-day, the first of which that is so.
            at: HalfDay,
            /// The most that it works on.
            most: u64,
        }
        /// A crew's stops take longer than its half-day (W16).
        "stops-too-long" StopsTooLong {
            /// The crew.
            crew: CrewId,
            /// The stop that is one too many.
            step: StepId,
            /// The half-day, the first of which that is so.
            at: HalfDay,
            /// How long they take together, in minutes rounded up.
            minutes: u64,
        }
        /// A crew works at two places of a date between which the drive at noon is too long (C15).
        "too-far-at-noon" TooFarAtNoon {
            /// The crew.
            crew: CrewId,
            /// The date's am.
            at: HalfDay,
        }
        /// A crew's round of a date has a drive that is not known (C15).
        "cannot-drive" CannotDrive {
            /// The crew.
            crew: CrewId,
            /// The date's am.
            at: HalfDay,
        }
        /// More crews help than may (W11).
        "too-many-helpers" TooManyHelpers {
            /// The step.
            step: StepId,
            /// The most that may.
            most: u64,
            /// How many do.
            are: u64,
        }
        /// A crew is named twice for it (W11).
        "helper-twice" HelperTwice {
            /// The step.
            step: StepId,
            /// The crew.
            crew: CrewId,
        }
        /// A crew that is not the shop's own helps or is helped (W11).
        "helper-not-own" HelperNotOwn {
            /// The step.
            step: StepId,
            /// The crew.
            crew: CrewId,
        }
        /// A helper has nobody there in any half-day in which it is worked on (W11).
        "helper-never-there" HelperNeverThere {
            /// The step.
            step: StepId,
            /// The helper.
            crew: CrewId,
        }
        /// It is begun with some helpers, and come back to with others (W11).
        "other-helpers" OtherHelpers {
            /// The step.
            step: StepId,
        }
        /// It starts before the date on which what it waits on is expected (W14).
        "before-expected" BeforeExpected {
            /// The step.
            step: StepId,
            /// When it starts.
            start: HalfDay,
            /// What it waits on.
            what: String,
            /// From when it is expected.
            expected: HalfDay,
        }
        /// It starts, and nobody knows when what it waits on comes (W14).
        "no-date" Undated {
            /// The step.
            step: StepId,
            /// What it waits on.
            what: String,
        }
        /// What it comes after is not done (W6).
        "before-not-done" BeforeNotDone {
            /// The step.
            step: StepId,
            /// What it comes after.
            before: StepId,
        }
        /// It starts too soon after what it comes after (W6).
        "too-soon" TooSoon {
            /// The step.
            step: StepId,
            /// When it starts.
            start: HalfDay,
            /// What it comes after.
            before: StepId,
            /// When that ends.
            ends: HalfDay,
            /// How many half-days lie between at least.
            wait: u64,
        }
        /// It starts too late after what it comes after (W6).
        "too-late" TooLate {
            /// The step.
            step: StepId,
            /// When it starts.
            start: HalfDay,
            /// What it comes after.
            before: StepId,
            /// When that ends.
            ends: HalfDay,
            /// How many half-days lie between at most.
            within: u64,
        }
    }
}
