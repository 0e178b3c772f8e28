//! Temperatures of twelve parts under a two-step plate and under the old one: whole, and stage by stage.
//!
//! Prints how fine the grids came out and how much the last refinement moved, so that speed and convergence stand
//! side by side.
#![allow(clippy::unwrap_used, missing_docs)]

use coldstep::fit::Underside;
use coldstep::heat::draws::{DRAWS, Drawable, draw};
use coldstep::heat::heat;
use coldstep::heat::model::{Case, Setup};
use coldstep::heat::plate::Cells;
use coldstep::heat::solved::Solved;
use coldstep::part::Part;
use divan::{Bencher, black_box};

const SOURCE: &str = include_str!("twelve-parts.toml");

fn main() {
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
    let drawable = |case: &Case<'_>, solved| -> usize {
        let _: &Solved = solved;
        case.over.len()
    };
    assert_eq!(drawable(&new, &new_solved), drawable(&old, &old_solved));
    bencher.bench_local(|| {
        draw(
            &setup,
            Drawable {
                over: &new.over,
                solved: &new_solved,
            },
            Some(Drawable {
                over: &old.over,
                solved: &old_solved,
            }),
            DRAWS,
        )
    });
}
