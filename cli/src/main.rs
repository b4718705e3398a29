//! yardless
fn main() {}
