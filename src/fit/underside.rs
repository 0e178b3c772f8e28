//! The metal that faces the board, place by place: what other analyses need of the gaps.

use super::gap::stretches_at;
use super::metal::PlateMetal;
use super::pressed::PressedStrip;
use crate::geometry::Footprint;
use crate::part::Part;

/// The underside of a plate with its extension plates, as drawn or as pressed.
pub struct Underside {
    metal: PlateMetal,
}

/// A stretch from front to back in which one metal faces the board.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Facing {
    /// Front end.
    pub y_from_mm: f64,
    /// Back end.
    pub y_to_mm: f64,
    /// Height of the metal above the board.
    pub underside_mm: f64,
    /// Number of the extension plate; `None` for the plate itself.
    pub extension: Option<usize>,
}

impl Underside {
    /// Of the plate as drawn.
    pub fn drawn(part: &Part) -> Self {
        Self {
            metal: PlateMetal::of(part),
        }
    }

    /// Of the plate as the vise leaves it.
    pub fn pressed(part: &Part, strip: &PressedStrip<'_>) -> Self {
        Self {
            metal: PlateMetal::pressed(part, strip),
        }
    }

    /// What faces a footprint at a plan place, from front to back; extension plates first.
    pub fn facing(&self, footprint: &Footprint, x_mm: f64) -> Vec<Facing> {
        let plate_mm = self
            .metal
            .underside
            .iter()
            .find(|(piece, _)| (piece.start.point.x..=piece.end.point.x).contains(&x_mm))
            .map(|(piece, _)| piece.height_at(x_mm));
        stretches_at(footprint, &self.metal, x_mm)
            .into_iter()
            .filter_map(|stretch| {
                let underside_mm = match stretch.under {
                    Some(number) => self.metal.extensions.get(number)?.sides_at(x_mm).0,
                    None => plate_mm?,
                };
                Some(Facing {
                    y_from_mm: stretch.low,
                    y_to_mm: stretch.high,
                    underside_mm,
                    extension: stretch.under,
                })
            })
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fit::fit;
    use approx::assert_relative_eq;

    #[test]
    fn its_mean_over_a_part_is_the_mean_gap() {
        let part = crate::part::parse(include_str!("../../examples/extension-plate.toml"))
            .unwrap()
            .value;
        let underside = Underside::drawn(&part);
        let mut extensions = 0;
        for (component, fit) in part.components.iter().zip(fit(&part).components) {
            let Some(mean_mm) = fit.gap_mean_mm else {
                continue;
            };
            let (low, high) = component.footprint.bounds();
            let (mut area, mut volume) = (0.0, 0.0);
            for i in 0..4000 {
                let x = low.x + (high.x - low.x) * (f64::from(i) + 0.5) / 4000.0;
                for facing in underside.facing(&component.footprint, x) {
                    let length = facing.y_to_mm - facing.y_from_mm;
                    area += length;
                    volume += length * (facing.underside_mm - component.height_mm.value);
                    extensions += usize::from(facing.extension.is_some());
                }
            }
            assert_relative_eq!(volume / area, mean_mm, max_relative = 1e-4);
        }
        assert!(extensions > 0);
    }
}
