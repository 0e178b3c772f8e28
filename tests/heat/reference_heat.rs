//! Heat: the plate against closed forms, exact series and solutions made up beforehand.
//!
//! `cargo test --test heat reference_heat -- --nocapture` prints how near each comes.

use crate::published::{Published, agrees};
use coldstep::conduction::plate::{Cells, Foot, Hung, Patch, Plate, Seat, Sheet};
use coldstep::conduction::unfold;
use coldstep::geometry::{Footprint, Loop};
use coldstep::heat::filling::{Filling, PadFilling};
use coldstep::heat::loads::{Holding, PartLoad, PipeLoad, Solution};
use coldstep::heat::model::{NARROW, TOO_NARROW};
use coldstep::heat::reduced::Reduced;
use coldstep::quantity::Angle;
use coldstep::stock::impedance::ImpedanceFit;
use nalgebra::Point2;
use std::f64::consts::PI;

/// Copper of these checks, W/(mm·K).
const COPPER_W_MMK: f64 = 0.390;

fn between(x_mm: (f64, f64), y_mm: (f64, f64)) -> Footprint {
    Footprint::between(Point2::new(x_mm.0, y_mm.0), Point2::new(x_mm.1, y_mm.1))
}

/// A level plate of copper from the origin to `size_mm`, with nothing on it.
fn level(size_mm: [f64; 2], thickness_mm: f64) -> Plate<'static> {
    let [x, y] = size_mm;
    Plate {
        stretches: unfold::level(0.0, x),
        loops: vec![Loop::rectangle(Point2::new(0.0, 0.0), Point2::new(x, y))],
        sheet: Sheet {
            thickness_mm,
            conductivity_w_mmk: COPPER_W_MMK,
        },
        hung: Vec::new(),
        seats: Vec::new(),
        feet: Vec::new(),
        loss_w_mm2k: 0.0,
    }
}

/// A heat pipe on the level plate.
fn seat(x_mm: (f64, f64), y_mm: (f64, f64), joint_mm2k_w: f64) -> Seat {
    Seat {
        footprint: between(x_mm, y_mm),
        flats: vec![0],
        joint_mm2k_w,
    }
}

/// A board part under the plate itself.
fn foot(x_mm: (f64, f64), y_mm: (f64, f64), gap_mm: f64, filling: Filling) -> Foot<'static> {
    Foot {
        x_mm,
        y_mm,
        patches: Box::new(move |_| {
            vec![Patch {
                y_from_mm: y_mm.0,
                y_to_mm: y_mm.1,
                gap_mm,
                hung: None,
            }]
        }),
        resistance: Box::new(move |gap_mm| filling.resistance_mm2k_w(gap_mm)),
    }
}

/// A filling with this resistance times area at every gap.
fn filling_of(resistance_mm2k_w: f64) -> Filling {
    Filling::Pad(PadFilling {
        thickness_mm: 1.0,
        least_mm: 0.0,
        conductivity_w_mk: f64::INFINITY,
        contact_mm2k_w: resistance_mm2k_w,
    })
}

/// One watt in each part, no board, pipes as cold as the air.
fn one_watt_each(cells: &Cells, inside_k_w: f64) -> Solution {
    let reduced = Reduced::of(cells, &cells.answers().unwrap()).unwrap();
    let part = PartLoad {
        heat_w: 1.0,
        inside_k_w,
        board: None,
        pad_change_k_w: 0.0,
    };
    let pipe = PipeLoad {
        held_by: Holding::Temperature { above_air_k: 0.0 },
        joint_change_k_w: 0.0,
    };
    let pipes = cells.ports.len() - cells.parts;
    reduced
        .solve(&vec![part; cells.parts], &vec![pipe; pipes])
        .unwrap()
}

/// A fin: a strip held at one end that loses heat from both faces and not from its tip.
///
/// Over a length dx a strip of thickness t loses 2·h·T·dx for each mm of width and carries k·t·T''·dx towards there:
/// T'' = m²T with m² = 2h/(k·t). With T = 1 at x = 0 and T' = 0 at L, T = cosh(m(L − x))/cosh(mL), and its mean over the
/// fin, which is the heat lost over what a fin as warm as its foot would lose, is tanh(mL)/(mL).
///
/// The strip is held by a heat pipe on an end piece beyond x = 0; how warm it is there lies between the nodes on either
/// side.
#[test]
fn a_fin_with_an_insulated_tip() {
    let (end_mm, length_mm, width_mm, thickness_mm) = (2.0, 40.0, 4.0, 0.8);
    for (ml, value) in [(0.5, 0.924_234), (1.0, 0.761_594), (2.0, 0.482_014)] {
        let mut plate = level([end_mm + length_mm, width_mm], thickness_mm);
        plate.seats = vec![seat((0.0, end_mm), (0.0, width_mm), 1.0)];
        let m = ml / length_mm;
        plate.loss_w_mm2k = m * m * COPPER_W_MMK * thickness_mm / 2.0;
        for (size_mm, share) in [(2.0, 0.005), (0.5, 0.000_5)] {
            let cells = Cells::of(&plate, size_mm, 1);
            let field = &cells.answers().unwrap().fields[0];
            let columns = &cells.grid.columns;
            // Mean of each column with its length.
            let means: Vec<(f64, f64)> = (0..columns.len())
                .map(|column| {
                    let rows = 0..cells.grid.rows();
                    let sum: f64 = rows
                        .map(|row| {
                            let (front, back) = cells.grid.row(row);
                            let node = cells.top_nodes[cells.grid.cell(column, row)].unwrap();
                            (back - front) * field[node]
                        })
                        .sum();
                    (sum / width_mm, columns[column].arc_mm)
                })
                .collect();
            let first = columns
                .iter()
                .position(|column| column.x_from_mm > end_mm - 1e-9)
                .unwrap();
            let [(held, held_mm), (next, next_mm)] = [means[first - 1], means[first]];
            let foot = (held * next_mm + next * held_mm) / (held_mm + next_mm);
            let fin = &means[first..];
            assert!((fin.iter().map(|(_, mm)| mm).sum::<f64>() - length_mm).abs() < 1e-9);
            let mean = fin.iter().map(|(mean, mm)| mean * mm).sum::<f64>() / length_mm;
            println!(
                "fin, mL {ml}, cells of {size_mm} mm: {:+.4} %",
                100.0 * (mean / foot / value - 1.0)
            );
            agrees(
                mean / foot,
                &Published {
                    source: "computed from tanh(mL)/(mL); Incropera & DeWitt, Fundamentals of Heat and Mass Transfer, fins with an adiabatic tip, from memory",
                    value,
                    within: share * value,
                },
            );
        }
    }
}

/// Pad, sheet and joint over each other, with the same area everywhere: resistances add, whatever the cells and layers.
#[test]
fn walls_in_series() {
    let (area_mm2, thickness_mm, filling_mm2k_w, joint_mm2k_w) = (12.0 * 7.0, 0.8, 180.0, 25.0);
    let by_hand_k_w = (filling_mm2k_w + thickness_mm / COPPER_W_MMK + joint_mm2k_w) / area_mm2;
    let mut plate = level([12.0, 7.0], thickness_mm);
    plate.seats = vec![seat((0.0, 12.0), (0.0, 7.0), joint_mm2k_w)];
    plate.feet = vec![foot(
        (0.0, 12.0),
        (0.0, 7.0),
        0.5,
        filling_of(filling_mm2k_w),
    )];
    for size_mm in [20.0, 3.0, 0.7] {
        for layers in [1, 2, 4] {
            let cells = Cells::of(&plate, size_mm, layers);
            let state = one_watt_each(&cells, 0.0);
            agrees(
                state.inside_k[0],
                &Published {
                    source: "by hand: sum of t/(kA)",
                    value: by_hand_k_w,
                    within: 1e-9,
                },
            );
        }
    }
}

/// Two stacks side by side between one part and one heat pipe. Each: filling, a hung plate of its own metal, solder, the
/// plate, the joint. A slot right across the plate keeps them apart, so their conductances add.
#[test]
fn walls_in_parallel() {
    let mut plate = level([10.0, 6.0], 1.0);
    plate.loops.push(Loop::rectangle(
        Point2::new(4.0, -1.0),
        Point2::new(5.0, 7.0),
    ));
    let halves = [((0.0, 4.0), 0.390, 0.6), ((5.0, 10.0), 0.110, 1.2)];
    let (filling_mm2k_w, solder_mm2k_w, joint_mm2k_w) = (150.0, 4.0, 30.0);
    plate.hung = halves
        .iter()
        .map(|(x_mm, conductivity_w_mmk, thickness_mm)| Hung {
            footprint: between(*x_mm, (0.0, 6.0)),
            sheet: Sheet {
                thickness_mm: *thickness_mm,
                conductivity_w_mmk: *conductivity_w_mmk,
            },
            joint_mm2k_w: solder_mm2k_w,
        })
        .collect();
    plate.seats = vec![seat((0.0, 10.0), (0.0, 6.0), joint_mm2k_w)];
    plate.feet = vec![Foot {
        patches: Box::new(|x_mm| {
            let hung = match x_mm {
                x if x < 4.0 => Some(0),
                x if x > 5.0 => Some(1),
                _ => return Vec::new(),
            };
            vec![Patch {
                y_from_mm: 0.0,
                y_to_mm: 6.0,
                gap_mm: 0.5,
                hung,
            }]
        }),
        ..foot((0.0, 10.0), (0.0, 6.0), 0.5, filling_of(filling_mm2k_w))
    }];
    let conductance_w_k: f64 = halves
        .iter()
        .map(|(x_mm, conductivity_w_mmk, thickness_mm)| {
            let area_mm2 = 6.0 * (x_mm.1 - x_mm.0);
            area_mm2
                / (filling_mm2k_w
                    + thickness_mm / conductivity_w_mmk
                    + solder_mm2k_w
                    + 1.0 / COPPER_W_MMK
                    + joint_mm2k_w)
        })
        .sum();
    for size_mm in [3.0, 0.9] {
        for layers in [1, 3] {
            let state = one_watt_each(&Cells::of(&plate, size_mm, layers), 0.0);
            agrees(
                state.inside_k[0],
                &Published {
                    source: "by hand: 1 over the sum of A/Σ(t/k)",
                    value: 1.0 / conductance_w_k,
                    within: 1e-9,
                },
            );
        }
    }
}

/// From the inside of a part of 30 mm² through pad, copper and solder, nothing spreading: 2 + 40/30 + 166.667/30
/// + 2.5641/30 + 5/30 K/W.
#[test]
fn a_stack_of_thirty_square_millimetres() {
    let pad = Filling::Pad(PadFilling {
        thickness_mm: 1.0,
        least_mm: 0.5,
        conductivity_w_mk: 6.0,
        contact_mm2k_w: 20.0 + 20.0,
    });
    let solder_mm2k_w = 0.1 / 0.020;
    let mut plate = level([5.0, 6.0], 1.0);
    plate.seats = vec![seat((0.0, 5.0), (0.0, 6.0), solder_mm2k_w)];
    plate.feet = vec![foot((0.0, 5.0), (0.0, 6.0), 1.0, pad)];
    for (size_mm, count) in [(10.0, 1), (1.0, 30), (0.5, 120)] {
        for layers in [1, 4] {
            let cells = Cells::of(&plate, size_mm, layers);
            assert_eq!(cells.grid.cells(), count);
            let state = one_watt_each(&cells, 2.0);
            agrees(
                state.inside_k[0],
                &Published {
                    source: "by hand: 2 + 1.333 33 + 5.555 56 + 0.085 47 + 0.166 67, each R″/A or t/(kA)",
                    value: 9.141_03,
                    within: 0.000_005,
                },
            );
        }
    }
}

/// A rectangular source of even heat in the middle of one face of a rectangular plate, a film over all of the other.
#[derive(Clone, Copy)]
struct Spreading {
    plate_mm: [f64; 2],
    source_mm: [f64; 2],
    thickness_mm: f64,
    film_w_mm2k: f64,
}

impl Spreading {
    /// Resistance if the heat came in over the whole face, K/W.
    fn level_k_w(&self) -> f64 {
        let [a, b] = self.plate_mm;
        (self.thickness_mm / COPPER_W_MMK + 1.0 / self.film_w_mm2k) / (a * b)
    }

    /// What the mean of the source is warmer than that, by its Fourier series, K/W.
    ///
    /// The heat of the source is 1/(AB) times the sum over m, n of e·s·cos(δx)·cos(λy), δ = 2πm/A, λ = 2πn/B counted from
    /// the middle, with s = sin(δa/2)/(δa/2) · sin(λb/2)/(λb/2) and e = 1, 2 or 4 as none, one or both of m, n are above 0.
    /// Each term goes through the plate as cosh and sinh of βz, β² = δ² + λ²: with kT' = −q at the source and
    /// kT' = −hT at the film its temperature is q/(kβ)·φ, φ = (β + (h/k)·tanh βt)/(β·tanh βt + h/k). The mean over the
    /// source multiplies by s again. Yovanovich, Muzychka and Culham (1999), J. Thermophys. Heat Transfer 13, 495-500,
    /// from memory, have the same sums.
    fn series_k_w(&self) -> f64 {
        const TERMS: u32 = 600;
        let ([a, b], [c, d]) = (self.plate_mm, self.source_mm);
        let film = self.film_w_mm2k / COPPER_W_MMK;
        let mean = |wave: f64, width: f64| {
            if wave == 0.0 {
                1.0
            } else {
                (wave * width / 2.0).sin() / (wave * width / 2.0)
            }
        };
        let mut sum = 0.0;
        for m in 0..TERMS {
            let delta = 2.0 * PI * f64::from(m) / a;
            for n in 0..TERMS {
                if m + n == 0 {
                    continue;
                }
                let lambda = 2.0 * PI * f64::from(n) / b;
                let beta = delta.hypot(lambda);
                let tanh = (beta * self.thickness_mm).tanh();
                let s = mean(delta, c) * mean(lambda, d);
                let even = if m == 0 || n == 0 { 2.0 } else { 4.0 };
                sum += even * s * s / beta * (beta + film * tanh) / (beta * tanh + film);
            }
        }
        sum / (COPPER_W_MMK * a * b)
    }

    /// The same by the closed form of Lee, Song, Au and Moran (1995), Constriction/spreading resistance model for
    /// electronics packaging, Proc. 4th ASME/JSME Thermal Eng. Joint Conf., 199-206, from memory: discs of the same areas.
    fn closed_form_k_w(&self) -> f64 {
        let ([a, b], [c, d]) = (self.plate_mm, self.source_mm);
        let (source, plate) = ((c * d / PI).sqrt(), (a * b / PI).sqrt());
        let (share, depth) = (source / plate, self.thickness_mm / plate);
        let biot = self.film_w_mm2k * plate / COPPER_W_MMK;
        let lambda = PI + 1.0 / (PI.sqrt() * share);
        let tanh = (lambda * depth).tanh();
        let phi = (tanh + lambda / biot) / (1.0 + lambda / biot * tanh);
        0.5 * (1.0 - share).powf(1.5) * phi / (PI.sqrt() * COPPER_W_MMK * source)
    }

    /// The mean of the source above the film's far side by cells, K/W.
    ///
    /// A quarter of it: no heat crosses the two middle lines. Heat comes in evenly because it comes through a filling that
    /// holds back thousands of times what the plate does.
    fn cells_k_w(&self, size_mm: f64, layers: usize) -> f64 {
        const EVEN_MM2K_W: f64 = 1e6;
        let ([a, b], [c, d]) = (
            self.plate_mm.map(|side| side / 2.0),
            self.source_mm.map(|side| side / 2.0),
        );
        let mut plate = level([a, b], self.thickness_mm);
        plate.seats = vec![seat((0.0, a), (0.0, b), 1.0 / self.film_w_mm2k)];
        plate.feet = vec![foot((0.0, c), (0.0, d), 0.5, filling_of(EVEN_MM2K_W))];
        let state = one_watt_each(&Cells::of(&plate, size_mm, layers), 0.0);
        (state.inside_k[0] - EVEN_MM2K_W / (c * d)) / 4.0
    }
}

const WIDE_PLATE: Spreading = Spreading {
    plate_mm: [40.0, 40.0],
    source_mm: [5.0, 6.0],
    thickness_mm: 1.0,
    film_w_mm2k: 1e-3,
};
const SMALL_PLATE: Spreading = Spreading {
    plate_mm: [20.0, 20.0],
    film_w_mm2k: 2e-2,
    ..WIDE_PLATE
};

/// One sheet of cells against the exact series. A parabola over the thickness is not the field next to a source, so finer
/// cells do not come nearer than about 0.2 and 0.6 %; four layers do.
///
/// | cells, mm | layers | 40×40 mm, 1000 W/(m²·K) | 20×20 mm, 20 000 W/(m²·K) |
/// |----:|--:|--------:|--------:|
/// | 1     | 1 | +1.04 % | +2.59 % |
/// | 0.5   | 1 | +0.44 % | +1.18 % |
/// | 0.25  | 1 | +0.25 % | +0.75 % |
/// | 0.125 | 1 | +0.21 % | +0.64 % |
/// | 0.5   | 4 | +0.31 % | +0.77 % |
/// | 0.25  | 4 | +0.10 % | +0.25 % |
#[test]
fn spreading_from_a_rectangle() {
    const SERIES: &str = "the Fourier series, summed with 2000 terms each way by another program";
    let (wide, small) = (WIDE_PLATE, SMALL_PLATE);
    for (got, value) in [
        (wide.level_k_w(), 0.626_603),
        (wide.series_k_w(), 0.601_13),
        (small.level_k_w() + small.series_k_w(), 0.407_13),
    ] {
        agrees(
            got,
            &Published {
                source: SERIES,
                value,
                within: 0.000_006,
            },
        );
    }
    for (spreading, name) in [(wide, "40 mm"), (small, "20 mm")] {
        let value = spreading.level_k_w() + spreading.series_k_w();
        for (size_mm, layers, share) in [
            (1.0, 1, 0.03),
            (0.5, 1, 0.012),
            (0.25, 1, 0.01),
            (0.125, 1, 0.01),
            (0.5, 4, 0.01),
            (0.25, 4, 0.005),
        ] {
            let got = spreading.cells_k_w(size_mm, layers);
            println!(
                "source of 5×6 mm on {name}, cells of {size_mm} mm, {layers} layers: {:+.2} %",
                100.0 * (got / value - 1.0)
            );
            agrees(
                got,
                &Published {
                    source: SERIES,
                    value,
                    within: share * value,
                },
            );
        }
    }
}

/// The closed form that is in wide use takes plate and source for discs: 1.9 % below the series here.
#[test]
fn spreading_by_a_closed_form_of_discs() {
    let (got, series) = (WIDE_PLATE.closed_form_k_w(), WIDE_PLATE.series_k_w());
    agrees(
        got,
        &Published {
            source: "Lee, Song, Au & Moran (1995), mean of the source, from memory; computed by another program",
            value: 0.589_63,
            within: 0.000_005,
        },
    );
    println!(
        "closed form over series: {:+.2} %",
        100.0 * (got / series - 1.0)
    );
    assert!((got / series - 1.0).abs() < 0.02);
}

/// How much too high the spreading of a square source reads: what `model::NARROW` and `model::TOO_NARROW` stand for.
///
/// 20×20×1 mm of copper, 20 000 W/(m²·K): where spreading is most of the whole. With 1000 W/(m²·K) each is up to a
/// sixth smaller. Measured:
///
/// | width in thicknesses | 1 layer, 0.25 mm | 1 layer, 0.1 mm | 4 layers, 0.25 mm | 4 layers, 0.125 mm |
/// |----:|-------:|-------:|------:|------:|
/// | 4   |  1.8 % |  1.6 % | 0.6 % | 0.3 % |
/// | 3   |  3.1 % |  2.7 % | 0.9 % | 0.4 % |
/// | 2   |  6.6 % |  6.0 % | 1.7 % | 0.9 % |
/// | 1.5 | 11.4 % | 10.5 % | 2.8 % | 1.5 % |
/// | 1   | 24.1 % | 22.7 % | 5.7 % | 3.1 % |
#[test]
fn narrow_sources() {
    // Width, then the least and the most that one layer and that four may read too high, as shares.
    for (width_mm, one, four) in [
        (NARROW, [0.01, 0.02], [0.0, 0.01]),
        (3.0, [0.02, 0.035], [0.0, 0.01]),
        (TOO_NARROW, [0.05, 0.07], [0.0, 0.02]),
        (1.5, [0.09, 0.12], [0.0, 0.03]),
        (1.0, [0.20, 0.25], [0.0, 0.06]),
    ] {
        let spreading = Spreading {
            source_mm: [width_mm; 2],
            ..SMALL_PLATE
        };
        let series = spreading.series_k_w();
        for (layers, size_mm, [least, most]) in [
            (1, 0.25, one),
            (1, 0.1, one),
            (4, 0.25, four),
            (4, 0.125, four),
        ] {
            let got = spreading.cells_k_w(size_mm, layers) - spreading.level_k_w();
            let high = got / series - 1.0;
            println!(
                "source {width_mm} thicknesses wide, cells of {size_mm} mm, {layers} layers: spreading {:+.1} %",
                100.0 * high
            );
            assert!(
                (least..most).contains(&high),
                "{width_mm} thicknesses in {layers} layers of {size_mm} mm: {high}"
            );
        }
    }
}

/// A solution made up beforehand on a real strip with its bends: the cells come to it with the second order of their size.
///
/// With s the conduction length along the strip, L all of it, y across the strip, W its width: T = cos(πs/L)·cos(πy/W),
/// through whose edges no heat goes. Let ρ be the arc over the conduction length, above 1 in bends. A piece ds·dy of plan
/// lets k·t·T_s·dy through along the strip and k·t·T_y·ρ·ds across it and loses 2·h·T·ρ·ds·dy from its faces, so the heat
/// to put in, for each ds·dy, is T·(k·t·π²/L² + k·t·ρ·π²/W² + 2·h·ρ). Cells take its mean, exactly.
#[test]
fn a_made_up_solution_on_a_bent_strip() {
    const LOSS_W_MM2K: f64 = 2e-4;
    const WIDTH_MM: f64 = 14.0;
    for example in ["single-step", "three-levels"] {
        let text = std::fs::read_to_string(format!("examples/{example}.toml")).unwrap();
        let profile = coldstep::part::parse(&text).unwrap().value.profile;
        let (from_mm, to_mm) = profile.extent_mm();
        let sheet = Sheet {
            thickness_mm: profile.thickness_mm,
            conductivity_w_mmk: COPPER_W_MMK,
        };
        let plate = Plate {
            stretches: unfold::stretches(&profile),
            loops: vec![Loop::rectangle(
                Point2::new(from_mm, 0.0),
                Point2::new(to_mm, WIDTH_MM),
            )],
            sheet,
            loss_w_mm2k: LOSS_W_MM2K,
            ..level([1.0, 1.0], 1.0)
        };
        let conducts = sheet.conductivity_w_mmk * sheet.thickness_mm;
        // Size of a cell that counts (cells do not halve exactly) and root of the mean squared error.
        let errors: Vec<(f64, f64)> = [1.0, 0.5, 0.25, 0.125]
            .into_iter()
            .map(|size_mm| {
                let cells = Cells::of(&plate, size_mm, 1);
                let columns = &cells.grid.columns;
                let length: f64 = columns.iter().map(|column| column.conduction_mm).sum();
                let wave = PI / length;
                let wave_y = PI / WIDTH_MM;
                // The integral of cos(w u) from a to b.
                let integral = |w: f64, a: f64, b: f64| ((w * b).sin() - (w * a).sin()) / w;
                let (mut load, mut exact) = (Vec::new(), Vec::new());
                let mut s = 0.0;
                let mut bent = false;
                for (number, column) in columns.iter().enumerate() {
                    let end = s + column.conduction_mm;
                    let ratio = column.arc_mm / column.conduction_mm;
                    bent |= ratio > 1.001;
                    let source = conducts * (wave * wave + ratio * wave_y * wave_y)
                        + 2.0 * LOSS_W_MM2K * ratio;
                    for row in 0..cells.grid.rows() {
                        let (front, back) = cells.grid.row(row);
                        let node = cells.top_nodes[cells.grid.cell(number, row)].unwrap();
                        let volume = integral(wave, s, end) * integral(wave_y, front, back);
                        load.push((node, source * volume));
                        let area = column.conduction_mm * (back - front);
                        exact.push((node, volume / area, area));
                    }
                    s = end;
                }
                assert!(bent, "no bend in {example}");
                let field = &cells.network.factorise().unwrap().solve(&[load])[0];
                let (mut sum, mut area) = (0.0, 0.0);
                for (node, value, weight) in exact {
                    sum += weight * (field[node] - value).powi(2);
                    area += weight;
                }
                (
                    (area / cells.grid.cells() as f64).sqrt(),
                    (sum / area).sqrt(),
                )
            })
            .collect();
        for pair in errors.windows(2) {
            let order = (pair[0].1 / pair[1].1).ln() / (pair[0].0 / pair[1].0).ln();
            println!(
                "made-up solution, {example}, cells of {:.3} mm: error {:.2e}, order {order:.2}",
                pair[1].0, pair[1].1
            );
            assert!(order > 1.8, "{example}: {errors:?}");
        }
        assert!(errors.last().unwrap().1 < 1e-4, "{errors:?}");
    }
}

/// Length of a bend with two legs as it conducts, from the two-dimensional field over the thickness, less the legs.
///
/// Cells in arc s and depth n, metric 1 + κn; heat along fibres and between them; ends warm and cold. Solved by conjugate
/// gradients, so that nothing of coldstep is in it.
fn bend_by_field_mm(turn: Angle, inside_radius_mm: f64, thickness_mm: f64, fine: usize) -> f64 {
    const LEGS: usize = 3;
    let step = thickness_mm / fine as f64;
    let mid = inside_radius_mm + thickness_mm / 2.0;
    let in_leg = LEGS * fine;
    let mut in_bend = 1;
    while turn.rad() * mid / in_bend as f64 > step {
        in_bend += 1;
    }
    let bend_step = turn.rad() * mid / in_bend as f64;
    let columns = 2 * in_leg + in_bend;
    let is_bent = |column: usize| (in_leg..in_leg + in_bend).contains(&column);
    // Length of a cell at a depth from the inside of the bend.
    let length = |column: usize, depth: f64| {
        if is_bent(column) {
            bend_step * (inside_radius_mm + depth) / mid
        } else {
            step
        }
    };
    let along = |column: usize, row: usize| {
        let depth = (row as f64 + 0.5) * step;
        let half = |column: usize| length(column, depth) / 2.0;
        // Tie to the next column; beyond either end, to the warm or cold face.
        let right = if column + 1 < columns {
            half(column + 1)
        } else {
            0.0
        };
        step / (half(column) + right)
    };
    let first = |row: usize| step / (length(0, (row as f64 + 0.5) * step) / 2.0);
    let across = |column: usize, row: usize| length(column, (row as f64 + 1.0) * step) / step;
    let apply = |field: &[f64]| -> Vec<f64> {
        let mut out = vec![0.0; field.len()];
        for column in 0..columns {
            for row in 0..fine {
                let here = column * fine + row;
                let g = along(column, row);
                if column + 1 < columns {
                    let flow = g * (field[here] - field[here + fine]);
                    out[here] += flow;
                    out[here + fine] -= flow;
                } else {
                    out[here] += g * field[here];
                }
                if column == 0 {
                    out[here] += first(row) * field[here];
                }
                if row + 1 < fine {
                    let flow = across(column, row) * (field[here] - field[here + 1]);
                    out[here] += flow;
                    out[here + 1] -= flow;
                }
            }
        }
        out
    };
    let mut residual = vec![0.0; columns * fine];
    for (row, place) in residual.iter_mut().take(fine).enumerate() {
        *place = first(row);
    }
    let dot = |a: &[f64], b: &[f64]| -> f64 { a.iter().zip(b).map(|(a, b)| a * b).sum() };
    let mut field = vec![0.0; residual.len()];
    let mut way = residual.clone();
    let mut square = dot(&residual, &residual);
    for _ in 0..20_000 {
        let image = apply(&way);
        let share = square / dot(&way, &image);
        for i in 0..field.len() {
            field[i] += share * way[i];
            residual[i] -= share * image[i];
        }
        let next = dot(&residual, &residual);
        for (way, residual) in way.iter_mut().zip(&residual) {
            *way = residual + next / square * *way;
        }
        square = next;
        if square < 1e-24 {
            break;
        }
    }
    assert!(square < 1e-24, "{square}");
    let heat: f64 = (0..fine).map(|row| first(row) * (1.0 - field[row])).sum();
    thickness_mm / heat - 2.0 * LEGS as f64 * thickness_mm
}

/// A bend's conduction length against the field over its thickness, and against its limits.
///
/// The closed form lets each cut through the bend be of one temperature, which is so inside a bend but not where legs
/// begin: there heat crowds to the inside. So it reads low, never high, by about the same whatever the angle; measured, in
/// thicknesses:
///
/// | bend | r/t | closed form | field | arc |
/// |----:|----:|------:|------:|------:|
/// | 90° | 0.5 | 1.430 | 1.460 | 1.571 |
/// | 90° | 1   | 2.266 | 2.279 | 2.356 |
/// | 60° | 1   | 1.511 | 1.523 | 1.571 |
/// | 90° | 2.6 | 4.827 | 4.830 | 4.869 |
/// | 45° | 2.6 | 2.413 | 2.416 | 2.435 |
/// | 60° | 10  | 10.987 | 10.987 | 10.996 |
#[test]
fn how_long_a_bend_conducts() {
    for (degrees, radius_mm, within) in [
        (90.0, 0.5, 0.035),
        (90.0, 1.0, 0.015),
        (60.0, 1.0, 0.015),
        (90.0, 2.6, 0.004),
        (45.0, 2.6, 0.004),
        (60.0, 10.0, 0.0004),
    ] {
        let turn = Angle::deg(degrees);
        let arc_mm = turn.rad() * (radius_mm + 0.5);
        let [coarse, fine] = [12, 24].map(|fine| bend_by_field_mm(turn, radius_mm, 1.0, fine));
        let value = fine + (fine - coarse) / 3.0;
        let got = unfold::bend_conduction_mm(turn, radius_mm, 1.0);
        println!(
            "bend of {degrees}°, r/t {radius_mm}: {got:.4}, field {value:.4}, arc {arc_mm:.4} thicknesses"
        );
        agrees(
            got,
            &Published {
                source: "the field over the thickness, calculated in this file and extrapolated from two grids",
                value,
                within,
            },
        );
        assert!(got < value && value < arc_mm);
    }
    for (turn, radius_mm, value, source) in [
        // θ·(r + t/2 − t²/(12r)) up to t³/(24 r²).
        (
            Angle::deg(90.0),
            200.0,
            PI / 2.0 * (200.5 - 1.0 / 2400.0),
            "limit of a wide bend: ln(1+x) = x − x²/2 + x³/3",
        ),
        (
            Angle::deg(180.0),
            1.0 / (1f64.exp() - 1.0),
            PI,
            "by hand: r/t = 1/(e − 1) makes the logarithm 1",
        ),
    ] {
        agrees(
            unfold::bend_conduction_mm(turn, radius_mm, 1.0),
            &Published {
                source,
                value,
                within: 2e-6,
            },
        );
    }
}

/// Pad data as the trade prints them: impedance over thickness, and what a square centimetre of pad holds back.
#[test]
fn pads_by_their_data_sheets_arithmetic() {
    let fit = ImpedanceFit::of(&[[0.5, 151.0], [1.0, 275.0], [1.5, 389.0], [2.0, 513.0]]).unwrap();
    let source = "by hand: least squares as in ASTM D5470, Σ(t−1.25)(R−332) = 300 over Σ(t−1.25)² = 1.25: slope 240, intercept 332 − 300";
    agrees(
        fit.conductivity_w_mk,
        &Published {
            source,
            value: 4.1667,
            within: 0.000_05,
        },
    );
    agrees(
        fit.contact_mm2k_w,
        &Published {
            source,
            value: 32.00,
            within: 0.005,
        },
    );
    for (thickness_mm, value) in [(1.0, 1.667), (0.3, 0.500)] {
        let pad = PadFilling {
            thickness_mm,
            least_mm: 0.1,
            conductivity_w_mk: 6.0,
            contact_mm2k_w: 0.0,
        };
        agrees(
            pad.resistance_mm2k_w(thickness_mm) / 100.0,
            &Published {
                source: "by hand: t/(kA), 6 W/(m·K), 100 mm²",
                value,
                within: 0.0005,
            },
        );
    }
}
