//! How far each board part is from the metal, and what must stay clear of it.

use super::places::{COMPONENTS, GAP_CAUTIONS, GAPS_JUDGED_TEXT, OBSTACLES, STEPS, entry};
use super::{Cell, Column, Digits, Document, Line, Media, Medium, Table};
use crate::fit::{ComponentFit, Fit, GapVerdict, Judged};
use crate::forming::pressing::Pressing;
use crate::part::{Kind, Part, Treatment};
use crate::words;

/// Pads named in a table; the JSON document has them all.
const PADS_SHOWN: usize = 3;

/// What is known about gaps.
pub fn gaps(part: &Part, fit: &Fit, pressing: Option<&Pressing>) -> Document {
    let mut document = Document::default();
    document
        .text(Media::USUAL, how_many_fit(fit))
        .text(Media::ALL, judged(part, pressing))
        .table(Media::ALL, components(part, fit))
        .table(Media::USUAL, meanings(part, fit))
        .table(Media::ALL, obstacles(fit))
        .table(Media::USUAL, steps(part))
        .care(
            Media::USUAL,
            words::gaps::cautions(part, fit)
                .into_iter()
                .enumerate()
                .map(|(number, words)| Line::said(entry(GAP_CAUTIONS, number), words)),
        );
    document
}

/// Which plate the gaps are judged on.
pub fn judged(part: &Part, pressing: Option<&Pressing>) -> Line {
    Line::said(GAPS_JUDGED_TEXT, words::press::gaps_judged(part, pressing))
}

/// One line about all gaps. Counts stand in no place of the document, so the page is told without them.
pub fn how_many_fit(fit: &Fit) -> &'static str {
    let fits = fit.bad_components().next().is_none();
    let clears = fit.obstacles.iter().all(|obstacle| obstacle.clears);
    match (fits, clears, fit.obstacles.is_empty()) {
        (true, true, true) => "Every board part has its pad or its distance.",
        (true, true, false) => {
            "Every board part has its pad or its distance, and every obstacle stays clear."
        }
        (false, true, _) => "Not every board part fits; the reasons stand above.",
        (true, false, _) => {
            "Every board part fits, but an obstacle is in the way; the reasons stand above."
        }
        (false, false, _) => {
            "Not every board part fits, and an obstacle is in the way; the reasons stand above."
        }
    }
}

/// Pads that would fit, the first few.
fn pads(place: &str, component: &ComponentFit) -> Line {
    let mut line = Line::default();
    let shown = component.fitting_pads.iter().take(PADS_SHOWN);
    for (number, pad) in shown.enumerate() {
        if number > 0 {
            line = line.then(", ");
        }
        line = line.then_said(format!("{place}/fitting_pads/{number}"), pad);
    }
    match component.fitting_pads.len().saturating_sub(PADS_SHOWN) {
        0 => line,
        _ => line.then(" and more"),
    }
}

fn kind(kind: Kind) -> &'static str {
    match kind {
        Kind::PowerStage => "power stage",
        Kind::Inductor => "inductor",
        Kind::Capacitor => "capacitor",
        Kind::Memory => "memory",
        Kind::Other => "other",
    }
}

fn verdict_word(verdict: GapVerdict) -> &'static str {
    match verdict {
        GapVerdict::PadFits | GapVerdict::Clear => "good",
        GapVerdict::PadTooThin => "PAD TOO THIN",
        GapVerdict::PadTooThick => "PAD TOO THICK",
        GapVerdict::GapUneven => "GAP UNEVEN",
        GapVerdict::TooClose => "TOO CLOSE",
        GapVerdict::Touches => "TOUCHES",
        GapVerdict::NotCovered => "NOT COVERED",
    }
}

fn judgement(good: bool, words: &str) -> Cell {
    if good {
        Cell::words(words)
    } else {
        Cell::bad(words)
    }
}

/// The numbers of every board part: as drawn, then as pressed.
fn components(part: &Part, fit: &Fit) -> Table {
    let is_pressed = fit.judged == Judged::Pressed;
    let hundredths = |head: &str| Column::fixed(head, "", 2);
    let mut columns = vec![
        Column::words("name"),
        Column::words("kind").on(Media::DETAIL),
        hundredths("gap min"),
        hundredths("mean").on(Media::DETAIL),
        hundredths("max"),
        hundredths("±").on(Media::DETAIL),
        hundredths("clearance").on(Media::USUAL),
    ];
    if is_pressed {
        columns.extend([
            hundredths("pressed min"),
            hundredths("mean").on(Media::DETAIL),
            hundredths("max"),
            hundredths("clearance").on(Media::USUAL),
        ]);
    }
    columns.push(Column::words("verdict").on(Media::USUAL));
    columns.push(Column::words("because").on(Media::only(Medium::Summary)));
    let rows = part.components.iter().zip(&fit.components).enumerate();
    let rows = rows.map(|(number, (component, fit))| {
        let at = entry(COMPONENTS, number);
        let gap = |field: &str, mm: Option<f64>| Cell::or_absent(format!("{at}/{field}"), mm);
        let mut row = vec![
            Cell::said(format!("{at}/name"), &fit.name),
            Cell::words(kind(component.kind)),
            gap("gap_min_mm", fit.gap_min_mm),
            gap("gap_mean_mm", fit.gap_mean_mm),
            gap("gap_max_mm", fit.gap_max_mm),
            gap("gap_plus_minus_mm", fit.gap_plus_minus_mm),
            gap("clearance_mm", Some(fit.clearance_mm)),
        ];
        if is_pressed {
            let pressed = fit.pressed.as_ref();
            row.extend([
                gap("pressed_gap_min_mm", pressed.and_then(|one| one.gap_min_mm)),
                gap(
                    "pressed_gap_mean_mm",
                    pressed.and_then(|one| one.gap_mean_mm),
                ),
                gap("pressed_gap_max_mm", pressed.and_then(|one| one.gap_max_mm)),
                gap("pressed_clearance_mm", pressed.map(|one| one.clearance_mm)),
            ]);
        }
        row.push(judgement(fit.verdict.is_good(), verdict_word(fit.verdict)));
        // Where the verdict has no column of its own.
        let not = if fit.verdict.is_good() {
            Line::default()
        } else {
            Line::default().then_bad("not good: ")
        };
        row.push(not.join(because(&at, fit)).into());
        row
    });
    let pressed = if is_pressed {
        "; first as drawn, then as pressed"
    } else {
        ""
    };
    let caption = format!(
        "Board parts, mm (gap: straight up to the metal; clearance: shortest distance to metal{pressed})"
    );
    Table::new(caption, columns).with(rows)
}

fn because(at: &str, fit: &ComponentFit) -> Line {
    Line::said(format!("{at}/verdict_text"), &fit.verdict_text)
}

/// What the numbers mean: words below the numbers, side by side they would not fit a usual terminal.
fn meanings(part: &Part, fit: &Fit) -> Table {
    let rows = part.components.iter().zip(&fit.components).enumerate();
    let rows = rows.map(|(number, (component, fit))| {
        let at = entry(COMPONENTS, number);
        vec![
            Cell::said(format!("{at}/name"), &fit.name),
            match &fit.facing {
                Some(facing) => Line::said(format!("{at}/facing"), facing)
                    .then(", ")
                    .then_number(
                        format!("{at}/covered_percent"),
                        fit.covered_percent,
                        Digits::Fixed(0),
                    )
                    .then(" %")
                    .into(),
                None => Cell::words("no metal"),
            },
            because(&at, fit).into(),
            match component.treatment {
                Treatment::Bare { .. } => Cell::Absent,
                Treatment::Pad(_) if fit.fitting_pads.is_empty() => Cell::words("none"),
                Treatment::Pad(_) => pads(&at, fit).into(),
            },
        ]
    });
    let columns = ["name", "covered by", "because", "pads that fit"].map(Column::words);
    Table::new("What covers them, and what that means", columns.into()).with(rows)
}

fn obstacles(fit: &Fit) -> Table {
    let is_pressed = fit.judged == Judged::Pressed;
    let mut columns = vec![
        Column::words("name"),
        Column::fixed("clearance", "", 2),
        Column::fixed("wanted", "", 2),
        Column::words("verdict"),
    ];
    if is_pressed {
        columns.insert(2, Column::fixed("pressed", "", 2));
    }
    let rows = fit.obstacles.iter().enumerate().map(|(number, obstacle)| {
        let at = entry(OBSTACLES, number);
        let mut row = vec![
            Cell::said(format!("{at}/name"), &obstacle.name),
            Cell::or_absent(format!("{at}/clearance_mm"), Some(obstacle.clearance_mm)),
        ];
        if is_pressed {
            row.push(Cell::or_absent(
                format!("{at}/pressed_clearance_mm"),
                obstacle.pressed_clearance_mm,
            ));
        }
        row.push(Cell::number(format!("{at}/wanted_mm"), obstacle.wanted_mm));
        row.push(if obstacle.clears {
            Cell::words("good")
        } else {
            Cell::bad("IN THE WAY")
        });
        row
    });
    Table::new("Obstacles, mm: shortest distance to metal", columns).with(rows)
}

fn steps(part: &Part) -> Table {
    let rows = part.flats.windows(2).zip(&part.steps).enumerate();
    let rows = rows.filter_map(|(number, (flats, step))| {
        let [from, to] = flats else { return None };
        let at = entry(STEPS, number);
        let place = |field: &str| format!("{at}/{field}");
        let [first, second] = step.inside_radius_mm;
        let mut radii = Line::number(place("inside_radius_mm/0"), first, Digits::Plain);
        if first != second {
            let place = place("inside_radius_mm/1");
            radii = radii
                .then(" then ")
                .then_number(place, second, Digits::Plain);
        }
        let (digits, how) = if step.run_was_solved {
            (Digits::Fixed(3), ", solved")
        } else {
            (Digits::Plain, ", given")
        };
        Some(vec![
            Cell::said(place("from"), &from.name),
            Cell::said(place("to"), &to.name),
            Line::number(place("rise_mm"), step.shape.rise_mm, Digits::Fixed(2))
                .then(if step.up { " up" } else { " down" })
                .into(),
            Cell::number(place("run_mm"), step.shape.run_mm),
            Cell::number(place("wall_angle_deg"), step.shape.bend.degrees()),
            Cell::number(place("wall_mm"), step.shape.wall_mm),
            radii.into(),
            Line::number(place("next_from_mm"), to.level.from_mm, digits)
                .then(how)
                .into(),
        ])
    });
    let columns = vec![
        Column::words("from"),
        Column::words("to"),
        Column::fixed("rise", "", 2),
        Column::fixed("run", "", 2),
        Column::fixed("angle", "°", 1),
        Column::fixed("wall", "", 2),
        Column::words("radii"),
        Column::words("next from x ="),
    ];
    Table::new("Steps, mm (wall: its straight length; radii: inside; x of the next flat given or solved from the angle)", columns).with(rows)
}
