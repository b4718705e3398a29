//! Plans crews, trucks and shared equipment over half-days and places.
pub mod book;
pub mod encode;
pub mod engine;
pub mod half_day;
pub mod money;
pub mod plan;
pub mod shop;
