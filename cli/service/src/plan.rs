//! Planning again, from beginning it to giving out what came of it.

pub mod making;
pub mod page;
pub mod went;
