//! Writes a plate with its parts as plain numbers and our answers, for `tests/heavy/heat/fem.py`: once with a board that
//! takes most of the heat, once with all of it going up.
//!
//! `COLDSTEP_HEAT_CASES=DIR cargo test --test heat heat_case -- --ignored`

use coldstep::fit::Underside;
use coldstep::geometry::Segment;
use coldstep::heat::heat;
use coldstep::heat::model::seat_flats;
use coldstep::part::thermal::Sink;
use coldstep::part::{Treatment, parse};
use serde_json::{Value, json};
use std::path::Path;

const TWELVE: &str = include_str!("../../benches/twelve-parts.toml");

/// The plate of the bench with square corners; the first memory chip lies half under a bend, where its gap changes.
fn text() -> String {
    let text = TWELVE.replace("corner_radius_mm = 2.0\n", "");
    let moved = text.replacen("x_mm = 26.0\n", "x_mm = 23.0\n", 1);
    assert!(moved != text && text != TWELVE);
    moved
}

#[test]
#[ignore = "writes files for tests/heavy/heat/run.sh"]
fn write_cases() {
    let dir = std::env::var_os("COLDSTEP_HEAT_CASES").expect("COLDSTEP_HEAT_CASES says where to");
    let text = text();
    let lines: Vec<&str> = text
        .lines()
        .filter(|line| !line.starts_with("board_c"))
        .collect();
    for (name, text) in [
        ("board.json", text.clone()),
        ("no-board.json", lines.join("\n")),
    ] {
        let case = serde_json::to_string_pretty(&case(&text)).unwrap();
        std::fs::write(Path::new(&dir).join(name), case).unwrap();
    }
}

/// A resistance that is no way at all, K/W.
const NO_WAY_K_W: f64 = 1e9;

fn case(text: &str) -> Value {
    let part = parse(text).unwrap().value;
    let result = heat(&part, &Underside::drawn(&part), Underside::drawn)
        .unwrap()
        .value;
    let mid = &part.profile.mid;
    let chain: Vec<Value> = mid
        .pieces()
        .map(|piece| match piece.segment {
            Segment::Line { length_mm } => json!({ "line_mm": length_mm }),
            Segment::Arc { radius_mm, turn } => {
                json!({ "radius_mm": radius_mm, "turn_rad": turn.rad() })
            }
        })
        .collect();
    let start = mid.pieces().next().unwrap().start;
    let (low, high) = part.outline.bounds();
    let parts: Vec<Value> = part
        .components
        .iter()
        .zip(&result.parts)
        .map(|(component, answer)| {
            assert_eq!(component.name, answer.name);
            let Treatment::Pad(pad) = &component.treatment else {
                panic!("every part of the case has a pad")
            };
            let (low, high) = component.footprint.bounds();
            json!({
                "name": component.name,
                "x_mm": [low.x, high.x],
                "y_mm": [low.y, high.y],
                "top_mm": component.height_mm.value,
                "heat_w": component.heat.heat_w.unwrap().value,
                "inside_k_w": component.heat.junction_to_top_k_w.value,
                "to_board_k_w": result.board_c.map_or(NO_WAY_K_W, |_| {
                    component.heat.junction_to_board_k_w.value
                }),
                "pad_mm": pad.thickness_mm,
                "pad_least_mm": pad.gap_window_mm().0,
                "pad_w_mk": pad.heat.conductivity_w_mk.value,
                "pad_contact_mm2k_w": pad.heat.contact_mm2k_w.value,
                "ours": {
                    "inside_c": answer.inside_c.middle,
                    "top_c": answer.top_c,
                    "into_plate_w": answer.into_plate_w,
                    "gap_mm": answer.gap_mm,
                },
            })
        })
        .collect();
    let pipes: Vec<Value> = part
        .thermal
        .pipes
        .iter()
        .zip(&result.pipes)
        .map(|(pipe, answer)| {
            // All of it on the highest flat.
            assert_eq!(seat_flats(&part, pipe), [part.flats.len() - 1]);
            let Sink::ToAir {
                resistance_k_w,
                other_heat_w,
            } = pipe.sink
            else {
                panic!("every pipe of the case goes to the air")
            };
            let (low, high) = pipe.footprint.bounds();
            json!({
                "name": pipe.name,
                "x_mm": [low.x, high.x],
                "y_mm": [low.y, high.y],
                "joint_mm2k_w": pipe.joint.resistance_mm2k_w() + pipe.evaporation_mm2k_w.value,
                "to_air_k_w": resistance_k_w.value,
                "other_heat_w": other_heat_w.value,
                "ours": { "vapour_c": answer.vapour_c, "from_plate_w": answer.from_plate_w },
            })
        })
        .collect();
    json!({
        "start_mm": [start.point.x, start.point.y],
        "heading_rad": start.heading.rad(),
        "chain": chain,
        "thickness_mm": part.sheet.thickness_mm,
        "y_mm": [low.y, high.y],
        "plate_w_mk": part.sheet.metal.conductivity_w_mk,
        "loss_w_m2k": part.thermal.loss_w_m2k,
        "air_c": result.air_c,
        "board_c": result.board_c.unwrap_or(result.air_c),
        "parts": parts,
        "pipes": pipes,
        "grid": { "cell_mm": result.plate.grid.cell_mm, "nodes": result.plate.grid.nodes,
            "change_k": result.plate.grid.change_k },
        "lost_w": result.plate.lost_w,
    })
}
