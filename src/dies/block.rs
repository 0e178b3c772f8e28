//! One die block as a body: working face, flat back, cheeks, ledges, pins, sockets and engraved marks.
//!
//! Every block is described with its material below the face and its back at the bottom; the upper die is
//! turned half round the y axis for that. The face's lines and arcs are swept along y; nothing is cut or
//! joined afterwards, so faces meet edge to edge.

use crate::geometry::chain::arc_parts;
use crate::geometry::{Body, Boundary, Chain, Hop, Piece, Segment};
use crate::quantity::Angle;
use nalgebra::{Point3, Vector3};
use std::f64::consts::PI;

/// A standing pin with a bevelled tip.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pin {
    /// Place along x.
    pub x_mm: f64,
    /// Place along y.
    pub y_mm: f64,
    /// Radius.
    pub radius_mm: f64,
    /// Height above the land.
    pub height_mm: f64,
    /// Bevel of the tip, 45 degrees.
    pub bevel_mm: f64,
}

/// A blind hole with a bevelled mouth.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Socket {
    /// Place along x.
    pub x_mm: f64,
    /// Place along y.
    pub y_mm: f64,
    /// Radius below the bevel.
    pub radius_mm: f64,
    /// Depth below the land.
    pub depth_mm: f64,
    /// Bevel of the mouth, 45 degrees.
    pub bevel_mm: f64,
}

/// Ledge at both ends of the back, for fingers, clamps or tape.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ledge {
    /// How far it stands out along x.
    pub length_mm: f64,
    /// How thick it is, from the back.
    pub thickness_mm: f64,
}

/// Polygons engraved in the side at the largest y, as (x, z) corners, counter-clockwise seen from there.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Marks {
    /// The polygons.
    pub polygons: Vec<Vec<[f64; 2]>>,
    /// Depth.
    pub depth_mm: f64,
}

/// One block.
#[derive(Debug, Clone, PartialEq)]
pub struct BlockShape {
    /// Working face from left to right, headings within 90 degrees of x, material below.
    pub face: Chain,
    /// Level of the flat back.
    pub back_mm: f64,
    /// Extent of the face along y.
    pub y_mm: (f64, f64),
    /// Thickness of the cheek at the smaller y.
    pub front_cheek_mm: Option<f64>,
    /// Thickness of the cheek at the larger y.
    pub back_cheek_mm: Option<f64>,
    /// Level at which cheeks end, above every point of the face.
    pub cheek_top_mm: f64,
    /// Ledges.
    pub ledge: Option<Ledge>,
    /// Pins; each on a level land.
    pub pins: Vec<Pin>,
    /// Sockets; each in a level land.
    pub sockets: Vec<Socket>,
    /// Engraved marks.
    pub marks: Marks,
    /// Largest distance between arcs and their chords in the mesh.
    pub chord_error_mm: f64,
}

impl BlockShape {
    /// A block without any feature.
    pub fn plain(face: Chain, back_mm: f64, y_mm: (f64, f64), chord_error_mm: f64) -> Self {
        Self {
            face,
            back_mm,
            y_mm,
            front_cheek_mm: None,
            back_cheek_mm: None,
            cheek_top_mm: f64::INFINITY,
            ledge: None,
            pins: Vec::new(),
            sockets: Vec::new(),
            marks: Marks::default(),
            chord_error_mm,
        }
    }

    /// Extent along x without ledges.
    pub fn x_mm(&self) -> (f64, f64) {
        (self.face.start.point.x, self.face.end().point.x)
    }

    /// Extent along y with cheeks.
    fn outer_y_mm(&self) -> (f64, f64) {
        (
            self.y_mm.0 - self.front_cheek_mm.unwrap_or(0.0),
            self.y_mm.1 + self.back_cheek_mm.unwrap_or(0.0),
        )
    }

    /// Exact volume, arcs counted as arcs.
    pub fn volume_mm3(&self) -> f64 {
        let (x0, x1) = self.x_mm();
        let (y0, y1) = self.y_mm;
        let (outer0, outer1) = self.outer_y_mm();
        let body = self.face.area_above_mm2(self.back_mm) * (y1 - y0);
        let cheek_mm = self.front_cheek_mm.unwrap_or(0.0) + self.back_cheek_mm.unwrap_or(0.0);
        let cheeks = if cheek_mm > 0.0 {
            (x1 - x0) * (self.cheek_top_mm - self.back_mm) * cheek_mm
        } else {
            0.0
        };
        let ledges = self.ledge.map_or(0.0, |ledge| {
            2.0 * ledge.length_mm * ledge.thickness_mm * (outer1 - outer0)
        });
        let pins: f64 = self
            .pins
            .iter()
            .map(|pin| {
                let tip_mm = pin.radius_mm - pin.bevel_mm;
                cylinder(pin.radius_mm, pin.height_mm - pin.bevel_mm)
                    + cone(pin.radius_mm, tip_mm, pin.bevel_mm)
            })
            .sum();
        let sockets: f64 = self
            .sockets
            .iter()
            .map(|socket| {
                let mouth_mm = socket.radius_mm + socket.bevel_mm;
                cylinder(socket.radius_mm, socket.depth_mm - socket.bevel_mm)
                    + cone(mouth_mm, socket.radius_mm, socket.bevel_mm)
            })
            .sum();
        let marks: f64 = self
            .marks
            .polygons
            .iter()
            .map(|polygon| polygon_area(polygon) * self.marks.depth_mm)
            .sum();
        body + cheeks + ledges + pins - sockets - marks
    }

    /// The block as faces that meet edge to edge.
    pub fn body(&self) -> Body {
        let mut body = Body::default();
        self.working_face(&mut body);
        self.sides(&mut body);
        self.ends_and_back(&mut body);
        for pin in &self.pins {
            self.pin(pin, &mut body);
        }
        for socket in &self.sockets {
            self.socket(socket, &mut body);
        }
        body
    }

    fn land_level_mm(&self, x_mm: f64) -> f64 {
        self.face.height_at(x_mm)
    }

    fn working_face(&self, body: &mut Body) {
        let (y0, y1) = self.y_mm;
        for piece in self.face.pieces() {
            let low = hop_of(&piece, y0, self.chord_error_mm);
            let high = hop_of(&piece, y1, self.chord_error_mm);
            let holes = self.holes_in(&piece);
            if holes.is_empty() {
                body.ruled(low, high);
                continue;
            }
            let outer = Boundary::polygon(&[low.0, low.1.to(), high.1.to(), high.0]);
            body.plane(std::iter::once(outer).chain(holes).collect());
        }
    }

    /// Feet of pins and mouths of sockets in a piece of the face, as clockwise holes.
    fn holes_in(&self, piece: &Piece) -> Vec<Boundary> {
        let within = |x: f64| piece.start.point.x < x && x < piece.end.point.x;
        let pins = self
            .pins
            .iter()
            .map(|pin| (pin.x_mm, pin.y_mm, pin.radius_mm, pin.radius_mm));
        let sockets = self.sockets.iter().map(|socket| {
            let mouth_mm = socket.radius_mm + socket.bevel_mm;
            (socket.x_mm, socket.y_mm, mouth_mm, mouth_mm)
        });
        pins.chain(sockets)
            .filter(|(x, ..)| within(*x))
            .map(|(x, y, radius_mm, finest_mm)| {
                self.circle(x, y, self.land_level_mm(x), radius_mm, finest_mm)
                    .reversed()
            })
            .collect()
    }

    /// Circle about z, counter-clockwise, as two halves; as many chords as a radius of `finest_mm` needs.
    fn circle(&self, x: f64, y: f64, z: f64, radius_mm: f64, finest_mm: f64) -> Boundary {
        let centre = Point3::new(x, y, z);
        let arm = Vector3::new(radius_mm, 0.0, 0.0);
        let parts = arc_parts(finest_mm, Angle::rad_from(PI), self.chord_error_mm).max(2);
        let half = |to| Hop::Arc {
            to,
            centre,
            axis: Vector3::z(),
            turn_rad: PI,
            parts,
        };
        Boundary {
            start: centre + arm,
            hops: vec![half(centre - arm), half(centre + arm)],
        }
    }

    fn pin(&self, pin: &Pin, body: &mut Body) {
        let foot = self.land_level_mm(pin.x_mm);
        let ring =
            |z: f64, radius_mm: f64| self.circle(pin.x_mm, pin.y_mm, z, radius_mm, pin.radius_mm);
        let shoulder = ring(foot + pin.height_mm - pin.bevel_mm, pin.radius_mm);
        let tip = ring(foot + pin.height_mm, pin.radius_mm - pin.bevel_mm);
        body.wall(&ring(foot, pin.radius_mm), &shoulder);
        body.wall(&shoulder, &tip);
        body.plane(vec![tip]);
    }

    fn socket(&self, socket: &Socket, body: &mut Body) {
        let land = self.land_level_mm(socket.x_mm);
        let mouth_mm = socket.radius_mm + socket.bevel_mm;
        let ring =
            |z: f64, radius_mm: f64| self.circle(socket.x_mm, socket.y_mm, z, radius_mm, mouth_mm);
        let throat = ring(land - socket.bevel_mm, socket.radius_mm);
        let bottom = ring(land - socket.depth_mm, socket.radius_mm);
        body.wall(&ring(land, mouth_mm), &throat);
        body.wall(&throat, &bottom);
        body.plane(vec![bottom]);
    }

    /// Boundary of the block's own section at `y`, counter-clockwise seen from smaller y.
    ///
    /// `over` ends it above: along the face, or straight at the top of a cheek.
    fn section(&self, y: f64, over: &Over) -> Boundary {
        let (x0, x1) = self.x_mm();
        let at = |x: f64, z: f64| Point3::new(x, y, z);
        let mut hops = Vec::new();
        let start;
        if let Some(ledge) = self.ledge {
            let shoulder = self.back_mm + ledge.thickness_mm;
            start = at(x0 - ledge.length_mm, self.back_mm);
            hops.extend(
                [
                    at(x1 + ledge.length_mm, self.back_mm),
                    at(x1 + ledge.length_mm, shoulder),
                    at(x1, shoulder),
                ]
                .map(Hop::Line),
            );
        } else {
            start = at(x0, self.back_mm);
            hops.push(Hop::Line(at(x1, self.back_mm)));
        }
        match over {
            Over::Face => {
                hops.push(Hop::Line(at(x1, self.face.end().point.y)));
                let mut back: Vec<Hop> = self
                    .face
                    .pieces()
                    .map(|piece| {
                        let (from, hop) = hop_of(&piece, y, self.chord_error_mm);
                        hop.back_to(from)
                    })
                    .collect();
                back.reverse();
                hops.extend(back);
            }
            Over::CheekTop => {
                hops.push(Hop::Line(at(x1, self.cheek_top_mm)));
                hops.push(Hop::Line(at(x0, self.cheek_top_mm)));
            }
        }
        if let Some(ledge) = self.ledge {
            let shoulder = self.back_mm + ledge.thickness_mm;
            hops.push(Hop::Line(at(x0, shoulder)));
            hops.push(Hop::Line(at(x0 - ledge.length_mm, shoulder)));
        }
        hops.push(Hop::Line(start));
        Boundary { start, hops }
    }

    /// The part of a cheek's inner side that stands above the face, counter-clockwise from smaller y.
    fn above_face(&self, y: f64) -> Boundary {
        let (x0, x1) = self.x_mm();
        let start = Point3::new(x0, y, self.face.start.point.y);
        let mut hops: Vec<Hop> = self
            .face
            .pieces()
            .map(|piece| hop_of(&piece, y, self.chord_error_mm).1)
            .collect();
        hops.push(Hop::Line(Point3::new(x1, y, self.cheek_top_mm)));
        hops.push(Hop::Line(Point3::new(x0, y, self.cheek_top_mm)));
        hops.push(Hop::Line(start));
        Boundary { start, hops }
    }

    fn sides(&self, body: &mut Body) {
        let (x0, x1) = self.x_mm();
        let (y0, y1) = self.y_mm;
        let (outer0, outer1) = self.outer_y_mm();
        let lid = |from: f64, to: f64| {
            Boundary::polygon(&[
                Point3::new(x0, from, self.cheek_top_mm),
                Point3::new(x1, from, self.cheek_top_mm),
                Point3::new(x1, to, self.cheek_top_mm),
                Point3::new(x0, to, self.cheek_top_mm),
            ])
        };
        if self.front_cheek_mm.is_some() {
            body.plane(vec![self.section(outer0, &Over::CheekTop)]);
            body.plane(vec![self.above_face(y0).reversed()]);
            body.plane(vec![lid(outer0, y0)]);
        } else {
            body.plane(vec![self.section(y0, &Over::Face)]);
        }
        let back = if self.back_cheek_mm.is_some() {
            body.plane(vec![self.above_face(y1)]);
            body.plane(vec![lid(y1, outer1)]);
            self.section(outer1, &Over::CheekTop)
        } else {
            self.section(y1, &Over::Face)
        };
        let mut boundaries = vec![back.reversed()];
        for polygon in &self.marks.polygons {
            let at = |y: f64| {
                let corners: Vec<Point3<f64>> = polygon
                    .iter()
                    .map(|[x, z]| Point3::new(*x, y, *z))
                    .collect();
                Boundary::polygon(&corners)
            };
            let (rim, floor) = (at(outer1), at(outer1 - self.marks.depth_mm));
            boundaries.push(rim.reversed());
            body.wall(&rim, &floor);
            body.plane(vec![floor]);
        }
        body.plane(boundaries);
    }

    fn ends_and_back(&self, body: &mut Body) {
        let (x0, x1) = self.x_mm();
        let (outer0, outer1) = self.outer_y_mm();
        let foot = self
            .ledge
            .map_or(self.back_mm, |ledge| self.back_mm + ledge.thickness_mm);
        for (x, z, outwards) in [
            (x0, self.face.start.point.y, -1.0),
            (x1, self.face.end().point.y, 1.0),
        ] {
            let end = self.end_face(x, z, foot);
            body.plane(vec![if outwards > 0.0 { end } else { end.reversed() }]);
            let Some(ledge) = self.ledge else { continue };
            let tip = x + outwards * ledge.length_mm;
            let (low, high) = (x.min(tip), x.max(tip));
            body.plane(vec![Boundary::polygon(&[
                Point3::new(low, outer0, foot),
                Point3::new(high, outer0, foot),
                Point3::new(high, outer1, foot),
                Point3::new(low, outer1, foot),
            ])]);
            let face = Boundary::polygon(&[
                Point3::new(tip, outer0, self.back_mm),
                Point3::new(tip, outer1, self.back_mm),
                Point3::new(tip, outer1, foot),
                Point3::new(tip, outer0, foot),
            ]);
            body.plane(vec![if outwards > 0.0 {
                face
            } else {
                face.reversed()
            }]);
        }
        let reach = self.ledge.map_or(0.0, |ledge| ledge.length_mm);
        body.plane(vec![Boundary::polygon(&[
            Point3::new(x0 - reach, outer0, self.back_mm),
            Point3::new(x0 - reach, outer1, self.back_mm),
            Point3::new(x1 + reach, outer1, self.back_mm),
            Point3::new(x1 + reach, outer0, self.back_mm),
        ])]);
    }

    /// End face at `x`, counter-clockwise seen from larger x: a U where cheeks stand.
    fn end_face(&self, x: f64, face_z: f64, foot: f64) -> Boundary {
        let (y0, y1) = self.y_mm;
        let (outer0, outer1) = self.outer_y_mm();
        let mut corners = vec![(outer0, foot), (outer1, foot)];
        if self.back_cheek_mm.is_some() {
            corners.extend([(outer1, self.cheek_top_mm), (y1, self.cheek_top_mm)]);
        }
        corners.extend([(y1, face_z), (y0, face_z)]);
        if self.front_cheek_mm.is_some() {
            corners.extend([(y0, self.cheek_top_mm), (outer0, self.cheek_top_mm)]);
        }
        let corners: Vec<Point3<f64>> = corners
            .into_iter()
            .map(|(y, z)| Point3::new(x, y, z))
            .collect();
        Boundary::polygon(&corners)
    }
}

/// How a section ends above.
enum Over {
    Face,
    CheekTop,
}

/// A piece of the face as an edge at `y`.
fn hop_of(piece: &Piece, y: f64, chord_error_mm: f64) -> (Point3<f64>, Hop) {
    let at = |point: nalgebra::Point2<f64>| Point3::new(point.x, y, point.y);
    let to = at(piece.end.point);
    let hop = match (piece.segment, piece.centre()) {
        (Segment::Arc { radius_mm, turn }, Some(centre)) => Hop::Arc {
            to,
            centre: at(centre),
            // Left turns go from x towards z: that is about -y.
            axis: -Vector3::y() * turn.rad().signum(),
            turn_rad: turn.rad().abs(),
            parts: arc_parts(radius_mm, turn, chord_error_mm),
        },
        _ => Hop::Line(to),
    };
    (at(piece.start.point), hop)
}

fn cylinder(radius_mm: f64, height_mm: f64) -> f64 {
    PI * radius_mm * radius_mm * height_mm
}

/// Frustum of a cone: πh/3 (a² + ab + b²).
fn cone(a: f64, b: f64, height_mm: f64) -> f64 {
    PI * height_mm / 3.0 * (a * a + a * b + b * b)
}

/// Area of a polygon in the (x, z) plane, without sign.
fn polygon_area(corners: &[[f64; 2]]) -> f64 {
    let next = corners.iter().cycle().skip(1);
    corners
        .iter()
        .zip(next)
        .map(|([ax, az], [bx, bz])| ax * bz - bx * az)
        .sum::<f64>()
        .abs()
        / 2.0
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    fn stair() -> Chain {
        let mut chain = Chain::from_start(0.0, 0.0, Angle::ZERO);
        chain
            .line(15.0)
            .arc(2.0, Angle::deg(60.0))
            .line(4.0)
            .arc(3.0, Angle::deg(-60.0))
            .line(15.0);
        chain
    }

    fn rich() -> BlockShape {
        BlockShape {
            front_cheek_mm: Some(4.0),
            back_cheek_mm: Some(3.0),
            cheek_top_mm: 20.0,
            ledge: Some(Ledge {
                length_mm: 8.0,
                thickness_mm: 5.0,
            }),
            pins: vec![Pin {
                x_mm: 6.0,
                y_mm: 10.0,
                radius_mm: 3.0,
                height_mm: 6.0,
                bevel_mm: 0.8,
            }],
            sockets: vec![Socket {
                x_mm: 32.0,
                y_mm: 12.0,
                radius_mm: 3.2,
                depth_mm: 7.0,
                bevel_mm: 0.8,
            }],
            marks: Marks {
                polygons: vec![vec![[10.0, -8.0], [6.0, -8.0], [6.0, -4.0], [10.0, -4.0]]],
                depth_mm: 0.6,
            },
            ..BlockShape::plain(stair(), -10.0, (0.0, 40.0), 0.005)
        }
    }

    #[test]
    fn every_feature_together_closes_and_has_its_volume() {
        let shape = rich();
        let mesh = shape.body().mesh().unwrap();
        assert_relative_eq!(mesh.volume_mm3(), shape.volume_mm3(), max_relative = 5e-5);
        crate::geometry::solid::solid(&shape.body()).unwrap();
    }

    /// Pin r 3, h 6, bevel 0.8: π 9 5.2 + (0.8 π/3)(9 + 6.6 + 4.84), from the frustum formula.
    #[test]
    fn a_pin_adds_its_cylinder_and_its_frustum() {
        let plain = BlockShape::plain(stair(), -10.0, (0.0, 40.0), 0.001);
        let mut pinned = plain.clone();
        pinned.pins = rich().pins;
        let added = PI * 9.0 * 5.2 + 0.8 * PI / 3.0 * (9.0 + 6.6 + 4.84);
        assert_relative_eq!(
            pinned.volume_mm3() - plain.volume_mm3(),
            added,
            max_relative = 1e-12
        );
        let meshed =
            pinned.body().mesh().unwrap().volume_mm3() - plain.body().mesh().unwrap().volume_mm3();
        assert_relative_eq!(meshed, added, max_relative = 1e-3);
    }
}
