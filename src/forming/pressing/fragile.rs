//! Walls that come out otherwise when little is different, and what may calm them.

use super::{FragileWall, PressInput, Pressing};
use crate::numbers::tenths_up;
use crate::part::Part;
use crate::part::advised::{Change, whole_degrees};
use crate::part::usual::SOLD_MM;

/// A wall whose angle is known worse than this, 90 of 100, is told as fragile. Own choice: makers of plates pressed between
/// printed dies report misses of degrees, not of tenths.
const FRAGILE_DEG: f64 = 2.0;
/// A change calms a wall that leaves it this share of its range. Own choice.
const CALMED: f64 = 0.75;
/// Gentler walls that are tried, as shares of the drawn angle.
const GENTLER: [f64; 2] = [0.85, 0.7];
/// Fuller dies that are tried.
const FULL_PERCENT: f64 = 100.0;

/// What makes noses stiffer whatever they are printed of. Common practice, no source.
const SHIM: &str =
    "lay a bent metal strip (a shim) under its noses: they give less then (not calculated)";

impl Pressing {
    /// Walls that forgive little, the worst first, each with the number of its step; no change of the part is tried yet.
    pub(crate) fn fragile(&self) -> Vec<(usize, FragileWall)> {
        let mut walls: Vec<(usize, FragileWall)> = self
            .wall_ranges_deg()
            .into_iter()
            .enumerate()
            .filter_map(|(step, range_deg)| {
                if range_deg <= FRAGILE_DEG {
                    return None;
                }
                let between = self.bends.get(2 * step)?.between.clone();
                let largest_cause = self.largest_cause(2 * step..2 * step + 2);
                let [from, to] = &between;
                let text = format!(
                    "between \"{from}\" and \"{to}\" the wall forgives little: it comes within ±{}°, most of that for the {}",
                    tenths_up(range_deg),
                    largest_cause.words()
                );
                let help = match largest_cause {
                    PressInput::Print => vec![SHIM.to_owned()],
                    _ => Vec::new(),
                };
                let wall = FragileWall {
                    between,
                    range_deg,
                    largest_cause,
                    text,
                    help,
                };
                Some((step, wall))
            })
            .collect();
        walls.sort_by(|(_, one), (_, other)| other.range_deg.total_cmp(&one.range_deg));
        walls
    }

    /// Half of the 90 % range of the worse bend of each step.
    fn wall_ranges_deg(&self) -> Vec<f64> {
        let bends = self.angle_ranges_deg();
        let steps = bends.chunks(2);
        steps
            .map(|own| own.iter().copied().fold(0.0, f64::max))
            .collect()
    }

    /// The wall of a step calmed by a change after which this is what comes out; in words.
    pub(crate) fn calms(&self, step: usize, wall: &FragileWall) -> Option<String> {
        let range_deg = *self.wall_ranges_deg().get(step)?;
        (self.shape_met && range_deg <= CALMED * wall.range_deg)
            .then(|| format!("its wall then comes within ±{}°", tenths_up(range_deg)))
    }

    /// Changes that may calm the wall of a step: the cheaper for its maker, the earlier.
    pub(crate) fn calmer(part: &Part, step: usize) -> Vec<Change> {
        let mut changes = Vec::new();
        if part.printer.infill_percent < FULL_PERCENT {
            changes.push(Change::Infill {
                infill_percent: FULL_PERCENT,
            });
        }
        let bend = part.steps.get(step).map(|step| step.shape.bend);
        changes.extend(GENTLER.iter().filter_map(|share| {
            Some(Change::WallAngle {
                step,
                wall_angle_deg: libm::floor(share * whole_degrees(bend?)),
            })
        }));
        let thinner = SOLD_MM.iter().rev();
        let mut thinner = thinner.filter(|sold_mm| **sold_mm < 0.99 * part.sheet.thickness_mm);
        changes.extend(thinner.next().map(|thickness_mm| Change::Sheet {
            thickness_mm: *thickness_mm,
        }));
        changes
    }
}
