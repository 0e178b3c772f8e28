//! What to cut, and where it bends.

use super::{Html, Section, set};
use crate::document;
use crate::job::Job;
use crate::result::catalogue::OutputFile;

pub fn section(job: &Job, files: &[OutputFile]) -> Section {
    let mut body = Html::default();
    let blank = document::blank::blank(&job.part, &job.blank);
    set::set(&blank, files, &mut body);
    Section {
        id: "blank",
        heading: "Blank and bends",
        body,
    }
}
