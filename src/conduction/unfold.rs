//! The formed strip laid flat for heat: what counts is how far heat goes, not what the shears see.
//!
//! A strip that was only bent is developable: in its own coordinates, along the sheet and across it, conduction is that
//! of a flat sheet. Two lengths go with every stretch: the one heat travels along the strip, and the arc at
//! mid-thickness, which says how much sheet lies there for heat going across the strip.

use crate::geometry::{Chain, Piece, Segment};
use crate::part::FormedProfile;
use crate::quantity::Angle;

/// Cells shorter than this share of the wanted size are joined with their neighbour.
const LEAST_SHARE: f64 = 0.25;

/// A stretch of the strip, from front to back, that becomes one column of cells.
#[derive(Debug, Clone, Copy)]
pub struct CellColumn {
    piece: Piece,
    from_mm: f64,
    to_mm: f64,
    /// Where it begins in plan.
    pub x_from_mm: f64,
    /// Where it ends in plan.
    pub x_to_mm: f64,
    /// Length of a flat sheet of the same thickness that lets as little heat through, along the strip.
    pub conduction_mm: f64,
    /// Length at mid-thickness.
    pub arc_mm: f64,
    /// Number of the flat it belongs to; `None` on bends and walls.
    pub flat: Option<usize>,
}

impl CellColumn {
    /// Plan place of a share of the way through, 0 to 1.
    pub fn x_at(&self, share: f64) -> f64 {
        let along = self.from_mm + (self.to_mm - self.from_mm) * share;
        self.piece
            .start
            .advanced(&self.piece.segment, along)
            .point
            .x
    }

    /// Share of the way through of a plan place within it.
    pub fn share_of(&self, x_mm: f64) -> f64 {
        let across = self.x_to_mm - self.x_from_mm;
        if across > 0.0 {
            ((x_mm - self.x_from_mm) / across).clamp(0.0, 1.0)
        } else {
            0.5
        }
    }
}

/// Length over which a bend conducts, as a flat sheet of the same thickness and width would.
///
/// `θ·t / ln(1 + t/r)`
///
/// # Units
/// - `inside_radius_mm`: r, on the concave side; above 0
/// - `thickness_mm`: t
///
/// # Valid for
/// Any angle; heat going round the bend, both faces insulated.
///
/// # Source
/// Derived: at each radius ρ the way round is θρ, so a fibre dρ lets through k·b·dρ/(θρ); the sum over the thickness is
/// `k·b·ln((r + t)/r)/θ`, and a flat sheet of length L lets through `k·b·t/L`.
pub fn bend_conduction_mm(turn: Angle, inside_radius_mm: f64, thickness_mm: f64) -> f64 {
    turn.abs().rad() * thickness_mm / libm::log1p(thickness_mm / inside_radius_mm)
}

/// A stretch before it is cut into columns.
#[derive(Debug, Clone, Copy)]
pub struct SheetStretch {
    piece: Piece,
    flat: Option<usize>,
    conduction_per_arc: f64,
}

/// Stretches of a formed strip, from left to right.
pub fn stretches(profile: &FormedProfile) -> Vec<SheetStretch> {
    let mut bends = profile.bends.iter();
    profile
        .zones
        .iter()
        .map(|zone| {
            let flat = match zone.kind {
                crate::part::ZoneKind::Flat(number) => Some(number),
                _ => None,
            };
            let conduction_per_arc = match zone.piece.segment {
                Segment::Line { .. } => 1.0,
                Segment::Arc { turn, .. } => {
                    let radius_mm = bends.next().map_or(0.0, |bend| bend.inside_radius_mm);
                    let arc_mm = zone.piece.segment.length_mm();
                    bend_conduction_mm(turn, radius_mm, profile.thickness_mm) / arc_mm
                }
            };
            SheetStretch {
                piece: zone.piece,
                flat,
                conduction_per_arc,
            }
        })
        .collect()
}

/// One level stretch: a plate that was never bent.
pub fn level(from_mm: f64, to_mm: f64) -> Vec<SheetStretch> {
    let mut chain = Chain::from_start(from_mm, 0.0, Angle::ZERO);
    chain.line(to_mm - from_mm);
    chain
        .pieces()
        .map(|piece| SheetStretch {
            piece,
            flat: Some(0),
            conduction_per_arc: 1.0,
        })
        .collect()
}

/// Cuts stretches into columns of about `size_mm`, with a cut at every place of `breaks_mm` that lies on level sheet.
pub fn columns(stretches: &[SheetStretch], breaks_mm: &[f64], size_mm: f64) -> Vec<CellColumn> {
    let mut columns = Vec::new();
    for stretch in stretches {
        let start = stretch.piece.start.point.x;
        let length = stretch.piece.segment.length_mm();
        let cuts: Vec<f64> = if stretch.flat.is_some() {
            breaks_mm.iter().map(|x| x - start).collect()
        } else {
            Vec::new()
        };
        for pair in edges(length, &cuts, size_mm).windows(2) {
            let &[from_mm, to_mm] = pair else { continue };
            let at = |along: f64| {
                stretch
                    .piece
                    .start
                    .advanced(&stretch.piece.segment, along)
                    .point
                    .x
            };
            columns.push(CellColumn {
                piece: stretch.piece,
                from_mm,
                to_mm,
                x_from_mm: at(from_mm),
                x_to_mm: at(to_mm).max(at(from_mm)),
                conduction_mm: (to_mm - from_mm) * stretch.conduction_per_arc,
                arc_mm: to_mm - from_mm,
                flat: stretch.flat,
            });
        }
    }
    columns
}

/// Edges of cells of about `size` from 0 to `length`, with one at every cut that is not too near another.
pub fn edges(length: f64, cuts: &[f64], size: f64) -> Vec<f64> {
    let least = LEAST_SHARE * size;
    let mut fixed: Vec<f64> = cuts
        .iter()
        .copied()
        .filter(|cut| *cut > least && *cut < length - least)
        .collect();
    fixed.sort_by(f64::total_cmp);
    let mut ends = vec![0.0];
    for cut in fixed {
        if ends.last().is_some_and(|last| cut - last > least) {
            ends.push(cut);
        }
    }
    ends.push(length);
    let mut edges = vec![0.0];
    for pair in ends.windows(2) {
        let &[from, to] = pair else { continue };
        let parts = ((to - from) / size).ceil().max(1.0);
        let mut number = 1.0;
        while number < parts {
            edges.push(from + (to - from) * number / parts);
            number += 1.0;
        }
        edges.push(to);
    }
    edges
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn a_wide_bend_conducts_as_long_as_its_middle_and_a_sharp_one_shorter() {
        // ln(1 + x) = x - x²/2 + x³/3: for t << r the length is θ (r + t/2 - t²/(12 r)).
        let wide = bend_conduction_mm(Angle::deg(90.0), 100.0, 1.0);
        let quarter = std::f64::consts::FRAC_PI_2;
        assert_relative_eq!(wide, quarter * (100.5 - 1.0 / 1200.0), epsilon = 1e-4);
        let sharp = bend_conduction_mm(Angle::deg(90.0), 0.5, 1.0);
        assert_relative_eq!(sharp, quarter / 3.0_f64.ln(), epsilon = 1e-12);
        assert!(sharp < quarter);
    }

    #[test]
    fn edges_keep_to_size_and_to_cuts() {
        let edges = edges(10.0, &[2.5, 2.51, 9.99, -3.0, 20.0], 1.0);
        assert!(edges.contains(&2.5) && !edges.contains(&2.51) && !edges.contains(&9.99));
        assert_relative_eq!(edges[0], 0.0);
        assert_relative_eq!(*edges.last().unwrap(), 10.0);
        for pair in edges.windows(2) {
            assert!(pair[1] > pair[0] && pair[1] - pair[0] <= 1.0 + 1e-12);
        }
    }

    #[test]
    fn columns_of_a_bent_strip_add_up() {
        let part = crate::part::parse(crate::part::starter::STARTER)
            .unwrap()
            .value;
        let columns = columns(&stretches(&part.profile), &[5.0], 0.4);
        let arc: f64 = columns.iter().map(|column| column.arc_mm).sum();
        assert_relative_eq!(arc, part.profile.mid.length_mm(), epsilon = 1e-9);
        for pair in columns.windows(2) {
            assert_relative_eq!(pair[0].x_to_mm, pair[1].x_from_mm, epsilon = 1e-9);
        }
        assert!(
            columns
                .iter()
                .any(|column| (column.x_to_mm - 5.0).abs() < 1e-12)
        );
        let conduction: f64 = columns.iter().map(|column| column.conduction_mm).sum();
        assert!(conduction < arc && conduction > 0.98 * arc);
    }
}
