//! Reads the structure off the sources: chapters, files and the arrows between them, and who keeps away from what.

pub mod bans;
pub mod files;
pub mod paths;
pub mod story;
