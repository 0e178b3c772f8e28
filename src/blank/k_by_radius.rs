//! K of every bend radius of a part, each found once: a simulated K takes a millisecond.

use crate::part::Part;
use crate::stock::KRule;
use crate::stock::k_factor::KFactor;

/// K by inside radius.
pub struct KByRadius(Vec<(f64, KFactor)>);

impl KByRadius {
    /// Asks a rule for every radius of a part.
    pub fn new(part: &Part, rule: &KRule) -> Self {
        let mut known: Vec<(f64, KFactor)> = Vec::new();
        for bend in &part.profile.bends {
            let radius_mm = bend.inside_radius_mm;
            if known.iter().all(|(other_mm, _)| *other_mm != radius_mm) {
                let factor = rule.k_factor(radius_mm, part.sheet.thickness_mm, &part.sheet.metal);
                known.push((radius_mm, factor));
            }
        }
        Self(known)
    }

    /// What the rule says of a radius; `None` for one the part has not.
    pub fn at(&self, radius_mm: f64) -> Option<&KFactor> {
        self.0
            .iter()
            .find(|(known_mm, _)| *known_mm == radius_mm)
            .map(|(_, factor)| factor)
    }

    /// K of a radius; that of the middle of the sheet for one the part has not.
    pub fn k(&self, radius_mm: f64) -> f64 {
        self.at(radius_mm).map_or(0.5, |factor| factor.k)
    }
}

#[cfg(test)]
mod tests {
    use super::super::sample::Stair;
    use super::*;

    #[test]
    fn every_radius_of_the_part_is_known_and_no_other() {
        let mut stair = Stair::two_flats(4.0, 60.0);
        stair.steps[0].radii_mm = [0.8, 2.0];
        let part = stair.part();
        let known = KByRadius::new(&part, &KRule::Din6935);
        for radius_mm in [0.8, 2.0] {
            let asked =
                KRule::Din6935.k_factor(radius_mm, part.sheet.thickness_mm, &part.sheet.metal);
            assert_eq!(known.at(radius_mm), Some(&asked));
            assert_eq!(known.k(radius_mm), asked.k);
        }
        assert_eq!(known.at(1.0), None);
    }
}
