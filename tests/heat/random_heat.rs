//! Random plates over random parts: heat is kept, ladders add up, better pads do no harm, and every run has the same bits.

use coldstep::fit::Underside;
use coldstep::heat::draws::{Drawable, draw_on};
use coldstep::heat::model::Setup;
use coldstep::heat::solved::Solved;
use coldstep::heat::{Heat, heat};
use coldstep::part::{Part, parse};
use proptest::prelude::*;
use proptest::test_runner::{Config, RngAlgorithm, TestCaseError, TestRng, TestRunner};
use std::fmt::Write as _;

const CASES: u32 = 24;

#[derive(Debug, Clone)]
struct Spot {
    size_mm: [f64; 2],
    gap_mm: f64,
    heat_w: f64,
    to_top_k_w: f64,
    pad: usize,
    round: bool,
}

#[derive(Debug, Clone)]
struct Recipe {
    thickness_mm: f64,
    width_mm: f64,
    flats_mm: Vec<f64>,
    rises_mm: Vec<f64>,
    spots: Vec<Spot>,
    pads: [[f64; 2]; 2],
    board_k: Option<f64>,
    loss_w_m2k: f64,
    held: bool,
    pipes: usize,
    hole: bool,
    old: bool,
}

fn recipe() -> impl Strategy<Value = Recipe> {
    let spot = (
        [2.0f64..9.0, 2.0f64..7.0],
        0.4f64..1.6,
        0.1f64..5.0,
        0.2f64..8.0,
        0usize..2,
        any::<bool>(),
    )
        .prop_map(|(size_mm, gap_mm, heat_w, to_top_k_w, pad, round)| Spot {
            size_mm,
            gap_mm,
            heat_w,
            to_top_k_w,
            pad,
            round,
        });
    let pad = [1.0f64..15.0, 5.0f64..90.0];
    (
        (0.4f64..1.6, 18.0f64..40.0),
        prop::collection::vec(12.0f64..20.0, 1..4),
        prop::collection::vec(1.0f64..3.0, 3),
        prop::collection::vec(spot, 6),
        [pad.clone(), pad],
        prop::option::of(0.0f64..50.0),
        prop_oneof![Just(0.0), 1.0f64..40.0],
        any::<[bool; 4]>(),
    )
        .prop_map(
            |(
                (thickness_mm, width_mm),
                flats_mm,
                rises_mm,
                spots,
                pads,
                board_k,
                loss,
                switches,
            )| {
                Recipe {
                    thickness_mm,
                    width_mm,
                    flats_mm,
                    rises_mm,
                    spots,
                    pads,
                    board_k,
                    loss_w_m2k: loss,
                    held: switches[0],
                    pipes: 1 + usize::from(switches[1]),
                    hole: switches[2],
                    old: switches[3],
                }
            },
        )
}

/// Writes the part file: on each flat a part in front and one behind, pipes across the last and highest flat.
fn write(recipe: &Recipe) -> String {
    const AIR_C: f64 = 30.0;
    let (t, width) = (recipe.thickness_mm, recipe.width_mm);
    let mut text = format!(
        "[sheet]\nmaterial = \"copper\"\ntemper = \"soft\"\nthickness_mm = {t}\ninside_radius_mm = {}\n\
         [plate]\nwidth_mm = {width}\n[heat]\nair_c = {AIR_C}\nloss_w_m2k = {}\n",
        1.5 * t,
        recipe.loss_w_m2k
    );
    if let Some(board_k) = recipe.board_k {
        writeln!(text, "board_c = {}", AIR_C + board_k).unwrap();
    }
    if recipe.old {
        text += "[old_plate]\nmaterial = \"aluminium-1050\"\nthickness_mm = 1.0\n";
    }
    for (number, [k, contact]) in recipe.pads.iter().enumerate() {
        for (kind, thickness) in [("new", 2.0), ("old", 2.5)] {
            writeln!(
                text,
                "[[pad]]\nname = \"{kind} {number}\"\nthickness_mm = {thickness}\neffective_w_mk = {k}\n\
                 contact_mm2k_w = {contact}\ncompression_percent = [5, 90]"
            )
            .unwrap();
        }
    }
    let (mut x, mut z) = (0.0, 5.0);
    let mut spots = recipe.spots.iter();
    let mut last = (0.0, 0.0);
    for (number, flat_mm) in recipe.flats_mm.iter().enumerate() {
        let mut place = String::new();
        if number > 0 {
            z += recipe.rises_mm[number];
            x += 8.0 + 2.0 * t;
            place = format!("from_mm = {x}\n");
        } else {
            place += "from_mm = 0.0\n";
        }
        last = (x, x + flat_mm);
        writeln!(
            text,
            "[[flat]]\nname = \"f{number}\"\n{place}to_mm = {}\nunderside_mm = {z}",
            last.1
        )
        .unwrap();
        for (row, share) in [0.25, 0.75].into_iter().enumerate() {
            let spot = spots.next().unwrap();
            let shape = if spot.round {
                format!("diameter_mm = {}", spot.size_mm[1])
            } else {
                format!("size_mm = {:?}", spot.size_mm)
            };
            writeln!(
                text,
                "[[component]]\nname = \"P{number}{row}\"\nkind = \"other\"\nx_mm = {}\ny_mm = {}\n{shape}\n\
                 height_mm = {}\npad = \"new {}\"\nheat_w = {}\njunction_to_top_k_w = {}",
                x + flat_mm / 2.0,
                width * share,
                z - spot.gap_mm,
                spot.pad,
                spot.heat_w,
                spot.to_top_k_w
            )
            .unwrap();
            if recipe.old {
                writeln!(
                    text,
                    "old_pad = \"old {}\"\nold_gap_mm = {}",
                    spot.pad,
                    spot.gap_mm + 0.5
                )
                .unwrap();
            }
        }
        x = last.1;
    }
    if recipe.hole {
        let y = width / 2.0;
        writeln!(
            text,
            "[[hole]]\nname = \"h\"\nx_mm = 6.0\ny_mm = {y}\ndiameter_mm = 3.0"
        )
        .unwrap();
    }
    for pipe in 0..recipe.pipes {
        let at = last.0 + (last.1 - last.0) * (pipe as f64 + 1.0) / (recipe.pipes as f64 + 1.0);
        let sink = if recipe.held {
            "temperature_c = 52.0"
        } else {
            "to_air_k_w = 0.4\nother_heat_w = 20.0"
        };
        writeln!(
            text,
            "[[heat_pipe]]\nname = \"pipe {pipe}\"\nx_mm = {at}\ny_mm = {}\nsize_mm = [4.0, {width}]\n{sink}",
            width / 2.0
        )
        .unwrap();
    }
    text
}

fn parsed(text: &str) -> Result<Part, TestCaseError> {
    parse(text)
        .map(|part| part.value)
        .map_err(|findings| TestCaseError::fail(format!("{findings:#?}\n{text}")))
}

fn of(part: &Part) -> Result<Heat, TestCaseError> {
    heat(part, &Underside::drawn(part), Underside::drawn)
        .map(|heat| heat.value)
        .map_err(|findings| TestCaseError::fail(format!("{findings:#?}")))
}

fn solved(setup: &Setup<'_>) -> Solved {
    let case = setup.new_case();
    let values = setup.middle();
    let parts = setup.part_loads(&case.over, &values, None);
    let pipes = setup.pipe_loads(&values, None);
    Solved::on_grid(&case.plate, &parts, &pipes, 1.0, case.layers).unwrap()
}

/// Runs a check on random parts, the same ones every time.
fn on_random_parts(cases: u32, check: impl Fn(&Recipe) -> Result<(), TestCaseError>) {
    let config = Config {
        cases,
        failure_persistence: None,
        ..Config::default()
    };
    let random = TestRng::deterministic_rng(RngAlgorithm::ChaCha);
    TestRunner::new_with_rng(config, random)
        .run(&recipe(), |recipe| check(&recipe))
        .unwrap_or_else(|error| panic!("{error}"));
}

#[test]
fn heat_is_kept_and_ladders_add_up() {
    let worst = std::cell::Cell::new([0.0f64; 2]);
    on_random_parts(CASES / 2, |recipe| {
        let text = write(recipe);
        let heat = of(&parsed(&text)?)?;
        let [mut kept, mut ladders] = worst.get();
        for plate in std::iter::once(&heat.plate).chain(&heat.old_plate) {
            let balance = plate.from_parts_w - plate.into_pipes_w - plate.lost_w;
            kept = kept.max(balance.abs()).max(plate.grid.imbalance_w.abs());
            prop_assert!(balance.abs() < 1e-6, "{balance} W are lost\n{text}");
            prop_assert!(
                plate.grid.imbalance_w.abs() < 1e-6,
                "{:?}\n{text}",
                plate.grid
            );
            if recipe.board_k.is_none() {
                let made: f64 = heat.parts.iter().map(|part| part.heat_w).sum();
                prop_assert!((plate.from_parts_w - made).abs() < 1e-9);
            }
            prop_assert_eq!(plate.lost_w > 0.0, recipe.loss_w_m2k > 0.0);
        }
        prop_assert_eq!(heat.parts.len(), 2 * recipe.flats_mm.len());
        for part in &heat.parts {
            let pairs = [
                (Some(part.inside_c), &part.ladder),
                (part.old_inside_c, &part.old_ladder),
            ];
            for (inside, ladder) in pairs {
                let (Some(inside), Some(ladder)) = (inside, ladder) else {
                    prop_assert!(
                        inside.is_none() && !recipe.old,
                        "{} has no ladder",
                        part.name
                    );
                    continue;
                };
                let sum: f64 = ladder.rungs.iter().map(|rung| rung.kelvin).sum();
                let miss = sum - (inside.middle - heat.air_c);
                ladders = ladders.max(miss.abs());
                prop_assert!(miss.abs() < 1e-6, "{}: {miss} K\n{text}", part.name);
                // Board, pipes and parts are all warmer than the air.
                prop_assert!(inside.middle >= heat.air_c - 1e-9, "{}\n{text}", part.name);
                prop_assert!(inside.low <= inside.middle && inside.middle <= inside.high);
            }
        }
        worst.set([kept, ladders]);
        Ok(())
    });
    println!(
        "worst: {:.1e} W lost, ladders off by {:.1e} K",
        worst.get()[0],
        worst.get()[1]
    );
}

/// What A does to B, B does to A: read off the fields before anything is made symmetric.
#[test]
fn parts_and_pipes_do_to_each_other_what_is_done_to_them() {
    on_random_parts(CASES, |recipe| {
        let part = parsed(&write(recipe))?;
        let underside = Underside::drawn(&part);
        let solved = solved(&Setup::new(&part, &underside));
        let flows = &solved.answers.flows;
        let largest = flows
            .iter()
            .flatten()
            .fold(0.0f64, |most, flow| most.max(flow.abs()));
        for (row, own) in flows.iter().enumerate() {
            for (column, flow) in own.iter().enumerate() {
                let back = flows[column][row];
                prop_assert!((flow - back).abs() < 1e-9 * largest, "{flow} {back}");
                prop_assert!(row == column || *flow <= 0.0);
            }
        }
        let rise = &solved.reduced.rise_k_w;
        prop_assert_eq!(rise, &rise.transpose());
        Ok(())
    });
}

/// A pad that conducts better, with the same faces, leaves no part with more resistance of its own (Rayleigh's theorem),
/// and where all heat goes up no part hotter.
#[test]
fn better_pads_make_no_part_hotter() {
    on_random_parts(CASES, |recipe| {
        let mut better = recipe.clone();
        for (number, pad) in better.pads.iter_mut().enumerate() {
            pad[0] *= 1.5 + number as f64;
        }
        let mut own = [Vec::new(), Vec::new()];
        let mut inside = [Vec::new(), Vec::new()];
        for (recipe, (own, inside)) in [recipe, &better]
            .into_iter()
            .zip(own.iter_mut().zip(&mut inside))
        {
            let part = parsed(&write(recipe))?;
            let underside = Underside::drawn(&part);
            let solved = solved(&Setup::new(&part, &underside));
            *own = solved.reduced.rise_k_w.diagonal().iter().copied().collect();
            inside.clone_from(&solved.state.inside_k);
        }
        for (before, after) in own[0].iter().zip(&own[1]) {
            prop_assert!(after < before, "{before} {after} K/W");
        }
        if recipe.board_k.is_none() {
            for (before, after) in inside[0].iter().zip(&inside[1]) {
                prop_assert!(after < before, "{before} {after} K");
            }
        }
        Ok(())
    });
}

#[test]
fn every_run_has_the_same_bits_on_any_number_of_threads() {
    on_random_parts(2, |recipe| {
        let part = parsed(&write(recipe))?;
        let [once, again] = [of(&part)?, of(&part)?];
        prop_assert_eq!(&once, &again);
        let bits = |heat: &Heat| -> Vec<u64> {
            let parts = heat.parts.iter();
            parts
                .flat_map(|part| [part.inside_c.middle, part.inside_c.low, part.inside_c.high])
                .map(f64::to_bits)
                .collect()
        };
        prop_assert_eq!(bits(&once), bits(&again));

        let underside = Underside::drawn(&part);
        let setup = Setup::new(&part, &underside);
        let (case, solved) = (setup.new_case(), solved(&setup));
        let plate = Drawable {
            over: &case.over,
            solved: &solved,
        };
        let [one, three, many] =
            [1, 3, 50].map(|threads| draw_on(&setup, plate, None, 12_345, threads));
        let bits = |drawn: &[Vec<f64>]| -> Vec<u64> {
            drawn.iter().flatten().map(|c| c.to_bits()).collect()
        };
        prop_assert_eq!(one.new_c[0].len(), 12_345);
        for other in [&three, &many] {
            prop_assert_eq!(bits(&one.new_c), bits(&other.new_c));
        }
        // And they are draws: no two the same.
        prop_assert!(
            one.new_c[0]
                .windows(2)
                .all(|pair| pair[0].to_bits() != pair[1].to_bits())
        );
        Ok(())
    });
}
