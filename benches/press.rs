//! One pressing, closed and let go, on meshes of growing fineness.
//!
//! Prints what each mesh finds before it is timed, so that speed and convergence stand side by side.
#![allow(
    clippy::unwrap_used,
    clippy::format_collect,
    clippy::indexing_slicing,
    missing_docs
)]

use coldstep::forming::block::section::{Mesh, Print};
use coldstep::forming::block::{Backing, SHAPES};
use coldstep::forming::press::material::PressMetal;
use coldstep::forming::press::measure::{bent_at_mm, measure};
use coldstep::forming::press::problem::{Fineness, Problem};
use coldstep::forming::press::run::Pressed;
use coldstep::forming::press::strip::Strip;
use coldstep::forming::pressing::{Effort, Task};
use coldstep::geometry::Chain;
use coldstep::quantity::Angle;
use coldstep::stock::flow::Hardening;
use divan::Bencher;
use std::ops::ControlFlow;

/// First yield at 65 MPa.
const SOFT: Hardening = Hardening::Swift {
    k_mpa: 315.0,
    prestrain: 0.019_342_250_66,
    n: 0.40,
};
/// Half the length of elements everywhere, more layers, half the step.
const FINER: Fineness = Fineness {
    layers: 12,
    in_bends: 0.0625,
    in_flats: 0.25,
    step: 0.05,
    lengthened: 1.0,
};
const MESHES: [(&str, Fineness); 3] = [
    ("quick", Fineness::QUICK),
    ("full", Fineness::FULL),
    ("finer", FINER),
];

fn main() {
    for steps in [1, 2] {
        for stiffness_n_mm3 in [500.0, 2000.0] {
            for mesh in MESHES {
                report(steps, stiffness_n_mm3, mesh);
            }
        }
    }
    divan::main();
}

/// Soft copper, steps of 3 mm at 60 degrees, inside radius and thickness 1 mm, flats of 12 mm.
fn problem(steps: u32, foundation_n_mm3: f64) -> Problem {
    let turn = Angle::deg(60.0);
    let wall = (3.0 - 3.0 * (1.0 - turn.cos())) / turn.sin();
    let mut mid = Chain::from_start(0.0, 0.0, Angle::ZERO);
    mid.line(12.0);
    for _ in 0..steps {
        mid.arc(1.5, turn).line(wall).arc(1.5, -turn).line(12.0);
    }
    Problem {
        mid,
        thickness_mm: 1.0,
        clearance_mm: 0.05,
        corner_relief_mm: 0.5,
        metal: PressMetal::new(117_000.0, 0.34, &SOFT),
        friction: 0.1,
        foundation_n_mm3,
        blocks: None,
        die_yield_mpa: f64::INFINITY,
        most_force_n_mm: f64::INFINITY,
        end_mm: 0.0,
        end_stops: true,
    }
}

fn pressed(problem: &Problem, fineness: Fineness) -> (Strip, Pressed) {
    problem
        .press(fineness, &mut |_| ControlFlow::Continue(()))
        .unwrap()
}

fn report(steps: u32, stiffness_n_mm3: f64, (name, fineness): (&str, Fineness)) {
    let problem = problem(steps, stiffness_n_mm3);
    let (strip, pressed) = pressed(&problem, fineness);
    let places = bent_at_mm(&strip, &pressed.closed, &problem.mid);
    let [closed, released] = [&pressed.closed, &pressed.released]
        .map(|state| measure(&strip, state, &problem.mid, &places).unwrap());
    let angles = |of: &coldstep::forming::press::measure::MeasuredStrip| -> String {
        of.bends
            .iter()
            .map(|bend| format!(" {:.3}", bend.turn.degrees()))
            .collect()
    };
    let radii: String = released
        .bends
        .iter()
        .map(|bend| format!(" {:.3}", bend.inside_radius_mm))
        .collect();
    let rises: String = released
        .rises_mm
        .iter()
        .map(|rise| format!(" {rise:.4}"))
        .collect();
    println!(
        "{} bends, {stiffness_n_mm3} N/mm3, {name:5}: closed{} released{} deg, rise{rises} mm, radii{radii} mm, \
         {:.1} N/mm, {} steps, {} iterations",
        2 * steps,
        angles(&closed),
        angles(&released),
        pressed.curve.last().unwrap().force_n_mm,
        pressed.curve.len(),
        pressed.iterations
    );
}

#[divan::bench(args = ["quick", "full", "finer"], sample_count = 5, sample_size = 1)]
fn two_bends_closed_and_let_go(bencher: Bencher, mesh: &str) {
    let fineness = MESHES.iter().find(|(name, _)| *name == mesh).unwrap().1;
    let problem = problem(1, 500.0);
    bencher.bench_local(|| pressed(&problem, fineness));
}

/// The same between elastic blocks of a solid print.
#[divan::bench(args = ["quick", "full"], sample_count = 5, sample_size = 1)]
fn two_bends_between_blocks(bencher: Bencher, mesh: &str) {
    let fineness = MESHES.iter().find(|(name, _)| *name == mesh).unwrap().1;
    let problem = Problem {
        blocks: Some(Backing {
            print: Print::solid(2000.0, 0.35),
            base_mm: 12.0,
            beyond_mm: 12.0,
            mesh: Mesh::for_sheet(1.0),
            shapes: SHAPES,
        }),
        most_force_n_mm: 400.0,
        ..problem(1, 700.0)
    };
    bencher.bench_local(|| pressed(&problem, fineness));
}

#[divan::bench(args = ["quick", "full"], sample_count = 3, sample_size = 1)]
fn four_bends_closed_and_let_go(bencher: Bencher, mesh: &str) {
    let fineness = MESHES.iter().find(|(name, _)| *name == mesh).unwrap().1;
    let problem = problem(2, 500.0);
    bencher.bench_local(|| pressed(&problem, fineness));
}

/// The whole search on bundled examples: coarse mesh first, then the fine one.
#[divan::bench(args = ["single-step", "three-levels"], sample_count = 3, sample_size = 1)]
fn dies_searched(bencher: Bencher, example: &str) {
    let text = std::fs::read_to_string(format!("examples/{example}.toml")).unwrap();
    let part = coldstep::part::parse(&text).unwrap().value;
    let task = Task::of(&part).unwrap();
    bencher.bench_local(|| {
        task.search(Effort::Full, &mut |_| ControlFlow::Continue(()))
            .unwrap()
    });
}

/// An ordinary part: soft or quarter-hard sheet, walls of 2.5 to 5 thicknesses at 25 to 62 degrees. Invented.
fn ordinary(number: u32) -> String {
    const SHEETS: [(&str, &str); 5] = [
        ("copper", "soft"),
        ("copper", "quarter-hard"),
        ("aluminium-1050", "soft"),
        ("aluminium-5052", "quarter-hard"),
        ("aluminium-5052", "soft"),
    ];
    let share = |times: u32| f64::from((number * times) % 60) / 59.0;
    let (material, temper) = SHEETS[(number % 5) as usize];
    let t = [0.5, 0.8, 1.0, 1.2, 1.5][(number / 5 % 5) as usize];
    let (radius, wall) = (1.0 + 1.5 * share(7), 2.5 + 2.5 * share(11));
    let degrees = (25.0 + 37.0 * share(13)).round();
    let angle = degrees.to_radians();
    let rise_mm = (2.0 * radius + 1.0) * t * (1.0 - angle.cos()) + wall * t * angle.sin();
    let upper_mm = 1.75 + rise_mm;
    format!(
        "[sheet]\nmaterial = \"{material}\"\ntemper = \"{temper}\"\nthickness_mm = {t}\ninside_radius_mm = {}\n\
         [plate]\nwidth_mm = 34\n\
         [[flat]]\nname = \"low\"\nfrom_mm = 0.0\nto_mm = 16.0\nunderside_mm = 1.75\n\
         [[flat]]\nname = \"high\"\nto_mm = 48.0\nunderside_mm = {upper_mm}\nstep = {{ wall_angle_deg = {degrees} }}\n\
         [[component]]\nname = \"Q1\"\nx_mm = 7\ny_mm = 10\nsize_mm = [5, 6]\nheight_mm = 0.95\n\
         [printer]\nplastic = \"pla\"\nbed_mm = [220, 220, 250]\n\
         [vise]\njaw_width_mm = 125\njaw_height_mm = 60\nopening_mm = 140\nscrew_lead_mm = 5\nhandle_length_mm = 200\n",
        radius * t,
    )
}

/// The whole search on sixty ordinary parts, once each.
#[divan::bench(args = 0..60, sample_count = 1, sample_size = 1)]
fn ordinary_dies_searched(bencher: Bencher, number: u32) {
    let part = coldstep::part::parse(&ordinary(number)).unwrap().value;
    let task = Task::of(&part).unwrap();
    bencher.bench_local(|| task.search(Effort::Full, &mut |_| ControlFlow::Continue(())));
}
