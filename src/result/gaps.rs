//! How far each board part is from the metal, and what must stay clear of it.

use crate::fit::{ComponentFit, Judged, ObstacleFit};
use crate::job::Job;
use crate::words;
use schemars::JsonSchema;
use serde::Serialize;

/// All gaps. Nominal sizes: what tolerances do to them is in `gap_plus_minus_mm` alone.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Gaps {
    /// Which plate the verdicts are about.
    pub judged: Judged,
    /// The same in a sentence.
    pub judged_text: String,
    /// Board parts in the order of the file.
    pub components: Vec<ComponentFit>,
    /// Obstacles in the order of the file.
    pub obstacles: Vec<ObstacleFit>,
    /// What to take care of, each one sentence.
    pub cautions: Vec<String>,
}

impl Gaps {
    /// The gaps of a job, and what they are judged by.
    pub fn of(job: &Job) -> Self {
        let (part, fit) = (&job.part, &job.fit);
        Self {
            judged: fit.judged,
            judged_text: words::press::gaps_judged(part, job.pressing.as_ref()),
            components: fit.components.clone(),
            obstacles: fit.obstacles.clone(),
            cautions: words::gaps::cautions(part, fit),
        }
    }
}
