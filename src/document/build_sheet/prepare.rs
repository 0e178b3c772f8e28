//! What stands in the way, what to buy, which tools.

use super::BuildStep;
use crate::geometry::Footprint;
use crate::job::Job;
use crate::numbers::{hundredths, plain, size};
use crate::part::{Grain, JointKind, Part, Treatment};
use crate::stock::Temper;
use crate::verdict::State;
use std::collections::BTreeMap;

/// Sheet to hold the blank by while it is cut, mm on each side. Common practice, no source.
const TO_HOLD_MM: f64 = 5.0;

/// Why nothing should be bought yet, or what must be made sure of first.
pub fn not_yet(job: &Job) -> Option<BuildStep> {
    let verdict = job.verdict();
    let texts = verdict
        .reasons
        .iter()
        .map(|reason| format!("{}: {}.", reason.forces.word(), reason.text))
        .collect();
    let step = match verdict.state {
        State::Yes => return None,
        State::YesIf => BuildStep::new("Make sure first")
            .text("This plate can be made if these conditions hold. Look at each before you buy anything."),
        State::No => BuildStep::new("Not yet").text(
            "This plate cannot be made as the part file has it. Change the file first; what follows is only good for \
             reading.",
        ),
    };
    Some(step.list(texts))
}

/// "5.0 × 6.0" of an area in plan.
fn plan_size(footprint: &Footprint) -> String {
    let (low, high) = footprint.bounds();
    format!("{} × {} mm", size(high.x - low.x), size(high.y - low.y))
}

/// What to buy.
pub fn buy(job: &Job) -> BuildStep {
    let part = &job.part;
    let [length_mm, width_mm] = job.blank.rectangle_mm.map(|mm| mm + 2.0 * TO_HOLD_MM);
    let grain = match part.sheet.grain {
        Some(Grain::Along) => ", rolled along the longer number",
        Some(Grain::Across) => ", rolled along the shorter number",
        None => "",
    };
    let thickness = part.sheet.thickness_plus_minus_mm.map_or_else(
        || hundredths(part.sheet.thickness_mm),
        |band| {
            format!(
                "{} ±{}",
                hundredths(part.sheet.thickness_mm),
                hundredths(band)
            )
        },
    );
    let mut items = vec![format!(
        "Sheet: {}, {thickness} mm thick, {length_mm:.0} × {width_mm:.0} mm{grain}: the blank with {} mm on each side to \
         hold it by. Twice that for a trial pressing.",
        part.sheet.metal.name,
        plain(TO_HOLD_MM)
    )];
    items.extend(extensions(job));
    items.extend(pads(job));
    if let Ok(tooling) = &job.tooling {
        let grams = tooling.total_mass_g();
        items.push(format!(
            "Filament: about {grams:.0} g of {} for both dies, and half as much again for trials.",
            part.printer.plastic.trade_name()
        ));
    }
    items.extend(joints(job));
    items.push("Isopropyl alcohol, fine abrasive paper or a fibre pen, polyimide tape.".to_owned());
    BuildStep::new("What to buy").list(items)
}

fn extensions(job: &Job) -> Option<String> {
    let extensions = &job.part.extensions;
    let pieces: Vec<String> = extensions
        .iter()
        .map(|one| {
            format!(
                "{}: {} × {} mm thick",
                one.name,
                plan_size(&one.footprint),
                hundredths(one.thickness_mm.value)
            )
        })
        .collect();
    (!pieces.is_empty()).then(|| format!("Copper for extension plates: {}.", pieces.join("; ")))
}

fn pads(job: &Job) -> Vec<String> {
    let mut by_pad: BTreeMap<String, Vec<String>> = BTreeMap::new();
    for component in &job.part.components {
        if let Treatment::Pad(pad) = &component.treatment {
            let piece = format!("{} {}", component.name, plan_size(&component.footprint));
            let sort = format!("\"{}\", {} mm thick", pad.name, plain(pad.thickness_mm));
            by_pad.entry(sort).or_default().push(piece);
        }
    }
    by_pad
        .into_iter()
        .map(|(pad, pieces)| {
            format!(
                "Pad {pad}, {}: {}.",
                if pieces.len() == 1 {
                    "one piece".to_owned()
                } else {
                    format!("{} pieces", pieces.len())
                },
                pieces.join("; ")
            )
        })
        .collect()
}

/// Names of the heat pipes that are joined in one way.
pub fn joined_by(part: &Part, kind: JointKind) -> Vec<&str> {
    let pipes = part.thermal.pipes.iter();
    pipes
        .filter(|pipe| pipe.joint.kind == kind)
        .map(|pipe| pipe.name.as_str())
        .collect()
}

fn joints(job: &Job) -> Vec<String> {
    let named = |kind| joined_by(&job.part, kind);
    let mut items = Vec::new();
    let mut soldered = named(JointKind::Solder);
    soldered.extend(job.part.extensions.iter().map(|one| one.name.as_str()));
    if !soldered.is_empty() {
        items.push(format!(
            "Solder paste and its flux for {}: an alloy that melts well below every joint that must stay shut.",
            soldered.join(", ")
        ));
    }
    for (kind, what) in [
        (JointKind::Paste, "Thermal paste"),
        (JointKind::Adhesive, "Thermal adhesive"),
    ] {
        let pipes = named(kind);
        if !pipes.is_empty() {
            items.push(format!("{what} for {}.", pipes.join(", ")));
        }
    }
    items
}

/// Which tools.
pub fn tools(job: &Job) -> BuildStep {
    let mut items = vec![
        "Calipers with a depth rod, a scriber, a centre punch, feeler gauges.".to_owned(),
        "Snips or a fine saw, a flat file, drills, a deburring tool.".to_owned(),
    ];
    if job.tooling.is_ok() && !job.part.steps.is_empty() {
        items.push(job.part.vise.as_ref().map_or_else(
            || "A bench vise whose jaws are wider than the dies; the part file names none, so it is not checked.".to_owned(),
            |vise| {
                format!(
                    "The bench vise: jaws {} mm wide that open {} mm, screw clean and greased.",
                    plain(vise.jaw_width_mm),
                    plain(vise.opening_mm)
                )
            },
        ));
    }
    let soldered =
        !job.part.extensions.is_empty() || !joined_by(&job.part, JointKind::Solder).is_empty();
    if soldered {
        items.push(
            "Hot air, a thermocouple, clamps that stand the heat, an extractor or an open window."
                .to_owned(),
        );
    } else {
        items.push("A thermocouple for the first power-up.".to_owned());
    }
    if job.part.sheet.metal.temper == Some(Temper::Soft) {
        items.push(
            "A gas torch and a fireproof base, if the sheet turns out not to be soft.".to_owned(),
        );
    }
    BuildStep::new("Which tools")
        .list(items)
        .care("Gloves for cut sheet, eye protection for everything that is cut, pressed or hot.")
}
