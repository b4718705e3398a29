//! What somebody may see and do.

/// What somebody may see and do.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Role {
    /// Everything.
    Owner,
    /// Its own sheet and its own progress, of the crew with this id; no prices.
    Crew(String),
    /// Every sheet and list, and changes nothing.
    Reader,
}

impl Role {
    /// Its name, as stored and said.
    pub fn name(&self) -> &'static str {
        match self {
            Self::Owner => "owner",
            Self::Crew(_) => "crew",
            Self::Reader => "reader",
        }
    }
    /// The crew's id, of one that is a crew's.
    pub(super) fn crew(&self) -> Option<&str> {
        match self {
            Self::Crew(crew) => Some(crew),
            Self::Owner | Self::Reader => None,
        }
    }
}
