//! The press between dies that are elastic blocks, against a coupled press calculated apart from this program.

use crate::published::{Published, agrees};
use coldstep::forming::block::section::{Mesh, Print, Side};
use coldstep::forming::block::{Backing, LAYER_N_MM3};
use coldstep::forming::press::contact::Die;
use coldstep::forming::press::material::PressMetal;
use coldstep::forming::press::measure::{MeasuredStrip, bent_at_mm, measure};
use coldstep::forming::press::newton::Settings;
use coldstep::forming::press::problem::{Fineness, Problem};
use coldstep::forming::press::run::{Pressed, press};
use coldstep::geometry::Chain;
use coldstep::quantity::Angle;
use coldstep::stock::metal::{Material, Metal, Temper};
use std::ops::ControlFlow;

/// Soft copper of 0.8 mm between dies of 65 degrees.
fn problem() -> Problem {
    let copper = Metal::stock(Material::Copper, Temper::Soft).unwrap();
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
        metal: PressMetal::new(copper.youngs_mpa, copper.poisson, &copper.hardening().law),
        friction: 0.2,
        foundation_n_mm3: 704.0,
        die_yield_mpa: f64::INFINITY,
        most_force_n_mm: 416.0,
        end_mm: -2.0,
        end_stops: true,
    }
}

fn backing(finest_mm: f64, shapes: usize) -> Backing {
    Backing {
        print: Print::solid(2000.0, 0.35),
        base_mm: 12.0,
        mesh: Mesh {
            finest_mm,
            beyond_mm: 1.0,
            growth: 0.4,
            coarsest_mm: 1.5,
            first: 1.0,
            deeper: 1.5,
        },
        shapes,
    }
}

struct Answer {
    released: MeasuredStrip,
    pressed: Pressed,
}

fn run(problem: &Problem, fineness: Fineness, blocks: Option<(&Backing, f64)>) -> Answer {
    let (strip, mut lower, mut upper) = problem.set_up(fineness).unwrap();
    let begin = std::time::Instant::now();
    if let Some((backing, layer_n_mm3)) = blocks {
        let [under, over] = problem.faces().unwrap();
        let on = |die: Die, face, side| {
            die.on_block(backing.behind(face, side).unwrap(), layer_n_mm3)
        };
        lower = on(lower, &under, Side::Below);
        upper = on(upper, &over, Side::Above);
    }
    let made = begin.elapsed();
    let settings = Settings {
        step_mm: fineness.step * problem.thickness_mm,
        most_force_n_mm: problem.most_force_n_mm,
        end_mm: problem.end_mm,
        ..Settings::default()
    };
    let pressed = press(&strip, [&lower, &upper], None, &settings, &mut |moment| {
        if std::env::var("SHOW").is_ok() {
            println!("{:.4} {:.2}", moment.lifted_mm, moment.force_n_mm);
        }
        ControlFlow::Continue(())
    })
    .unwrap();
    let places = bent_at_mm(&strip, &pressed.closed, &problem.mid);
    let released = measure(&strip, &pressed.released, &problem.mid, &places).unwrap();
    println!(
        "{:?}: {:.3} {:.3} deg, rise {:.4}, radius {:.3} {:.3}, {:.1} MPa, {:.1} N/mm, lifted {:.4}, {} iterations, {} steps; blocks {made:.2?}, all {:.2?}; layer {:.0}",
        blocks.map(|(b, l)| (b.mesh.finest_mm, b.shapes, l)),
        released.bends[0].turn.degrees(),
        released.bends[1].turn.degrees(),
        released.rises_mm[0],
        released.bends[0].inside_radius_mm,
        released.bends[1].inside_radius_mm,
        pressed.most_pressure_mpa,
        pressed.curve.last().unwrap().force_n_mm,
        pressed.curve.last().unwrap().lifted_mm,
        pressed.iterations,
        pressed.curve.len(),
        begin.elapsed(),
        lower.stiffness_n_mm3,
    );
    Answer { released, pressed }
}

#[test]
fn trial() {
    use coldstep::stock::flow::Hardening;
    let which = std::env::var("FINE").is_ok();
    let fineness = if which { Fineness::FULL } else { Fineness::QUICK };
    let base = problem();
    let law = |k_mpa: f64, y: f64, n: f64| PressMetal::new(117_000.0, 0.34, &Hardening::Swift { k_mpa, prestrain: (y / k_mpa).powf(1.0 / n), n });
    for (k, y, n) in [(315.0, 65.0, 0.4), (315.0, 70.0, 0.54), (315.0, 50.0, 0.54)] {
        let problem = Problem { metal: law(k, y, n), end_mm: -0.09, most_force_n_mm: f64::INFINITY, ..base.clone() };
        println!("{k} {y} {n}");
        run(&problem, fineness, None);
    }
    let problem = Problem { metal: law(315.0, 65.0, 0.4), ..base.clone() };
    for (finest, shapes) in [(0.2, 20), (0.2, 40), (0.2, 80), (0.2, 160), (0.1, 80), (0.1, 160)] {
        run(&problem, fineness, Some((&backing(finest, shapes), LAYER_N_MM3)));
    }
}
