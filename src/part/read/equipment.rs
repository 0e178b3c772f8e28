//! Checks the maker's machines and wishes, and fills in what is left out: printer, vise, dies.

use super::entry::{DiesEntry, PrinterEntry, ViseEntry};
use super::section::{At, Reading};
use crate::diagnostic::{Diagnostic, Span};
use crate::numbers::plain;
use crate::part::equipment::{HAND_N, SCREW_EFFICIENCY};
use crate::part::words::Cheeks;
use crate::part::{DefaultUsed, DieOptions, Printer, Tilt, Vise, ViseForce};
use crate::stock::Plastic;

const NO_SOURCE: &str = "common practice, no source";

/// Bench vises are rated for 10 to 30 kN, from memory; twice that is a slip of the pen or no bench vise.
const DOUBTFUL_N: f64 = 60_000.0;

/// Sheet on printed plastic. Printed ABS, PC and PLA rubbed with 0.04 to 0.20 on a tribometer, from greased to dry (Polymers
/// 2023, 15(20), 4112; abstract read); where in that range a waxed sheet lies is common practice, no source.
const FRICTION: f64 = 0.15;

fn or_default<T: Clone>(
    given: Option<&At<T>>,
    key: &str,
    value: T,
    shown: String,
    reason: &str,
    defaults: &mut Vec<DefaultUsed>,
) -> T {
    given.map_or_else(
        || {
            defaults.push(DefaultUsed {
                key: key.into(),
                value: shown,
                reason: reason.into(),
            });
            value
        },
        |at| at.value.clone(),
    )
}

/// Printer with defaults filled in.
pub fn printer(entry: Option<&PrinterEntry>, defaults: &mut Vec<DefaultUsed>) -> Printer {
    let none = PrinterEntry::default();
    let given = entry.unwrap_or(&none);
    let mut number = |at: &Option<At<f64>>, key: &str, value: f64, reason: &str| {
        or_default(at.as_ref(), key, value, plain(value), reason, defaults)
    };
    let nozzle_mm = number(&given.nozzle_mm, "printer.nozzle_mm", 0.4, NO_SOURCE);
    let size_error_mm = number(
        &given.size_error_mm,
        "printer.size_error_mm",
        0.0,
        "print a test block, measure it, and give measured minus drawn",
    );
    let infill_percent = number(
        &given.infill_percent,
        "printer.infill_percent",
        100.0,
        "printed solid: infill gives way under the noses; own calculation, see press",
    );
    let wall_mm = number(&given.wall_mm, "printer.wall_mm", 2.0, NO_SOURCE);
    let length_scale = given.length_scale.as_ref().map_or(1.0, |at| at.value);
    let plastic = or_default(
        given.plastic.as_ref(),
        "printer.plastic",
        Plastic::Pla,
        "pla".into(),
        NO_SOURCE,
        defaults,
    );
    Printer {
        plastic,
        bed_mm: given.bed_mm.as_ref().map(|at| at.value),
        nozzle_mm,
        size_error_mm,
        length_scale,
        infill_percent,
        wall_mm,
        compressive_yield_mpa: given.compressive_yield_mpa.as_ref().map(|at| at.value),
        youngs_mpa: given.youngs_mpa.as_ref().map(|at| at.value),
        span: entry.map(|entry| entry.span.clone()),
    }
}

/// Vise, if the file has one.
pub fn vise(
    entry: Option<&ViseEntry>,
    reading: &mut Reading,
    defaults: &mut Vec<DefaultUsed>,
) -> Option<Vise> {
    let mut open = |key: &str, value: &str, reason: &str| {
        defaults.push(DefaultUsed {
            key: key.to_owned(),
            value: value.to_owned(),
            reason: reason.to_owned(),
        });
    };
    let Some(entry) = entry else {
        let reason = "no [vise]: neither jaws nor opening are checked; force from a screw of 4 mm a turn, a handle of 150 mm and one \
                      hand; common practice, no source";
        open("vise", "the least force of a common one", reason);
        return None;
    };
    if entry.jaw_height_mm.is_none() {
        open(
            "vise.jaw_height_mm",
            "not checked",
            "the file does not say how high the jaws are",
        );
    }
    let force = vise_force(entry, reading, defaults);
    if force.is_none() && entry.force_n.is_none() {
        defaults.push(DefaultUsed {
            key: "vise.force_n".to_owned(),
            value: "the least of a common one".to_owned(),
            reason: "neither force_n nor screw and handle given; common practice, no source"
                .to_owned(),
        });
    }
    let (Some(jaw_width), Some(opening)) = (&entry.jaw_width_mm, &entry.opening_mm) else {
        if reading.lacks(&entry.span, &["jaw_width_mm", "opening_mm"]) {
            reading.findings.push(
                Diagnostic::error("[vise] needs `jaw_width_mm` and `opening_mm`")
                    .id("part-missing")
                    .at(&entry.span)
                    .help("measure both on the vise, or delete the table: then no vise is checked"),
            );
        }
        return None;
    };
    Some(Vise {
        jaw_width_mm: jaw_width.value,
        jaw_height_mm: entry.jaw_height_mm.as_ref().map(|at| at.value),
        opening_mm: opening.value,
        force,
        span: entry.span.clone(),
    })
}

/// How hard the vise presses: given, or from its screw and handle.
fn vise_force(
    entry: &ViseEntry,
    reading: &mut Reading,
    defaults: &mut Vec<DefaultUsed>,
) -> Option<ViseForce> {
    const SCREW_KEYS: [&str; 4] = [
        "screw_lead_mm",
        "handle_length_mm",
        "handle_force_n",
        "efficiency",
    ];
    let spans = [
        entry.screw_lead_mm.as_ref().map(|at| &at.span),
        entry.handle_length_mm.as_ref().map(|at| &at.span),
        entry.handle_force_n.as_ref().map(|at| &at.span),
        entry.efficiency.as_ref().map(|at| &at.span),
    ];
    let first = SCREW_KEYS
        .iter()
        .zip(spans)
        .find_map(|(key, span)| Some((*key, span?)));
    if let (Some(force), Some((key, span))) = (&entry.force_n, first) {
        reading.findings.push(
            Diagnostic::error(format!(
                "both `force_n` and `{key}` say how hard the vise presses"
            ))
            .id("part-said-twice")
            .at(&force.span)
            .also(span, "the other one")
            .help("keep force_n alone if the force is known")
            .help("or delete it: coldstep then finds the force from screw and handle"),
        );
        return None;
    }
    if let Some(force) = &entry.force_n {
        let given = ViseForce::Given {
            force_n: force.value,
        };
        return Some(doubted(given, &force.span, reading));
    }
    let (key, span) = first?;
    let efficiency = entry.efficiency.as_ref();
    let mut backwards = false;
    if let Some(At {
        value: [least, most],
        span,
    }) = efficiency
        && least > most
    {
        backwards = true;
        reading.findings.push(
            Diagnostic::error(format!(
                "`efficiency` runs backwards, from {} to {}",
                plain(*least),
                plain(*most)
            ))
            .id("part-backwards")
            .at(span)
            .help(format!(
                "write the worse screw first: efficiency = [{}, {}]",
                plain(*most),
                plain(*least)
            )),
        );
    }
    let (Some(lead), Some(handle_length)) = (&entry.screw_lead_mm, &entry.handle_length_mm) else {
        for (there, missing, way_out) in [
            (
                entry.screw_lead_mm.is_some(),
                "screw_lead_mm",
                "turn the handle once and measure how far the jaw moves: screw_lead_mm = 5.0",
            ),
            (
                entry.handle_length_mm.is_some(),
                "handle_length_mm",
                "measure from the middle of the screw to the hand: handle_length_mm = 200.0",
            ),
        ] {
            if !there && reading.lacks(&entry.span, &[missing]) {
                reading.findings.push(
                    Diagnostic::error(format!("[vise] has `{key}` but no `{missing}`")).id("part-missing")
                        .at(span)
                        .help(way_out)
                        .help("or give the force itself in place of screw and handle: force_n = 8000.0"),
                );
            }
        }
        return None;
    };
    if backwards {
        return None;
    }
    let handle_force_n = or_default(
        entry.handle_force_n.as_ref(),
        "vise.handle_force_n",
        HAND_N,
        plain(HAND_N),
        "a firm pull with one hand; common practice, no source",
        defaults,
    );
    let [least, most] = SCREW_EFFICIENCY;
    let efficiency = or_default(
        efficiency,
        "vise.efficiency",
        SCREW_EFFICIENCY,
        format!("[{}, {}]", plain(least), plain(most)),
        "from a dry screw to a well greased one; common practice, no source",
        defaults,
    );
    Some(doubted(
        ViseForce::Screw {
            lead_mm: lead.value,
            handle_length_mm: handle_length.value,
            handle_force_n,
            efficiency,
        },
        &lead.span,
        reading,
    ))
}

/// Passes a force on, with a warning when no bench vise presses that hard.
fn doubted(force: ViseForce, span: &Span, reading: &mut Reading) -> ViseForce {
    let [least_n, _] = force.force_n();
    if least_n > DOUBTFUL_N {
        reading.findings.push(
            Diagnostic::warning(format!(
                "this vise would press with {:.0} kN or more; bench vises are rated for 10 to 30 kN",
                least_n / 1000.0
            )).id("part-vise-too-strong")
            .at(span)
            .help("look at the units again: lead and handle in millimetres, force in newtons"),
        );
    }
    force
}

/// Die options with defaults filled in.
pub fn dies(
    entry: Option<&DiesEntry>,
    thickness_mm: f64,
    defaults: &mut Vec<DefaultUsed>,
) -> DieOptions {
    let none = DiesEntry::default();
    let given = entry.unwrap_or(&none);
    let mut number = |at: &Option<At<f64>>, key: &str, value: f64, reason: &str| {
        or_default(at.as_ref(), key, value, plain(value), reason, defaults)
    };
    let clearance_mm = number(
        &given.clearance_mm,
        "dies.clearance_mm",
        0.05,
        "room for the sheet's own thickness tolerance; common practice, no source",
    );
    let base_mm = number(&given.base_mm, "dies.base_mm", 12.0, NO_SOURCE);
    let corner_relief_mm = number(
        &given.corner_relief_mm,
        "dies.corner_relief_mm",
        (0.5 * thickness_mm * 100.0).round() / 100.0,
        "half a sheet thickness; common practice, no source",
    );
    let friction = number(
        &given.friction,
        "dies.friction",
        FRICTION,
        "waxed faces; printed plastics rub with 0.04 greased to 0.20 dry (Polymers 2023, 15(20), 4112, abstract read)",
    );
    DieOptions {
        clearance_mm,
        base_mm,
        tilt: given.tilt.as_ref().map_or(Tilt::Auto, |at| at.value),
        end_stops: given.end_stops.as_ref().is_none_or(|at| at.value),
        cheeks: given.cheeks.as_ref().map_or(Cheeks::Front, |at| at.value),
        pins: given.pins.as_ref().is_none_or(|at| at.value),
        marks: given.marks.as_ref().is_none_or(|at| at.value),
        handling_ledges: given.handling_ledges.as_ref().is_none_or(|at| at.value),
        corner_relief_mm,
        chord_error_mm: given.chord_error_mm.as_ref().map_or(0.01, |at| at.value),
        friction,
        span: entry.map(|entry| entry.span.clone()),
    }
}

#[cfg(test)]
mod tests {
    use crate::diagnostic::Refused;
    use crate::part::{Part, parse, starter::STARTER};
    use approx::assert_relative_eq;

    /// The starter with a vise that says nothing of its force.
    fn forceless() -> String {
        ["screw_lead_mm", "handle_length_mm"]
            .iter()
            .fold(STARTER.to_owned(), |text, key| {
                text.replace(&format!("\n{key} "), &format!("\n# {key} "))
            })
    }

    fn edited(table: &str, lines: &str) -> String {
        forceless().replace(&format!("\n[{table}]"), &format!("\n[{table}]\n{lines}\n#"))
    }

    fn with(table: &str, lines: &str) -> Result<crate::diagnostic::Noted<Part>, Refused> {
        parse(&edited(table, lines))
    }

    /// Message and helps of the first finding, and the text it points at.
    fn refused(table: &str, lines: &str) -> (String, String) {
        let text = edited(table, lines);
        let findings = parse(&text).unwrap_err();
        let [finding] = &findings[..] else {
            panic!("one finding: {findings:#?}")
        };
        let place = finding.span.clone().map_or("", |span| &text[span]);
        assert!(!finding.help.is_empty(), "{finding:?}");
        (
            format!("{}; {}", finding.message, finding.help.join("; ")),
            place.to_owned(),
        )
    }

    #[test]
    fn a_vise_that_says_nothing_of_its_force_has_none() {
        let part = parse(&forceless()).unwrap().value;
        assert_eq!(part.vise.unwrap().force_n(), None);
        let told = |key: &str| part.defaults.iter().any(|used| used.key == key);
        assert!(told("vise.force_n"));
        assert!(!told("vise.efficiency") && !told("vise"));
    }

    #[test]
    fn screw_and_handle_give_a_range_of_force() {
        let part = with(
            "vise",
            "screw_lead_mm = 5.0\nhandle_length_mm = 250.0\nhandle_force_n = 250.0\nefficiency = [0.1, 0.2]",
        )
        .unwrap()
        .value;
        let [least_n, most_n] = part.vise.unwrap().force_n().unwrap();
        // One turn: 250 N over 2 pi 250 mm is 392.7 J; a tenth of it over 5 mm.
        assert_relative_eq!(least_n, 7854.0, epsilon = 0.05);
        assert_relative_eq!(most_n, 2.0 * least_n, epsilon = 1e-9);
        assert!(
            !part
                .defaults
                .iter()
                .any(|used| used.key.starts_with("vise"))
        );
    }

    #[test]
    fn what_the_vise_leaves_out_is_named_as_default() {
        let part = with("vise", "screw_lead_mm = 5.0\nhandle_length_mm = 200.0")
            .unwrap()
            .value;
        let used: Vec<_> = part
            .defaults
            .iter()
            .filter(|used| used.key.starts_with("vise"))
            .map(|used| (used.key.as_str(), used.value.as_str()))
            .collect();
        assert_eq!(
            used,
            [
                ("vise.handle_force_n", "200"),
                ("vise.efficiency", "[0.15, 0.35]")
            ]
        );
        let [least_n, most_n] = part.vise.unwrap().force_n().unwrap();
        assert_relative_eq!(least_n, 7539.8, epsilon = 0.05);
        assert_relative_eq!(most_n, 17_592.9, epsilon = 0.05);
    }

    #[test]
    fn a_given_force_is_both_ends() {
        let part = with("vise", "force_n = 9000").unwrap().value;
        assert_eq!(part.vise.unwrap().force_n(), Some([9000.0, 9000.0]));
    }

    #[test]
    fn half_a_screw_is_refused_with_the_other_half() {
        for (lines, has, lacks) in [
            (
                "screw_lead_mm = 5.0",
                "`screw_lead_mm`",
                "`handle_length_mm`",
            ),
            (
                "handle_length_mm = 200.0",
                "`handle_length_mm`",
                "`screw_lead_mm`",
            ),
            (
                "handle_length_mm = 200.0\nhandle_force_n = 150.0",
                "`handle_length_mm`",
                "`screw_lead_mm`",
            ),
        ] {
            let (words, _) = refused("vise", lines);
            assert!(
                words.contains(&format!("has {has} but no {lacks}"))
                    && words.contains("force_n = 8000"),
                "{words}"
            );
        }
        // Neither lead nor length: both are asked for at once.
        assert_eq!(
            with("vise", "efficiency = [0.2, 0.3]").unwrap_err().len(),
            2
        );
    }

    #[test]
    fn a_value_out_of_range_is_not_also_called_missing() {
        let (words, place) = refused("vise", "screw_lead_mm = 0.0\nhandle_length_mm = 200.0");
        assert!(
            words.starts_with("the lead of a screw of 0 mm is below"),
            "{words}"
        );
        assert_eq!(place, "0.0");
    }

    #[test]
    fn force_and_screw_together_contradict() {
        let (words, place) = refused("vise", "force_n = 9000.0\nscrew_lead_mm = 5.0");
        assert!(
            words.starts_with("both `force_n` and `screw_lead_mm`"),
            "{words}"
        );
        assert_eq!(place, "9000.0");
    }

    #[test]
    fn efficiency_is_two_shares_in_order() {
        let whole = |efficiency: &str| {
            refused(
                "vise",
                &format!("screw_lead_mm = 5\nhandle_length_mm = 200\nefficiency = {efficiency}"),
            )
            .0
        };
        assert!(whole("[0.35, 0.15]").contains("efficiency = [0.15, 0.35]"));
        assert!(whole("[15, 35]").contains("15 % is written 0.15"));
        assert!(whole("[0.2, nan]").contains("not a number"));
        assert!(whole("0.2").contains("should be"));
    }

    #[test]
    fn a_vise_stronger_than_vises_are_is_doubted() {
        for lines in [
            "force_n = 400000.0",
            "screw_lead_mm = 1.0\nhandle_length_mm = 1000.0",
        ] {
            let notes = with("vise", lines).unwrap().notes;
            assert!(
                notes
                    .iter()
                    .any(|note| note.message.contains("10 to 30 kN")),
                "{notes:?}"
            );
        }
        assert_eq!(with("vise", "force_n = 30000.0").unwrap().notes, []);
    }

    #[test]
    fn friction_is_small_and_known() {
        let part = parse(STARTER).unwrap().value;
        assert_eq!(part.dies.friction, 0.15);
        // Within what was measured on printed plastics, greased to dry (Polymers 2023, 15(20), 4112, abstract).
        assert!((0.04..=0.20).contains(&part.dies.friction));
        assert_eq!(crate::part::spread::FRICTION.of(0.15), (0.20 - 0.04) / 2.0);
        assert!(part.defaults.iter().any(|used| used.key == "dies.friction"));
        assert_eq!(
            with("dies", "friction = 0.0").unwrap().value.dies.friction,
            0.0
        );
        let (words, place) = refused("dies", "friction = 15");
        assert!(words.contains("15 % is written 0.15"), "{words}");
        assert_eq!(place, "15");
        let (words, _) = refused("dies", "friction = 0.9");
        assert!(
            words.contains("above the most") && !words.contains('%'),
            "{words}"
        );
        let (words, _) = refused("dies", "friction = -0.1");
        assert!(words.contains("cannot be negative"), "{words}");
    }

    /// A shell, a base thinner than a layer, a print that is no solid: refused where they stand, with what is taken.
    #[test]
    fn dies_that_are_no_blocks_are_refused() {
        for (table, line, says, way_out) in [
            (
                "printer",
                "infill_percent = 0.0",
                "an infill of 0 %",
                "from 5 to 100 %",
            ),
            (
                "printer",
                "infill_percent = 4.0",
                "an infill of 4 %",
                "from 5 to 100 %",
            ),
            (
                "dies",
                "base_mm = 0.1",
                "the base of a die of 0.1 mm",
                "from 5 to 2000 mm",
            ),
            (
                "printer",
                "youngs_mpa = 0",
                "plastic of 0 MPa",
                "from 50 to 30000 MPa",
            ),
            ("printer", "wall_mm = -1", "cannot be negative", "give"),
        ] {
            let (words, place) = refused(table, line);
            assert!(words.contains(says) && words.contains(way_out), "{words}");
            assert!(line.ends_with(&place) && !place.is_empty(), "{place}");
        }
        let least = with("printer", "infill_percent = 5.0").unwrap().value;
        assert!(crate::forming::strength::printed_block(&least).is_ok());
    }

    #[test]
    fn measured_plastic_is_taken_and_absurd_plastic_refused() {
        let printer = with(
            "printer",
            "compressive_yield_mpa = 61.5\nyoungs_mpa = 2600.0",
        )
        .unwrap()
        .value
        .printer;
        assert_eq!(printer.compressive_yield_mpa, Some(61.5));
        assert_eq!(printer.youngs_mpa, Some(2600.0));
        let (words, _) = refused("printer", "compressive_yield_mpa = 2600.0");
        assert!(
            words.contains("yield stress of printed plastic of 2600 MPa is above"),
            "{words}"
        );
        // A modulus in GPa.
        let (words, _) = refused("printer", "youngs_mpa = 2.6");
        assert!(words.contains("from 50 to 30000 MPa"), "{words}");
    }
}
