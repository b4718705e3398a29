//! When a step is worked on, in words.

use yardless_check::fact::OfSpan;

use crate::names::Names;
use crate::obstacle::against;

pub(super) fn says(names: &Names, fact: &OfSpan) -> String {
    let half = |at| names.half(at);
    match fact {
        OfSpan::Between { step, start } => {
            format!("{} is between its spans, and the plan has it go on from {}", names.step(*step), half(*start))
        }
        OfSpan::NoSuch { step, span } => {
            format!("{} is done in span {span}; there is a first one, and may be a second", names.step(*step))
        }
        OfSpan::MayNot { step } => format!("{} is left and come back to, and may not be", names.step(*step)),
        OfSpan::NotBegun { step } => format!("{} is come back to without having been begun", names.step(*step)),
        OfSpan::AtOnce { step, start } => {
            format!("{} is come back to at once, on {}; that is no leaving", names.step(*step), half(*start))
        }
        OfSpan::Otherwise { step, crew, way, back_crew, back_way } => format!(
            "{} is begun by {} the way `{way}`, and come back to by {} the way `{back_way}`",
            names.step(*step),
            names.crew(*crew),
            names.crew(*back_crew)
        ),
        OfSpan::NothingBetween { step, end, start } => {
            let (end, start) = (half(*end), half(*start));
            format!("{} is left on {end} and come back to on {start}: no half-day lies between", names.step(*step))
        }
        OfSpan::NothingLeft { step, end } => {
            format!("{} is done by {}, and nothing is left to come back to", names.step(*step), half(*end))
        }
        OfSpan::EndsBeforeStart { step, start, end } => {
            format!("{} ends on {}, before it starts on {}", names.step(*step), half(*end), half(*start))
        }
        OfSpan::Outside { step, start, end } => {
            format!("{}, {} to {}, is not within the horizon", names.step(*step), half(*start), half(*end))
        }
        OfSpan::CannotStart { step, crew, start, obstacle } => {
            format!("{} cannot start on {}: {}", names.step(*step), half(*start), against(*obstacle, names.crew(*crew)))
        }
        OfSpan::CannotEnd { step, crew, end, obstacle } => {
            let why = against(*obstacle, names.crew(*crew));
            format!("{} cannot be worked on in its last half-day, {}: {why}", names.step(*step), half(*end))
        }
        OfSpan::OtherEnd { step, crew, start, is, said } => {
            let (crew, start) = (names.crew(*crew), half(*start));
            format!("{}, started by {crew} on {start}, ends on {}, not {}", names.step(*step), half(*is), half(*said))
        }
        OfSpan::NoEnd { step, crew, start } => {
            let (crew, start) = (names.crew(*crew), half(*start));
            format!("{}, started by {crew} on {start}, cannot end within the horizon", names.step(*step))
        }
    }
}
