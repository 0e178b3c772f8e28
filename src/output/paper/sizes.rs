//! Paper, what a printer reaches of it, and what a printer makes of a millimetre.

use nalgebra::Point2;

/// Width and height of A4, mm (ISO 216).
pub const A4_MM: [f64; 2] = [210.0, 297.0];
/// Width and height of Letter, mm: 8.5 by 11 inches (ANSI/ASME Y14.1, size A).
pub const LETTER_MM: [f64; 2] = [215.9, 279.4];

/// Home printers leave this much white along every edge at most. Common practice, no source.
pub const EDGE_MM: f64 = 8.0;

/// Paper to print on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Paper {
    /// Whichever takes fewer pages; A4 when both take as many.
    Auto,
    /// A4.
    A4,
    /// Letter.
    Letter,
}

impl Paper {
    /// Sheets to choose from, width and height in mm: upright before level, A4 before Letter.
    pub fn sizes_mm(self) -> Vec<[f64; 2]> {
        let both_ways = |[width, height]: [f64; 2]| [[width, height], [height, width]];
        match self {
            Self::A4 => both_ways(A4_MM).to_vec(),
            Self::Letter => both_ways(LETTER_MM).to_vec(),
            Self::Auto => [both_ways(A4_MM), both_ways(LETTER_MM)].concat(),
        }
    }
}

/// How to print.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Printing {
    /// Paper.
    pub paper: Paper,
    /// What a printed ruler of 100 mm measures across and up the paper, mm; 100 for a true printer.
    pub ruler_measures_mm: [f64; 2],
}

impl Default for Printing {
    fn default() -> Self {
        Self {
            paper: Paper::Auto,
            ruler_measures_mm: [100.0, 100.0],
        }
    }
}

impl Printing {
    /// Length in the file over length wanted on paper, across and up.
    pub fn scale(&self) -> [f64; 2] {
        self.ruler_measures_mm.map(|measured| 100.0 / measured)
    }

    /// Whether the printer is told to be true.
    pub fn is_true(&self) -> bool {
        self.ruler_measures_mm == [100.0, 100.0]
    }
}

/// Part of a page that a printer reaches: lower left and upper right corner.
pub fn reached([width, height]: [f64; 2]) -> (Point2<f64>, Point2<f64>) {
    (
        Point2::new(EDGE_MM, EDGE_MM),
        Point2::new(width - EDGE_MM, height - EDGE_MM),
    )
}
