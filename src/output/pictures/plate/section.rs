//! The formed plate in section over the board: what it is from the side, true in shape.
//!
//! Seen from the front edge, x to the right, heights upwards. Everything along y is projected into one
//! plane; what no metal covers is dashed, because it stands in front of the plate, behind it, or in a
//! hole or notch of it.

use crate::draw::dimension::{Dimension, arrow};
use crate::draw::drawing::Drawing;
use crate::draw::label_rows::{LabelSide, Remark, Rows};
use crate::draw::legend::legend;
use crate::draw::lettering::{LABEL_LETTERS, SHEET_MM, TEXT_MM, heading, part_name, wrapped};
use crate::draw::style::Role;
use crate::draw::view::View;
use crate::fit::{Fit, Judged, ObstacleFit};
use crate::geometry::{Chain, Footprint, Loop, y_intervals};
use crate::numbers::{hundredths, size};
use crate::output::pictures::plate::flat_band::flat_band;
use crate::output::pictures::plate::groups::{Group, SAME_MM, gap_words, groups, pressed_words};
use crate::part::{Component, Extension, HeatPipe, JointKind, Obstacle, Part, Treatment};
use nalgebra::{Point2, Vector2};
use std::fmt::Write as _;

/// Room for the part itself on the sheet, mm.
const PICTURE_MM: [f64; 2] = [156.0, 110.0];
/// Left edge of that room.
const LEFT_MM: f64 = 12.0;
/// Things higher than this many times the plate are torn off, so that the plate stays readable.
const HIGHEST: f64 = 1.7;
/// What exceeds the picture by less than this factor makes the picture higher instead.
const TIP: f64 = 1.3;
/// Up to this share of the picture's length nothing is torn off.
const FLATTEST: f64 = 0.12;
/// Obstacles further beyond the ends than this share of the plate's length are cut off.
const BEYOND: f64 = 0.15;
/// Curved edges in the picture stray no further than this from the part's, mm.
const FINENESS_MM: f64 = 0.004;
/// Half the length of the strokes that bound a gap, mm.
const STROKE_MM: f64 = 1.1;
/// Length of a gap's arrowheads: a share of the gap as drawn, within limits, mm.
const ARROW_SHARE: f64 = 0.42;
const LONGEST_ARROW_MM: f64 = 2.4;
const SHORTEST_ARROW_MM: f64 = 0.7;
/// Paper is kept bare round a gap's dimension, in widths of its strokes.
const CLEAR: f64 = 1.25;
/// A heat pipe is drawn this high on the sheet, mm.
const PIPE_MM: f64 = 5.0;

/// The plate in section over the parts of the board, with every gap.
pub fn plate_over_parts(part: &Part, fit: &Fit) -> Drawing {
    let mut drawing = Drawing::new(
        format!("{}: plate over board parts", part_name(&part.name)),
        description(part, fit),
    );
    let scene = Scene::new(part, fit);
    scene.things(&mut drawing);
    scene.bands(&mut drawing);
    scene.pipes(&mut drawing);
    scene.gap_bars(&mut drawing);
    scene.heights(&mut drawing);
    let reached = drawing
        .bounds()
        .map_or((0.0, 0.0), |(low, high)| (low.y, high.y));
    let above = Rows {
        from_mm: 0.0,
        to_mm: SHEET_MM,
        base_mm: reached.1 + 1.5,
        side: LabelSide::Above,
        size_mm: TEXT_MM,
    };
    above.draw(scene.remarks(), &mut drawing);
    flat_band(part, &scene.view, reached.0 - 3.5, &mut drawing);
    legend(&mut drawing, Some(&scene.view), LEGEND, SHEET_MM, TEXT_MM);
    let mut remarks = vec![format!(
        "Seen from the front edge, true shape. Sheet: {}, {} mm. All numbers in mm.",
        part.sheet.metal.name,
        hundredths(part.sheet.thickness_mm)
    )];
    if fit.judged == Judged::Pressed {
        remarks.push(
            "The plate as drawn; \"pressed\" is the gap to the plate as the vise leaves it, which decides."
                .to_owned(),
        );
    }
    remarks.extend(scene.left_out());
    heading(
        &mut drawing,
        &format!("{}: plate over board parts", part_name(&part.name)),
        &remarks,
        SHEET_MM,
        TEXT_MM,
    );
    drawing
}

const LEGEND: &[(Role, &str)] = &[
    (Role::Metal, "plate"),
    (Role::Part, "board part"),
    (Role::PartBehind, "board part behind another"),
    (Role::Pad, "pad"),
    (Role::Extension, "extension plate"),
    (Role::Solder, "solder"),
    (Role::Pipe, "heat pipe, torn off"),
    (Role::Band, "where a part's top may lie: all ± added"),
    (Role::Obstacle, "obstacle"),
    (Role::HiddenEdge, "beside the plate, or in a hole or notch"),
    (Role::Alert, "touches or comes too close"),
];

fn description(part: &Part, fit: &Fit) -> String {
    let mut text = format!(
        "The formed plate in section over the board: {} flats, {} board parts.",
        part.flats.len(),
        part.components.len()
    );
    for component in &fit.components {
        let _ = write!(
            text,
            " {}: {}{}; {}.",
            component.name,
            gap_words(component),
            pressed_words(component).map_or_else(String::new, |words| format!(", {words}")),
            component.verdict_text
        );
    }
    text
}

struct Scene<'a> {
    part: &'a Part,
    view: View,
    /// In drawing order: the smallest gap last.
    groups: Vec<Group<'a>>,
    obstacles: Vec<(&'a Obstacle, &'a ObstacleFit)>,
    /// Extent of the picture along x.
    x_mm: (f64, f64),
    /// Where the picture ends above.
    cut_mm: f64,
}

impl<'a> Scene<'a> {
    fn new(part: &'a Part, fit: &'a Fit) -> Self {
        let (low, high) = part.outline.bounds();
        let mut x_mm = (low.x, high.x);
        let take = |x_mm: &mut (f64, f64), from: f64, to: f64| {
            x_mm.0 = x_mm.0.min(from);
            x_mm.1 = x_mm.1.max(to);
        };
        for component in &part.components {
            let (low, high) = component.footprint.bounds();
            take(&mut x_mm, low.x, high.x);
        }
        let beyond_mm = BEYOND * (x_mm.1 - x_mm.0);
        let widest = (x_mm.0 - beyond_mm, x_mm.1 + beyond_mm);
        for obstacle in &part.obstacles {
            let (low, high) = obstacle.footprint.bounds();
            if low.x < widest.1 && high.x > widest.0 {
                take(&mut x_mm, low.x.max(widest.0), high.x.min(widest.1));
            }
        }
        let plate_top_mm = part.profile.topside.bounds().1.y;
        let cut_mm = (HIGHEST * plate_top_mm).max(FLATTEST * (x_mm.1 - x_mm.0));
        let tops = part
            .components
            .iter()
            .map(|component| component.height_mm.value)
            .chain(part.obstacles.iter().map(|obstacle| obstacle.top_mm));
        let highest_mm = tops.fold(plate_top_mm, f64::max);
        // Nobody tears off a tip.
        let cut_mm = if highest_mm < TIP * cut_mm {
            highest_mm
        } else {
            cut_mm
        };
        let top_mm = highest_mm.min(cut_mm);
        let lows = part.obstacles.iter().map(|obstacle| obstacle.bottom_mm);
        let bottom_mm = lows.fold(0.0, f64::min).max(-0.3 * top_mm);
        let view = View::fitting(
            (Point2::new(x_mm.0, bottom_mm), Point2::new(x_mm.1, top_mm)),
            PICTURE_MM,
            Point2::new(LEFT_MM, 0.0),
        );
        // A high, short part does not fill the sheet: set it in the middle.
        let spare_mm = PICTURE_MM[0] / view.scale - (x_mm.1 - x_mm.0);
        Self {
            part,
            view: view.shifted(Vector2::new(spare_mm / 2.0, 0.0)),
            groups: groups(part, fit),
            obstacles: part.obstacles.iter().zip(&fit.obstacles).collect(),
            x_mm,
            cut_mm,
        }
    }

    fn things(&self, drawing: &mut Drawing) {
        self.board(drawing);
        let (covered, beside): (Vec<&Group>, Vec<&Group>) = self
            .groups
            .iter()
            .partition(|group| group.gap_mm().is_some());
        for (number, group) in covered.iter().enumerate() {
            let hidden = covered.iter().skip(number + 1).any(|other| {
                group.x_mm.0 + SAME_MM < other.x_mm.1 && other.x_mm.0 + SAME_MM < group.x_mm.1
            });
            let role = if hidden { Role::PartBehind } else { Role::Part };
            drawing.area(role, vec![self.boxed(group.x_mm, (0.0, group.height_mm))]);
        }
        for group in &covered {
            self.pad(group, drawing);
        }
        let (under, apart): (Vec<_>, Vec<_>) = self
            .obstacles
            .iter()
            .filter(|(obstacle, _)| self.is_near(&obstacle.footprint))
            .partition(|(obstacle, _)| self.under_metal(&obstacle.footprint));
        for (obstacle, _) in under {
            drawing.area(Role::Obstacle, vec![self.obstacle(obstacle)]);
        }
        for extension in &self.part.extensions {
            self.extension(extension, drawing);
        }
        drawing.area(Role::Metal, vec![self.plate()]);
        for (obstacle, _) in apart {
            drawing.area(Role::HiddenEdge, vec![self.obstacle(obstacle)]);
        }
        for group in &beside {
            let shape = self.boxed(group.x_mm, (0.0, group.height_mm));
            drawing.area(Role::HiddenEdge, vec![shape]);
        }
        // Over everything: the reader must see where metal and part stand in each other.
        for group in self.groups.iter().filter(|group| group.is_alarming()) {
            let shape = self.boxed(group.x_mm, (0.0, group.height_mm));
            drawing.area(Role::Alert, vec![shape]);
        }
        for (obstacle, _) in self
            .obstacles
            .iter()
            .filter(|(obstacle, fit)| !fit.clears && self.is_near(&obstacle.footprint))
        {
            drawing.area(Role::Alert, vec![self.obstacle(obstacle)]);
        }
    }

    fn board(&self, drawing: &mut Drawing) {
        let left = self.view.at(self.x_mm.0, 0.0) - Vector2::new(5.0, 0.0);
        let right = self.view.at(self.x_mm.1, 0.0) + Vector2::new(5.0, 0.0);
        let mut x = left.x + 1.0;
        while x < right.x {
            let foot = Point2::new(x - 1.2, left.y - 1.2);
            drawing.line(Role::Faint, Point2::new(x, left.y), foot);
            x += 1.6;
        }
        drawing.line(Role::Outline, left, right);
    }

    /// Whether any of it comes into the picture.
    fn is_near(&self, footprint: &Footprint) -> bool {
        let (low, high) = footprint.bounds();
        low.x < self.x_mm.1 && high.x > self.x_mm.0
    }

    fn under_metal(&self, footprint: &Footprint) -> bool {
        let (low, high) = footprint.bounds();
        let metal = self.part.metal_loops();
        let places = [0.02, 0.25, 0.5, 0.75, 0.98].map(|share| low.x + share * (high.x - low.x));
        places.into_iter().any(|x| {
            footprint.y_interval(x).is_some_and(|(from, to)| {
                y_intervals(x, &metal)
                    .into_iter()
                    .any(|(low, high)| low < to && from < high)
            })
        })
    }

    fn obstacle(&self, obstacle: &Obstacle) -> Loop {
        let (low, high) = obstacle.footprint.bounds();
        self.boxed(
            (low.x.max(self.x_mm.0), high.x.min(self.x_mm.1)),
            (obstacle.bottom_mm, obstacle.top_mm),
        )
    }

    /// A box, torn off where it leaves the picture above.
    fn boxed(&self, (from, to): (f64, f64), (bottom, top): (f64, f64)) -> Loop {
        let low = self.view.at(from, bottom.min(self.cut_mm));
        if top <= self.cut_mm {
            return Loop::rectangle(low, self.view.at(to, top));
        }
        torn(low, self.view.at(to, self.cut_mm))
    }

    /// The plate's section, as far as its outline reaches.
    fn plate(&self) -> Loop {
        let profile = &self.part.profile;
        let (low, high) = self.part.outline.bounds();
        let (from, to) = profile.extent_mm();
        if (low.x - from).abs() < SAME_MM && (high.x - to).abs() < SAME_MM {
            return self
                .view
                .shape(&Loop::between(&profile.underside, &profile.topside));
        }
        let mut points = points_between(&profile.underside, low.x, high.x);
        points.extend(
            points_between(&profile.topside, low.x, high.x)
                .into_iter()
                .rev(),
        );
        let points: Vec<_> = points
            .into_iter()
            .map(|point| self.view.point(point))
            .collect();
        Loop::polygon(&points)
    }

    fn extension(&self, extension: &Extension, drawing: &mut Drawing) {
        let (low, high) = extension.footprint.bounds();
        let top_mm = extension.underside_mm + extension.thickness_mm.value;
        drawing.area(
            Role::Solder,
            vec![self.boxed((low.x, high.x), (top_mm, top_mm + extension.solder_mm))],
        );
        drawing.area(
            Role::Extension,
            vec![self.boxed((low.x, high.x), (extension.underside_mm, top_mm))],
        );
    }

    /// The pad from the component up to the metal, or as high as it is when it does not reach.
    fn pad(&self, group: &Group, drawing: &mut Drawing) {
        let Some((component, fit)) = group.members.first() else {
            return;
        };
        let Treatment::Pad(pad) = &component.treatment else {
            return;
        };
        if fit.gap_max_mm.is_none_or(|gap| gap <= SAME_MM) {
            return;
        }
        let (from, to) = group.x_mm;
        let mut places: Vec<f64> = (0..=24u8)
            .map(|n| from + (to - from) * f64::from(n) / 24.0)
            .collect();
        for extension in &self.part.extensions {
            let (low, high) = extension.footprint.bounds();
            places.extend([low.x - 1e-6, low.x + 1e-6, high.x - 1e-6, high.x + 1e-6]);
        }
        places.retain(|x| (from..=to).contains(x));
        places.sort_by(f64::total_cmp);
        let free_mm = component.height_mm.value + pad.thickness_mm;
        let mut points: Vec<Point2<f64>> = places
            .iter()
            .rev()
            .map(|x| {
                let metal_mm = self.metal_above(*x, component).unwrap_or(free_mm);
                let top_mm = metal_mm.min(free_mm).max(component.height_mm.value);
                self.view.at(*x, top_mm)
            })
            .collect();
        points.push(self.view.at(from, component.height_mm.value));
        points.push(self.view.at(to, component.height_mm.value));
        drawing.area(Role::Pad, vec![Loop::polygon(&points)]);
    }

    /// Underside of the metal that faces a component at `x`.
    fn metal_above(&self, x_mm: f64, component: &Component) -> Option<f64> {
        let (low, high) = component.footprint.bounds();
        let (from, to) = self.part.profile.extent_mm();
        let plate = (from..=to)
            .contains(&x_mm)
            .then(|| self.part.profile.underside.height_at(x_mm));
        self.part
            .extensions
            .iter()
            .filter(|extension| {
                let (ext_low, ext_high) = extension.footprint.bounds();
                (ext_low.x..=ext_high.x).contains(&x_mm) && ext_low.y < high.y && low.y < ext_high.y
            })
            .map(|extension| extension.underside_mm)
            .chain(plate)
            .reduce(f64::min)
    }

    /// Heights of the first and the last flat over the board, at the sides of the picture.
    fn heights(&self, drawing: &mut Drawing) {
        let flats = &self.part.flats;
        let (Some(first), Some(last)) = (flats.first(), flats.last()) else {
            return;
        };
        let edge = |x_mm: f64, out_mm: f64| self.view.at(x_mm, 0.0).x + out_mm;
        for (flat, x_mm, line_mm) in [
            (first, first.level.from_mm, edge(self.x_mm.0, -6.5)),
            (last, last.level.to_mm, edge(self.x_mm.1, 8.5)),
        ] {
            let height_mm = flat.level.underside_mm;
            let foot = Point2::new(line_mm, self.view.at(0.0, 0.0).y);
            let tip = self.view.at(x_mm, height_mm);
            drawing.dimension(
                &Dimension::vertical(foot, tip, line_mm, size(height_mm)).sized(TEXT_MM),
            );
        }
    }

    /// One remark for each group, extension plate and obstacle, and the strokes that show each gap.
    fn remarks(&self) -> Vec<Remark> {
        let mut remarks: Vec<Remark> = self.groups.iter().map(|group| self.remark(group)).collect();
        for extension in &self.part.extensions {
            let (low, high) = extension.footprint.bounds();
            let mut lines = wrapped(&extension.name, LABEL_LETTERS);
            lines.push(format!(
                "extension plate {}, solder {}",
                size(extension.thickness_mm.value),
                hundredths(extension.solder_mm)
            ));
            lines.push(format!("underside {}", size(extension.underside_mm)));
            remarks.push(Remark {
                tip: self.view.at(
                    low.x + 0.12 * (high.x - low.x),
                    extension.underside_mm + 0.5 * extension.thickness_mm.value,
                ),
                lines,
                role: Role::Label,
                dot: true,
            });
        }
        for pipe in &self.part.thermal.pipes {
            let (from, to, level_mm) = self.seat(pipe);
            let x = from + 0.3 * (to - from);
            let mut lines = wrapped(&pipe.name, LABEL_LETTERS);
            lines.push(format!("heat pipe, {}", joint_words(pipe.joint.kind)));
            remarks.push(Remark {
                tip: self.view.at(x, level_mm) + Vector2::new(0.0, 0.55 * PIPE_MM),
                lines,
                role: Role::Label,
                dot: true,
            });
        }
        for (obstacle, fit) in &self.obstacles {
            if !self.is_near(&obstacle.footprint) {
                continue;
            }
            let (low, high) = obstacle.footprint.bounds();
            let (from, to) = (low.x.max(self.x_mm.0), high.x.min(self.x_mm.1));
            let mut lines = wrapped(&obstacle.name, LABEL_LETTERS);
            lines.push(format!("obstacle, to {} high", size(obstacle.top_mm)));
            lines.push(format!("{} clear of metal", hundredths(fit.judged_mm())));
            if !fit.clears {
                lines.push(format!("TOO CLOSE: {} wanted", hundredths(fit.wanted_mm)));
            }
            // Long rails are named near their end, where they disturb least.
            let x = from + (0.5 * (to - from)).min(4.0 / self.view.scale);
            remarks.push(Remark {
                tip: self.view.at(x, obstacle.top_mm.min(self.cut_mm)) - Vector2::new(0.0, 1.5),
                lines,
                role: if fit.clears { Role::Label } else { Role::Alert },
                dot: true,
            });
        }
        remarks
    }

    fn remark(&self, group: &Group) -> Remark {
        let names: Vec<&str> = group
            .members
            .iter()
            .map(|(component, _)| component.name.as_str())
            .collect();
        let mut details = group.details.iter();
        let first = details.next().cloned().unwrap_or_default();
        let mut lines = wrapped(&format!("{}: {first}", names.join(", ")), LABEL_LETTERS);
        lines.extend(details.cloned());
        let bar = self.gap_bar(group);
        let tip = bar.map_or_else(
            || {
                self.view
                    .at(self.gap_place(group), group.height_mm.min(self.cut_mm))
            },
            |(_, top)| top,
        );
        Remark {
            tip,
            lines,
            role: if group.is_good() {
                Role::Label
            } else {
                Role::Alert
            },
            dot: bar.is_none(),
        }
    }

    /// Lower and upper end of the bar that stands in the smallest gap, on the sheet.
    fn gap_bar(&self, group: &Group) -> Option<(Point2<f64>, Point2<f64>)> {
        let gap_mm = group.gap_mm().filter(|gap| *gap > SAME_MM)?;
        let x = self.gap_place(group);
        Some((
            self.view.at(x, group.height_mm),
            self.view.at(x, group.height_mm + gap_mm),
        ))
    }

    /// Where a group's gap is shown: where it is smallest; when it is even, in the middle of what is seen.
    fn gap_place(&self, group: &Group) -> f64 {
        if let Some(x_mm) = group.narrowest_mm() {
            return x_mm;
        }
        let (from, to) = group.x_mm;
        // Groups drawn later stand in front.
        let in_front = self
            .groups
            .iter()
            .skip_while(|other| !std::ptr::eq(*other, group))
            .skip(1);
        let mut seen = vec![(from, to)];
        for (low, high) in in_front.map(|other| other.x_mm) {
            seen = seen
                .into_iter()
                .flat_map(|(a, b)| [(a, b.min(low)), (a.max(high), b)])
                .filter(|(a, b)| b - a > SAME_MM)
                .collect();
        }
        seen.into_iter()
            .max_by(|a, b| (a.1 - a.0).total_cmp(&(b.1 - b.0)))
            .map_or(f64::midpoint(from, to), |(a, b)| f64::midpoint(a, b))
    }

    /// Every gap as a dimension: arrowheads where they fit, else the oblique strokes that stand in for them (habits of
    /// ISO 129-1, as commonly practised).
    fn gap_bars(&self, drawing: &mut Drawing) {
        for (low, high) in self.groups.iter().filter_map(|group| self.gap_bar(group)) {
            let length_mm = high.y - low.y;
            let across = Vector2::new(STROKE_MM.min(0.3 + 0.5 * length_mm), 0.0);
            // Hatching stops round a dimension.
            let clear = Loop::rectangle(low - across * CLEAR, high + across * CLEAR);
            drawing.area(Role::Paper, vec![clear]);
            for end in [low, high] {
                drawing.line(Role::Gap, end - across, end + across);
            }
            drawing.line(Role::Gap, low, high);
            let arrow_mm = (ARROW_SHARE * length_mm).min(LONGEST_ARROW_MM);
            if arrow_mm < SHORTEST_ARROW_MM {
                let slant = Vector2::new(0.5, 0.5) * STROKE_MM.min(length_mm);
                for end in [low, high] {
                    drawing.line(Role::Gap, end - slant, end + slant);
                }
                continue;
            }
            for (tip, way) in [(low, -Vector2::y()), (high, Vector2::y())] {
                drawing.push(Role::Gap, arrow(tip, way, arrow_mm).shape);
            }
        }
    }

    /// Against the plate, a part's top lies somewhere in its band: all half-widths added up.
    fn bands(&self, drawing: &mut Drawing) {
        for group in self.groups.iter().filter(|group| group.gap_mm().is_some()) {
            let Some(half_mm) = group.gap_plus_minus_mm() else {
                continue;
            };
            let (low, high) = (group.height_mm - half_mm, group.height_mm + half_mm);
            if half_mm > SAME_MM && high < self.cut_mm {
                let band = Loop::rectangle(
                    self.view.at(group.x_mm.0, low),
                    self.view.at(group.x_mm.1, high),
                );
                drawing.area(Role::Band, vec![band]);
            }
        }
    }

    /// Heat pipes on the plate's top. How high they are nobody has said: they are torn off.
    fn pipes(&self, drawing: &mut Drawing) {
        for pipe in &self.part.thermal.pipes {
            let (from, to, level_mm) = self.seat(pipe);
            let low = self.view.at(from, level_mm);
            let high = self.view.at(to, level_mm) + Vector2::new(0.0, PIPE_MM);
            drawing.area(Role::Pipe, vec![torn(low, high)]);
        }
    }

    /// Extent of a pipe along x, and the plate's top under it.
    fn seat(&self, pipe: &HeatPipe) -> (f64, f64, f64) {
        let (low, high) = pipe.footprint.bounds();
        let (from, to) = (low.x.max(self.x_mm.0), high.x.min(self.x_mm.1));
        let topside = &self.part.profile.topside;
        let (first, last) = self.part.profile.extent_mm();
        let level_mm = [from, f64::midpoint(from, to), to]
            .map(|x| topside.height_at(x.clamp(first, last)))
            .into_iter()
            .fold(f64::NEG_INFINITY, f64::max);
        (from, to, level_mm)
    }

    /// Obstacles that are too far away to be drawn.
    fn left_out(&self) -> Option<String> {
        let names: Vec<&str> = self
            .obstacles
            .iter()
            .filter(|(obstacle, _)| !self.is_near(&obstacle.footprint))
            .map(|(obstacle, _)| obstacle.name.as_str())
            .collect();
        (!names.is_empty()).then(|| format!("Beyond the picture: {}.", names.join(", ")))
    }
}

fn joint_words(kind: JointKind) -> &'static str {
    match kind {
        JointKind::Solder => "soldered on",
        JointKind::Paste => "on paste",
        JointKind::Adhesive => "glued on",
    }
}

/// A box between two corners, torn off above.
fn torn(low: Point2<f64>, high: Point2<f64>) -> Loop {
    let mut points = vec![low, Point2::new(high.x, low.y)];
    let teeth = 6u8;
    for tooth in 0..=teeth {
        let x = high.x + (low.x - high.x) * f64::from(tooth) / f64::from(teeth);
        let down = if tooth % 2 == 0 { 0.0 } else { 1.2 };
        points.push(Point2::new(x, high.y - down));
    }
    Loop::polygon(&points)
}

/// The stretch of a chain between two places along x, drawn on level where the chain ends before.
fn points_between(chain: &Chain, from: f64, to: f64) -> Vec<Point2<f64>> {
    let inside = chain
        .flattened(FINENESS_MM)
        .into_iter()
        .filter(|point| from < point.x && point.x < to);
    std::iter::once(Point2::new(from, chain.height_at(from)))
        .chain(inside)
        .chain([Point2::new(to, chain.height_at(to))])
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::draw::Shape;
    use crate::fit::fit;
    use crate::job::gaps;
    use crate::output::pictures::fixtures::check::{
        assert_sound, parts, pressed, pressed_parts, says, words,
    };

    #[test]
    fn every_part_can_be_drawn_and_read() {
        for (name, part) in parts() {
            let fit = fit(&part);
            let drawing = plate_over_parts(&part, &fit);
            assert_sound(name, &drawing, &plate_over_parts(&part, &fit));
            for component in &part.components {
                assert!(
                    says(&drawing, &component.name),
                    "{name}: {}",
                    component.name
                );
            }
            for flat in &part.flats {
                assert!(says(&drawing, &flat.name), "{name}: {}", flat.name);
            }
            for thing in part
                .extensions
                .iter()
                .map(|e| &e.name)
                .chain(part.obstacles.iter().map(|o| &o.name))
            {
                assert!(says(&drawing, thing), "{name}: {thing}");
            }
        }
    }

    #[test]
    fn the_numbers_are_those_of_the_fit() {
        for (name, part) in parts() {
            let fit = fit(&part);
            let drawing = plate_over_parts(&part, &fit);
            for component in &fit.components {
                if let Some(gap_mm) = component.gap_min_mm {
                    let number = format!("gap {}", hundredths(gap_mm));
                    assert!(says(&drawing, &number), "{name}: {number}");
                }
            }
        }
    }

    #[test]
    fn a_pressed_plate_has_its_gaps_beside_the_drawn_ones() {
        for (name, part, pressing) in pressed_parts() {
            let fit = gaps(&part, Some(&pressing));
            let drawing = plate_over_parts(&part, &fit);
            assert_sound(name, &drawing, &plate_over_parts(&part, &fit));
            assert!(says(&drawing, "which decides"), "{name}");
            for component in &fit.components {
                if let Some(pressed) = pressed_words(component) {
                    assert!(says(&drawing, &pressed), "{name}: {pressed}");
                }
            }
        }
        // Lower by half a millimetre: the board part with the smallest gap is in it.
        let (part, mut pressing) = pressed();
        let faces = [&mut pressing.released.under, &mut pressing.released.top];
        for point in faces.into_iter().flatten() {
            point.y -= 0.5;
        }
        let fit = gaps(&part, Some(&pressing));
        assert!(!fit.is_good());
        let drawing = plate_over_parts(&part, &fit);
        assert_sound("low", &drawing, &plate_over_parts(&part, &fit));
        assert!(
            says(&drawing, "ONCE PRESSED PAD TOO THICK"),
            "{}",
            words(&drawing)
        );
    }

    #[test]
    fn components_that_look_alike_share_a_label() {
        let parts = parts();
        let (_, part) = &parts[0];
        let words = words(&plate_over_parts(part, &fit(part)));
        assert!(words.contains("Q1, Q2, Q3: gap 0.80"), "{words}");
        assert_eq!(words.matches("0.80").count(), 1);
    }

    #[test]
    fn what_touches_is_said_in_words_and_lies_on_top() {
        let parts = parts();
        let (_, part) = parts.iter().find(|(name, _)| *name == "hat").unwrap();
        let drawing = plate_over_parts(part, &fit(part));
        let words = words(&drawing);
        for wanted in [
            "TOUCHES",
            "TOO CLOSE: 0.50 wanted",
            "PAD TOO THICK",
            "Beyond the picture: far rail.",
        ] {
            assert!(words.contains(wanted), "{wanted}: {words}");
        }
        let last = |role: Role| {
            drawing
                .items()
                .iter()
                .rposition(|item| item.role == role && matches!(item.shape, Shape::Area { .. }))
        };
        assert!(last(Role::Alert) > last(Role::Metal));
    }

    #[test]
    fn the_sheet_is_as_thick_as_it_is() {
        let parts = parts();
        let (_, part) = &parts[1];
        let fit = fit(part);
        let drawing = plate_over_parts(part, &fit);
        let metal = drawing.items().iter().find_map(|item| match &item.shape {
            Shape::Area { loops } if item.role == Role::Metal => loops.first(),
            _ => None,
        });
        // The area of a bent sheet is its length at mid-thickness times its thickness.
        let scale = Scene::new(part, &fit).view.scale;
        let wanted = part.profile.mid.length_mm() * part.sheet.thickness_mm * scale * scale;
        assert!((metal.unwrap().area_mm2().abs() / wanted - 1.0).abs() < 1e-9);
    }

    #[test]
    fn tabs_and_outlines_of_their_own_end_the_plate() {
        let example = include_str!("../../../../examples/single-step.toml");
        let tab = "[[tab]]\nedge = \"left\"\nfrom_mm = 8.0\nto_mm = 20.0\nlength_mm = 3.0\n";
        let short = "outline_mm = [[5, 0], [33, 0], [33, 36], [5, 36]]";
        for (text, from, to) in [
            (format!("{example}\n{tab}"), -3.0, 38.0),
            (example.replace("corner_radius_mm = 2.0", short), 5.0, 33.0),
        ] {
            let part = crate::part::parse(&text).unwrap().value;
            let fit = fit(&part);
            let scene = Scene::new(&part, &fit);
            let (low, high) = scene.plate().bounds();
            assert!((low.x - scene.view.at(from, 0.0).x).abs() < 1e-9);
            assert!((high.x - scene.view.at(to, 0.0).x).abs() < 1e-9);
            // As thick as ever at both ends.
            let thickness_mm = part.sheet.thickness_mm * scene.view.scale;
            let corners = scene.plate().flattened(0.1);
            for x in [low.x, high.x] {
                let ends: Vec<f64> = corners
                    .iter()
                    .filter(|corner| (corner.x - x).abs() < 1e-9)
                    .map(|corner| corner.y)
                    .collect();
                assert_eq!(ends.len(), 2);
                assert!(((ends[0] - ends[1]).abs() - thickness_mm).abs() < 1e-9);
            }
        }
    }
}
