//! Is a better pad worth it? The inside of one board part against the conductivity of its pad.

use crate::draw::axis::round_below;
use crate::draw::drawing::{Anchor, Drawing, Shape, Text};
use crate::draw::label_rows::{LabelSide, Remark, Rows, spread};
use crate::draw::legend::legend;
use crate::draw::lettering::{PITCH, SHEET_MM, TEXT_MM, footing, heading, part_name, wrapped};
use crate::draw::style::Role;
use crate::geometry::loops::LoopEdge;
use crate::heat::whatif::PAYS_K;
use crate::heat::{Heat, PadCurve, PartTemperature};
use crate::numbers::{hundredths, plain, tenths};
use crate::part::Part;
use crate::quantity::Angle;
use crate::words::heat::conductivity;
use nalgebra::{Point2, Vector2};

/// Left lower corner of the field, and its size, mm on the sheet.
const FIELD_MM: [f64; 4] = [18.0, 0.0, 128.0, 92.0];
/// Room below the lower curve for its words, where there are two.
const BELOW_MM: f64 = 22.0;
/// The field holds at least so many degrees, or a pad that changes nothing would look as if it did.
const LEAST_SPAN_K: f64 = 4.0;
/// Points of a line from one conductivity of the chart to the next.
const FINENESS: u8 = 8;
/// Lines of the axis of temperatures at most.
const MOST_LEVELS: f64 = 12.0;
/// Numbers along the axis of conductivities at most.
const MOST_TICKS: f64 = 12.0;
/// A limit further away than this share of the curves' range is said in words.
const TOO_FAR: f64 = 0.6;
/// Letters in the words at the end of a curve.
const END_LETTERS: usize = 14;
/// Radius of the mark where a plate stands now, mm.
const NOW_MM: f64 = 1.1;
/// Half the size of the cross where a curve stops paying, mm.
const CROSS_MM: f64 = 1.5;

const LEGEND: &[(Role, &str)] = &[
    (Role::HiddenEdge, "old plate"),
    (Role::Outline, "new plate"),
    (Role::Limit, "limit"),
];

/// One plate's curve.
struct Curve<'a> {
    plate: &'static str,
    role: Role,
    pad: &'a PadCurve,
    /// Conductivity and temperature, W/(m·K) and °C, from left to right.
    points: Vec<(f64, f64)>,
}

impl<'a> Curve<'a> {
    /// `None` where the curve has not a temperature for each conductivity.
    fn of(
        plate: &'static str,
        role: Role,
        curve: &'a PadCurve,
        chart_w_mk: &[f64],
    ) -> Option<Self> {
        if curve.inside_c.len() != chart_w_mk.len() {
            return None;
        }
        let mut points: Vec<(f64, f64)> = chart_w_mk
            .iter()
            .copied()
            .zip(curve.inside_c.iter().copied())
            .collect();
        // What is marked lies on the line.
        points.push((curve.now_w_mk, curve.now_c));
        points.extend(curve.pays_until_w_mk.map(|until| (until, pays_c(curve))));
        let last = chart_w_mk.last().copied()?.max(curve.now_w_mk);
        let first = chart_w_mk.first().copied()?.min(curve.now_w_mk);
        points.retain(|(w_mk, c)| c.is_finite() && (first..=last).contains(w_mk));
        points.sort_by(|a, b| a.0.total_cmp(&b.0));
        (points.len() > 1).then_some(Self {
            plate,
            role,
            pad: curve,
            points,
        })
    }

    fn remarks(&self, field: &Field) -> Vec<Remark> {
        let plate = self.plate;
        let mut remarks = vec![Remark {
            tip: field.at(self.pad.now_w_mk, self.pad.now_c),
            lines: vec![
                format!("{plate} now:"),
                conductivity(self.pad.now_w_mk),
                format!("{} °C", tenths(self.pad.now_c)),
            ],
            role: Role::Label,
            dot: false,
        }];
        if let Some(until) = self.drawn_end(field) {
            remarks.push(Remark {
                tip: field.at(until, pays_c(self.pad)),
                lines: vec![
                    format!("{plate} stops"),
                    format!("paying: {}", conductivity(until)),
                    format!("{} °C", tenths(pays_c(self.pad))),
                ],
                role: Role::Label,
                dot: false,
            });
        }
        remarks
    }

    /// Where it stops paying, if that is in the picture.
    fn drawn_end(&self, field: &Field) -> Option<f64> {
        let until = self.pad.pays_until_w_mk?;
        let (first, _) = self.points.first().copied()?;
        (first..=field.most_w_mk).contains(&until).then_some(until)
    }

    /// What the curve says, in a sentence.
    fn words(&self, name: &str, first_w_mk: f64, last_w_mk: f64) -> String {
        let curve = self.pad;
        let open_k = (curve.now_c - curve.floor_c).max(0.0);
        let end = match curve.pays_until_w_mk {
            Some(until) if until < first_w_mk => format!(
                "better pads stop paying below {}, left of this picture",
                conductivity(first_w_mk)
            ),
            Some(until) if until <= last_w_mk => {
                format!("better pads stop paying at {}", conductivity(until))
            }
            Some(until) => format!(
                "better pads stop paying at {}, right of this picture",
                conductivity(until)
            ),
            None => "better pads never stop paying".to_owned(),
        };
        format!(
            "{}, {} mm of pressed pad: {name} is at {} °C now, a perfect pad (contact resistance only) would make it {} \
             °C, {} K less; {end}.",
            capital(self.plate),
            hundredths(curve.pressed_mm),
            tenths(curve.now_c),
            tenths(curve.floor_c),
            tenths(open_k)
        )
    }
}

/// The temperature at which a curve stops paying: what is left of it below is that much.
fn pays_c(curve: &PadCurve) -> f64 {
    curve.floor_c + PAYS_K
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters
        .next()
        .map(|first| first.to_uppercase().chain(letters).collect())
        .unwrap_or_default()
}

/// Inside of one part against the conductivity of its pad; `None` where the part has no pad.
pub fn pad_chart(part: &Part, heat: &Heat, number: usize) -> Option<Drawing> {
    let of = heat.parts.get(number)?;
    let chart = &heat.chart_w_mk;
    let new = Curve::of("new plate", Role::Outline, of.pad_curve.as_ref()?, chart)?;
    let old = of
        .old_pad_curve
        .as_ref()
        .and_then(|curve| Curve::of("old plate", Role::HiddenEdge, curve, chart));
    let curves: Vec<Curve<'_>> = old.into_iter().chain([new]).collect();
    let (first, last) = (chart.first().copied()?, chart.last().copied()?);
    let words: Vec<String> = curves
        .iter()
        .map(|curve| curve.words(&of.name, first, last))
        .collect();
    let title = format!(
        "{}: {} against the conductivity of pads",
        part_name(&part.name),
        of.name
    );
    let mut drawing = Drawing::new(title.clone(), words.join(" "));
    let field = Field::of(&curves, of.limit_c);
    field.axes(&mut drawing);
    let limit_c = of.limit_c.filter(|limit_c| field.holds(*limit_c));
    for curve in &curves {
        let mut points = smooth(&curve.points)
            .into_iter()
            .map(|(w_mk, c)| field.at(w_mk, c));
        if let Some(start) = points.next() {
            let edges = points.map(|to| LoopEdge::Line { to }).collect();
            drawing.push(curve.role, Shape::Path { start, edges });
        }
    }
    remarks(&field, &curves, &mut drawing);
    let [left, _, width, _] = FIELD_MM;
    for curve in &curves {
        drawing.circle(
            Role::Dimension,
            field.at(curve.pad.now_w_mk, curve.pad.now_c),
            NOW_MM,
        );
        if let Some(until) = curve.drawn_end(&field) {
            cross(field.at(until, pays_c(curve.pad)), &mut drawing);
        }
    }
    if let Some(limit_c) = limit_c {
        let y = field.at(0.0, limit_c).y;
        drawing.line(
            Role::Limit,
            Point2::new(left, y),
            Point2::new(left + width, y),
        );
    }
    ends(&field, &curves, limit_c, &mut drawing);
    legend(&mut drawing, None, LEGEND, SHEET_MM, TEXT_MM);
    let mut below = vec![format!(
        "Dot: where a plate stands now. Cross: beyond it all better pads together bring less than {} K. The pad \
         changes wherever the plate has it; its faces stay as they are.",
        plain(PAYS_K)
    )];
    if let Some(limit_c) = of.limit_c.filter(|limit_c| !field.holds(*limit_c)) {
        below.push(format!(
            "Its limit, {} °C, lies outside this picture.",
            plain(limit_c)
        ));
    }
    footing(&mut drawing, &below, SHEET_MM, TEXT_MM);
    heading(&mut drawing, &title, &notes(of, words), SHEET_MM, TEXT_MM);
    Some(drawing)
}

/// Words to the marks: those of the upper curve above it, those of the lower one below it, where the field is empty.
fn remarks(field: &Field, curves: &[Curve<'_>], drawing: &mut Drawing) {
    let [left, foot, width, height] = FIELD_MM;
    let upper = curves
        .iter()
        .max_by(|a, b| a.pad.now_c.total_cmp(&b.pad.now_c))
        .map(|curve| curve.plate);
    for curve in curves {
        let (side, base_mm) = if Some(curve.plate) == upper {
            (LabelSide::Above, foot + height + 1.0)
        } else {
            (LabelSide::Below, foot + BELOW_MM - 2.0)
        };
        Rows {
            from_mm: left + 2.0,
            to_mm: left + width,
            base_mm,
            side,
            size_mm: TEXT_MM,
        }
        .draw(curve.remarks(field), drawing);
    }
}

/// More points along a curve: cubics that go through all points and never swing past one. What a pad holds back goes with
/// one over its conductivity, so they run over that, where the curve is nearly straight.
///
/// Slopes at the points are harmonic means of those beside them (Fritsch and Butland, A method for constructing local
/// monotone piecewise cubic interpolants, SIAM J. Sci. Stat. Comput. 5, 1984; from memory, for equal spacing).
fn smooth(points: &[(f64, f64)]) -> Vec<(f64, f64)> {
    let mut knots: Vec<(f64, f64)> = points.iter().map(|(w_mk, c)| (1.0 / w_mk, *c)).collect();
    knots.dedup_by(|a, b| (a.0 - b.0).abs() < 1e-9);
    let secants: Vec<f64> = knots
        .windows(2)
        .filter_map(|pair| match *pair {
            [(from, from_c), (to, to_c)] => Some((to_c - from_c) / (to - from)),
            _ => None,
        })
        .collect();
    let inner = secants.windows(2).map(|pair| match *pair {
        [a, b] if a * b > 0.0 => 2.0 * a * b / (a + b),
        _ => 0.0,
    });
    let slopes: Vec<f64> = secants
        .first()
        .copied()
        .into_iter()
        .chain(inner)
        .chain(secants.last().copied())
        .collect();
    let mut list: Vec<(f64, f64)> = points.first().copied().into_iter().collect();
    for (ends, slopes) in knots.windows(2).zip(slopes.windows(2)) {
        let ([(from, from_c), (to, to_c)], [from_slope, to_slope]) = (ends, slopes) else {
            continue;
        };
        let wide = to - from;
        for number in 1..=FINENESS {
            let t = f64::from(number) / f64::from(FINENESS);
            let rest = 1.0 - t;
            let c = from_c * rest * rest * (1.0 + 2.0 * t)
                + to_c * t * t * (1.0 + 2.0 * rest)
                + wide * t * rest * (from_slope * rest - to_slope * t);
            list.push((1.0 / (from + wide * t), c));
        }
    }
    list
}

fn notes(of: &PartTemperature, mut words: Vec<String>) -> Vec<String> {
    // The new plate first: it is what can still be chosen.
    words.reverse();
    if of.old_inside_c.is_some() && of.old_pad_curve.is_none() {
        words.push(format!("With the old plate {} has no pad.", of.name));
    }
    words
}

fn cross(at: Point2<f64>, drawing: &mut Drawing) {
    for arm in [
        Vector2::new(CROSS_MM, CROSS_MM),
        Vector2::new(CROSS_MM, -CROSS_MM),
    ] {
        drawing.line(Role::Hole, at - arm, at + arm);
    }
}

/// Names of curves and limit at the right end of their lines.
fn ends(field: &Field, curves: &[Curve<'_>], limit_c: Option<f64>, drawing: &mut Drawing) {
    let [left, _, width, _] = FIELD_MM;
    let right = left + width;
    let mut labels: Vec<(f64, Vec<String>)> = curves
        .iter()
        .filter_map(|curve| {
            let (_, end_c) = curve.points.last()?;
            let mut lines = vec![curve.plate.to_owned()];
            lines.push(format!("pad {} mm", hundredths(curve.pad.pressed_mm)));
            Some((field.at(0.0, *end_c).y, lines))
        })
        .collect();
    labels.extend(limit_c.map(|limit_c| {
        let words = format!("limit {} °C", plain(limit_c));
        (field.at(0.0, limit_c).y, wrapped(&words, END_LETTERS))
    }));
    labels.sort_by(|a, b| a.0.total_cmp(&b.0));
    let wanted: Vec<f64> = labels.iter().map(|(y, _)| *y).collect();
    let rooms: Vec<f64> = labels
        .iter()
        .map(|(_, lines)| lines.len() as f64 * PITCH * TEXT_MM + 0.8)
        .collect();
    let places = spread(&wanted, &rooms, (f64::NEG_INFINITY, f64::INFINITY));
    for ((at, lines), y) in labels.into_iter().zip(places) {
        drawing.line(
            Role::Dimension,
            Point2::new(right + 0.5, at),
            Point2::new(right + 3.5, y),
        );
        let count = lines.len() as f64;
        for (number, line) in lines.into_iter().enumerate() {
            let up = (count - 1.0) / 2.0 - number as f64;
            let place = Point2::new(right + 4.2, y + up * PITCH * TEXT_MM - 0.35 * TEXT_MM);
            drawing.text(Role::Label, Text::new(place, TEXT_MM, line));
        }
    }
}

/// Where numbers lie on the field: up to which conductivity, W/(m·K), and between which temperatures, °C.
struct Field {
    most_w_mk: f64,
    from: f64,
    to: f64,
    step: f64,
}

impl Field {
    fn of(curves: &[Curve<'_>], limit_c: Option<f64>) -> Self {
        let (mut low, mut high, mut most) = (f64::INFINITY, f64::NEG_INFINITY, 1.0f64);
        for curve in curves {
            for (w_mk, c) in &curve.points {
                low = low.min(*c);
                high = high.max(*c);
                most = most.max(*w_mk);
            }
        }
        let span = (high - low).max(1.0);
        let near = (low - TOO_FAR * span)..=(high + TOO_FAR * span);
        if let Some(limit_c) = limit_c.filter(|limit_c| near.contains(limit_c)) {
            low = low.min(limit_c);
            high = high.max(limit_c);
        }
        let spare = (LEAST_SPAN_K - (high - low)).max(0.0) / 2.0;
        low -= spare;
        high += spare;
        let [.., height] = FIELD_MM;
        if curves.len() > 1 {
            low -= (high - low).max(1.0) * BELOW_MM / (height - BELOW_MM);
        }
        let step = 1.0 / round_below(MOST_LEVELS / (high - low).max(1.0));
        Self {
            most_w_mk: most,
            from: (low / step).floor() * step,
            to: (high / step + 0.1).ceil() * step,
            step,
        }
    }

    fn holds(&self, c: f64) -> bool {
        (self.from..=self.to).contains(&c)
    }

    fn at(&self, w_mk: f64, c: f64) -> Point2<f64> {
        let [left, foot, width, height] = FIELD_MM;
        Point2::new(
            left + width * w_mk / self.most_w_mk,
            foot + height * (c - self.from) / (self.to - self.from),
        )
    }

    fn axes(&self, drawing: &mut Drawing) {
        let [left, foot, width, height] = FIELD_MM;
        let right = left + width;
        let mut c = self.from;
        while c < self.to + 0.5 * self.step {
            let y = self.at(0.0, c).y;
            drawing.line(Role::Faint, Point2::new(left, y), Point2::new(right, y));
            drawing.text(
                Role::Dimension,
                Text::new(
                    Point2::new(left - 1.5, y - 0.35 * TEXT_MM),
                    TEXT_MM,
                    plain((c * 1e6).round() / 1e6 + 0.0),
                )
                .anchored(Anchor::End),
            );
            c += self.step;
        }
        let step = 1.0 / round_below(MOST_TICKS / self.most_w_mk);
        let mut number = 0.0;
        while number * step <= self.most_w_mk * (1.0 + 1e-9) {
            let at = Point2::new(self.at(number * step, 0.0).x, foot);
            drawing.line(Role::Faint, at, at + Vector2::new(0.0, height));
            drawing.line(Role::Dimension, at, at - Vector2::new(0.0, 1.2));
            drawing.text(
                Role::Dimension,
                Text::new(
                    at - Vector2::new(0.0, 1.8 + 0.75 * TEXT_MM),
                    TEXT_MM,
                    plain(number * step),
                )
                .anchored(Anchor::Middle),
            );
            number += 1.0;
        }
        let corner = Point2::new(left, foot);
        drawing.line(Role::Dimension, corner, Point2::new(right, foot));
        drawing.line(Role::Dimension, corner, Point2::new(left, foot + height));
        drawing.text(
            Role::Label,
            Text::new(
                Point2::new(
                    f64::midpoint(left, right),
                    foot - 2.2 - 2.2 * PITCH * TEXT_MM,
                ),
                TEXT_MM,
                "conductivity of the pad as pressed, W/(m K)",
            )
            .anchored(Anchor::Middle),
        );
        let mut text = Text::new(
            Point2::new(left - 12.0, foot + height / 2.0),
            TEXT_MM,
            "inside, °C",
        )
        .anchored(Anchor::Middle);
        text.rotate = Angle::deg(90.0);
        drawing.text(Role::Label, text);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::output::pictures::fixtures::check::{assert_sound, says};
    use crate::output::pictures::fixtures::heat::{case, warm};

    #[test]
    fn every_chart_can_be_read() {
        for warm in warm() {
            for (number, of) in warm.heat.parts.iter().enumerate() {
                let chart = || pad_chart(&warm.part, &warm.heat, number);
                let Some(drawing) = chart() else {
                    assert!(of.pad_curve.is_none(), "{}: {}", warm.name, of.name);
                    continue;
                };
                assert_sound(warm.name, &drawing, &chart().unwrap());
                for curve in [of.pad_curve.as_ref(), of.old_pad_curve.as_ref()]
                    .into_iter()
                    .flatten()
                {
                    assert!(says(&drawing, &format!("{} °C", tenths(curve.now_c))));
                    assert!(says(
                        &drawing,
                        &format!("pad {} mm", hundredths(curve.pressed_mm))
                    ));
                }
                let dashed = drawing
                    .items()
                    .iter()
                    .any(|item| item.role == Role::HiddenEdge);
                assert_eq!(dashed, of.old_pad_curve.is_some(), "{}", warm.name);
            }
        }
    }

    #[test]
    fn the_mark_lies_where_the_plate_stands_and_the_cross_one_kelvin_above_the_floor() {
        let full = case("full");
        let of = &full.heat.parts[0];
        let curve = of.pad_curve.as_ref().unwrap();
        let drawn = Curve::of("new plate", Role::Outline, curve, &full.heat.chart_w_mk).unwrap();
        assert!(drawn.points.contains(&(curve.now_w_mk, curve.now_c)));
        // The line falls all the way: a better pad never makes a part warmer.
        for pair in drawn.points.windows(2) {
            assert!(pair[1].1 <= pair[0].1 + 1e-6, "{pair:?}");
        }
        let field = Field::of(&[drawn], None);
        let (low, high) = (field.at(0.0, field.from), field.at(20.0, field.to));
        for at in [
            field.at(curve.now_w_mk, curve.now_c),
            field.at(20.0, curve.inside_c[13]),
        ] {
            assert!(low.x <= at.x && at.x <= high.x && low.y <= at.y && at.y <= high.y);
        }
        assert!((pays_c(curve) - curve.floor_c - PAYS_K).abs() < 1e-12);
    }

    #[test]
    fn the_drawn_line_goes_through_its_points_and_never_swings_past_them() {
        let points = [
            (1.0, 90.0),
            (2.0, 84.0),
            (2.0, 84.0),
            (5.0, 79.0),
            (20.0, 78.9),
        ];
        let line = smooth(&points);
        for (w_mk, c) in points {
            let near = line
                .iter()
                .any(|(x, y)| (x - w_mk).abs() < 1e-9 && (y - c).abs() < 1e-9);
            assert!(near, "{w_mk}");
        }
        for pair in line.windows(2) {
            assert!(
                pair[1].0 > pair[0].0 && pair[1].1 <= pair[0].1 + 1e-9,
                "{pair:?}"
            );
        }
        // A resistance in series alone is one over the conductivity: nothing is added to that.
        let series: Vec<(f64, f64)> = [1.0, 2.0, 5.0, 20.0].map(|k| (k, 40.0 + 7.0 / k)).to_vec();
        for (w_mk, c) in smooth(&series) {
            assert!((c - 40.0 - 7.0 / w_mk).abs() < 1e-9);
        }
    }

    #[test]
    fn what_lies_outside_is_said() {
        let full = case("full");
        for (until, limit_c, words) in [
            (Some(0.3), Some(400.0), "left of this picture"),
            (Some(90.0), Some(400.0), "right of this picture"),
            (None, Some(-40.0), "never stop paying"),
        ] {
            let mut heat = full.heat.clone();
            heat.parts[0].limit_c = limit_c;
            heat.parts[0].pad_curve.as_mut().unwrap().pays_until_w_mk = until;
            let drawing = pad_chart(&full.part, &heat, 0).unwrap();
            assert_sound(words, &drawing, &drawing);
            assert!(drawing.description.contains(words));
            assert!(says(&drawing, "lies outside this picture"));
        }
        let mut heat = full.heat.clone();
        heat.parts[0].pad_curve = None;
        assert!(pad_chart(&full.part, &heat, 0).is_none());
    }
}
