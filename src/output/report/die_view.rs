//! The die pair: a view that opens and closes it, and the drawings that stand in its place.

use super::pictures::figure;
use super::scene::scene;
use super::{Html, Run, Section};
use crate::dies::{DieBlock, Tooling};
use crate::job::Job;
use crate::result::catalogue::{OutputFile, stl_name};

/// Where links to it lead.
pub const ID: &str = "dies";

/// Whether there is something to view.
pub fn has_scene(job: &Job) -> bool {
    job.tooling.is_ok()
}

pub fn section(job: &Job, files: &[OutputFile]) -> Section {
    let mut body = Html::default();
    let Ok(tooling) = &job.tooling else {
        body.paragraph("There is no die pair: the reasons stand in the answer above.");
        return Section {
            id: ID,
            heading: "Dies",
            body,
        };
    };
    if let Some(scene) = scene(job) {
        view(job, tooling, &scene, &mut body);
    }
    body.markup("<div class=\"instead\">\n");
    figure(
        files,
        "dies.svg",
        "The closed pair in section, with the sheet between.",
        &mut body,
    );
    figure(
        files,
        "states.svg",
        "Blank laid in, touching, closed, opened.",
        &mut body,
    );
    body.markup("</div>\n");
    table(tooling, &mut body);
    Section {
        id: ID,
        heading: "Dies",
        body,
    }
}

fn view(job: &Job, tooling: &Tooling, scene: &str, body: &mut Html) {
    body.markup(
        "<div class=\"view\" role=\"group\" aria-label=\"3D view of the dies and the sheet\">\n\
         <canvas id=\"view\" tabindex=\"0\" role=\"application\" aria-label=\"Dies and sheet in three dimensions\" \
         aria-describedby=\"view-hint\"></canvas>\n\
         <p id=\"view-said\" class=\"said\" aria-live=\"polite\"></p>\n\
         <div class=\"controls\">\n\
         <button id=\"view-play\" type=\"button\" data-play=\"Play\" data-pause=\"Pause\">Play</button>\n\
         <div class=\"time\"><label for=\"view-time\">open, closed, opened</label>\n\
         <input id=\"view-time\" type=\"range\" min=\"0\" max=\"200\" value=\"0\" step=\"1\"/></div>\n\
         <button id=\"view-reset\" type=\"button\">Reset view</button>\n</div>\n\
         <div class=\"controls\">\n<fieldset><legend>See through:</legend>\n",
    );
    // Through the upper die the sheet is seen from the first moment to the last.
    for (name, words, checked) in [
        ("upper", "upper die", " checked=\"checked\""),
        ("lower", "lower die", ""),
        ("sheet", "sheet", ""),
    ] {
        body.markup(&format!(
            "<label><input id=\"view-{name}\" type=\"checkbox\"{checked}/> {words}</label>\n"
        ));
    }
    body.markup("</fieldset>\n</div>\n<p id=\"view-hint\" class=\"note\">")
        .text(
            "Drag to turn, pinch or turn the wheel to come nearer. By keyboard: arrow keys turn the view, + and - change \
             the distance, Home brings the first view back.",
        )
        .markup("</p>\n<p class=\"note\">What is played, one after the other:</p>\n<ol id=\"view-stages\" class=\"stages\">\n");
    let closing = if job.pressing.is_some() {
        "The dies close, and the sheet bends as the pressing was calculated"
    } else {
        "The dies close; the sheet between is only sketched, because no pressing was calculated"
    };
    let backs = |pointer: &str, number: f64| {
        Run::of(&[
            Run::words(": backs "),
            Run::rounded(pointer, number, 1),
            Run::words(" mm apart"),
        ])
    };
    // In the order of `Stage::ALL`.
    let stages = [
        (
            "The flat blank is laid in, the upper die is lifted off",
            None,
        ),
        ("The upper die comes down", None),
        (
            "The upper die touches the blank",
            Some(backs(
                "/dies/touching_height_mm",
                tooling.touching_height_mm,
            )),
        ),
        (closing, None),
        (
            "Closed",
            Some(backs("/dies/closed_height_mm", tooling.closed_height_mm)),
        ),
        ("The dies open, and the plate springs back", None),
        ("Opened: the pressed plate lies in the lower die", None),
    ];
    for (words, more) in stages {
        body.markup("<li data-stage=\"")
            .text(words)
            .markup("\">")
            .text(words);
        if let Some(more) = more {
            body.run(&more);
        }
        body.markup("</li>\n");
    }
    body.markup("</ol>\n</div>\n<script id=\"scene\" type=\"application/json\">")
        .markup(scene)
        .markup("</script>\n");
}

fn table(tooling: &Tooling, body: &mut Html) {
    let rows: Vec<Vec<Run>> = tooling
        .blocks
        .iter()
        .enumerate()
        .map(|(number, block)| row(number, block))
        .collect();
    body.table(
        "What to print",
        &[
            "die",
            "size, mm",
            "print it",
            "hangs over, mm²",
            "volume, mm³",
            "plastic, g",
        ],
        &rows,
    );
}

fn row(number: usize, block: &DieBlock) -> Vec<Run> {
    let place = |field: &str| format!("/dies/blocks/{number}/{field}");
    let [x, y, z] = block.size_mm;
    let pose = block
        .print
        .poses
        .iter()
        .position(|check| check.pose == block.print.pose)
        .unwrap_or_default();
    vec![
        Run::said(place("file"), stl_name(block.role)),
        Run::of(&[
            Run::rounded(place("size_mm/0"), x, 1),
            Run::words(" x "),
            Run::rounded(place("size_mm/1"), y, 1),
            Run::words(" x "),
            Run::rounded(place("size_mm/2"), z, 1),
        ])
        .as_words(),
        Run::words(block.print.pose.words()),
        Run::rounded(
            place(&format!("print/poses/{pose}/overhang_mm2")),
            block.print.overhang_mm2(),
            0,
        ),
        Run::rounded(place("volume_mm3"), block.volume_mm3, 0),
        Run::rounded(
            place("print/estimated_mass_g"),
            block.print.estimated_mass_g,
            0,
        ),
    ]
}
