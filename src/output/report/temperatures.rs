//! What the plate buys.

use super::{Html, Section, set};
use crate::document;
use crate::job::Job;
use crate::result::catalogue::OutputFile;

pub fn section(job: &Job, files: &[OutputFile]) -> Option<Section> {
    let heat = document::heat::heat(job.heat.as_ref()?, job.pressing.is_some());
    let mut body = Html::default();
    set::set(&heat, files, &mut body);
    Some(Section {
        id: "temperatures",
        heading: "Temperatures",
        body,
    })
}
