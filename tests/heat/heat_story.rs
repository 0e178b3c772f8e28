//! Two things that the trade reports, and under which assumptions the model can tell them.
//!
//! Common practice, no source; nobody measured them for coldstep:
//! 1. A 0.8 mm plate with 2 mm pads had its hottest power stage at 95 °C; with a 1 mm plate and 1 mm pads it was 86 °C.
//! 2. A pad of 14 W/(m·K) against one of 6 W/(m·K) made a visible difference where it was 2 mm thick, and almost none
//!    where it was 1 mm thick.
//!
//! The board is invented, and its numbers are first guesses: six power stages of 3.5 W, 5 x 6 mm, two chokes of 1 W, two
//! heat pipes kept at 60 °C by something else. How much of the heat goes up and how much into the board is not known, so
//! both ends are calculated: all of it, or half. Nothing was tuned to meet 95 or 86 °C.
//!
//! What came out (`cargo test --test heat heat_story -- --nocapture`):
//! - All heat going up: 128 °C before, 22 K gained. Half of it: 94 °C before, 11 K gained. Either way thin pads alone bring
//!   seven times what the thicker plate alone brings.
//! - With what the packs say and equal faces the better pad gains 8 K at 2 mm and still 4 K at 1 mm: half as thick is half
//!   the difference, so the second report cannot be told that way. With 4.5 and 7.5 W/(m·K), 40 and 90 mm²K/W for both
//!   faces, 25 and 12 % compression it is 3 K and 0 K. That is one set of assumptions that tells it, not a proof of them:
//!   a pressed pad measured with a calliper and two impedances would say more.

use coldstep::fit::Underside;
use coldstep::heat::heat;
use coldstep::part::parse;
use std::fmt::Write as _;

/// Heat of a power stage when all of it goes up into the plate, and when half of it does.
const ALL_UP_W: f64 = 3.5;
const HALF_UP_W: f64 = 1.75;

/// A pad as it works: conductivity, both faces together, how far it is compressed.
#[derive(Clone, Copy)]
struct Pad {
    effective_w_mk: f64,
    contact_mm2k_w: f64,
    compressed_percent: f64,
}

/// Hottest power stage, °C, under a level plate with pads of one thickness.
fn hottest_c(plate_mm: f64, pad_mm: f64, pad: Pad, stage_w: f64) -> f64 {
    let gap_mm = pad_mm * (1.0 - pad.compressed_percent / 100.0);
    let mut text = format!(
        "[sheet]\nmaterial = \"copper\"\ntemper = \"soft\"\nthickness_mm = {plate_mm}\n\
         [plate]\nwidth_mm = 40.0\n\
         [[flat]]\nname = \"all\"\nfrom_mm = 0.0\nto_mm = 60.0\nunderside_mm = {}\n\
         [[pad]]\nname = \"pad\"\nthickness_mm = {pad_mm}\neffective_w_mk = {}\ncontact_mm2k_w = {}\n\
         compression_percent = [5, 50]\n",
        1.0 + gap_mm,
        pad.effective_w_mk,
        pad.contact_mm2k_w
    );
    let mut component = |name: &str, x: f64, y: f64, size: f64, heat_w: f64, kind: &str| {
        writeln!(
            text,
            "[[component]]\nname = \"{name}\"\nkind = \"{kind}\"\nx_mm = {x}\ny_mm = {y}\n\
             size_mm = [{size}, {}]\nheight_mm = 1.0\npad = \"pad\"\nheat_w = {heat_w}\njunction_to_top_k_w = 2.0",
            size + 1.0
        )
        .unwrap();
    };
    for number in 0..6 {
        let x = 6.0 + 7.5 * f64::from(number);
        component(&format!("Q{number}"), x, 8.0, 5.0, stage_w, "power-stage");
    }
    component("L0", 12.0, 20.0, 8.0, 1.0, "inductor");
    component("L1", 32.0, 20.0, 8.0, 1.0, "inductor");
    for (number, y) in [(1, 22.0), (2, 33.0)] {
        writeln!(
            text,
            "[[heat_pipe]]\nname = \"pipe {number}\"\nx_mm = 30.0\ny_mm = {y}\nsize_mm = [56.0, 8.0]\ntemperature_c = 60.0"
        )
        .unwrap();
    }
    let part = parse(&text)
        .unwrap_or_else(|findings| panic!("{findings:#?}\n{text}"))
        .value;
    let heat = heat(&part, &Underside::drawn(&part), Underside::drawn)
        .unwrap_or_else(|findings| panic!("{findings:#?}"))
        .value;
    heat.parts
        .iter()
        .map(|part| part.inside_c.middle)
        .fold(f64::MIN, f64::max)
}

/// What the packs say, equal faces, equal softness.
const PRINTED: [Pad; 2] = [
    Pad {
        effective_w_mk: 6.0,
        contact_mm2k_w: 40.0,
        compressed_percent: 25.0,
    },
    Pad {
        effective_w_mk: 14.0,
        contact_mm2k_w: 40.0,
        compressed_percent: 25.0,
    },
];

/// Conductivities a good way below the packs; the better pad is stiffer and wets worse.
const STIFFER: [Pad; 2] = [
    Pad {
        effective_w_mk: 4.5,
        contact_mm2k_w: 40.0,
        compressed_percent: 25.0,
    },
    Pad {
        effective_w_mk: 7.5,
        contact_mm2k_w: 90.0,
        compressed_percent: 12.0,
    },
];

#[test]
fn thin_pads_are_most_of_the_gain_and_the_thicker_plate_a_little() {
    let pad = STIFFER[0];
    for (stage_w, plausible_c) in [(ALL_UP_W, 110.0..140.0), (HALF_UP_W, 85.0..105.0)] {
        let of = |plate_mm, pad_mm| hottest_c(plate_mm, pad_mm, pad, stage_w);
        let before_c = of(0.8, 2.0);
        let gain_k = before_c - of(1.0, 1.0);
        let pads_k = before_c - of(0.8, 1.0);
        let plate_k = before_c - of(1.0, 2.0);
        println!(
            "{stage_w} W a stage: {before_c:.1} °C before; gained {gain_k:.1} K, by pads alone {pads_k:.1}, by the plate alone {plate_k:.1}"
        );
        assert!(plausible_c.contains(&before_c), "{before_c}");
        // All of it, then what each does alone: they nearly add up, and the pads are by far the larger share.
        assert!((gain_k - pads_k - plate_k).abs() < 0.1 * gain_k);
        assert!(pads_k > 4.0 * plate_k && plate_k > 0.0);
    }
    // With half of the heat going up, the gain is of the size that is reported.
    let gain_k = hottest_c(0.8, 2.0, pad, HALF_UP_W) - hottest_c(1.0, 1.0, pad, HALF_UP_W);
    assert!((6.0..14.0).contains(&gain_k), "{gain_k}");
}

#[test]
fn equal_faces_cannot_tell_the_second_report_and_a_stiffer_pad_that_wets_worse_can() {
    let gains = |pads: [Pad; 2], plate_mm: f64, pad_mm: f64| {
        let [worse, better] = pads.map(|pad| hottest_c(plate_mm, pad_mm, pad, HALF_UP_W));
        worse - better
    };
    let [printed_2, printed_1] = [(0.8, 2.0), (1.0, 1.0)].map(|(a, b)| gains(PRINTED, a, b));
    let [stiffer_2, stiffer_1] = [(0.8, 2.0), (1.0, 1.0)].map(|(a, b)| gains(STIFFER, a, b));
    println!("as printed, equal faces: {printed_2:.1} K at 2 mm, {printed_1:.1} K at 1 mm");
    println!("stiffer, wets worse: {stiffer_2:.1} K at 2 mm, {stiffer_1:.1} K at 1 mm");
    // Half as thick is about half the difference: never almost none.
    assert!(printed_2 > 4.0 && printed_1 > 0.4 * printed_2);
    assert!(stiffer_2 > 1.5 && stiffer_1.abs() < 0.5);
    // The crossing of the two pads says where: in their own pressed thickness, without what compression does.
    let (a, b) = (STIFFER[0], STIFFER[1]);
    let crossing_mm = (b.contact_mm2k_w - a.contact_mm2k_w)
        / (1000.0 / a.effective_w_mk - 1000.0 / b.effective_w_mk);
    assert!((0.3..1.0).contains(&crossing_mm), "{crossing_mm}");
}
