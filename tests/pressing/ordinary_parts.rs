//! Fourteen ordinary parts, on the coarse mesh: what a maker draws must not be refused for radii that no gap feels.

use coldstep::forming::pressing::Effort;
use coldstep::job::Job;
use coldstep::part::parse;
use coldstep::verdict::{Forces, State};
use std::ops::ControlFlow;
use std::thread;

/// Sheet, thickness, inside radius and straight wall in thicknesses, wall angle, width. All invented: soft and quarter-hard
/// sheet, 25 to 62 degrees, walls of 2.5 to 5 thicknesses.
const PARTS: [(&str, &str, f64, f64, f64, f64, f64); 14] = [
    ("copper", "soft", 1.0, 1.5, 2.5, 45.0, 32.0),
    ("copper", "soft", 0.8, 2.0, 3.0, 60.0, 30.0),
    ("copper", "soft", 1.2, 1.5, 4.0, 30.0, 40.0),
    ("copper", "soft", 0.5, 2.0, 5.0, 55.0, 25.0),
    ("copper", "soft", 1.5, 1.0, 3.0, 40.0, 30.0),
    ("copper", "quarter-hard", 0.8, 2.0, 3.5, 35.0, 28.0),
    ("copper", "quarter-hard", 1.0, 2.0, 4.5, 50.0, 35.0),
    ("aluminium-1050", "soft", 1.0, 1.0, 2.5, 62.0, 40.0),
    ("aluminium-1050", "soft", 1.5, 1.5, 3.5, 25.0, 45.0),
    ("aluminium-1050", "soft", 0.8, 2.5, 5.0, 48.0, 30.0),
    ("aluminium-5052", "quarter-hard", 1.0, 2.0, 3.0, 38.0, 36.0),
    ("aluminium-5052", "quarter-hard", 1.2, 1.5, 4.0, 58.0, 40.0),
    ("aluminium-5052", "soft", 1.0, 2.0, 4.0, 42.0, 34.0),
    ("aluminium-5052", "soft", 0.8, 2.5, 3.0, 28.0, 30.0),
];

/// At least so many of them can be made.
const LEAST_GOOD: usize = 12;

fn text(part: (&str, &str, f64, f64, f64, f64, f64), step: &str) -> String {
    let (material, temper, t, radius, wall, degrees, width_mm) = part;
    let angle = degrees.to_radians();
    // Two bends and a straight wall: S (1 - cos a) + L sin a, S = 2R + t.
    let rise_mm = (2.0 * radius + 1.0) * t * (1.0 - angle.cos()) + wall * t * angle.sin();
    let upper_mm = 1.75 + rise_mm;
    format!(
        "[sheet]\nmaterial = \"{material}\"\ntemper = \"{temper}\"\nthickness_mm = {t}\ninside_radius_mm = {}\n\
         [plate]\nwidth_mm = {width_mm}\n\
         [[flat]]\nname = \"low\"\nfrom_mm = 0.0\nto_mm = 16.0\nunderside_mm = 1.75\n\
         [[flat]]\nname = \"high\"\nto_mm = 48.0\nunderside_mm = {upper_mm}\nstep = {{ wall_angle_deg = {degrees}{step} }}\n\
         [[component]]\nname = \"Q1\"\nx_mm = 7\ny_mm = 10\nsize_mm = [5, 6]\nheight_mm = 0.95\npad = \"soft 1.0\"\n\
         [[component]]\nname = \"L1\"\nx_mm = 38\ny_mm = 10\nsize_mm = [7, 7]\nheight_mm = {}\npad = \"soft 1.0\"\n\
         [[pad]]\nname = \"soft 1.0\"\nthickness_mm = 1.0\n\
         [printer]\nplastic = \"pla\"\nbed_mm = [220, 220, 250]\n\
         [vise]\njaw_width_mm = 125\njaw_height_mm = 60\nopening_mm = 140\nscrew_lead_mm = 5\nhandle_length_mm = 200\n",
        radius * t,
        upper_mm - 0.8
    )
}

/// Everything of a part, pressed on the coarse mesh.
pub fn pressed(text: &str) -> Job {
    Job::pressed(parse(text).unwrap(), Effort::Quick, &mut |_| {
        ControlFlow::Continue(())
    })
    .unwrap()
}

#[test]
fn twelve_of_fourteen_ordinary_parts_can_be_made() {
    // Each half on a core of its own: a search is done by one.
    let halves = thread::scope(|scope| {
        let halves = PARTS.chunks(PARTS.len() / 2);
        let halves: Vec<_> = halves.map(|half| scope.spawn(|| good_of(half))).collect();
        let good = halves.into_iter().map(|half| half.join().unwrap());
        good.collect::<Vec<usize>>()
    });
    let good: usize = halves.into_iter().sum();
    assert!(good >= LEAST_GOOD, "{good} of {}", PARTS.len());
}

/// How many of some parts can be made.
fn good_of(parts: &[(&str, &str, f64, f64, f64, f64, f64)]) -> usize {
    let mut good = 0;
    for part in parts.iter().copied() {
        let job = pressed(&text(part, ""));
        let verdict = job.verdict();
        let ids: Vec<String> = verdict
            .reasons
            .iter()
            .map(|reason| {
                let json = serde_json::to_value(reason).unwrap();
                // Without keep_radius no radius is a reason.
                assert_ne!(json["id"], "radius-missed", "{part:?}");
                format!("{} {}", reason.forces.word(), reason.text)
            })
            .collect();
        println!("{part:?} {:?}", verdict.state);
        for id in ids {
            println!("    {id}");
        }
        if let Some(pressing) = &job.pressing {
            let radii = &pressing.radii_as_they_come;
            println!("    as they come: {radii:?}");
            assert!(pressing.advice.is_empty());
        }
        good += usize::from(verdict.state != State::No);
    }
    good
}

/// The same plate whose radii shall be kept: a condition with a way out that the check bears.
#[test]
fn radii_that_shall_be_kept_are_a_condition() {
    let part = PARTS[6];
    let free = pressed(&text(part, ""));
    let radii = &free.pressing.as_ref().unwrap().radii_as_they_come;
    assert_eq!(radii.len(), 1, "this part comes out rounder");
    let kept = pressed(&text(part, ", keep_radius = true"));
    let pressing = kept.pressing.as_ref().unwrap();
    assert!(pressing.shape_met && !pressing.converged);
    assert_eq!(pressing.radii_as_they_come, [] as [String; 0]);
    let limit = &pressing.limits[0];
    assert!(
        limit.reason.contains("the inside radii come out at"),
        "{limit:?}"
    );
    assert!(limit.help[0].contains(", inside_radius_mm = "), "{limit:?}");
    let verdict = kept.verdict();
    assert_eq!(verdict.state, State::YesIf);
    assert!(verdict.that_force(Forces::If).any(|reason| {
        let json = serde_json::to_value(reason).unwrap();
        json["id"] == "radius-missed"
    }));
}

/// A step of 1.2 thicknesses: both bends share one moment, and neither force nor radii help.
#[test]
fn a_step_too_low_for_its_sheet_is_named() {
    let text = text(PARTS[12], "").replace("thickness_mm = 1\n", "thickness_mm = 0.3\n");
    let text = text.replace("inside_radius_mm = 2\n", "inside_radius_mm = 0.3\n");
    let upper = text.find("name = \"high\"").unwrap();
    let (head, tail) = text.split_at(upper);
    let from = tail.find("underside_mm = ").unwrap() + "underside_mm = ".len();
    let to = from + tail[from..].find('\n').unwrap();
    let text = format!("{head}{}2.11{}", &tail[..from], &tail[to..]);
    let job = pressed(&text);
    let pressing = job.pressing.unwrap();
    let [limit] = pressing.limits.as_slice() else {
        panic!("{:?}", pressing.limits)
    };
    assert!(limit.reason.contains("share one moment"), "{limit:?}");
    assert!(
        limit.help[0].contains("step = { wall_angle_deg"),
        "{limit:?}"
    );
    // What is advised holds: pressed with the advised angle the step comes out as drawn.
    let (_, advised) = limit.help[0].rsplit_once("wall_angle_deg = ").unwrap();
    let advised = advised.trim_end_matches(" }");
    let gentler = text.replace(
        "wall_angle_deg = 42",
        &format!("wall_angle_deg = {advised}"),
    );
    assert_ne!(gentler, text);
    let gentler = pressed(&gentler).pressing.unwrap();
    assert!(gentler.shape_met, "{:?}", gentler.limits);
    let words = format!("{limit:?}");
    assert!(
        !words.contains("radi") && !words.contains("vise"),
        "{words}"
    );
    assert_eq!(pressing.radii_as_they_come, [] as [String; 0]);
}

/// Nobody says how hard the vise presses: the least of a common one is taken, and the condition says so.
#[test]
fn without_a_force_a_common_vise_is_asked_for() {
    let text = text(PARTS[0], "").replace("screw_lead_mm = 5\nhandle_length_mm = 200\n", "");
    let job = pressed(&text);
    let pressing = job.pressing.as_ref().unwrap();
    // 2 pi 0.15 200 N 150 mm / 4 mm.
    let common_n = 7068.6;
    assert!((pressing.force_assumed_n.unwrap() - common_n).abs() < 0.1);
    assert!(pressing.strength.needed_n <= 1.01 * common_n);
    let bending_n = pressing.strength.bending_n.unwrap();
    assert!(bending_n < pressing.strength.needed_n, "{bending_n}");
    let headline = job.verdict().headline;
    assert!(
        headline.starts_with("YES, IF your vise gives 7"),
        "{headline}"
    );
}
