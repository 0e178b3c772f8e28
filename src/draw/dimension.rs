//! Dimensions and leaders, drawn as drawing offices do.
//!
//! The dimension line is narrow, with slender filled arrowheads; extension lines leave a gap at the
//! feature and run a little past the dimension line; the number stands over the line and reads from
//! below or from the right. Where there is no room, arrowheads or number move outside. These are the
//! habits that ISO 129-1 describes, as commonly practised; the proportions below are our own choice.

use crate::draw::drawing::{Anchor, Drawing, Item, Shape, Text};
use crate::draw::style::Role;
use crate::geometry::loops::Loop;
use crate::quantity::Angle;
use nalgebra::{Point2, Vector2};

// All proportions are shares of the text size.
/// Length of an arrowhead.
const ARROW: f64 = 1.0;
/// Half of its width: an arrowhead 15 degrees wide.
const ARROW_HALF_WIDTH: f64 = 0.13;
/// Gap between feature and extension line.
const GAP: f64 = 0.3;
/// How far an extension line runs past the dimension line.
const BEYOND: f64 = 0.6;
/// Air between a line and the text that stands on it.
const AIR: f64 = 0.3;
/// Radius of the dot at the end of a leader.
const DOT: f64 = 0.22;

/// A distance with its number.
#[derive(Debug, Clone, PartialEq)]
pub struct Dimension {
    /// One end of what is measured, mm.
    pub from: Point2<f64>,
    /// The other end, mm.
    pub to: Point2<f64>,
    /// Direction in which the distance counts.
    pub along: Angle,
    /// Distance of the dimension line from `from`, mm, positive to the left of `along`.
    pub offset_mm: f64,
    /// The number, ready to print.
    pub text: String,
    /// Text size, mm.
    pub size_mm: f64,
}

impl Dimension {
    /// The distance from point to point; the line lies `offset_mm` to the left of it.
    pub fn aligned(
        from: Point2<f64>,
        to: Point2<f64>,
        offset_mm: f64,
        text: impl Into<String>,
    ) -> Self {
        let way = to - from;
        Self {
            from,
            to,
            along: Angle::between(way.x, way.y),
            offset_mm,
            text: text.into(),
            size_mm: DEFAULT_SIZE_MM,
        }
    }

    /// The distance along x, with the dimension line at the height `y_mm`.
    pub fn horizontal(
        from: Point2<f64>,
        to: Point2<f64>,
        y_mm: f64,
        text: impl Into<String>,
    ) -> Self {
        let (from, to) = if from.x <= to.x {
            (from, to)
        } else {
            (to, from)
        };
        Self {
            from,
            to,
            along: Angle::ZERO,
            offset_mm: y_mm - from.y,
            text: text.into(),
            size_mm: DEFAULT_SIZE_MM,
        }
    }

    /// The distance along y, with the dimension line at `x_mm`.
    pub fn vertical(
        from: Point2<f64>,
        to: Point2<f64>,
        x_mm: f64,
        text: impl Into<String>,
    ) -> Self {
        let (from, to) = if from.y <= to.y {
            (from, to)
        } else {
            (to, from)
        };
        Self {
            from,
            to,
            along: Angle::deg(90.0),
            offset_mm: from.x - x_mm,
            text: text.into(),
            size_mm: DEFAULT_SIZE_MM,
        }
    }

    /// The same with another text size, mm.
    #[must_use]
    pub fn sized(mut self, size_mm: f64) -> Self {
        self.size_mm = size_mm;
        self
    }

    /// The lines, arrowheads and text it is made of.
    pub fn items(&self) -> Vec<Item> {
        let size = self.size_mm;
        let along = Vector2::new(self.along.cos(), self.along.sin());
        let left = Vector2::new(-along.y, along.x);
        let a = self.from + left * self.offset_mm;
        let length_mm = (self.to - self.from).dot(&along);
        let b = a + along * length_mm;
        // From here on `way` leads from a to b, whichever end the caller named first.
        let way = along * if length_mm < 0.0 { -1.0 } else { 1.0 };
        let length_mm = length_mm.abs();

        let mut items = Vec::new();
        items.extend(extension(self.from, a, size));
        items.extend(extension(self.to, b, size));

        let reading = reading_direction(self.along);
        let up = Vector2::new(-reading.sin(), reading.cos()) * (AIR * size);
        let mut text = Text {
            at: nalgebra::center(&a, &b) + up,
            size_mm: size,
            anchor: Anchor::Middle,
            content: self.text.clone(),
            rotate: reading,
        };
        let text_mm = text.length_mm();
        let arrows_inside = length_mm >= 3.0 * ARROW * size;
        let text_inside = length_mm >= text_mm + if arrows_inside { 0.5 * size } else { 0.0 };

        let tail = way * (2.0 * ARROW * size);
        let mut begin = a;
        let mut end = b;
        if arrows_inside {
            items.push(arrow(a, -way, size));
            items.push(arrow(b, way, size));
        } else {
            items.push(arrow(a, way, size));
            items.push(arrow(b, -way, size));
            begin = a - tail;
            end = b + tail;
        }
        if !text_inside {
            // Past the second arrowhead, on the line drawn on below it.
            let from_mm = if arrows_inside { 0.8 } else { 1.3 } * ARROW * size;
            text.at = b + way * (from_mm + text_mm / 2.0) + up;
            end = b + way * (from_mm + text_mm);
        }
        items.push(line(begin, end));
        // The text comes first, so that the paper round its letters rubs out none of the lines.
        items.insert(0, words(Role::Dimension, text));
        items
    }
}

/// Text size where nothing else is said, mm: the smallest of the standard lettering heights that
/// reads well on paper at arm's length.
pub const DEFAULT_SIZE_MM: f64 = 2.5;

/// How a leader ends at its tip.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LeaderEnd {
    /// With an arrowhead: the tip lies on an edge.
    Arrow,
    /// With a dot: the tip lies inside a surface.
    Dot,
}

/// A remark with a line to what it is about.
#[derive(Debug, Clone, PartialEq)]
pub struct Leader {
    /// The place it is about, mm.
    pub tip: Point2<f64>,
    /// Where the slanting line becomes the shelf under the text, mm.
    pub knee: Point2<f64>,
    /// How it ends at the tip.
    pub end: LeaderEnd,
    /// The remark.
    pub text: String,
    /// Text size, mm.
    pub size_mm: f64,
}

impl Leader {
    /// A remark; the shelf runs from the knee away from the tip.
    pub fn new(
        tip: Point2<f64>,
        knee: Point2<f64>,
        end: LeaderEnd,
        text: impl Into<String>,
    ) -> Self {
        Self {
            tip,
            knee,
            end,
            text: text.into(),
            size_mm: DEFAULT_SIZE_MM,
        }
    }

    /// The same with another text size, mm.
    #[must_use]
    pub fn sized(mut self, size_mm: f64) -> Self {
        self.size_mm = size_mm;
        self
    }

    /// The lines, end mark and text it is made of.
    pub fn items(&self) -> Vec<Item> {
        let size = self.size_mm;
        let away = if self.knee.x < self.tip.x { -1.0 } else { 1.0 };
        let anchor = if away < 0.0 {
            Anchor::End
        } else {
            Anchor::Start
        };
        let above = self.knee + Vector2::new(0.0, AIR * size);
        let text = Text::new(above, size, self.text.clone()).anchored(anchor);
        let shelf = self.knee + Vector2::new(away * text.length_mm(), 0.0);
        let mut items = vec![
            words(Role::Label, text),
            line(self.tip, self.knee),
            line(self.knee, shelf),
        ];
        let way = self.tip - self.knee;
        match self.end {
            LeaderEnd::Arrow if way.norm() > 0.0 => {
                items.push(arrow(self.tip, way.normalize(), size));
            }
            LeaderEnd::Arrow => {}
            LeaderEnd::Dot => items.push(Item {
                role: Role::Dimension,
                shape: Shape::Circle {
                    centre: self.tip,
                    radius_mm: DOT * size,
                },
            }),
        }
        items
    }
}

/// Turn of the base line so that the text reads from below or from the right: in (-90, 90] degrees.
fn reading_direction(along: Angle) -> Angle {
    // A hair of tolerance, so that a line drawn downwards reads like one drawn upwards.
    let hair = 1e-6;
    let mut degrees = along.degrees().rem_euclid(360.0);
    if degrees > 90.0 + hair && degrees <= 270.0 + hair {
        degrees -= 180.0;
    } else if degrees > 270.0 + hair {
        degrees -= 360.0;
    }
    Angle::deg(degrees)
}

fn words(role: Role, text: Text) -> Item {
    Item {
        role,
        shape: Shape::Text(text),
    }
}

fn line(from: Point2<f64>, to: Point2<f64>) -> Item {
    Item {
        role: Role::Dimension,
        shape: Shape::Line { from, to },
    }
}

/// The line from a feature past the dimension line; none where the two nearly meet.
fn extension(feature: Point2<f64>, end: Point2<f64>, size: f64) -> Option<Item> {
    let way = end - feature;
    let length_mm = way.norm();
    (length_mm > GAP * size).then(|| {
        let unit = way / length_mm;
        line(feature + unit * (GAP * size), end + unit * (BEYOND * size))
    })
}

/// A filled arrowhead with its tip at `tip`, pointing along the unit vector `way`.
pub fn arrow(tip: Point2<f64>, way: Vector2<f64>, size: f64) -> Item {
    let back = tip - way * (ARROW * size);
    let aside = Vector2::new(-way.y, way.x) * (ARROW_HALF_WIDTH * ARROW * size);
    Item {
        role: Role::Dimension,
        shape: Shape::Area {
            loops: vec![Loop::polygon(&[tip, back + aside, back - aside])],
        },
    }
}

impl Drawing {
    /// Adds a dimension: its lines, arrowheads and number.
    pub fn dimension(&mut self, dimension: &Dimension) -> &mut Self {
        for item in dimension.items() {
            self.push(item.role, item.shape);
        }
        self
    }

    /// Adds a leader: a line from a remark to what it is about.
    pub fn leader(&mut self, leader: &Leader) -> &mut Self {
        for item in leader.items() {
            self.push(item.role, item.shape);
        }
        self
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    fn at(x: f64, y: f64) -> Point2<f64> {
        Point2::new(x, y)
    }

    fn text_of(items: &[Item]) -> &Text {
        items
            .iter()
            .find_map(|item| match &item.shape {
                Shape::Text(text) => Some(text),
                _ => None,
            })
            .unwrap()
    }

    /// Tip and middle of the back of every arrowhead.
    fn arrows(items: &[Item]) -> Vec<(Point2<f64>, Point2<f64>)> {
        items
            .iter()
            .filter_map(|item| match &item.shape {
                Shape::Area { loops } => {
                    let corners = loops[0].flattened(1.0);
                    Some((corners[0], nalgebra::center(&corners[1], &corners[2])))
                }
                _ => None,
            })
            .collect()
    }

    #[test]
    fn arrowheads_touch_the_measured_ends_and_point_outwards_when_there_is_room() {
        let items = Dimension::horizontal(at(30.0, 5.0), at(0.0, 1.0), 12.0, "30").items();
        let arrows = arrows(&items);
        assert_eq!(arrows.len(), 2);
        assert_eq!(arrows[0].0, at(0.0, 12.0));
        assert_eq!(arrows[1].0, at(30.0, 12.0));
        assert!(arrows[0].1.x > 0.0 && arrows[1].1.x < 30.0);
        let text = text_of(&items);
        assert_relative_eq!(text.at.x, 15.0);
        assert!(text.at.y > 12.0);
    }

    #[test]
    fn without_room_the_arrowheads_point_inwards_and_the_number_moves_out() {
        let items = Dimension::horizontal(at(0.0, 0.0), at(1.0, 0.0), 4.0, "1.00").items();
        let arrows = arrows(&items);
        assert!(arrows[0].1.x < 0.0 && arrows[1].1.x > 1.0);
        let text = text_of(&items);
        assert!(text.at.x - text.length_mm() / 2.0 > 1.0 + ARROW * 2.5);
    }

    #[test]
    fn numbers_read_from_below_or_from_the_right() {
        for (degrees, reads) in [
            (0.0, 0.0),
            (90.0, 90.0),
            (-90.0, 90.0),
            (180.0, 0.0),
            (135.0, -45.0),
            (-30.0, -30.0),
            (-150.0, 30.0),
        ] {
            let turned = reading_direction(Angle::deg(degrees)).degrees();
            assert_relative_eq!(turned, reads, epsilon = 1e-9);
        }
        let items = Dimension::vertical(at(0.0, 20.0), at(3.0, 0.0), -5.0, "20").items();
        let text = text_of(&items);
        assert_relative_eq!(text.rotate.degrees(), 90.0);
        assert!(text.at.x < -5.0, "over the line, seen from the right");
        assert_relative_eq!(text.at.y, 10.0, epsilon = 1e-9);
    }

    #[test]
    fn an_aligned_dimension_lies_on_its_left_in_both_directions() {
        for (from, to, side) in [
            (at(0.0, 0.0), at(20.0, 0.0), 1.0),
            (at(20.0, 0.0), at(0.0, 0.0), -1.0),
        ] {
            let items = Dimension::aligned(from, to, 6.0, "20").items();
            for (tip, _) in arrows(&items) {
                assert_relative_eq!(tip.y, 6.0 * side, epsilon = 1e-9);
            }
            assert!(
                text_of(&items).at.y > 6.0 * side,
                "the number always stands over its line"
            );
        }
    }

    #[test]
    fn extension_lines_leave_a_gap_and_run_past_the_line() {
        let items = Dimension::horizontal(at(0.0, 0.0), at(20.0, 0.0), -8.0, "20").items();
        let Shape::Line { from, to } = items[1].shape else {
            panic!("an extension line follows the number")
        };
        assert!(from.y < 0.0 && to.y < -8.0);
        // A feature on the dimension line needs none.
        let bare = Dimension::horizontal(at(0.0, 0.0), at(20.0, 0.0), 0.0, "20").items();
        assert_eq!(bare.len() + 2, items.len());
    }

    #[test]
    fn a_leader_runs_its_shelf_away_from_the_tip() {
        for (knee, anchor) in [
            (at(10.0, 10.0), Anchor::Start),
            (at(-10.0, 10.0), Anchor::End),
        ] {
            let items = Leader::new(at(0.0, 0.0), knee, LeaderEnd::Dot, "pad").items();
            assert_eq!(text_of(&items).anchor, anchor);
            let Shape::Line { from, to } = items[2].shape else {
                panic!("the shelf comes last of the lines")
            };
            assert_eq!(from, knee);
            assert!(to.x.abs() > knee.x.abs());
        }
    }
}
