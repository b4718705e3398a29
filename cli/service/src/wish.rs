//! A caller's wish: asked in one form without a job, answered by dates, and made a job with the date that is taken.

pub mod made;
pub mod page;
pub mod take;
