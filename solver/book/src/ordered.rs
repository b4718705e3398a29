//! Material on order is a wait of its step by itself (L7).

use std::borrow::Cow;

use super::{Material, Step, WaitsOn};

impl Step {
    /// What it waits on from others (W14): what it says, and its material on order (L7).
    pub fn waits(&self) -> impl Iterator<Item = Cow<'_, WaitsOn>> {
        let ordered = self.material.iter().filter_map(Material::wait).map(Cow::Owned);
        self.waits_on.iter().map(Cow::Borrowed).chain(ordered)
    }
}
