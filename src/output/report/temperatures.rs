//! What the plate buys.

use super::{Html, Section, set};
use crate::document;
use crate::job::Job;
use crate::result::catalogue::OutputFile;

pub fn section(job: &Job, files: &[OutputFile]) -> Option<Section> {
    let heat = match &job.heat {
        Some(heat) => document::heat::heat(heat, job.pressing.is_some()),
        None if job.no_heat.is_empty() => return None,
        None => document::heat::no_temperatures(&job.no_heat),
    };
    let mut body = Html::default();
    set::set(&heat, files, &mut body);
    Some(Section {
        id: "temperatures",
        heading: "Temperatures",
        body,
    })
}
