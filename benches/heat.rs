//! Temperatures of twelve parts under a two-step plate and under the old one: whole, and stage by stage.
//!
//! Prints how fine the grids came out and how much the last refinement moved, so that speed and convergence stand
//! side by side. With COLDSTEP_HEAT_EXPORT=DIR it writes the same plate as plain numbers with our own times instead, for
//! `tests/heavy/heat/bench.py`.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    missing_docs
)]

use coldstep::conduction::plate::Cells;
use coldstep::fit::Underside;
use coldstep::heat::draws::{DRAWS, Drawable, draw, draw_on};
use coldstep::heat::filling::{AIR_W_MK, Filling};
use coldstep::heat::heat;
use coldstep::heat::loads::Holding;
use coldstep::heat::model::{Case, Setup, Values, filling};
use coldstep::heat::solved::Solved;
use coldstep::part::Part;
use divan::{Bencher, black_box};
use std::path::Path;
use std::time::Instant;

const SOURCE: &str = include_str!("twelve-parts.toml");

fn main() {
    if let Some(dir) = std::env::var_os("COLDSTEP_HEAT_EXPORT") {
        return export(Path::new(&dir));
    }
    let part = part();
    let heat = heat(&part, &Underside::drawn(&part), Underside::drawn)
        .unwrap()
        .value;
    println!(
        "{} parts, {} heat pipes, {} draws",
        heat.parts.len(),
        heat.pipes.len(),
        heat.draws
    );
    for (plate, name) in [
        (Some(&heat.plate), "new plate"),
        (heat.old_plate.as_ref(), "old plate"),
    ] {
        let grid = plate.unwrap().grid;
        println!(
            "{name}: cells of {} mm, {} nodes, {} layer(s), last refinement moved {:.3} K, heat in less out {:.1e} W",
            grid.cell_mm, grid.nodes, grid.layers, grid.change_k, grid.imbalance_w
        );
        assert!(grid.converged);
    }
    divan::main();
}

fn part() -> Part {
    coldstep::part::parse(SOURCE).unwrap().value
}

fn solved(setup: &Setup<'_>, case: &Case<'_>) -> Solved {
    let values = setup.middle();
    let parts = setup.part_loads(&case.over, &values, None);
    let pipes = setup.pipe_loads(&values, None);
    Solved::refined(&case.plate, &parts, &pipes, case.layers).unwrap()
}

/// Two plates on refined grids, ladders, pad charts, all draws, improvements.
#[divan::bench(sample_count = 10, sample_size = 1)]
fn a_everything(bencher: Bencher) {
    let part = part();
    let underside = Underside::drawn(&part);
    bencher.bench_local(|| heat(black_box(&part), &underside, Underside::drawn).unwrap());
}

/// The new plate on the grids it takes.
#[divan::bench(sample_count = 10, sample_size = 1)]
fn b_new_plate_refined(bencher: Bencher) {
    let part = part();
    let underside = Underside::drawn(&part);
    let setup = Setup::new(&part, &underside);
    let case = setup.new_case();
    bencher.bench_local(|| solved(&setup, &case));
}

fn finest(bencher: Bencher, run: impl Fn(&Case<'_>, f64, &Cells)) {
    let part = part();
    let underside = Underside::drawn(&part);
    let setup = Setup::new(&part, &underside);
    let case = setup.new_case();
    let size_mm = solved(&setup, &case).grid.cell_mm;
    let cells = Cells::of(&case.plate, size_mm, case.layers);
    bencher.bench_local(|| run(&case, size_mm, &cells));
}

/// The finest grid of it cut into cells.
#[divan::bench]
fn c_cells(bencher: Bencher) {
    finest(bencher, |case, size_mm, _| {
        black_box(Cells::of(&case.plate, size_mm, case.layers));
    });
}

/// Its matrix put together and factorised.
#[divan::bench]
fn d_factorised(bencher: Bencher) {
    finest(bencher, |_, _, cells| {
        black_box(cells.network.factorise().unwrap());
    });
}

/// Factorised and solved for all ports.
#[divan::bench]
fn e_answers(bencher: Bencher) {
    finest(bencher, |_, _, cells| {
        black_box(cells.answers().unwrap());
    });
}

/// All draws of both plates.
#[divan::bench(sample_count = 10, sample_size = 1)]
fn f_draws(bencher: Bencher) {
    let part = part();
    let underside = Underside::drawn(&part);
    let setup = Setup::new(&part, &underside);
    let (new, old) = (setup.new_case(), setup.old_case().unwrap());
    let (new_solved, old_solved) = (solved(&setup, &new), solved(&setup, &old));
    bencher.bench_local(|| {
        draw(
            &setup,
            drawable(&new, &new_solved),
            Some(drawable(&old, &old_solved)),
            DRAWS,
        )
    });
}

fn drawable<'a>(case: &'a Case<'_>, solved: &'a Solved) -> Drawable<'a> {
    Drawable {
        over: &case.over,
        solved,
    }
}

/// Draws whose inputs are written out one by one.
const DRAWS_WRITTEN: usize = 20_000;
/// Each time is the median of so many.
const TIMES: usize = 9;

/// Median time of a few runs, ms.
fn median_ms<T>(mut run: impl FnMut() -> T) -> f64 {
    let mut times: Vec<f64> = (0..TIMES)
        .map(|_| {
            let start = Instant::now();
            black_box(run());
            start.elapsed().as_secs_f64() * 1e3
        })
        .collect();
    times.sort_by(f64::total_cmp);
    times[TIMES / 2]
}

fn write(dir: &Path, name: &str, numbers: &[f64]) {
    let bytes: Vec<u8> = numbers
        .iter()
        .flat_map(|number| number.to_le_bytes())
        .collect();
    std::fs::write(dir.join(name), bytes).unwrap();
}

/// Writes matrix, ties, few numbers and draws of the new plate, with our own times on one thread.
fn export(dir: &Path) {
    let part = part();
    let underside = Underside::drawn(&part);
    let setup = Setup::new(&part, &underside);
    let (new, old) = (setup.new_case(), setup.old_case().unwrap());
    let (new_solved, old_solved) = (solved(&setup, &new), solved(&setup, &old));
    let cells = &new_solved.cells;

    let matrix = cells.network.matrix().unwrap();
    let mut lower = Vec::new();
    for triplet in matrix.triplet_iter() {
        lower.extend([triplet.row as f64, triplet.col as f64, *triplet.val]);
    }
    write(dir, "matrix.f64", &lower);
    let mut ties = Vec::new();
    for (number, port) in cells.ports.iter().enumerate() {
        for tie in &port.ties {
            ties.extend([
                number as f64,
                tie.node as f64,
                tie.conductance_w_k,
                tie.area_mm2,
                tie.gap_mm,
                tie.filling_mm2k_w,
            ]);
        }
    }
    write(dir, "ties.f64", &ties);

    // Any even numbers will do here; a Weyl sequence has no period to speak of.
    let mut place = 0.0f64;
    let mut even = move || {
        place = (place + 0.618_033_988_749_894_9).fract();
        2.0 * place - 1.0
    };
    let mut values = Values::default();
    let (mut parts, mut pipes, mut inside) = (Vec::new(), Vec::new(), Vec::new());
    for _ in 0..DRAWS_WRITTEN {
        setup.draw(&mut values, &mut even);
        let part_loads = setup.part_loads(&new.over, &values, Some(&new_solved));
        let pipe_loads = setup.pipe_loads(&values, Some(&new_solved));
        for (load, over) in part_loads.iter().zip(&new.over) {
            let (filling, wider_mm) = filling(over, &values, setup.place_of(over.component));
            let Filling::Pad(pad) = filling else {
                panic!("every part of the bench has a pad")
            };
            let board = load.board.unwrap();
            parts.extend([
                load.heat_w,
                load.inside_k_w,
                load.pad_change_k_w,
                board.board_k,
                board.resistance_k_w,
                pad.conductivity_w_mk,
                pad.contact_mm2k_w,
                pad.thickness_mm,
                pad.least_mm,
                wider_mm,
            ]);
        }
        for (load, more_mm2k_w) in pipe_loads.iter().zip(&values.evaporation_mm2k_w) {
            let Holding::Air {
                resistance_k_w,
                other_heat_w,
            } = load.held_by
            else {
                panic!("every pipe of the bench goes to the air")
            };
            pipes.extend([
                resistance_k_w,
                other_heat_w,
                load.joint_change_k_w,
                *more_mm2k_w,
            ]);
        }
        let state = new_solved.reduced.solve(&part_loads, &pipe_loads).unwrap();
        inside.extend(state.inside_k);
    }
    write(dir, "draw_parts.f64", &parts);
    write(dir, "draw_pipes.f64", &pipes);
    write(dir, "draw_inside.f64", &inside);
    let reduced = &new_solved.reduced;
    for (name, matrix) in [
        ("rise.f64", &reduced.rise_k_w),
        ("follows.f64", &reduced.follows),
        ("between.f64", &reduced.between_w_k),
    ] {
        // Row by row.
        write(dir, name, matrix.transpose().as_slice());
    }
    let changes: Vec<f64> = reduced
        .changes()
        .iter()
        .flat_map(|change| {
            let rows = [&change.rise_k_w, &change.follows, &change.between_w_k];
            rows.map(|matrix| matrix.transpose().as_slice().to_vec())
                .concat()
        })
        .collect();
    write(dir, "changes.f64", &changes);
    write(dir, "flows.f64", &new_solved.answers.flows.concat());

    let draws = |threads: usize| {
        draw_on(
            &setup,
            drawable(&new, &new_solved),
            Some(drawable(&old, &old_solved)),
            DRAWS,
            threads,
        )
    };
    let facts = serde_json::json!({
        "nodes": cells.network.nodes(),
        "parts": cells.parts,
        "pipes": cells.ports.len() - cells.parts,
        "cell_mm": new_solved.grid.cell_mm,
        "air_w_mk": AIR_W_MK,
        "draws": DRAWS,
        "draws_written": DRAWS_WRITTEN,
        "threads": std::thread::available_parallelism().map_or(1, std::num::NonZero::get),
        "factorise_ms": median_ms(|| cells.network.factorise().unwrap()),
        "answers_ms": median_ms(|| cells.answers().unwrap()),
        "draws_one_thread_ms": median_ms(|| draws(1)),
        "draws_all_threads_ms":
            median_ms(|| draws(std::thread::available_parallelism().map_or(1, std::num::NonZero::get))),
    });
    std::fs::write(dir.join("facts.json"), facts.to_string()).unwrap();
}
