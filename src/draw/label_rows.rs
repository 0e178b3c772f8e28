//! Labels in rows above or below a drawing, each with a line to its place.
//!
//! Labels keep the order of their places, so their lines never cross. When one row is too narrow,
//! labels take turns between rows, and every row leaves channels for the lines that pass through it.
//! Within a row the labels stand as near to their places as their widths allow: least squares under
//! an order, solved exactly by merging neighbours that push each other (pool adjacent violators).

use crate::draw::drawing::{Anchor, Drawing, Text};
use crate::draw::lettering::{PITCH, width_mm};
use crate::draw::style::Role;
use nalgebra::Point2;

/// Air between labels of a row, mm.
const AIR_MM: f64 = 1.8;
/// Width of the channel for a line that passes a row, mm.
const CHANNEL_MM: f64 = 1.6;
/// Least distance between lines where they leave the drawing, mm.
const APART_MM: f64 = 1.0;
/// Height in which lines slant from one row to the next, mm.
const FAN_MM: f64 = 3.4;
/// Air between the end of a line and its label, mm.
const END_AIR_MM: f64 = 0.5;
/// Radius of the dot at a line's beginning, mm.
const DOT_MM: f64 = 0.45;

/// A remark about a place.
#[derive(Debug, Clone, PartialEq)]
pub struct Remark {
    /// The place, on the sheet.
    pub tip: Point2<f64>,
    /// What to say, line by line.
    pub lines: Vec<String>,
    /// Label or alert.
    pub role: Role,
    /// Whether a dot marks the place.
    pub dot: bool,
}

/// On which side of the drawing the rows stand.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LabelSide {
    /// Above it.
    Above,
    /// Below it.
    Below,
}

/// Rows of labels.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rows {
    /// Where rows may begin along x, mm.
    pub from_mm: f64,
    /// Where they end.
    pub to_mm: f64,
    /// Level at which lines have left the drawing.
    pub base_mm: f64,
    /// Above or below.
    pub side: LabelSide,
    /// Letter size.
    pub size_mm: f64,
}

struct Label {
    remark: Remark,
    width_mm: f64,
    path: Vec<Point2<f64>>,
}

impl Rows {
    /// Draws all remarks and gives the level at which the last row ends.
    pub fn draw(&self, mut remarks: Vec<Remark>, drawing: &mut Drawing) -> f64 {
        remarks.retain(|remark| !remark.lines.is_empty());
        if remarks.is_empty() {
            return self.base_mm;
        }
        remarks.sort_by(|a, b| a.tip.x.total_cmp(&b.tip.x));
        let away = match self.side {
            LabelSide::Above => 1.0,
            LabelSide::Below => -1.0,
        };
        let mut labels: Vec<Label> = remarks
            .into_iter()
            .map(|remark| Label {
                width_mm: remark
                    .lines
                    .iter()
                    .map(|line| width_mm(line, self.size_mm))
                    .fold(0.0, f64::max)
                    + AIR_MM,
                path: vec![remark.tip],
                remark,
            })
            .collect();
        let rows = self.row_count(&labels);

        let tips: Vec<f64> = labels.iter().map(|label| label.remark.tip.x).collect();
        let mut wanted = spread(
            &tips,
            &vec![APART_MM; tips.len()],
            (f64::NEG_INFINITY, f64::INFINITY),
        );
        for (label, x) in labels.iter_mut().zip(&wanted) {
            label.path.push(Point2::new(*x, self.base_mm));
        }

        let mut level = self.base_mm;
        for row in 0..rows {
            let taking_part: Vec<usize> = (0..labels.len()).filter(|n| n % rows >= row).collect();
            let here = |number: usize| number % rows == row;
            let rooms: Vec<f64> = taking_part
                .iter()
                .map(|number| match labels.get(*number) {
                    Some(label) if here(*number) => label.width_mm,
                    _ => CHANNEL_MM,
                })
                .collect();
            let before: Vec<f64> = taking_part
                .iter()
                .filter_map(|number| wanted.get(*number).copied())
                .collect();
            let places = spread(&before, &rooms, (self.from_mm, self.to_mm));
            let slants = places.iter().zip(&before).any(|(a, b)| (a - b).abs() > 0.2);
            let begin = level + away * if slants { FAN_MM } else { FAN_MM / 3.0 };
            let lines = taking_part
                .iter()
                .filter(|number| here(**number))
                .filter_map(|number| labels.get(*number))
                .map(|label| label.remark.lines.len())
                .max()
                .unwrap_or(0);
            let height_mm = lines as f64 * self.size_mm * PITCH + 2.0 * END_AIR_MM;
            level = begin + away * height_mm;
            for (number, x) in taking_part.iter().zip(&places) {
                let Some(label) = labels.get_mut(*number) else {
                    continue;
                };
                label.path.push(Point2::new(*x, begin));
                if here(*number) {
                    self.write(&label.remark, *x, begin, drawing);
                } else {
                    label.path.push(Point2::new(*x, level));
                }
                if let Some(place) = wanted.get_mut(*number) {
                    *place = *x;
                }
            }
        }
        for label in &labels {
            draw_line(label, drawing);
        }
        level
    }

    /// Fewest rows in which all labels find room.
    fn row_count(&self, labels: &[Label]) -> usize {
        let room_mm = self.to_mm - self.from_mm;
        (1..labels.len())
            .find(|rows| {
                (0..*rows).all(|row| {
                    let taken_mm: f64 = labels
                        .iter()
                        .enumerate()
                        .map(|(number, label)| match (number % rows).cmp(&row) {
                            std::cmp::Ordering::Less => 0.0,
                            std::cmp::Ordering::Equal => label.width_mm,
                            std::cmp::Ordering::Greater => CHANNEL_MM,
                        })
                        .sum();
                    taken_mm <= room_mm
                })
            })
            .unwrap_or_else(|| labels.len().max(1))
    }

    fn write(&self, remark: &Remark, x: f64, begin: f64, drawing: &mut Drawing) {
        let pitch_mm = self.size_mm * PITCH;
        let count = remark.lines.len() as f64;
        for (number, line) in remark.lines.iter().enumerate() {
            let number = number as f64;
            let y = match self.side {
                LabelSide::Above => {
                    begin + END_AIR_MM + 0.3 * self.size_mm + (count - 1.0 - number) * pitch_mm
                }
                LabelSide::Below => begin - END_AIR_MM - self.size_mm - number * pitch_mm,
            };
            drawing.text(
                remark.role,
                Text::new(Point2::new(x, y), self.size_mm, line).anchored(Anchor::Middle),
            );
        }
    }
}

fn draw_line(label: &Label, drawing: &mut Drawing) {
    for pair in label.path.windows(2) {
        if let [from, to] = *pair
            && (to - from).norm() > 1e-9
        {
            drawing.line(Role::Dimension, from, to);
        }
    }
    if label.remark.dot {
        drawing.circle(Role::Dimension, label.remark.tip, DOT_MM);
    }
}

/// Places in the order of `wanted`, as near to it as `rooms` allow, within the range where possible.
///
/// `wanted` must not decrease.
pub fn spread(wanted: &[f64], rooms: &[f64], (from, to): (f64, f64)) -> Vec<f64> {
    // With the rooms subtracted, "in order and apart" becomes "not decreasing".
    let mut offsets = Vec::with_capacity(wanted.len());
    let mut offset = 0.0;
    let mut before: Option<f64> = None;
    for room in rooms {
        if let Some(before) = before {
            offset += (before + room) / 2.0;
        }
        before = Some(*room);
        offsets.push(offset);
    }
    // Blocks of (sum, count) that share one value.
    let mut blocks: Vec<(f64, usize)> = Vec::new();
    for (place, offset) in wanted.iter().zip(&offsets) {
        let mut block = (place - offset, 1);
        while let Some((sum, count)) = blocks.last().copied() {
            if sum / count as f64 <= block.0 / block.1 as f64 {
                break;
            }
            block = (block.0 + sum, block.1 + count);
            blocks.pop();
        }
        blocks.push(block);
    }
    let half = |room: Option<&f64>| room.copied().unwrap_or(0.0) / 2.0;
    let low = from + half(rooms.first());
    let high = (to - half(rooms.last()) - offset).max(low);
    let values = blocks.iter().flat_map(|(sum, count)| {
        std::iter::repeat_n((sum / *count as f64).clamp(low, high), *count)
    });
    values
        .zip(&offsets)
        .map(|(value, offset)| value + offset)
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::draw::Shape;
    use proptest::prelude::*;

    #[test]
    fn labels_with_room_stand_over_their_places() {
        assert_eq!(
            spread(&[10.0, 50.0], &[8.0, 8.0], (0.0, 100.0)),
            [10.0, 50.0]
        );
    }

    #[test]
    fn labels_that_push_each_other_share_the_shift() {
        assert_eq!(
            spread(&[50.0, 50.0], &[8.0, 8.0], (0.0, 100.0)),
            [46.0, 54.0]
        );
        assert_eq!(spread(&[1.0, 2.0], &[8.0, 8.0], (0.0, 100.0)), [4.0, 12.0]);
    }

    fn boxes(drawing: &Drawing) -> Vec<[f64; 4]> {
        let texts = drawing.items().iter().filter_map(|item| match &item.shape {
            Shape::Text(text) => Some(text.corners()),
            _ => None,
        });
        texts.map(|[a, _, c, _]| [a.x, a.y, c.x, c.y]).collect()
    }

    fn lines(drawing: &Drawing) -> Vec<[Point2<f64>; 2]> {
        let lines = drawing.items().iter().filter_map(|item| match item.shape {
            Shape::Line { from, to } => Some([from, to]),
            _ => None,
        });
        lines.collect()
    }

    /// Whether two lines cross inside, not just touch.
    fn cross([a, b]: [Point2<f64>; 2], [c, d]: [Point2<f64>; 2]) -> bool {
        let side = |p: Point2<f64>, q: Point2<f64>, r: Point2<f64>| (q - p).perp(&(r - p));
        side(a, b, c) * side(a, b, d) < -1e-9 && side(c, d, a) * side(c, d, b) < -1e-9
    }

    proptest! {
        #[test]
        fn no_label_hides_another_and_no_lines_cross(
            tips in prop::collection::vec((0.0f64..180.0, 1usize..26, 1usize..4), 1..30),
            below in any::<bool>(),
        ) {
            let rows = Rows {
                from_mm: 0.0,
                to_mm: 180.0,
                base_mm: 0.0,
                side: if below { LabelSide::Below } else { LabelSide::Above },
                size_mm: 2.8,
            };
            let remarks = tips.iter().map(|(x, letters, lines)| Remark {
                tip: Point2::new(*x, if below { 5.0 } else { -5.0 }),
                lines: vec!["n".repeat(*letters); *lines],
                role: Role::Label,
                dot: true,
            }).collect();
            let mut drawing = Drawing::new("", "");
            let level = rows.draw(remarks, &mut drawing);
            let boxes = boxes(&drawing);
            for (n, a) in boxes.iter().enumerate() {
                let within = if below { a[1] >= level } else { a[3] <= level };
                prop_assert!(within);
                prop_assert!(a[0] >= 0.0 && a[2] <= 180.0);
                for b in &boxes[n + 1..] {
                    let apart = a[2] <= b[0] || b[2] <= a[0] || a[3] <= b[1] || b[3] <= a[1];
                    prop_assert!(apart, "{a:?} {b:?}");
                }
            }
            let lines = lines(&drawing);
            for (n, a) in lines.iter().enumerate() {
                for b in &lines[n + 1..] {
                    prop_assert!(!cross(*a, *b), "{a:?} {b:?}");
                }
                for b in &boxes {
                    let middle = nalgebra::center(&a[0], &a[1]);
                    for point in [a[0], middle, a[1]] {
                        let inside = b[0] < point.x && point.x < b[2] && b[1] < point.y && point.y < b[3];
                        prop_assert!(!inside, "{a:?} in {b:?}");
                    }
                }
            }
        }
    }
}
