//! Random presses: each comes to an end, with an answer or a named reason.
//!
//! A handful by default. `COLDSTEP_PRESSES=500 cargo test --release --test pressing random_presses -- --nocapture` presses
//! 500 on the full mesh, every second one on blocks, and prints how many were answered.

use crate::random::Random;
use coldstep::forming::STEEPEST_FACE_DEG;
use coldstep::forming::block::Backing;
use coldstep::forming::press::guard::{Doubt, believed};
use coldstep::forming::press::material::PressMetal;
use coldstep::forming::press::problem::{Fineness, Problem};
use coldstep::forming::tilt;
use coldstep::geometry::Chain;
use coldstep::part::Tilt;
use coldstep::quantity::Angle;
use coldstep::stock::metal::Material;
use coldstep::stock::printed_block::{MeasuredPlastic, PrintedBlock};
use coldstep::stock::{Metal as Stock, Plastic};
use std::ops::ControlFlow;
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};

/// A strip of 2, 4 or 6 bends, as a part file can draw it (flats are level, so bends come in pairs), whose dies open.
///
/// On blocks of its print or, for comparison, on a foundation.
fn drawable(random: &mut Random, on_blocks: bool) -> (Problem, String) {
    loop {
        let t = random.between(0.3, 2.0);
        let material = *random.pick(&Material::ALL);
        let temper = *random.pick(Stock::tempers(material));
        let bends = 2 * (1 + (random.share() * 3.0) as usize);
        let flat = |random: &mut Random| random.between(5.0, 25.0).max(5.0 * t);
        let mut mid = Chain::from_start(0.0, 0.0, Angle::ZERO);
        mid.line(flat(random));
        let mut heading = 0.0f64;
        let mut turns = Vec::new();
        for bend in 0..bends {
            // Every second bend leads back to level.
            let turn = if bend % 2 == 1 {
                -heading
            } else {
                let size = random.between(20.0, 90.0);
                if random.share() < 0.5 { size } else { -size }
            };
            heading += turn;
            turns.push(turn);
            let radius = random.between(0.5, 4.0) * t + t / 2.0;
            mid.arc(radius, Angle::deg(turn));
            let straight = if bend % 2 == 0 {
                random.between(0.5, 4.0) * t
            } else {
                flat(random)
            };
            mid.line(straight);
        }
        let turn = tilt(&mid, Tilt::Auto);
        let steepest = mid.steepest_deg(turn);
        if steepest > STEEPEST_FACE_DEG {
            continue;
        }
        let metal = Stock::stock(material, temper).unwrap();
        let plastic = *random.pick(&Plastic::ALL);
        let infill = random.between(20.0, 100.0);
        let block =
            PrintedBlock::new(plastic, MeasuredPlastic::default(), 2.0, infill, 12.0).unwrap();
        let sharpest = turns.iter().fold(0.0f64, |most, turn| most.max(turn.abs()));
        let clearance_mm = random.between(0.0, 0.1);
        let problem = Problem {
            mid: mid.turned(mid.start.point, turn),
            thickness_mm: t,
            clearance_mm,
            corner_relief_mm: 0.5 * t,
            metal: PressMetal::new(metal.youngs_mpa, metal.poisson, &metal.hardening().law),
            friction: random.between(0.05, 0.3),
            foundation_n_mm3: block.nose_n_mm3(t),
            blocks: on_blocks.then(|| Backing::of(&block, t)),
            die_yield_mpa: block.nose_limit_mpa(t, Angle::deg(sharpest)).usual,
            most_force_n_mm: if random.share() < 0.5 {
                f64::INFINITY
            } else {
                random.between(50.0, 500.0)
            },
            end_mm: -clearance_mm - 0.05 * t,
            end_stops: true,
        };
        let words = format!("{} t {t:.2} turns {turns:.0?}", metal.name);
        return (problem, words);
    }
}

#[test]
fn random_presses_end_with_an_answer_or_a_reason() {
    let given = std::env::var("COLDSTEP_PRESSES")
        .ok()
        .and_then(|count| count.parse().ok());
    let count: u32 = given.unwrap_or(10);
    let fineness = if given.is_some() {
        Fineness::FULL
    } else {
        Fineness::QUICK
    };
    let mut random = Random(0x1234_5678_9abc_def1);
    let problems: Vec<(Problem, String)> = (0..count)
        .map(|number| drawable(&mut random, number % 2 == 1))
        .collect();
    let threads = std::thread::available_parallelism().map_or(1, std::num::NonZero::get);
    let next = AtomicUsize::new(0);
    let answered = AtomicUsize::new(0);
    let given_way = AtomicUsize::new(0);
    let refused = Mutex::new(Vec::new());
    std::thread::scope(|scope| {
        for _ in 0..threads {
            scope.spawn(|| {
                loop {
                    let number = next.fetch_add(1, Ordering::Relaxed);
                    let Some((problem, words)) = problems.get(number) else {
                        break;
                    };
                    match outcome(problem, fineness) {
                        Ok(gives_way) => {
                            answered.fetch_add(1, Ordering::Relaxed);
                            given_way.fetch_add(usize::from(gives_way), Ordering::Relaxed);
                        }
                        Err(reason) => {
                            let reason = format!("{number} {words}: {reason}");
                            println!("{reason}");
                            refused.lock().unwrap().push((number, reason));
                        }
                    }
                    if number % 50 == 49 {
                        println!("{} pressed", number + 1);
                    }
                }
            });
        }
    });
    let mut refused = refused.into_inner().unwrap();
    refused.sort_unstable();
    println!(
        "{} of {count} answered, {} of them: vise or dies give way before the sheet bends",
        answered.load(Ordering::Relaxed),
        given_way.load(Ordering::Relaxed)
    );
    assert!(
        refused.len() as f64 <= 0.02 * f64::from(count),
        "{refused:#?}"
    );
}

/// Presses one: whether vise or dies give way before the sheet is bent, or the reason why there is no answer.
fn outcome(problem: &Problem, fineness: Fineness) -> Result<bool, String> {
    let (strip, pressed) = problem
        .press(fineness, &mut |_| ControlFlow::Continue(()))
        .map_err(|reason| reason.to_string())?;
    match believed(problem, &strip, &pressed) {
        Ok(_) => Ok(false),
        Err(Doubt::DiesGive { .. } | Doubt::ForceEnds { .. }) => Ok(true),
        Err(doubt) => Err(doubt.to_string()),
    }
}
