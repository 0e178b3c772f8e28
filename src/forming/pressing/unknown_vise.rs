//! The force of a vise of which nobody says how hard it presses.

use super::{Effort, NoPressing, Pressing, Task, Watcher};
use crate::forming::press::guard::Doubt;

impl Task {
    /// [`Self::search`], with the least force of a common vise where the part file gives none. Only where that does not make the
    /// plate the dies are closed whatever it takes; the verdict then asks for that force.
    ///
    /// # Errors
    /// As there.
    pub fn find(&self, effort: Effort, watcher: &mut Watcher<'_>) -> Result<Pressing, NoPressing> {
        let found = self.search(effort, watcher);
        if self.gives_n.is_some() {
            return found;
        }
        let too_weak = match &found {
            Ok(pressing) => pressing.force_limited && !pressing.shape_met,
            Err(NoPressing::Guard(doubt)) => matches!(doubt, Doubt::ForceEnds { .. }),
            Err(_) => false,
        };
        if !too_weak {
            return found;
        }
        let mut stronger = self.clone();
        stronger.base.most_force_n_mm = f64::INFINITY;
        match stronger.search(effort, watcher) {
            // Without an answer the first one says more.
            Err(error) if error != NoPressing::Stopped && found.is_ok() => found,
            other => other,
        }
    }

    /// The force that a search takes for the vise's where nobody says it, N.
    pub(super) fn force_assumed_n(&self) -> Option<f64> {
        let assumed_n = self.base.most_force_n_mm * self.width_mm;
        (self.gives_n.is_none() && assumed_n.is_finite()).then_some(assumed_n)
    }
}
