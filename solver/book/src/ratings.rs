//! What units weigh, by the shop's own figures.

use super::Equipment;

/// A figure of a trailer that is not entered.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Lacking {
    /// What it weighs, loaded or empty.
    Weight,
    /// What is in it: its weight is at least what it weighs empty.
    Contents,
}

impl Equipment {
    /// What it weighs loaded, pounds, as far as that is entered: `weight_lb`, else what it weighs empty and what is in it. At
    /// least so much where something is lacking.
    pub fn loaded_lb(&self) -> u32 {
        match self.weight_lb {
            0 => self.empty_lb.unwrap_or(0).saturating_add(self.contents_lb.unwrap_or(0)),
            given => given,
        }
    }

    /// What is lacking to know what it weighs.
    pub fn lacking(&self) -> Option<Lacking> {
        match (self.weight_lb, self.empty_lb, self.contents_lb) {
            (0, None, _) => Some(Lacking::Weight),
            (0, Some(_), None) => Some(Lacking::Contents),
            _ => None,
        }
    }
}
