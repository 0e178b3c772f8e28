//! From the inside of a part to the air: where the degrees go.

use super::loads::Holding;
use super::model::{Case, Setup, Values};
use super::solved::Solved;
use crate::part::thermal::HeatPipe;
use schemars::JsonSchema;
use serde::Serialize;

/// What a rung is about, from the inside of the part outwards.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum RungKind {
    /// From the inside of the part to its top.
    Inside,
    /// Both faces of the pad.
    Contact,
    /// The pad between its faces, or air.
    Pad,
    /// The part's own heat spreading in the plate.
    Plate,
    /// What the heat of the other parts adds in plate and joints.
    Others,
    /// Solder or glue between plate and heat pipes.
    Joint,
    /// Wall and wick of the heat pipes.
    Evaporation,
    /// Heat pipes to air, for the heat of this plate.
    Cooler,
    /// Heat pipes to air, for what else they carry; or pipes above the air as given.
    Floor,
}

impl RungKind {
    /// In plain words.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Inside => "inside the part",
            Self::Contact => "faces of the pad",
            Self::Pad => "pad",
            Self::Plate => "plate, this part's heat",
            Self::Others => "plate, other parts' heat",
            Self::Joint => "joint to the pipes",
            Self::Evaporation => "into the pipes' vapour",
            Self::Cooler => "cooler, this plate's heat",
            Self::Floor => "cooler, other heat",
        }
    }
}

/// One rung.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
pub struct Rung {
    /// What it is about.
    pub step: RungKind,
    /// Difference of temperature over it.
    pub kelvin: f64,
}

/// All rungs of one part: they add up to the inside above the air.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Ladder {
    /// Inside of the part, °C.
    pub inside_c: f64,
    /// Air, °C.
    pub air_c: f64,
    /// From the inside outwards.
    pub rungs: Vec<Rung>,
    /// Whether the pipes' temperature was given: then the last rung is the pipes above the air.
    pub pipes_given: bool,
}

/// The ladder of one port of a solved case.
///
/// The rise of a part's port is the sum of what every part's heat does to it with the pipes' vapour at zero, and of the
/// vapours it sees; so the rungs add up exactly. Its own part is taken apart with the field of its own heat alone: faces
/// and pad under the part, then the plate down to where heat leaves it, weighed by the heat that leaves there, then joint
/// and evaporation.
pub fn ladder(
    setup: &Setup<'_>,
    case: &Case<'_>,
    solved: &Solved,
    values: &Values,
    port: usize,
) -> Option<Ladder> {
    let over = case.over.get(port)?;
    let state = &solved.state;
    let heat_w = *state.into_plate_w.get(port)?;
    let inside_k = *state.inside_k.get(port)?;
    let top_k = *state.top_k.get(port)?;
    let mut rungs = vec![Rung {
        step: RungKind::Inside,
        kelvin: inside_k - top_k,
    }];
    let (contact_k_w, filling_k_w) = solved.filling_k_w(port, over.filling);
    let own = own(solved, port);
    let (contact_k, pad_k) = (heat_w * contact_k_w, heat_w * (filling_k_w - contact_k_w));
    let own_k = heat_w * own.port_k_w;
    let seat_k = heat_w * own.seat_k_w;
    let joint_share = own.joint_share(&setup.part.thermal.pipes);
    let others_k: f64 = state
        .into_plate_w
        .iter()
        .enumerate()
        .filter(|(other, _)| *other != port)
        .map(|(other, heat_w)| {
            let rise = solved.reduced.rise_k_w.get((port, other));
            heat_w * rise.copied().unwrap_or(0.0)
        })
        .sum();
    rungs.extend(
        [
            (RungKind::Contact, contact_k),
            (RungKind::Pad, pad_k),
            (RungKind::Plate, own_k - contact_k - pad_k - seat_k),
            (RungKind::Others, others_k),
            (RungKind::Joint, seat_k * joint_share),
            (RungKind::Evaporation, seat_k * (1.0 - joint_share)),
        ]
        .map(|(step, kelvin)| Rung { step, kelvin }),
    );
    // What the part sees of each pipe's vapour.
    let (mut cooler_k, mut floor_k) = (0.0, 0.0);
    let mut pipes_given = false;
    for (pipe, load) in setup.pipe_loads(values, None).iter().enumerate() {
        let sees = solved.reduced.follows.get((port, pipe)).copied()?;
        match load.held_by {
            Holding::Temperature { above_air_k } => {
                pipes_given = true;
                floor_k += sees * above_air_k;
            }
            Holding::Air {
                resistance_k_w,
                other_heat_w,
            } => {
                cooler_k += sees * resistance_k_w * state.into_pipe_w.get(pipe).copied()?;
                floor_k += sees * resistance_k_w * other_heat_w;
            }
        }
    }
    for (step, kelvin) in [(RungKind::Cooler, cooler_k), (RungKind::Floor, floor_k)] {
        if step == RungKind::Floor || cooler_k != 0.0 {
            rungs.push(Rung { step, kelvin });
        }
    }
    Some(Ladder {
        inside_c: inside_k + values.air_c,
        air_c: values.air_c,
        rungs,
        pipes_given,
    })
}

/// What one part's heat does alone, for a watt, pipes' vapour at zero.
struct Own {
    /// Rise of its port, K/W.
    port_k_w: f64,
    /// Rise of the plate's face where heat leaves it, weighed by that heat, K/W.
    seat_k_w: f64,
    /// Squared heat over area into each pipe: how much its joint counts.
    weights: Vec<f64>,
}

impl Own {
    /// Share of the seats' resistance that is joint, the rest being evaporation.
    fn joint_share(&self, pipes: &[HeatPipe]) -> f64 {
        let (mut joint, mut all) = (0.0, 0.0);
        for (weight, pipe) in self.weights.iter().zip(pipes) {
            let of_joint = pipe.joint.resistance_mm2k_w();
            joint += weight * of_joint;
            all += weight * (of_joint + pipe.evaporation_mm2k_w.value);
        }
        if all > 0.0 { joint / all } else { 0.0 }
    }
}

fn own(solved: &Solved, port: usize) -> Own {
    let parts = solved.cells.parts;
    let mut ports_k = vec![0.0; solved.cells.ports.len()];
    for (other, place) in ports_k.iter_mut().take(parts).enumerate() {
        *place = solved
            .reduced
            .rise_k_w
            .get((other, port))
            .copied()
            .unwrap_or(0.0);
    }
    // Only where the pipes touch: with many parts the whole field of each would take long.
    let at = |node: usize| -> f64 {
        let fields = solved.answers.fields.iter().zip(&ports_k).take(parts);
        fields
            .map(|(field, port_k)| port_k * field.get(node).copied().unwrap_or(0.0))
            .sum()
    };
    let (mut heat, mut square) = (0.0, 0.0);
    let mut weights = Vec::new();
    for pipe in solved.cells.ports.iter().skip(parts) {
        let mut weight = 0.0;
        for tie in &pipe.ties {
            let flow = tie.conductance_w_k * at(tie.node);
            heat += flow;
            square += flow * flow * tie.filling_mm2k_w / tie.area_mm2;
            weight += flow * flow / tie.area_mm2;
        }
        weights.push(weight);
    }
    Own {
        port_k_w: ports_k.get(port).copied().unwrap_or(0.0),
        seat_k_w: if heat > 0.0 { square / heat } else { 0.0 },
        weights,
    }
}
