//! What comes out of the vise, where it was calculated.

use super::{Html, Section, set};
use crate::document;
use crate::job::Job;
use crate::result::catalogue::OutputFile;

pub fn section(job: &Job, files: &[OutputFile]) -> Option<Section> {
    let mut body = Html::default();
    set::set(&document::press::of_job(job), files, &mut body);
    (!body.is_empty()).then_some(Section {
        id: "pressing",
        heading: "Pressing",
        body,
    })
}
