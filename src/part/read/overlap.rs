//! Whether two things stand in each other in plan.

use crate::geometry::Footprint;

/// Places of two things may touch within written decimals.
pub const SLACK_MM: f64 = 1e-6;

/// Whether two footprints share area.
pub fn truly_overlap(one: &Footprint, other: &Footprint) -> bool {
    let ((low, high), (other_low, other_high)) = (one.bounds(), other.bounds());
    let (from, to) = (low.x.max(other_low.x), high.x.min(other_high.x));
    if to - from < SLACK_MM {
        return false;
    }
    // Enough places to see any overlap worth a warning.
    (1..16).any(|i| {
        let x = from + (to - from) * f64::from(i) / 16.0;
        match (one.y_interval(x), other.y_interval(x)) {
            (Some(a), Some(b)) => a.0 < b.1 - SLACK_MM && b.0 < a.1 - SLACK_MM,
            _ => false,
        }
    })
}
