//! The die pair as solids: opened with the plate between, and as it lies on the printer's bed.

use crate::dies::{DieBlock, DieSide, Tooling};
use crate::draw::lettering::part_name;
use crate::draw::png::{PngError, png};
use crate::draw::shaded::{Eye, Picture, Shown, picture, tint};
use crate::draw::style::Role as Drawn;
use crate::geometry::{BodyError, Mesh};
use crate::part::Part;
use crate::quantity::Angle;
use nalgebra::{Point3, Vector3};
use thiserror::Error;

/// Size of the picture of the opened pair, pixels.
const PAIR_PX: [u32; 2] = [900, 600];
/// Size of the picture in a print file, pixels.
const THUMBNAIL_PX: [u32; 2] = [256, 256];
/// Free distance between blocks on the bed, mm.
const BETWEEN_MM: f64 = 10.0;
/// Air below the plate and above it, as shares of the closed pair's height.
const AIR: (f64, f64) = (0.42, 0.58);

/// Why there is no picture. Each is a fault of coldstep.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum ViewError {
    /// A solid does not close.
    #[error(transparent)]
    Body(#[from] BodyError),
    /// PNG.
    #[error(transparent)]
    Png(#[from] PngError),
}

fn die_tint(role: DieSide) -> crate::draw::style::Ink {
    tint(match role {
        DieSide::Lower => Drawn::LowerDie,
        DieSide::Upper => Drawn::UpperDie,
    })
}

/// Where each block goes when all are printed together: beside each other, resting on the bed.
pub fn on_bed(blocks: &[DieBlock]) -> Vec<Vector3<f64>> {
    let along = |axis: usize| -> f64 {
        let sizes = blocks.iter().filter_map(|block| block.size_mm.get(axis));
        sizes.sum()
    };
    // Side by side the short way, so that both fit where one does.
    let axis = usize::from(along(1) < along(0));
    let mut at_mm = 0.0;
    blocks
        .iter()
        .map(|block| {
            let place = if axis == 0 {
                Vector3::new(at_mm, 0.0, 0.0)
            } else {
                Vector3::new(0.0, at_mm, 0.0)
            };
            at_mm += block.size_mm.get(axis).copied().unwrap_or(0.0) + BETWEEN_MM;
            place
        })
        .collect()
}

/// The blocks on the bed, for the list of a print program.
///
/// # Errors
/// When the picture cannot be written.
pub fn thumbnail(part: &Part, blocks: &[DieBlock]) -> Result<Vec<u8>, ViewError> {
    let meshes: Vec<Mesh> = blocks
        .iter()
        .zip(on_bed(blocks))
        .map(|(block, by)| block.mesh.mapped(|p| p + by))
        .collect();
    let shown: Vec<Shown<'_>> = blocks
        .iter()
        .zip(&meshes)
        .map(|(block, mesh)| Shown {
            mesh,
            tint: die_tint(block.role),
        })
        .collect();
    let eye = Eye {
        round: Angle::deg(-62.0),
        down: Angle::deg(38.0),
    };
    let title = format!("dies of {}", part_name(&part.name));
    Ok(png(&picture(&shown, eye, THUMBNAIL_PX), &title)?)
}

/// The pair opened, with the plate as drawn between the blocks.
///
/// # Errors
/// When a solid does not close or the picture cannot be written.
pub fn opened_pair(part: &Part, tooling: &Tooling, plate: &Mesh) -> Result<Vec<u8>, ViewError> {
    let title = format!(
        "{}: the two dies opened, the formed plate between them",
        part_name(&part.name)
    );
    Ok(png(&opened(part, tooling, plate)?, &title)?)
}

fn opened(part: &Part, tooling: &Tooling, plate: &Mesh) -> Result<Picture, ViewError> {
    let air_mm = AIR.0 * tooling.closed_height_mm;
    let open_mm = air_mm + AIR.1 * tooling.closed_height_mm;
    let mut meshes = Vec::new();
    for block in &tooling.blocks {
        let lift_mm = match block.role {
            DieSide::Lower => 0.0,
            DieSide::Upper => open_mm,
        };
        let mesh = block.mesh_in_vise()?;
        let lifted = mesh.mapped(|p| p + Vector3::new(0.0, 0.0, lift_mm));
        meshes.push((lifted, die_tint(block.role)));
    }
    let lifted = in_dies(part, tooling, plate).mapped(|p| p + Vector3::new(0.0, 0.0, air_mm));
    meshes.push((lifted, tint(Drawn::Metal)));
    let shown: Vec<Shown<'_>> = meshes
        .iter()
        .map(|(mesh, tint)| Shown { mesh, tint: *tint })
        .collect();
    // From the back, where no cheek hides the working faces and the engraved letters are read.
    let eye = Eye {
        round: Angle::deg(62.0),
        down: Angle::deg(21.0),
    };
    Ok(picture(&shown, eye, PAIR_PX))
}

/// The plate turned and shifted from its own frame to that of the closed dies: middle on middle.
fn in_dies(part: &Part, tooling: &Tooling, plate: &Mesh) -> Mesh {
    let (drawn, pressed) = (&part.profile.mid, &tooling.section.strip);
    let (from, to) = (
        drawn.at(drawn.length_mm() / 2.0),
        pressed.at(pressed.length_mm() / 2.0),
    );
    let turn = tooling.section.tilt;
    let (sin, cos) = (turn.sin(), turn.cos());
    plate.mapped(|p| {
        let (x, z) = (p.x - from.point.x, p.z - from.point.y);
        Point3::new(
            to.point.x + x * cos - z * sin,
            p.y,
            to.point.y + x * sin + z * cos,
        )
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::output::pictures::fixtures::check::tooled;

    #[test]
    fn blocks_lie_apart_on_the_bed() {
        for (name, job) in tooled() {
            let tooling = job.tooling.unwrap();
            let boxes: Vec<_> = tooling
                .blocks
                .iter()
                .zip(on_bed(&tooling.blocks))
                .map(|(block, by)| block.mesh.mapped(|p| p + by).bounds())
                .collect();
            let [(low, high), (other_low, other_high)] = boxes[..] else {
                panic!("{name}: two blocks")
            };
            assert_eq!((low.z, other_low.z), (0.0, 0.0), "{name}");
            let apart = (other_low.x - high.x).max(other_low.y - high.y);
            assert!((apart - BETWEEN_MM).abs() < 1e-9, "{name}: {apart}");
            assert!(low.x >= 0.0 && other_high.x > 0.0);
        }
    }

    #[test]
    fn the_plate_lies_between_the_blocks() {
        for (name, job) in tooled() {
            let (part, tooling) = (job.part, job.tooling.unwrap());
            let blank = crate::blank::blank(&part).value;
            let plate = crate::plate::mesh(&part, &blank, 0.02).unwrap();
            let (low, high) = in_dies(&part, &tooling, &plate).bounds();
            assert!(
                low.z > tooling.lower_back_mm && high.z < tooling.upper_back_mm,
                "{name}"
            );
            let view = opened(&part, &tooling, &plate).unwrap();
            assert_eq!(view, opened(&part, &tooling, &plate).unwrap());
            // Both dies, the plate and its edges are seen.
            let dark = view.rgb.chunks_exact(3).filter(|c| c[0] < 60).count();
            let metal = view
                .rgb
                .chunks_exact(3)
                .filter(|c| i16::from(c[0]) > i16::from(c[2]) + 20 && c[0] < 150)
                .count();
            assert!(dark > 2000 && metal > 500, "{name}: {dark} {metal}");
        }
    }
}
