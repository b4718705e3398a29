//! A planned step, opened from the sheet: what it is and whom to call, what is told of it, where it is fixed, and what it
//! takes to have it elsewhere.

pub mod decided;
pub mod elsewhere;
pub mod fixed;
pub mod moving;
pub mod page;
pub mod planned;
pub mod tell;
