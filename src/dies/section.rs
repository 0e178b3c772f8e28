//! The die pair in section: one mid-line for strip, lands and end towers, and its two parallel faces.
//!
//! The die frame: z along the closing direction, away from the lower die; x along the strip. A tilt turns
//! the part in the die so that its steepest walls up and down lean alike; the pair then opens straight even
//! when walls are overbent beyond 90 degrees.

use crate::diagnostic::{Diagnostic, Refused};
use crate::forming::{Compensation, STEEPEST_FACE_DEG, STOP_CLEARANCE_MM};
use crate::geometry::Chain;
use crate::geometry::closing::{Laid, lay_in, opening_at_touch};
use crate::geometry::relief::relieved;
use crate::numbers::plain;
use crate::part::{Part, Tilt};
use crate::quantity::Angle;
use nalgebra::Point2;

/// Lean of the inner faces of end towers, as heading. Common practice, no source: 4 degrees of draft.
const TOWER_FACE_DEG: f64 = 86.0;
/// Rounding of the convex edges of towers: the lead-in of the blank. Common practice, no source.
const LEAD_IN_RADIUS_MM: f64 = 1.5;
/// Least land beyond the strip, so that its ends are pressed flat. Common practice, no source.
const LEAST_LAND_MM: f64 = 1.0;
/// Height of towers and cheeks above the laid-in blank. Common practice, no source.
const ABOVE_BLANK_MM: f64 = 1.0;
/// Shortest straight tower face.
const LEAST_TOWER_FACE_MM: f64 = 0.3;
/// Smallest convex radius of a working face that is worth printing.
pub const LEAST_NOSE_MM: f64 = 0.1;
/// Fineness with which faces are followed for laying in and touching.
const FOLLOW_MM: f64 = 0.005;

/// Level lands on top of the end towers, in the lower face.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TowerLands {
    /// Extent of the left land along x.
    pub left: (f64, f64),
    /// Extent of the right land along x.
    pub right: (f64, f64),
}

/// The closed pair in section.
#[derive(Debug, Clone, PartialEq)]
pub struct DieSection {
    /// Turn of the drawn part in the die.
    pub tilt: Angle,
    /// Distance of the closed faces, square to the sheet.
    pub gap_mm: f64,
    /// Mid-thickness of the sheet in the closed die.
    pub strip: Chain,
    /// Working face of the lower die, drawn for printing.
    pub lower: Chain,
    /// Working face of the upper die in its closed place, drawn for printing.
    pub upper: Chain,
    /// Smallest convex radius of the working faces.
    pub nose_radius_mm: f64,
    /// Largest void that the corner relief leaves between sheet and die.
    pub relief_mm: f64,
    /// Level lands on the end towers.
    pub towers: Option<TowerLands>,
    /// The flat blank laid on the lower die.
    pub laid: Laid,
    /// How far the pair is open when the upper die touches the laid-in blank.
    pub stroke_mm: f64,
    /// Height at which cheeks end.
    pub cheek_top_mm: f64,
}

/// Lays the pair out, or says why it cannot be.
///
/// `tower_land_mm` is the length of the level lands on top of the end towers.
///
/// # Errors
/// Every reason that is found, with its numbers and a way out.
pub fn section(
    part: &Part,
    compensation: &Compensation,
    tower_land_mm: f64,
) -> Result<DieSection, Refused> {
    let options = &part.dies;
    let thickness_mm = part.sheet.thickness_mm;
    let gap_mm = thickness_mm + options.clearance_mm;
    // A printer that prints too large moves both faces into the gap: draw them that much further apart.
    let face_mm = f64::midpoint(gap_mm, part.printer.size_error_mm);
    let mut refusals = Vec::new();
    if face_mm < 0.05 {
        refusals.push(
            Diagnostic::error(format!(
                "a printed size error of {} mm is as large as the sheet is thick",
                plain(part.printer.size_error_mm)
            ))
            .id("dies-size-error")
            .help("print and measure a test block again: size_error_mm is measured minus drawn"),
        );
        return Err(refusals.into());
    }
    noses(part, compensation, face_mm, &mut refusals);
    opens(part, compensation, &mut refusals);
    if !refusals.is_empty() {
        return Err(refusals.into());
    }
    let tilt = compensation.tilt;

    let strip = compensation.mid.turned(compensation.mid.start.point, tilt);
    let strip_lower = strip.offset(-face_mm).map_err(|error| unexpected(&error))?;
    let laid = lay_in(&strip, &strip_lower.flattened(FOLLOW_MM), thickness_mm);
    let (mid, front_arcs) = whole(&strip, &laid, face_mm, tower_land_mm, options.end_stops);
    let strip_arcs = strip.arcs().count();
    let face = |offset_mm: f64| -> Result<(Chain, f64), Refused> {
        let parallel = mid.offset(offset_mm).map_err(|error| unexpected(&error))?;
        Ok(relieved(
            &parallel,
            front_arcs..front_arcs + strip_arcs,
            -offset_mm.signum(),
            options.corner_relief_mm,
        ))
    };
    let (lower, lower_void) = face(-face_mm)?;
    let (upper, upper_void) = face(face_mm)?;
    let stroke_mm = opening_at_touch(&laid, &upper, FOLLOW_MM, thickness_mm);
    let towers = options.end_stops.then(|| TowerLands {
        left: (mid.start.point.x, mid.start.point.x + tower_land_mm),
        right: (mid.end().point.x - tower_land_mm, mid.end().point.x),
    });
    let highest_mm = lower.bounds().1.y.max(laid.highest_mm(thickness_mm));
    Ok(DieSection {
        tilt,
        gap_mm,
        nose_radius_mm: nose_radius(&strip, face_mm),
        relief_mm: lower_void.max(upper_void),
        strip,
        lower,
        upper,
        towers,
        laid,
        stroke_mm,
        cheek_top_mm: highest_mm + ABOVE_BLANK_MM,
    })
}

fn unexpected(error: &impl std::fmt::Display) -> Vec<Diagnostic> {
    vec![
        Diagnostic::error(format!("the die faces do not exist: {error}"))
            .id("dies-no-faces")
            .help("use a larger inside radius or a smaller clearance"),
    ]
}

fn nose_radius(strip: &Chain, face_mm: f64) -> f64 {
    strip
        .arcs()
        .map(|(radius_mm, _)| radius_mm - face_mm)
        .fold(f64::INFINITY, f64::min)
}

/// Convex radii of both faces: mid radius less half the gap.
fn noses(part: &Part, compensation: &Compensation, face_mm: f64, refusals: &mut Vec<Diagnostic>) {
    let arcs = compensation.mid.arcs();
    for (((radius_mm, _), bend), formed) in arcs.zip(&compensation.bends).zip(&part.profile.bends) {
        let nose_mm = radius_mm - face_mm;
        if nose_mm < LEAST_NOSE_MM {
            let span = part
                .steps
                .get(formed.step)
                .map_or(0..0, |step| step.span.clone());
            let least_mm = (LEAST_NOSE_MM + face_mm) / bend.k_r - part.sheet.thickness_mm / 2.0;
            refusals.push(
                Diagnostic::error(format!(
                    "the die's nose between \"{}\" and \"{}\" would have a radius of {nose_mm:.3} mm: mid radius {radius_mm:.3} mm less half the gap, {face_mm:.3} mm",
                    bend.between[0], bend.between[1]
                )).id("dies-nose-too-sharp")
                .at(&span)
                .help(format!(
                    "use an inside radius of at least {} mm",
                    plain((least_mm * 1000.0).ceil() / 1000.0)
                ))
                .help("or a smaller dies.clearance_mm"),
            );
        }
    }
}

/// Refuses a pair that would not open straight.
fn opens(part: &Part, compensation: &Compensation, refusals: &mut Vec<Diagnostic>) {
    let (low, high) = compensation.mid.heading_range();
    let steepest = |tilt: Angle| compensation.mid.steepest_deg(tilt);
    let tilt = compensation.tilt;
    if steepest(tilt) <= STEEPEST_FACE_DEG {
        return;
    }
    let span_deg = (high - low).degrees();
    let finding = Diagnostic::error(format!(
        "the pair would not open: in the die the steepest wall stands at {:.2} degrees, {STEEPEST_FACE_DEG} at most",
        steepest(tilt)
    )).id("dies-do-not-open");
    let finding = match &part.dies.span {
        Some(span) if part.dies.tilt == Tilt::Level => finding.at(span),
        _ => part
            .steps
            .iter()
            .max_by(|a, b| a.shape.bend.rad().total_cmp(&b.shape.bend.rad()))
            .map_or(finding.clone(), |step| finding.at(&step.span)),
    };
    let centred = -(low + high).half();
    refusals.push(if steepest(centred) <= STEEPEST_FACE_DEG {
        finding.help("turn the part in the die: tilt = \"auto\" or \"centred\" under [dies]")
    } else {
        let widest = 2.0 * STEEPEST_FACE_DEG;
        finding
            .help(format!(
                "walls up and down span {span_deg:.1} degrees together (springback counted), {widest} at most: lean them by {:.1} degrees more in all",
                span_deg - widest
            ))
            .help("or press in two strokes with two pairs, the walls up first, then the walls down")
            .help("or make the part of two plates with fewer steps each")
    });
}

/// The whole mid-line: towers and lands around the strip. Also the number of arcs before the strip's own.
fn whole(
    strip: &Chain,
    laid: &Laid,
    face_mm: f64,
    tower_land_mm: f64,
    end_stops: bool,
) -> (Chain, usize) {
    let (start, end) = (strip.start, strip.end());
    // Both ends draw in while the blank takes its steps: the land covers where they lie at first.
    let left_land_mm = ((start.point.x - laid.left.x + STOP_CLEARANCE_MM) / start.heading.cos())
        .max(LEAST_LAND_MM);
    let right_land_mm =
        ((laid.right.x - end.point.x + STOP_CLEARANCE_MM) / end.heading.cos()).max(LEAST_LAND_MM);
    let left_foot = start.point - start.along() * left_land_mm;
    let right_foot = end.point + end.along() * right_land_mm;
    if !end_stops {
        let mut mid = Chain::from_start(left_foot.x, left_foot.y, start.heading);
        mid.line(left_land_mm);
        mid.segments.extend(strip.segments.iter().copied());
        mid.line(right_land_mm);
        return (mid.joined(), 0);
    }
    let lean = Angle::deg(TOWER_FACE_DEG);
    let radius_mm = face_mm + LEAD_IN_RADIUS_MM;
    // Height that the two run-out arcs of a tower take between a foot with a heading and the level land.
    let arcs_mm =
        |heading: Angle| radius_mm * (1.0 - lean.cos()) + radius_mm * (heading.cos() - lean.cos());
    let least_mm = |foot: Point2<f64>, heading: Angle| {
        foot.y + arcs_mm(heading) + LEAST_TOWER_FACE_MM * lean.sin()
    };
    let top_mm = (laid.left.y.max(laid.right.y) + laid.thickness_up_mm + ABOVE_BLANK_MM + face_mm)
        .max(least_mm(left_foot, start.heading))
        .max(least_mm(right_foot, end.heading));
    let face_length_mm =
        |foot: Point2<f64>, heading: Angle| (top_mm - foot.y - arcs_mm(heading)) / lean.sin();
    let left_face_mm = face_length_mm(left_foot, start.heading);
    let right_face_mm = face_length_mm(right_foot, end.heading);
    let left_x = left_foot.x
        - radius_mm * (lean.sin() + start.heading.sin())
        - left_face_mm * lean.cos()
        - radius_mm * lean.sin()
        - tower_land_mm;
    let mut mid = Chain::from_start(left_x, top_mm, Angle::ZERO);
    mid.line(tower_land_mm)
        .arc(radius_mm, -lean)
        .line(left_face_mm)
        .arc(radius_mm, lean + start.heading)
        .line(left_land_mm);
    mid.segments.extend(strip.segments.iter().copied());
    mid.line(right_land_mm)
        .arc(radius_mm, lean - end.heading)
        .line(right_face_mm)
        .arc(radius_mm, -lean)
        .line(tower_land_mm);
    (mid.joined(), 2)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::part::{parse, starter::STARTER};
    use approx::assert_abs_diff_eq;

    /// The starter's part with a compensated strip of our own: flats of 20 mm, turns in degrees, 4 mm walls.
    fn with_turns(degrees: &[f64], mid_radius_mm: f64, edit: &str) -> Result<DieSection, Refused> {
        let part = parse(&STARTER.replace("[dies]", &format!("[dies]\n{edit}")))
            .unwrap()
            .value;
        let mut compensation = crate::forming::compensate(&part).value;
        let mut mid = Chain::from_start(0.0, 0.0, Angle::ZERO);
        mid.line(20.0);
        for pair in degrees.windows(2) {
            mid.arc(mid_radius_mm, Angle::deg(pair[1] - pair[0]));
            mid.line(if pair[1].abs() < 1e-9 { 20.0 } else { 4.0 });
        }
        compensation.tilt = crate::forming::tilt(&mid, part.dies.tilt);
        compensation.mid = mid;
        section(&part, &compensation, 10.0)
    }

    #[test]
    fn an_overbent_wall_opens_only_when_the_part_is_turned() {
        for wall in [93.0, -93.0] {
            let level = with_turns(&[0.0, wall, 0.0], 1.5, "tilt = \"level\"").unwrap_err();
            assert!(level[0].message.contains("93.00 degrees"), "{level:?}");
            assert!(level[0].help[0].contains("centred"));
            let centred = with_turns(&[0.0, wall, 0.0], 1.5, "tilt = \"centred\"").unwrap();
            assert_abs_diff_eq!(centred.tilt.degrees(), -wall / 2.0, epsilon = 1e-9);
            // Left to itself coldstep turns the part only when it must.
            let auto = with_turns(&[0.0, wall, 0.0], 1.5, "").unwrap();
            assert_abs_diff_eq!(auto.tilt.degrees(), -wall / 2.0, epsilon = 1e-9);
            assert_eq!(
                with_turns(&[0.0, wall / 2.0, 0.0], 1.5, "").unwrap().tilt,
                Angle::ZERO
            );
        }
    }

    #[test]
    fn a_u_of_overbent_walls_is_refused_with_what_is_too_much() {
        let refusal = with_turns(&[0.0, 92.0, 0.0, -92.0, 0.0], 1.5, "").unwrap_err();
        assert!(refusal[0].message.contains("92.00 degrees"), "{refusal:?}");
        assert!(refusal[0].help[0].contains("184.0 degrees"), "{refusal:?}");
        assert!(
            refusal[0]
                .help
                .iter()
                .any(|help| help.contains("two strokes"))
        );
    }

    #[test]
    fn a_mid_radius_below_half_the_gap_is_refused() {
        let refusal = with_turns(&[0.0, 40.0, 0.0], 0.4, "").unwrap_err();
        assert!(
            refusal[0].message.contains("mid radius 0.400 mm"),
            "{refusal:?}"
        );
    }

    /// Every face advances in x, the two never come nearer than the gap, and hollow corners are freer.
    #[test]
    fn the_faces_keep_their_gap_and_never_go_back() {
        for turns in [
            &[0.0, 60.0, 0.0][..],
            &[0.0, 93.0, 0.0],
            &[0.0, 70.0, 0.0, -50.0, 0.0],
        ] {
            let pair = with_turns(turns, 1.5, "").unwrap();
            for face in [&pair.lower, &pair.upper] {
                let points = face.flattened(0.01);
                assert!(points.windows(2).all(|p| p[1].x > p[0].x));
            }
            let upper = pair.upper.flattened(0.002);
            for low in pair.lower.flattened(0.002) {
                let nearest = upper
                    .iter()
                    .map(|high| (high - low).norm())
                    .fold(f64::INFINITY, f64::min);
                assert!(nearest > pair.gap_mm - 1e-9, "{nearest} < {}", pair.gap_mm);
            }
        }
    }

    #[test]
    fn a_printer_that_prints_too_large_is_drawn_further_apart() {
        let gap_at_first_flat = |size_error: &str| {
            let part = parse(&STARTER.replace("size_error_mm = 0.0", size_error))
                .unwrap()
                .value;
            let pair = section(&part, &crate::forming::compensate(&part).value, 10.0).unwrap();
            let x = pair.strip.start.point.x + 5.0;
            pair.upper.height_at(x) - pair.lower.height_at(x)
        };
        assert_abs_diff_eq!(
            gap_at_first_flat("size_error_mm = 0.0"),
            1.05,
            epsilon = 1e-9
        );
        assert_abs_diff_eq!(
            gap_at_first_flat("size_error_mm = 0.2"),
            1.25,
            epsilon = 1e-9
        );
    }
}
