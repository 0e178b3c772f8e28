//! What to cut, and where to bend it.

use super::places::{BLANK, SHEET, entry};
use super::{Block, Cell, Column, Digits, Document, Line, Media, Medium, Table, between};
use crate::blank::{Blank, Direction, StretchKind};
use crate::numbers::plain;
use crate::part::Part;
use crate::stock::tolerance::{ToleranceClass, general_tolerance_mm};

/// What is known of the flat blank.
pub fn blank(part: &Part, blank: &Blank) -> Document {
    let terminal = Media::only(Medium::Terminal);
    let mut document = Document::default();
    document
        .push(
            Media::DETAIL,
            Block::Picture {
                name: "blank.svg",
                caption: "The flat blank; here it fills the page, the file prints it at true size.",
            },
        )
        .text(Media::ALL, cut(part, blank))
        .text(Media::ALL, itself(blank))
        .text(Media::ALL, rule(blank));
    if let Some(plus_minus_mm) =
        general_tolerance_mm(ToleranceClass::Medium, blank.developed_length_mm)
    {
        document.text(
            terminal,
            format!(
                "A usual workshop tolerance for that length: ± {} mm (ISO 2768-1, medium).",
                plain(plus_minus_mm)
            ),
        );
    }
    document
        .table(Media::ALL, bends(blank))
        .table(Media::USUAL, bend_lengths(blank))
        .table(Media::USUAL, stretches(blank))
        .table(Media::USUAL, rules(blank))
        .list(
            terminal,
            blank
                .other_rules
                .iter()
                .map(|rule| format!("{}: {}", rule.name, rule.source)),
        )
        .table(Media::USUAL, holes(blank))
        .care(
            Media::USUAL,
            [
                "Cut sheet is sharp: gloves, eye protection, deburr every edge before you bend.",
                "Bend lines are for marking only: in the dies nothing is bent by hand.",
            ],
        );
    document
}

/// What to cut, in one sentence.
pub fn cut(part: &Part, blank: &Blank) -> Line {
    let [length_mm, width_mm] = blank.rectangle_mm;
    let sheet = &part.sheet;
    Line::words("Cut ")
        .then_number(
            format!("{BLANK}/rectangle_mm/0"),
            length_mm,
            Digits::Fixed(2),
        )
        .then(" x ")
        .then_number(
            format!("{BLANK}/rectangle_mm/1"),
            width_mm,
            Digits::Fixed(2),
        )
        .then(" mm from ")
        .then_number(
            format!("{SHEET}/thickness_mm"),
            sheet.thickness_mm,
            Digits::Plain,
        )
        .then(" mm ")
        .then_said(format!("{SHEET}/metal"), &sheet.metal.name)
        .then(".")
}

fn itself(blank: &Blank) -> Line {
    let number = |field: &str, value: f64, decimals: usize| {
        Line::number(format!("{BLANK}/{field}"), value, Digits::Fixed(decimals))
    };
    Line::words("The blank itself: developed length ")
        .join(number("developed_length_mm", blank.developed_length_mm, 2))
        .then(" mm, width ")
        .join(number("width_mm", blank.width_mm, 2))
        .then(" mm, area of one face ")
        .join(number("area_mm2", blank.area_mm2, 0))
        .then(" mm², mass ")
        .join(number("mass_g", blank.mass_g, 1))
        .then(" g.")
}

fn rule(blank: &Blank) -> Line {
    Line::words("K-factor by ")
        .then_said(format!("{BLANK}/k_rule/text"), blank.k_rule.text)
        .then(if blank.k_rule.is_pressed {
            ", which knows the neutral line better than a rule"
        } else if blank.k_rule.is_default {
            ", the default"
        } else {
            ", as the part file asks"
        })
        .then("; published rules differ by ")
        .then_number(
            format!("{BLANK}/spread_mm"),
            blank.spread_mm,
            Digits::Fixed(2),
        )
        .then(" mm in length: leave that at one end for filing.")
}

fn bends(blank: &Blank) -> Table {
    let rows = blank.bends.iter().enumerate().map(|(number, bend)| {
        let at = entry(&format!("{BLANK}/bends"), number);
        let place = |field: &str| format!("{at}/{field}");
        vec![
            between(&at, &bend.between).into(),
            Cell::words(match bend.direction {
                Direction::Up => "up",
                Direction::Down => "down",
            }),
            Cell::number(place("angle_deg"), bend.angle_deg),
            Cell::number(place("inside_radius_mm"), bend.inside_radius_mm),
            Cell::number(place("start_mm"), bend.start_mm),
            Cell::number(place("centre_mm"), bend.centre_mm),
            Cell::number(place("end_mm"), bend.end_mm),
        ]
    });
    let columns = vec![
        Column::words("step"),
        Column::words("way"),
        Column::fixed("angle", "°", 1),
        Column::numbers("radius", "", Digits::Plain),
        Column::fixed("from", "", 2),
        Column::fixed("bend line", "", 2),
        Column::fixed("to", "", 2),
    ];
    Table::new(
        "Bends, mm from the left end of the blank, seen from above (radius: inside)",
        columns,
    )
    .with(rows)
}

fn bend_lengths(blank: &Blank) -> Table {
    let rows = blank.bends.iter().enumerate().map(|(number, bend)| {
        let at = entry(&format!("{BLANK}/bends"), number);
        let place = |field: &str| format!("{at}/{field}");
        vec![
            between(&at, &bend.between).into(),
            Cell::number(place("k_factor"), bend.k_factor),
            Cell::number(place("allowance_mm"), bend.allowance_mm),
            Cell::number(place("setback_mm"), bend.setback_mm),
        ]
    });
    let columns = vec![
        Column::words("step"),
        Column::fixed("K", "", 3),
        Column::fixed("allowance", "mm", 3),
        Column::fixed("setback", "mm", 3),
    ];
    Table::new("What each bend takes of the blank", columns).with(rows)
}

fn stretches(blank: &Blank) -> Table {
    let rows = blank.stretches.iter().enumerate().map(|(number, stretch)| {
        let at = entry(&format!("{BLANK}/stretches"), number);
        let place = |field: &str| format!("{at}/{field}");
        vec![
            Cell::said(place("name"), &stretch.name),
            Cell::words(match stretch.kind {
                StretchKind::Flat => "flat",
                StretchKind::Bend => "bend",
                StretchKind::Wall => "wall",
            }),
            Cell::number(place("start_mm"), stretch.start_mm),
            Cell::number(place("end_mm"), stretch.end_mm),
            Cell::number(place("length_mm"), stretch.length_mm),
        ]
    });
    let columns = vec![
        Column::words("name"),
        Column::words("becomes"),
        Column::fixed("from", "", 2),
        Column::fixed("to", "", 2),
        Column::fixed("length", "", 3),
    ];
    Table::new("Stretches, mm", columns).with(rows)
}

fn rules(blank: &Blank) -> Table {
    let rows = blank.other_rules.iter().enumerate().map(|(number, rule)| {
        let at = entry(&format!("{BLANK}/other_rules"), number);
        let place = |field: &str| format!("{at}/{field}");
        vec![
            Cell::said(place("name"), rule.name),
            Cell::number(place("developed_length_mm"), rule.developed_length_mm),
            Cell::number(place("difference_mm"), rule.difference_mm),
            Cell::said(place("source"), rule.source),
        ]
    });
    let columns = vec![
        Column::words("rule"),
        Column::fixed("length", "", 3),
        Column::numbers("against used", "", Digits::Signed(3)),
        Column::words("source").on(Media::DETAIL),
    ];
    Table::new("The same length by every rule for K, mm", columns).with(rows)
}

fn holes(blank: &Blank) -> Table {
    let rows = blank.holes.iter().enumerate().map(|(number, hole)| {
        let at = entry(&format!("{BLANK}/holes"), number);
        let place = |field: &str| format!("{at}/{field}");
        let [along, across] = hole.centre_mm;
        let (low, high) = hole.shape.bounds();
        vec![
            Cell::said(place("name"), &hole.name),
            Cell::number(place("centre_mm/0"), along),
            Cell::number(place("centre_mm/1"), across),
            hole.diameter_mm.map_or_else(
                || Cell::words("not round on the blank"),
                |mm| Cell::number(place("diameter_mm"), mm),
            ),
            Cell::words(format!("{:.2} x {:.2}", high.x - low.x, high.y - low.y)),
        ]
    });
    let columns = vec![
        Column::words("name"),
        Column::fixed("along", "", 2),
        Column::fixed("across", "", 2),
        Column::numbers("diameter", "", Digits::Plain),
        Column::words("box").on(Media::only(Medium::Terminal)),
    ];
    Table::new("Holes on the blank, mm", columns).with(rows)
}
