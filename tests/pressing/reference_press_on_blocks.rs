//! The press between dies that are elastic blocks, against a coupled press calculated apart from this program.

use crate::published::{Published, agrees};
use coldstep::forming::block::Backing;
use coldstep::forming::block::section::{Mesh, Print};
use coldstep::forming::press::contact::Die;
use coldstep::forming::press::material::PressMetal;
use coldstep::forming::press::measure::{MeasuredStrip, bent_at_mm, measure};
use coldstep::forming::press::problem::{Fineness, Problem};
use coldstep::forming::press::run::{Moment, Pressed};
use coldstep::geometry::Chain;
use coldstep::quantity::Angle;
use coldstep::stock::flow::Hardening;
use std::ops::ControlFlow;

/// Where the reference comes from.
const SOURCE: &str = "a coupled press with both blocks in finite elements, calculated apart from this program; soft \
                      copper of 0.8 mm, dies of 65 degrees, 416 N/mm";

/// Soft copper of 0.8 mm between dies of 65 degrees.
///
/// The reference does not say its law of hardening. With this one the press on a uniform foundation of 704 N/mm³ gives
/// what the reference reports for that: see [`the_law_of_the_reference`].
fn problem() -> Problem {
    let law = Hardening::Swift {
        k_mpa: 315.0,
        prestrain: 0.01,
        n: 0.40,
    };
    let turn = Angle::deg(65.0);
    let mut mid = Chain::from_start(0.0, 0.0, Angle::ZERO);
    mid.line(12.0)
        .arc(2.0, turn)
        .line(0.54)
        .arc(2.0, -turn)
        .line(12.0);
    Problem {
        mid,
        thickness_mm: 0.8,
        clearance_mm: 0.05,
        corner_relief_mm: 0.5,
        metal: PressMetal::new(117_000.0, 0.34, &law),
        friction: 0.2,
        foundation_n_mm3: 704.0,
        blocks: None,
        die_yield_mpa: f64::INFINITY,
        most_force_n_mm: 416.0,
        end_mm: -2.0,
        end_stops: true,
    }
}

/// The same on blocks. The reference does not say how long they are; these go on for more than twice their height, as
/// a jaw does.
fn on_blocks(shapes: usize) -> Problem {
    Problem {
        blocks: Some(Backing {
            print: Print::solid(2000.0, 0.35),
            base_mm: 12.0,
            beyond_mm: 30.0,
            mesh: Mesh::for_sheet(0.8),
            shapes,
        }),
        ..problem()
    }
}

struct Answer {
    released: MeasuredStrip,
    pressed: Pressed,
    /// How deep the strip stands in the drawn lower face, closed.
    depths_mm: Vec<f64>,
}

fn run(problem: &Problem, fineness: Fineness) -> Answer {
    let mut watch = |_: &Moment<'_>| ControlFlow::Continue(());
    let (strip, pressed) = problem.press(fineness, &mut watch).unwrap();
    let places = bent_at_mm(&strip, &pressed.closed, &problem.mid);
    let released = measure(&strip, &pressed.released, &problem.mid, &places).unwrap();
    // The lower die does not move.
    let lower = Die::lower(&problem.faces().unwrap()[0], 1.0, 0.0);
    let depths_mm = (0..strip.columns)
        .map(|column| {
            let place = strip.place(&pressed.closed.moved, column * strip.rows);
            -lower.near(place).unwrap().gap_mm
        })
        .collect();
    let bend = released.bends[0];
    println!(
        "{:?}: {:.3} degrees, rise {:.4}, radius {:.3}, {:.1} MPa, {:.1} N/mm, {} iterations",
        problem.blocks.map(|blocks| blocks.shapes),
        bend.turn.degrees(),
        released.rises_mm[0],
        bend.inside_radius_mm,
        pressed.most_pressure_mpa,
        pressed.curve.last().unwrap().force_n_mm,
        pressed.iterations,
    );
    Answer {
        released,
        pressed,
        depths_mm,
    }
}

fn within(got: f64, value: f64, within: f64) {
    agrees(
        got,
        &Published {
            source: SOURCE,
            value,
            within,
        },
    );
}

/// On the uniform foundation: angle, rise, inside radius and largest pressure of the reference.
#[test]
fn the_law_of_the_reference() {
    let answer = run(&problem(), Fineness::FULL);
    within(answer.released.bends[0].turn.degrees(), 57.11, 0.05);
    within(answer.released.rises_mm[0], 2.796, 0.005);
    within(answer.released.bends[0].inside_radius_mm, 1.59, 0.03);
    within(answer.pressed.most_pressure_mpa, 49.0, 2.0);
}

/// On blocks: angle within 0.1 degrees, rise within 0.01 mm, radius within 0.03 mm, peak pressure within 5 %.
#[test]
fn dies_that_are_blocks_press_as_the_coupled_reference() {
    let answer = run(&on_blocks(60), Fineness::FULL);
    for bend in &answer.released.bends {
        within(bend.turn.abs().degrees(), 57.54, 0.1);
        within(bend.inside_radius_mm, 1.60, 0.03);
    }
    within(answer.released.rises_mm[0], 2.776, 0.01);
    within(answer.pressed.most_pressure_mpa, 86.0, 0.05 * 86.0);
    let deepest = answer.depths_mm.iter().copied().fold(0.0, f64::max);
    within(deepest, 0.096, 0.006);
}

/// What shapes are left out gives place by place: a few dozen carry the press.
#[test]
fn a_few_dozen_shapes_are_enough() {
    let [few, many] = [60, 100].map(|shapes| run(&on_blocks(shapes), Fineness::FULL));
    let turn = |answer: &Answer| answer.released.bends[0].turn.degrees();
    // Equal presses differ by as much on this mesh.
    assert!((turn(&few) - turn(&many)).abs() < 0.12);
    assert!((few.released.rises_mm[0] - many.released.rises_mm[0]).abs() < 0.005);
    let peak = |answer: &Answer| answer.pressed.most_pressure_mpa;
    assert!((peak(&few) / peak(&many) - 1.0).abs() < 0.08);
}
