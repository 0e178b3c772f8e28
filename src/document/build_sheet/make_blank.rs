//! The blank: cut, deburr, and whether it must be annealed.

use super::BuildStep;
use crate::job::Job;
use crate::numbers::hundredths;
use crate::stock::{Material, Temper};

/// Cutting the blank.
pub fn cut(job: &Job) -> BuildStep {
    let blank = &job.blank;
    let [length_mm, width_mm] = blank.rectangle_mm;
    let mut items = vec![
        "Print template.pdf at 100 %, measure both rulers on it, glue it on.".to_owned(),
        format!(
            "The blank is {} × {} mm. K-factor rules differ by {} mm in length: leave that much at one end until the first \
             plate is measured.",
            hundredths(length_mm),
            hundredths(width_mm),
            hundredths(blank.spread_mm)
        ),
    ];
    if !blank.holes.is_empty() {
        items.push(format!(
            "Punch and drill before cutting out, on wood, in small steps: {}.",
            blank
                .holes
                .iter()
                .map(|hole| match hole.diameter_mm {
                    Some(mm) => format!("{} ø {}", hole.name, hundredths(mm)),
                    None => format!("{} along its outline", hole.name),
                })
                .collect::<Vec<_>>()
                .join(", ")
        ));
    }
    items.push("Cut beside the line, file to it. Inside corners of notches get a drilled end, or they tear.".to_owned());
    items.push(
        "Deburr every edge on both sides and round the edges at the bend lines: cracks begin at burrs.".to_owned(),
    );
    items.push(
        "Mark \"up\" and the left end on the metal with a pen before the paper comes off."
            .to_owned(),
    );
    BuildStep::new("Cut and deburr the blank")
        .list(items)
        .care("Cut sheet is sharp; chips short boards: work away from the board, clean the plate before it comes near.")
}

/// Whether the sheet must be softened.
pub fn soften(job: &Job) -> BuildStep {
    let metal = &job.part.sheet.metal;
    let step = BuildStep::new("Is it soft enough?");
    match metal.temper {
        Some(Temper::Soft) => {
            let how = match metal.material {
                Some(Material::Copper) => {
                    "Heat it evenly to a dull red that shows only in the dark, let it cool, take the scale off"
                }
                Some(Material::BrassCuZn30 | Material::BrassCuZn37) => {
                    "Heat it evenly until a dull red just shows in the dark, let it cool in the air, take the scale off"
                }
                Some(Material::Aluminium1050 | Material::Aluminium5052) => {
                    "Rub it with soap and heat it slowly from below until the soap turns brown, no further, and let it cool: \
                     aluminium melts without glowing"
                }
                None => "Anneal it as its maker says",
            };
            step.text(format!(
                "The dies are made for {}. Bend a strip of the offcut by hand over a rounded edge: soft sheet stays where it \
                 is bent, hard sheet springs back visibly. If it springs, anneal the blank after cutting and before \
                 pressing. {how} (common practice, from memory, no source).",
                metal.name
            ))
            .care(
                "Annealing is done in the open, on a fireproof base, nothing that burns near it, and never on a plate that is \
                 joined to heat pipes: they burst. Scale and pickle need gloves and eye protection.",
            )
        }
        Some(temper) => step.text(format!(
            "Do not anneal it: the dies count on {}, and softer sheet springs back less and bends further. If the sheet at \
             hand is not {}, say so in the part file and make the dies again.",
            metal.name,
            temper.name()
        )),
        None => step.text(format!(
            "Use {} as the part file describes it and do not change its temper afterwards: springback follows its proof \
             stress.",
            metal.name
        )),
    }
}
