//! A wall that forgives little is named, and what is advised against it has been pressed.

use crate::ordinary_parts::pressed;
use coldstep::forming::pressing::PressInput;

/// A wall of one and a half sheet thicknesses moves with the print by degrees; the gentler one that is advised, written into the
/// part file as the advice says, moves by less.
#[test]
fn a_short_steep_wall_is_fragile_and_its_advice_calms_it() {
    let text = include_str!("fragile.toml");
    let job = pressed(text);
    let pressing = job.pressing.as_ref().unwrap();
    assert!(pressing.shape_met);
    let wall = &pressing.fragile_walls[0];
    assert_eq!(wall.between, ["memory", "chokes"]);
    assert_eq!(wall.largest_cause, PressInput::Print);
    assert!(wall.range_deg > 2.0, "{}", wall.text);
    // "draw that step with a wall of 46 degrees, ...: [[flat]] "chokes": step = { wall_angle_deg = 46.0, ... }; its wall ..."
    let (_, step) = wall.help[0].split_once("step = {").unwrap();
    let (step, _) = step.split_once('}').unwrap();
    assert!(step.contains("wall_angle_deg = "), "{step}");
    let gentler = text.replace(" wall_angle_deg = 55.0, inside_radius_mm = 1.7 ", step);
    assert_ne!(gentler, text);
    let calmer = pressed(&gentler).pressing.unwrap();
    let range = |pressing: &coldstep::forming::pressing::Pressing| pressing.range().unwrap();
    assert!(calmer.shape_met);
    assert!(range(&calmer).angle_deg < 0.8 * range(pressing).angle_deg);
}

/// A calm wall is not told as fragile.
#[test]
fn a_long_gentle_wall_is_not_fragile() {
    let job = pressed(include_str!("../../examples/three-levels.toml"));
    let pressing = job.pressing.unwrap();
    assert!(pressing.shape_met);
    assert_eq!(pressing.fragile_walls, []);
}
