//! Can the plate be made? One answer, from everything that is known of a part; every output and every exit code reads it.
//!
//! # Rules
//! - NO: something that is known keeps the plate from being made as written.
//! - YES, IF: nothing does, but something is not known, or holds only under a condition. Each condition has its number.
//! - YES: all that is looked at is known and good.
//!
//! A pressing that misses the drawing is never a plain YES. It is a condition where the gaps of the pressed plate hold and
//! no angle is off by more than [`FAR_DEG`], no rise and no place of a flat by more than [`FAR_MM`]; else it is a NO. Inside
//! radii come as they come and are told beside the pressing; of a step that says `keep_radius = true` they are a condition, or a
//! NO where the gaps do not hold.
//!
//! A pressing that gave no answer is a NO where that says something of the plate
//! ([`is_refusal`](crate::forming::pressing::NoPressing::is_refusal)); where only the calculation came to no end it is a condition: nobody knows.
//!
//! A plate without a step is not pressed: dies, vise and printer are not asked.

mod help;
mod judge;
mod reason;
mod words;

pub use help::Help;
pub use judge::{FAR_DEG, FAR_MM, Known};
pub use reason::{Forces, Reason, State, Why};
pub use words::{shown_pads, way_out};

use crate::change::Way;
use crate::diagnostic::Severity;
use crate::forming::pressing::Pressing;
use judge::Reasons;
use schemars::JsonSchema;
use serde::Serialize;

/// The one answer.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Verdict {
    /// The answer.
    pub state: State,
    /// The same in one sentence, with the first condition.
    pub headline: String,
    /// Why it is not a plain YES, worst first.
    pub reasons: Vec<Reason>,
}

impl Verdict {
    /// Judges everything that is known.
    pub fn of(known: &Known<'_>) -> Self {
        let mut reasons = Reasons::default();
        // Causes before what they lead to: a vise that is too weak before the wall that it misses.
        if !known.part.steps.is_empty() {
            known.pressing(&mut reasons);
            known.dies(&mut reasons);
        }
        known.gaps(&mut reasons);
        known.heat(&mut reasons);
        for remark in known.remarks {
            if remark.severity == Severity::Warning {
                let what = remark.message.clone();
                reasons.add(Forces::If, Why::Remark { what }, remark.help.clone());
            }
        }
        if known.pressing.is_some_and(Pressing::is_estimate) {
            reasons.add(Forces::If, Why::Estimate, Vec::new());
        }
        let range = known.pressing.and_then(words::range);
        let mut reasons = reasons.0;
        // Two bends alike are refused alike.
        reasons.dedup_by(|one, other| one == other);
        reasons.sort_by_key(|reason| reason.forces);
        number(&mut reasons, known.helps);
        Self {
            state: match reasons.first().map(|reason| reason.forces) {
                None => State::Yes,
                Some(Forces::If) => State::YesIf,
                Some(Forces::No) => State::No,
            },
            headline: words::headline(&known.part.name, &reasons, range.as_deref()),
            reasons,
        }
    }

    /// The changes of the part file among the ways out, by their numbers: the first is number 1.
    pub fn changes(&self) -> impl Iterator<Item = &Way> {
        self.reasons.iter().flat_map(|reason| &reason.ways)
    }

    /// Whether the plate cannot be made as written.
    pub fn is_no(&self) -> bool {
        self.state == State::No
    }

    /// Reasons of one kind.
    pub fn that_force(&self, forces: Forces) -> impl Iterator<Item = &Reason> {
        self.reasons
            .iter()
            .filter(move |reason| reason.forces == forces)
    }
}

/// Numbers the ways out that are changes which were tried: `[1] ...`.
fn number(reasons: &mut [Reason], helps: &[Help]) {
    let mut numbered: Vec<&str> = Vec::new();
    for reason in reasons {
        for way_out in &mut reason.ways_out {
            let Some(help) = helps.iter().find(|help| help.text == *way_out) else {
                continue;
            };
            let known = numbered.iter().position(|text| *text == help.text);
            let number = known.unwrap_or(numbered.len()) + 1;
            *way_out = format!("[{number}] {}", help.text);
            // The same change may mend more than one part: it has one number.
            if known.is_none() {
                numbered.push(&help.text);
                reason.ways.push(help.way.clone());
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diagnostic::{Diagnostic, Noted};
    use crate::fit;
    use crate::forming::press::failed::Failed;
    use crate::forming::press::guard::Doubt;
    use crate::forming::pressing::{Limit, NoPressing, PressInput, Sensitivity};
    use crate::forming::strength::{NoseCheck, VerdictOnNose, ViseCheck};
    use crate::heat::{Heat, Range};
    use crate::job::Job;
    use crate::output::pictures::fixtures::check::pressed;
    use crate::part::parse;

    /// The first example, pressed on the fine mesh as it were, with dies that hold and no question about heat: nothing is
    /// left open.
    fn good() -> Job {
        let (part, mut pressing) = pressed();
        pressing.presses = [12, 3];
        pressing.sensitivities = Vec::new();
        nose(&mut pressing, VerdictOnNose::Holds);
        let part = Noted {
            value: part,
            notes: Vec::new(),
        };
        let mut job = Job::found(part, Ok(pressing), None).unwrap();
        job.heat = None;
        job
    }

    fn nose(pressing: &mut Pressing, verdict: VerdictOnNose) {
        let check: &mut NoseCheck = pressing.strength.nose.as_mut().unwrap();
        check.verdict = verdict;
    }

    fn pressing(job: &mut Job) -> &mut Pressing {
        job.pressing.as_mut().unwrap()
    }

    /// Reasons as "no wall-missed".
    fn said(verdict: &Verdict) -> Vec<String> {
        verdict
            .reasons
            .iter()
            .map(|reason| {
                let json = serde_json::to_value(reason).unwrap();
                assert!(!reason.text.ends_with('.') && !reason.text.is_empty());
                assert!(reason.ways_out.iter().all(|way_out| !way_out.is_empty()));
                assert!(!reason.ways_out.is_empty(), "{reason:?}");
                assert_eq!(reason.condition.is_none(), reason.forces == Forces::No);
                if let Some(condition) = &reason.condition {
                    assert!(reason.text.starts_with(condition));
                }
                format!(
                    "{} {}",
                    json["forces"].as_str().unwrap(),
                    json["id"].as_str().unwrap()
                )
            })
            .collect()
    }

    #[track_caller]
    fn judged(edit: impl FnOnce(&mut Job), expected: &[&str]) -> Verdict {
        let mut job = good();
        edit(&mut job);
        let verdict = job.verdict();
        assert_eq!(said(&verdict), expected, "{verdict:#?}");
        let head = match verdict.state {
            State::Yes => "YES: \"",
            State::YesIf => "YES, IF ",
            State::No => "NO: \"",
        };
        assert!(verdict.headline.starts_with(head), "{}", verdict.headline);
        verdict
    }

    #[test]
    fn where_nothing_is_left_open_it_is_yes() {
        let verdict = judged(|_| {}, &[]);
        assert_eq!(verdict.headline, "YES: \"single step\" can be made.");
    }

    #[test]
    fn the_headline_says_how_far_the_plate_may_be_off() {
        let uncertain = |job: &mut Job| {
            pressing(job).sensitivities = vec![Sensitivity {
                input: PressInput::Print,
                change: String::new(),
                angle_deg: 1.31,
                rise_mm: 0.0,
                radius_mm: 0.0,
                force_n_per_mm: 0.0,
                pressure_mpa: 0.0,
                angles_deg: vec![1.31, -0.2],
                rises_mm: Vec::new(),
                heights_mm: vec![0.0, 0.052],
                radii_mm: vec![0.0, 0.0],
            }];
        };
        // 0.95 of each, rounded up.
        assert_eq!(
            judged(uncertain, &[]).headline,
            "YES: \"single step\" can be made, walls within ±1.3°, flats within ±0.05 mm until a first pressing is measured."
        );
    }

    #[test]
    fn what_is_not_pressed_or_only_nearly_is_a_condition() {
        judged(|job| pressing(job).presses = [12, 0], &["if estimate"]);
        judged(|job| job.pressing = None, &["if not-pressed"]);
        let no = |doubt| {
            move |job: &mut Job| {
                job.pressing = None;
                job.no_pressing = Some(doubt);
            }
        };
        let force = NoPressing::Guard(Doubt::ForceEnds { left_mm: 1.2 });
        judged(no(force), &["no pressing-refused"]);
        judged(
            no(NoPressing::Guard(Doubt::Unlike)),
            &["no pressing-refused"],
        );
        judged(
            no(NoPressing::Guard(Doubt::Snaps)),
            &["if pressing-unknown"],
        );
        let failed = NoPressing::Failed(Failed::NoRelease);
        judged(no(failed), &["if pressing-unknown"]);
    }

    fn missed(pressing: &mut Pressing, angle_deg: f64) {
        pressing.converged = false;
        pressing.shape_met = false;
        pressing.bends[0].released_angle_deg = pressing.bends[0].target_angle_deg - angle_deg;
        for flat in &mut pressing.flats {
            flat.along_error_mm = 0.0;
        }
        pressing.limits = vec![Limit {
            reason: "the search did not come nearer".into(),
            help: vec!["press it and measure".into()],
        }];
    }

    #[test]
    fn a_missed_wall_is_no_where_far_off_or_where_gaps_do_not_hold() {
        let far = judged(|job| missed(pressing(job), 28.0), &["no wall-missed"]);
        assert!(far.reasons[0].text.contains("angles by up to 28.0 degrees"));
        judged(
            |job| missed(pressing(job), FAR_DEG + 0.01),
            &["no wall-missed"],
        );
        judged(
            |job| missed(pressing(job), FAR_DEG - 0.01),
            &["if wall-missed"],
        );
        let rise = |off_mm: f64| {
            move |job: &mut Job| {
                missed(pressing(job), 0.0);
                let rise = &mut pressing(job).rises[0];
                rise.released_mm = rise.target_mm + off_mm;
            }
        };
        judged(rise(FAR_MM - 0.001), &["if wall-missed"]);
        judged(rise(-FAR_MM - 0.001), &["no wall-missed"]);
        judged(
            |job| {
                missed(pressing(job), 0.3);
                job.fit.components[0].verdict = fit::GapVerdict::PadTooThin;
            },
            &["no wall-missed", "no part-gap"],
        );
        let radius = |job: &mut Job| {
            missed(pressing(job), 0.0);
            pressing(job).shape_met = true;
            for bend in &mut pressing(job).bends {
                bend.released_inside_radius_mm = bend.target_inside_radius_mm;
            }
            pressing(job).bends[0].released_inside_radius_mm += 1.6;
        };
        let verdict = judged(radius, &["if radius-missed"]);
        assert!(verdict.headline.contains("IF inside radii up to 1.6"));
        judged(
            |job| {
                radius(job);
                job.fit.components[0].verdict = fit::GapVerdict::Touches;
            },
            &["no radius-missed", "no part-gap"],
        );
    }

    #[test]
    fn the_vise_is_asked_for_its_force() {
        let vise = |gives_n: Option<[f64; 2]>| {
            move |job: &mut Job| {
                pressing(job).force_limited = false;
                pressing(job).strength.needed_n = 23_700.0;
                pressing(job).strength.vise = gives_n.map(|n| ViseCheck::of(n, 23_700.0));
            }
        };
        judged(vise(Some([24e3, 40e3])), &[]);
        let weak = judged(vise(Some([5e3, 12.4e3])), &["no vise-too-weak"]);
        assert!(
            weak.reasons[0]
                .text
                .contains("5 to 12 kN, 24 kN are needed"),
            "{}",
            weak.reasons[0].text
        );
        judged(vise(Some([10e3, 25e3])), &["if vise-greased-only"]);
        let unknown = judged(vise(None), &["if vise-force-unknown"]);
        assert_eq!(
            unknown.headline,
            "YES, IF your vise gives 24 kN (a common one with a 150 mm handle gives 7 to 16, common practice, no source): \
             \"single step\" can be made."
        );
        // In kN with a tenth below ten, never rounded to less than is needed.
        let low = |job: &mut Job| {
            vise(None)(job);
            pressing(job).strength.needed_n = 6701.0;
        };
        let low = judged(low, &["if vise-force-unknown"]);
        assert!(low.headline.starts_with("YES, IF your vise gives 6.8 kN"));
    }

    #[test]
    fn the_jaws_are_asked_for_their_size() {
        let [length_mm, width_mm] = good().tooling.unwrap().back_mm();
        let jaws = |wide_mm: f64, high_mm: Option<f64>| {
            move |job: &mut Job| {
                let vise = job.part.vise.as_mut().unwrap();
                vise.jaw_width_mm = wide_mm;
                vise.jaw_height_mm = high_mm;
            }
        };
        judged(jaws(length_mm, Some(width_mm)), &[]);
        judged(jaws(length_mm, Some(width_mm - 0.1)), &["if jaws-too-low"]);
        judged(jaws(length_mm, Some(0.4 * width_mm)), &["no jaws-too-low"]);
        judged(
            jaws(length_mm - 0.1, Some(width_mm)),
            &["if jaws-too-narrow"],
        );
        judged(
            jaws(0.4 * length_mm, Some(width_mm)),
            &["no jaws-too-narrow"],
        );
        let unknown = judged(jaws(length_mm, None), &["if jaw-height-unknown"]);
        let needed = format!(
            "IF the jaws of your vise are {:.0} mm high",
            width_mm.ceil()
        );
        assert!(unknown.headline.contains(&needed), "{}", unknown.headline);
        judged(|job| job.part.vise = None, &["if vise-unknown"]);
        judged(|job| job.part.printer.bed_mm = None, &["if bed-unknown"]);
    }

    #[test]
    fn the_print_is_asked_for_its_strength() {
        for (verdict, expected) in [
            (
                VerdictOnNose::HoldsIfPrintedWell,
                "if noses-if-printed-well",
            ),
            (VerdictOnNose::LikelyPressedIn, "if noses-likely-pressed-in"),
            (VerdictOnNose::PressedIn, "no noses-pressed-in"),
        ] {
            let judged = judged(|job| nose(pressing(job), verdict), &[expected]);
            assert!(judged.reasons[0].text.contains(" MPa"));
        }
        judged(
            |job| pressing(job).outer_strain = 1.0,
            &["if bends-may-crack"],
        );
    }

    #[test]
    fn dies_gaps_and_remarks_are_reasons() {
        let refusals = || {
            vec![
                Diagnostic::error("one").help("a way"),
                Diagnostic::error("two").help("another"),
            ]
        };
        let refused = |job: &mut Job| job.tooling = Err(refusals().into());
        let verdict = judged(refused, &["no dies-refused", "no dies-refused"]);
        assert!(verdict.headline.ends_with("for 2 reasons:"));
        judged(
            |job| job.fit.components[0].verdict = fit::GapVerdict::PadTooThin,
            &["no part-gap"],
        );
        let remarked = |job: &mut Job| {
            job.notes.insert(0, Diagnostic::warning("odd").help("look"));
            job.notes.insert(1, Diagnostic::warning("not of the file"));
            job.remarks = 1;
        };
        judged(remarked, &["if remark"]);
        // The worst first, however they were found.
        let mixed = |job: &mut Job| {
            remarked(job);
            pressing(job).presses = [12, 0];
            job.part.printer.bed_mm = None;
            job.fit.components[0].verdict = fit::GapVerdict::Touches;
        };
        let verdict = judged(
            mixed,
            &["no part-gap", "if bed-unknown", "if remark", "if estimate"],
        );
        assert!(verdict.headline.ends_with("for one reason:"));
    }

    #[test]
    fn a_plate_without_a_step_asks_neither_vise_nor_printer() {
        let text = "[sheet]\nmaterial = \"copper\"\ntemper = \"soft\"\nthickness_mm = 1.0\ninside_radius_mm = 1.0\n\
                    [plate]\nwidth_mm = 18.0\n[[flat]]\nname = \"all\"\nfrom_mm = 0.0\nto_mm = 50.0\nunderside_mm = 2.0\n\
                    [[component]]\nname = \"L1\"\nx_mm = 30\ny_mm = 9\nsize_mm = [6, 6]\nheight_mm = 1.2\n";
        let job = Job::run(parse(text).unwrap());
        let verdict = job.verdict();
        assert_eq!(said(&verdict), Vec::<String>::new());
        let bed = "[printer]\nbed_mm = [5, 5, 5]\n[vise]\njaw_width_mm = 5\nopening_mm = 5\n";
        let job = Job::run(parse(&format!("{text}{bed}")).unwrap());
        assert!(job.tooling.is_err());
        assert_eq!(job.verdict().state, State::Yes);
    }

    #[test]
    fn heat_above_a_limit_is_no_and_heat_near_it_a_condition() {
        let job = Job::read(include_str!("../../examples/three-levels.toml")).unwrap();
        let cool = job.heat.unwrap();
        let heated = |edit: &dyn Fn(&mut Heat)| {
            let mut heat = cool.clone();
            edit(&mut heat);
            move |job: &mut Job| job.heat = Some(heat)
        };
        judged(heated(&|_| {}), &[]);
        let range = |middle: f64| Range {
            middle,
            low: middle - 5.0,
            high: middle + 5.0,
        };
        let over = |heat: &mut Heat| {
            heat.parts[0].limit_c = Some(80.0);
            heat.parts[0].inside_c = range(81.0);
            heat.parts[0].old_inside_c = Some(range(90.0));
            heat.parts[0].above_limit = true;
        };
        let verdict = judged(heated(&over), &["no part-too-hot"]);
        assert_eq!(
            verdict.reasons[0].text,
            "Q1 comes to 81 °C (before 90 °C), its limit is 80 °C"
        );
        let near = |heat: &mut Heat| {
            over(heat);
            heat.parts[0].inside_c = range(79.0);
            heat.parts[0].above_limit = false;
        };
        judged(heated(&near), &["if part-may-be-too-hot"]);
        let unknown = |heat: &mut Heat| {
            near(heat);
            heat.parts[0].inside_c = range(f64::NAN);
        };
        judged(heated(&unknown), &["if part-heat-unknown"]);
        let pipe = |heat: &mut Heat| {
            heat.pipes[0].limit_c = Some(50.0);
            heat.pipes[0].above_limit = true;
        };
        judged(heated(&pipe), &["no pipe-too-hot"]);
        let none = |job: &mut Job| job.no_heat = vec![Diagnostic::error("no pipe").help("add one")];
        judged(none, &["if heat-unknown"]);
    }
}
