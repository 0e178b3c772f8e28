//! The pair of dies and the sheet in section, piece by piece, as the pictures of the dies need them.

use crate::dies::block::{BlockShape, Ledge, Pin, Socket};
use crate::dies::{DieSide as Die, Tooling};
use crate::draw::drawing::Drawing;
use crate::draw::style::Role;
use crate::draw::view::View;
use crate::forming::pressing::{Frame, StripOutline};
use crate::geometry::loops::{LoopEdge, chain_sides};
use crate::geometry::{Chain, Loop, Segment};
use crate::job::{Backs, Job};
use crate::part::Part;
use nalgebra::{Point2, Vector2};

/// The pair with its part.
pub struct Pair<'a> {
    pub part: &'a Part,
    pub tooling: &'a Tooling,
    pub backs: Backs,
    /// What came of the pressing, where it was calculated.
    pressed: Option<Pressed<'a>>,
    lower: Option<&'a BlockShape>,
    upper: Option<&'a BlockShape>,
}

impl<'a> Pair<'a> {
    /// `None`: the job has no pair.
    pub fn of(job: &'a Job) -> Option<Self> {
        let (part, tooling) = (&job.part, job.tooling.as_ref().ok()?);
        let backs = job.backs_of(tooling);
        let shape = |role: Die| {
            tooling
                .blocks
                .iter()
                .find(|block| block.role == role)
                .map(|block| &block.shape)
        };
        let pressed = job.pressing.as_ref().and_then(|pressing| {
            Some(Pressed {
                touching: pressing.frames.first()?,
                closed: pressing.frames.last()?,
                opened: pressing.let_go(part),
            })
        });
        Some(Self {
            part,
            tooling,
            backs,
            pressed,
            lower: shape(Die::Lower),
            upper: shape(Die::Upper),
        })
    }

    /// How far the upper die stands above its drawn closed place when it touches the blank, and when the pressing ends.
    pub fn lifts_mm(&self) -> [f64; 2] {
        let backs = &self.backs;
        [backs.touching_mm, backs.end_mm].map(|height_mm| height_mm - backs.closed_mm)
    }

    /// The sheet touched by the upper die.
    pub fn touched(&self, view: &View, drawing: &mut Drawing) {
        match &self.pressed {
            Some(pressed) => strip(&pressed.touching.strip, view, drawing),
            None => self.laid(view, drawing),
        }
    }

    /// The sheet at the end of the pressing.
    pub fn closed(&self, view: &View, drawing: &mut Drawing) {
        match &self.pressed {
            Some(pressed) => strip(&pressed.closed.strip, view, drawing),
            None => self.sheet(&self.tooling.section.strip, view, drawing),
        }
    }

    /// The plate in the lower die after letting go.
    pub fn opened(&self, view: &View, drawing: &mut Drawing) {
        match &self.pressed {
            Some(pressed) => strip(&pressed.opened, view, drawing),
            None => self.sheet(&self.released(), view, drawing),
        }
    }

    /// How far places of the sheet move when it is let go.
    pub fn sprung_mm(&self) -> f64 {
        match &self.pressed {
            Some(pressed) => pressed.opened.apart_mm(&pressed.closed.strip),
            None => apart(&self.tooling.section.strip, &self.released()),
        }
    }

    pub fn ledge(&self) -> Option<Ledge> {
        self.lower.and_then(|shape| shape.ledge)
    }

    /// Ends of the blocks along x, without ledges.
    pub fn ends(&self) -> (f64, f64) {
        let face = &self.tooling.section.lower;
        (face.start.point.x, face.end().point.x)
    }

    /// Box around both blocks, and the laid-in blank.
    pub fn extent(&self, lift_mm: f64) -> (Point2<f64>, Point2<f64>) {
        let (from, to) = self.ends();
        let out_mm = self.ledge().map_or(0.0, |ledge| ledge.length_mm);
        let laid = self.tooling.section.laid;
        (
            Point2::new((from - out_mm).min(laid.left.x), self.tooling.lower_back_mm),
            Point2::new(
                (to + out_mm).max(laid.right.x),
                self.tooling.upper_back_mm + lift_mm,
            ),
        )
    }

    pub fn blocks(&self, view: &View, lift_mm: f64, drawing: &mut Drawing) {
        let section = &self.tooling.section;
        let ledge = self.ledge();
        let lower = block_section(&section.lower, self.tooling.lower_back_mm, ledge);
        drawing.area(Role::LowerDie, vec![view.shape(&lower)]);
        let upper = block_section(&section.upper, self.tooling.upper_back_mm, ledge);
        let lifted = view.shifted(Vector2::new(0.0, lift_mm));
        drawing.area(Role::UpperDie, vec![lifted.shape(&upper)]);
    }

    pub fn sheet(&self, mid: &Chain, view: &View, drawing: &mut Drawing) {
        let half_mm = self.part.sheet.thickness_mm / 2.0;
        if let (Ok(below), Ok(above)) = (mid.offset(-half_mm), mid.offset(half_mm)) {
            let shape = view.shape(&Loop::between(&below, &above));
            drawing.area(Role::Metal, vec![shape]);
        }
    }

    pub fn laid(&self, view: &View, drawing: &mut Drawing) {
        let laid = self.tooling.section.laid;
        let along = (laid.right - laid.left).normalize();
        let up = Vector2::new(-along.y, along.x) * self.part.sheet.thickness_mm;
        let corners = [laid.left, laid.right, laid.right + up, laid.left + up];
        let shape = Loop::polygon(&corners.map(|corner| view.point(corner)));
        drawing.area(Role::Metal, vec![shape]);
    }

    /// Pins of the lower die and sockets of the upper one.
    pub fn hidden(&self, view: &View, lift_mm: f64, drawing: &mut Drawing) {
        let section = &self.tooling.section;
        for pin in self.lower.iter().flat_map(|shape| &shape.pins) {
            let foot = section.lower.height_at(pin.x_mm);
            let shape = pin_shape(pin, foot);
            drawing.area(Role::HiddenEdge, vec![view.shape(&shape)]);
        }
        let lifted = view.shifted(Vector2::new(0.0, lift_mm));
        for socket in self.upper.iter().flat_map(|shape| &shape.sockets) {
            // The upper block's own frame is turned half round.
            let x_mm = -socket.x_mm;
            let shape = socket_shape(socket, x_mm, section.upper.height_at(x_mm));
            drawing.area(Role::HiddenEdge, vec![lifted.shape(&shape)]);
        }
    }

    pub fn has_cheek(&self) -> bool {
        self.lower
            .is_some_and(|shape| shape.front_cheek_mm.is_some() || shape.back_cheek_mm.is_some())
    }

    fn released(&self) -> Chain {
        released(self.part, self.tooling)
    }
}

/// The drawn part as it lies in the lower die once it is let go: on its first flat.
pub fn released(part: &Part, tooling: &Tooling) -> Chain {
    let mid = &part.profile.mid;
    let strip = &tooling.section.strip;
    let turned = mid.turned(mid.start.point, tooling.section.tilt);
    let half = |chain: &Chain| {
        let first_mm = chain.segments.first().map_or(0.0, Segment::length_mm);
        chain.at(first_mm / 2.0).point
    };
    let by = half(strip) - half(&turned);
    turned.moved(by)
}

/// What came of a pressing, in the dies' frame.
struct Pressed<'a> {
    touching: &'a Frame,
    closed: &'a Frame,
    opened: StripOutline,
}

/// Places along the sheet at which closed and released shape are compared.
const PLACES: u16 = 400;

/// Largest distance between the same places of two chains of equal length.
fn apart(one: &Chain, other: &Chain) -> f64 {
    let length_mm = one.length_mm();
    (0..=PLACES)
        .map(|place| {
            let along = length_mm * f64::from(place) / f64::from(PLACES);
            (one.at(along).point - other.at(along).point).norm()
        })
        .fold(0.0, f64::max)
}

fn strip(outline: &StripOutline, view: &View, drawing: &mut Drawing) {
    let corners = outline.under.iter().chain(outline.top.iter().rev());
    let corners: Vec<Point2<f64>> = corners.map(|corner| view.point(*corner)).collect();
    drawing.area(Role::Metal, vec![Loop::polygon(&corners)]);
}

/// A block's section between its working face and its back.
fn block_section(face: &Chain, back_mm: f64, ledge: Option<Ledge>) -> Loop {
    let (from, to) = (face.start.point, face.end().point);
    // The back lies below the lower die's face and above the upper die's.
    let inwards = if back_mm < from.y { 1.0 } else { -1.0 };
    let mut corners = Vec::new();
    match ledge {
        Some(ledge) => {
            let shoulder = back_mm + inwards * ledge.thickness_mm;
            corners.extend([
                (to.x, shoulder),
                (to.x + ledge.length_mm, shoulder),
                (to.x + ledge.length_mm, back_mm),
                (from.x - ledge.length_mm, back_mm),
                (from.x - ledge.length_mm, shoulder),
                (from.x, shoulder),
            ]);
        }
        None => corners.extend([(to.x, back_mm), (from.x, back_mm)]),
    }
    let mut edges: Vec<LoopEdge> = chain_sides(face).map(|side| side.edge).collect();
    edges.extend(corners.into_iter().map(|(x, z)| LoopEdge::Line {
        to: Point2::new(x, z),
    }));
    edges.push(LoopEdge::Line { to: from });
    Loop::from_known_edges(edges)
}

/// A pin from the side, standing on its land.
fn pin_shape(pin: &Pin, foot_mm: f64) -> Loop {
    let (shoulder, tip) = (
        foot_mm + pin.height_mm - pin.bevel_mm,
        foot_mm + pin.height_mm,
    );
    mirrored(
        pin.x_mm,
        [
            (pin.radius_mm, foot_mm),
            (pin.radius_mm, shoulder),
            (pin.radius_mm - pin.bevel_mm, tip),
        ],
    )
}

/// A socket from the side, open downwards.
fn socket_shape(socket: &Socket, x_mm: f64, land_mm: f64) -> Loop {
    mirrored(
        x_mm,
        [
            (socket.radius_mm + socket.bevel_mm, land_mm),
            (socket.radius_mm, land_mm + socket.bevel_mm),
            (socket.radius_mm, land_mm + socket.depth_mm),
        ],
    )
}

/// A round body from the side: half-widths with their levels, on both sides of its axis.
fn mirrored(x_mm: f64, half: [(f64, f64); 3]) -> Loop {
    let right = half.into_iter().map(|(out, z)| Point2::new(x_mm + out, z));
    let left = half
        .into_iter()
        .rev()
        .map(|(out, z)| Point2::new(x_mm - out, z));
    Loop::polygon(&right.chain(left).collect::<Vec<_>>())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::output::pictures::fixtures::check::tooled;
    use approx::assert_abs_diff_eq;

    #[test]
    fn the_released_part_is_the_drawn_one_on_its_first_flat() {
        for (name, job) in tooled() {
            let pair = Pair::of(&job).unwrap();
            let (part, released) = (pair.part, pair.released());
            let strip = &pair.tooling.section.strip;
            assert_eq!(released.segments, part.profile.mid.segments, "{name}");
            assert_abs_diff_eq!(
                released.start.heading.rad(),
                strip.start.heading.rad(),
                epsilon = 1e-12
            );
            assert_abs_diff_eq!(
                (released.start.point - strip.start.point).norm(),
                0.0,
                epsilon = 1e-9
            );
        }
    }

    /// Both blocks as drawn have the area that their bodies have per millimetre of width.
    #[test]
    fn the_blocks_are_drawn_as_they_are_made() {
        for (name, job) in tooled() {
            let tooling = job.tooling.as_ref().unwrap();
            let section = &tooling.section;
            let shape = &tooling.blocks[0].shape;
            let drawn = block_section(&section.lower, tooling.lower_back_mm, shape.ledge);
            let ledges = shape
                .ledge
                .map_or(0.0, |l| 2.0 * l.length_mm * l.thickness_mm);
            let wanted = section.lower.area_above_mm2(tooling.lower_back_mm) + ledges;
            assert_abs_diff_eq!(drawn.area_mm2().abs(), wanted, epsilon = 1e-6);
            let drawn = block_section(&section.upper, tooling.upper_back_mm, shape.ledge);
            let wanted = -section.upper.area_above_mm2(tooling.upper_back_mm) + ledges;
            assert!((drawn.area_mm2().abs() - wanted).abs() < 1e-6, "{name}");
        }
    }

    #[test]
    fn pins_stand_in_their_sockets() {
        let all = tooled();
        let pair = Pair::of(&all[0].1).unwrap();
        let tooling = pair.tooling;
        let (lower, upper) = (pair.lower.unwrap(), pair.upper.unwrap());
        assert_eq!(lower.pins.len(), 2);
        for pin in &lower.pins {
            let socket = upper
                .sockets
                .iter()
                .find(|s| (s.x_mm + pin.x_mm).abs() < 1e-9)
                .unwrap();
            let foot = tooling.section.lower.height_at(pin.x_mm);
            let land = tooling.section.upper.height_at(pin.x_mm);
            let (_, tip) = pin_shape(pin, foot).bounds();
            let (_, end) = socket_shape(socket, pin.x_mm, land).bounds();
            assert!(tip.y < end.y && tip.y > land);
        }
    }
}
