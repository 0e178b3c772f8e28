//! Pages of drawings in millimetres.

use super::drawing::Drawing;
use nalgebra::{Point2, Vector2};

/// A drawing on a page.
#[derive(Debug, Clone, PartialEq)]
pub struct Layer<'a> {
    /// The drawing.
    pub drawing: &'a Drawing,
    /// Printed length over drawn length, along x and y.
    pub scale: [f64; 2],
    /// Where the drawing's origin lies on the page, mm from its lower left corner.
    pub origin_mm: Vector2<f64>,
    /// Part of the page that shows it (lower left, upper right), mm; `None`: all of it.
    pub window_mm: Option<(Point2<f64>, Point2<f64>)>,
}

/// A page.
#[derive(Debug, Clone, PartialEq)]
pub struct Page<'a> {
    /// Width and height, mm.
    pub size_mm: [f64; 2],
    /// Drawings, lowest first.
    pub layers: Vec<Layer<'a>>,
}
