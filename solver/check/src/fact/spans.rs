//! Facts of when a step is worked on: W2, W3, W7 and W10.

use yardless_book::half_day::HalfDay;
use yardless_plan::shop::{CrewId, Obstacle, StepId};

use super::Field;

facts! {
    /// What is wrong with when a step is worked on.
    OfSpan {
        /// It is between its spans, and the plan has it go on.
        "between-spans" Between {
            /// The step.
            step: StepId,
            /// From when on.
            start: HalfDay,
        }
        /// There is a first span and may be a second, and no other.
        "no-such-span" NoSuch {
            /// The step.
            step: StepId,
            /// Which span is planned.
            span: u32,
        }
        /// It is left and come back to, and may not be.
        "may-not-split" MayNot {
            /// The step.
            step: StepId,
        }
        /// It is come back to without having been begun.
        "not-begun" NotBegun {
            /// The step.
            step: StepId,
        }
        /// It is come back to at once, which is no leaving.
        "at-once" AtOnce {
            /// The step.
            step: StepId,
            /// When.
            start: HalfDay,
        }
        /// It is begun by one crew or in one way, and come back to by or in another.
        "come-back-otherwise" Otherwise {
            /// The step.
            step: StepId,
            /// Who begins it.
            crew: CrewId,
            /// In which way.
            way: String,
            /// Who comes back to it.
            back_crew: CrewId,
            /// In which way.
            back_way: String,
        }
        /// No half-day lies between leaving it and coming back.
        "nothing-between" NothingBetween {
            /// The step.
            step: StepId,
            /// When it is left.
            end: HalfDay,
            /// When it is come back to.
            start: HalfDay,
        }
        /// It is done by then, and nothing is left to come back to.
        "nothing-left" NothingLeft {
            /// The step.
            step: StepId,
            /// When it would be left.
            end: HalfDay,
        }
        /// It ends before it starts.
        "ends-before-start" EndsBeforeStart {
            /// The step.
            step: StepId,
            /// When it starts.
            start: HalfDay,
            /// When it ends.
            end: HalfDay,
        }
        /// It is not within the horizon.
        "outside-horizon" Outside {
            /// The step.
            step: StepId,
            /// When it starts.
            start: HalfDay,
            /// When it ends.
            end: HalfDay,
        }
        /// It cannot be worked on when it starts.
        "cannot-start" CannotStart {
            /// The step.
            step: StepId,
            /// Who does it.
            crew: CrewId,
            /// When it starts.
            start: HalfDay,
            /// What stops it.
            obstacle: Obstacle,
        }
        /// It cannot be worked on in its last half-day.
        "cannot-end" CannotEnd {
            /// The step.
            step: StepId,
            /// Who does it.
            crew: CrewId,
            /// When it ends.
            end: HalfDay,
            /// What stops it.
            obstacle: Obstacle,
        }
        /// It ends in another half-day than the plan says.
        "other-end" OtherEnd {
            /// The step.
            step: StepId,
            /// Who does it.
            crew: CrewId,
            /// When it starts.
            start: HalfDay,
            /// When it ends.
            is: HalfDay,
            /// When it ends as the plan says.
            said: HalfDay,
        }
        /// It cannot end within the horizon.
        "no-end" NoEnd {
            /// The step.
            step: StepId,
            /// Who does it.
            crew: CrewId,
            /// When it starts.
            start: HalfDay,
        }
    }
}
