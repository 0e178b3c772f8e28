//! What each analysis makes of the verdict, by the rules that stand in [`super`].

use super::help::Help;
use super::reason::{Forces, Reason, Why};
use super::words::{self, way_out};
use crate::diagnostic::Diagnostic;
use crate::dies::Tooling;
use crate::dies::printability::PoseCheck;
use crate::fit::Fit;
use crate::forming::pressing::NoPressing;
use crate::forming::pressing::Pressing;
use crate::forming::strength::{VerdictOnNose, VerdictOnVise, breaking_strain};
use crate::heat::Heat;
use crate::part::Part;
use crate::part::{COMMON_VISE, Vise};

/// Angles missed by more are a NO. Own choice: a maker can bend that much by hand.
pub const FAR_DEG: f64 = 1.0;
/// Rises missed by more are a NO. Own choice: a tenth of a usual pad.
pub const FAR_MM: f64 = 0.1;
/// A back that its jaw covers by less than this share, in either direction, is a NO: it would tip or split. Own choice.
const LEAST_COVERED: f64 = 0.5;

/// What is known of a part.
#[derive(Debug, Clone, Copy)]
pub struct Known<'a> {
    /// The part.
    pub part: &'a Part,
    /// Findings about the part file.
    pub remarks: &'a [Diagnostic],
    /// Gaps.
    pub fit: &'a Fit,
    /// Die pair, or why there is none.
    pub tooling: Result<&'a Tooling, &'a [Diagnostic]>,
    /// What comes out of the vise, where it was calculated.
    pub pressing: Option<&'a Pressing>,
    /// Why it was not, where it was asked for.
    pub no_pressing: Option<&'a NoPressing>,
    /// Temperatures, where they were asked for.
    pub heat: Option<&'a Heat>,
    /// Why there are none, where they were asked for.
    pub no_heat: &'a [Diagnostic],
    /// Changes that were tried and help.
    pub helps: &'a [Help],
}

/// Reasons in the order in which they are found.
#[derive(Default)]
pub(super) struct Reasons(pub(super) Vec<Reason>);

impl Reasons {
    pub(super) fn add(&mut self, forces: Forces, why: Why, ways_out: Vec<String>) {
        let (condition, text) = words::of(forces, &why);
        let ways_out = if ways_out.is_empty() {
            words::ways_out(&why)
        } else {
            ways_out
        };
        self.0.push(Reason {
            forces,
            why,
            text,
            condition,
            ways_out,
            ways: Vec::new(),
        });
    }
}

impl Known<'_> {
    pub(super) fn pressing(&self, reasons: &mut Reasons) {
        let Some(pressing) = self.pressing else {
            match self.no_pressing {
                Some(reason) => {
                    let what = reason.sentence();
                    let ways_out = reason.ways_out().iter().map(|one| (*one).into()).collect();
                    if reason.is_refusal() {
                        reasons.add(Forces::No, Why::PressingRefused { what }, ways_out);
                    } else {
                        reasons.add(Forces::If, Why::PressingUnknown { what }, ways_out);
                    }
                }
                None => reasons.add(Forces::If, Why::NotPressed, Vec::new()),
            }
            return;
        };
        vise_force(pressing, reasons);
        self.missed(pressing, reasons);
        if let Some(nose) = &pressing.strength.nose {
            let pressure_mpa = nose.pressure_mpa;
            let infill_percent = self.part.printer.infill_percent;
            let bears = |safety: f64| safety * pressure_mpa;
            let verdict = match nose.verdict {
                VerdictOnNose::Holds => None,
                VerdictOnNose::HoldsIfPrintedWell => Some((
                    Forces::If,
                    Why::NosesIfPrintedWell {
                        pressure_mpa,
                        bears_mpa: bears(nose.safety.weak),
                        infill_percent,
                    },
                )),
                VerdictOnNose::LikelyPressedIn => Some((
                    Forces::If,
                    Why::NosesLikelyPressedIn {
                        pressure_mpa,
                        bears_mpa: bears(nose.safety.usual),
                        infill_percent,
                    },
                )),
                VerdictOnNose::PressedIn => Some((
                    Forces::No,
                    Why::NosesPressedIn {
                        pressure_mpa,
                        bears_mpa: bears(nose.safety.strong),
                        infill_percent,
                    },
                )),
            };
            if let Some((forces, why)) = verdict {
                reasons.add(forces, why, Vec::new());
            }
        }
        let breaks_at = breaking_strain(self.part.sheet.metal.elongation_percent);
        if pressing.outer_strain >= breaks_at {
            let strain = pressing.outer_strain;
            let why = Why::BendsMayCrack { strain, breaks_at };
            reasons.add(Forces::If, why, Vec::new());
        }
    }

    /// See the rules of the module.
    fn missed(&self, pressing: &Pressing, reasons: &mut Reasons) {
        if pressing.converged {
            return;
        }
        let limits = pressing.limits.iter();
        let limits = limits.map(|limit| limit.reason.clone()).collect();
        let mut ways_out: Vec<String> = Vec::new();
        for help in pressing.limits.iter().flat_map(|limit| &limit.help) {
            if !ways_out.contains(help) {
                ways_out.push(help.clone());
            }
        }
        let (angle_deg, rise_mm) = (pressing.worst_angle_deg(), pressing.worst_rise_mm());
        let along_mm = pressing.worst_along_mm();
        let (near, why) = if pressing.only_radii_missed() {
            let radius_mm = pressing.worst_radius_mm();
            (true, Why::RadiusMissed { radius_mm, limits })
        } else {
            (
                angle_deg <= FAR_DEG && rise_mm <= FAR_MM && along_mm <= FAR_MM,
                Why::WallMissed {
                    angle_deg,
                    rise_mm,
                    along_mm,
                    limits,
                },
            )
        };
        let forces = if near && self.fit.is_good() {
            Forces::If
        } else {
            Forces::No
        };
        reasons.add(forces, why, ways_out);
    }

    pub(super) fn dies(&self, reasons: &mut Reasons) {
        let tooling = match self.tooling {
            Ok(tooling) => tooling,
            Err(refusals) => {
                for refusal in refusals {
                    let what = refusal.message.clone();
                    let why = Why::DiesRefused { what };
                    reasons.add(Forces::No, why, refusal.help.clone());
                }
                return;
            }
        };
        let [length_mm, width_mm] = tooling.back_mm();
        if let Some(vise) = &self.part.vise {
            let levels = || self.part.flats.iter().map(|flat| flat.level);
            let from_mm = levels()
                .map(|level| level.from_mm)
                .fold(f64::INFINITY, f64::min);
            let to_mm = levels()
                .map(|level| level.to_mm)
                .fold(f64::NEG_INFINITY, f64::max);
            let features = self.part.dies.end_stops || self.part.dies.handling_ledges;
            // Blocks are never shorter than the plate.
            let may_shorten = features && to_mm - from_mm < vise.jaw_width_mm;
            jaws(vise, [length_mm, width_mm], may_shorten, reasons);
        } else {
            let why = Why::ViseUnknown {
                opening_mm: tooling.touching_height_mm,
                jaw_width_mm: length_mm,
                jaw_height_mm: width_mm,
            };
            reasons.add(Forces::If, why, Vec::new());
        }
        if self.part.printer.bed_mm.is_none() {
            let box_of = |check: &PoseCheck| check.size_mm;
            let blocks = tooling.blocks.iter();
            let blocks_mm = blocks
                .filter_map(|block| {
                    let poses = &block.print.poses;
                    let chosen = poses.iter().find(|check| check.pose == block.print.pose);
                    chosen.map(box_of)
                })
                .collect();
            reasons.add(Forces::If, Why::BedUnknown { blocks_mm }, Vec::new());
        }
    }

    pub(super) fn gaps(&self, reasons: &mut Reasons) {
        for component in self.fit.bad_components() {
            let why = Why::PartGap {
                part: component.name.clone(),
                found: component.verdict,
                gap_mm: component.judged_gap_mm(),
                clearance_mm: component.judged_clearance_mm(),
            };
            let (text, ways_out) = words::misfit(
                &component.name,
                &component.verdict_text,
                component.pressed_cause.as_ref(),
                way_out(component),
            );
            reasons.no(why, text, self.helped(&component.name, ways_out));
        }
        for obstacle in self.fit.obstacles.iter().filter(|one| !one.clears) {
            let why = Why::ObstacleNear {
                obstacle: obstacle.name.clone(),
                clearance_mm: obstacle.judged_mm(),
                wanted_mm: obstacle.wanted_mm,
            };
            let (text, ways_out) = words::misfit(
                &obstacle.name,
                &obstacle.trouble(),
                obstacle.pressed_cause.as_ref(),
                "cut a notch or a hole around it, or move the edge away".into(),
            );
            reasons.no(why, text, self.helped(&obstacle.name, ways_out));
        }
    }

    /// Changes that were tried before what helps any part.
    fn helped(&self, name: &str, ways_out: Vec<String>) -> Vec<String> {
        let helps = self.helps.iter();
        let own = helps.filter(|help| help.about.as_deref() == Some(name));
        own.map(|help| help.text.clone()).chain(ways_out).collect()
    }

    pub(super) fn heat(&self, reasons: &mut Reasons) {
        if let Some(first) = self.no_heat.first() {
            let what = first.message.clone();
            let ways_out = first.help.clone();
            reasons.add(Forces::If, Why::HeatUnknown { what }, ways_out);
        }
        let Some(heat) = self.heat else { return };
        for one in &heat.parts {
            let Some(limit_c) = one.limit_c else { continue };
            let (part, inside_c) = (one.name.clone(), one.inside_c.middle);
            if !inside_c.is_finite() {
                let why = Why::PartHeatUnknown { part, limit_c };
                reasons.add(Forces::If, why, Vec::new());
            } else if one.above_limit {
                let before_c = one.old_inside_c.map(|range| range.middle);
                let why = Why::PartTooHot {
                    part,
                    inside_c,
                    limit_c,
                    before_c,
                };
                reasons.add(Forces::No, why, Vec::new());
            } else if one.inside_c.high > limit_c {
                let high_c = one.inside_c.high;
                let why = Why::PartMayBeTooHot {
                    part,
                    inside_c,
                    high_c,
                    limit_c,
                };
                reasons.add(Forces::If, why, Vec::new());
            }
        }
        for pipe in heat.pipes.iter().filter(|pipe| pipe.above_limit) {
            let why = Why::PipeTooHot {
                pipe: pipe.name.clone(),
                vapour_c: pipe.vapour_c,
                limit_c: pipe.limit_c.unwrap_or(f64::NAN),
                before_c: pipe.old_vapour_c,
            };
            reasons.add(Forces::No, why, Vec::new());
        }
    }
}

impl Reasons {
    /// A NO whose words come from the analysis that found it.
    fn no(&mut self, why: Why, text: String, ways_out: Vec<String>) {
        self.0.push(Reason {
            forces: Forces::No,
            why,
            text,
            condition: None,
            ways_out,
            ways: Vec::new(),
        });
    }
}

/// The blocks stand between the jaws with their length along the jaws' width, their backs on the jaws.
///
/// `may_shorten`: the blocks have ends that could be left away, and would then perhaps fit.
fn jaws(vise: &Vise, [length_mm, width_mm]: [f64; 2], may_shorten: bool, reasons: &mut Reasons) {
    let forces = |there_mm: f64, needed_mm: f64| {
        if there_mm >= LEAST_COVERED * needed_mm {
            Forces::If
        } else {
            Forces::No
        }
    };
    let jaw_width_mm = vise.jaw_width_mm;
    if length_mm > jaw_width_mm {
        let why = Why::JawsTooNarrow {
            jaw_width_mm,
            needed_mm: length_mm,
        };
        let mut ways_out = vec!["use a vise with wider jaws".to_owned()];
        if may_shorten {
            let shorter =
                "switch end_stops and handling_ledges off under [dies]: both lengthen the blocks";
            ways_out.push(shorter.to_owned());
        }
        reasons.add(forces(jaw_width_mm, length_mm), why, ways_out);
    }
    match vise.jaw_height_mm {
        Some(jaw_height_mm) if width_mm > jaw_height_mm => {
            let why = Why::JawsTooLow {
                jaw_height_mm,
                needed_mm: width_mm,
            };
            reasons.add(forces(jaw_height_mm, width_mm), why, Vec::new());
        }
        Some(_) => {}
        None => {
            let needed_mm = width_mm;
            reasons.add(Forces::If, Why::JawHeightUnknown { needed_mm }, Vec::new());
        }
    }
}

/// What the vise gives against what is needed.
fn vise_force(pressing: &Pressing, reasons: &mut Reasons) {
    let needed_n = pressing.strength.needed_n;
    let bending_n = pressing.strength.bending_n;
    let Some(check) = &pressing.strength.vise else {
        let common_gives_n = COMMON_VISE.force_n();
        let why = Why::ViseForceUnknown {
            needed_n,
            bending_n,
            assumed_n: pressing.force_assumed_n.filter(|_| pressing.force_limited),
            common_gives_n,
        };
        return reasons.add(Forces::If, why, Vec::new());
    };
    let (gives_n, ends_closing) = (check.gives_n, pressing.force_limited);
    match check.verdict {
        VerdictOnVise::Enough => {}
        VerdictOnVise::Perhaps => {
            let why = Why::ViseGreasedOnly {
                needed_n,
                bending_n,
                gives_n,
                ends_closing,
            };
            reasons.add(Forces::If, why, Vec::new());
        }
        VerdictOnVise::TooWeak => {
            let why = Why::ViseTooWeak {
                needed_n,
                bending_n,
                gives_n,
                ends_closing,
            };
            reasons.add(Forces::No, why, Vec::new());
        }
    }
}
