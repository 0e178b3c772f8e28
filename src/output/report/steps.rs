//! The build sheet on the page: the same steps as on paper.

use super::{Html, Section, set};
use crate::document::Block;
use crate::document::build_sheet::build_sheet;
use crate::document::places::{BUILD_STEPS, entry};
use crate::job::Job;

/// What to do, step by step.
pub fn section(job: &Job) -> Section {
    let sheet = build_sheet(job);
    let mut body = Html::default();
    let paper = "build_sheet.pdf";
    body.element("p", &[], |p| {
        p.text("To print: ")
            .words("a", &[("href", paper)], paper)
            .text(".");
    });
    body.element("ol", &[("class", "steps")], |list| {
        for (number, step) in sheet.steps.iter().enumerate() {
            let at = entry(BUILD_STEPS, number);
            list.element("li", &[], |point| {
                point.marked("h3", &format!("{at}/title"), &step.title);
                for (number, block) in step.blocks.iter().enumerate() {
                    let block = Block::of_sheet(block, &format!("{at}/blocks/{number}"));
                    set::block(&block, &[], point);
                }
            });
        }
    });
    Section {
        id: "steps",
        heading: "Build it, step by step",
        body,
    }
}
