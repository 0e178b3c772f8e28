//! The exact offset of a chain against an independent library for arc polylines.

use cavalier_contours::polyline::{PlineSource, PlineSourceMut, PlineVertex, Polyline};
use coldstep::geometry::{Chain, Segment};
use coldstep::quantity::Angle;
use proptest::prelude::*;

/// A chain as an open polyline of that library: bulge = tan(turn / 4).
fn polyline(chain: &Chain) -> Polyline<f64> {
    let mut polyline = Polyline::new();
    for piece in chain.pieces() {
        let bulge = match piece.segment {
            Segment::Line { .. } => 0.0,
            Segment::Arc { turn, .. } => (turn.rad() / 4.0).tan(),
        };
        let from = piece.start.point;
        polyline.add_vertex(PlineVertex::new(from.x, from.y, bulge));
    }
    let end = chain.end().point;
    polyline.add_vertex(PlineVertex::new(end.x, end.y, 0.0));
    polyline
}

proptest! {
    #[test]
    fn both_find_the_same_parallel(
        flats in prop::collection::vec(4.0f64..20.0, 2..5),
        radius in 1.2f64..4.0,
        degrees in 20.0f64..85.0,
        side in prop::bool::ANY,
    ) {
        let mut chain = Chain::from_start(0.0, 0.0, Angle::ZERO);
        for (number, flat) in flats.iter().enumerate() {
            if number > 0 {
                chain.arc(radius, Angle::deg(degrees)).line(3.0).arc(radius, Angle::deg(-degrees));
            }
            chain.line(*flat);
        }
        let distance = if side { 0.6 } else { -0.6 };
        let ours = polyline(&chain.offset(distance).unwrap());
        // That library's positive side is the left one, as ours is.
        let theirs = polyline(&chain).parallel_offset(distance);
        prop_assert_eq!(theirs.len(), 1);
        let theirs = &theirs[0];
        prop_assert_eq!(theirs.vertex_count(), ours.vertex_count());
        for (a, b) in theirs.iter_vertexes().zip(ours.iter_vertexes()) {
            prop_assert!((a.x - b.x).abs() < 1e-9 && (a.y - b.y).abs() < 1e-9);
            prop_assert!((a.bulge - b.bulge).abs() < 1e-9);
        }
    }
}
