//! A drawing as SVG: true size in millimetres, or enlarged as a picture.

use crate::draw::drawing::{Anchor, Drawing, Item, Shape, Text};
use crate::draw::style::{Fill, HATCH_LINE_MM, Hatch, Ink, Role, Style, WHITE};
use crate::draw::xml::Element;
use crate::geometry::loops::{Loop, LoopEdge, Side, sides};
use crate::numbers::four_decimals as number;
use crate::quantity::Angle;
use nalgebra::Point2;
use std::fmt::Write as _;

/// The line by which the program knows its own SVG files again; it follows the XML declaration.
pub const MARK: &str = "<!-- written by coldstep -->";

/// Air and size of the picture.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SvgOptions {
    /// Air on each side, mm of the drawing; keeps half the width of the outermost lines on paper.
    pub margin_mm: f64,
    /// Printed length over drawn length: 1 for true size. Lines and text grow with it.
    pub scale: f64,
}

impl Default for SvgOptions {
    fn default() -> Self {
        Self {
            margin_mm: 5.0,
            scale: 1.0,
        }
    }
}

/// Arcs are written in pieces no longer than this, well away from the half turn at which the two arcs
/// through the same ends cannot be told apart.
const LONGEST_ARC_DEG: f64 = 120.0;

/// Picture, groups and shapes stand on lines of their own; what is inside a shape does not.
const LINED_DEPTH: usize = 2;

/// Smallest side of the sheet, mm, so that an empty or perfectly flat drawing is still a valid file.
const LEAST_SHEET_MM: f64 = 0.1;

/// Writes a drawing as SVG.
///
/// # Units
/// Width and height are in mm, and one unit inside is one mm of the drawing.
pub fn svg(drawing: &Drawing, options: &SvgOptions) -> Vec<u8> {
    written(drawing, options, |_, item| {
        vec![shape(&item.shape, item.role)]
    })
}

/// Writes a drawing as SVG, each item, with its number, as the elements that `draw` gives for it.
pub(super) fn written(
    drawing: &Drawing,
    options: &SvgOptions,
    draw: impl Fn(usize, &Item) -> Vec<Element>,
) -> Vec<u8> {
    let origin = Point2::origin();
    let (low, high) = drawing.bounds().unwrap_or((origin, origin));
    let margin_mm = options.margin_mm.max(0.0);
    let scale = if options.scale > 0.0 {
        options.scale
    } else {
        1.0
    };
    let width_mm = (high.x - low.x + 2.0 * margin_mm).max(LEAST_SHEET_MM);
    let height_mm = (high.y - low.y + 2.0 * margin_mm).max(LEAST_SHEET_MM);
    let (left, top) = (number(low.x - margin_mm), number(-high.y - margin_mm));
    let (width, height) = (number(width_mm), number(height_mm));

    let mut root = Element::new("svg")
        .with("xmlns", "http://www.w3.org/2000/svg")
        .with("width", format!("{}mm", number(width_mm * scale)))
        .with("height", format!("{}mm", number(height_mm * scale)))
        .with("viewBox", format!("{left} {top} {width} {height}"))
        .with("role", "img")
        .holding(Element::new("title").saying(&drawing.title))
        .holding(Element::new("desc").saying(&drawing.description));
    let hatches = hatches(drawing);
    if !hatches.is_empty() {
        root = root.holding(hatches);
    }
    root = root.holding(Element::new("rect").with_all([
        ("x", left),
        ("y", top),
        ("width", width),
        ("height", height),
        ("fill", colour(WHITE)),
    ]));
    let mut open: Option<(Role, Element)> = None;
    for (number, item) in drawing.items().iter().enumerate() {
        let mut of_role = match open.take() {
            Some((role, group)) if role == item.role => group,
            before => {
                root = closed(root, before);
                group(item.role)
            }
        };
        for element in draw(number, item) {
            of_role = of_role.holding(element);
        }
        open = Some((item.role, of_role));
    }
    let root = closed(root, open);
    let head = "<?xml version=\"1.0\" encoding=\"UTF-8\"?>";
    format!("{head}\n{MARK}\n{}\n", root.into_text(LINED_DEPTH)).into_bytes()
}

/// The picture with one more group of items of one role.
fn closed(root: Element, group: Option<(Role, Element)>) -> Element {
    match group {
        Some((_, group)) => root.holding(group),
        None => root,
    }
}

/// The group that carries the look of a role. Attributes, not a style sheet: cutters' programs
/// read the former more often than the latter.
fn group(role: Role) -> Element {
    let style = role.style();
    let group = Element::new("g").with_all([
        ("class", role.name().to_owned()),
        ("stroke", colour(style.ink)),
        ("stroke-width", number(style.line_mm)),
        ("stroke-linejoin", "round".to_owned()),
        ("fill", "none".to_owned()),
    ]);
    if style.dash_mm.is_empty() {
        return group;
    }
    let dashes: Vec<String> = style.dash_mm.iter().map(|dash| number(*dash)).collect();
    group.with("stroke-dasharray", dashes.join(" "))
}

/// One shape as one element.
pub(super) fn shape(shape: &Shape, role: Role) -> Element {
    match shape {
        Shape::Line { from, to } => Element::new("line").with_all([
            ("x1", number(from.x)),
            ("y1", number(-from.y)),
            ("x2", number(to.x)),
            ("y2", number(-to.y)),
        ]),
        Shape::Path { start, edges } => Element::new("path").with("d", path(*start, edges)),
        Shape::Area { loops } => {
            let parts: Vec<String> = loops.iter().map(closed_path).collect();
            let area = Element::new("path")
                .with("d", parts.join(" "))
                .with("fill-rule", "evenodd");
            filled(area, role)
        }
        Shape::Circle { centre, radius_mm } => {
            let circle = Element::new("circle").with_all([
                ("cx", number(centre.x)),
                ("cy", number(-centre.y)),
                ("r", number(radius_mm.abs())),
            ]);
            filled(circle, role)
        }
        Shape::Text(text) => words(text, &role.style()),
    }
}

fn words(text: &Text, style: &Style) -> Element {
    let anchor = match text.anchor {
        Anchor::Start => "start",
        Anchor::Middle => "middle",
        Anchor::End => "end",
    };
    let (x, y) = (number(text.at.x), number(-text.at.y));
    // A rim of paper round the letters keeps them legible on hatch and lines.
    let element = Element::new("text").with_all([
        ("x", x.clone()),
        ("y", y.clone()),
        ("font-family", "sans-serif".to_owned()),
        ("font-size", number(text.size_mm)),
        ("text-anchor", anchor.to_owned()),
        ("fill", colour(style.ink)),
        ("stroke", colour(WHITE)),
        ("stroke-width", number(text.size_mm * 0.2)),
        ("stroke-dasharray", "none".to_owned()),
        ("paint-order", "stroke".to_owned()),
    ]);
    let turn = number(-text.rotate.degrees());
    let element = if turn == "0" {
        element
    } else {
        element.with("transform", format!("rotate({turn} {x} {y})"))
    };
    element.saying(&text.content)
}

fn path(start: Point2<f64>, edges: &[LoopEdge]) -> String {
    let mut data = format!("M{} {}", number(start.x), number(-start.y));
    for side in sides(start, edges) {
        path_step(&side, &mut data);
    }
    data
}

/// Path data of a closed loop.
pub(super) fn closed_path(one: &Loop) -> String {
    let mut data = path(one.start(), one.edges());
    data.push('Z');
    data
}

fn path_step(side: &Side, data: &mut String) {
    let to = side.edge.to();
    match side.edge {
        LoopEdge::Line { .. } => {
            let _ = write!(data, "L{} {}", number(to.x), number(-to.y));
        }
        LoopEdge::Arc { centre, turn, .. } => {
            let radius = number((side.from - centre).norm());
            // The y axis points down in the file, so a turn to the left has sweep 0.
            let sweep = u8::from(turn.rad() < 0.0);
            let parts = (turn.degrees().abs() / LONGEST_ARC_DEG).ceil().max(1.0);
            let mut part = 1.0;
            while part <= parts {
                let at = if part < parts {
                    side.turned(turn * (part / parts))
                } else {
                    to
                };
                let _ = write!(
                    data,
                    "A{radius} {radius} 0 0 {sweep} {} {}",
                    number(at.x),
                    number(-at.y)
                );
                part += 1.0;
            }
        }
    }
}

fn filled(element: Element, role: Role) -> Element {
    match role.style().fill {
        Fill::None => element,
        Fill::Plain(ink) => element.with("fill", colour(ink)),
        Fill::Lines { .. } => element.with("fill", format!("url(#{})", hatch_name(role))),
    }
}

fn hatch_name(role: Role) -> String {
    format!("coldstep-hatch-{}", role.name())
}

/// Definitions of the hatches that the drawing uses.
fn hatches(drawing: &Drawing) -> Element {
    let closed = |shape: &Shape| matches!(shape, Shape::Area { .. } | Shape::Circle { .. });
    let used = Role::ALL.into_iter().filter(|role| {
        let mut items = drawing.items().iter();
        items.any(|item| item.role == *role && closed(&item.shape))
    });
    let mut defined = Element::new("defs");
    for role in used {
        let Fill::Lines {
            paper,
            ink,
            hatch,
            spacing_mm,
        } = role.style().fill
        else {
            continue;
        };
        // The tile holds one level line; turning the tile gives the direction.
        let turn = match hatch {
            Hatch::Level => Angle::ZERO,
            Hatch::Upright => Angle::deg(90.0),
            Hatch::Rising | Hatch::Crossed => Angle::deg(-45.0),
            Hatch::Falling => Angle::deg(45.0),
        };
        let side = number(spacing_mm);
        let middle = number(spacing_mm / 2.0);
        let mut lines = format!("M0 {middle}H{side}");
        if hatch == Hatch::Crossed {
            let _ = write!(lines, "M{middle} 0V{side}");
        }
        let paper = Element::new("rect").with_all([
            ("width", side.clone()),
            ("height", side.clone()),
            ("fill", colour(paper)),
        ]);
        let lines = Element::new("path").with_all([
            ("d", lines),
            ("stroke", colour(ink)),
            ("stroke-width", number(HATCH_LINE_MM)),
        ]);
        let tile = Element::new("pattern").with_all([
            ("id", hatch_name(role)),
            ("width", side.clone()),
            ("height", side),
            ("patternUnits", "userSpaceOnUse".to_owned()),
            (
                "patternTransform",
                format!("rotate({})", number(turn.degrees())),
            ),
        ]);
        defined = defined.holding(tile.holding(paper).holding(lines));
    }
    defined
}

fn colour(ink: Ink) -> String {
    format!("#{:02x}{:02x}{:02x}", ink.0, ink.1, ink.2)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::draw::dimension::{Dimension, Leader, LeaderEnd};
    use crate::geometry::chain::Chain;
    use approx::assert_relative_eq;
    use proptest::prelude::*;
    use roxmltree::Document;

    fn at(x: f64, y: f64) -> Point2<f64> {
        Point2::new(x, y)
    }

    fn written(drawing: &Drawing, options: SvgOptions) -> String {
        String::from_utf8(svg(drawing, &options)).unwrap()
    }

    fn true_size(drawing: &Drawing) -> String {
        written(
            drawing,
            SvgOptions {
                margin_mm: 0.0,
                scale: 1.0,
            },
        )
    }

    fn millimetres(document: &Document, attribute: &str) -> f64 {
        let text = document.root_element().attribute(attribute).unwrap();
        text.strip_suffix("mm").unwrap().parse().unwrap()
    }

    /// Reads a path back: numbers after each command letter.
    fn commands(data: &str) -> Vec<(char, Vec<f64>)> {
        let mut list: Vec<(char, String)> = Vec::new();
        for letter in data.chars() {
            if letter.is_ascii_alphabetic() {
                list.push((letter, String::new()));
            } else {
                list.last_mut().unwrap().1.push(letter);
            }
        }
        let numbers = |text: String| {
            text.split_whitespace()
                .map(|n| n.parse().unwrap())
                .collect()
        };
        list.into_iter()
            .map(|(c, text)| (c, numbers(text)))
            .collect()
    }

    /// Centre of an SVG arc with equal radii, in the file's axes, by the chord construction.
    fn arc_centre(from: (f64, f64), arc: &[f64]) -> (f64, f64) {
        let (r, large, sweep, to) = (arc[0], arc[3], arc[4], (arc[5], arc[6]));
        let (dx, dy) = (to.0 - from.0, to.1 - from.1);
        let half = (dx * dx + dy * dy).sqrt() / 2.0;
        let rise = (r * r - half * half).max(0.0).sqrt();
        let side = if large == sweep { -1.0 } else { 1.0 };
        let middle = (f64::midpoint(from.0, to.0), f64::midpoint(from.1, to.1));
        (
            middle.0 - side * rise * dy / half / 2.0,
            middle.1 + side * rise * dx / half / 2.0,
        )
    }

    #[test]
    fn width_and_height_are_those_of_the_drawing_in_mm() {
        let mut drawing = Drawing::new("blank", "");
        drawing.area(
            Role::Outline,
            vec![Loop::rectangle(at(-3.0, 2.0), at(61.25, 42.0))],
        );
        let text = true_size(&drawing);
        let document = Document::parse(&text).unwrap();
        assert_relative_eq!(millimetres(&document, "width"), 64.25);
        assert_relative_eq!(millimetres(&document, "height"), 40.0);
        let root = document.root_element();
        assert_eq!(root.attribute("viewBox"), Some("-3 -42 64.25 40"));
        assert_eq!(root.attribute("role"), Some("img"));

        let text = written(
            &drawing,
            SvgOptions {
                margin_mm: 2.0,
                scale: 3.0,
            },
        );
        let document = Document::parse(&text).unwrap();
        assert_relative_eq!(millimetres(&document, "width"), 3.0 * 68.25);
        assert_relative_eq!(millimetres(&document, "height"), 3.0 * 44.0);
        assert_eq!(
            document.root_element().attribute("viewBox"),
            Some("-5 -44 68.25 44")
        );
    }

    #[test]
    fn the_mark_follows_the_declaration_and_a_sheet_of_paper_lies_below() {
        let mut drawing = Drawing::new("t", "d");
        drawing.line(Role::Outline, at(0.0, 0.0), at(9.0, 9.0));
        let text = true_size(&drawing);
        assert_eq!(text.lines().nth(1), Some(MARK));
        let document = Document::parse(&text).unwrap();
        let names: Vec<&str> = document
            .root_element()
            .children()
            .filter(roxmltree::Node::is_element)
            .map(|node| node.tag_name().name())
            .collect();
        assert_eq!(names, ["title", "desc", "rect", "g"]);
    }

    #[test]
    fn hostile_names_stay_text() {
        let name = "</text><script>\"x\" & 'y'\u{0}\u{7}\u{85}\n\u{202e}日本語 ±0,05 ß ]]> <!--";
        let mut drawing = Drawing::new(name, name);
        drawing.text(Role::Label, Text::new(at(0.0, 0.0), 3.0, name));
        let text = true_size(&drawing);
        let document = Document::parse(&text).unwrap();
        let expected = "</text><script>\"x\" & 'y' 日本語 ±0,05 ß ]]> <!--";
        for tag in ["title", "desc", "text"] {
            let node = document
                .descendants()
                .find(|node| node.has_tag_name(("http://www.w3.org/2000/svg", tag)));
            assert_eq!(node.unwrap().text(), Some(expected), "{tag}");
        }
    }

    #[test]
    fn arcs_turn_the_right_way_round_the_right_centre() {
        for (turn, centre_y) in [(90.0, 4.0), (-90.0, -4.0), (300.0, 4.0), (-181.0, -4.0)] {
            let mut chain = Chain::from_start(1.0, 0.0, Angle::ZERO);
            chain.line(2.0).arc(4.0, Angle::deg(turn));
            let mut drawing = Drawing::new("", "");
            drawing.chain(Role::Outline, &chain);
            let text = true_size(&drawing);
            let document = Document::parse(&text).unwrap();
            let path = document
                .descendants()
                .find(|node| node.attribute("d").is_some())
                .unwrap();
            let commands = commands(path.attribute("d").unwrap());
            assert_eq!(commands[0], ('M', vec![1.0, 0.0]));
            assert_eq!(commands[1], ('L', vec![3.0, 0.0]));
            let mut from = (3.0, 0.0);
            for (letter, numbers) in &commands[2..] {
                assert_eq!(*letter, 'A');
                let centre = arc_centre(from, numbers);
                assert_relative_eq!(centre.0, 3.0, epsilon = 1e-3);
                assert_relative_eq!(-centre.1, centre_y, epsilon = 1e-3);
                from = (numbers[5], numbers[6]);
            }
            let end = chain.end().point;
            assert_relative_eq!(from.0, end.x, epsilon = 1e-4);
            assert_relative_eq!(-from.1, end.y, epsilon = 1e-4);
        }
    }

    #[test]
    fn an_area_with_a_hole_is_one_path_filled_even_odd() {
        let mut drawing = Drawing::new("", "");
        let loops = vec![
            Loop::rectangle(at(0.0, 0.0), at(20.0, 10.0)),
            Loop::circle(at(10.0, 5.0), 2.0),
        ];
        drawing.area(Role::LowerDie, loops);
        let text = true_size(&drawing);
        let document = Document::parse(&text).unwrap();
        let path = document
            .descendants()
            .find(|node| node.attribute("fill-rule") == Some("evenodd"))
            .unwrap();
        let data = path.attribute("d").unwrap();
        assert_eq!(data.matches('M').count(), 2);
        assert_eq!(data.matches('Z').count(), 2);
        let hatch = path.attribute("fill").unwrap();
        let id = hatch
            .strip_prefix("url(#")
            .unwrap()
            .strip_suffix(')')
            .unwrap();
        assert!(
            document
                .descendants()
                .any(|node| node.attribute("id") == Some(id))
        );
    }

    #[test]
    fn an_empty_drawing_is_still_a_picture() {
        let text = true_size(&Drawing::new("nothing", ""));
        let document = Document::parse(&text).unwrap();
        assert!(millimetres(&document, "width") > 0.0);
    }

    #[test]
    fn numbers_are_short_and_never_minus_zero() {
        assert_eq!(number(-0.000_01), "0");
        assert_eq!(number(12.340_04), "12.34");
        assert_eq!(number(100.0), "100");
        assert_eq!(number(-0.5), "-0.5");
    }

    fn any_drawing() -> impl Strategy<Value = Drawing> {
        let item = (
            0usize..16,
            -80.0f64..80.0,
            -80.0f64..80.0,
            0.1f64..30.0,
            ".{0,12}",
            0u8..6,
        );
        (".{0,20}", prop::collection::vec(item, 0..12)).prop_map(|(title, items)| {
            let mut drawing = Drawing::new(title, "");
            for (role, x, y, size, name, kind) in items {
                let (role, here, there) = (Role::ALL[role], at(x, y), at(x + size, y - size));
                match kind {
                    0 => drawing.line(role, here, there),
                    1 => drawing.circle(role, here, size),
                    2 => drawing.area(role, vec![Loop::rectangle(here, there)]),
                    3 => drawing.text(role, Text::new(here, size, name)),
                    4 => drawing.dimension(&Dimension::aligned(here, there, size, name)),
                    _ => drawing.leader(&Leader::new(here, there, LeaderEnd::Arrow, name)),
                };
            }
            drawing
        })
    }

    proptest! {
        #[test]
        fn whatever_is_drawn_parses_and_comes_out_the_same_twice(
            drawing in any_drawing(), margin in 0.0f64..9.0, scale in 0.5f64..8.0,
        ) {
            let options = SvgOptions { margin_mm: margin, scale };
            let text = written(&drawing, options);
            prop_assert_eq!(&text, &written(&drawing.clone(), options));
            let document = Document::parse(&text).unwrap();
            let (low, high) = drawing.bounds().unwrap_or((at(0.0, 0.0), at(0.0, 0.0)));
            let width = ((high.x - low.x + 2.0 * margin).max(0.1) * scale * 1e4).round() / 1e4;
            prop_assert!((millimetres(&document, "width") - width).abs() < 2e-4);
            let shapes = document.descendants()
                .filter(|node| node.parent().is_some_and(|up| up.has_tag_name(("http://www.w3.org/2000/svg", "g"))))
                .filter(roxmltree::Node::is_element).count();
            prop_assert_eq!(shapes, drawing.items().len());
        }
    }
}
