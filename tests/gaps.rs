//! Gaps and clearances against closed forms and against brute force.

// A test that cannot go on has failed: here that is what these are for.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing
)]

use approx::assert_abs_diff_eq;
use coldstep::fit::{ComponentFit, Verdict, fit};
use coldstep::part::{Part, parse};
use proptest::prelude::*;

/// A plate of two flats at 3 and 6 mm with a step of 60 degrees, t = R = 1, width 20, and more lines.
fn part(more: &str) -> Part {
    let text = format!(
        "[sheet]\nmaterial = \"copper\"\nthickness_mm = 1.0\ninside_radius_mm = 1.0\n[plate]\nwidth_mm = 20.0\n\
         [[flat]]\nname = \"low\"\nfrom_mm = 0.0\nto_mm = 20.0\nunderside_mm = 3.0\n\
         [[flat]]\nname = \"high\"\nto_mm = 45.0\nunderside_mm = 6.0\nstep = {{ wall_angle_deg = 60.0 }}\n{more}"
    );
    parse(&text)
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
    assert_eq!(c.verdict, Verdict::PadFits);
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
    assert_eq!(c.verdict, Verdict::PadTooThin);
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
    assert_eq!(c.verdict, Verdict::Clear);
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

#[test]
fn what_reaches_into_the_metal_touches() {
    let c = only(&part(&component(
        8.0,
        10.0,
        "size_mm = [4.0, 4.0]",
        3.3,
        "keep_out_mm = 0.5",
    )));
    assert_eq!(c.verdict, Verdict::Touches);
    assert_eq!(c.clearance_mm, 0.0);
    assert_abs_diff_eq!(c.gap_min_mm.unwrap(), -0.3, epsilon = 1e-9);
}

#[test]
fn obstacles_above_below_and_beside_are_told_apart() {
    let obstacle = |name: &str, x: f64, y: f64, bottom: f64, top: f64| {
        format!(
            "[[obstacle]]\nname = \"{name}\"\nx_mm = {x}\ny_mm = {y}\nsize_mm = [2.0, 2.0]\nbottom_mm = {bottom}\ntop_mm = {top}\nclearance_mm = 0.5\n"
        )
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

#[test]
fn where_the_next_flat_begins_is_what_the_formula_says() {
    let part = part(&component(8.0, 10.0, "size_mm = [1.0, 1.0]", 0.5, ""));
    assert_abs_diff_eq!(part.flats[1].level.from_mm, high_begins(), epsilon = 1e-9);
}

/// Height of the underside, by the formulas of arcs and wall written out once more.
fn underside(x: f64) -> f64 {
    let (sin, cos) = 60f64.to_radians().sin_cos();
    let begins = high_begins();
    if x <= 20.0 {
        3.0
    } else if x < 20.0 + 2.0 * sin {
        5.0 - (4.0 - (x - 20.0).powi(2)).sqrt()
    } else if x < begins - sin {
        5.0 - 2.0 * cos + (x - 20.0 - 2.0 * sin) * sin / cos
    } else if x < begins {
        // Inside radius 1 on the underside of the second bend.
        5.0 + (1.0 - (begins - x).powi(2)).sqrt()
    } else {
        6.0
    }
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(150) })]
    /// A grid of points over the footprint and around it: no point finds less than what coldstep says,
    /// and the best comes close to it.
    #[test]
    fn brute_force_finds_nothing_nearer(
        x in -4.0f64..50.0, y in -4.0f64..24.0, a in 0.5f64..9.0, b in 0.5f64..9.0, turn in 0.0f64..90.0,
        height in 0.2f64..7.0
    ) {
        let c = only(&part(&component(
            x, y, &format!("size_mm = [{a}, {b}]\nrotation_deg = {turn}"), height, "keep_out_mm = 0.3",
        )));
        let (sin, cos) = turn.to_radians().sin_cos();
        // Plan distance from a point to the turned rectangle.
        let plan = |px: f64, py: f64| {
            let (dx, dy) = (px - x, py - y);
            let (u, v) = (dx * cos + dy * sin, dy * cos - dx * sin);
            (u.abs() - a / 2.0).max(0.0).hypot((v.abs() - b / 2.0).max(0.0))
        };
        let (mut nearest, mut least) = (f64::INFINITY, f64::INFINITY);
        let (mut sum, mut count) = (0.0, 0.0);
        let steps = 300;
        for i in 0..=steps {
            let px = 45.0 * f64::from(i) / f64::from(steps);
            let z = underside(px);
            for k in 0..=steps / 3 {
                let py = 20.0 * f64::from(k) / f64::from(steps / 3);
                let d = plan(px, py);
                // From below: only what lies above the top is away from it.
                nearest = nearest.min(d.hypot((z - height).max(0.0)));
                if d == 0.0 {
                    least = least.min(z - height);
                    sum += z - height;
                    count += 1.0;
                }
            }
        }
        prop_assert!(c.clearance_mm <= nearest + 1e-9, "{} > {nearest}", c.clearance_mm);
        prop_assert!(c.clearance_mm > nearest - 0.4, "{} << {nearest}", c.clearance_mm);
        if count > 200.0 {
            prop_assert!(c.gap_min_mm.unwrap() <= least + 1e-9);
            prop_assert!(c.gap_min_mm.unwrap() > least - 0.5);
            prop_assert!((c.gap_mean_mm.unwrap() - sum / count).abs() < 0.25);
            prop_assert!(c.clearance_mm <= c.gap_min_mm.unwrap().max(0.0) + 1e-9);
        }
    }
}
