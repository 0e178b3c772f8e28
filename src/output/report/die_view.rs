//! The die pair: a view that opens and closes it, and the drawings that stand in its place.

use super::scene::scene;
use super::{Html, Section, set};
use crate::document::places::DIES;
use crate::document::{self, Digits, Line};
use crate::job::{Backs, Job};
use crate::result::catalogue::OutputFile;

/// Where links to it lead.
pub const ID: &str = "dies";

/// Whether there is something to view.
pub fn has_scene(job: &Job) -> bool {
    job.tooling.is_ok()
}

pub fn section(job: &Job, files: &[OutputFile]) -> Section {
    let mut body = Html::default();
    if let Some(scene) = scene(job) {
        view(job, &scene, &mut body);
    }
    if has_scene(job) {
        body.element("div", &[("class", "instead")], |instead| {
            set::set(&document::dies::pictures(job), files, instead);
        });
    }
    set::set(&document::dies::dies(job), files, &mut body);
    Section {
        id: ID,
        heading: "Dies",
        body,
    }
}

fn view(job: &Job, scene: &str, body: &mut Html) {
    let view = [
        ("class", "view"),
        ("role", "group"),
        ("aria-label", "3D view of the dies and the sheet"),
    ];
    body.element("div", &view, |view| {
        canvas(view);
        controls(view);
        view.words(
            "p",
            &[("id", "view-hint"), ("class", "note")],
            "Drag to turn, pinch or turn the wheel to come nearer. By keyboard: arrow keys turn the view, + and - change \
             the distance, Home brings the first view back.",
        );
        view.words("p", &[("class", "note")], "What is played, one after the other:");
        stages(job, view);
    });
    let data = [("id", "scene"), ("type", "application/json")];
    body.element("script", &data, |script| {
        script.whole(scene);
    });
}

fn canvas(view: &mut Html) {
    let canvas = [
        ("id", "view"),
        ("tabindex", "0"),
        ("role", "application"),
        ("aria-label", "Dies and sheet in three dimensions"),
        ("aria-describedby", "view-hint"),
    ];
    let said = [
        ("id", "view-said"),
        ("class", "said"),
        ("aria-live", "polite"),
    ];
    view.element("canvas", &canvas, |_| ())
        .element("p", &said, |_| ());
}

fn controls(view: &mut Html) {
    let play = [
        ("id", "view-play"),
        ("type", "button"),
        ("data-play", "Play"),
        ("data-pause", "Pause"),
    ];
    let time = [
        ("id", "view-time"),
        ("type", "range"),
        ("min", "0"),
        ("max", "200"),
        ("value", "0"),
        ("step", "1"),
    ];
    view.element("div", &[("class", "controls")], |controls| {
        controls
            .words("button", &play, "Play")
            .element("div", &[("class", "time")], |slider| {
                slider
                    .words("label", &[("for", "view-time")], "open, closed, opened")
                    .element("input", &time, |_| ());
            })
            .words(
                "button",
                &[("id", "view-reset"), ("type", "button")],
                "Reset view",
            );
    });
    view.element("div", &[("class", "controls")], |controls| {
        controls.element("fieldset", &[], |fieldset| {
            fieldset.words("legend", &[], "See through:");
            // Through the upper die the sheet is seen from the first moment to the last.
            for (id, words, is_on) in [
                ("view-upper", "upper die", true),
                ("view-lower", "lower die", false),
                ("view-sheet", "sheet", false),
            ] {
                let mut input = vec![("id", id), ("type", "checkbox")];
                if is_on {
                    input.push(("checked", "checked"));
                }
                fieldset.element("label", &[], |label| {
                    label
                        .element("input", &input, |_| ())
                        .text(&format!(" {words}"));
                });
            }
        });
    });
}

/// What the view plays, in the order of `Stage::ALL`.
fn stages(job: &Job, view: &mut Html) {
    let closing = if job.pressing.is_some() {
        "The dies close, and the sheet bends as the pressing was calculated"
    } else {
        "The dies close; the sheet between is only sketched, because no pressing was calculated"
    };
    let backs = |field: &str, mm: fn(&Backs) -> f64| {
        job.backs().map(|backs| {
            Line::words(": backs ")
                .then_number(format!("{DIES}/{field}"), mm(&backs), Digits::Fixed(2))
                .then(" mm apart")
        })
    };
    let stages = [
        (
            "The flat blank is laid in, the upper die is lifted off",
            None,
        ),
        ("The upper die comes down", None),
        (
            "The upper die touches the blank",
            backs("touching_height_mm", |backs| backs.touching_mm),
        ),
        (closing, None),
        ("Closed", backs("end_height_mm", |backs| backs.end_mm)),
        ("The dies open, and the plate springs back", None),
        ("Opened: the pressed plate lies in the lower die", None),
    ];
    let list = [("id", "view-stages"), ("class", "stages")];
    view.element("ol", &list, |list| {
        for (words, more) in stages {
            list.element("li", &[("data-stage", words)], |stage| {
                stage.text(words);
                if let Some(more) = more {
                    stage.runs(&more);
                }
            });
        }
    });
}
