//! Who may come in: room for connections, their lines, and who asks too much.

pub mod line;
pub mod room;
pub mod throttle;
