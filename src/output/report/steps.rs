//! The build sheet on the page: the same steps as on paper.

use super::{Html, Run, Section};
use crate::document::build_sheet::{Block, build_sheet};
use crate::job::Job;

/// What to do, step by step.
pub fn section(job: &Job) -> Section {
    let sheet = build_sheet(job);
    let mut body = Html::default();
    body.markup("<p>To print: <a href=\"build_sheet.pdf\">build_sheet.pdf</a>.</p>\n");
    body.markup("<ol class=\"steps\">\n");
    for (number, step) in sheet.steps.iter().enumerate() {
        let place = format!("/build_sheet/steps/{number}");
        body.markup("<li>\n")
            .marked("h3", &format!("{place}/title"), &step.title)
            .markup("\n");
        for (number, block) in step.blocks.iter().enumerate() {
            let place = format!("{place}/blocks/{number}");
            match block {
                Block::Text { text } => {
                    body.sentence(&format!("{place}/text"), text);
                }
                Block::Care { text } => {
                    body.markup("<div class=\"care\"><strong>Care:</strong>")
                        .sentence(&format!("{place}/text"), text)
                        .markup("</div>\n");
                }
                Block::List { items } => {
                    body.markup("<ul>\n");
                    for (number, item) in items.iter().enumerate() {
                        body.marked("li", &format!("{place}/items/{number}"), item)
                            .markup("\n");
                    }
                    body.markup("</ul>\n");
                }
                Block::Table {
                    caption,
                    head,
                    rows,
                } => {
                    let head: Vec<&str> = head.iter().map(String::as_str).collect();
                    let rows: Vec<Vec<Run>> = rows
                        .iter()
                        .enumerate()
                        .map(|(row_number, row)| {
                            row.iter()
                                .enumerate()
                                .map(|(column, cell)| {
                                    Run::said(format!("{place}/rows/{row_number}/{column}"), cell)
                                })
                                .collect()
                        })
                        .collect();
                    body.table(caption, &head, &rows);
                }
            }
        }
        body.markup("</li>\n");
    }
    body.markup("</ol>\n");
    Section {
        id: "steps",
        heading: "Build it, step by step",
        body,
    }
}
