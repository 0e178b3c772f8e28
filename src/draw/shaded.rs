//! Solids as a small shaded picture: orthographic, hidden surfaces by depth, dark edges where faces meet at an angle.
//!
//! Every pixel is the mean of several, so edges are smooth; no number depends on the machine.

use super::style::{Ink, Role, WHITE};
use crate::draw::style::Fill;
use crate::geometry::Mesh;
use crate::quantity::Angle;
use nalgebra::{Point3, Vector3};

/// Samples along each side of a pixel.
const SAMPLES: u32 = 3;
/// Width of an edge line, pixels.
const EDGE_PX: f64 = 1.3;
/// Faces that meet at a smaller angle are one round face, degrees; chords of a small arc differ by up to 30.
const CREASE_DEG: f64 = 33.0;
/// Free border, as a share of the picture's shorter side.
const BORDER: f64 = 0.045;
/// Brightness of a face that looks away from the light, and what facing it adds.
const LIGHT: (f64, f64) = (0.6, 0.43);
/// One solid in the picture.
#[derive(Debug, Clone, Copy)]
pub struct Shown<'a> {
    /// Its triangles, closed.
    pub mesh: &'a Mesh,
    /// Its colour in full light.
    pub tint: Ink,
}

/// Where it is seen from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Eye {
    /// Direction of the eye in plan, from the x axis towards y.
    pub round: Angle,
    /// How steeply it looks down.
    pub down: Angle,
}

/// Pixels, row by row from the top.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Picture {
    /// Pixels along and down.
    pub size_px: [u32; 2],
    /// Red, green and blue of each.
    pub rgb: Vec<u8>,
}

/// The colour in which a role's solids are drawn: that of its sections.
pub fn tint(role: Role) -> Ink {
    match role.style().fill {
        Fill::Plain(ink) | Fill::Lines { paper: ink, .. } => ink,
        Fill::None => WHITE,
    }
}

/// Draws solids as large as they fit.
///
/// # Units
/// - `size_px`: at least 1 along and down
pub fn picture(solids: &[Shown<'_>], eye: Eye, size_px: [u32; 2]) -> Picture {
    let Some(view) = View::of(solids, eye, size_px) else {
        return Canvas::new(size_px).averaged();
    };
    let mut canvas = Canvas::new(size_px);
    for solid in solids {
        let seen: Vec<Point3<f64>> = solid
            .mesh
            .vertices
            .iter()
            .map(|point| view.seen(point))
            .collect();
        canvas.faces(solid, &seen, &view);
    }
    // Edges of all come after faces of all: each is hidden by whatever stands before it.
    for solid in solids {
        canvas.edges(solid.mesh, &view);
    }
    canvas.averaged()
}

/// From millimetres in space to samples: x to the right, y down, z towards the eye (in samples too).
struct View {
    right: Vector3<f64>,
    up: Vector3<f64>,
    towards: Vector3<f64>,
    light: Vector3<f64>,
    per_mm: f64,
    shift: (f64, f64),
}

impl View {
    fn of(solids: &[Shown<'_>], eye: Eye, size_px: [u32; 2]) -> Option<Self> {
        let level = eye.down.cos();
        let towards = Vector3::new(
            eye.round.cos() * level,
            eye.round.sin() * level,
            eye.down.sin(),
        );
        let right = Vector3::new(-eye.round.sin(), eye.round.cos(), 0.0);
        let up = towards.cross(&right);
        let mut low = [f64::INFINITY; 2];
        let mut high = [f64::NEG_INFINITY; 2];
        for point in solids.iter().flat_map(|solid| &solid.mesh.vertices) {
            for (axis, along) in [right, up].into_iter().enumerate() {
                let place = point.coords.dot(&along);
                if let (Some(low), Some(high)) = (low.get_mut(axis), high.get_mut(axis)) {
                    *low = low.min(place);
                    *high = high.max(place);
                }
            }
        }
        let [width, height] = [high[0] - low[0], high[1] - low[1]];
        if !(width > 0.0 && height > 0.0) {
            return None;
        }
        let [room_x, room_y] = size_px.map(|px| f64::from(px * SAMPLES));
        let border = BORDER * room_x.min(room_y);
        let per_mm = ((room_x - 2.0 * border) / width).min((room_y - 2.0 * border) / height);
        Some(Self {
            right,
            up,
            towards,
            // Over the left shoulder.
            light: (towards * 0.6 + up * 0.8 - right * 0.3).normalize(),
            per_mm,
            shift: (
                room_x / 2.0 - f64::midpoint(low[0], high[0]) * per_mm,
                room_y / 2.0 + f64::midpoint(low[1], high[1]) * per_mm,
            ),
        })
    }

    fn seen(&self, point: &Point3<f64>) -> Point3<f64> {
        let along = |axis: &Vector3<f64>| point.coords.dot(axis) * self.per_mm;
        Point3::new(
            self.shift.0 + along(&self.right),
            self.shift.1 - along(&self.up),
            along(&self.towards),
        )
    }
}

/// Samples with their depth.
struct Canvas {
    size_px: [u32; 2],
    wide: usize,
    depth: Vec<f32>,
    colour: Vec<[u8; 3]>,
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a place on the canvas, held within it"
)]
fn held(place: f64, room: usize) -> usize {
    place.clamp(0.0, room as f64) as usize
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a colour, held within its range"
)]
fn shaded(ink: Ink, share: f64) -> [u8; 3] {
    [ink.0, ink.1, ink.2].map(|c| (f64::from(c) * share).clamp(0.0, 255.0).round() as u8)
}

impl Canvas {
    fn new(size_px: [u32; 2]) -> Self {
        let [wide, high] = size_px.map(|px| (px * SAMPLES) as usize);
        Self {
            size_px,
            wide,
            depth: vec![f32::NEG_INFINITY; wide * high],
            colour: vec![[WHITE.0, WHITE.1, WHITE.2]; wide * high],
        }
    }

    fn faces(&mut self, solid: &Shown<'_>, seen: &[Point3<f64>], view: &View) {
        for [a, b, c] in &solid.mesh.triangles {
            let at = |list: &[Point3<f64>], number: u32| list.get(number as usize).copied();
            let corners = &solid.mesh.vertices;
            let (Some(p), Some(q), Some(r)) = (at(corners, *a), at(corners, *b), at(corners, *c))
            else {
                continue;
            };
            let Some(normal) = (q - p).cross(&(r - p)).try_normalize(0.0) else {
                continue;
            };
            if normal.dot(&view.towards) <= 0.0 {
                continue;
            }
            let share = LIGHT.0 + LIGHT.1 * normal.dot(&view.light).max(0.0);
            let colour = shaded(solid.tint, share);
            if let (Some(p), Some(q), Some(r)) = (at(seen, *a), at(seen, *b), at(seen, *c)) {
                self.triangle([p, q, r], colour);
            }
        }
    }

    /// Fills what lies before everything drawn so far.
    #[expect(
        clippy::cast_possible_truncation,
        reason = "depth in samples needs no more digits"
    )]
    fn triangle(&mut self, [p, q, r]: [Point3<f64>; 3], colour: [u8; 3]) {
        let (u, v) = (q - p, r - p);
        let area = u.x * v.y - v.x * u.y;
        if area == 0.0 {
            return;
        }
        let per_x = (u.z * v.y - v.z * u.y) / area;
        let per_y = (u.x * v.z - v.x * u.z) / area;
        let (top, bottom) = (p.y.min(q.y).min(r.y), p.y.max(q.y).max(r.y));
        let high = self.depth.len() / self.wide;
        let (first, last) = (
            held((top - 0.5).ceil(), high),
            held((bottom + 0.5).floor(), high),
        );
        let rows = self
            .depth
            .chunks_exact_mut(self.wide)
            .zip(self.colour.chunks_exact_mut(self.wide))
            .enumerate()
            .take(last)
            .skip(first);
        for (row, (depth, colours)) in rows {
            let y = row as f64 + 0.5;
            let (mut left, mut right) = (f64::INFINITY, f64::NEG_INFINITY);
            for (a, b) in [(p, q), (q, r), (r, p)] {
                let (low, high) = (a.y.min(b.y), a.y.max(b.y));
                if low <= y && y <= high && low < high {
                    let x = a.x + (b.x - a.x) * (y - a.y) / (b.y - a.y);
                    left = left.min(x);
                    right = right.max(x);
                }
            }
            if left > right {
                continue;
            }
            let from = held((left - 0.5).ceil(), self.wide);
            let to = held((right + 0.5).floor(), self.wide);
            let samples = depth.iter_mut().zip(colours.iter_mut()).enumerate();
            for (column, (depth, seen)) in samples.take(to).skip(from) {
                let x = column as f64 + 0.5;
                let z = (p.z + per_x * (x - p.x) + per_y * (y - p.y)) as f32;
                if z > *depth {
                    *depth = z;
                    *seen = colour;
                }
            }
        }
    }

    /// Draws where faces meet at an angle, and where a round face turns away.
    fn edges(&mut self, mesh: &Mesh, view: &View) {
        let least = Angle::deg(CREASE_DEG).cos();
        let mut sides: Vec<(u32, u32, Vector3<f64>)> = Vec::with_capacity(3 * mesh.triangles.len());
        for ([a, b, c], [p, q, r]) in mesh.triangles.iter().zip(mesh.corners()) {
            let Some(normal) = (q - p).cross(&(r - p)).try_normalize(0.0) else {
                continue;
            };
            for (from, to) in [(*a, *b), (*b, *c), (*c, *a)] {
                sides.push((from.min(to), from.max(to), normal));
            }
        }
        sides.sort_by_key(|side| (side.0, side.1));
        for pair in sides.windows(2) {
            let &[(a, b, one), (c, d, other)] = pair else {
                continue;
            };
            if (a, b) != (c, d) {
                continue;
            }
            let (faces_one, faces_other) = (one.dot(&view.towards), other.dot(&view.towards));
            let is_seen = faces_one > 0.0 || faces_other > 0.0;
            let turns_away = (faces_one > 0.0) != (faces_other > 0.0);
            if is_seen && (turns_away || one.dot(&other) < least) {
                let end = |number: u32| mesh.vertices.get(number as usize).map(|p| view.seen(p));
                if let (Some(from), Some(to)) = (end(a), end(b)) {
                    self.line(from, to);
                }
            }
        }
    }

    /// A line of discs, where nothing stands before it.
    #[expect(
        clippy::cast_possible_truncation,
        reason = "depth in samples needs no more digits"
    )]
    fn line(&mut self, from: Point3<f64>, to: Point3<f64>) {
        let radius = EDGE_PX * f64::from(SAMPLES) / 2.0;
        // Faces beside an edge may come this much nearer within the line's width.
        let slack = 2.5 * radius;
        let ink = Role::Outline.style().ink;
        let along = to - from;
        let length = (along.x * along.x + along.y * along.y).sqrt();
        let steps = length.ceil().max(1.0);
        let high = self.depth.len() / self.wide;
        let mut step = 0.0;
        while step <= steps {
            let at = from + along * (step / steps);
            step += 1.0;
            let (top, bottom) = (
                held((at.y - radius).ceil(), high),
                held(at.y + radius + 1.0, high),
            );
            for row in top..bottom {
                let dy = row as f64 + 0.5 - at.y;
                let half = radius * radius - dy * dy;
                if half <= 0.0 {
                    continue;
                }
                let half = half.sqrt();
                let (left, right) = (
                    held((at.x - half).round(), self.wide),
                    held((at.x + half).round(), self.wide),
                );
                let begin = row * self.wide;
                let depth = self.depth.get(begin + left..begin + right);
                let colours = self.colour.get_mut(begin + left..begin + right);
                let (Some(depth), Some(colours)) = (depth, colours) else {
                    continue;
                };
                for (depth, colour) in depth.iter().zip(colours) {
                    if (at.z + slack) as f32 >= *depth {
                        *colour = [ink.0, ink.1, ink.2];
                    }
                }
            }
        }
    }

    /// One pixel of each block of samples.
    fn averaged(&self) -> Picture {
        let side = SAMPLES as usize;
        let count = SAMPLES * SAMPLES;
        let [wide, high] = self.size_px.map(|px| px as usize);
        let mut rgb = Vec::with_capacity(3 * wide * high);
        let mut sums = vec![[0_u32; 3]; wide];
        for rows in self.colour.chunks_exact(self.wide * side) {
            sums.fill([0; 3]);
            for row in rows.chunks_exact(self.wide) {
                for (sum, samples) in sums.iter_mut().zip(row.chunks_exact(side)) {
                    for sample in samples {
                        for (sum, value) in sum.iter_mut().zip(sample) {
                            *sum += u32::from(*value);
                        }
                    }
                }
            }
            for sum in &sums {
                rgb.extend(
                    sum.map(|sum| u8::try_from((sum + count / 2) / count).unwrap_or(u8::MAX)),
                );
            }
        }
        Picture {
            size_px: self.size_px,
            rgb,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A box from one corner to the other.
    fn block(low: [f64; 3], high: [f64; 3]) -> Mesh {
        let vertices = (0..8)
            .map(|n| {
                let c = |axis: usize| {
                    if n >> axis & 1 == 0 {
                        low[axis]
                    } else {
                        high[axis]
                    }
                };
                Point3::new(c(0), c(1), c(2))
            })
            .collect();
        let sides = [
            [0, 2, 3, 1],
            [4, 5, 7, 6],
            [0, 1, 5, 4],
            [2, 6, 7, 3],
            [0, 4, 6, 2],
            [1, 3, 7, 5],
        ];
        let triangles = sides
            .iter()
            .flat_map(|[a, b, c, d]| [[*a, *b, *c], [*a, *c, *d]])
            .collect();
        let mesh = Mesh {
            vertices,
            triangles,
        };
        mesh.check_closed().unwrap();
        mesh
    }

    const ABOVE: Eye = Eye {
        round: Angle::ZERO,
        down: Angle::ZERO,
    };

    fn pixel(picture: &Picture, x: u32, y: u32) -> [u8; 3] {
        let at = 3 * (y * picture.size_px[0] + x) as usize;
        picture.rgb[at..at + 3].try_into().unwrap()
    }

    #[test]
    fn the_nearer_solid_hides_the_other_whatever_comes_first() {
        // Seen along -x: the near one stands at larger x and is smaller.
        let far = block([0.0, -10.0, -10.0], [1.0, 10.0, 10.0]);
        let near = block([5.0, -4.0, -4.0], [6.0, 4.0, 4.0]);
        let (dark, light) = (Ink(60, 60, 60), Ink(240, 240, 240));
        let one = Shown {
            mesh: &far,
            tint: light,
        };
        let other = Shown {
            mesh: &near,
            tint: dark,
        };
        let pictures = [
            picture(&[one, other], ABOVE, [60, 60]),
            picture(&[other, one], ABOVE, [60, 60]),
        ];
        assert_eq!(pictures[0], pictures[1]);
        assert!(pixel(&pictures[0], 30, 30)[0] < 70);
        assert!(pixel(&pictures[0], 10, 10)[0] > 100);
        assert_eq!(pixel(&pictures[0], 0, 0), [255; 3]);
        // The near one's edge is drawn, its hidden back edges are not.
        let edge = Role::Outline.style().ink;
        let middle_row: Vec<u8> = (0..60).map(|x| pixel(&pictures[0], x, 30)[0]).collect();
        assert!(middle_row.iter().any(|shade| *shade <= edge.0 + 30));
    }

    #[test]
    fn nothing_and_flat_things_leave_bare_paper() {
        let empty = Mesh::default();
        let shown = Shown {
            mesh: &empty,
            tint: WHITE,
        };
        for solids in [&[][..], &[shown]] {
            let bare = picture(solids, ABOVE, [5, 3]);
            assert_eq!(bare.rgb, vec![255; 45]);
        }
    }

    #[test]
    fn size_of_the_solid_does_not_matter() {
        let of = |size: f64| {
            let mesh = block([0.0; 3], [size, size, size / 2.0]);
            let eye = Eye {
                round: Angle::deg(30.0),
                down: Angle::deg(20.0),
            };
            picture(
                &[Shown {
                    mesh: &mesh,
                    tint: Ink(200, 200, 200),
                }],
                eye,
                [64, 48],
            )
        };
        // Powers of two scale without rounding.
        assert_eq!(of(1.0), of(1024.0));
        assert_eq!(of(1.0), of(1.0 / 1024.0));
    }
}
