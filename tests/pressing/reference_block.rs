//! A die as an elastic block against closed forms, a strip of pressure on a half-plane and a layer on a rigid base, and
//! against a general finite-element library, see `tests/heavy/block`.

use crate::published::{Published, agrees};
use coldstep::forming::block::modes::Modes;
use coldstep::forming::block::section::{Compliance, Mesh, Print, Side, compliance};
use coldstep::geometry::Chain;
use coldstep::quantity::Angle;
use nalgebra::Vector2;
use serde_json::Value;

const YOUNGS_MPA: f64 = 2000.0;
const POISSON: f64 = 0.35;

fn flat(from_mm: f64, to_mm: f64) -> Chain {
    let mut face = Chain::from_start(from_mm, 0.0, Angle::ZERO);
    face.line(to_mm - from_mm);
    face
}

/// Displacement of every station under tractions of the stations, projected in least squares as the press does.
fn moved(compliance: &Compliance, traction: impl Fn(f64) -> Vector2<f64>) -> Vec<Vector2<f64>> {
    let modes = Modes::of(compliance, usize::MAX).unwrap();
    let tractions: Vec<f64> = compliance
        .stations_mm
        .iter()
        .flat_map(|along| {
            let t = traction(*along);
            [t.x, t.y]
        })
        .collect();
    compliance
        .stations_mm
        .iter()
        .map(|along| modes.moved_by(&tractions, *along))
        .collect()
}

/// How the face of a half-plane gives beside and under a strip of even pressure, against its middle.
///
/// `w(x) − w(0) = −(1 − ν²)/(πE)·p·[(a + x) ln((a + x)²/a²) + (a − x) ln((a − x)²/a²)]` downwards, and along the face
/// towards the middle `(1 − 2ν)(1 + ν)/E·p·min(|x|, a)`.
#[test]
fn a_deep_block_gives_as_a_half_plane() {
    let face = flat(-300.0, 300.0);
    let mesh = Mesh {
        finest_mm: 0.1,
        beyond_mm: 0.0,
        growth: 0.0,
        coarsest_mm: 0.1,
        first: 1.0,
        deeper: 1.5,
    };
    // Fine in the middle, coarse outside: alike from both ends, a station in the middle.
    let mut right: Vec<f64> = (0..=50).map(|i| f64::from(i) * 0.1).collect();
    let mut step = 0.1;
    while right[right.len() - 1] < 300.0 {
        step *= 1.3;
        right.push((right[right.len() - 1] + step).min(300.0));
    }
    let stations: Vec<f64> = right
        .iter()
        .rev()
        .map(|x| 300.0 - x)
        .chain(right.iter().skip(1).map(|x| 300.0 + x))
        .collect();
    let print = Print::solid(YOUNGS_MPA, POISSON);
    let block = compliance(
        &face,
        Side::Below,
        -300.0,
        &print,
        &mesh,
        &stations,
        [290.0, 310.0],
    )
    .unwrap();
    let (a, p) = (1.05, 40.0);
    let field = moved(&block, |along| {
        let is_loaded = (along - 300.0).abs() < a;
        Vector2::new(0.0, if is_loaded { -p } else { 0.0 })
    });
    let at = |x: f64| {
        let near = |along: &f64| (along - 300.0 - x).abs() < 1e-6;
        field[block.stations_mm.iter().position(near).unwrap()]
    };
    let unit = (1.0 - POISSON * POISSON) / (std::f64::consts::PI * YOUNGS_MPA);
    let log = |y: f64| y * (y / a).powi(2).ln();
    // Further out the block's own size is felt along the face: 300 mm are not without end.
    for x in [0.5, 0.8, 1.5, 2.0] {
        let rises = unit * p * (log(a + x) + log(a - x));
        agrees(
            at(x).y - at(0.0).y,
            &Published {
                source: "K. L. Johnson, Contact Mechanics (1985), strip of even pressure on a half-plane, from memory; \
                         follows from Flamant's line load by integration",
                value: rises,
                within: 0.02 * rises,
            },
        );
        let along = -(1.0 - 2.0 * POISSON) * (1.0 + POISSON) / YOUNGS_MPA * p * x.min(a);
        agrees(
            at(x).x,
            &Published {
                source: "the same, along the face",
                value: along,
                within: 0.02 * along.abs(),
            },
        );
    }
}

/// Pressed or rubbed evenly all over, the middle of a wide layer on a rigid base gives as a column that cannot widen.
#[test]
fn a_wide_layer_gives_as_a_column() {
    let (wall_mm, base_mm) = (1.2, 6.0);
    let print = Print {
        wall_youngs_mpa: YOUNGS_MPA,
        infill_youngs_mpa: 500.0,
        wall_mm,
        poisson: POISSON,
    };
    let mesh = Mesh {
        finest_mm: 0.4,
        beyond_mm: 0.0,
        growth: 0.0,
        coarsest_mm: 0.6,
        first: 1.0,
        deeper: 1.0,
    };
    let shear = |youngs: f64| youngs / (2.0 * (1.0 + POISSON));
    let column = |youngs: f64| youngs * (1.0 - POISSON) / ((1.0 + POISSON) * (1.0 - 2.0 * POISSON));
    let series = |modulus: &dyn Fn(f64) -> f64| {
        wall_mm / modulus(print.wall_youngs_mpa)
            + (base_mm - wall_mm) / modulus(print.infill_youngs_mpa)
    };
    for (side, back_mm, down) in [(Side::Below, -base_mm, -1.0), (Side::Above, base_mm, 1.0)] {
        let face = flat(0.0, 80.0);
        let stations = mesh.stations_mm(&face);
        let block =
            compliance(&face, side, back_mm, &print, &mesh, &stations, [0.0, 80.0]).unwrap();
        let middle = block.stations_mm.len() / 2;
        let p = 10.0;
        let pressed = moved(&block, |_| Vector2::new(0.0, down * p))[middle];
        let rubbed = moved(&block, |_| Vector2::new(p, 0.0))[middle];
        for (got, value) in [
            (down * pressed.y, p * series(&column)),
            (rubbed.x, p * series(&shear)),
        ] {
            agrees(
                got,
                &Published {
                    source: "a column held at its sides, a layer in shear: definitions of the moduli",
                    value,
                    // The wall ends within an element.
                    within: 0.01 * value,
                },
            );
        }
    }
}

/// The lower die of a step of 65 degrees under patches of traction on its nose and on its flat, solid and of a wall on infill:
/// within 2 % of the largest displacement.
#[test]
fn a_step_gives_as_in_a_general_finite_element_program() {
    let path = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/tests/heavy/block/results.json"
    );
    let cases: Value = serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap();
    let turn = Angle::deg(65.0);
    let mut face = Chain::from_start(0.0, 0.0, Angle::ZERO);
    face.line(12.0)
        .arc(1.9, turn)
        .line(0.54)
        .arc(1.575, -turn)
        .line(12.0);
    let mesh = Mesh {
        finest_mm: 0.1,
        // The patch on the flat wants it fine there too.
        coarsest_mm: 0.25,
        ..Mesh::for_sheet(0.8)
    };
    let cases = cases.as_array().unwrap();
    assert_eq!(cases.len(), 4);
    for case in cases {
        let number = |key: &str| case[key].as_f64().unwrap();
        let print = Print {
            wall_youngs_mpa: number("wall_youngs_mpa"),
            infill_youngs_mpa: number("infill_youngs_mpa"),
            wall_mm: number("wall_mm"),
            poisson: POISSON,
        };
        let stations = mesh.stations_mm(&face);
        let whole = [0.0, face.length_mm()];
        let block = compliance(&face, Side::Below, -12.0, &print, &mesh, &stations, whole);
        let modes = Modes::of(&block.unwrap(), usize::MAX).unwrap();
        let [tx, tz] = [0, 1].map(|axis| case["traction_mpa"][axis].as_f64().unwrap());
        let tractions: Vec<f64> = stations
            .iter()
            .flat_map(|along| {
                let off = (along - number("middle_mm")) / number("half_mm");
                let share = if off.abs() < 1.0 {
                    (std::f64::consts::FRAC_PI_2 * off).cos().powi(2)
                } else {
                    0.0
                };
                [tx * share, tz * share]
            })
            .collect();
        let rows: Vec<[f64; 3]> =
            serde_json::from_value(case["along_and_moved_mm"].clone()).unwrap();
        let largest = rows.iter().map(|[_, x, z]| x.hypot(*z)).fold(0.0, f64::max);
        let mut worst: f64 = 0.0;
        for [along, x, z] in rows {
            let off = modes.moved_by(&tractions, along) - Vector2::new(x, z);
            worst = worst.max(off.norm() / largest);
            assert!(off.norm() < 0.02 * largest, "{case} at {along}: {off}");
        }
        println!(
            "{} about {}: {:.2} % off",
            case["name"],
            case["middle_mm"],
            100.0 * worst
        );
    }
}
