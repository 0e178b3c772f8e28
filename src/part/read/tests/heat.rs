//! Tests: every finding about heat with its place and its way out, and every default.

use crate::diagnostic::{Diagnostic, Noted};
use crate::part::starter::STARTER;
use crate::part::{JointKind, OldOver, Part, Sink, Treatment, parse};
use crate::quantity::Toleranced;
use approx::assert_relative_eq;
use std::fmt::Write as _;

/// The starter with one stretch of it replaced.
fn edited(from: &str, to: &str) -> String {
    assert_eq!(STARTER.matches(from).count(), 1, "{from}");
    STARTER.replace(from, to)
}

/// The starter with lines more under the first table of a kind.
fn with(table: &str, lines: &str) -> String {
    STARTER.replacen(&format!("\n{table}"), &format!("\n{table}\n{lines}\n#"), 1)
}

fn taken(text: &str) -> Part {
    let Noted { value, notes } = parse(text).unwrap_or_else(|findings| panic!("{findings:#?}"));
    assert_eq!(notes, []);
    value
}

fn place<'a>(text: &'a str, finding: &Diagnostic) -> &'a str {
    finding.span.clone().map_or("", |span| &text[span])
}

/// The one finding of a text: message and helps, and what it points at.
fn refused(text: &str) -> (String, String) {
    let findings = parse(text).unwrap_err();
    let [finding] = &findings[..] else {
        panic!("one finding: {findings:#?}")
    };
    assert!(!finding.help.is_empty(), "{finding:?}");
    (
        format!("{}; {}", finding.message, finding.help.join("; ")),
        place(text, finding).to_owned(),
    )
}

fn says(text: &str, words: &[&str], at: &str) {
    let (said, place) = refused(text);
    for word in words {
        assert!(said.contains(word), "\"{word}\" not in: {said}");
    }
    assert_eq!(place.lines().next().unwrap_or(""), at, "{said}");
}

fn defaults_about(part: &Part, key: &str) -> Vec<(String, String)> {
    let about = part.defaults.iter().filter(|used| used.key.contains(key));
    about
        .map(|used| (used.key.clone(), used.value.clone()))
        .collect()
}

fn band(value: f64, plus_minus: f64) -> Toleranced {
    Toleranced {
        value,
        plus_minus: Some(plus_minus),
    }
}

const HELD: &str = "temperature_c = 55.0       # measured on it while it works";

#[test]
fn the_starter_says_what_it_says_of_heat() {
    let part = taken(STARTER);
    let heat = &part.thermal;
    assert_eq!(heat.air_c, band(30.0, 2.0));
    assert_eq!(heat.board_c, Some(band(70.0, 10.0)));
    assert_eq!(heat.loss_w_m2k, 5.0);
    assert!(heat.span.is_some());
    let [pipe] = heat.pipes.as_slice() else {
        panic!("one pipe")
    };
    assert_eq!(pipe.name, "pipe 1");
    assert_relative_eq!(pipe.footprint.area_mm2(), 480.0, epsilon = 1e-9);
    assert_eq!(pipe.evaporation_mm2k_w, band(30.0, 15.0));
    let temperature_c = band(55.0, 3.0);
    assert_eq!(pipe.sink, Sink::Held { temperature_c });
    assert_eq!(pipe.limit_c, None);
    // 0.1 mm of 20 W/(m·K) with a tenth of it missing.
    assert_relative_eq!(
        pipe.joint.resistance_mm2k_w(),
        5.0 / 0.9,
        max_relative = 1e-12
    );
    let old = heat.old_plate.as_ref().unwrap();
    assert_eq!(
        (old.name.as_str(), old.conductivity_w_mk, old.thickness_mm),
        ("aluminium 1050", 229.0, 0.8)
    );

    let q1 = &part.components[0].heat;
    assert_eq!(q1.heat_w.unwrap().value, 3.0);
    assert_relative_eq!(q1.heat_w.unwrap().plus_minus.unwrap(), 0.6, epsilon = 1e-12);
    assert_eq!(q1.junction_to_top_k_w, band(5.0, 3.0));
    assert_eq!(q1.junction_to_board_k_w.value, 3.0);
    let over = &q1.old;
    assert_eq!(over.pad.as_ref().unwrap().name, "pad 2 mm");
    assert_eq!(over.gap_mm, Some(Toleranced::exact(1.6)));
    let c1 = &part.components[4].heat;
    assert_eq!((c1.heat_w, &c1.old), (None, &OldOver::default()));
    let Treatment::Pad(pad) = &part.components[0].treatment else {
        panic!("Q1 has a pad")
    };
    assert_eq!(pad.heat.printed_w_mk, Some(6.0));
    assert_relative_eq!(pad.heat.conductivity_w_mk.value, 5.1);
}

/// The starter as it would be without a word on heat.
fn heatless() -> String {
    let from = STARTER.find("\n[heat]").unwrap();
    let to = STARTER.find("\n[printer]").unwrap();
    let text = format!("{}{}", &STARTER[..from], &STARTER[to..]);
    let keys = ["heat_w", "old_pad", "old_gap_mm", "conductivity_w_mk"];
    let lines = text
        .lines()
        .filter(|line| !keys.iter().any(|key| line.starts_with(key)));
    lines.collect::<Vec<_>>().join("\n")
}

#[test]
fn a_file_that_asks_nothing_of_heat_is_told_nothing_of_it() {
    let silent = taken(&heatless());
    assert_eq!(silent.thermal.air_c, band(30.0, 2.0));
    assert_eq!(silent.thermal.board_c, None);
    assert_eq!(silent.thermal.pipes, []);
    let about_heat = |part: &Part| -> Vec<String> {
        let keys = part.defaults.iter().map(|used| used.key.clone());
        keys.filter(|key| {
            ["heat", "junction", "pad.", "old_plate", "void"]
                .iter()
                .any(|word| key.contains(word))
        })
        .collect()
    };
    assert_eq!(about_heat(&silent), Vec::<String>::new());
    // Neither [heat] nor [old_plate] nor pads alone ask.
    let tables = heatless() + "\n[heat]\n[old_plate]\nthickness_mm = 0.8\n";
    assert_eq!(about_heat(&taken(&tables)), Vec::<String>::new());
    // One part that makes heat does, and so does one pipe.
    let one = heatless().replace("name = \"Q1\"", "name = \"Q1\"\nheat_w = 2.0");
    let told = about_heat(&taken(&one));
    assert!(
        told.contains(&"junction_to_top_k_w of Q1".to_owned()),
        "{told:?}"
    );
    assert!(told.contains(&"heat.board_c".to_owned()), "{told:?}");
    let pipe = "\n[[heat_pipe]]\nname = \"p\"\nx_mm = 27\ny_mm = 16\nsize_mm = [8, 60]\nto_air_k_w = 0.3\n";
    let piped = taken(&(heatless() + pipe));
    let told = about_heat(&piped);
    assert!(!told.iter().any(|key| key.contains("junction")), "{told:?}");
    for key in [
        "heat.air_c",
        "heat.loss_w_m2k",
        "heat_pipe.joint of p",
        "heat_pipe.joint_mm of p",
        "heat_pipe.joint_conductivity_w_mk of p",
        "heat_pipe.void_percent of p",
        "heat_pipe.evaporation_mm2k_w of p",
        "heat_pipe.to_air_k_w plus_minus of p",
        "heat_pipe.other_heat_w of p",
        "pad.effective_w_mk of soft 1.0",
        "pad.contact_mm2k_w of soft 1.0",
    ] {
        assert!(told.contains(&key.to_owned()), "{key} not in {told:?}");
    }
    let [pipe] = piped.thermal.pipes.as_slice() else {
        panic!("one pipe")
    };
    assert_eq!(
        pipe.sink,
        Sink::ToAir {
            resistance_k_w: band(0.3, 0.15 * 0.3),
            other_heat_w: band(0.0, 0.0)
        }
    );
}

#[test]
fn what_is_given_with_its_band_is_no_default() {
    let text = with(
        "[[heat_pipe]]",
        "joint_mm = 0.2\njoint_conductivity_w_mk = 50\nvoid_percent = 20\nevaporation_mm2k_w = { value = 20, plus_minus = 5 }\nlimit_c = 95",
    );
    let part = taken(&text);
    let pipe = &part.thermal.pipes[0];
    assert_eq!(pipe.joint.kind, JointKind::Solder);
    assert_relative_eq!(pipe.joint.resistance_mm2k_w(), 5.0, max_relative = 1e-12);
    assert_eq!(pipe.evaporation_mm2k_w, band(20.0, 5.0));
    assert_eq!(pipe.limit_c, Some(95.0));
    assert_eq!(
        defaults_about(&part, "heat_pipe"),
        [(
            "heat_pipe.temperature_c plus_minus of pipe 1".to_owned(),
            "3".to_owned()
        )]
    );
    let text = with(
        "[[component]]",
        "junction_to_top_k_w = { value = 2, plus_minus = 0.1 }\njunction_to_board_k_w = 4\nlimit_c = 110",
    );
    let part = taken(&text);
    let heat = &part.components[0].heat;
    assert_eq!(heat.junction_to_top_k_w, band(2.0, 0.1));
    assert_eq!(heat.junction_to_board_k_w, band(4.0, 1.0));
    assert_eq!(heat.limit_c, Some(110.0));
    assert_eq!(
        defaults_about(&part, "junction_to_board_k_w plus_minus"),
        [(
            "junction_to_board_k_w plus_minus of Q1".to_owned(),
            "25 %".to_owned()
        )]
    );
}

#[test]
fn evaporation_of_the_whole_seat_becomes_that_of_an_area() {
    let part = taken(&with("[[heat_pipe]]", "evaporation_k_w = 0.1"));
    let got = part.thermal.pipes[0].evaporation_mm2k_w;
    assert_relative_eq!(got.value, 48.0, epsilon = 1e-9);
    assert_relative_eq!(got.plus_minus.unwrap(), 24.0, epsilon = 1e-9);
    says(
        &with(
            "[[heat_pipe]]",
            "evaporation_k_w = 0.1\nevaporation_mm2k_w = 30",
        ),
        &["both `evaporation_mm2k_w` and `evaporation_k_w`", "keep"],
        "0.1",
    );
}

#[test]
fn a_pipe_says_one_way_for_its_heat_and_only_one() {
    says(
        &edited(HELD, ""),
        &[
            "does not say where its heat goes",
            "temperature_c = 60.0",
            "to_air_k_w = 0.25",
        ],
        "[[heat_pipe]]",
    );
    says(
        &edited(HELD, &format!("{HELD}\nto_air_k_w = 0.25")),
        &["both `temperature_c` and `to_air_k_w`"],
        "0.25",
    );
    for held in [HELD, ""] {
        says(
            &edited(HELD, &format!("{held}\nother_heat_w = 65.0")),
            &["`other_heat_w` but no `to_air_k_w`"],
            "65.0",
        );
    }
    let part = taken(&edited(HELD, "to_air_k_w = 0.25\nother_heat_w = 60.0"));
    assert_eq!(
        part.thermal.pipes[0].sink,
        Sink::ToAir {
            resistance_k_w: band(0.25, 0.15 * 0.25),
            other_heat_w: band(60.0, 9.0)
        }
    );
    // What was refused is not also called missing.
    says(
        &edited(HELD, "temperature_c = 900.0"),
        &["a temperature of 900 °C is above"],
        "900.0",
    );
    says(
        &edited(HELD, "to_air_k_w = 0\nother_heat_w = 65.0"),
        &["a thermal resistance of 0 K/W is below"],
        "0",
    );
}

#[test]
fn a_pipe_lies_over_the_plate() {
    let beside = |x: &str, y: &str, size: &str| {
        STARTER
            .replace(
                "x_mm = 27.0                # centre",
                &format!("x_mm = {x}"),
            )
            .replace(
                "y_mm = 16.0\nsize_mm = [8.0, 60.0]      # along x, along y;",
                &format!("y_mm = {y}\nsize_mm = {size} #"),
            )
    };
    says(
        &beside("60.0", "16.0", "[8.0, 60.0]"),
        &[
            "lies beside the plate",
            "x 56 to 64, y -14 to 46",
            "the plate x 0 to 40, y 0 to 32",
        ],
        "[[heat_pipe]]",
    );
    // It touches the edge, and only there.
    assert!(parse(&beside("44.0", "16.0", "[8.0, 60.0]")).is_err());
    assert!(parse(&beside("43.9", "16.0", "[8.0, 60.0]")).is_ok());
    // In the box of the plate, but beside its rounded corner.
    assert!(parse(&beside("0.1", "0.1", "[0.2, 0.2]")).is_err());
    // In a deep notch.
    let notch = "[[notch]]\nedge = \"back\"\nfrom_mm = 24\nto_mm = 34\ndepth_mm = 12\n";
    let short = beside("29.0", "28.0", "[4.0, 6.0]");
    assert!(parse(&short).is_ok());
    assert!(parse(&(short + notch)).is_err());
}

#[test]
fn two_pipes_cannot_lie_on_one_spot() {
    let second = "\n[[heat_pipe]]\nname = \"second\"\nx_mm = 30.0\ny_mm = 16.0\nsize_mm = [8.0, 60.0]\ntemperature_c = 55.0\n";
    says(
        &format!("{STARTER}{second}"),
        &[
            "\"second\" and \"pipe 1\" lie on one spot",
            "size_mm of both",
        ],
        "[[heat_pipe]]",
    );
    // Beside each other is well.
    assert_eq!(
        taken(&format!("{STARTER}{}", second.replace("30.0", "35.0")))
            .thermal
            .pipes
            .len(),
        2
    );
}

#[test]
fn names_of_pipes_are_their_own_and_there_are_not_too_many() {
    let again = |count: usize| {
        let mut text = STARTER.to_owned();
        for i in 0..count {
            let _ = write!(
                text,
                "[[heat_pipe]]\nname = \"more {i}\"\nx_mm = {}\ny_mm = 16\nsize_mm = [0.1, 60]\ntemperature_c = 50\n",
                2.0 + 0.1 * i as f64
            );
        }
        text
    };
    taken(&again(199));
    says(
        &again(200),
        &["201 [[heat_pipe]] tables; coldstep takes at most 200"],
        "[[heat_pipe]]",
    );
    says(
        &again(1).replace("more 0", "pipe 1"),
        &["two heat pipes are called \"pipe 1\""],
        "\"pipe 1\"",
    );
    says(
        &edited("size_mm = [8.0, 60.0]      # along x, along y;", "#"),
        &["has no `size_mm`", "size_mm = [60.0, 8.0]"],
        "[[heat_pipe]]",
    );
}

#[test]
fn numbers_about_heat_have_their_ranges() {
    for (table, line, words, at) in [
        (
            "[[component]]",
            "limit_c = 500",
            "a temperature of 500 °C is above",
            "500",
        ),
        (
            "[[component]]",
            "junction_to_top_k_w = -1",
            "cannot be negative",
            "-1",
        ),
        (
            "[[component]]",
            "junction_to_board_k_w = nan",
            "not a number",
            "nan",
        ),
        (
            "[[heat_pipe]]",
            "void_percent = 95",
            "a share of voids of 95 % is above",
            "95",
        ),
        (
            "[[heat_pipe]]",
            "joint_mm = 12",
            "a thickness of a joint of 12 mm is above",
            "12",
        ),
        (
            "[[heat_pipe]]",
            "joint_conductivity_w_mk = 0",
            "a thermal conductivity of 0",
            "0",
        ),
        (
            "[[heat_pipe]]",
            "evaporation_mm2k_w = 0",
            "an evaporation resistance of 0",
            "0",
        ),
        ("[heat]", "loss_w_m2k = -5", "cannot be negative", "-5"),
        ("[[pad]]", "contact_mm2k_w = -5", "cannot be negative", "-5"),
        (
            "[[pad]]",
            "effective_w_mk = inf",
            "cannot be infinite",
            "inf",
        ),
        (
            "[old_plate]",
            "conductivity_w_mk = 5000",
            "above the most",
            "5000",
        ),
    ] {
        says(&with(table, line), &[words], at);
    }
    says(
        &edited("heat_w = 3.0               #", "heat_w = -3.0 #"),
        &["a heat cannot be negative: -3 W", "from 0 to 2000 W"],
        "-3.0",
    );
    says(
        &edited("air_c = 30.0               #", "air_c = 3000 #"),
        &["a temperature of 3000 °C is above"],
        "3000",
    );
}

#[test]
fn an_old_gap_has_its_range() {
    says(
        &edited("old_gap_mm = 1.6           #", "old_gap_mm = 0 #"),
        &["a gap of 0 mm is below"],
        "0",
    );
}

#[test]
fn a_band_has_its_own_range_and_keeps_the_number_in_its_own() {
    let effective = |band: &str| with("[[pad]]", &format!("effective_w_mk = {band}"));
    // More than the 5 mm that a length may be off by.
    taken(&effective("{ value = 40, plus_minus = 8 }"));
    says(
        &effective("{ value = 3, plus_minus = 3 }"),
        &[
            "`effective_w_mk` of 3 ± 3 could be as little as 0",
            "a thermal conductivity cannot be below 0.01 W/(m K)",
        ],
        "{ value = 3, plus_minus = 3 }",
    );
    says(
        &effective("{ value = 3, plus_minus = -1 }"),
        &["a tolerance cannot be negative: -1 W/(m K)"],
        "{ value = 3, plus_minus = -1 }",
    );
    says(
        &edited(
            "heat_w = 3.0               #",
            "heat_w = { value = 3, plus_minus = 4 } #",
        ),
        &["could be as little as -1", "a heat cannot be below 0 W"],
        "{ value = 3, plus_minus = 4 }",
    );
}

#[test]
fn old_pads_are_known_and_need_an_old_plate() {
    says(
        &with("[[component]]", "").replacen("old_pad = \"pad 2 mm\"", "old_pad = \"pad 2mm\"", 1),
        &["no pad is called \"pad 2mm\"", "did you mean \"pad 2 mm\"?"],
        "\"pad 2mm\"",
    );
    let from = STARTER.find("\n[old_plate]").unwrap();
    let to = STARTER.find("\n[printer]").unwrap();
    let plateless = format!("{}{}", &STARTER[..from], &STARTER[to..]);
    let findings = parse(&plateless).unwrap_err();
    assert_eq!(findings.len(), 4, "{findings:#?}");
    for finding in &findings {
        assert!(
            finding
                .message
                .contains("`old_pad`, but the part file has no [old_plate]"),
            "{finding:?}"
        );
        assert!(place(&plateless, finding).starts_with("\"pad "));
    }
    let gap_only = heatless().replace("name = \"Q1\"", "name = \"Q1\"\nold_gap_mm = 1.6");
    says(
        &gap_only,
        &["`old_gap_mm`, but the part file has no [old_plate]"],
        "1.6",
    );
    // A table that is there but wrong is not missing as well.
    says(
        &plateless.replace("[part]", "old_plate = 3\n[part]"),
        &["`old_plate` should be one table"],
        "3",
    );
}

#[test]
fn an_old_gap_is_given_or_follows_from_one_level() {
    let old_gaps = |line: &&str| !line.starts_with("old_gap_mm");
    let lines = STARTER.lines().filter(old_gaps).collect::<Vec<_>>();
    let gapless = lines.join("\n");
    let level = |written: &str| gapless.replace("# underside_mm = 4.6 ", written);
    // Without a level: one finding for each part with an old pad.
    let findings = parse(&gapless).unwrap_err();
    assert_eq!(findings.len(), 4, "{findings:#?}");
    for finding in &findings {
        assert!(
            finding.message.contains("how far this component was below"),
            "{finding:?}"
        );
        assert!(finding.help.join("; ").contains("old_gap_mm = 1.6"));
        assert_eq!(place(&gapless, finding), "\"pad 2 mm\"");
    }
    // Inside two parts.
    let text = level("underside_mm = 3.0 ");
    let findings = parse(&text).unwrap_err();
    assert_eq!(findings.len(), 2, "{findings:#?}");
    for finding in &findings {
        assert!(
            finding
                .message
                .contains("3 mm above the board, leaves this component, 3.1 mm high, no gap"),
            "{finding:?}"
        );
        assert_eq!(place(&text, finding), "\"pad 2 mm\"");
        assert_eq!(finding.related.len(), 1);
    }
    // One level: both bands count.
    let part = taken(&level("underside_mm = { value = 3.6, plus_minus = 0.12 } "));
    let gap = part.components[0].heat.old.gap_mm.unwrap();
    assert_relative_eq!(gap.value, 2.65, epsilon = 1e-12);
    assert_relative_eq!(gap.plus_minus.unwrap(), 0.13, epsilon = 1e-12);
    // C1 has no old pad, but the plate was over it too.
    assert!(part.components[4].heat.old.gap_mm.is_some());
    // What was higher than it and had no pad stood beside it.
    let tall = level("underside_mm = 3.6 ").replace("height_mm = 1.3", "height_mm = 3.7");
    let part = parse(&tall).unwrap().value;
    assert_eq!(part.components[4].heat.old.gap_mm, None);
    // A gap of its own goes before the level, with its own band.
    let own = level("underside_mm = 3.6 ").replacen(
        "[[component]]",
        "[[component]]\nold_gap_mm = { value = 1.6, plus_minus = 0.2 }",
        1,
    );
    let gap = taken(&own).components[0].heat.old.gap_mm;
    assert_eq!(gap, Some(band(1.6, 0.2)));
}

#[test]
fn the_old_plate_has_a_metal() {
    let metal = |lines: &str| {
        edited(
            "material = \"aluminium-1050\"     # words of [sheet]",
            lines,
        )
        .replace("# conductivity_w_mk = 390.0", "#")
    };
    let old = |lines: &str| taken(&metal(lines)).thermal.old_plate.unwrap();
    let name_and_k = |lines: &str| {
        let old = old(lines);
        (old.name, old.conductivity_w_mk)
    };
    assert_eq!(name_and_k(""), ("copper".to_owned(), 390.0));
    assert_eq!(
        defaults_about(&taken(&metal("")), "old_plate"),
        [(
            "old_plate.material".to_owned(),
            "copper, 390 W/(m K)".to_owned()
        )]
    );
    assert_eq!(name_and_k("material = \"aluminium-1050\"").1, 229.0);
    assert_eq!(
        name_and_k("conductivity_w_mk = 150"),
        ("metal of 150 W/(m K)".to_owned(), 150.0)
    );
    assert_eq!(
        name_and_k("material = \"copper\"\nconductivity_w_mk = 340"),
        ("copper".to_owned(), 340.0)
    );
    assert_eq!(
        name_and_k("material = \"own\"\nconductivity_w_mk = 60"),
        ("own material".to_owned(), 60.0)
    );
    says(
        &metal("material = \"own\""),
        &["needs `conductivity_w_mk`", "conductivity_w_mk = 390.0"],
        "\"own\"",
    );
    says(
        &metal("material = \"cooper\""),
        &["`material` does not know \"cooper\"", "\"copper\""],
        "\"cooper\"",
    );
    says(
        &metal("").replace("thickness_mm = 0.8\n", "\n"),
        &["has no `thickness_mm`", "thickness_mm = 0.8"],
        "[old_plate]",
    );
}

#[test]
fn measured_pairs_give_conductivity_and_faces() {
    let measured = |pairs: &str| with("[[pad]]", &format!("measured = {pairs}"));
    let part = taken(&measured(
        "[[0.5, 151.0], [1.0, 275.0], [1.5, 389.0], [2.0, 513.0]]",
    ));
    let heat = &part.pads[0].heat;
    assert_relative_eq!(heat.conductivity_w_mk.value, 4.166_67, epsilon = 1e-5);
    assert_relative_eq!(heat.contact_mm2k_w.value, 32.0, epsilon = 1e-9);
    assert_eq!(heat.printed_w_mk, Some(6.0));
    assert_eq!(heat.fit.as_ref().unwrap().points, 4);
    // Nothing of this pad is a default; the stock pads of the old plate still are.
    for (key, _) in defaults_about(&part, "pad.") {
        assert!(!key.contains("soft 1.0"), "{key}");
    }

    for (pairs, words) in [
        ("[[1.0, 275.0]]", "needs 2 to 50 pairs, this one has 1"),
        ("[]", "needs 2 to 50 pairs, this one has 0"),
        (
            "[[1.0, 275.0], [1.0, 285.0]]",
            "measure two thicknesses or more",
        ),
        (
            "[[1.0, 275.0], [2.0, 275.0]]",
            "does not grow with the thickness: 0 mm²K/W",
        ),
        (
            "[[275.0, 1.0], [389.0, 1.5]]",
            "a pad thickness of 275 mm is above",
        ),
        (
            "[[1.0, 275.0], [2.0, 290.0]]",
            "they say nothing of the conductivity: 15 ± ",
        ),
        (
            "[[1.0, 100.0], [2.0, 400.0]]",
            "less than nothing to the faces: -200 ± ",
        ),
        (
            "[[1.0, 275.0], [2.0, -1.0]]",
            "an impedance cannot be negative",
        ),
        (
            "[[1.0, 275.0], [2.0, inf]]",
            "an impedance cannot be infinite",
        ),
        (
            "[[0.0, 32.0], [2.0, 500.0]]",
            "a pad thickness of 0 mm is below",
        ),
        ("[[0.1, 100.0], [1.0, 1000000.0]]", "less than nothing"),
        ("[[0.1, 0.1], [20.0, 0.2]]", "a thermal conductivity of"),
        (
            "[[1.0, 2.0, 3.0], [2.0, 3.0, 4.0]]",
            "should be pairs of numbers",
        ),
        ("12", "should be pairs of numbers"),
    ] {
        let (said, at) = refused(&measured(pairs));
        assert!(said.contains(words), "\"{words}\" not in: {said}");
        assert!(pairs.contains(&at) && !at.is_empty(), "{at}");
    }
    let many = vec!["[1.0, 275.0]"; 51].join(", ");
    assert!(
        refused(&measured(&format!("[{many}]")))
            .0
            .contains("this one has 51")
    );
    for line in ["effective_w_mk = 4.0", "contact_mm2k_w = 30.0"] {
        let (key, value) = line.split_once(" = ").unwrap();
        let text = with(
            "[[pad]]",
            &format!("{line}\nmeasured = [[0.5, 151.0], [1.0, 275.0]]"),
        );
        says(&text, &[&format!("both `measured` and `{key}`")], value);
    }
}

#[test]
fn the_solder_of_an_extension_plate_is_a_joint() {
    let plate = "\n[[extension]]\nname = \"e\"\nflat = \"chokes\"\nfrom_mm = 24\nto_mm = 30\ny_from_mm = 4\ny_to_mm = 12\nthickness_mm = 0.5\nsolder_mm = 0.2\n";
    let part = parse(&format!("{STARTER}{plate}")).unwrap().value;
    let joint = part.extensions[0].joint;
    assert_eq!(
        (
            joint.kind,
            joint.thickness_mm,
            joint.conductivity_w_mk,
            joint.void_percent
        ),
        (JointKind::Solder, 0.2, 20.0, 10.0)
    );
    assert_eq!(defaults_about(&part, "extension.").len(), 2);
    let told = format!("{STARTER}{plate}solder_conductivity_w_mk = 50\nvoid_percent = 0\n");
    let part = parse(&told).unwrap().value;
    assert_relative_eq!(part.extensions[0].joint.resistance_mm2k_w(), 4.0);
    assert_eq!(defaults_about(&part, "extension."), []);
}

#[test]
fn all_mistakes_are_told_at_once() {
    let text = edited(HELD, "void_percent = 99\nother_heat_w = 3")
        .replacen("heat_w = 3.0 ", "heat_w = -3.0 ", 1)
        .replace("air_c = 30.0", "air_c = 999")
        .replacen("[[pad]]", "[[pad]]\nmeasured = [[1, 2]]", 1)
        .replace("to_mm = 16.5", "to_mm = 30");
    let findings = parse(&text).unwrap_err();
    for words in [
        "voids",
        "heat cannot be",
        "999",
        "2 to 50 pairs",
        "other_heat_w",
    ] {
        assert!(
            findings
                .iter()
                .any(|finding| finding.message.contains(words)),
            "{words}: {findings:#?}"
        );
    }
    assert!(findings.len() > 5, "{findings:#?}");
}
