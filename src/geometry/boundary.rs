//! Edges in space and the closed boundaries made of them.

use crate::quantity::Angle;
use nalgebra::{Point3, Vector3};

/// One edge of a face's boundary, beginning where the one before it ends.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Hop {
    /// Straight to a point.
    Line(Point3<f64>),
    /// Round a centre to a point.
    Arc {
        /// Where it ends.
        to: Point3<f64>,
        /// Centre.
        centre: Point3<f64>,
        /// Unit axis; the arc turns counter-clockwise about it.
        axis: Vector3<f64>,
        /// Angle turned through, above 0, below a full turn, radians.
        turn_rad: f64,
        /// Chords that stand for it in a mesh.
        parts: u32,
    },
    /// Round an axis and evenly along it to a point.
    Helix {
        /// Where it ends.
        to: Point3<f64>,
        /// Point of the axis level with its beginning.
        centre: Point3<f64>,
        /// Point of the axis level with its end.
        centre_to: Point3<f64>,
        /// Unit axis; it turns counter-clockwise about it.
        axis: Vector3<f64>,
        /// Angle turned through, above 0, below a full turn, radians.
        turn_rad: f64,
        /// Chords that stand for it in a mesh.
        parts: u32,
    },
}

impl Hop {
    /// Where it ends.
    pub fn to(&self) -> Point3<f64> {
        match self {
            Self::Line(to) | Self::Arc { to, .. } | Self::Helix { to, .. } => *to,
        }
    }

    /// The same way back, to `from`.
    #[must_use]
    pub fn back_to(&self, from: Point3<f64>) -> Self {
        match *self {
            Self::Line(_) => Self::Line(from),
            Self::Arc {
                centre,
                axis,
                turn_rad,
                parts,
                ..
            } => Self::Arc {
                to: from,
                centre,
                axis: -axis,
                turn_rad,
                parts,
            },
            Self::Helix {
                centre,
                centre_to,
                axis,
                turn_rad,
                parts,
                ..
            } => Self::Helix {
                to: from,
                centre: centre_to,
                centre_to: centre,
                axis: -axis,
                turn_rad,
                parts,
            },
        }
    }

    /// Sent through `place`, a shift, a turn or both; `turn` is what it does to directions.
    #[must_use]
    pub fn placed(
        &self,
        place: &impl Fn(Point3<f64>) -> Point3<f64>,
        turn: &impl Fn(Vector3<f64>) -> Vector3<f64>,
    ) -> Self {
        match *self {
            Self::Line(to) => Self::Line(place(to)),
            Self::Arc {
                to,
                centre,
                axis,
                turn_rad,
                parts,
            } => Self::Arc {
                to: place(to),
                centre: place(centre),
                axis: turn(axis),
                turn_rad,
                parts,
            },
            Self::Helix {
                to,
                centre,
                centre_to,
                axis,
                turn_rad,
                parts,
            } => Self::Helix {
                to: place(to),
                centre: place(centre),
                centre_to: place(centre_to),
                axis: turn(axis),
                turn_rad,
                parts,
            },
        }
    }

    /// Point at a share of the way.
    pub fn at_share(&self, from: Point3<f64>, share: f64) -> Point3<f64> {
        match self {
            Self::Line(to) => from + (to - from) * share,
            Self::Arc {
                centre,
                axis,
                turn_rad,
                ..
            } => {
                let arm = from - centre;
                let angle = Angle::rad_from(turn_rad * share);
                centre + arm * angle.cos() + axis.cross(&arm) * angle.sin()
            }
            Self::Helix {
                centre,
                centre_to,
                axis,
                turn_rad,
                ..
            } => {
                let arm = from - centre;
                let angle = Angle::rad_from(turn_rad * share);
                let level = centre + (centre_to - centre) * share;
                level + arm * angle.cos() + axis.cross(&arm) * angle.sin()
            }
        }
    }

    /// Direction in which it leaves `from`, as long as the whole hop is at even speed.
    pub fn tangent(&self, from: Point3<f64>) -> Vector3<f64> {
        match self {
            Self::Line(to) => to - from,
            Self::Arc {
                centre,
                axis,
                turn_rad,
                ..
            } => axis.cross(&(from - centre)) * *turn_rad,
            Self::Helix {
                centre,
                centre_to,
                axis,
                turn_rad,
                ..
            } => axis.cross(&(from - centre)) * *turn_rad + (centre_to - centre),
        }
    }

    /// Points after `from`, up to and with the end.
    ///
    /// An arc is always walked from the same of its two ends, so that both faces at an edge get the
    /// same points to the last bit.
    pub(super) fn points(&self, from: Point3<f64>) -> Vec<Point3<f64>> {
        match *self {
            Self::Line(to) => vec![to],
            Self::Arc { to, parts, .. } | Self::Helix { to, parts, .. } => {
                let forward = (from.x, from.y, from.z) <= (to.x, to.y, to.z);
                let share = |part: u32| f64::from(part) / f64::from(parts);
                let mut inner: Vec<Point3<f64>> = if forward {
                    (1..parts)
                        .map(|part| self.at_share(from, share(part)))
                        .collect()
                } else {
                    let back = self.back_to(from);
                    (1..parts)
                        .rev()
                        .map(|part| back.at_share(to, share(part)))
                        .collect()
                };
                inner.push(to);
                inner
            }
        }
    }
}

/// A closed boundary: where it starts, and hops that lead back there.
#[derive(Debug, Clone, PartialEq)]
pub struct Boundary {
    /// Where it starts and ends.
    pub start: Point3<f64>,
    /// Its edges.
    pub hops: Vec<Hop>,
}

impl Boundary {
    /// A polygon.
    pub fn polygon(points: &[Point3<f64>]) -> Self {
        let start = points.first().copied().unwrap_or_else(Point3::origin);
        Self {
            start,
            hops: points
                .iter()
                .skip(1)
                .chain(points.first())
                .map(|point| Hop::Line(*point))
                .collect(),
        }
    }

    /// The same boundary walked the other way.
    #[must_use]
    pub fn reversed(&self) -> Self {
        let starts = std::iter::once(self.start).chain(self.hops.iter().map(Hop::to));
        let mut hops: Vec<Hop> = self
            .hops
            .iter()
            .zip(starts)
            .map(|(hop, from)| hop.back_to(from))
            .collect();
        hops.reverse();
        Self {
            start: self.start,
            hops,
        }
    }

    /// Sent through a shift, a turn or both, see [`Hop::placed`].
    #[must_use]
    pub fn placed(
        &self,
        place: &impl Fn(Point3<f64>) -> Point3<f64>,
        turn: &impl Fn(Vector3<f64>) -> Vector3<f64>,
    ) -> Self {
        Self {
            start: place(self.start),
            hops: self
                .hops
                .iter()
                .map(|hop| hop.placed(place, turn))
                .collect(),
        }
    }

    /// Every hop with the point where it begins.
    pub fn edges(&self) -> impl Iterator<Item = (Point3<f64>, Hop)> + '_ {
        let starts = std::iter::once(self.start).chain(self.hops.iter().map(Hop::to));
        starts.zip(self.hops.iter().copied())
    }

    /// Its corners in a mesh.
    pub(super) fn points(&self) -> Vec<Point3<f64>> {
        self.edges()
            .flat_map(|(from, hop)| hop.points(from))
            .collect()
    }
}
