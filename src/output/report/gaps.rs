//! How far each board part is from the metal.

use super::{Html, Section, set};
use crate::document;
use crate::job::Job;

pub fn section(job: &Job) -> Section {
    let mut body = Html::default();
    let gaps = document::gaps::gaps(&job.part, &job.fit, job.pressing.as_ref());
    set::set(&gaps, &[], &mut body);
    Section {
        id: "gaps",
        heading: "Gaps",
        body,
    }
}
