//! The commented part files that `new` writes.

use std::fmt::Write as _;
use std::ops::RangeInclusive;

/// A part file with an invented part and a word on every key.
pub const STARTER: &str = include_str!("starter.toml");

/// How many steps [`of`] draws.
pub const STEPS: RangeInclusive<u8> = 1..=4;

/// Which way the steps of a starter go, from left to right.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shape {
    /// Every step up.
    Rising,
    /// Every step down.
    Falling,
    /// Up and down in turn, the first one up.
    UpDown,
    /// Down and up in turn, the first one down.
    DownUp,
}

impl Shape {
    /// Whether a step, counted from 0, goes up.
    fn goes_up(self, step: u8) -> bool {
        match self {
            Self::Rising => true,
            Self::Falling => false,
            Self::UpDown => step.is_multiple_of(2),
            Self::DownUp => !step.is_multiple_of(2),
        }
    }
}

/// Invented sizes, mm; heights are those of [`STARTER`], so that its pad does for these plates too. They are narrower and their
/// walls lean further over: so its vise closes the dies of four steps too.
const WIDTH_MM: &str = "width_mm = 24.0";
const LOWEST_MM: f64 = 1.75;
const RISE_MM: f64 = 2.15;
const FLAT_MM: f64 = 14.0;
const RUN_MM: f64 = 6.0;
/// What its pad of 1 mm is pressed to.
const GAP_MM: f64 = 0.8;

/// A commented part file with an invented plate of some steps (of [`STEPS`], the nearest), one board part under each flat.
pub fn of(shape: Shape, steps: u8) -> String {
    let steps = steps.clamp(*STEPS.start(), *STEPS.end());
    // Levels above the first flat, then above the lowest.
    let mut levels = vec![0_i8];
    for step in 0..steps {
        let last = levels.last().copied().unwrap_or(0);
        levels.push(if shape.goes_up(step) {
            last + 1
        } else {
            last - 1
        });
    }
    let lowest = levels.iter().copied().min().unwrap_or(0);
    let mut flats = String::new();
    let mut parts = String::new();
    let mut middle_mm = 0.0;
    for (index, level) in levels.iter().enumerate() {
        let number = index + 1;
        let from_mm = index as f64 * (FLAT_MM + RUN_MM);
        let underside_mm = LOWEST_MM + f64::from(level - lowest) * RISE_MM;
        middle_mm = from_mm + FLAT_MM / 2.0;
        let [about_from, about_part] = match index {
            0 => [
                "",
                "      # power-stage, inductor, capacitor, memory, other",
            ],
            1 => [
                "   # the 6 mm between the flats are the run of the step: coldstep finds the wall angle",
                "",
            ],
            _ => ["", ""],
        };
        // Writing to a String cannot fail.
        let _ = write!(
            flats,
            "[[flat]]\nname = \"flat {number}\"\nfrom_mm = {from_mm:.1}{about_from}\nto_mm = {:.1}\n\
             underside_mm = {underside_mm:.2}\n\n",
            from_mm + FLAT_MM
        );
        let kind = if *level == lowest {
            "power-stage"
        } else {
            "inductor"
        };
        let _ = write!(
            parts,
            "[[component]]\nname = \"P{number}\"\nkind = \"{kind}\"{about_part}\nx_mm = {middle_mm:.1}\n\
             y_mm = 9.0\nsize_mm = [6.0, 6.0]       # along x, along y; or diameter_mm = 8.0\n\
             height_mm = {{ value = {:.2}, plus_minus = 0.05 }}\npad = \"soft 1.0\"\nheat_w = 1.0\n\n",
            underside_mm - GAP_MM
        );
    }
    let pieces = [
        &from_to("# A coldstep part file", "# Flats:").replacen("width_mm = 32.0", WIDTH_MM, 1),
        "# Flats: level stretches from left to right, at the height of their underside above the board.\n",
        &flats,
        &format!(
            "[[hole]]\nname = \"screw\"\nx_mm = {middle_mm:.1}\ny_mm = 19.0\ndiameter_mm = 3.2\n\n"
        ),
        from_to("# [[notch]]", "[[component]]"),
        &parts,
        "# An obstacle to clear, a plate soldered under a flat, the old plate to compare with, and more of the keys\n\
         # below: `coldstep new -` prints a file with a word on each.\n\n",
        from_to("[[pad]]  ", "[[heat_pipe]]  "),
        &format!(
            "[[heat_pipe]]              # its flat face on the plate's top, seen from above\nname = \"pipe 1\"\n\
             x_mm = {:.1}\ny_mm = 12.0\nsize_mm = [8.0, 60.0]      # along x, along y\njoint = \"solder\"           \
             # solder, paste, adhesive\ntemperature_c = 55.0       # measured on it while it works\n\n",
            FLAT_MM / 2.0
        ),
        from_to("[printer]", ""),
    ];
    pieces.concat()
}

/// A stretch of the starter, from its first line that begins so to the next one that begins so; empty: to the end.
fn from_to(begin: &str, end: &str) -> &'static str {
    let at = |text: &str, begin: &str| {
        let mut at = 0;
        for line in text.split_inclusive('\n') {
            if line.starts_with(begin) {
                return at;
            }
            at += line.len();
        }
        at
    };
    let rest = STARTER.get(at(STARTER, begin)..).unwrap_or("");
    let length = if end.is_empty() {
        rest.len()
    } else {
        at(rest, end)
    };
    rest.get(..length).unwrap_or("")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_starter_is_taken_without_a_finding() {
        let part = crate::part::parse(STARTER).unwrap();
        assert_eq!(part.notes, []);
        assert!(crate::fit::fit(&part.value).is_good());
    }

    #[test]
    fn every_kind_of_starter_is_taken_without_a_finding_and_steps_as_asked() {
        for shape in [Shape::Rising, Shape::Falling, Shape::UpDown, Shape::DownUp] {
            for steps in STEPS {
                let text = of(shape, steps);
                let part = crate::part::parse(&text).unwrap_or_else(|e| panic!("{e:#?}\n{text}"));
                assert_eq!(part.notes, [], "{shape:?} {steps}");
                assert!(crate::fit::fit(&part.value).is_good());
                assert_eq!(text.matches("\n[[flat]]\n").count(), usize::from(steps) + 1);
                let heights: Vec<f64> = text
                    .lines()
                    .filter_map(|line| line.strip_prefix("underside_mm = ")?.parse().ok())
                    .collect();
                for (step, pair) in (0..).zip(heights.windows(2)) {
                    assert_eq!(pair[1] > pair[0], shape.goes_up(step));
                }
                for words in [
                    "# [[notch]]",
                    "[vise]",
                    "# friction",
                    "[heat]",
                    "[material]",
                ] {
                    assert_eq!(text.matches(words).count(), 1, "{words}");
                }
            }
        }
        assert_eq!(of(Shape::Rising, 0), of(Shape::Rising, 1));
    }

    /// Every commented-out line of the starter is a true line once its `#` is gone.
    #[test]
    fn the_starter_is_taken_with_its_comments_switched_on() {
        let lines = STARTER.lines().map(|line| {
            let bare = line.strip_prefix("# ").unwrap_or(line);
            let is_key = bare.starts_with('[')
                || bare.split_once(" = ").is_some_and(|(key, _)| {
                    key.bytes().all(|b| b.is_ascii_lowercase() || b == b'_')
                });
            // The explicit outline and the K rules exclude what else is written.
            let excluded = bare.starts_with("outline_mm") || bare.starts_with("step =");
            if is_key && !excluded { bare } else { line }
        });
        let switched = lines.collect::<Vec<_>>().join("\n");
        assert!(switched.contains("\n[[obstacle]]"));
        if let Err(findings) = crate::part::parse(&switched) {
            panic!("{findings:#?}");
        }
    }
}
