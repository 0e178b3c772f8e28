//! How each role is drawn: line weight, dash and hatch first, colour second.
//!
//! Roles stay apart on a grey print: no two line roles share weight and dash, no two filled roles
//! share hatch and paper. Line kinds follow drawing-office habit: wide continuous for what is seen,
//! narrow dashed for what is hidden, narrow long-and-short for a line to bend along.

/// What an item of a drawing means; emitters turn it into a look.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Role {
    /// Edge that is seen, or is to be cut.
    Outline,
    /// Edge behind something else.
    HiddenEdge,
    /// Line to bend along.
    BendLine,
    /// Line where a bend begins or ends.
    Tangent,
    /// Edge of a hole.
    Hole,
    /// Section through the sheet.
    Metal,
    /// Section through the sheet as it was drawn, behind what came out.
    Drawn,
    /// Section through the die on the board side.
    LowerDie,
    /// Section through the die on the far side.
    UpperDie,
    /// Component on the board.
    Part,
    /// Component that stands behind another one.
    PartBehind,
    /// Thermal pad.
    Pad,
    /// Plate soldered under a flat.
    Extension,
    /// Layer of solder.
    Solder,
    /// Thing the plate must clear.
    Obstacle,
    /// Dimension lines, arrowheads and numbers.
    Dimension,
    /// Names and remarks.
    Label,
    /// Grids, axes and other things that stay in the background.
    Faint,
    /// Something that touches, or is wrong.
    Alert,
    /// A limit that must be kept.
    Limit,
    /// Seat of a heat pipe on the plate's top.
    Seat,
    /// Where an old plate left a temperature.
    Before,
    /// Where the new plate leaves it.
    After,
    /// Degrees over the faces of a pad.
    Faces,
    /// Degrees that the heat of other parts adds in the plate.
    OthersHeat,
    /// Degrees from a pipe's seat into its vapour.
    Vapour,
    /// Degrees from pipes to air for this plate's heat.
    Cooler,
    /// Degrees from pipes to air for what else they carry.
    Floor,
    /// The coolest band of a map; bands are edged by isotherms.
    Warmth1,
    /// The second band.
    Warmth2,
    /// The third band.
    Warmth3,
    /// The fourth band.
    Warmth4,
    /// The fifth band.
    Warmth5,
    /// The sixth band.
    Warmth6,
    /// The seventh band.
    Warmth7,
    /// The eighth band.
    Warmth8,
    /// The hottest band.
    Warmth9,
    /// How far a size may be off.
    Band,
    /// Dimension of a gap.
    Gap,
    /// A heat pipe from its end.
    Pipe,
    /// Bare paper over what shall not be seen.
    Paper,
}

impl Role {
    /// Every role, in the order of a legend.
    pub const ALL: [Self; 41] = [
        Self::Outline,
        Self::HiddenEdge,
        Self::BendLine,
        Self::Tangent,
        Self::Hole,
        Self::Metal,
        Self::Drawn,
        Self::LowerDie,
        Self::UpperDie,
        Self::Part,
        Self::PartBehind,
        Self::Pad,
        Self::Extension,
        Self::Solder,
        Self::Obstacle,
        Self::Dimension,
        Self::Label,
        Self::Faint,
        Self::Alert,
        Self::Limit,
        Self::Seat,
        Self::Before,
        Self::After,
        Self::Faces,
        Self::OthersHeat,
        Self::Vapour,
        Self::Cooler,
        Self::Floor,
        Self::Warmth1,
        Self::Warmth2,
        Self::Warmth3,
        Self::Warmth4,
        Self::Warmth5,
        Self::Warmth6,
        Self::Warmth7,
        Self::Warmth8,
        Self::Warmth9,
        Self::Band,
        Self::Gap,
        Self::Pipe,
        Self::Paper,
    ];

    /// Bands of a map of temperatures, coolest first: the hotter, the darker.
    pub const WARMTH: [Self; 9] = [
        Self::Warmth1,
        Self::Warmth2,
        Self::Warmth3,
        Self::Warmth4,
        Self::Warmth5,
        Self::Warmth6,
        Self::Warmth7,
        Self::Warmth8,
        Self::Warmth9,
    ];

    /// Short name in lower case with hyphens, fit for a class or an identifier.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Outline => "outline",
            Self::HiddenEdge => "hidden-edge",
            Self::BendLine => "bend-line",
            Self::Tangent => "tangent",
            Self::Hole => "hole",
            Self::Metal => "metal",
            Self::Drawn => "drawn",
            Self::LowerDie => "lower-die",
            Self::UpperDie => "upper-die",
            Self::Part => "part",
            Self::PartBehind => "part-behind",
            Self::Pad => "pad",
            Self::Extension => "extension",
            Self::Solder => "solder",
            Self::Obstacle => "obstacle",
            Self::Dimension => "dimension",
            Self::Label => "label",
            Self::Faint => "faint",
            Self::Alert => "alert",
            Self::Limit => "limit",
            Self::Seat => "seat",
            Self::Before => "before",
            Self::After => "after",
            Self::Faces => "faces",
            Self::OthersHeat => "others-heat",
            Self::Vapour => "vapour",
            Self::Cooler => "cooler",
            Self::Floor => "floor",
            Self::Warmth1 => "warmth-1",
            Self::Warmth2 => "warmth-2",
            Self::Warmth3 => "warmth-3",
            Self::Warmth4 => "warmth-4",
            Self::Warmth5 => "warmth-5",
            Self::Warmth6 => "warmth-6",
            Self::Warmth7 => "warmth-7",
            Self::Warmth8 => "warmth-8",
            Self::Warmth9 => "warmth-9",
            Self::Band => "band",
            Self::Gap => "gap",
            Self::Pipe => "pipe",
            Self::Paper => "paper",
        }
    }

    /// The look of the role.
    pub const fn style(self) -> Style {
        match self {
            Self::Outline => Style::line(DARK, 0.4, &[]),
            Self::Hole => Style::line(DARK, 0.28, &[]),
            Self::HiddenEdge => Style::line(DARK, 0.2, &[2.0, 1.0]),
            Self::BendLine => Style::line(DARK, 0.2, &[6.0, 1.0, 1.0, 1.0]),
            Self::Tangent => Style::line(SLATE, 0.13, &[0.8, 0.8]),
            Self::Metal => Style::line(DARK, 0.25, &[]).filled(Fill::Plain(BRONZE)),
            Self::Drawn => Style::line(ASH, 0.13, &[]).filled(Fill::Plain(FROST)),
            Self::LowerDie => {
                Style::line(SLATE, 0.25, &[]).hatched(MIST, SLATE, Hatch::Rising, 2.4)
            }
            Self::UpperDie => {
                Style::line(SLATE, 0.25, &[]).hatched(SAND, SLATE, Hatch::Falling, 2.4)
            }
            Self::Part => Style::line(DARK, 0.25, &[]).filled(Fill::Plain(CLAY)),
            Self::PartBehind => Style::line(SLATE, 0.13, &[]).filled(Fill::Plain(CHALK)),
            Self::Pad => Style::line(DARK, 0.13, &[]).hatched(ROSE, DARK, Hatch::Level, 0.6),
            Self::Extension => {
                Style::line(DARK, 0.25, &[]).hatched(BRASS, DARK, Hatch::Upright, 0.9)
            }
            Self::Solder => Style::line(DARK, 0.1, &[]).filled(Fill::Plain(PEWTER)),
            Self::Obstacle => {
                Style::line(DARK, 0.25, &[]).hatched(WHITE, SLATE, Hatch::Crossed, 1.4)
            }
            Self::Dimension => Style::line(SLATE, 0.15, &[]).filled(Fill::Plain(SLATE)),
            Self::Label => Style::line(DARK, 0.15, &[]),
            Self::Faint => Style::line(ASH, 0.1, &[]),
            Self::Alert => Style::line(BRICK, 0.6, &[]).hatched(BLUSH, BRICK, Hatch::Rising, 0.8),
            Self::Limit => Style::line(BRICK, 0.35, &[3.0, 1.0]),
            Self::Seat => Style::line(DARK, 0.3, &[5.0, 0.9, 0.9, 0.9, 0.9, 0.9]),
            Self::Before => Style::line(DARK, 0.2, &[1.2, 0.8]).filled(Fill::Plain(STONE)),
            Self::After => Style::line(DARK, 0.25, &[]).filled(Fill::Plain(UMBER)),
            Self::Faces => Style::line(DARK, 0.2, &[]).hatched(BLUSH, DARK, Hatch::Falling, 0.8),
            Self::OthersHeat => {
                Style::line(DARK, 0.2, &[]).hatched(SAND, SLATE, Hatch::Crossed, 0.65)
            }
            Self::Vapour => Style::line(DARK, 0.2, &[]).hatched(MIST, SLATE, Hatch::Level, 1.5),
            Self::Cooler => Style::line(DARK, 0.2, &[]).hatched(MIST, SLATE, Hatch::Upright, 2.0),
            Self::Floor => Style::line(DARK, 0.2, &[]).filled(Fill::Plain(SNOW)),
            Self::Warmth1 => Style::isotherm(Ink(253, 249, 242)),
            Self::Warmth2 => Style::isotherm(Ink(247, 236, 221)),
            Self::Warmth3 => Style::isotherm(Ink(240, 222, 200)),
            Self::Warmth4 => Style::isotherm(Ink(232, 208, 179)),
            Self::Warmth5 => Style::isotherm(Ink(223, 193, 158)),
            Self::Warmth6 => Style::isotherm(Ink(213, 178, 137)),
            Self::Warmth7 => Style::isotherm(Ink(201, 163, 117)),
            Self::Warmth8 => Style::isotherm(Ink(188, 147, 98)),
            Self::Warmth9 => Style::isotherm(Ink(173, 131, 80)),
            Self::Band => Style::line(DARK, 0.13, &[]).hatched(WHITE, DARK, Hatch::Upright, 0.4),
            Self::Gap => Style::line(DARK, 0.22, &[]).filled(Fill::Plain(DARK)),
            Self::Pipe => Style::line(DARK, 0.34, &[]),
            Self::Paper => Style::line(WHITE, 0.1, &[]).filled(Fill::Plain(WHITE)),
        }
    }
}

/// A colour, red, green and blue.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Ink(
    /// Red, 0 to 255.
    pub u8,
    /// Green, 0 to 255.
    pub u8,
    /// Blue, 0 to 255.
    pub u8,
);

/// The paper, drawn too, so that a dark viewer does not swallow the lines.
pub const WHITE: Ink = Ink(255, 255, 255);
const DARK: Ink = Ink(38, 40, 44);
const SLATE: Ink = Ink(84, 92, 102);
const ASH: Ink = Ink(176, 178, 180);
const BRONZE: Ink = Ink(122, 108, 92);
const MIST: Ink = Ink(226, 232, 234);
const SAND: Ink = Ink(242, 236, 222);
const CLAY: Ink = Ink(198, 204, 196);
const CHALK: Ink = Ink(232, 235, 230);
const FROST: Ink = Ink(214, 220, 216);
const PEWTER: Ink = Ink(150, 152, 158);
const ROSE: Ink = Ink(236, 214, 206);
const BRASS: Ink = Ink(214, 192, 150);
const BLUSH: Ink = Ink(248, 226, 218);
const BRICK: Ink = Ink(150, 46, 34);
const STONE: Ink = Ink(186, 185, 180);
const UMBER: Ink = Ink(142, 127, 112);
const SNOW: Ink = Ink(245, 247, 246);

/// Direction of hatch lines.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Hatch {
    /// At 45 degrees, rising to the right.
    Rising,
    /// At 45 degrees, falling to the right.
    Falling,
    /// Parallel to x.
    Level,
    /// Parallel to y.
    Upright,
    /// Rising and falling.
    Crossed,
}

/// How a closed shape is filled.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Fill {
    /// Not at all.
    None,
    /// With one colour.
    Plain(Ink),
    /// With parallel lines on a tint.
    Lines {
        /// The tint.
        paper: Ink,
        /// Colour of the lines.
        ink: Ink,
        /// Their direction.
        hatch: Hatch,
        /// Distance from line to line, mm.
        spacing_mm: f64,
    },
}

/// Width of hatch lines, mm: narrower than every edge they run into except a pad's.
pub const HATCH_LINE_MM: f64 = 0.1;

/// The look of a role.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Style {
    /// Colour of lines and of text.
    pub ink: Ink,
    /// Width of lines, mm.
    pub line_mm: f64,
    /// Dash, gap, dash, gap and so on, mm; empty for a continuous line.
    pub dash_mm: &'static [f64],
    /// Filling of closed shapes.
    pub fill: Fill,
}

impl Style {
    const fn line(ink: Ink, line_mm: f64, dash_mm: &'static [f64]) -> Self {
        Self {
            ink,
            line_mm,
            dash_mm,
            fill: Fill::None,
        }
    }

    /// A tint whose edges are isotherms.
    const fn isotherm(tint: Ink) -> Self {
        Self::line(DARK, 0.16, &[]).filled(Fill::Plain(tint))
    }

    const fn filled(mut self, fill: Fill) -> Self {
        self.fill = fill;
        self
    }

    const fn hatched(self, paper: Ink, ink: Ink, hatch: Hatch, spacing_mm: f64) -> Self {
        self.filled(Fill::Lines {
            paper,
            ink,
            hatch,
            spacing_mm,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn grey(ink: Ink) -> f64 {
        // Rec. 709 luma weights; good enough to tell light from dark.
        0.2126 * f64::from(ink.0) + 0.7152 * f64::from(ink.1) + 0.0722 * f64::from(ink.2)
    }

    #[test]
    fn line_roles_differ_without_their_colour() {
        let lines: Vec<Style> = Role::ALL
            .iter()
            .filter(|role| **role != Role::Label)
            .map(|role| role.style())
            .filter(|style| style.fill == Fill::None)
            .collect();
        for (index, one) in lines.iter().enumerate() {
            for other in &lines[index + 1..] {
                assert!(
                    (one.line_mm - other.line_mm).abs() > 0.02 || one.dash_mm != other.dash_mm,
                    "{one:?} and {other:?}"
                );
            }
        }
    }

    #[test]
    fn filled_roles_differ_by_hatch_or_by_grey() {
        // A map's tints stand in no picture with other fillings, and bare paper is none.
        let filled: Vec<(Role, Style)> = Role::ALL
            .iter()
            .filter(|role| !Role::WARMTH.contains(role) && **role != Role::Paper)
            .map(|role| (*role, role.style()))
            .filter(|(_, style)| style.fill != Fill::None)
            .collect();
        for (index, (one, style)) in filled.iter().enumerate() {
            for (other, other_style) in &filled[index + 1..] {
                let apart = match (style.fill, other_style.fill) {
                    (Fill::Plain(a), Fill::Plain(b)) => (grey(a) - grey(b)).abs() > 10.0,
                    (
                        Fill::Lines {
                            hatch, spacing_mm, ..
                        },
                        Fill::Lines {
                            hatch: other_hatch,
                            spacing_mm: other_mm,
                            ..
                        },
                    ) => {
                        hatch != other_hatch
                            || spacing_mm > 2.0 * other_mm
                            || other_mm > 2.0 * spacing_mm
                    }
                    _ => true,
                };
                assert!(apart, "{one:?} and {other:?}");
            }
        }
    }

    #[test]
    fn a_hotter_band_is_darker_and_no_band_swallows_its_isotherm() {
        let tint = |role: &Role| match role.style().fill {
            Fill::Plain(ink) => grey(ink),
            _ => panic!("a band is a plain tint"),
        };
        for pair in Role::WARMTH.windows(2) {
            assert!(tint(&pair[0]) - tint(&pair[1]) > 12.0, "{pair:?}");
        }
        for role in Role::WARMTH {
            assert!(tint(&role) - grey(role.style().ink) > 60.0, "{role:?}");
        }
    }

    #[test]
    fn every_line_stands_out_from_the_paper_and_names_are_unique() {
        let mut names: Vec<&str> = Role::ALL.iter().map(|role| role.name()).collect();
        names.sort_unstable();
        names.dedup();
        assert_eq!(names.len(), Role::ALL.len());
        for role in Role::ALL.into_iter().filter(|role| *role != Role::Paper) {
            assert!(grey(WHITE) - grey(role.style().ink) > 60.0, "{role:?}");
        }
    }
}
