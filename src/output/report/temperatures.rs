//! What the plate buys.

use super::pictures::figure;
use super::{Html, Run, Section};
use crate::heat::{Heat, Range};
use crate::job::Job;
use crate::quantity::plain;
use crate::result::catalogue::OutputFile;
use crate::words;

pub fn section(job: &Job, files: &[OutputFile]) -> Option<Section> {
    let heat = job.heat.as_ref()?;
    let mut body = Html::default();
    body.sentence("/heat/answer_text", &words::heat::verdict(heat))
        .sentence("/heat/dominates", &words::heat::dominates(heat))
        .sentence("/heat/pad_advice", &words::heat::pad_advice(heat));
    for (name, caption) in [
        (
            "heat_parts.svg",
            "How warm each part gets, before and after, and how far that can be trusted.",
        ),
        (
            "heat_map.svg",
            "Temperatures over the plate, from above and along its section.",
        ),
        (
            "heat_ladder.svg",
            "Where the degrees go, from the inside of the part that needs help most to the air.",
        ),
        (
            "heat_pads.svg",
            "What a better pad would bring that part, and where it stops paying.",
        ),
    ] {
        figure(files, name, caption, &mut body);
    }
    body.paragraph(
        "In brackets stands where nine in ten draws of everything that is not known exactly lie.",
    );
    parts(heat, &mut body);
    improvements(heat, &mut body);
    pipes(heat, &mut body);
    body.heading("Before you believe one explanation")
        .sentences("/heat/tell_apart", &words::heat::tell_apart(heat))
        .heading("Take care with heat")
        .sentences("/heat/cautions", &words::heat::CAUTIONS);
    Some(Section {
        id: "temperatures",
        heading: "Temperatures",
        body,
    })
}

fn range(pointer: &str, range: Range, decimals: usize) -> Run {
    let end = |word: &str, number: f64| Run::rounded(format!("{pointer}/{word}"), number, decimals);
    Run::of(&[
        end("middle", range.middle),
        Run::words(" ("),
        end("low", range.low),
        Run::words(" to "),
        end("high", range.high),
        Run::words(")"),
    ])
}

fn limit(pointer: &str, limit_c: Option<f64>, above: bool) -> Run {
    let Some(limit_c) = limit_c else {
        return Run::words("-").as_number();
    };
    let number = Run::number(pointer, limit_c, &plain(limit_c));
    if above {
        let mut html = Html::default();
        html.markup("<span class=\"bad\">, above it</span>");
        Run::of(&[number, Run::from(html)])
    } else {
        number
    }
}

fn parts(heat: &Heat, body: &mut Html) {
    let has_old = heat.old_plate.is_some();
    let rows: Vec<Vec<Run>> = heat
        .parts
        .iter()
        .enumerate()
        .map(|(number, part)| {
            let place = |field: &str| format!("/heat/parts/{number}/{field}");
            let or_dash = |field: &str, value: Option<Range>, decimals: usize| {
                value.map_or_else(
                    || Run::words("-").as_number(),
                    |value| range(&place(field), value, decimals),
                )
            };
            let mut row = vec![
                Run::said(place("name"), &part.name),
                Run::number(place("heat_w"), part.heat_w, &plain(part.heat_w)),
            ];
            if has_old {
                row.push(or_dash("old_inside_c", part.old_inside_c, 0));
            }
            row.push(range(&place("inside_c"), part.inside_c, 0));
            if has_old {
                row.push(or_dash("difference_k", part.difference_k, 1));
            }
            row.push(Run::rounded(place("into_plate_w"), part.into_plate_w, 1));
            row.push(limit(&place("limit_c"), part.limit_c, part.above_limit));
            row
        })
        .collect();
    let heads: &[&str] = if has_old {
        &[
            "part",
            "heat, W",
            "old plate, °C",
            "new plate, °C",
            "change, K",
            "into the new plate, W",
            "limit, °C",
        ]
    } else {
        &[
            "part",
            "heat, W",
            "new plate, °C",
            "into the plate, W",
            "limit, °C",
        ]
    };
    body.table("Temperatures inside the parts", heads, &rows);
}

fn improvements(heat: &Heat, body: &mut Html) {
    let Some(focus) = heat.focus() else {
        return;
    };
    let rows: Vec<Vec<Run>> = heat
        .improvements
        .iter()
        .enumerate()
        .filter(|(_, one)| one.counts())
        .map(|(number, one)| {
            let place = |field: &str| format!("/heat/improvements/{number}/{field}");
            vec![
                Run::said(place("what"), &one.what),
                Run::rounded(place("gain_k"), one.gain_k, 1),
            ]
        })
        .collect();
    if rows.is_empty() {
        return;
    }
    body.markup("<h3>What to improve next for ")
        .value("/heat/focus", &focus.name)
        .markup("</h3>\n")
        .table("Each for itself, best first", &["what", "K cooler"], &rows);
}

fn pipes(heat: &Heat, body: &mut Html) {
    let has_old = heat.old_plate.is_some();
    let rows: Vec<Vec<Run>> = heat
        .pipes
        .iter()
        .enumerate()
        .map(|(number, pipe)| {
            let place = |field: &str| format!("/heat/heat_pipes/{number}/{field}");
            let mut row = vec![Run::said(place("name"), &pipe.name)];
            if has_old {
                row.push(Run::rounded_or_dash(
                    place("old_vapour_c"),
                    pipe.old_vapour_c,
                    1,
                ));
            }
            row.extend([
                Run::rounded(place("vapour_c"), pipe.vapour_c, 1),
                Run::rounded(place("from_plate_w"), pipe.from_plate_w, 1),
                Run::rounded(place("seat_mm2"), pipe.seat_mm2, 0),
                limit(&place("limit_c"), pipe.limit_c, pipe.above_limit),
            ]);
            row
        })
        .collect();
    let heads: &[&str] = if has_old {
        &[
            "heat pipe",
            "vapour before, °C",
            "vapour now, °C",
            "from the plate, W",
            "seat, mm²",
            "limit, °C",
        ]
    } else {
        &[
            "heat pipe",
            "vapour, °C",
            "from the plate, W",
            "seat, mm²",
            "limit, °C",
        ]
    };
    body.table("Heat pipes", heads, &rows);
}
