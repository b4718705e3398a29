//! What a request is: where it comes from, who sends it, and what is in it.

pub mod address;
pub mod cookies;
pub mod sent;
pub mod who;
