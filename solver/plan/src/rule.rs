//! The planning rules by their numbers: the program states them, the judge finds them broken, the answers tell of them.

use std::fmt;

macro_rules! rules {
    ($($number:ident)*) => {
        /// A planning rule; printed as it is numbered there.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        #[allow(missing_docs)]
        pub enum Rule {
            $($number,)*
            /// The plan is one of its book and its horizon.
            Plan,
            /// The plan's cost is what it costs.
            Cost,
            /// The plan's bound and proof agree with its cost.
            Bound,
        }

        impl Rule {
            /// As it is printed: `W6`, `E2`; `plan`, `cost` and `bound` have no number.
            pub fn text(self) -> &'static str {
                match self {
                    $(Self::$number => stringify!($number),)*
                    Self::Plan => "plan",
                    Self::Cost => "cost",
                    Self::Bound => "bound",
                }
            }
        }
    };
}

rules! { W1 W2 W3 W4 W5 W6 W7 W8 W9 W10 W11 W12 W13 W14 W15 W16 E1 E2 E3 E4 E5 E6 H1 H2 H3 H4 H5 H6 H7 H8 C1 C2 C3 C4 C5 C6 C7 C8 C9 C10 C11 C12 C13 C14 C15 C16 C17 C18 N1 }

impl fmt::Display for Rule {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.text())
    }
}
