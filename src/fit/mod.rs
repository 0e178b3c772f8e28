//! How far every board part is from the metal, and what that means for pads and bare parts.
//!
//! Nominal sizes only: what tolerances do to the gaps is not in these numbers.

mod clearance;
mod gap;
mod metal;

use crate::part::{Component, Obstacle, Part, Treatment, ZoneKind};
use crate::stock::{Pad, PadFit};
use gap::Covered;
use metal::Metal;
use serde::Serialize;

/// What the nominal gap means for one component.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Verdict {
    /// The pad is compressed within its limits everywhere.
    PadFits,
    /// The pad does not touch, or is pressed less than it needs.
    PadTooThin,
    /// The pad is pressed more than it takes.
    PadTooThick,
    /// The gap varies by more than the pad gives.
    GapUneven,
    /// Bare, and metal keeps its distance.
    Clear,
    /// Bare, and metal comes closer than wanted.
    TooClose,
    /// Metal and component would touch.
    Touches,
    /// No metal faces the component.
    NotCovered,
}

impl Verdict {
    /// Whether the plate can be built with this.
    pub fn is_good(self) -> bool {
        matches!(self, Self::PadFits | Self::Clear)
    }
}

/// A place in plan.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Place {
    /// Along the strip.
    pub x_mm: f64,
    /// Across it.
    pub y_mm: f64,
}

/// One component under the plate.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ComponentFit {
    /// Name.
    pub name: String,
    /// Share of its area that metal faces.
    pub covered_percent: f64,
    /// Smallest vertical gap over the covered area; `None` when nothing is covered.
    pub gap_min_mm: Option<f64>,
    /// Mean vertical gap over the covered area.
    pub gap_mean_mm: Option<f64>,
    /// Largest vertical gap over the covered area.
    pub gap_max_mm: Option<f64>,
    /// Where the smallest gap is.
    pub gap_min_at: Option<Place>,
    /// What faces the component there, in words.
    pub facing: Option<String>,
    /// Shortest distance to metal in any direction; 0 when they touch.
    pub clearance_mm: f64,
    /// Distance in plan to the nearest cut edge of the plate; 0 when an edge crosses the component.
    pub edge_distance_mm: f64,
    /// What it means.
    pub verdict: Verdict,
    /// The same in words.
    pub verdict_text: String,
    /// Pads that would fit, those at hand first.
    pub fitting_pads: Vec<String>,
}

/// One obstacle beside, below or above the plate.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ObstacleFit {
    /// Name.
    pub name: String,
    /// Shortest distance to metal in any direction; 0 when they touch.
    pub clearance_mm: f64,
    /// Distance wanted.
    pub wanted_mm: f64,
    /// Distance in plan to the nearest cut edge of the plate; 0 when an edge crosses the obstacle.
    pub edge_distance_mm: f64,
    /// Whether the distance is kept.
    pub clears: bool,
}

/// All gaps of a part.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Fit {
    /// Components in the order of the file.
    pub components: Vec<ComponentFit>,
    /// Obstacles in the order of the file.
    pub obstacles: Vec<ObstacleFit>,
}

impl Fit {
    /// Whether every component and obstacle is as it should be.
    pub fn is_good(&self) -> bool {
        self.components.iter().all(|c| c.verdict.is_good())
            && self.obstacles.iter().all(|o| o.clears)
    }

    /// Components that are not as they should be.
    pub fn bad_components(&self) -> impl Iterator<Item = &ComponentFit> {
        self.components.iter().filter(|c| !c.verdict.is_good())
    }
}

/// Computes all gaps.
pub fn fit(part: &Part) -> Fit {
    let metal = Metal::of(part);
    Fit {
        components: part
            .components
            .iter()
            .map(|component| component_fit(component, part, &metal))
            .collect(),
        obstacles: part
            .obstacles
            .iter()
            .map(|obstacle| obstacle_fit(obstacle, &metal))
            .collect(),
    }
}

/// Distances below this count as touching.
const TOUCHING_MM: f64 = 1e-6;

fn component_fit(component: &Component, part: &Part, metal: &Metal) -> ComponentFit {
    let height_mm = component.height_mm.value;
    let covered = gap::over(&component.footprint, height_mm, metal);
    let clearance_mm = clearance::shortest(&component.footprint, (0.0, height_mm), metal);
    let (verdict, verdict_text) = judge(component, covered.as_ref(), clearance_mm);
    let fitting_pads = covered
        .as_ref()
        .filter(|covered| covered.min_mm > 0.0)
        .map(|covered| fitting_pads(part, covered))
        .unwrap_or_default();
    ComponentFit {
        name: component.name.clone(),
        covered_percent: covered.as_ref().map_or(0.0, |covered| {
            (100.0 * covered.area_mm2 / component.footprint.area_mm2()).min(100.0)
        }),
        gap_min_mm: covered.as_ref().map(|covered| covered.min_mm),
        gap_mean_mm: covered.as_ref().map(|covered| covered.mean_mm),
        gap_max_mm: covered.as_ref().map(|covered| covered.max_mm),
        gap_min_at: covered.as_ref().map(|covered| Place {
            x_mm: covered.min_at.x,
            y_mm: covered.min_at.y,
        }),
        facing: covered
            .as_ref()
            .map(|covered| facing_words(part, covered.facing)),
        clearance_mm,
        edge_distance_mm: clearance::to_edges(&component.footprint, metal),
        verdict,
        verdict_text,
        fitting_pads,
    }
}

fn facing_words(part: &Part, facing: gap::Facing) -> String {
    let flat = |number: usize| {
        part.flats
            .get(number)
            .map_or_else(String::new, |flat| flat.name.clone())
    };
    match facing {
        gap::Facing::Extension(number) => part
            .extensions
            .get(number)
            .map_or_else(String::new, |extension| {
                format!("extension plate \"{}\"", extension.name)
            }),
        gap::Facing::Zone(ZoneKind::Flat(number)) => format!("flat \"{}\"", flat(number)),
        gap::Facing::Zone(ZoneKind::Bend(step, which)) => {
            format!("bend beside \"{}\"", flat(step + which))
        }
        gap::Facing::Zone(ZoneKind::Wall(step)) => {
            format!("wall between \"{}\" and \"{}\"", flat(step), flat(step + 1))
        }
    }
}

fn fitting_pads(part: &Part, covered: &Covered) -> Vec<String> {
    let at_hand = part.pads.iter().cloned();
    at_hand
        .chain(Pad::stock_series())
        .filter(|pad| pad.fits(covered.min_mm, covered.max_mm).fits())
        .map(|pad| pad.name)
        .collect()
}

fn judge(component: &Component, covered: Option<&Covered>, clearance_mm: f64) -> (Verdict, String) {
    if clearance_mm < TOUCHING_MM {
        let depth = covered.map_or(0.0, |covered| -covered.min_mm);
        let words = if depth > TOUCHING_MM {
            format!("metal would stand {depth:.2} mm inside it")
        } else {
            "metal would touch it".into()
        };
        return (Verdict::Touches, words);
    }
    match (&component.treatment, covered) {
        (Treatment::Bare { keep_out_mm }, _) => {
            if clearance_mm + TOUCHING_MM < *keep_out_mm {
                (
                    Verdict::TooClose,
                    format!("metal comes to {clearance_mm:.2} mm, {keep_out_mm:.2} mm wanted"),
                )
            } else {
                (
                    Verdict::Clear,
                    format!("bare, {clearance_mm:.2} mm to the nearest metal"),
                )
            }
        }
        (Treatment::Pad(_), None) => (
            Verdict::NotCovered,
            "has a pad, but no metal faces it".into(),
        ),
        (Treatment::Pad(pad), Some(covered)) => {
            judge_pad(pad, pad.fits(covered.min_mm, covered.max_mm))
        }
    }
}

fn judge_pad(pad: &Pad, fit: PadFit) -> (Verdict, String) {
    match fit {
        PadFit::Fits {
            least_percent,
            most_percent,
        } => {
            let range = if (most_percent - least_percent).abs() < 0.5 {
                format!("{most_percent:.0} %")
            } else {
                format!("{least_percent:.0} to {most_percent:.0} %")
            };
            (
                Verdict::PadFits,
                format!("{} is compressed by {range}", pad.name),
            )
        }
        PadFit::TooThin {
            gap_max_mm,
            fills_up_to_mm,
            touches,
        } => (
            Verdict::PadTooThin,
            if touches {
                format!(
                    "{} is pressed too little: gap {gap_max_mm:.2} mm, {fills_up_to_mm:.2} mm at most",
                    pad.name
                )
            } else {
                format!(
                    "{} does not reach: gap {gap_max_mm:.2} mm, pad {:.2} mm",
                    pad.name, pad.thickness_mm
                )
            },
        ),
        PadFit::TooThick {
            gap_min_mm,
            fills_down_to_mm,
        } => (
            Verdict::PadTooThick,
            format!(
                "{} is pressed too hard: gap {gap_min_mm:.2} mm, {fills_down_to_mm:.2} mm at least",
                pad.name
            ),
        ),
        PadFit::GapTooUneven {
            varies_by_mm,
            may_vary_by_mm,
        } => (
            Verdict::GapUneven,
            format!(
                "the gap varies by {varies_by_mm:.2} mm, {} gives {may_vary_by_mm:.2} mm",
                pad.name
            ),
        ),
    }
}

fn obstacle_fit(obstacle: &Obstacle, metal: &Metal) -> ObstacleFit {
    let clearance_mm = clearance::shortest(
        &obstacle.footprint,
        (obstacle.bottom_mm, obstacle.top_mm),
        metal,
    );
    ObstacleFit {
        name: obstacle.name.clone(),
        clearance_mm,
        wanted_mm: obstacle.clearance_mm,
        edge_distance_mm: clearance::to_edges(&obstacle.footprint, metal),
        clears: clearance_mm >= TOUCHING_MM && clearance_mm + TOUCHING_MM >= obstacle.clearance_mm,
    }
}
