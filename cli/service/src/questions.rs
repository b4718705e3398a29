//! Questions asked of the plan given out: when is it free, what date can I offer, why not sooner, what is one more worth.

pub mod answer;
pub mod ask;
pub mod page;
