//! Pages as PDF: vectors and text at true size, the same bytes for the same pages.
//!
//! Structure after ISO 32000-1 as `pdf-writer` writes it. Nothing of a clock or a machine goes in. Readers are asked
//! not to scale pages when they print.

use super::face::{Setting, Typeface, TypefaceError, Used};
use super::page::{Layer, Page};
use crate::draw::drawing::{Anchor, Item, Shape, Text};
use crate::draw::style::{Fill, HATCH_LINE_MM, Hatch, Ink, Role, Style, WHITE};
use crate::geometry::Loop;
use crate::geometry::loops::{LoopEdge, Side, sides};
use crate::mark::MARK;
use crate::quantity::Angle;
use miniz_oxide::deflate::compress_to_vec_zlib;
use nalgebra::{Point2, Vector2};
use pdf_writer::types::{
    CidFontType, FontFlags, LineJoinStyle, SystemInfo, TextRenderingMode, UnicodeCmap,
};
use pdf_writer::{Content, Filter, Finish, Name, Pdf, Rect, Ref, Str, TextStr};
use thiserror::Error;

/// Points in a millimetre: a point is 1/72 inch (ISO 32000-1, default user space), an inch 25.4 mm.
const POINTS: f64 = 72.0 / 25.4;
/// Arcs become Bézier curves of at most this angle: a third-degree curve of 30 degrees strays from its circle by less
/// than 1e-6 of the radius.
const LONGEST_ARC_DEG: f64 = 30.0;
/// Width of the rim of paper round letters, as a share of their size; as in SVG.
const RIM: f64 = 0.2;
/// How hard streams are compressed, 0 to 10.
const EFFORT: u8 = 6;
/// More hatch lines than this in one area are left out: nobody could tell them apart.
const MOST_HATCH_LINES: f64 = 4000.0;

const FONT: Name = Name(b"F");
const FONT_NAME: Name = Name(b"COLDST+NotoSans-Regular");

/// Why there is no PDF. Each is a fault of coldstep, not of the part.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum PdfError {
    /// The typeface.
    #[error(transparent)]
    Typeface(#[from] TypefaceError),
    /// More pages than a reader could want.
    #[error("{0} pages are too many")]
    TooManyPages(usize),
}

/// Numbers of the objects in the file.
struct Numbers(i32);

impl Numbers {
    fn next(&mut self) -> Ref {
        self.0 += 1;
        Ref::new(self.0)
    }
}

/// Most pages of a file.
const MOST_PAGES: usize = 2000;

/// Writes pages.
///
/// # Errors
/// When the bundled typeface is damaged or there are thousands of pages.
pub fn pdf(title: &str, pages: &[Page<'_>]) -> Result<Vec<u8>, PdfError> {
    if pages.len() > MOST_PAGES {
        return Err(PdfError::TooManyPages(pages.len()));
    }
    let face = Typeface::new()?;
    let mut used = Used::default();
    let contents: Vec<Vec<u8>> = pages
        .iter()
        .map(|page| content(page, &face, &mut used))
        .collect();

    let mut numbers = Numbers(0);
    let mut file = Pdf::new();
    let title: String = crate::draw::face::printable(title).collect();
    let [info, catalog, tree, font] = [(); 4].map(|()| numbers.next());
    file.document_info(info)
        .producer(TextStr(MARK))
        .title(TextStr(&title));
    let kids: Vec<[Ref; 2]> = pages
        .iter()
        .map(|_| [numbers.next(), numbers.next()])
        .collect();
    {
        let mut root = file.catalog(catalog);
        root.pages(tree).lang(TextStr("en"));
        root.viewer_preferences()
            .display_doc_title(true)
            .insert(Name(b"PrintScaling"))
            .primitive(Name(b"None"));
    }
    file.pages(tree)
        .kids(kids.iter().map(|[page, _]| *page))
        .count(i32::try_from(pages.len()).unwrap_or(i32::MAX));
    for ((page, bytes), [page_ref, content_ref]) in pages.iter().zip(&contents).zip(kids) {
        let [width, height] = page.size_mm.map(|mm| single(mm * POINTS));
        let mut out = file.page(page_ref);
        out.parent(tree)
            .media_box(Rect::new(0.0, 0.0, width, height))
            .contents(content_ref);
        out.resources().fonts().pair(FONT, font);
        out.finish();
        let packed = compress_to_vec_zlib(bytes, EFFORT);
        file.stream(content_ref, &packed)
            .filter(Filter::FlateDecode);
    }
    write_font(&mut file, font, &mut numbers, &face, &used)?;
    Ok(file.finish())
}

fn write_font(
    file: &mut Pdf,
    font: Ref,
    numbers: &mut Numbers,
    face: &Typeface,
    used: &Used,
) -> Result<(), PdfError> {
    let [cid, descriptor, program, map] = [(); 4].map(|()| numbers.next());
    let system = SystemInfo {
        registry: Str(b"Adobe"),
        ordering: Str(b"Identity"),
        supplement: 0,
    };
    file.type0_font(font)
        .base_font(FONT_NAME)
        .encoding_predefined(Name(b"Identity-H"))
        .descendant_font(cid)
        .to_unicode(map);
    {
        let mut out = file.cid_font(cid);
        out.subtype(CidFontType::Type2)
            .base_font(FONT_NAME)
            .system_info(system)
            .font_descriptor(descriptor)
            .default_width(0.0)
            .cid_to_gid_map_predefined(Name(b"Identity"));
        let mut widths = out.widths();
        for (glyph, advance) in used.advances() {
            widths.consecutive(glyph, [single(1000.0 * advance)]);
        }
    }
    let metrics = face.metrics();
    let [left, bottom, right, top] = metrics.bounds;
    file.font_descriptor(descriptor)
        .name(FONT_NAME)
        .flags(FontFlags::SYMBOLIC)
        .bbox(Rect::new(left, bottom, right, top))
        .italic_angle(0.0)
        .ascent(metrics.ascent)
        .descent(metrics.descent)
        .cap_height(metrics.capital)
        .stem_v(80.0)
        .font_file2(program);
    let bytes = used.subset()?;
    let packed = compress_to_vec_zlib(&bytes, EFFORT);
    let mut stream = file.stream(program, &packed);
    stream.filter(Filter::FlateDecode);
    stream.pair(
        Name(b"Length1"),
        i32::try_from(bytes.len()).unwrap_or(i32::MAX),
    );
    stream.finish();
    let mut letters = UnicodeCmap::new(Name(b"Custom"), system);
    for (glyph, letter) in used.letters() {
        letters.pair(glyph, letter);
    }
    file.cmap(map, &letters.finish());
    Ok(())
}

/// A coordinate as the file stores it: four decimals, then single precision.
#[expect(
    clippy::cast_possible_truncation,
    reason = "seven digits are a thousandth of a millimetre in ten metres"
)]
fn single(value: f64) -> f32 {
    ((value * 1e4).round() / 1e4) as f32
}

/// A factor or direction, which needs all the digits there are.
#[expect(
    clippy::cast_possible_truncation,
    reason = "seven digits are what the format is written with"
)]
fn exact(value: f64) -> f32 {
    value as f32
}

fn content(page: &Page<'_>, face: &Typeface, used: &mut Used) -> Vec<u8> {
    let mut out = Content::new();
    out.save_state();
    // From here on one unit is a millimetre.
    out.transform([exact(POINTS), 0.0, 0.0, exact(POINTS), 0.0, 0.0]);
    out.set_line_join(LineJoinStyle::RoundJoin);
    for layer in &page.layers {
        draw_layer(layer, face, used, &mut out);
    }
    out.restore_state();
    out.finish().into_vec()
}

fn draw_layer(layer: &Layer<'_>, face: &Typeface, used: &mut Used, out: &mut Content) {
    out.save_state();
    if let Some((low, high)) = layer.window_mm {
        let size = high - low;
        out.rect(single(low.x), single(low.y), single(size.x), single(size.y))
            .clip_nonzero()
            .end_path();
    }
    out.transform([
        exact(layer.scale[0]),
        0.0,
        0.0,
        exact(layer.scale[1]),
        exact(layer.origin_mm.x),
        exact(layer.origin_mm.y),
    ]);
    let mut role = None;
    for item in layer.drawing.items() {
        if role != Some(item.role) {
            pen(&item.role.style(), out);
            role = Some(item.role);
        }
        draw_item(item, face, used, out);
    }
    out.restore_state();
}

/// Line width, dashes and colour of a role.
fn pen(style: &Style, out: &mut Content) {
    out.set_line_width(single(style.line_mm));
    out.set_dash_pattern(style.dash_mm.iter().map(|dash| single(*dash)), 0.0);
    let [r, g, b] = rgb(style.ink);
    out.set_stroke_rgb(r, g, b);
}

fn rgb(ink: Ink) -> [f32; 3] {
    [ink.0, ink.1, ink.2].map(|part| single(f64::from(part) / 255.0))
}

fn fill_with(ink: Ink, out: &mut Content) {
    let [r, g, b] = rgb(ink);
    out.set_fill_rgb(r, g, b);
}

fn draw_item(item: &Item, face: &Typeface, used: &mut Used, out: &mut Content) {
    match &item.shape {
        Shape::Line { from, to } => {
            out.move_to(single(from.x), single(from.y))
                .line_to(single(to.x), single(to.y))
                .stroke();
        }
        Shape::Path { start, edges } => {
            path(*start, edges, out);
            out.stroke();
        }
        Shape::Area { loops } => area(loops, item.role, out),
        Shape::Circle { centre, radius_mm } => {
            area(&[Loop::circle(*centre, radius_mm.abs())], item.role, out);
        }
        Shape::Text(text) => draw_text(text, &item.role.style(), face, used, out),
    }
}

fn area(loops: &[Loop], role: Role, out: &mut Content) {
    let outline = |out: &mut Content| {
        for one in loops {
            path(one.start(), one.edges(), out);
            out.close_path();
        }
    };
    match role.style().fill {
        Fill::None => {
            outline(out);
            out.stroke();
        }
        Fill::Plain(ink) => {
            fill_with(ink, out);
            outline(out);
            out.fill_even_odd_and_stroke();
        }
        Fill::Lines {
            paper,
            ink,
            hatch,
            spacing_mm,
        } => {
            fill_with(paper, out);
            out.save_state();
            outline(out);
            // One path both fills and clips.
            out.clip_even_odd().fill_even_odd();
            out.set_line_width(single(HATCH_LINE_MM));
            out.set_dash_pattern([], 0.0);
            let [r, g, b] = rgb(ink);
            out.set_stroke_rgb(r, g, b);
            for (from, to) in hatch_lines(loops, hatch, spacing_mm) {
                out.move_to(single(from.x), single(from.y))
                    .line_to(single(to.x), single(to.y));
            }
            out.stroke();
            out.restore_state();
            outline(out);
            out.stroke();
        }
    }
}

/// Hatch lines over the box around loops; they lie on one grid all over the drawing.
fn hatch_lines(loops: &[Loop], hatch: Hatch, spacing_mm: f64) -> Vec<(Point2<f64>, Point2<f64>)> {
    let mut bounds = loops.iter().map(Loop::bounds);
    let Some(first) = bounds.next() else {
        return Vec::new();
    };
    let (low, high) = bounds.fold(first, |(low, high), (a, b)| (low.inf(&a), high.sup(&b)));
    let turns: &[f64] = match hatch {
        Hatch::Level => &[0.0],
        Hatch::Upright => &[90.0],
        Hatch::Rising => &[45.0],
        Hatch::Falling => &[-45.0],
        Hatch::Crossed => &[45.0, -45.0],
    };
    let corners = [
        low,
        Point2::new(high.x, low.y),
        high,
        Point2::new(low.x, high.y),
    ];
    let mut lines = Vec::new();
    for turn in turns {
        let turn = Angle::deg(*turn);
        let along = Vector2::new(turn.cos(), turn.sin());
        let across = Vector2::new(-along.y, along.x);
        let reach = |way: Vector2<f64>| {
            corners
                .iter()
                .map(|corner| corner.coords.dot(&way))
                .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), at| {
                    (low.min(at), high.max(at))
                })
        };
        let (from, to) = reach(along);
        let (first, last) = reach(across);
        let mut number = (first / spacing_mm).ceil();
        if last / spacing_mm - number > MOST_HATCH_LINES {
            continue;
        }
        while number * spacing_mm <= last {
            let foot = Point2::from(across * (number * spacing_mm));
            lines.push((foot + along * from, foot + along * to));
            number += 1.0;
        }
    }
    lines
}

fn path(start: Point2<f64>, edges: &[LoopEdge], out: &mut Content) {
    out.move_to(single(start.x), single(start.y));
    for side in sides(start, edges) {
        match side.edge {
            LoopEdge::Line { to } => {
                out.line_to(single(to.x), single(to.y));
            }
            LoopEdge::Arc { to, centre, turn } => arc(&side, to, centre, turn, out),
        }
    }
}

fn arc(side: &Side, to: Point2<f64>, centre: Point2<f64>, turn: Angle, out: &mut Content) {
    let parts = (turn.degrees().abs() / LONGEST_ARC_DEG).ceil().max(1.0);
    let step = turn * (1.0 / parts);
    // Handles of a cubic that meets its arc in the middle: 4/3 tan(θ/4), plane geometry.
    let quarter = step.half().half();
    let reach = 4.0 / 3.0 * quarter.sin() / quarter.cos();
    let mut from = side.from;
    let mut part = 1.0;
    while part <= parts {
        let end = if part < parts {
            side.turned(turn * (part / parts))
        } else {
            to
        };
        let handle = |at: Point2<f64>| {
            let arm = at - centre;
            Vector2::new(-arm.y, arm.x) * reach
        };
        let (a, b) = (from + handle(from), end - handle(end));
        out.cubic_to(
            single(a.x),
            single(a.y),
            single(b.x),
            single(b.y),
            single(end.x),
            single(end.y),
        );
        from = end;
        part += 1.0;
    }
}

fn draw_text(text: &Text, style: &Style, face: &Typeface, used: &mut Used, out: &mut Content) {
    let setting = used.set(face, &text.content);
    if setting.bytes.is_empty() {
        return;
    }
    let along = Vector2::new(text.rotate.cos(), text.rotate.sin());
    let back_mm = text.size_mm
        * setting.advance
        * match text.anchor {
            Anchor::Start => 0.0,
            Anchor::Middle => 0.5,
            Anchor::End => 1.0,
        };
    let at = text.at - along * back_mm;
    out.save_state();
    if setting.has_unknown {
        // What the boxes stand for, for whoever copies or hears the text.
        let whole: String = crate::draw::face::printable(&text.content).collect();
        out.begin_marked_content_with_properties(Name(b"Span"))
            .properties()
            .actual_text(TextStr(&whole));
    }
    let matrix = [
        exact(along.x),
        exact(along.y),
        exact(-along.y),
        exact(along.x),
        single(at.x),
        single(at.y),
    ];
    out.set_dash_pattern([], 0.0);
    out.set_line_width(single(RIM * text.size_mm));
    let [r, g, b] = rgb(WHITE);
    out.set_stroke_rgb(r, g, b);
    shown(
        &setting,
        matrix,
        TextRenderingMode::Stroke,
        text.size_mm,
        out,
    );
    fill_with(style.ink, out);
    shown(&setting, matrix, TextRenderingMode::Fill, text.size_mm, out);
    if setting.has_unknown {
        out.end_marked_content();
    }
    out.restore_state();
}

fn shown(
    setting: &Setting,
    matrix: [f32; 6],
    mode: TextRenderingMode,
    size_mm: f64,
    out: &mut Content,
) {
    out.begin_text()
        .set_font(FONT, single(size_mm))
        .set_text_rendering_mode(mode)
        .set_text_matrix(matrix)
        .show(Str(&setting.bytes))
        .end_text();
}
