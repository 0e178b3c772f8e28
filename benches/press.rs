//! One pressing of a two-bend step, closed and released, on meshes of growing fineness.
//!
//! Prints what each mesh finds before it is timed, so that speed and convergence stand side by side.
#![allow(clippy::unwrap_used, missing_docs)]

use coldstep::forming::press::contact::Die;
use coldstep::forming::press::material::Metal;
use coldstep::forming::press::run::{Pressed, Settings, press};
use coldstep::forming::press::shape;
use coldstep::forming::press::strip::Strip;
use coldstep::geometry::Chain;
use coldstep::quantity::Angle;
use divan::Bencher;
use nalgebra::{Point2, Vector2};

const FLAT_MM: f64 = 10.0;
const RISE_MM: f64 = 3.0;
const STIFFNESS_N_MM3: f64 = 20_000.0;

fn main() {
    for fineness in MESHES {
        report(fineness);
    }
    divan::main();
}

/// Layers through the thickness, and length of the columns in the bends, mm.
const MESHES: [(usize, f64); 3] = [(4, 0.2), (6, 0.15), (8, 0.1)];

/// Soft copper, 60 degrees, inside radius and thickness 1 mm; the blank leans on both noses.
fn set_up((layers, fine_mm): (usize, f64)) -> (Strip, Die, Die, f64) {
    let turn = Angle::deg(60.0);
    let wall = (RISE_MM - 3.0 * (1.0 - turn.cos())) / turn.sin();
    let mut mid = Chain::from_start(0.0, 0.0, Angle::ZERO);
    mid.line(FLAT_MM)
        .arc(1.5, turn)
        .line(wall)
        .arc(1.5, -turn)
        .line(FLAT_MM);
    let length = mid.length_mm();
    let reach = mid.end().point.x;
    let raised = |lean: f64| length / 2.0 * lean.sin() - 0.5 * (1.0 - lean.cos());
    let off_nose = |lean: f64| {
        lean.cos() * (raised(lean) - (RISE_MM - 1.5))
            - lean.sin() * (reach / 2.0 - (reach - FLAT_MM))
    };
    let (mut low, mut high) = (0.0, 0.6);
    for _ in 0..60 {
        let lean = f64::midpoint(low, high);
        if off_nose(lean) < 1.5 {
            low = lean;
        } else {
            high = lean;
        }
    }
    // Fine where the bends come to lie, coarser towards the ends, both halves alike.
    let mut half = vec![0.0];
    let mut at: f64 = 0.0;
    while at < length / 2.0 - 1e-9 {
        let step = (fine_mm + 0.25 * (at - 4.5).max(0.0)).min(0.8);
        at = (at + step).min(length / 2.0);
        half.push(at);
    }
    let places: Vec<f64> = half
        .iter()
        .rev()
        .map(|at| length / 2.0 - at)
        .chain(half.iter().skip(1).map(|at| length / 2.0 + at))
        .collect();
    let along = Vector2::new(low.cos(), low.sin());
    let up = Vector2::new(-along.y, along.x);
    let start = Point2::new(reach / 2.0, raised(low)) - along * (length / 2.0) - up * 0.5;
    let metal = Metal::new(117_000.0, 0.34, 315.0, (65.0f64 / 315.0).powf(2.5), 0.40);
    let strip = Strip::straight(start, along, &places, 1.0, layers, metal);
    let lower = Die::lower(&mid.offset(-0.5).unwrap(), STIFFNESS_N_MM3, 0.1);
    let mut upper = Die::upper(&mid.offset(0.5).unwrap(), STIFFNESS_N_MM3, 0.1);
    upper.lifted_mm = 2.0 * raised(low) - RISE_MM;
    (strip, lower, upper, length)
}

fn pressed(fineness: (usize, f64)) -> (Strip, Pressed, f64) {
    let (strip, lower, upper, length) = set_up(fineness);
    let pressed = press(&strip, &lower, &upper, &Settings::default()).unwrap();
    (strip, pressed, length)
}

fn report(fineness: (usize, f64)) {
    let (strip, pressed, length) = pressed(fineness);
    let row = strip.rows / 2;
    for (name, state) in [("closed", &pressed.closed), ("released", &pressed.released)] {
        let fit = |from: f64, to: f64| {
            shape::straight(&shape::stretch(&strip, state, row, (from, to))).unwrap()
        };
        let (left, right) = (fit(1.5, 8.0), fit(length - 8.0, length - 1.5));
        let wall = fit(length / 2.0 - 0.35, length / 2.0 + 0.35);
        // Inner side of the first bend: the top, over the middle of its arc.
        let centre = FLAT_MM + 1.5 * Angle::deg(30.0).rad();
        let inner = shape::stretch(
            &strip,
            state,
            strip.rows - 1,
            (centre - 0.45, centre + 0.45),
        );
        println!(
            "{fineness:?} {name:8} bends {:.3} {:.3} deg, rise {:.4} mm, inside radius {:.3} mm, bow {:.3} mm",
            (wall.heading - left.heading).degrees(),
            (wall.heading - right.heading).degrees(),
            shape::rise_mm(&left, &right),
            shape::radius_mm(&inner).unwrap_or(f64::INFINITY),
            left.bow_mm.max(right.bow_mm)
        );
    }
    let last = pressed.curve.last().unwrap();
    println!(
        "{fineness:?} force at the end {:.1} N/mm, {} steps, {} iterations",
        last.force_n_mm,
        pressed.curve.len(),
        pressed.iterations
    );
}

#[divan::bench(args = MESHES, sample_count = 3, sample_size = 1)]
fn one_pressing(bencher: Bencher, fineness: (usize, f64)) {
    bencher.bench_local(|| pressed(fineness));
}
