//! The part: what a person wrote down, checked into something that can be computed with.
//!
//! A part file is read into a [`Design`] with [`Places`]; a program makes a [`Design`] itself. The checks are the same:
//! they turn either into a [`Part`] or into findings, all at once.
//!
//! # A part file
//! ```
//! use coldstep::part;
//!
//! let file = part::read(part::starter::STARTER);
//! assert_eq!(file.design.flats[0].name.as_deref(), Some("stages"));
//! let part = file.part().map_err(|findings| format!("{findings:?}"))?.value;
//! assert_eq!(part.flats.len(), 2);
//! # Ok::<(), String>(())
//! ```
//!
//! # A part made by a program
//! ```
//! use coldstep::part::words::SheetMaterial;
//! use coldstep::part::{Design, Part, design};
//! use coldstep::quantity::Toleranced;
//! use coldstep::stock::Material;
//!
//! let flat = |name: &str, from_mm, to_mm, underside_mm| design::Flat {
//!     name: Some(name.into()),
//!     from_mm: Some(from_mm),
//!     to_mm: Some(to_mm),
//!     underside_mm: Some(Toleranced::exact(underside_mm)),
//!     step: None,
//! };
//! let mut design = Design {
//!     sheet: Some(design::Sheet {
//!         material: Some(SheetMaterial::Stock(Material::Copper)),
//!         thickness_mm: Some(Toleranced::exact(1.0)),
//!         ..Default::default()
//!     }),
//!     plate: Some(design::Plate { width_mm: Some(32.0), ..Default::default() }),
//!     flats: vec![flat("low", 0.0, 16.0, 1.8), flat("high", 21.0, 40.0, 3.9)],
//!     components: vec![design::Component {
//!         name: Some("Q1".into()),
//!         x_mm: Some(8.0),
//!         y_mm: Some(8.0),
//!         size_mm: Some([5.0, 6.0]),
//!         height_mm: Some(Toleranced { value: 0.95, plus_minus: Some(0.05) }),
//!         ..Default::default()
//!     }],
//!     ..Default::default()
//! };
//! let part = Part::of(&design).map_err(|findings| format!("{findings:?}"))?.value;
//! assert_eq!(part.steps.len(), 1);
//!
//! // What is wrong is found as in a file.
//! design.flats[1].to_mm = Some(f64::NAN);
//! let findings = Part::of(&design).unwrap_err();
//! assert_eq!(findings[0].message, "a place on the board cannot be 'nan' (not a number)");
//! # Ok::<(), String>(())
//! ```

pub mod advised;
pub mod board;
pub mod design;
pub mod edit;
pub mod equipment;
mod keys;
pub mod places;
pub mod plan;
pub mod profile;
mod read;
mod schema;
pub mod starter;
pub mod spread;
pub mod step;
pub mod strip;
pub mod thermal;
pub mod uncertain;
pub mod usual;
pub mod value;
pub mod words;
mod written;

pub use board::{Component, Extension, Obstacle, Treatment};
pub use design::Design;
pub use equipment::{
    COMMON_HANDLE_MM, COMMON_VISE, DieOptions, Printer, Tilt, Vise, ViseForce, middle_n,
};
pub use places::Places;
pub use plan::Hole;
pub use profile::{Bend, FormedProfile, Level, Zone, ZoneKind};
pub use read::{PartFile, parse, read};
pub use schema::schema;
pub use step::StepShape;
pub use strip::{Flat, Step};
pub use thermal::{HeatPipe, Joint, OldOver, OldPlate, PartHeat, Sink, Thermal};
pub use words::{Cheeks, Grain, JointKind, Kind};

use crate::diagnostic::NOWHERE;
use crate::geometry::Loop;
use crate::stock::{KRule, Metal, Pad};
use schemars::JsonSchema;
use serde::Serialize;
use spread::Spread;
use std::collections::BTreeMap;

/// A default that was used because the file did not say.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct DefaultUsed {
    /// Key as the part file would write it, `sheet.temper`.
    pub key: String,
    /// Value used, as text.
    pub value: String,
    /// Why this value.
    pub reason: String,
}

/// The sheet the plate is cut from.
#[derive(Debug, Clone, PartialEq)]
pub struct Sheet {
    /// Metal with all its numbers.
    pub metal: Metal,
    /// Thickness.
    pub thickness_mm: f64,
    /// Half-width of the thickness band; `None` when neither file nor stock table say.
    pub thickness_plus_minus_mm: Option<f64>,
    /// How the K-factor is found.
    pub k_rule: KRule,
    /// Rolling direction, if known.
    pub grain: Option<Grain>,
}

/// A part that can be computed with.
#[derive(Debug, Clone, PartialEq)]
pub struct Part {
    /// Name for people.
    pub name: String,
    /// Free words, for example that it is invented.
    pub note: Option<String>,
    /// The sheet.
    pub sheet: Sheet,
    /// Width across the strip, without tabs.
    pub width_mm: f64,
    /// Level stretches from left to right.
    pub flats: Vec<Flat>,
    /// Steps between them.
    pub steps: Vec<Step>,
    /// Formed strip in section.
    pub profile: FormedProfile,
    /// Outline of the formed plate in plan, counter-clockwise.
    pub outline: Loop,
    /// Holes in plan.
    pub holes: Vec<Hole>,
    /// Board parts.
    pub components: Vec<Component>,
    /// Plates soldered under flats.
    pub extensions: Vec<Extension>,
    /// Things the plate must clear.
    pub obstacles: Vec<Obstacle>,
    /// Pads at hand, as listed in the file.
    pub pads: Vec<Pad>,
    /// Printer that makes the dies.
    pub printer: Printer,
    /// Vise that presses them, if given.
    pub vise: Option<Vise>,
    /// What the dies shall look like.
    pub dies: DieOptions,
    /// Air, board, heat pipes and the old plate.
    pub thermal: Thermal,
    /// What was said of it, as plain values.
    pub said: Design,
    /// Every default that was used.
    pub defaults: Vec<DefaultUsed>,
    /// Half-widths that were assumed, by the id that their number has in the list of [`uncertain::of`].
    pub spreads_assumed: BTreeMap<String, Spread>,
}

impl Part {
    /// Whether the file says nothing of how K is chosen.
    pub fn leaves_k_open(&self) -> bool {
        self.defaults.iter().any(|used| used.key == "sheet.k_rule")
    }

    /// Outline and holes as loops, outline first: inside by the even-odd rule is metal.
    pub fn metal_loops(&self) -> Vec<Loop> {
        std::iter::once(self.outline.clone())
            .chain(self.holes.iter().map(|hole| hole.shape.clone()))
            .collect()
    }

    /// Forgets where everything stands: what was found to depend on it is then found without a place.
    fn without_places(&mut self) {
        let spans = self.flats.iter_mut().map(|flat| &mut flat.span);
        let spans = spans.chain(self.steps.iter_mut().map(|step| &mut step.span));
        let spans = spans.chain(self.holes.iter_mut().map(|hole| &mut hole.span));
        let spans = spans.chain(self.components.iter_mut().map(|part| &mut part.span));
        let spans = spans.chain(self.extensions.iter_mut().map(|plate| &mut plate.span));
        let spans = spans.chain(self.obstacles.iter_mut().map(|one| &mut one.span));
        let spans = spans.chain(self.printer.span.as_mut());
        let spans = spans.chain(self.vise.as_mut().map(|vise| &mut vise.span));
        let spans = spans.chain(self.dies.span.as_mut());
        let spans = spans.chain(self.thermal.pipes.iter_mut().map(|pipe| &mut pipe.span));
        let spans = spans.chain(self.thermal.old_plate.as_mut().map(|old| &mut old.span));
        let spans = spans.chain(self.thermal.span.as_mut());
        for span in spans {
            *span = NOWHERE;
        }
    }
}
