//! Heat: the plate against closed forms.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing
)]

use coldstep::geometry::{Footprint, Loop};
use coldstep::heat::plate::{Cells, Foot, Patch, Plate, Seat, Sheet};
use coldstep::heat::unfold;
use nalgebra::Point2;

fn rect(a: f64, b: f64, c: f64, d: f64) -> Footprint {
    Footprint::between(Point2::new(a, b), Point2::new(c, d))
}

fn isoflux(w: f64, src: (f64, f64), t: f64, k: f64, h: f64, size: f64, layers: usize) -> f64 {
    let filling = 1e5;
    let (a, b) = src;
    let (x, y) = ((w - a) / 2.0, (w - b) / 2.0);
    let plate = Plate {
        stretches: unfold::level(0.0, w),
        loops: vec![Loop::rectangle(Point2::new(0.0, 0.0), Point2::new(w, w))],
        sheet: Sheet {
            thickness_mm: t,
            conductivity_w_mmk: k / 1000.0,
        },
        hung: vec![],
        seats: vec![Seat {
            footprint: rect(0.0, 0.0, w, w),
            flats: vec![0],
            joint_mm2k_w: 1e6 / h,
        }],
        feet: vec![Foot {
            x_mm: (x, x + a),
            y_mm: (y, y + b),
            patches: Box::new(move |_| {
                vec![Patch {
                    y_from_mm: y,
                    y_to_mm: y + b,
                    gap_mm: 0.0,
                    hung: None,
                }]
            }),
            resistance: Box::new(move |_| filling),
        }],
        loss_w_mm2k: 0.0,
    };
    let t0 = std::time::Instant::now();
    let cells = Cells::of(&plate, size, layers);
    let t1 = std::time::Instant::now();
    let answers = cells.answers().unwrap();
    let t2 = std::time::Instant::now();
    println!(
        "nodes {} build {:?} solve {:?}",
        cells.network.nodes(),
        t1 - t0,
        t2 - t1
    );
    1.0 / answers.flows[0][0] - filling / (a * b)
}

#[test]
fn spread() {
    for (layers, sizes) in [(1, vec![2.0, 1.0, 0.5, 0.25]), (4, vec![1.0, 0.5])] {
        for size in sizes {
            println!(
                "layers {layers} size {size}: {:.6} (1.227733) {:.6} (0.40713)",
                isoflux(40.0, (5.0, 6.0), 1.0, 390.0, 1000.0, size, layers),
                isoflux(20.0, (5.0, 6.0), 1.0, 390.0, 20000.0, size, layers)
            );
        }
    }
    for w in [4.0, 2.0, 1.0] {
        for l in [1, 4, 8] {
            println!(
                "square source {w} t: layers {l}: {:.6}",
                isoflux(20.0, (w, w), 1.0, 390.0, 20000.0, 0.2, l)
            );
        }
    }
}
