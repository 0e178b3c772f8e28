//! Gaps and clearances against closed forms and against brute force.

use approx::assert_abs_diff_eq;
use coldstep::fit::{ComponentFit, Fit, GapVerdict, Judged, PressedStrip, fit, fit_pressed};
use coldstep::part::{Part, parse};
use nalgebra::Point2;
use proptest::prelude::*;

/// A plate of two flats at 3 and 6 mm with a step of 60 degrees, t = R = 1, width 20, and more lines.
fn part(more: &str) -> Part {
    part_in_plan("", more)
}

/// The same with more lines in its `[plate]`.
fn part_in_plan(plan: &str, more: &str) -> Part {
    checked(&source(plan, more))
}

fn source(plan: &str, more: &str) -> String {
    format!(
        "[sheet]\nmaterial = \"copper\"\nthickness_mm = 1.0\ninside_radius_mm = 1.0\n[plate]\nwidth_mm = 20.0\n{plan}\
         [[flat]]\nname = \"low\"\nfrom_mm = 0.0\nto_mm = 20.0\nunderside_mm = 3.0\n\
         [[flat]]\nname = \"high\"\nto_mm = 45.0\nunderside_mm = 6.0\nstep = {{ wall_angle_deg = 60.0 }}\n{more}"
    )
}

fn checked(source: &str) -> Part {
    parse(source)
        .unwrap_or_else(|findings| panic!("{findings:#?}"))
        .value
}

fn component(x: f64, y: f64, shape: &str, height: f64, treatment: &str) -> String {
    format!(
        "[[component]]\nname = \"C\"\nx_mm = {x}\ny_mm = {y}\n{shape}\nheight_mm = {height}\n{treatment}\n"
    )
}

fn only(part: &Part) -> ComponentFit {
    fit(part).components.remove(0)
}

/// x where the high flat begins: run of S sin a + L cos a with S = 3, rise 3, a = 60 degrees.
fn high_begins() -> f64 {
    let (sin, cos) = 60f64.to_radians().sin_cos();
    let wall = (3.0 - 3.0 * (1.0 - cos)) / sin;
    20.0 + 3.0 * sin + wall * cos
}

#[test]
fn under_a_flat_the_gap_is_the_difference_of_heights() {
    let c = only(&part(&component(
        8.0,
        10.0,
        "size_mm = [5.0, 6.0]",
        2.1,
        "pad = \"pad 1 mm\"",
    )));
    for gap in [c.gap_min_mm, c.gap_mean_mm, c.gap_max_mm] {
        assert_abs_diff_eq!(gap.unwrap(), 0.9, epsilon = 1e-12);
    }
    assert_abs_diff_eq!(c.clearance_mm, 0.9, epsilon = 1e-9);
    assert_abs_diff_eq!(c.covered_percent, 100.0, epsilon = 1e-9);
    assert_abs_diff_eq!(c.edge_distance_mm, 5.5, epsilon = 1e-9);
    assert_eq!(c.verdict, GapVerdict::PadFits);
}

/// Across the whole first bend: underside is an arc of radius 2 about (20, 5), so z = 5 - sqrt(4 - u²).
#[test]
fn under_a_bend_mean_and_extremes_follow_the_arc() {
    let u = 2.0 * 60f64.to_radians().sin();
    let c = only(&part(&component(
        20.0 + u / 2.0,
        10.0,
        &format!("size_mm = [{u}, 4.0]"),
        1.0,
        "keep_out_mm = 0.5",
    )));
    assert_abs_diff_eq!(c.gap_min_mm.unwrap(), 2.0, epsilon = 1e-9);
    assert_abs_diff_eq!(
        c.gap_max_mm.unwrap(),
        5.0 - (4.0 - u * u).sqrt() - 1.0,
        epsilon = 1e-9
    );
    // Mean of sqrt(4 - u²) over 0..u, by its antiderivative.
    let root = 0.5 * (u * (4.0 - u * u).sqrt() + 4.0 * (u / 2.0).asin());
    assert_abs_diff_eq!(c.gap_mean_mm.unwrap(), 4.0 - root / u, epsilon = 1e-6);
    assert!(c.facing.unwrap().contains("low"));
}

#[test]
fn an_extension_plate_faces_what_stands_under_it() {
    let more = component(
        35.0,
        10.0,
        "size_mm = [6.0, 6.0]",
        1.2,
        "pad = \"pad 1 mm\"",
    ) + "[[extension]]\nname = \"e\"\nflat = \"high\"\nfrom_mm = 32.0\nto_mm = 35.0\ny_from_mm = 0.0\ny_to_mm = 20.0\nthickness_mm = 3.8\nsolder_mm = 0.1\n";
    let c = only(&part(&more));
    // Half under the extension at 6 - 3.9 = 2.1, half under the flat.
    assert_abs_diff_eq!(c.gap_min_mm.unwrap(), 0.9, epsilon = 1e-9);
    assert_abs_diff_eq!(c.gap_max_mm.unwrap(), 4.8, epsilon = 1e-9);
    assert_abs_diff_eq!(
        c.gap_mean_mm.unwrap(),
        f64::midpoint(0.9, 4.8),
        epsilon = 1e-9
    );
    assert_eq!(c.facing.as_deref(), Some("extension plate \"e\""));
    // Right under the extension plate, but out of reach beside it.
    assert_eq!(c.verdict, GapVerdict::PadTooThin);
}

/// A disc whose edge reaches a micrometre under the extension plate, over 0.18 mm of its 8 mm.
#[test]
fn an_extension_plate_counts_however_little_of_it_faces() {
    let more = component(33.5, 2.001, "diameter_mm = 8.0", 1.2, "keep_out_mm = 0.5")
        + "[[extension]]\nname = \"e\"\nflat = \"high\"\nfrom_mm = 32.0\nto_mm = 35.0\ny_from_mm = 6.0\ny_to_mm = 12.0\nthickness_mm = 3.8\nsolder_mm = 0.1\n";
    let c = only(&part(&more));
    assert_abs_diff_eq!(c.gap_min_mm.unwrap(), 0.9, epsilon = 1e-9);
    assert_abs_diff_eq!(c.clearance_mm, 0.9, epsilon = 1e-9);
    let at = c.gap_min_at.unwrap();
    assert_abs_diff_eq!(at.x_mm, 33.5, epsilon = 0.1);
    assert_abs_diff_eq!(at.y_mm, 6.0, epsilon = 0.002);
}

#[test]
fn a_hole_above_leaves_only_what_metal_faces() {
    let more = component(8.0, 10.0, "diameter_mm = 6.0", 2.0, "keep_out_mm = 0.5")
        + "[[hole]]\nx_mm = 8.0\ny_mm = 10.0\ndiameter_mm = 4.0\n";
    let c = only(&part(&more));
    // Ring between radius 2 and 3.
    assert_abs_diff_eq!(c.covered_percent, 100.0 * (9.0 - 4.0) / 9.0, epsilon = 0.1);
    assert_abs_diff_eq!(c.clearance_mm, 1.0, epsilon = 1e-6);
}

#[test]
fn a_tall_part_beside_the_edge_is_measured_in_plan() {
    let c = only(&part(&component(
        8.0,
        -3.0,
        "size_mm = [4.0, 2.0]",
        9.0,
        "keep_out_mm = 1.0",
    )));
    assert_eq!(c.covered_percent, 0.0);
    assert_abs_diff_eq!(c.clearance_mm, 2.0, epsilon = 1e-9);
    assert_abs_diff_eq!(c.edge_distance_mm, 2.0, epsilon = 1e-9);
    assert_eq!(c.verdict, GapVerdict::Clear);
    // Low beside the edge: aslant, 3-4-5.
    let c = only(&part(&component(
        8.0,
        -6.0,
        "size_mm = [4.0, 4.0]",
        0.0,
        "keep_out_mm = 1.0",
    )));
    assert_abs_diff_eq!(c.clearance_mm, 5.0, epsilon = 1e-9);
}

/// Beside the wall: the nearest metal lies across the wall's straight underside, not straight up.
#[test]
fn beside_a_wall_the_shortest_way_is_square_to_it() {
    let (sin, cos) = 60f64.to_radians().sin_cos();
    // The straight wall's underside starts where the first arc (radius 2 about (20, 5)) ends.
    let (foot_x, foot_z) = (20.0 + 2.0 * sin, 5.0 - 2.0 * cos);
    // A corner one millimetre square off the middle of the wall, on the underside's right hand.
    let middle = (3.0 - 3.0 * (1.0 - cos)) / sin / 2.0;
    let (x, z) = (foot_x + middle * cos + sin, foot_z + middle * sin - cos);
    let c = only(&part(&component(
        x + 2.0,
        10.0,
        "size_mm = [4.0, 4.0]",
        z,
        "keep_out_mm = 0.5",
    )));
    assert_abs_diff_eq!(c.clearance_mm, 1.0, epsilon = 1e-6);
    assert!(c.gap_min_mm.unwrap() > 1.5);
}

/// A wall at a right angle from 3 to 9 mm: its faces stand at x = 22 and, on the other side, x = 21.
#[test]
fn beside_an_upright_wall_the_shortest_way_is_level() {
    let more = component(23.7, 10.0, "size_mm = [2.0, 2.0]", 6.5, "keep_out_mm = 0.3")
        + "[[obstacle]]\nname = \"O\"\nx_mm = 19.6\ny_mm = 10.0\nsize_mm = [2.0, 2.0]\nbottom_mm = 6.2\ntop_mm = 7.0\n";
    let upright = source("", &more)
        .replace("underside_mm = 6.0", "underside_mm = 9.0")
        .replace("wall_angle_deg = 60.0", "wall_angle_deg = 90.0");
    let fit = fit(&checked(&upright));
    assert_abs_diff_eq!(fit.components[0].clearance_mm, 0.7, epsilon = 1e-9);
    assert_abs_diff_eq!(fit.obstacles[0].clearance_mm, 0.4, epsilon = 1e-9);
}

#[test]
fn what_reaches_into_the_metal_touches() {
    let c = only(&part(&component(
        8.0,
        10.0,
        "size_mm = [4.0, 4.0]",
        3.3,
        "keep_out_mm = 0.5",
    )));
    assert_eq!(c.verdict, GapVerdict::Touches);
    assert_eq!(c.clearance_mm, 0.0);
    assert_abs_diff_eq!(c.gap_min_mm.unwrap(), -0.3, epsilon = 1e-9);
}

/// A square obstacle, its distance 0.5 mm.
fn obstacle(name: &str, [x, y]: [f64; 2], size: f64, [bottom, top]: [f64; 2]) -> String {
    format!(
        "[[obstacle]]\nname = \"{name}\"\nx_mm = {x}\ny_mm = {y}\nsize_mm = [{size:?}, {size:?}]\nbottom_mm = {bottom}\ntop_mm = {top}\nclearance_mm = 0.5\n"
    )
}

#[test]
fn obstacles_above_below_and_beside_are_told_apart() {
    let obstacle = |name: &str, x: f64, y: f64, bottom: f64, top: f64| {
        obstacle(name, [x, y], 2.0, [bottom, top])
    };
    let more = component(8.0, 10.0, "size_mm = [1.0, 1.0]", 0.5, "keep_out_mm = 0.5")
        + &obstacle("below", 4.0, 4.0, 0.0, 2.3)
        + &obstacle("above", 4.0, 10.0, 4.2, 9.0)
        + &obstacle("beside", 4.0, 24.0, 0.0, 9.0)
        + &obstacle("through", 12.0, 10.0, 0.0, 9.0);
    let fit = fit(&part(&more));
    let free: Vec<f64> = fit.obstacles.iter().map(|o| o.clearance_mm).collect();
    for (got, wanted) in free.iter().zip([0.7, 0.2, 3.0, 0.0]) {
        assert_abs_diff_eq!(*got, wanted, epsilon = 1e-9);
    }
    let clears: Vec<bool> = fit.obstacles.iter().map(|o| o.clears).collect();
    assert_eq!(clears, [true, false, true, false]);
}

/// The nearest point of a sheet's inside lies on none of its faces.
#[test]
fn what_ends_inside_the_sheet_touches() {
    let more = component(8.0, 10.0, "size_mm = [1.0, 1.0]", 0.5, "keep_out_mm = 0.5")
        + "[[obstacle]]\nname = \"in it\"\nx_mm = 8.0\ny_mm = 10.0\nsize_mm = [2.0, 2.0]\nbottom_mm = 3.2\ntop_mm = 3.3\nclearance_mm = 0.5\n";
    let fit = fit(&part(&more));
    assert_eq!(fit.obstacles[0].clearance_mm, 0.0);
    assert!(!fit.obstacles[0].clears);
}

/// Flat from 6 to 7 mm, extension plate below it down to 2.1 mm.
#[test]
fn an_extension_plate_counts_from_below_beside_and_not_through_the_plate() {
    let obstacle = |name: &str, x: f64, y: f64, bottom: f64, top: f64| {
        obstacle(name, [x, y], 1.0, [bottom, top])
    };
    let more = component(8.0, 10.0, "size_mm = [1.0, 1.0]", 0.5, "keep_out_mm = 0.5")
        + "[[extension]]\nname = \"e\"\nflat = \"high\"\nfrom_mm = 32.0\nto_mm = 35.0\ny_from_mm = 6.0\ny_to_mm = 12.0\nthickness_mm = 3.8\nsolder_mm = 0.1\n"
        + &obstacle("above", 33.0, 9.0, 9.0, 12.0)
        + &obstacle("below", 33.0, 9.0, 0.0, 1.7)
        + &obstacle("beside", 36.5, 9.0, 3.0, 4.0);
    let fit = fit(&part(&more));
    for (obstacle, wanted) in fit.obstacles.iter().zip([2.0, 0.4, 1.0]) {
        assert_abs_diff_eq!(obstacle.clearance_mm, wanted, epsilon = 1e-9);
    }
}

/// Faces of an invented strip: the underside from corner to corner, the top side 1 mm above it.
fn faces(under: &[(f64, f64)]) -> [Vec<Point2<f64>>; 2] {
    [0.0, 1.0].map(|up| under.iter().map(|(x, z)| Point2::new(*x, z + up)).collect())
}

fn pressed_fit(part: &Part, under: &[(f64, f64)], along_mm: &[f64]) -> Fit {
    let [under, top] = faces(under);
    fit_pressed(
        part,
        &PressedStrip {
            under: &under,
            top: &top,
            along_mm,
        },
    )
}

/// The low flat slopes by 1 in 100 about its drawn height, the wall leans by 45 degrees, the high flat lies 0.05 mm
/// too high.
const INVENTED: [(f64, f64); 4] = [(0.0, 3.1), (20.0, 2.9), (23.15, 6.05), (45.0, 6.05)];

#[test]
fn the_pressed_gap_is_measured_to_the_pressed_underside() {
    let part = part(&component(
        8.0,
        10.0,
        "size_mm = [5.0, 6.0]",
        2.1,
        "pad = \"pad 1 mm\"",
    ));
    let fit = pressed_fit(&part, &INVENTED, &[0.0, 0.0]);
    assert_eq!(fit.judged, Judged::Pressed);
    let c = &fit.components[0];
    // As drawn nothing changes.
    assert_abs_diff_eq!(c.gap_min_mm.unwrap(), 0.9, epsilon = 1e-12);
    assert_abs_diff_eq!(c.clearance_mm, 0.9, epsilon = 1e-9);
    // Underside 3.1 - x / 100 over x = 5.5 to 10.5.
    let pressed = c.pressed.unwrap();
    assert_abs_diff_eq!(pressed.gap_max_mm.unwrap(), 0.945, epsilon = 1e-9);
    assert_abs_diff_eq!(pressed.gap_mean_mm.unwrap(), 0.92, epsilon = 1e-9);
    assert_abs_diff_eq!(pressed.gap_min_mm.unwrap(), 0.895, epsilon = 1e-9);
    assert_abs_diff_eq!(pressed.covered_percent, 100.0, epsilon = 1e-9);
    // From the corner square to the slope.
    let square = 0.895 / 1.0001f64.sqrt();
    assert_abs_diff_eq!(pressed.clearance_mm, square, epsilon = 1e-9);
    // 1 mm of a generic pad takes 0.6 to 0.9 mm: the wider end is out of it.
    assert_eq!(
        (c.drawn_verdict, c.verdict),
        (GapVerdict::PadFits, GapVerdict::PadTooThin)
    );
    let cause = c.pressed_cause.as_ref().unwrap();
    assert_eq!(
        cause.text,
        "pressed, the flat \"low\" lies 0.04 mm higher over it than drawn"
    );
    assert!(
        cause
            .way_out
            .starts_with("draw that flat 0.04 mm lower, or ")
    );
}

#[test]
fn beside_a_pressed_wall_the_shortest_way_is_square_to_it() {
    // The wall's underside runs from (20, 2.9) at 45 degrees; a corner 1 mm square off its place (21.5, 4.4).
    let off = 0.5f64.sqrt();
    let part = part(&component(
        23.5 + off,
        10.0,
        "size_mm = [4.0, 4.0]",
        4.4 - off,
        "keep_out_mm = 1.2",
    ));
    let fit = pressed_fit(&part, &INVENTED, &[0.0, 0.0]);
    let c = &fit.components[0];
    assert_abs_diff_eq!(c.pressed.unwrap().clearance_mm, 1.0, epsilon = 1e-6);
    assert_eq!(c.verdict, GapVerdict::TooClose);
    assert_eq!(c.verdict_text, "metal comes to 1.00 mm, 1.20 mm wanted");
    // The drawn wall is steeper and nearer still: nothing to blame the vise for.
    assert_eq!(c.drawn_verdict, GapVerdict::TooClose);
    assert_eq!(c.pressed_cause, None);
}

#[test]
fn a_pressed_flat_that_comes_down_touches_and_says_so() {
    let more = component(35.0, 10.0, "size_mm = [6.0, 6.0]", 5.7, "keep_out_mm = 0.2")
        + "[[obstacle]]\nname = \"O\"\nx_mm = 35.0\ny_mm = 3.0\nsize_mm = [2.0, 2.0]\nbottom_mm = 0.0\ntop_mm = 5.4\nclearance_mm = 0.5\n";
    let part = part(&more);
    let good = fit(&part);
    assert!(good.is_good());
    assert_eq!(good.judged, Judged::Drawn);
    assert_eq!(good.components[0].pressed, None);
    // 0.4 mm lower.
    let low = [(0.0, 3.0), (20.0, 3.0), (22.6, 5.6), (45.0, 5.6)];
    let fit = pressed_fit(&part, &low, &[0.0, 0.0]);
    assert!(!fit.is_good());
    let c = &fit.components[0];
    assert_eq!(c.verdict, GapVerdict::Touches);
    assert_eq!(c.verdict_text, "metal would stand 0.10 mm inside it");
    assert_abs_diff_eq!(c.pressed.unwrap().gap_min_mm.unwrap(), -0.1, epsilon = 1e-9);
    let cause = c.pressed_cause.as_ref().unwrap();
    assert_eq!(
        cause.text,
        "pressed, the flat \"high\" lies 0.40 mm lower over it than drawn"
    );
    assert!(
        cause
            .way_out
            .starts_with("draw that flat 0.40 mm higher, or ")
    );
    let o = &fit.obstacles[0];
    assert!(!o.clears);
    assert_abs_diff_eq!(o.clearance_mm, 0.6, epsilon = 1e-9);
    assert_abs_diff_eq!(o.pressed_clearance_mm.unwrap(), 0.2, epsilon = 1e-9);
    assert_eq!(o.trouble(), "metal comes to 0.20 mm, 0.50 mm wanted");
    assert_eq!(
        o.pressed_cause.as_ref().unwrap().text,
        "pressed, metal comes 0.40 mm nearer to it than drawn"
    );
    // And a plate that comes out too high is good for a part that is too high for the drawn one.
    let high = [(0.0, 3.0), (20.0, 3.0), (23.4, 6.4), (45.0, 6.4)];
    let tall = checked(&source("", &more).replace("5.7", "5.9"));
    assert_eq!(only(&tall).verdict, GapVerdict::TooClose);
    let c = pressed_fit(&tall, &high, &[0.0, 0.0]).components.remove(0);
    assert_eq!(
        (c.drawn_verdict, c.verdict),
        (GapVerdict::TooClose, GapVerdict::Clear)
    );
    assert_abs_diff_eq!(c.pressed.unwrap().clearance_mm, 0.5, epsilon = 1e-9);
}

/// The high flat rises by 1 in 50 and lies 0.2 mm further right: its extension plate with it.
#[test]
fn an_extension_plate_moves_with_its_pressed_flat() {
    let more = component(35.0, 10.0, "size_mm = [6.0, 6.0]", 1.2, "keep_out_mm = 0.5")
        + "[[extension]]\nname = \"e\"\nflat = \"high\"\nfrom_mm = 32.0\nto_mm = 35.0\ny_from_mm = 0.0\ny_to_mm = 20.0\nthickness_mm = 3.8\nsolder_mm = 0.1\n";
    let part = part(&more);
    let under = [
        (0.0, 3.0),
        (20.0, 3.0),
        (23.0, 5.8),
        (45.0, 5.8 + 22.0 / 50.0),
    ];
    let fit = pressed_fit(&part, &under, &[0.0, 0.2]);
    let pressed = fit.components[0].pressed.unwrap();
    // Below the flat by its depth, measured square to the slope; from x = 32.2 to 35.2.
    let flat = |x: f64| 5.8 + (x - 23.0) / 50.0;
    let extension = |x: f64| flat(x) - 3.9 * (1.0f64 + 1.0 / 2500.0).sqrt();
    assert_abs_diff_eq!(
        pressed.gap_min_mm.unwrap(),
        extension(32.2) - 1.2,
        epsilon = 1e-9
    );
    assert_abs_diff_eq!(
        pressed.gap_max_mm.unwrap(),
        flat(38.0) - 1.2,
        epsilon = 1e-9
    );
    // A flat from 32 to 32.2, the extension plate to 35.2, the flat again to 38: heights at the middles.
    let mean = (0.2 * flat(32.1) + 3.0 * extension(33.7) + 2.8 * flat(36.6)) / 6.0 - 1.2;
    assert_abs_diff_eq!(pressed.gap_mean_mm.unwrap(), mean, epsilon = 1e-9);
    // From the left edge of the extension plate down to the part: it slopes away to the right.
    assert_abs_diff_eq!(pressed.clearance_mm, extension(32.2) - 1.2, epsilon = 1e-9);
}

#[test]
fn holes_and_ends_move_with_their_pressed_flat() {
    let more = component(8.0, 10.0, "diameter_mm = 2.0", 6.5, "keep_out_mm = 1.8")
        + "[[hole]]\nx_mm = 8.0\ny_mm = 10.0\ndiameter_mm = 6.0\n"
        + "[[obstacle]]\nname = \"end\"\nx_mm = 47.0\ny_mm = 10.0\nsize_mm = [2.0, 4.0]\nbottom_mm = 0.0\ntop_mm = 9.0\nclearance_mm = 0.8\n";
    let part = part(&more);
    assert!(fit(&part).is_good());
    let under = [(-0.3, 3.0), (19.7, 3.0), (22.7, 6.0), (45.25, 6.0)];
    let fit = pressed_fit(&part, &under, &[-0.3, 0.25]);
    let c = &fit.components[0];
    assert_abs_diff_eq!(c.clearance_mm, 2.0, epsilon = 1e-6);
    assert_abs_diff_eq!(c.pressed.unwrap().clearance_mm, 1.7, epsilon = 1e-6);
    assert_eq!(
        c.pressed_cause.as_ref().unwrap().text,
        "pressed, metal comes 0.30 mm nearer to it than drawn"
    );
    let end = &fit.obstacles[0];
    assert_abs_diff_eq!(end.clearance_mm, 1.0, epsilon = 1e-9);
    assert_abs_diff_eq!(end.pressed_clearance_mm.unwrap(), 0.75, epsilon = 1e-9);
    assert!(!end.clears);
}

/// A strip pressed exactly as drawn has the drawn gaps, and one that lies higher as a whole has all gaps wider by it.
#[test]
fn a_perfect_pressing_has_the_drawn_gaps() {
    for (example, lifted_mm) in [
        ("single-step", 0.0),
        ("three-levels", 0.0),
        ("extension-plate", 0.0),
        ("three-levels", 0.25),
        ("extension-plate", 0.25),
    ] {
        let text = std::fs::read_to_string(format!("examples/{example}.toml")).unwrap();
        let part = checked(&text);
        // Straight from point to point: heights between them are less exact than at them.
        let chord_mm = 1e-5;
        let [under, top] = [&part.profile.underside, &part.profile.topside].map(|face| {
            let mut points = face.flattened(chord_mm);
            for point in &mut points {
                point.y += lifted_mm;
            }
            points
        });
        let strip = PressedStrip {
            under: &under,
            top: &top,
            along_mm: &vec![0.0; part.flats.len()],
        };
        // A chord strays from its arc upright by more where the arc is steep.
        let close_mm = 4.0 * chord_mm;
        let fit = fit_pressed(&part, &strip);
        for c in &fit.components {
            let pressed = c.pressed.unwrap();
            assert_eq!(c.gap_min_mm.is_some(), pressed.gap_min_mm.is_some());
            for (drawn, pressed) in [
                (c.gap_min_mm, pressed.gap_min_mm),
                (c.gap_mean_mm, pressed.gap_mean_mm),
                (c.gap_max_mm, pressed.gap_max_mm),
            ] {
                if let Some((drawn, pressed)) = drawn.zip(pressed) {
                    assert_abs_diff_eq!(pressed, drawn + lifted_mm, epsilon = close_mm);
                }
            }
            assert_abs_diff_eq!(pressed.covered_percent, c.covered_percent, epsilon = 1e-6);
            if lifted_mm == 0.0 {
                assert_abs_diff_eq!(pressed.clearance_mm, c.clearance_mm, epsilon = close_mm);
                assert_eq!(c.verdict, c.drawn_verdict, "{example}: {}", c.name);
            }
        }
        for o in fit.obstacles.iter().filter(|_| lifted_mm == 0.0) {
            let pressed_mm = o.pressed_clearance_mm.unwrap();
            assert_abs_diff_eq!(pressed_mm, o.clearance_mm, epsilon = close_mm);
        }
    }
}

#[test]
fn where_the_next_flat_begins_is_what_the_formula_says() {
    let part = part(&component(8.0, 10.0, "size_mm = [1.0, 1.0]", 0.5, ""));
    assert_abs_diff_eq!(part.flats[1].level.from_mm, high_begins(), epsilon = 1e-9);
}

/// Height of a side of the sheet, by the formulas of arcs and wall written out once more: flats at
/// `low` and `low` + 3, bends of radius `first` about (20, 5) and `second` about the high flat's begin.
fn side(x: f64, low: f64, first: f64, second: f64) -> f64 {
    let (sin, cos) = 60f64.to_radians().sin_cos();
    let begins = high_begins();
    if x <= 20.0 {
        low
    } else if x < 20.0 + first * sin {
        5.0 - (first * first - (x - 20.0).powi(2)).sqrt()
    } else if x < begins - second * sin {
        5.0 - first * cos + (x - 20.0 - first * sin) * sin / cos
    } else if x < begins {
        5.0 + (second * second - (begins - x).powi(2)).sqrt()
    } else {
        low + 3.0
    }
}

fn underside(x: f64) -> f64 {
    side(x, 3.0, 2.0, 1.0)
}

fn topside(x: f64) -> f64 {
    side(x, 4.0, 1.0, 2.0)
}

/// A standing prism, and whether it is a component or an obstacle.
#[derive(Debug, Clone, Copy)]
struct Prism {
    x: f64,
    y: f64,
    /// Sides of a rectangle; the first is the diameter of a disc.
    size: [f64; 2],
    turn: f64,
    disc: bool,
    bottom: f64,
    top: f64,
    obstacle: bool,
}

impl Prism {
    fn component(x: f64, y: f64, size: [f64; 2], turn: f64, top: f64) -> Self {
        let (disc, bottom, obstacle) = (false, 0.0, false);
        Self {
            x,
            y,
            size,
            turn,
            disc,
            bottom,
            top,
            obstacle,
        }
    }

    fn lines(&self) -> String {
        let [a, b] = self.size;
        let shape = if self.disc {
            format!("diameter_mm = {a}")
        } else {
            format!("size_mm = [{a}, {b}]\nrotation_deg = {}", self.turn)
        };
        let Self {
            x, y, bottom, top, ..
        } = self;
        if self.obstacle {
            component(8.0, 10.0, "size_mm = [1.0, 1.0]", 0.5, "keep_out_mm = 0.5")
                + &format!(
                    "[[obstacle]]\nname = \"O\"\nx_mm = {x}\ny_mm = {y}\n{shape}\nbottom_mm = {bottom}\ntop_mm = {top}\n"
                )
        } else {
            component(*x, *y, &shape, *top, "keep_out_mm = 0.3")
        }
    }

    /// Distance in plan from a point.
    fn in_plan(&self, x: f64, y: f64) -> f64 {
        let (dx, dy) = (x - self.x, y - self.y);
        let [a, b] = self.size;
        if self.disc {
            return (dx.hypot(dy) - a / 2.0).max(0.0);
        }
        let (sin, cos) = self.turn.to_radians().sin_cos();
        let (u, v) = (dx * cos + dy * sin, dy * cos - dx * sin);
        (u.abs() - a / 2.0)
            .max(0.0)
            .hypot((v.abs() - b / 2.0).max(0.0))
    }
}

/// A plate in plan: what its `[plate]` says, and where its metal is.
struct Plan {
    lines: String,
    is_metal: fn(f64, f64) -> bool,
    /// No metal is further in plan from the nearest point of the grid that is metal.
    grid_mm: f64,
}

fn upright_plan() -> Plan {
    Plan {
        lines: String::new(),
        is_metal: |_, _| true,
        grid_mm: 0.126,
    }
}

/// Corners of a plate whose edges run askew, and inwards at the bends.
const ASKEW: [[f64; 2]; 7] = [
    [0.0, 0.0],
    [22.0, 1.5],
    [45.0, 0.0],
    [41.0, 20.0],
    [24.0, 18.5],
    [17.0, 16.5],
    [3.0, 20.0],
];

/// That plate with a round hole of 8 mm about (34, 9) and one of 9 by 6 mm about (10, 8).
fn askew_plan() -> Plan {
    Plan {
        lines: format!(
            "outline_mm = {ASKEW:?}\n[[hole]]\nx_mm = 34.0\ny_mm = 9.0\ndiameter_mm = 8.0\n\
             [[hole]]\nx_mm = 10.0\ny_mm = 8.0\nsize_mm = [9.0, 6.0]\n"
        ),
        is_metal: |x, y| {
            let next = ASKEW.iter().cycle().skip(1);
            let edges_above = ASKEW
                .iter()
                .zip(next)
                .filter(|(a, b)| {
                    (a[0] <= x) != (b[0] <= x)
                        && a[1] + (b[1] - a[1]) * (x - a[0]) / (b[0] - a[0]) > y
                })
                .count();
            edges_above % 2 == 1
                && (x - 34.0).hypot(y - 9.0) >= 4.0
                && ((x - 10.0).abs() >= 4.5 || (y - 8.0).abs() >= 3.0)
        },
        grid_mm: 0.25,
    }
}

/// Steepest rise of the sheet, upwards over along.
const STEEPEST: f64 = 1.733;
/// Rounding of a few additions of lengths of some ten millimetres.
const ROUNDING_MM: f64 = 1e-9;

/// A grid of points over the metal: no point finds less than what coldstep says, and the best comes as
/// close to it as the grid is fine.
fn compare_with_a_grid(plan: &Plan, prism: Prism) -> Result<(), TestCaseError> {
    let found = fit(&part_in_plan(&plan.lines, &prism.lines()));
    let clearance_mm = match found.obstacles.first() {
        Some(obstacle) => obstacle.clearance_mm,
        None => found.components[0].clearance_mm,
    };
    let (mut nearest, mut least, mut least_around) = (f64::INFINITY, f64::INFINITY, f64::INFINITY);
    let (mut sum, mut count) = (0.0, 0.0);
    let steps = 300;
    for i in 0..=steps {
        let x = 45.0 * f64::from(i) / f64::from(steps);
        let (under, over) = (underside(x), topside(x));
        let upright = (under - prism.top).max(prism.bottom - over).max(0.0);
        for k in 0..=steps / 3 {
            let y = 20.0 * f64::from(k) / f64::from(steps / 3);
            if !(plan.is_metal)(x, y) {
                continue;
            }
            let in_plan = prism.in_plan(x, y);
            nearest = nearest.min(in_plan.hypot(upright));
            let gap = under - prism.top;
            if in_plan == 0.0 {
                least = least.min(gap);
                sum += gap;
                count += 1.0;
            }
            if in_plan <= plan.grid_mm {
                least_around = least_around.min(gap);
            }
        }
    }
    // From any metal to the nearest point of the grid.
    let rise_mm = STEEPEST * plan.grid_mm;
    let fineness_mm = plan.grid_mm.hypot(rise_mm);
    prop_assert!(
        clearance_mm <= nearest + ROUNDING_MM,
        "clearance {clearance_mm} > {nearest}"
    );
    prop_assert!(
        clearance_mm >= nearest - fineness_mm,
        "clearance {clearance_mm} << {nearest}"
    );
    if prism.obstacle {
        return Ok(());
    }
    let component = &found.components[0];
    let Some((gap_min_mm, at)) = component.gap_min_mm.zip(component.gap_min_at) else {
        prop_assert_eq!(count, 0.0, "not covered");
        return Ok(());
    };
    prop_assert!(
        gap_min_mm <= least + ROUNDING_MM,
        "gap {gap_min_mm} > {least}"
    );
    prop_assert!(
        gap_min_mm >= least_around - rise_mm,
        "gap {gap_min_mm} << {least_around}"
    );
    prop_assert!(
        clearance_mm <= gap_min_mm.max(0.0) + ROUNDING_MM,
        "clearance {clearance_mm} > gap {gap_min_mm}"
    );
    // The place is the component's own; it may stand a drawn line's width beside a steep edge.
    prop_assert!(prism.in_plan(at.x_mm, at.y_mm) < 0.01, "{at:?}");
    prop_assert!((underside(at.x_mm) - prism.top - gap_min_mm).abs() < 1e-6);
    // A mean of few points says little.
    if count > 200.0 {
        let mean_mm = component.gap_mean_mm.unwrap();
        prop_assert!((mean_mm - sum / count).abs() < 0.25, "mean {mean_mm}");
    }
    Ok(())
}

/// Turned components over whose edge the plate ends on a bend or a wall, between corners of both: where
/// covering ends, the slab must end as well. Found by the comparison below, with what was said then.
#[test]
fn covering_that_ends_on_a_slope_ends_the_slab() {
    for prism in [
        // Smallest gap 5.660; a point at the plate's edge has 5.619.
        Prism::component(
            24.328_047_290_081_6,
            19.724_509_183_679_99,
            [2.182_629_591_760_111_5, 8.501_113_110_270_419],
            31.337_492_811_717_55,
            0.2,
        ),
        // Smallest gap 0.0014 below the clearance, from a place that is not covered.
        Prism::component(
            24.252_528_824_056_6,
            19.279_891_549_506_77,
            [7.658_819_736_770_591_5, 7.466_964_409_585_687],
            1.676_280_400_112_695_2,
            1.987_568_716_885_178_6,
        ),
        // Smallest gap 0.101 too large.
        Prism::component(
            23.997_634_333_330_24,
            -3.420_800_435_932_872_3,
            [8.188_448_214_510_181, 8.067_704_717_674_39],
            56.782_033_731_673_59,
            4.397_861_872_409_119,
        ),
        // The same for a disc, by 0.055.
        Prism {
            disc: true,
            ..Prism::component(
                24.842_214_729_922_045,
                22.049_583_170_616_287,
                [6.561_132_579_983_54, 1.0],
                0.0,
                6.457_816_916_701_599,
            )
        },
    ] {
        compare_with_a_grid(&upright_plan(), prism).unwrap_or_else(|e| panic!("{prism:?}: {e}"));
    }
}

fn any_prism() -> impl Strategy<Value = Prism> {
    // Anywhere over the plate and around it, or in one of the holes of the askew one.
    let place = prop_oneof![
        2 => (-4.0f64..50.0, -4.0f64..24.0),
        1 => (32.0f64..36.0, 7.0f64..11.0),
        1 => (7.0f64..13.0, 6.0f64..10.0),
    ];
    let size = [0.5f64..9.0, 0.5f64..9.0];
    let height = (0.2f64..7.0, 0.1f64..5.0);
    (
        place,
        size,
        0.0f64..90.0,
        any::<bool>(),
        height,
        any::<bool>(),
    )
        .prop_map(|((x, y), size, turn, disc, (top, tall), obstacle)| Prism {
            disc,
            obstacle,
            bottom: if obstacle { top - tall } else { 0.0 },
            ..Prism::component(x, y, size, turn, top)
        })
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn brute_force_finds_nothing_nearer(
        x in -4.0f64..50.0, y in -4.0f64..24.0, size in [0.5f64..9.0, 0.5f64..9.0], turn in 0.0f64..90.0,
        top in 0.2f64..7.0
    ) {
        compare_with_a_grid(&upright_plan(), Prism::component(x, y, size, turn, top))?;
    }

    #[test]
    fn brute_force_finds_nothing_nearer_beside_holes_and_askew_edges(prism in any_prism()) {
        compare_with_a_grid(&askew_plan(), prism)?;
    }
}
