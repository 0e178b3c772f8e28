//! How far every board part is from the metal, and what that means for pads and bare parts.
//!
//! The drawn plate is measured always. Where it is known what the vise leaves of the strip, the pressed plate is
//! measured too, and the verdicts are about that one: it is the plate that will stand over the board.
//!
//! Nominal sizes only: what tolerances do to the gaps is not in these numbers.

mod cause;
mod clearance;
mod gap;
mod measured;
mod metal;
mod pressed;
mod room;
mod underside;
mod verdict;

pub use cause::Cause;
pub use pressed::PressedStrip;
pub use room::{FlatRoom, rise_room, room};
pub use underside::{Facing, Underside};
pub use verdict::GapVerdict;

use crate::part::{Component, Kind, Obstacle, Part, Treatment, ZoneKind};
use crate::stock::{Pad, PadFit};
use gap::Covered;
use measured::{Gaps, facing_words};
use metal::PlateMetal;
use schemars::JsonSchema;
use serde::Serialize;

/// Which plate the verdicts are about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Judged {
    /// The plate as drawn.
    Drawn,
    /// The plate as the vise leaves it.
    Pressed,
}

/// A place in plan.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
pub struct Place {
    /// Along the strip.
    pub x_mm: f64,
    /// Across it.
    pub y_mm: f64,
}

/// Gaps of one component to the plate as the vise leaves it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
pub struct PressedGap {
    /// Share of its area that metal faces.
    #[serde(rename = "pressed_covered_percent")]
    pub covered_percent: f64,
    /// Smallest vertical gap over the covered area; `None` when nothing is covered.
    #[serde(rename = "pressed_gap_min_mm")]
    pub gap_min_mm: Option<f64>,
    /// Mean vertical gap over the covered area.
    #[serde(rename = "pressed_gap_mean_mm")]
    pub gap_mean_mm: Option<f64>,
    /// Largest vertical gap over the covered area.
    #[serde(rename = "pressed_gap_max_mm")]
    pub gap_max_mm: Option<f64>,
    /// Shortest distance to metal in any direction; 0 when they touch.
    #[serde(rename = "pressed_clearance_mm")]
    pub clearance_mm: f64,
}

impl PressedGap {
    fn of(gaps: &Gaps) -> Self {
        let covered = gaps.covered.as_ref();
        Self {
            covered_percent: gaps.covered_percent,
            gap_min_mm: covered.map(|covered| covered.min_mm),
            gap_mean_mm: covered.map(|covered| covered.mean_mm),
            gap_max_mm: covered.map(|covered| covered.max_mm),
            clearance_mm: gaps.clearance_mm,
        }
    }
}

/// One component under the plate: gaps and distances of the drawn plate, those of the pressed one beside them, and a
/// verdict about the plate that [`Fit::judged`] names.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct ComponentFit {
    /// Name.
    pub name: String,
    /// What kind of part it is.
    pub kind: Kind,
    /// Share of its area that metal faces.
    pub covered_percent: f64,
    /// Smallest vertical gap over the covered area; `None` when nothing is covered.
    pub gap_min_mm: Option<f64>,
    /// Mean vertical gap over the covered area.
    pub gap_mean_mm: Option<f64>,
    /// Largest vertical gap over the covered area.
    pub gap_max_mm: Option<f64>,
    /// How far the gap may be off for what the file says of heights and thicknesses: their half-widths added up, where the
    /// gap is smallest. `None` when it says nothing.
    pub gap_plus_minus_mm: Option<f64>,
    /// Where the smallest gap is.
    pub gap_min_at: Option<Place>,
    /// What faces the component there, in words.
    pub facing: Option<String>,
    /// Shortest distance to metal in any direction; 0 when they touch.
    pub clearance_mm: f64,
    /// Distance in plan to the nearest cut edge of the plate; 0 when an edge crosses the component.
    pub edge_distance_mm: f64,
    /// The same of the pressed plate, where that is known.
    #[serde(flatten)]
    pub pressed: Option<PressedGap>,
    /// What it means.
    pub verdict: GapVerdict,
    /// The same in words.
    pub verdict_text: String,
    /// What the drawn plate alone would mean.
    pub drawn_verdict: GapVerdict,
    /// What the vise has to do with a verdict that would be good as drawn. Absent: nothing.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub pressed_cause: Option<Cause>,
    /// Pads that would fit, those at hand first.
    pub fitting_pads: Vec<String>,
}

impl ComponentFit {
    /// How little of it is under metal, in words.
    pub fn covered_only(&self) -> String {
        format!(
            "{} is covered to {:.0} % only",
            self.name, self.covered_percent
        )
    }

    /// Least and largest gap that decide: of the pressed plate where it is known; `None` when no metal is above.
    pub fn judged_gap_mm(&self) -> Option<[f64; 2]> {
        let (least_mm, most_mm) = self
            .pressed
            .map_or((self.gap_min_mm, self.gap_max_mm), |pressed| {
                (pressed.gap_min_mm, pressed.gap_max_mm)
            });
        Some([least_mm?, most_mm?])
    }

    /// Shortest distance to metal that decides: of the pressed plate where it is known.
    pub fn judged_clearance_mm(&self) -> f64 {
        self.pressed
            .map_or(self.clearance_mm, |pressed| pressed.clearance_mm)
    }
}

/// One obstacle beside, below or above the plate.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct ObstacleFit {
    /// Name.
    pub name: String,
    /// Shortest distance to metal in any direction; 0 when they touch.
    pub clearance_mm: f64,
    /// Distance wanted.
    pub wanted_mm: f64,
    /// Distance in plan to the nearest cut edge of the plate; 0 when an edge crosses the obstacle.
    pub edge_distance_mm: f64,
    /// The same distance to the pressed plate. Absent: no pressing was calculated.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub pressed_clearance_mm: Option<f64>,
    /// Whether the distance is kept.
    pub clears: bool,
    /// What the vise has to do with it when it would be kept as drawn. Absent: nothing.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub pressed_cause: Option<Cause>,
}

impl ObstacleFit {
    /// Distance that decides: of the pressed plate where it is known.
    pub fn judged_mm(&self) -> f64 {
        self.pressed_clearance_mm.unwrap_or(self.clearance_mm)
    }

    /// What is wrong, with the numbers that decided it; meant for what does not clear.
    pub fn trouble(&self) -> String {
        let free_mm = self.judged_mm();
        if free_mm > 0.0 {
            let [comes, wanted] = told_apart(free_mm, self.wanted_mm);
            format!("metal comes to {comes} mm, {wanted} mm wanted")
        } else {
            "metal would touch it".to_owned()
        }
    }
}

/// All gaps of a part.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Fit {
    /// Which plate the verdicts are about.
    pub judged: Judged,
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

/// Computes all gaps of the plate as drawn, and judges them.
pub fn fit(part: &Part) -> Fit {
    judged(part, None)
}

/// Computes all gaps of the plate as drawn and as pressed, and judges those of the pressed one.
pub fn fit_pressed(part: &Part, strip: &PressedStrip<'_>) -> Fit {
    judged(part, Some(&PlateMetal::pressed(part, strip)))
}

fn judged(part: &Part, pressed: Option<&PlateMetal>) -> Fit {
    let drawn = PlateMetal::of(part);
    Fit {
        judged: if pressed.is_some() {
            Judged::Pressed
        } else {
            Judged::Drawn
        },
        components: part
            .components
            .iter()
            .map(|component| component_fit(component, part, &drawn, pressed))
            .collect(),
        obstacles: part
            .obstacles
            .iter()
            .map(|obstacle| obstacle_fit(obstacle, &drawn, pressed))
            .collect(),
    }
}

/// Distances below this count as touching.
const TOUCHING_MM: f64 = 1e-6;

fn component_fit(
    component: &Component,
    part: &Part,
    drawn: &PlateMetal,
    pressed: Option<&PlateMetal>,
) -> ComponentFit {
    let edge_distance_mm = clearance::to_edges(&component.footprint, drawn);
    let drawn = Gaps::of(component, drawn);
    let pressed = pressed.map(|metal| Gaps::of(component, metal));
    let deciding = pressed.as_ref().unwrap_or(&drawn);
    let (drawn_verdict, _) = judge(component, &drawn);
    let (verdict, verdict_text) = judge(component, deciding);
    let pressed_cause = pressed
        .as_ref()
        .filter(|_| drawn_verdict.is_good())
        .and_then(|pressed| cause::of_component(part, verdict, &drawn, pressed));
    let fitting_pads = deciding
        .covered
        .as_ref()
        .filter(|covered| covered.min_mm > 0.0)
        .map(|covered| fitting_pads(part, covered))
        .unwrap_or_default();
    let covered = drawn.covered.as_ref();
    ComponentFit {
        name: component.name.clone(),
        kind: component.kind,
        covered_percent: drawn.covered_percent,
        gap_min_mm: covered.map(|covered| covered.min_mm),
        gap_mean_mm: covered.map(|covered| covered.mean_mm),
        gap_max_mm: covered.map(|covered| covered.max_mm),
        gap_plus_minus_mm: covered
            .and_then(|covered| gap_plus_minus_mm(component, part, covered.facing)),
        gap_min_at: covered.map(|covered| Place {
            x_mm: covered.min_at.x,
            y_mm: covered.min_at.y,
        }),
        facing: covered.map(|covered| facing_words(part, covered.facing)),
        clearance_mm: drawn.clearance_mm,
        edge_distance_mm,
        pressed: pressed.as_ref().map(PressedGap::of),
        verdict,
        verdict_text,
        drawn_verdict,
        pressed_cause,
        fitting_pads,
    }
}

/// Half-widths of everything that a gap is the difference of, added up: the worst case.
fn gap_plus_minus_mm(component: &Component, part: &Part, facing: gap::Facing) -> Option<f64> {
    let flat = |number: usize| {
        part.flats
            .get(number)
            .and_then(|flat| flat.underside_mm.plus_minus)
    };
    let larger = |one: Option<f64>, other: Option<f64>| match (one, other) {
        (Some(one), Some(other)) => Some(one.max(other)),
        (one, other) => one.or(other),
    };
    let above = match facing {
        gap::Facing::Extension(number) => part.extensions.get(number).map_or_else(
            || [None, None],
            |extension| [flat(extension.flat), extension.thickness_mm.plus_minus],
        ),
        gap::Facing::Zone(ZoneKind::Flat(number)) => [flat(number), None],
        gap::Facing::Zone(ZoneKind::Bend(step, _) | ZoneKind::Wall(step)) => {
            [larger(flat(step), flat(step + 1)), None]
        }
    };
    std::iter::once(component.height_mm.plus_minus)
        .chain(above)
        .flatten()
        .reduce(|sum, one| sum + one)
}

fn fitting_pads(part: &Part, covered: &Covered) -> Vec<String> {
    let at_hand = part.pads.iter().cloned();
    at_hand
        .chain(Pad::stock_series())
        .filter(|pad| pad.fits(covered.min_mm, covered.max_mm).fits())
        .map(|pad| pad.name)
        .collect()
}

/// Two lengths with hundredths, or with as many decimals more as tell them apart.
fn told_apart(one_mm: f64, other_mm: f64) -> [String; 2] {
    let written = |decimals: usize| [one_mm, other_mm].map(|mm| format!("{mm:.decimals$}"));
    (2..=6)
        .map(written)
        .find(|[one, other]| one != other)
        .unwrap_or_else(|| written(2))
}

fn judge(component: &Component, gaps: &Gaps) -> (GapVerdict, String) {
    let (covered, clearance_mm) = (gaps.covered.as_ref(), gaps.clearance_mm);
    if clearance_mm < TOUCHING_MM {
        let depth = covered.map_or(0.0, |covered| -covered.min_mm);
        let words = if depth > TOUCHING_MM {
            format!("metal would stand {depth:.2} mm inside it")
        } else {
            "metal would touch it".into()
        };
        return (GapVerdict::Touches, words);
    }
    match (&component.treatment, covered) {
        (Treatment::Bare { keep_out_mm }, _) => {
            if clearance_mm + TOUCHING_MM < *keep_out_mm {
                let [comes, wanted] = told_apart(clearance_mm, *keep_out_mm);
                (
                    GapVerdict::TooClose,
                    format!("metal comes to {comes} mm, {wanted} mm wanted"),
                )
            } else {
                (
                    GapVerdict::Clear,
                    format!("bare, {clearance_mm:.2} mm to the nearest metal"),
                )
            }
        }
        (Treatment::Pad(_), None) => (
            GapVerdict::NotCovered,
            "has a pad, but no metal faces it".into(),
        ),
        (Treatment::Pad(pad), Some(covered)) => {
            judge_pad(pad, pad.fits(covered.min_mm, covered.max_mm))
        }
    }
}

fn judge_pad(pad: &Pad, fit: PadFit) -> (GapVerdict, String) {
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
                GapVerdict::PadFits,
                format!("{} is compressed by {range}", pad.name),
            )
        }
        PadFit::TooThin {
            gap_max_mm,
            fills_up_to_mm,
            touches,
        } => (
            GapVerdict::PadTooThin,
            if touches {
                let [gap, most] = told_apart(gap_max_mm, fills_up_to_mm);
                format!(
                    "{} is pressed too little: gap {gap} mm, {most} mm at most",
                    pad.name
                )
            } else {
                let [gap, thick] = told_apart(gap_max_mm, pad.thickness_mm);
                format!("{} does not reach: gap {gap} mm, pad {thick} mm", pad.name)
            },
        ),
        PadFit::TooThick {
            gap_min_mm,
            fills_down_to_mm,
        } => {
            let [gap, least] = told_apart(gap_min_mm, fills_down_to_mm);
            (
                GapVerdict::PadTooThick,
                format!(
                    "{} is pressed too hard: gap {gap} mm, {least} mm at least",
                    pad.name
                ),
            )
        }
        PadFit::GapTooUneven {
            varies_by_mm,
            may_vary_by_mm,
        } => {
            let [varies, may_vary] = told_apart(varies_by_mm, may_vary_by_mm);
            (
                GapVerdict::GapUneven,
                format!(
                    "the gap varies by {varies} mm, {} gives {may_vary} mm",
                    pad.name
                ),
            )
        }
    }
}

fn obstacle_fit(
    obstacle: &Obstacle,
    drawn: &PlateMetal,
    pressed: Option<&PlateMetal>,
) -> ObstacleFit {
    let free_mm = |metal: &PlateMetal| {
        clearance::shortest(
            &obstacle.footprint,
            (obstacle.bottom_mm, obstacle.top_mm),
            metal,
        )
    };
    let keeps =
        |free_mm: f64| free_mm >= TOUCHING_MM && free_mm + TOUCHING_MM >= obstacle.clearance_mm;
    let clearance_mm = free_mm(drawn);
    let pressed_clearance_mm = pressed.map(free_mm);
    let clears = keeps(pressed_clearance_mm.unwrap_or(clearance_mm));
    ObstacleFit {
        name: obstacle.name.clone(),
        clearance_mm,
        wanted_mm: obstacle.clearance_mm,
        edge_distance_mm: clearance::to_edges(&obstacle.footprint, drawn),
        pressed_clearance_mm,
        clears,
        pressed_cause: pressed_clearance_mm
            .filter(|_| keeps(clearance_mm) && !clears)
            .map(|pressed_mm| cause::of_obstacle(clearance_mm, pressed_mm)),
    }
}
