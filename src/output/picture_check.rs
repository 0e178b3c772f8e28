//! What every picture must be, and invented parts to try it on.

use crate::dies::{Tooling, tooling};
use crate::forming::compensate;
use crate::forming::pressing::{Effort, Pressing, Task};
use crate::geometry::Loop;
use crate::output::{Drawing, Shape, SvgOptions, Text, svg};
use crate::part::{Part, parse, starter::STARTER};
use std::fmt::Write as _;
use std::ops::ControlFlow;
use std::sync::OnceLock;

/// The bundled examples, the starter, and parts that are awkward to draw.
pub fn parts() -> Vec<(&'static str, Part)> {
    let files = [
        (
            "single step",
            include_str!("../../examples/single-step.toml").to_owned(),
        ),
        (
            "three levels",
            include_str!("../../examples/three-levels.toml").to_owned(),
        ),
        (
            "extension plate",
            include_str!("../../examples/extension-plate.toml").to_owned(),
        ),
        ("starter", STARTER.to_owned()),
        ("crowded", crowded()),
        ("hat", HAT.to_owned()),
        ("tiny", TINY.to_owned()),
        ("long", LONG.to_owned()),
        ("only a flat", ONLY_A_FLAT.to_owned()),
    ];
    files
        .into_iter()
        .map(|(name, text)| {
            let part = parse(&text).unwrap_or_else(|e| panic!("{name}: {e:#?}"));
            (name, part.value)
        })
        .collect()
}

/// The same with their dies.
pub fn tooled() -> Vec<(&'static str, Part, Tooling)> {
    parts()
        .into_iter()
        .map(|(name, part)| {
            let compensation = compensate(&part).value;
            let tooling =
                tooling(&part, &compensation).unwrap_or_else(|e| panic!("{name}: {e:#?}"));
            (name, part, tooling.value)
        })
        .collect()
}

/// The first example and what comes out when it is pressed, on the coarse mesh.
pub fn pressed() -> (Part, Pressing) {
    let (_, part, pressing) = pressed_parts().remove(0);
    (part, pressing)
}

/// Some of the parts with what comes out when they are pressed, calculated once for all tests.
pub fn pressed_parts() -> Vec<(&'static str, Part, Pressing)> {
    static PRESSED: OnceLock<Vec<(&'static str, Part, Pressing)>> = OnceLock::new();
    let press = || {
        parts()
            .into_iter()
            .filter(|(name, _)| ["single step", "three levels", "tiny"].contains(name))
            .map(|(name, part)| {
                let pressing = Task::of(&part)
                    .and_then(|task| task.search(Effort::Quick, &mut |_| ControlFlow::Continue(())))
                    .unwrap_or_else(|e| panic!("{name}: {e}"));
                (name, part, pressing)
            })
            .collect()
    };
    PRESSED.get_or_init(press).clone()
}

/// Twenty bare components side by side, one with a hostile name.
fn crowded() -> String {
    let mut text = String::from(
        "[part]\nname = \"crowded <&> \\\"board\\\"\"\n[sheet]\nmaterial = \"copper\"\ntemper = \"soft\"\n\
         thickness_mm = 1.0\ninside_radius_mm = 1.0\n[plate]\nwidth_mm = 40.0\n\
         [[flat]]\nname = \"low\"\nfrom_mm = 0.0\nto_mm = 30.0\nunderside_mm = 1.75\n\
         [[flat]]\nname = \"high\"\nfrom_mm = 34.5\nto_mm = 64.0\nunderside_mm = 4.35\n",
    );
    for n in 0..20u8 {
        let name = if n == 7 {
            "<b>&'x' with a name much longer than any label is wide".to_owned()
        } else {
            format!("C{n}")
        };
        let n = f64::from(n);
        writeln!(
            text,
            "[[component]]\nname = \"{name}\"\nx_mm = {}\ny_mm = {}\nsize_mm = [1.6, 2.0]\nheight_mm = {}",
            2.0 + 3.1 * n,
            4.0 + (7.0 * n) % 32.0,
            0.6 + 0.02 * n,
        )
        .unwrap();
    }
    text
}

/// Steep walls, tilted dies, two cheeks, things that touch, that are too high or too far away.
const HAT: &str = "
[sheet]\nmaterial = \"copper\"\ntemper = \"soft\"\nthickness_mm = 1.0\ninside_radius_mm = 1.0
[plate]\nwidth_mm = 25.0
[[flat]]\nname = \"left\"\nfrom_mm = 0.0\nto_mm = 12.0\nunderside_mm = 1.5
[[flat]]\nname = \"top\"\nto_mm = 30.0\nunderside_mm = 7.5\nstep = { wall_angle_deg = 80.0 }
[[component]]\nname = \"Q1\"\nx_mm = 6\ny_mm = 12\nsize_mm = [6, 6]\nheight_mm = 1.4\npad = \"soft\"
[[component]]\nname = \"T1\"\nx_mm = 24\ny_mm = 12\nsize_mm = [8, 8]\nheight_mm = 7.2
[[component]]\nname = \"C9\"\nx_mm = 13.3\ny_mm = 12\nsize_mm = [1.5, 3]\nheight_mm = 1.9
[[obstacle]]\nname = \"post\"\nx_mm = 3\ny_mm = 40\ndiameter_mm = 4\ntop_mm = 60\nclearance_mm = 1
[[obstacle]]\nname = \"far rail\"\nx_mm = 200\ny_mm = 10\nsize_mm = [5, 60]\ntop_mm = 5\nclearance_mm = 1
[[pad]]\nname = \"soft\"\nthickness_mm = 1.0
[dies]\ntilt = \"centred\"\ncheeks = \"both\"
[vise]\njaw_width_mm = 60\nopening_mm = 140
";

/// Seven millimetres long.
const TINY: &str = "
[sheet]\nmaterial = \"copper\"\ntemper = \"soft\"\nthickness_mm = 0.3\ninside_radius_mm = 0.3
[plate]\nwidth_mm = 6.0
[[flat]]\nname = \"a\"\nfrom_mm = 0.0\nto_mm = 3.0\nunderside_mm = 0.6
[[flat]]\nname = \"b\"\nfrom_mm = 4.2\nto_mm = 7.0\nunderside_mm = 1.2
[[component]]\nname = \"Q1\"\nx_mm = 1.5\ny_mm = 3\nsize_mm = [1, 2]\nheight_mm = 0.2
";

/// Long and low, without end stops, cheeks and ledges.
const LONG: &str = "
[sheet]\nmaterial = \"copper\"\ntemper = \"soft\"\nthickness_mm = 1.0\ninside_radius_mm = 1.0
[plate]\nwidth_mm = 60.0
[[flat]]\nname = \"bracket side\"\nfrom_mm = -20.0\nto_mm = 120.0\nunderside_mm = 4.2
[[flat]]\nname = \"pit\"\nfrom_mm = 125.0\nto_mm = 240.0\nunderside_mm = 1.75
[[flat]]\nname = \"far side\"\nfrom_mm = 246.0\nto_mm = 320.0\nunderside_mm = 4.0
[[component]]\nname = \"U1\"\nx_mm = 60\ny_mm = 30\nsize_mm = [14, 12]\nheight_mm = 3.2\npad = \"soft\"
[[component]]\nname = \"U2\"\nx_mm = 180\ny_mm = 30\nsize_mm = [14, 12]\nheight_mm = 0.9\npad = \"soft\"
[[pad]]\nname = \"soft\"\nthickness_mm = 1.0
[dies]\nend_stops = false\ncheeks = \"none\"\nhandling_ledges = false
";

/// No bend at all, tabs, and names in other scripts.
const ONLY_A_FLAT: &str = "
[part]\nname = \"平らな板\"
[sheet]\nmaterial = \"copper\"\ntemper = \"soft\"\nthickness_mm = 1.0\ninside_radius_mm = 1.0
[plate]\nwidth_mm = 18.0
[[flat]]\nname = \"einzige Fläche\"\nfrom_mm = 0.0\nto_mm = 50.0\nunderside_mm = 2.0
[[component]]\nname = \"電感1\"\nx_mm = 30\ny_mm = 9\nsize_mm = [6, 6]\nheight_mm = 1.2
[[hole]]\nname = \"screw\"\nx_mm = 20\ny_mm = 9\ndiameter_mm = 3
[[tab]]\nedge = \"left\"\nfrom_mm = 5\nto_mm = 12\nlength_mm = 6
[[tab]]\nedge = \"front\"\nfrom_mm = 25\nto_mm = 32\nlength_mm = 5
";

/// Every line of text in a drawing.
pub fn texts(drawing: &Drawing) -> Vec<&Text> {
    let items = drawing.items().iter();
    items
        .filter_map(|item| match &item.shape {
            Shape::Text(text) => Some(text),
            _ => None,
        })
        .collect()
}

/// All words, in the order in which they were written.
pub fn words(drawing: &Drawing) -> String {
    let lines: Vec<&str> = texts(drawing)
        .iter()
        .map(|text| text.content.as_str())
        .collect();
    lines.join(" ")
}

/// Letters and digits only: labels break long names anywhere.
pub fn squeezed(text: &str) -> String {
    text.chars().filter(|c| !c.is_whitespace()).collect()
}

/// Whether the drawing says a name, however it was broken into lines.
pub fn says(drawing: &Drawing, name: &str) -> bool {
    squeezed(&words(drawing)).contains(&squeezed(name))
}

/// Upright box around a text.
fn reach(text: &Text) -> [f64; 4] {
    let (low, high) = Loop::polygon(&text.corners()).bounds();
    [low.x, low.y, high.x, high.y]
}

/// Fails unless the drawing is something to print: no text over another, all of it on the sheet, valid
/// XML, letters of readable size, and the same bytes twice.
pub fn assert_sound(name: &str, drawing: &Drawing, again: &Drawing) {
    let texts = texts(drawing);
    assert!(!texts.is_empty(), "{name}");
    let (low, high) = drawing.bounds().unwrap();
    for (number, one) in texts.iter().enumerate() {
        let a = reach(one);
        assert!(one.size_mm >= 2.0, "{name}: {}", one.content);
        assert!(a[0] >= low.x && a[1] >= low.y && a[2] <= high.x && a[3] <= high.y);
        for other in &texts[number + 1..] {
            let b = reach(other);
            let apart = a[2] <= b[0] || b[2] <= a[0] || a[3] <= b[1] || b[3] <= a[1];
            assert!(apart, "{name}: '{}' and '{}'", one.content, other.content);
        }
    }
    let bytes = svg(drawing, &SvgOptions::default());
    assert_eq!(bytes, svg(again, &SvgOptions::default()), "{name}");
    let text = String::from_utf8(bytes).unwrap();
    roxmltree::Document::parse(&text).unwrap_or_else(|e| panic!("{name}: {e}"));
}
