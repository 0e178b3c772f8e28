//! The one drawing model: items with a meaning, in millimetres, y upwards.

use crate::draw::style::Role;
use crate::geometry::chain::Chain;
use crate::geometry::loops::{Loop, LoopEdge, chain_sides, sides};
use crate::quantity::Angle;
use nalgebra::{Point2, Vector2};

/// Which point of a text its place names.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Anchor {
    /// Its beginning.
    Start,
    /// Its middle.
    Middle,
    /// Its end.
    End,
}

/// One line of text.
#[derive(Debug, Clone, PartialEq)]
pub struct Text {
    /// Place of the anchor on the base line, mm.
    pub at: Point2<f64>,
    /// Height of the letter body (font size), mm.
    pub size_mm: f64,
    /// Which point of the text lies at its place.
    pub anchor: Anchor,
    /// What it says; line breaks count as spaces.
    pub content: String,
    /// Turn of the base line about its place, counter-clockwise.
    pub rotate: Angle,
}

/// Height of capitals over the font size; typical of sans-serif faces, which lie near 0.7.
const CAPITAL_SHARE: f64 = 0.7;

impl Text {
    /// Level text beginning at a place.
    pub fn new(at: Point2<f64>, size_mm: f64, content: impl Into<String>) -> Self {
        Self {
            at,
            size_mm,
            anchor: Anchor::Start,
            content: content.into(),
            rotate: Angle::ZERO,
        }
    }

    /// Level text with the middle of its capitals at a place: for the inside of a shape.
    pub fn centred(at: Point2<f64>, size_mm: f64, content: impl Into<String>) -> Self {
        let base = at - Vector2::new(0.0, size_mm * CAPITAL_SHARE / 2.0);
        Self::new(base, size_mm, content).anchored(Anchor::Middle)
    }

    /// The same with another anchor.
    #[must_use]
    pub fn anchored(mut self, anchor: Anchor) -> Self {
        self.anchor = anchor;
        self
    }

    /// Length of the text in mm, estimated without a font.
    ///
    /// 0.56 of the size for each Latin letter and the whole size from the Hangul and Han blocks on:
    /// sans-serif faces keep below it for all but runs of capitals.
    pub fn length_mm(&self) -> f64 {
        let sizes: f64 = self
            .content
            .chars()
            .map(|letter| {
                if u32::from(letter) < 0x1100 {
                    0.56
                } else {
                    1.0
                }
            })
            .sum();
        sizes * self.size_mm
    }

    /// Corners of the box that the text is estimated to fill.
    pub fn corners(&self) -> [Point2<f64>; 4] {
        let length_mm = self.length_mm();
        let begin = match self.anchor {
            Anchor::Start => 0.0,
            Anchor::Middle => -length_mm / 2.0,
            Anchor::End => -length_mm,
        };
        let along = Vector2::new(self.rotate.cos(), self.rotate.sin());
        let up = Vector2::new(-along.y, along.x);
        // Letters hang a quarter of the size below the base line and stand the rest above it.
        let (low, high) = (-0.25 * self.size_mm, 0.75 * self.size_mm);
        let place = |x: f64, y: f64| self.at + along * x + up * y;
        [
            place(begin, low),
            place(begin + length_mm, low),
            place(begin + length_mm, high),
            place(begin, high),
        ]
    }
}

/// A shape without a meaning yet.
#[derive(Debug, Clone, PartialEq)]
pub enum Shape {
    /// A straight line.
    Line {
        /// One end, mm.
        from: Point2<f64>,
        /// The other end, mm.
        to: Point2<f64>,
    },
    /// An open run of lines and arcs.
    Path {
        /// Where it begins, mm.
        start: Point2<f64>,
        /// How it goes on.
        edges: Vec<LoopEdge>,
    },
    /// Closed loops, filled even-odd: a loop inside another is a hole.
    Area {
        /// The loops.
        loops: Vec<Loop>,
    },
    /// A full circle.
    Circle {
        /// Its centre, mm.
        centre: Point2<f64>,
        /// Its radius, mm.
        radius_mm: f64,
    },
    /// A line of text.
    Text(Text),
}

impl Shape {
    /// Calls `take` with the points that decide how far the shape reaches.
    fn reach(&self, mut take: impl FnMut(Point2<f64>)) {
        match self {
            Self::Line { from, to } => {
                take(*from);
                take(*to);
            }
            Self::Path { start, edges } => {
                sides(*start, edges).for_each(|side| side.reach(&mut take));
            }
            Self::Area { loops } => loops
                .iter()
                .flat_map(Loop::sides)
                .for_each(|side| side.reach(&mut take)),
            Self::Circle { centre, radius_mm } => {
                let arm = Vector2::new(*radius_mm, *radius_mm);
                take(centre - arm);
                take(centre + arm);
            }
            Self::Text(text) => text.corners().into_iter().for_each(take),
        }
    }
}

/// A shape with its meaning.
#[derive(Debug, Clone, PartialEq)]
pub struct Item {
    /// What it means.
    pub role: Role,
    /// What it looks like.
    pub shape: Shape,
}

/// A drawing in millimetres, y upwards; later items lie over earlier ones.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Drawing {
    /// Short name.
    pub title: String,
    /// What it shows, for those who cannot see it.
    pub description: String,
    items: Vec<Item>,
}

impl Drawing {
    /// An empty drawing.
    pub fn new(title: impl Into<String>, description: impl Into<String>) -> Self {
        Self {
            title: title.into(),
            description: description.into(),
            items: Vec::new(),
        }
    }

    /// The items, lowest first.
    pub fn items(&self) -> &[Item] {
        &self.items
    }

    /// Adds a shape. One with a coordinate that is not finite cannot be drawn and is left out, as is
    /// one without any points.
    pub fn push(&mut self, role: Role, shape: Shape) -> &mut Self {
        let mut points = 0u32;
        let mut finite = true;
        shape.reach(|point| {
            points += 1;
            finite &= point.x.is_finite() && point.y.is_finite();
        });
        let edges_finite = match &shape {
            Shape::Path { edges, .. } => edges.iter().all(LoopEdge::is_finite),
            Shape::Area { loops } => loops.iter().flat_map(Loop::edges).all(LoopEdge::is_finite),
            _ => true,
        };
        if points > 0 && finite && edges_finite {
            self.items.push(Item { role, shape });
        }
        self
    }

    /// Adds a straight line.
    pub fn line(&mut self, role: Role, from: Point2<f64>, to: Point2<f64>) -> &mut Self {
        self.push(role, Shape::Line { from, to })
    }

    /// Adds a chain as an open path.
    pub fn chain(&mut self, role: Role, chain: &Chain) -> &mut Self {
        let edges = chain_sides(chain).map(|side| side.edge).collect();
        let start = chain.start.point;
        self.push(role, Shape::Path { start, edges })
    }

    /// Adds closed loops as one area, filled even-odd where the role fills.
    pub fn area(&mut self, role: Role, loops: Vec<Loop>) -> &mut Self {
        self.push(role, Shape::Area { loops })
    }

    /// Adds a circle.
    pub fn circle(&mut self, role: Role, centre: Point2<f64>, radius_mm: f64) -> &mut Self {
        self.push(role, Shape::Circle { centre, radius_mm })
    }

    /// Adds a line of text.
    pub fn text(&mut self, role: Role, text: Text) -> &mut Self {
        self.push(role, Shape::Text(text))
    }

    /// Smallest upright box around all items: (lower left, upper right); `None` when there are none.
    ///
    /// Line widths are not counted; the extent of text is an estimate.
    pub fn bounds(&self) -> Option<(Point2<f64>, Point2<f64>)> {
        let mut bounds: Option<(Point2<f64>, Point2<f64>)> = None;
        for item in &self.items {
            item.shape.reach(|point| {
                let (low, high) = bounds.unwrap_or((point, point));
                bounds = Some((
                    Point2::new(low.x.min(point.x), low.y.min(point.y)),
                    Point2::new(high.x.max(point.x), high.y.max(point.y)),
                ));
            });
        }
        bounds
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    fn at(x: f64, y: f64) -> Point2<f64> {
        Point2::new(x, y)
    }

    #[test]
    fn bounds_know_the_top_of_an_arch_and_the_size_of_a_circle() {
        let mut drawing = Drawing::new("", "");
        assert_eq!(drawing.bounds(), None);
        let mut arch = Chain::from_start(0.0, 0.0, Angle::deg(90.0));
        arch.arc(3.0, Angle::deg(-180.0));
        drawing.chain(Role::Outline, &arch);
        drawing.circle(Role::Hole, at(10.0, -1.0), 2.0);
        let (low, high) = drawing.bounds().unwrap();
        assert_relative_eq!(low.x, 0.0, epsilon = 1e-12);
        assert_relative_eq!(low.y, -3.0, epsilon = 1e-12);
        assert_relative_eq!(high.x, 12.0, epsilon = 1e-12);
        assert_relative_eq!(high.y, 3.0, epsilon = 1e-12);
    }

    #[test]
    fn text_takes_room_on_the_side_of_its_anchor() {
        let reach = |anchor, rotate| {
            let mut text = Text::new(at(5.0, 5.0), 2.0, "abcde").anchored(anchor);
            text.rotate = rotate;
            let mut drawing = Drawing::new("", "");
            drawing.text(Role::Label, text);
            drawing.bounds().unwrap()
        };
        let (low, high) = reach(Anchor::Start, Angle::ZERO);
        assert_relative_eq!(low.x, 5.0);
        assert_relative_eq!(high.x, 10.6, epsilon = 1e-12);
        let (low, high) = reach(Anchor::End, Angle::ZERO);
        assert_relative_eq!(low.x, -0.6, epsilon = 1e-12);
        assert_relative_eq!(high.x, 5.0, epsilon = 1e-12);
        let (low, high) = reach(Anchor::Middle, Angle::deg(90.0));
        assert_relative_eq!(low.y, 2.2, epsilon = 1e-12);
        assert_relative_eq!(high.y, 7.8, epsilon = 1e-12);
        assert_relative_eq!(high.x, 5.5, epsilon = 1e-12);
    }

    #[test]
    fn what_cannot_be_drawn_is_left_out() {
        let mut drawing = Drawing::new("", "");
        drawing.line(Role::Outline, at(0.0, f64::NAN), at(1.0, 1.0));
        drawing.circle(Role::Hole, at(0.0, 0.0), f64::INFINITY);
        drawing.area(Role::Metal, Vec::new());
        drawing.push(
            Role::Outline,
            Shape::Path {
                start: at(0.0, 0.0),
                edges: vec![LoopEdge::Arc {
                    to: at(1.0, 0.0),
                    centre: at(f64::NAN, 0.0),
                    turn: Angle::deg(10.0),
                }],
            },
        );
        assert!(drawing.items().is_empty());
        drawing.line(Role::Outline, at(0.0, 0.0), at(1.0, 1.0));
        assert_eq!(drawing.items().len(), 1);
    }
}
