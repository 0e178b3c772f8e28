//! A die face as the strip meets it: exact lines and arcs on an elastic foundation, with Coulomb friction.
//!
//! The foundation is the printed block's give: pressure grows with how far the sheet stands inside the drawn
//! face. Stick is elastic, slip follows Coulomb; a point that meets the face anew sticks from the end of the
//! step on.

use crate::forming::block::modes::Modes;
use crate::geometry::{Chain, Piece, Segment};
use nalgebra::{DMatrix, DVector, Matrix2, Point2, Vector2};

/// The kink where contact begins is rounded over this depth, so that Newton's method sees a smooth law.
const SOFT_START_MM: f64 = 2e-3;

/// Rounding of the kink where the die yields, as a share of the depth there.
const SOFT_YIELD: f64 = 0.2;
/// Stiffness that is left of a die that yields. Own choice: it keeps the force growing, and the depth tells how bad it is.
pub const STIFFNESS_KEPT: f64 = 0.05;

/// `max(x, 0)` with its kink rounded by a parabola over `± soft`; also its slope.
fn ramp(x: f64, soft: f64) -> (f64, f64) {
    if x <= -soft {
        (0.0, 0.0)
    } else if x >= soft {
        (x, 1.0)
    } else {
        let deep = x + soft;
        (deep * deep / (4.0 * soft), deep / (2.0 * soft))
    }
}

/// A piece of a face with what is asked of it again and again.
#[derive(Debug, Clone)]
struct Stretch {
    piece: Piece,
    /// Direction at its start, and to the left of it.
    along: Vector2<f64>,
    left: Vector2<f64>,
    arc: Option<Arc>,
}

/// A round piece of a face.
#[derive(Debug, Clone)]
struct Arc {
    radius_mm: f64,
    centre: Point2<f64>,
    /// 1 turns to the left, -1 to the right.
    sign: f64,
    /// From the centre to its start and to its end.
    start: Vector2<f64>,
    end: Vector2<f64>,
}

impl Stretch {
    fn of(piece: Piece) -> Self {
        let arc = match (piece.segment, piece.centre()) {
            (Segment::Arc { radius_mm, turn }, Some(centre)) => Some(Arc {
                radius_mm,
                centre,
                sign: turn.rad().signum(),
                start: piece.start.point - centre,
                end: piece.end.point - centre,
            }),
            _ => None,
        };
        Self {
            along: piece.start.along(),
            left: piece.start.left(),
            piece,
            arc,
        }
    }
}

/// Points that are further away see a face as it was drawn: they do not come to touch it in a step.
const FAR_MM: f64 = 0.5;
/// Angles beyond the ends of an arc, rad, at which a place still counts as before it.
const BESIDE_RAD: f64 = 1e-9;

fn cross(a: Vector2<f64>, b: Vector2<f64>) -> f64 {
    a.x * b.y - a.y * b.x
}

impl Arc {
    /// Distance from the centre of a point that lies before the arc, which turns by less than a half turn.
    fn distance(&self, point: Point2<f64>) -> Option<f64> {
        let arm = point - self.centre;
        let distance = arm.norm();
        let slack = -BESIDE_RAD * self.radius_mm * distance;
        let within = self.sign * cross(self.start, arm) >= slack
            && self.sign * cross(arm, self.end) >= slack
            && arm.dot(&(self.start + self.end)) > 0.0;
        (within && distance >= 1e-9).then_some(distance)
    }
}

/// One die face.
#[derive(Debug, Clone)]
pub struct Die {
    pieces: Vec<Stretch>,
    /// +1: the sheet lies to the left of the face's heading (lower die); -1: to its right.
    side: f64,
    /// How far the die stands above its closed place.
    pub lifted_mm: f64,
    /// Pressure for each millimetre of depth, N/mm³.
    pub stiffness_n_mm3: f64,
    /// Pressure at which the die gives way for good, MPa.
    pub yield_mpa: f64,
    /// Coulomb's coefficient.
    pub friction: f64,
    /// Stiffness of the whole die under a nose, N/mm³: a face that yields keeps a share of it, stops push with it.
    whole_n_mm3: f64,
    /// The block behind the face, its shapes as far out as stores ½ in each; none: the layer is all that gives.
    block: Option<Modes>,
}

/// Where a point is, seen from a face.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Near {
    /// Free distance; negative inside the face.
    pub gap_mm: f64,
    /// Unit vector away from the face.
    pub normal: Vector2<f64>,
    /// Length along the face.
    pub along_mm: f64,
    /// The normal turns by this much for each millimetre along its tangent.
    pub turning: f64,
    /// The length along the face grows by this much for each millimetre along it.
    pub stretch: f64,
}

/// What a node remembers of a face at the beginning of a step.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Held {
    /// It touches: it sticks to this place along the face.
    At(f64),
    /// It does not touch yet. Where it comes to within the step it sticks from the moment on in which it touches: on a
    /// straight way from here.
    Coming {
        /// Free distance at the beginning of the step.
        gap_mm: f64,
        /// Place along the face at the beginning of the step.
        along_mm: f64,
    },
}

impl Held {
    /// Way along the face since it touches, and how that grows with the place along the face and with the gap.
    fn slip(self, near: &Near) -> (f64, f64, f64) {
        match self {
            Self::At(place_mm) => (near.along_mm - place_mm, 1.0, 0.0),
            Self::Coming { gap_mm, along_mm } => {
                // Contact begins at the soft start.
                let before_mm = (gap_mm - SOFT_START_MM).max(0.0);
                let depth_mm = SOFT_START_MM - near.gap_mm;
                let whole_mm = before_mm + depth_mm;
                if whole_mm <= 0.0 || depth_mm <= 0.0 {
                    return (0.0, 0.0, 0.0);
                }
                let share = depth_mm / whole_mm;
                let way_mm = near.along_mm - along_mm;
                (
                    share * way_mm,
                    share,
                    -way_mm * before_mm / (whole_mm * whole_mm),
                )
            }
        }
    }
}

/// Force of a die on a node and its slope, for each mm of width.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Push {
    /// Force on the node.
    pub force: Vector2<f64>,
    /// Minus its derivative by the node's place.
    pub stiffness: Matrix2<f64>,
    /// Pressure, MPa.
    pub pressure_mpa: f64,
    /// Where the node would stick from now on, along the face.
    pub anchor_mm: f64,
}

impl Die {
    /// The lower die: the sheet lies above its face.
    pub fn lower(face: &Chain, stiffness_n_mm3: f64, friction: f64) -> Self {
        Self::new(face, 1.0, stiffness_n_mm3, friction)
    }

    /// The upper die: the sheet lies below its face.
    pub fn upper(face: &Chain, stiffness_n_mm3: f64, friction: f64) -> Self {
        Self::new(face, -1.0, stiffness_n_mm3, friction)
    }

    fn new(face: &Chain, side: f64, stiffness_n_mm3: f64, friction: f64) -> Self {
        Self {
            pieces: face.pieces().map(Stretch::of).collect(),
            side,
            lifted_mm: 0.0,
            stiffness_n_mm3,
            yield_mpa: f64::INFINITY,
            friction,
            whole_n_mm3: stiffness_n_mm3,
            block: None,
        }
    }

    /// The same face on an elastic block: its own stiffness becomes that of the layer of a rough face, and as a whole
    /// it gives as the block does.
    #[must_use]
    pub fn on_block(mut self, block: Modes, layer_n_mm3: f64) -> Self {
        self.stiffness_n_mm3 = 1.0 / (1.0 / layer_n_mm3 + block.local_mm_mpa);
        self.block = Some(block.storing_half());
        self
    }

    /// The same face on the block of another die, of a print that is so many times as stiff.
    #[must_use]
    pub(super) fn on_block_of(mut self, other: &Self, stiffer: f64) -> Self {
        if let Some(block) = &other.block {
            let layer = 1.0 / other.stiffness_n_mm3 - block.local_mm_mpa;
            let block = block.clone().stiffer(stiffer).storing_half();
            self.stiffness_n_mm3 = 1.0 / (layer + block.local_mm_mpa);
            self.block = Some(block);
        }
        self
    }

    /// Shapes in which the block behind the face gives.
    pub(super) fn shapes(&self) -> usize {
        self.block.as_ref().map_or(0, Modes::count)
    }

    /// Shapes averaged over a length of the face, x and z in two columns, each as far out as stores ½ in it, mm for each √(N/mm)·mm,
    /// and by how much that is turned from where it was drawn when shapes are out.
    pub(super) fn given_at(
        &self,
        along_mm: f64,
        length_mm: f64,
        out: &DVector<f64>,
    ) -> (DMatrix<f64>, Matrix2<f64>) {
        let heading = self
            .pieces
            .iter()
            .rev()
            .find(|stretch| stretch.piece.from_mm <= along_mm);
        let (Some(block), Some(stretch)) = (&self.block, heading.or(self.pieces.first())) else {
            return (DMatrix::zeros(0, 2), Matrix2::identity());
        };
        let piece = &stretch.piece;
        let left = piece
            .start
            .advanced(&piece.segment, along_mm - piece.from_mm)
            .left();
        let length_mm = length_mm.max(1e-6);
        let mean = block.averaged(along_mm, length_mm);
        let slope = block.averaged_slope_with(out.as_slice(), along_mm, length_mm);
        // A turn by a small angle; its sine is what the slope says.
        let sin = (left.x * slope[0] + left.y * slope[1]).clamp(-0.5, 0.5);
        let cos = (1.0 - sin * sin).sqrt();
        (mean, Matrix2::new(cos, -sin, sin, cos))
    }

    /// The same face of a die that gives way at a pressure.
    #[must_use]
    pub fn yielding_at(mut self, yield_mpa: f64) -> Self {
        self.yield_mpa = yield_mpa;
        self
    }

    /// Nearest place of the face of a block whose shapes are out; `along_mm` is where that place was drawn.
    pub(super) fn near_given(&self, point: Point2<f64>, out: &DVector<f64>) -> Option<Near> {
        let near = self.near(point)?;
        match &self.block {
            Some(block) if near.gap_mm <= FAR_MM => {
                self.near(point - block.with(out.as_slice(), near.along_mm))
            }
            _ => Some(near),
        }
    }

    /// Nearest place of the face; beyond its ends it goes on straight.
    pub fn near(&self, point: Point2<f64>) -> Option<Near> {
        let point = Point2::new(point.x, point.y - self.lifted_mm);
        let last = self.pieces.len().checked_sub(1)?;
        let mut best: Option<(f64, &Stretch)> = None;
        for (number, stretch) in self.pieces.iter().enumerate() {
            let Some(gap_mm) = self.gap_mm(stretch, point, number == 0, number == last) else {
                continue;
            };
            if best.is_none_or(|(best, _)| gap_mm.abs() < best.abs()) {
                best = Some((gap_mm, stretch));
            }
        }
        best.map(|(gap_mm, stretch)| self.seen_from(stretch, point, gap_mm))
    }

    /// Free distance from a piece; `None` when its nearest place lies beyond its ends.
    fn gap_mm(
        &self,
        stretch: &Stretch,
        point: Point2<f64>,
        first: bool,
        last: bool,
    ) -> Option<f64> {
        if let Some(arc) = &stretch.arc {
            return Some(self.side * arc.sign * (arc.radius_mm - arc.distance(point)?));
        }
        let offset = point - stretch.piece.start.point;
        let along = offset.dot(&stretch.along);
        let length = stretch.piece.segment.length_mm();
        if (along < 0.0 && !first) || (along > length && !last) {
            return None;
        }
        Some(self.side * offset.dot(&stretch.left))
    }

    /// Everything about a point before a piece.
    fn seen_from(&self, stretch: &Stretch, point: Point2<f64>, gap_mm: f64) -> Near {
        let from_mm = stretch.piece.from_mm;
        let Some(arc) = &stretch.arc else {
            let offset = point - stretch.piece.start.point;
            return Near {
                gap_mm,
                normal: stretch.left * self.side,
                along_mm: from_mm + offset.dot(&stretch.along),
                turning: 0.0,
                stretch: 1.0,
            };
        };
        let arm = point - arc.centre;
        let distance = arm.norm();
        // Angle turned since the start of the arc.
        let turned = arc.sign * libm::atan2(cross(arc.start, arm), arc.start.dot(&arm));
        // A left turn has its centre on the left.
        let left = -arm / distance * arc.sign;
        Near {
            gap_mm,
            normal: left * self.side,
            along_mm: from_mm + arc.radius_mm * turned,
            turning: -self.side * arc.sign / distance,
            stretch: arc.radius_mm / distance,
        }
    }

    /// Pressure at a gap and its slope.
    ///
    /// A foundation that gives way: beyond its yield pressure it stiffens by a small share only. Both kinks, where
    /// contact begins and where the die yields, are rounded.
    pub fn gives(&self, gap_mm: f64) -> (f64, f64) {
        self.gives_as(self.stiffness_n_mm3, gap_mm)
    }

    /// The same of a stop, which stands on the die beside the block's face.
    pub(super) fn stops(&self, gap_mm: f64) -> (f64, f64) {
        self.gives_as(self.whole_n_mm3, gap_mm)
    }

    fn gives_as(&self, k: f64, gap_mm: f64) -> (f64, f64) {
        let (depth_mm, grows) = ramp(-gap_mm, SOFT_START_MM);
        if depth_mm <= 0.0 {
            return (0.0, 0.0);
        }
        let yields_at_mm = self.yield_mpa / k;
        if depth_mm < (1.0 - SOFT_YIELD) * yields_at_mm {
            return (k * depth_mm, -k * grows);
        }
        let (beyond_mm, lost) = ramp(depth_mm - yields_at_mm, SOFT_YIELD * yields_at_mm);
        let share = 1.0 - STIFFNESS_KEPT * self.whole_n_mm3 / k;
        (
            k * (depth_mm - share * beyond_mm),
            -k * grows * (1.0 - share * lost),
        )
    }

    /// Push on a node that carries `area_mm` of the face; `held` is what it remembers of it, without it there is no friction.
    pub fn push(&self, point: Point2<f64>, area_mm: f64, held: Option<Held>) -> Option<Push> {
        let near = self.near(point)?;
        let (pressure, slope) = self.gives(near.gap_mm);
        if pressure <= 0.0 {
            return None;
        }
        let n = near.normal;
        let t = Vector2::new(-n.y, n.x);
        // The face's own direction of travel.
        let ahead = -t * self.side;
        // How that direction swings when the node moves along the face.
        let swing = n * t.transpose() * (self.side * near.turning);
        let mut force = n * pressure * area_mm;
        let mut stiffness = -(n * n.transpose()) * (slope * area_mm)
            - (t * t.transpose()) * (pressure * near.turning * area_mm);
        let mut anchor = near.along_mm;
        if let Some(held) = held.filter(|_| self.friction > 0.0) {
            let tangential = self.stiffness_n_mm3;
            let (slip, by_along, by_gap) = held.slip(&near);
            let most = self.friction * pressure;
            let trial = tangential * slip;
            if trial.abs() <= most {
                force -= ahead * trial * area_mm;
                stiffness += (ahead * ahead.transpose())
                    * (tangential * by_along * near.stretch * area_mm)
                    + (ahead * n.transpose()) * (tangential * by_gap * area_mm)
                    + swing * (trial * area_mm);
                anchor = near.along_mm - slip;
            } else {
                let sign = trial.signum();
                force -= ahead * (sign * most * area_mm);
                stiffness += (ahead * n.transpose()) * (sign * self.friction * slope * area_mm)
                    + swing * (sign * most * area_mm);
                anchor = near.along_mm - sign * most / tangential;
            }
        }
        Some(Push {
            force,
            stiffness,
            pressure_mpa: pressure,
            anchor_mm: anchor,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::Angle;
    use approx::assert_relative_eq;

    fn stair() -> Chain {
        let mut chain = Chain::from_start(0.0, 0.0, Angle::ZERO);
        chain
            .line(8.0)
            .arc(2.0, Angle::deg(50.0))
            .line(3.0)
            .arc(1.0, Angle::deg(-50.0))
            .line(8.0);
        chain
    }

    #[test]
    fn gaps_are_distances_along_the_normal() {
        for (die, sign) in [
            (Die::lower(&stair(), 1.0, 0.0), 1.0),
            (Die::upper(&stair(), 1.0, 0.0), -1.0),
        ] {
            for piece in stair().pieces() {
                let pose = piece
                    .start
                    .advanced(&piece.segment, piece.segment.length_mm() * 0.4);
                let point = pose.point + pose.left() * (0.3 * sign);
                let near = die.near(point).unwrap();
                assert_relative_eq!(near.gap_mm, 0.3, epsilon = 1e-12);
                assert_relative_eq!(near.normal, pose.left() * sign, epsilon = 1e-9);
                let along = piece.from_mm + piece.segment.length_mm() * 0.4;
                assert_relative_eq!(near.along_mm, along, epsilon = 1e-9);
            }
        }
    }

    #[test]
    fn stiffness_is_minus_the_slope_of_the_push() {
        for die in [
            Die::lower(&stair(), 500.0, 0.2),
            Die::upper(&stair(), 500.0, 0.2),
            Die::lower(&stair(), 500.0, 0.2).yielding_at(9.5),
            Die::upper(&stair(), 500.0, 0.2).yielding_at(3.0),
        ] {
            let side = die.side;
            for piece in stair().pieces() {
                let length = piece.segment.length_mm() * 0.3;
                let pose = piece.start.advanced(&piece.segment, length);
                for (depth, stuck) in [
                    (0.02, None),
                    (0.0002, None),
                    (0.02, Some(0.001)),
                    (0.02, Some(0.1)),
                ] {
                    let point = pose.point - pose.left() * (depth * side);
                    let anchor = stuck.map(|slip| piece.from_mm + length - slip);
                    let coming = |gap_mm| anchor.map(|along_mm| Held::Coming { gap_mm, along_mm });
                    for held in [anchor.map(Held::At), coming(0.03), coming(0.5)] {
                        let push = |p: Point2<f64>| die.push(p, 0.7, held).unwrap();
                        let step = 1e-7;
                        let coded = push(point).stiffness;
                        for (k, shift) in [Vector2::x(), Vector2::y()].into_iter().enumerate() {
                            let slope = (push(point + shift * step).force
                                - push(point - shift * step).force)
                                / (2.0 * step);
                            assert!(
                                (coded.column(k) + slope).norm() < 1e-4 * 500.0,
                                "{piece:?} {depth} {held:?}: {} {}",
                                coded.column(k),
                                -slope
                            );
                        }
                    }
                }
            }
        }
    }
}
