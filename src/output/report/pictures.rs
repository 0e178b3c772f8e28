//! Drawings of the folder inside the page.

use super::{Html, Section};
use crate::result::catalogue::OutputFile;

/// Why nothing is ever in the way: a hatch is named like this in every drawing of coldstep, and quotation marks of a
/// part's name are never written as such.
const HATCH_ID: &str = "id=\"coldstep-hatch-";
const HATCH_USE: &str = "fill=\"url(#coldstep-hatch-";

/// The plate over the board.
pub fn plate(files: &[OutputFile]) -> Option<Section> {
    let mut body = Html::default();
    figure(
        files,
        "section.svg",
        "The plate over the board parts, from the side, with every gap in millimetres.",
        &mut body,
    );
    figure(
        files,
        "plan.svg",
        "The plate over the board parts, from above.",
        &mut body,
    );
    (!body.is_empty()).then_some(Section {
        id: "plate",
        heading: "The plate over the board",
        body,
    })
}

/// A drawing with its caption and a link to its file; nothing when the folder has none of that name.
pub fn figure(files: &[OutputFile], name: &'static str, caption: &str, html: &mut Html) {
    let Some(drawing) = inline(files, name) else {
        return;
    };
    let scrolls = [
        ("class", "scroll"),
        ("role", "group"),
        ("tabindex", "0"),
        ("aria-label", caption),
    ];
    html.element("figure", &[], |figure| {
        figure
            .element("div", &scrolls, |div| {
                div.whole(drawing);
            })
            .element("figcaption", &[], |words| {
                words
                    .text(&format!("{caption} "))
                    .words("a", &[("href", name)], name);
            });
    });
}

/// A drawing without its declaration, its hatches named after its file.
fn inline(files: &[OutputFile], name: &str) -> Option<String> {
    let bytes = &files.iter().find(|file| file.name == name)?.bytes;
    let text = std::str::from_utf8(bytes).ok()?;
    let drawing = text.get(text.find("<svg")?..)?;
    let stem = name.strip_suffix(".svg").unwrap_or(name);
    Some(
        drawing
            .replace(HATCH_ID, &format!("id=\"{stem}-hatch-"))
            .replace(HATCH_USE, &format!("fill=\"url(#{stem}-hatch-")),
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::draw::{Drawing, Role, SvgOptions, Text, svg};
    use crate::geometry::Loop;
    use nalgebra::Point2;

    #[test]
    fn hatches_are_named_apart_and_words_stay_what_they_are() {
        let mut drawing = Drawing::new("t", "d");
        let words = "fill=\"url(#coldstep-hatch-pad)\"";
        drawing
            .area(
                Role::Pad,
                vec![Loop::rectangle(Point2::origin(), Point2::new(3.0, 3.0))],
            )
            .text(Role::Label, Text::new(Point2::origin(), 3.0, words));
        let files = [OutputFile {
            name: "plan.svg",
            purpose: "",
            bytes: svg(&drawing, &SvgOptions::default()),
        }];
        let text = inline(&files, "plan.svg").unwrap();
        let document = roxmltree::Document::parse(&text).unwrap();
        let hatch = document
            .descendants()
            .find_map(|node| node.attribute("id"))
            .unwrap();
        assert_eq!(hatch, "plan-hatch-pad");
        let wanted = format!("url(#{hatch})");
        assert!(
            document
                .descendants()
                .any(|node| node.attribute("fill") == Some(wanted.as_str()))
        );
        assert!(
            document
                .descendants()
                .any(|node| node.text() == Some(words))
        );
        assert_eq!(inline(&files, "section.svg"), None);
    }
}
