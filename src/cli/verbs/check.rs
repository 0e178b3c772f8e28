//! `coldstep check`: can it be built, and how far is each board part from the metal?

use super::press;
use crate::cli::flags::springback::{self, HowPressed, Springback};
use crate::cli::io::kept::Fresh;
use crate::cli::io::read;
use crate::cli::io::terminal;
use crate::cli::{Answer, Failure, Run, json, verdict};
use crate::document::Media;
use crate::document::defaults::defaults;
use crate::document::gaps::{cautions, gaps};
use crate::document::press::came_out_flats;
use crate::fit::Fit;
use crate::forming::pressing::Pressing;
use crate::part::Part;
use crate::words;
use clap::Args;
use serde_json::{Value, json};
use std::path::PathBuf;

/// Flags of `check`.
#[derive(Debug, Args)]
#[command(
    after_help = "Example, with the part file that `coldstep new` writes:\n  \
    $ coldstep check plate.toml\n  \
    YES, IF the noses bear 107 MPa (a weak print 72): \"starter plate\" can be made. 1 more below.\n  \
    ...\n\n\
    The exit code is 1 when the plate cannot be made like this, also for another reason than its gaps."
)]
pub struct Check {
    /// Part file.
    part: PathBuf,
    /// How the pressed plate is found, whose gaps decide; without it the drawn ones do.
    #[arg(long, value_enum, default_value = "quick", value_name = "HOW")]
    springback: Springback,
    #[command(flatten)]
    fresh: Fresh,
}

impl Run for Check {
    fn run(&self) -> Result<Answer, Failure> {
        let (part, warnings, source) = read::part(&self.part)?;
        let how = HowPressed {
            springback: self.springback,
            fresh: self.fresh,
        };
        let job = springback::job(part, warnings, &how)?;
        let (part, pressing) = (&job.part, job.pressing.as_ref());
        let mut said = gaps(part, &job.fit, pressing);
        let mut fields = fields(part, &job.fit, pressing);
        if let Some(pressing) = pressing {
            said.heading(Media::ALL, "Pressing")
                .join(came_out_flats(pressing));
            fields.push(("press", json::object(press::fields(part, pressing, &[]))));
        }
        said.join(defaults(&part.defaults));
        let text = format!("\n{}", terminal::document(&said));
        Ok(verdict::answer(&job, &text, fields, Some(source)))
    }
}

pub(super) fn fields(
    part: &Part,
    fit: &Fit,
    pressing: Option<&Pressing>,
) -> Vec<(&'static str, Value)> {
    let components: Value = part
        .components
        .iter()
        .zip(&fit.components)
        .map(|(component, fit)| {
            let mut value = json::value(fit);
            if let Value::Object(map) = &mut value {
                map.insert("kind".into(), json::value(&component.kind));
            }
            value
        })
        .collect();
    let steps: Value = part
        .flats
        .windows(2)
        .zip(&part.steps)
        .filter_map(|(flats, step)| {
            let [from, to] = flats else { return None };
            Some(json!({
                "from": from.name,
                "to": to.name,
                "up": step.up,
                "rise_mm": step.shape.rise_mm,
                "run_mm": step.shape.run_mm,
                "wall_angle_deg": step.shape.bend.degrees(),
                "wall_mm": step.shape.wall_mm,
                "inside_radius_mm": step.inside_radius_mm,
                "run_was_solved": step.run_was_solved,
                "next_from_mm": to.level.from_mm,
            }))
        })
        .collect();
    vec![
        ("gaps_judged", json::value(&fit.judged)),
        (
            "gaps_judged_text",
            json!(words::press::gaps_judged(part, pressing)),
        ),
        ("components", components),
        ("obstacles", json::value(&fit.obstacles)),
        ("steps", steps),
        ("defaults", json::value(&part.defaults)),
        ("cautions", json::value(&cautions(part, fit))),
    ]
}
