//! Invented parts with heat for the tests of pictures, calculated once.

use crate::fit::Underside;
use crate::heat::{Heat, heat};
use crate::part::{Part, parse};
use std::fmt::Write as _;
use std::sync::OnceLock;

/// A part with its temperatures.
pub struct Warm {
    /// What is special about it.
    pub name: &'static str,
    /// The part.
    pub part: Part,
    /// Its temperatures.
    pub heat: Heat,
}

/// Sheet and flats of all of them.
const PLATE: &str = "
[part]\nname = \"warm\"
[sheet]\nmaterial = \"copper\"\ntemper = \"soft\"\nthickness_mm = 0.8\ninside_radius_mm = 1.7
[plate]\nwidth_mm = 40.0\ncorner_radius_mm = 2.5
[[flat]]\nname = \"low\"\nfrom_mm = 0.0\nto_mm = 30.0\nunderside_mm = 1.6
[[flat]]\nname = \"high\"\nfrom_mm = 36.0\nto_mm = 60.0\nunderside_mm = 4.0
[[hole]]\nname = \"screw\"\nx_mm = 30\ny_mm = 36\ndiameter_mm = 3.4
[[notch]]\nedge = \"front\"\nfrom_mm = 12.0\nto_mm = 18.0\ndepth_mm = 4.0
[[tab]]\nedge = \"back\"\nfrom_mm = 44.0\nto_mm = 54.0\nlength_mm = 4.0
[[pad]]\nname = \"soft 1.0\"\nthickness_mm = 1.0\nconductivity_w_mk = 6.0
[[pad]]\nname = \"soft 2.0\"\nthickness_mm = 2.0\nconductivity_w_mk = 6.0
";

const THREE_PARTS: &str = "
[[component]]\nname = \"Q1\"\nkind = \"power-stage\"\nx_mm = 7\ny_mm = 10\nsize_mm = [5, 6]\nheight_mm = 0.8
pad = \"soft 1.0\"\nheat_w = 3.5\nlimit_c = 110\nold_pad = \"soft 2.0\"
[[component]]\nname = \"M1\"\nkind = \"memory\"\nx_mm = 20\ny_mm = 25\nsize_mm = [11, 8]\nheight_mm = 0.9
pad = \"soft 1.0\"\nheat_w = 1.5\nlimit_c = 95\nold_pad = \"soft 2.0\"
[[component]]\nname = \"L1\"\nkind = \"inductor\"\nx_mm = 47\ny_mm = 25\nsize_mm = [10, 10]\nheight_mm = 3.2
pad = \"soft 1.0\"\nheat_w = 1.0\nold_pad = \"soft 1.0\"\nold_gap_mm = 0.9
";

const OLD: &str = "[old_plate]\nthickness_mm = 0.8\nunderside_mm = 2.5\n";

const BOARD: &str = "[heat]\nair_c = 30.0\nboard_c = 75.0\n";

const TO_AIR: &str = "
[[heat_pipe]]\nname = \"pipe 1\"\nx_mm = 50\ny_mm = 10\nsize_mm = [14, 8]\nto_air_k_w = 0.3\nother_heat_w = 60.0
[[heat_pipe]]\nname = \"pipe 2\"\nx_mm = 50\ny_mm = 32\nsize_mm = [14, 8]\nto_air_k_w = 0.3\nother_heat_w = 60.0
";

/// Long and low, with names in other scripts.
const LONG: &str = "
[part]\nname = \"長い板\"
[sheet]\nmaterial = \"copper\"\ntemper = \"soft\"\nthickness_mm = 1.0\ninside_radius_mm = 1.0
[plate]\nwidth_mm = 60.0
[[flat]]\nname = \"bracket side\"\nfrom_mm = -20.0\nto_mm = 120.0\nunderside_mm = 4.2
[[flat]]\nname = \"pit\"\nfrom_mm = 125.0\nto_mm = 240.0\nunderside_mm = 1.75
[[flat]]\nname = \"far side\"\nfrom_mm = 246.0\nto_mm = 320.0\nunderside_mm = 4.0
[[component]]\nname = \"U1\"\nx_mm = 60\ny_mm = 30\nsize_mm = [14, 12]\nheight_mm = 3.2\npad = \"soft\"\nheat_w = 8
[[component]]\nname = \"電感2\"\nx_mm = 180\ny_mm = 30\nsize_mm = [14, 12]\nheight_mm = 0.9\npad = \"soft\"\nheat_w = 4
[[pad]]\nname = \"soft\"\nthickness_mm = 1.0\nconductivity_w_mk = 4.0
[[heat_pipe]]\nname = \"far pipe\"\nx_mm = 280\ny_mm = 30\nsize_mm = [60, 8]\ntemperature_c = 55
[heat]\nair_c = 22
";

/// Walls that stand nearly upright, and a part that no metal covers but the board cools.
const STEEP: &str = "
[sheet]\nmaterial = \"copper\"\ntemper = \"soft\"\nthickness_mm = 1.0\ninside_radius_mm = 1.0
[plate]\nwidth_mm = 25.0
[[flat]]\nname = \"left\"\nfrom_mm = 0.0\nto_mm = 12.0\nunderside_mm = 1.5
[[flat]]\nname = \"top\"\nto_mm = 30.0\nunderside_mm = 7.5\nstep = { wall_angle_deg = 88.0 }
[[component]]\nname = \"Q1\"\nx_mm = 6\ny_mm = 12\nsize_mm = [6, 6]\nheight_mm = 0.8\npad = \"soft\"\nheat_w = 3\nlimit_c = 90
[[component]]\nname = \"bare\"\nx_mm = -6\ny_mm = 12\ndiameter_mm = 5\nheight_mm = 1.4\nheat_w = 0.3
[[pad]]\nname = \"soft\"\nthickness_mm = 1.0\nconductivity_w_mk = 3.0
[[heat_pipe]]\nname = \"P\"\nx_mm = 22\ny_mm = 12\nsize_mm = [10, 20]\nto_air_k_w = 1.5
[heat]\nair_c = 25\nboard_c = 50
";

/// A pipe held at a temperature.
fn held(temperature_c: f64) -> String {
    format!(
        "[[heat_pipe]]\nname = \"held\"\nx_mm = 50\ny_mm = 20\nsize_mm = [14, 30]\ntemperature_c = {temperature_c}\n"
    )
}

/// Thirty small parts, one with a hostile name.
fn thirty() -> String {
    let mut text = String::new();
    for n in 0..30u8 {
        let name = if n == 7 {
            "<b>&'x' with a name much longer than any label is wide".to_owned()
        } else {
            format!("U{n}")
        };
        let (column, row) = (n % 6, n / 6);
        writeln!(
            text,
            "[[component]]\nname = \"{name}\"\nx_mm = {}\ny_mm = {}\nsize_mm = [2.4, 3.0]\nheight_mm = 0.7\npad = \"soft 1.0\"\n\
             heat_w = {}\nold_pad = \"soft 2.0\"\n{}",
            3.0 + 4.6 * f64::from(column),
            7.0 + 6.0 * f64::from(row),
            0.2 + 0.05 * f64::from(n),
            if n % 3 == 0 { "limit_c = 90" } else { "" }
        )
        .unwrap();
    }
    text
}

/// The temperatures of a part file.
pub fn warmed(name: &str, text: &str) -> (Part, Heat) {
    let part = parse(text)
        .unwrap_or_else(|e| panic!("{name}: {e:#?}"))
        .value;
    let heat = heat(&part, &Underside::drawn(&part), Underside::drawn)
        .unwrap_or_else(|e| panic!("{name}: {e:#?}"));
    (part, heat.value)
}

/// Text of each case.
pub fn texts() -> Vec<(&'static str, String)> {
    let without = |text: &str, key: &str| -> String {
        let lines = text.lines().filter(|line| !line.starts_with(key));
        lines.flat_map(|line| [line, "\n"]).collect()
    };
    let limits = |text: &str| without(text, "limit_c");
    let without_old = |text: &str| without(text, "old_");
    vec![
        ("full", [PLATE, THREE_PARTS, BOARD, OLD, TO_AIR].concat()),
        (
            "no old plate",
            [PLATE, &without_old(THREE_PARTS), BOARD, TO_AIR].concat(),
        ),
        (
            "no limits",
            [PLATE, &limits(THREE_PARTS), BOARD, OLD, TO_AIR].concat(),
        ),
        (
            "held",
            [PLATE, THREE_PARTS, BOARD, OLD, &held(62.0)].concat(),
        ),
        (
            "hot pipe",
            [PLATE, THREE_PARTS, BOARD, OLD, &held(98.0)].concat(),
        ),
        (
            "too hot",
            [
                PLATE,
                &THREE_PARTS.replace("heat_w = 3.5", "heat_w = 14.5"),
                "[heat]\nair_c = 30.0\n",
                OLD,
                TO_AIR,
            ]
            .concat(),
        ),
        (
            "one part",
            [
                PLATE,
                &without_old(&limits(THREE_PARTS))
                    .split("[[component]]")
                    .take(2)
                    .collect::<Vec<_>>()
                    .join("[[component]]"),
                "[heat]\nair_c = 25.0\n",
                &held(60.0),
            ]
            .concat(),
        ),
        ("long", LONG.to_owned()),
        ("steep", STEEP.to_owned()),
        (
            "thirty parts",
            [PLATE, &thirty(), BOARD, OLD, TO_AIR].concat(),
        ),
    ]
}

/// All cases.
pub fn warm() -> &'static [Warm] {
    static WARM: OnceLock<Vec<Warm>> = OnceLock::new();
    WARM.get_or_init(|| {
        texts()
            .into_iter()
            .map(|(name, text)| {
                let (part, heat) = warmed(name, &text);
                Warm { name, part, heat }
            })
            .collect()
    })
}

/// One case by its name.
pub fn case(name: &str) -> &'static Warm {
    warm().iter().find(|warm| warm.name == name).unwrap()
}
