//! Facts of what a plan says that it costs: C1 to C18, the cost and the bound.

use yardless_book::money::Cents;

use super::Field;

facts! {
    /// What a plan says wrongly of its cost.
    OfCost {
        /// A term is another one; the rule says which.
        "other-term" Term {
            /// As the plan says.
            said: Cents,
            /// As it is.
            is: Cents,
        }
        /// The cost is another one.
        "other-cost" Cost {
            /// As the plan says.
            said: Cents,
            /// As it is.
            is: Cents,
        }
        /// The bound is above the cost.
        "bound-above-cost" Above {
            /// The bound.
            bound: Cents,
            /// The cost, as the plan says.
            cost: Cents,
        }
        /// It is said to be proven best, and its bound is not its cost.
        "proven-apart" Apart {
            /// The bound; `None`: it has none.
            bound: Option<Cents>,
            /// The cost, as the plan says.
            cost: Cents,
        }
    }
}
