//! What is measured of one component on one plate, and what it faces.

use super::gap::{self, Covered};
use super::{clearance, metal::PlateMetal};
use crate::part::{Component, Part, ZoneKind};

/// What is measured of one component on one plate.
pub(super) struct Gaps {
    pub covered: Option<Covered>,
    pub covered_percent: f64,
    pub clearance_mm: f64,
}

impl Gaps {
    pub fn of(component: &Component, metal: &PlateMetal) -> Self {
        let height_mm = component.height_mm.value;
        let covered = gap::over(&component.footprint, height_mm, metal);
        Self {
            covered_percent: covered.as_ref().map_or(0.0, |covered| {
                (100.0 * covered.area_mm2 / component.footprint.area_mm2()).min(100.0)
            }),
            covered,
            clearance_mm: clearance::shortest(&component.footprint, (0.0, height_mm), metal),
        }
    }
}

/// What metal faces a component, in words.
pub(super) fn facing_words(part: &Part, facing: gap::Facing) -> String {
    let flat = |number: usize| {
        part.flats
            .get(number)
            .map_or_else(String::new, |flat| flat.name.clone())
    };
    match facing {
        gap::Facing::Extension(number) => part
            .extensions
            .get(number)
            .map_or_else(String::new, |extension| {
                format!("extension plate \"{}\"", extension.name)
            }),
        gap::Facing::Zone(ZoneKind::Flat(number)) => format!("flat \"{}\"", flat(number)),
        gap::Facing::Zone(ZoneKind::Bend(step, which)) => {
            format!("bend beside \"{}\"", flat(step + which))
        }
        gap::Facing::Zone(ZoneKind::Wall(step)) => {
            format!("wall between \"{}\" and \"{}\"", flat(step), flat(step + 1))
        }
    }
}
