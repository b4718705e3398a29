//! Facts of what has happened: N1, and W6 with what is done.

use yardless_book::half_day::HalfDay;
use yardless_plan::shop::{JobId, StepId};

use super::Field;

facts! {
    /// What is wrong with how a plan stands to what has happened.
    OfHistory {
        /// A step was done otherwise than the plan says. Told is what the book says.
        "done-otherwise" DoneOtherwise {
            /// The job.
            job: JobId,
            /// The id of the done step.
            done: String,
            /// The id of the crew.
            crew: String,
            /// Its start.
            start: HalfDay,
            /// Its end.
            end: HalfDay,
        }
        /// A step in progress goes on by another crew.
        "goes-on-by-another" OtherCrew {
            /// The step.
            step: StepId,
            /// The id of the crew that it is in progress by.
            was: String,
            /// The id of the crew that it goes on by.
            is: String,
        }
        /// A step in progress goes on with other helpers (W11).
        "goes-on-with-others" OtherHelpers {
            /// The step.
            step: StepId,
        }
        /// A step in progress goes on in another way.
        "goes-on-another-way" OtherWay {
            /// The step.
            step: StepId,
            /// The way that it is in progress.
            was: String,
            /// The way that it goes on.
            is: String,
        }
        /// A step in progress started in another half-day.
        "started-otherwise" OtherStart {
            /// The step.
            step: StepId,
            /// When it started.
            was: HalfDay,
            /// When it did as the plan says.
            said: HalfDay,
        }
        /// A step starts too soon or too late after one that is done (W6).
        "not-after-done" NotAfterDone {
            /// The step.
            step: StepId,
            /// When it starts.
            start: HalfDay,
            /// The job of the done step.
            job: JobId,
            /// The id of the done step.
            done: String,
            /// When that was done.
            ends: HalfDay,
        }
        /// A job has begun and is left out, and the rest of it fits into this plan.
        "rest-fits" RestFits {
            /// The job.
            job: JobId,
        }
    }
}
