//! Can it be printed? Poses, overhang, bed, ribs and noses against the nozzle, plastic needed.

use crate::geometry::{Chain, Mesh};
use crate::part::Printer;
use nalgebra::{Point2, Point3, Vector3};
use schemars::JsonSchema;
use serde::Serialize;

/// A rib must be at least this many printed lines wide. Common practice, no source.
pub const LEAST_LINES: f64 = 2.0;
/// Depth below a crest at which its width counts as the rib's.
const RIB_DEPTH_MM: f64 = 1.0;
/// Overhang of pins, sockets and letters, as a share of the area on the bed, that the side pose is worth:
/// it keeps the working face smooth. Engineering judgement, no source.
const SMALL_FEATURES: f64 = 0.1;

/// How a block lies on the bed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum PrintPose {
    /// Front side (smaller y) down: the profile lies in the layers.
    OnSide,
    /// Flat back down: the working face is built of steps.
    OnBack,
    /// Left end down.
    OnEnd,
}

impl PrintPose {
    const ALL: [Self; 3] = [Self::OnSide, Self::OnBack, Self::OnEnd];

    /// In words.
    pub const fn words(self) -> &'static str {
        match self {
            Self::OnSide => "on its front side",
            Self::OnBack => "on its flat back",
            Self::OnEnd => "on its end",
        }
    }

    fn up(self) -> Vector3<f64> {
        match self {
            Self::OnSide => Vector3::y(),
            Self::OnBack => Vector3::z(),
            Self::OnEnd => Vector3::x(),
        }
    }

    /// Turns a block so that the pose's upward direction becomes z. A swap of axes: nothing is rounded.
    fn turned(self, p: &Point3<f64>) -> Point3<f64> {
        match self {
            Self::OnSide => Point3::new(p.x, -p.z, p.y),
            Self::OnBack => *p,
            Self::OnEnd => Point3::new(-p.z, p.y, p.x),
        }
    }

    /// The mesh in this pose, standing at the origin of the bed.
    pub fn placed(self, mesh: &Mesh) -> Mesh {
        let turned = mesh.mapped(|p| self.turned(p));
        let (low, _) = turned.bounds();
        turned.mapped(|p| p - low.coords)
    }
}

/// One pose with what it costs.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct PoseCheck {
    /// Which pose.
    pub pose: PrintPose,
    /// Box on the bed: along x, along y, height.
    pub size_mm: [f64; 3],
    /// Area that hangs over by more than 45 degrees.
    pub overhang_mm2: f64,
    /// Whether it fits the bed; `None` when the part file gives none.
    pub fits_bed: Option<bool>,
}

/// What printing a block takes.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct PrintCheck {
    /// Pose the file is written in.
    pub pose: PrintPose,
    /// All poses looked at.
    pub poses: Vec<PoseCheck>,
    /// Mass if printed solid.
    pub solid_mass_g: f64,
    /// Mass with the walls and infill of the part file.
    pub estimated_mass_g: f64,
    /// Narrowest crest of the working face, one millimetre below its top; infinite, null in JSON, without a crest.
    #[schemars(with = "Option<f64>")]
    pub narrowest_rib_mm: f64,
}

impl PrintCheck {
    /// Overhang in the pose the file is written in.
    pub fn overhang_mm2(&self) -> f64 {
        self.poses
            .iter()
            .find(|check| check.pose == self.pose)
            .map_or(0.0, |check| check.overhang_mm2)
    }
}

/// Looks at a block's mesh (drawn frame) and working face.
pub fn check(mesh: &Mesh, face: &Chain, printer: &Printer) -> PrintCheck {
    let poses: Vec<PoseCheck> = PrintPose::ALL
        .into_iter()
        .map(|pose| {
            let (low, high) = mesh.mapped(|p| pose.turned(p)).bounds();
            let size = high - low;
            let size_mm = [size.x, size.y, size.z];
            PoseCheck {
                pose,
                size_mm,
                overhang_mm2: mesh.overhang_mm2(&pose.up()),
                fits_bed: printer.bed_mm.map(|bed_mm| fits(size_mm, bed_mm)),
            }
        })
        .collect();
    // The side pose keeps the working face out of the layer steps, so it wins unless more than small
    // features hang over.
    let little = |check: &PoseCheck| {
        let [x, y, _] = check.size_mm;
        check.overhang_mm2 < SMALL_FEATURES * x * y
    };
    let usable = |check: &&PoseCheck| check.fits_bed != Some(false);
    let pose = poses
        .iter()
        .filter(usable)
        .find(|check| check.pose == PrintPose::OnSide && little(check))
        .or_else(|| {
            poses
                .iter()
                .filter(usable)
                .min_by(|a, b| a.overhang_mm2.total_cmp(&b.overhang_mm2))
        })
        .map_or(PrintPose::OnSide, |check| check.pose);
    let volume_cm3 = mesh.volume_mm3() / 1000.0;
    let shell_cm3 = (mesh.area_mm2() * printer.wall_mm / 1000.0).min(volume_cm3);
    let filled_cm3 = shell_cm3 + (volume_cm3 - shell_cm3) * printer.infill_percent / 100.0;
    let density = printer.plastic.data().density_g_cm3;
    PrintCheck {
        pose,
        poses,
        solid_mass_g: volume_cm3 * density,
        estimated_mass_g: filled_cm3 * density,
        narrowest_rib_mm: narrowest_rib_mm(face),
    }
}

/// Whether a box stands on the bed, turned by a quarter if need be.
fn fits(size_mm: [f64; 3], bed_mm: [f64; 3]) -> bool {
    let [x, y, z] = size_mm;
    let [bed_x, bed_y, bed_z] = bed_mm;
    let plan = |a: f64, b: f64| a <= bed_x && b <= bed_y;
    z <= bed_z && (plan(x, y) || plan(y, x))
}

/// Width of the narrowest crest, measured `RIB_DEPTH_MM` below its top; infinite without a crest.
fn narrowest_rib_mm(face: &Chain) -> f64 {
    let points = face.flattened(0.01);
    let mut narrowest = f64::INFINITY;
    for (i, top) in points.iter().enumerate() {
        let before = i.checked_sub(1).and_then(|i| points.get(i));
        let after = points.get(i + 1);
        let crest = before.is_none_or(|p| p.y <= top.y) && after.is_none_or(|p| p.y <= top.y);
        if !crest {
            continue;
        }
        let level = top.y - RIB_DEPTH_MM;
        let right = crossing(points.iter().skip(i), level);
        let left = crossing(points.iter().take(i + 1).rev(), level);
        if let (Some(left), Some(right)) = (left, right) {
            narrowest = narrowest.min(right - left);
        }
    }
    narrowest
}

/// Where a path first falls below a level; its last point if it never does, unless the path ends there.
fn crossing<'a>(path: impl Iterator<Item = &'a Point2<f64>>, level: f64) -> Option<f64> {
    let mut before: Option<&Point2<f64>> = None;
    for point in path {
        if point.y < level {
            let from = before?;
            return Some(from.x + (point.x - from.x) * (from.y - level) / (from.y - point.y));
        }
        before = Some(point);
    }
    before.map(|point| point.x)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::Angle;
    use approx::assert_abs_diff_eq;

    #[test]
    fn a_narrow_ridge_is_found() {
        let mut face = Chain::from_start(0.0, 0.0, Angle::ZERO);
        face.line(10.0)
            .arc(0.5, Angle::deg(80.0))
            .line(4.0)
            .arc(0.5, Angle::deg(-80.0))
            .line(0.6)
            .arc(0.5, Angle::deg(-80.0))
            .line(4.0)
            .arc(0.5, Angle::deg(80.0))
            .line(10.0);
        let rib = narrowest_rib_mm(&face);
        // Top 0.6 and two arcs of 0.5 sin 80 each, plus twice the draft over what is left of 1 mm.
        let arcs = 2.0 * 0.5 * Angle::deg(80.0).sin();
        let below = 1.0 - 0.5 * (1.0 - Angle::deg(80.0).cos());
        assert_abs_diff_eq!(
            rib,
            0.6 + arcs + 2.0 * below / Angle::deg(80.0).tan(),
            epsilon = 1e-9
        );
    }

    #[test]
    fn a_quarter_turn_on_the_bed_counts_as_fitting() {
        assert!(fits([100.0, 200.0, 50.0], [220.0, 120.0, 60.0]));
        assert!(!fits([100.0, 200.0, 50.0], [190.0, 190.0, 60.0]));
        assert!(!fits([100.0, 100.0, 70.0], [190.0, 190.0, 60.0]));
    }
}
