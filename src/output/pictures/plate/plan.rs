//! The formed plate from above, drawn as if it were glass: what lies where.

use crate::draw::axis::{ruler_step, ticks};
use crate::draw::drawing::{Anchor, Drawing, Text};
use crate::draw::label_rows::{LabelSide, Remark, Rows};
use crate::draw::legend::legend;
use crate::draw::lettering::{LABEL_LETTERS, SHEET_MM, TEXT_MM, heading, part_name, wrapped};
use crate::draw::style::Role;
use crate::draw::view::View;
use crate::fit::{Fit, GapVerdict};
use crate::geometry::{Footprint, y_intervals};
use crate::numbers::{hundredths, plain, size};
use crate::output::pictures::footprints::{footprint_loop, name_in};
use crate::output::pictures::plate::flat_band::flat_band;
use crate::output::pictures::plate::groups::trouble_words;
use crate::part::{Obstacle, Part, ZoneKind};
use nalgebra::{Point2, Vector2};

/// Room for the part itself on the sheet, mm.
const PICTURE_MM: [f64; 2] = [146.0, 120.0];
/// Left edge of that room.
const LEFT_MM: f64 = 14.0;
/// Obstacles further out than this share of the plate's longer side are cut off.
const BEYOND: f64 = 0.3;
/// Distance of the lines that shade a bend, mm.
const SHADE_MM: f64 = 0.6;

/// The plate from above with everything under it.
pub fn plan(part: &Part, fit: &Fit) -> Drawing {
    let title = format!("{}: plan", part_name(&part.name));
    let mut drawing = Drawing::new(
        title.clone(),
        format!(
            "The formed plate seen from above, x to the right, y upwards: {} flats, {} board parts, {} holes.",
            part.flats.len(),
            part.components.len(),
            part.holes.len()
        ),
    );
    let scene = Scene::new(part, fit);
    let (remarks, names) = scene.things(&mut drawing);
    scene.edges(&mut drawing);
    // Each remark on the side to which its line is shorter.
    let middle = scene
        .view
        .point(nalgebra::center(&scene.low, &scene.high))
        .y;
    let (above, below): (Vec<_>, Vec<_>) = remarks
        .into_iter()
        .partition(|remark| remark.tip.y >= middle);
    let rows = |side: LabelSide, base_mm: f64| Rows {
        from_mm: LEFT_MM,
        to_mm: SHEET_MM,
        base_mm,
        side,
        size_mm: TEXT_MM,
    };
    let (low, high) = (scene.view.point(scene.low), scene.view.point(scene.high));
    rows(LabelSide::Above, high.y + 1.5).draw(above, &mut drawing);
    let bottom = rows(LabelSide::Below, low.y - 1.5).draw(below, &mut drawing);
    let ruler_end = scene.rulers(bottom - 1.5, &mut drawing);
    // The names last: their rims keep them legible where a line passes.
    for (role, text) in names {
        drawing.text(role, text);
    }
    flat_band(part, &scene.view, ruler_end - 4.0, &mut drawing);
    legend(&mut drawing, Some(&scene.view), LEGEND, SHEET_MM, TEXT_MM);
    let (low, high) = part.outline.bounds();
    let mut notes = vec![format!(
        "Seen from above, the plate drawn as glass: {} by {} mm as formed. All numbers in mm.",
        size(high.x - low.x),
        size(high.y - low.y)
    )];
    notes.extend(scene.left_out());
    heading(&mut drawing, &title, &notes, SHEET_MM, TEXT_MM);
    drawing
}

const LEGEND: &[(Role, &str)] = &[
    (Role::Outline, "edge of the plate"),
    (Role::Tangent, "where a bend begins or ends"),
    (Role::Part, "board part, with its smallest gap as drawn"),
    (Role::Extension, "extension plate"),
    (Role::Obstacle, "obstacle"),
    (Role::Alert, "touches or comes too close"),
];

struct Scene<'a> {
    part: &'a Part,
    fit: &'a Fit,
    view: View,
    low: Point2<f64>,
    high: Point2<f64>,
}

impl<'a> Scene<'a> {
    fn new(part: &'a Part, fit: &'a Fit) -> Self {
        let (mut low, mut high) = part.outline.bounds();
        let mut take = |(from, to): (Point2<f64>, Point2<f64>)| {
            low = Point2::new(low.x.min(from.x), low.y.min(from.y));
            high = Point2::new(high.x.max(to.x), high.y.max(to.y));
        };
        part.components
            .iter()
            .for_each(|component| take(component.footprint.bounds()));
        let beyond_mm = BEYOND * (high.x - low.x).max(high.y - low.y);
        let far = Vector2::new(beyond_mm, beyond_mm);
        let (from, to) = (low - far, high + far);
        for obstacle in &part.obstacles {
            if let Some((obstacle_low, obstacle_high)) = common((from, to), &obstacle.footprint) {
                low = Point2::new(low.x.min(obstacle_low.x), low.y.min(obstacle_low.y));
                high = Point2::new(high.x.max(obstacle_high.x), high.y.max(obstacle_high.y));
            }
        }
        let view = View::fitting((low, high), PICTURE_MM, Point2::new(LEFT_MM, 0.0));
        let spare_mm = PICTURE_MM[0] / view.scale - (high.x - low.x);
        Self {
            part,
            fit,
            view: view.shifted(Vector2::new(spare_mm / 2.0, 0.0)),
            low,
            high,
        }
    }

    /// Draws what there is; gives the remarks that found no room in their places, and the names that did.
    fn things(&self, drawing: &mut Drawing) -> (Vec<Remark>, Vec<(Role, Text)>) {
        let mut remarks = Vec::new();
        let mut names = Vec::new();
        for (obstacle, fit) in self.part.obstacles.iter().zip(&self.fit.obstacles) {
            let Some((low, high)) = common((self.low, self.high), &obstacle.footprint) else {
                continue;
            };
            let role = if fit.clears {
                Role::Obstacle
            } else {
                Role::Alert
            };
            self.obstacle(obstacle, role, (low, high), drawing);
            let mut lines = vec![obstacle.name.clone()];
            if !fit.clears {
                lines.push(format!("TOO CLOSE: {} wanted", hundredths(fit.wanted_mm)));
            }
            let words = if fit.clears { Role::Label } else { Role::Alert };
            self.name(
                &lines,
                words,
                (low, high),
                &obstacle.footprint,
                &mut names,
                &mut remarks,
            );
        }
        for extension in &self.part.extensions {
            let shape = footprint_loop(&extension.footprint, &self.view);
            drawing.area(Role::Extension, vec![shape]);
            let (low, high) = extension.footprint.bounds();
            let corner = self
                .view
                .point(low + (high - low).component_mul(&Vector2::new(0.1, 0.93)));
            remarks.push(Remark {
                tip: corner,
                lines: wrapped(&extension.name, LABEL_LETTERS),
                role: Role::Label,
                dot: true,
            });
        }
        for (component, fit) in self.part.components.iter().zip(&self.fit.components) {
            let shape = footprint_loop(&component.footprint, &self.view);
            let alarming = matches!(fit.verdict, GapVerdict::Touches | GapVerdict::TooClose);
            let role = if alarming { Role::Alert } else { Role::Part };
            drawing.area(role, vec![shape]);
            let words = if fit.verdict.is_good() {
                Role::Label
            } else {
                Role::Alert
            };
            let mut lines = vec![component.name.clone()];
            lines.extend(fit.gap_min_mm.map(hundredths));
            lines.extend(trouble_words(component, fit));
            self.name(
                &lines,
                words,
                component.footprint.bounds(),
                &component.footprint,
                &mut names,
                &mut remarks,
            );
        }
        self.plate(drawing);
        for hole in &self.part.holes {
            let mut lines = wrapped(&hole.name, LABEL_LETTERS);
            let (low, high) = hole.shape.bounds();
            lines.push(hole.diameter_mm.map_or_else(
                || format!("{} × {}", size(high.x - low.x), size(high.y - low.y)),
                |diameter_mm| format!("ø {}", size(diameter_mm)),
            ));
            // On the edge of the hole that is nearer to the rows.
            let upper = hole.centre.y >= f64::midpoint(self.low.y, self.high.y);
            remarks.push(Remark {
                tip: self.view.at(
                    f64::midpoint(low.x, high.x),
                    if upper { high.y } else { low.y },
                ),
                lines,
                role: Role::Label,
                dot: false,
            });
        }
        (remarks, names)
    }

    fn obstacle(
        &self,
        obstacle: &Obstacle,
        role: Role,
        (low, high): (Point2<f64>, Point2<f64>),
        drawing: &mut Drawing,
    ) {
        let (own_low, own_high) = obstacle.footprint.bounds();
        let whole = (own_low - low).norm() + (own_high - high).norm() < 1e-6;
        let shape = if whole {
            footprint_loop(&obstacle.footprint, &self.view)
        } else {
            self.view.rectangle(low, high)
        };
        drawing.area(role, vec![shape]);
    }

    /// Writes lines into a box when they fit, else adds a remark.
    fn name(
        &self,
        lines: &[String],
        role: Role,
        (low, high): (Point2<f64>, Point2<f64>),
        footprint: &Footprint,
        names: &mut Vec<(Role, Text)>,
        remarks: &mut Vec<Remark>,
    ) {
        if let Some(texts) = name_in(&self.view, lines, (low, high), footprint) {
            names.extend(texts.into_iter().map(|text| (role, text)));
            return;
        }
        let middle = self.view.point(nalgebra::center(&low, &high));
        let mut broken = Vec::new();
        for line in lines {
            broken.extend(wrapped(line, LABEL_LETTERS));
        }
        remarks.push(Remark {
            tip: middle,
            lines: broken,
            role,
            dot: true,
        });
    }

    /// Outline, holes, and bends shaded by lines along them.
    fn plate(&self, drawing: &mut Drawing) {
        let metal = self.part.metal_loops();
        let across = |role: Role, x: f64, drawing: &mut Drawing| {
            for (from, to) in y_intervals(x, &metal) {
                drawing.line(role, self.view.at(x, from), self.view.at(x, to));
            }
        };
        for zone in &self.part.profile.zones {
            if !matches!(zone.kind, ZoneKind::Bend(..)) {
                continue;
            }
            let (from, to) = (zone.piece.start.point.x, zone.piece.end.point.x);
            let step = SHADE_MM / self.view.scale;
            let mut x = from + step;
            while x < to - 0.3 * step {
                across(Role::Faint, x, drawing);
                x += step;
            }
            across(Role::Tangent, from, drawing);
            across(Role::Tangent, to, drawing);
        }
        drawing.area(Role::Outline, vec![self.view.shape(&self.part.outline)]);
        for hole in &self.part.holes {
            drawing.area(Role::Hole, vec![self.view.shape(&hole.shape)]);
        }
    }

    /// The words for the long edges, on their level at the right.
    fn edges(&self, drawing: &mut Drawing) {
        let (low, high) = self.part.outline.bounds();
        let right = self.view.at(self.high.x, 0.0).x + 2.0;
        for (y, words) in [(high.y, ["back", "edge"]), (low.y, ["front", "edge"])] {
            let at = Point2::new(right, self.view.at(0.0, y).y);
            drawing.line(Role::Dimension, at, at + Vector2::new(3.0, 0.0));
            for (word, up) in words.into_iter().zip([0.35, -0.95]) {
                let place = at + Vector2::new(4.0, up * TEXT_MM);
                drawing.text(Role::Label, Text::new(place, TEXT_MM, word));
            }
        }
    }

    /// Rulers in the part's own places along x and y; gives the level at which the lower one ends.
    fn rulers(&self, bottom: f64, drawing: &mut Drawing) -> f64 {
        let step_mm = ruler_step(self.view.scale);
        let left = self.view.point(self.low).x - 3.0;
        let (low, high) = (self.view.point(self.low), self.view.point(self.high));
        drawing.line(
            Role::Dimension,
            Point2::new(low.x, bottom),
            Point2::new(high.x, bottom),
        );
        drawing.line(
            Role::Dimension,
            Point2::new(left, low.y),
            Point2::new(left, high.y),
        );
        for x_mm in ticks(self.low.x, self.high.x, step_mm) {
            let at = Point2::new(self.view.at(x_mm, 0.0).x, bottom);
            let tick = Vector2::new(0.0, -1.4);
            drawing.line(Role::Dimension, at, at + tick);
            let word = if x_mm == 0.0 {
                "x 0".into()
            } else {
                plain(x_mm)
            };
            drawing.text(
                Role::Dimension,
                Text::new(at + Vector2::new(0.0, -4.0), TEXT_MM, word).anchored(Anchor::Middle),
            );
        }
        for y_mm in ticks(self.low.y, self.high.y, step_mm) {
            let at = Point2::new(left, self.view.at(0.0, y_mm).y);
            let tick = Vector2::new(-1.4, 0.0);
            drawing.line(Role::Dimension, at, at + tick);
            let word = if y_mm == 0.0 {
                "y 0".into()
            } else {
                plain(y_mm)
            };
            drawing.text(
                Role::Dimension,
                Text::new(at + Vector2::new(-2.0, -0.35 * TEXT_MM), TEXT_MM, word)
                    .anchored(Anchor::End),
            );
        }
        bottom - 4.5
    }

    fn left_out(&self) -> Option<String> {
        let names: Vec<&str> = self
            .part
            .obstacles
            .iter()
            .filter(|obstacle| common((self.low, self.high), &obstacle.footprint).is_none())
            .map(|obstacle| obstacle.name.as_str())
            .collect();
        (!names.is_empty()).then(|| format!("Beyond the picture: {}.", names.join(", ")))
    }
}

/// The part of a footprint's box that lies in a window.
fn common(
    (low, high): (Point2<f64>, Point2<f64>),
    footprint: &Footprint,
) -> Option<(Point2<f64>, Point2<f64>)> {
    let (own_low, own_high) = footprint.bounds();
    let from = Point2::new(low.x.max(own_low.x), low.y.max(own_low.y));
    let to = Point2::new(high.x.min(own_high.x), high.y.min(own_high.y));
    (from.x < to.x && from.y < to.y).then_some((from, to))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::draw::Shape;
    use crate::fit::fit;
    use crate::output::pictures::fixtures::check::{assert_sound, parts, says};

    #[test]
    fn every_part_can_be_drawn_and_read() {
        for (name, part) in parts() {
            let fit = fit(&part);
            let drawing = plan(&part, &fit);
            assert_sound(name, &drawing, &plan(&part, &fit));
            let names = part
                .components
                .iter()
                .map(|component| &component.name)
                .chain(part.holes.iter().map(|hole| &hole.name))
                .chain(part.extensions.iter().map(|extension| &extension.name))
                .chain(part.obstacles.iter().map(|obstacle| &obstacle.name));
            for thing in names {
                assert!(says(&drawing, thing), "{name}: {thing}");
            }
            for component in &fit.components {
                if let Some(gap_mm) = component.gap_min_mm {
                    assert!(
                        says(&drawing, &hundredths(gap_mm)),
                        "{name}: {}",
                        component.name
                    );
                }
            }
        }
    }

    #[test]
    fn tangent_lines_stop_at_the_notch() {
        let parts = parts();
        let (_, part) = &parts[1];
        let drawing = plan(part, &fit(part));
        let tangents = drawing
            .items()
            .iter()
            .filter(|item| item.role == Role::Tangent && matches!(item.shape, Shape::Line { .. }));
        // Two lines for each of four bends, one in the band for each step, one in the legend.
        assert_eq!(tangents.count(), 8 + 2 + 1);
    }

    #[test]
    fn rulers_have_round_places() {
        assert_eq!(ticks(-3.0, 21.0, 10.0), [0.0, 10.0, 20.0]);
        assert_eq!(ruler_step(2.4), 10.0);
        assert_eq!(ruler_step(0.01), 500.0);
        assert!(
            ticks(-12.0, 3.0, 5.0)
                .iter()
                .all(|x| x.is_sign_positive() || *x < 0.0)
        );
    }
}
