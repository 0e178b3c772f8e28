//! Why there is no pressing, in words, and the ways out: once, for findings, notes and verdict.

use super::NoPressing;
use crate::diagnostic::Diagnostic;
use crate::forming::press::failed::Failed;
use crate::forming::press::guard::Doubt;

/// Ways out where the vise's force ends the closing.
pub(super) const STRONGER_VISE: &[&str] = &[
    "use a stronger vise, a longer handle or a greased screw, and say so under [vise]",
    "use thinner or softer sheet, or anneal it",
    "press in two strokes with two pairs, a part of the steps in each",
];
/// Ways out where noses are pressed in and nobody knows how full they are.
const STRONGER_NOSES: &[&str] = &[
    "print them of a stronger plastic, and full where they are not: infill_percent = 100 under [printer]",
    "lay a bent metal strip (a shim) under the nose",
    "use larger inside radii, or softer or thinner sheet",
];
/// Ways out where full noses are pressed in.
const STRONGER_FULL_NOSES: &[&str] = &[
    "print them of a stronger plastic",
    "lay a bent metal strip (a shim) under the nose",
    "use larger inside radii, or softer or thinner sheet",
];

/// Ways out where noses of an infill are pressed in.
pub(super) fn stronger_noses(infill_percent: f64) -> &'static [&'static str] {
    if infill_percent < 100.0 {
        STRONGER_NOSES
    } else {
        STRONGER_FULL_NOSES
    }
}

/// Ways out where no straight wall is left.
pub(super) const MORE_WALL: &str =
    "give the step more run, or smaller radii, so that a straight wall is left";
/// Ways out of a step that the model cannot press.
const EASIER_STEP: &str = "give the step more run, larger inside radii or less wall angle";
/// What answers where no calculation does.
const TRIAL: &str = "press a strip of the same sheet in the same dies first, and measure it";

impl NoPressing {
    /// What is wrong, one sentence without a full stop.
    pub fn sentence(&self) -> String {
        match self {
            Self::Flat | Self::Stopped => self.to_string(),
            Self::Guard(doubt) if self.is_refusal() => doubt.to_string(),
            Self::Guard(doubt) => format!("the pressing could not be calculated: {doubt}"),
            Self::Block(_) | Self::Shape(_) | Self::Failed(_) => {
                format!("the pressing could not be calculated: {self}")
            }
        }
    }

    /// Whether it says of the plate that it cannot be pressed so. Else only the calculation came to no end, and nobody knows.
    pub fn is_refusal(&self) -> bool {
        match self {
            Self::Block(_) | Self::Shape(_) | Self::Failed(Failed::Impossible(_)) => true,
            Self::Guard(doubt) => matches!(
                doubt,
                Doubt::ForceEnds { .. } | Doubt::DiesGive { .. } | Doubt::Unlike
            ),
            Self::Flat | Self::Stopped | Self::Failed(_) => false,
        }
    }

    /// What would help, each one sentence.
    pub fn ways_out(&self) -> &'static [&'static str] {
        match self {
            Self::Flat => &[
                "cut the blank and use it as it is: coldstep blank says its size",
                "or give the part a second [[flat]] at another underside_mm",
            ],
            Self::Block(_) => &[
                "say how the dies are printed: infill_percent and wall_mm under [printer]",
                "100 % infill is the safest under the noses",
            ],
            Self::Shape(_) => &[MORE_WALL, "coldstep dies says whether the drawn pair opens"],
            Self::Stopped => &["run it again and let it come to its end"],
            Self::Failed(_) => &[
                EASIER_STEP,
                "try dies.friction = 0.1: greased sheet slides more easily",
                "try the coarse mesh: it sometimes closes where the fine one does not",
                TRIAL,
            ],
            Self::Guard(Doubt::ForceEnds { .. }) => STRONGER_VISE,
            Self::Guard(Doubt::DiesGive { .. }) => STRONGER_NOSES,
            Self::Guard(Doubt::Unlike) => &[
                "make the flats longer: some thicknesses of level sheet beside each bend",
                "give the step more run, or less wall angle",
            ],
            Self::Guard(_) => &[EASIER_STEP, TRIAL],
        }
    }

    fn finding(&self, finding: fn(String) -> Diagnostic) -> Diagnostic {
        self.ways_out().iter().fold(
            finding(self.sentence()).id(self.id()),
            |finding, way_out| finding.help(*way_out),
        )
    }

    /// What its finding is about, in a word for programs.
    fn id(&self) -> &'static str {
        match self {
            Self::Flat => "press-nothing-bent",
            Self::Stopped => "press-stopped",
            Self::Block(_) => "press-dies-are-shells",
            Self::Shape(_) => "press-no-straight-wall",
            Self::Failed(_) => "press-came-to-no-end",
            Self::Guard(Doubt::ForceEnds { .. }) => "press-vise-too-weak",
            Self::Guard(Doubt::DiesGive { .. }) => "press-dies-give-way",
            Self::Guard(Doubt::Unlike) => "press-not-gripped",
            Self::Guard(_) => "press-not-believed",
        }
    }

    /// The finding where a pressing was the question.
    pub fn refusal(&self) -> Diagnostic {
        self.finding(Diagnostic::error)
    }

    /// The warning that stands where a pressing should.
    pub fn note(&self) -> Diagnostic {
        self.finding(Diagnostic::warning).help(
            "the dies are compensated bend by bend: expect the first pressing rounder and flatter than drawn",
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::forming::die_shape::NoShape;

    #[test]
    fn every_refusal_has_a_sentence_and_a_way_out_and_all_tell_the_same() {
        let all = [
            (NoPressing::Flat, false),
            (NoPressing::Shape(NoShape::NoWall { step: 0 }), true),
            (NoPressing::Stopped, false),
            (NoPressing::Failed(Failed::NoRelease), false),
            (NoPressing::Guard(Doubt::Snaps), false),
            (NoPressing::Guard(Doubt::Unlike), true),
            (NoPressing::Guard(Doubt::ForceEnds { left_mm: 1.2 }), true),
            (
                NoPressing::Guard(Doubt::DiesGive {
                    pressure_mpa: 200.0,
                    yield_mpa: 90.0,
                }),
                true,
            ),
        ];
        for (reason, is_refusal) in all {
            assert_eq!(reason.is_refusal(), is_refusal, "{reason}");
            let (note, refusal) = (reason.note(), reason.refusal());
            assert_eq!(note.message, reason.sentence());
            assert_eq!(refusal.message, reason.sentence());
            assert!(!reason.sentence().ends_with('.'));
            assert_eq!(refusal.help, reason.ways_out());
            assert!(!refusal.help.is_empty());
            assert_eq!(note.help[..refusal.help.len()], refusal.help[..]);
        }
    }
}
