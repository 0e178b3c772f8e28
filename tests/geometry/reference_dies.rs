//! Die blocks against values that were found outside of coldstep.

use crate::published::{Published, agrees};
use coldstep::dies::block::BlockShape;
use coldstep::geometry::Chain;
use coldstep::geometry::solid::solid;
use coldstep::quantity::Angle;

const KERNEL: &str = "the same pair built once in a general geometry kernel (extruded section, volume by the kernel); \
     closed forms of lines and arcs agree";

/// t 1, mid radius 2.5, flats 15/12/15, bends +60/-60, heading along x from (0, 0).
fn stair() -> Chain {
    let mut mid = Chain::from_start(0.0, 0.0, Angle::ZERO);
    mid.line(15.0)
        .arc(2.5, Angle::deg(60.0))
        .line(12.0)
        .arc(2.5, Angle::deg(-60.0))
        .line(15.0);
    mid
}

#[test]
fn the_reference_stair_has_its_length_extent_and_rise() {
    let mid = stair();
    let end = mid.end().point;
    for (got, value) in [
        (mid.length_mm(), 47.235_988),
        (end.x, 40.330_127),
        (end.y, 12.892_305),
    ] {
        agrees(
            got,
            &Published {
                source: KERNEL,
                value,
                within: 5e-7,
            },
        );
    }
}

#[test]
fn the_reference_pair_has_its_volumes() {
    const WIDTH_MM: f64 = 40.0;
    const BASE_MM: f64 = -10.0;
    const TOP_MM: f64 = 30.0;
    let mid = stair();
    let lower = BlockShape::plain(mid.offset(-0.5).unwrap(), BASE_MM, (0.0, WIDTH_MM), 1e-5);
    // The upper block is described with its material below: turned half round the y axis.
    let upper_face = mid.offset(0.5).unwrap();
    let end = upper_face.end();
    let mut turned = Chain::from_start(-end.point.x, -end.point.y, end.heading);
    turned
        .line(15.0)
        .arc(3.0, Angle::deg(60.0))
        .line(12.0)
        .arc(2.0, Angle::deg(-60.0))
        .line(15.0);
    let upper = BlockShape::plain(turned, -TOP_MM, (0.0, WIDTH_MM), 1e-5);
    for (shape, value) in [(&lower, 25_586.296_892), (&upper, 37_052.466_828)] {
        agrees(
            shape.volume_mm3(),
            &Published {
                source: KERNEL,
                value,
                within: 5e-7,
            },
        );
        agrees(
            shape.body().mesh().unwrap().volume_mm3(),
            &Published {
                source: KERNEL,
                value,
                within: 0.02, // chords of 1e-5 mm over arcs of 10 mm in all, 40 mm wide
            },
        );
        solid(&shape.body()).unwrap();
    }
    // Lower, upper and sheet fill the box: the sheet takes length x thickness x width.
    let whole = lower.volume_mm3() + upper.volume_mm3() + mid.length_mm() * WIDTH_MM;
    agrees(
        whole,
        &Published {
            source: "the box itself: extent x width x (top - base)",
            value: end.point.x * WIDTH_MM * (TOP_MM - BASE_MM),
            within: 1e-6,
        },
    );
}
