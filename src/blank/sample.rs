//! Invented stairs for the tests of this module, written as part files and read like any other.

use crate::part::{Part, parse};
use proptest::prelude::*;
use std::fmt::Write;

/// One step of a stair.
#[derive(Debug, Clone, Copy)]
pub struct SampleStep {
    pub up: bool,
    pub wall_angle_deg: f64,
    /// Straight part of the wall.
    pub wall_mm: f64,
    pub radii_mm: [f64; 2],
}

/// A stair from its measures along the sheet.
#[derive(Debug, Clone)]
pub struct Stair {
    pub thickness_mm: f64,
    pub width_mm: f64,
    pub flats_mm: Vec<f64>,
    pub steps: Vec<SampleStep>,
    /// Further tables of the part file.
    pub more: String,
    /// Further keys of its `[sheet]`.
    pub sheet: String,
}

impl SampleStep {
    fn radii_sum_mm(&self, thickness_mm: f64) -> f64 {
        self.radii_mm.iter().sum::<f64>() + thickness_mm
    }

    fn rise_mm(&self, thickness_mm: f64) -> f64 {
        let angle = self.wall_angle_deg.to_radians();
        self.radii_sum_mm(thickness_mm) * (1.0 - angle.cos()) + self.wall_mm * angle.sin()
    }

    fn run_mm(&self, thickness_mm: f64) -> f64 {
        let angle = self.wall_angle_deg.to_radians();
        self.radii_sum_mm(thickness_mm) * angle.sin() + self.wall_mm * angle.cos()
    }
}

impl Stair {
    /// Two flats of 10 mm by 10 mm, R = t = 1 mm, one step up of the given rise.
    pub fn two_flats(rise_mm: f64, wall_angle_deg: f64) -> Self {
        let angle = wall_angle_deg.to_radians();
        Self {
            thickness_mm: 1.0,
            width_mm: 10.0,
            flats_mm: vec![10.0, 10.0],
            steps: vec![SampleStep {
                up: true,
                wall_angle_deg,
                wall_mm: (rise_mm - 3.0 * (1.0 - angle.cos())) / angle.sin(),
                radii_mm: [1.0, 1.0],
            }],
            more: String::new(),
            sheet: String::new(),
        }
    }

    /// The same with further tables in its part file.
    pub fn with(mut self, more: &str) -> Self {
        self.more.push_str(more);
        self
    }

    /// Plan place where each flat begins and ends.
    pub fn plan_mm(&self) -> Vec<(f64, f64)> {
        let mut from = 0.0;
        let mut plan = Vec::new();
        for (number, length) in self.flats_mm.iter().enumerate() {
            plan.push((from, from + length));
            if let Some(step) = self.steps.get(number) {
                from += length + step.run_mm(self.thickness_mm);
            }
        }
        plan
    }

    pub fn text(&self) -> String {
        let mut text = format!(
            "[sheet]\nmaterial = \"copper\"\ntemper = \"soft\"\nthickness_mm = {}\n{}\n\
             [plate]\nwidth_mm = {}\n",
            self.thickness_mm, self.sheet, self.width_mm
        );
        let mut underside_mm = 90.0;
        let plan = self.plan_mm();
        for (number, (from, to)) in plan.iter().enumerate() {
            let before = number.checked_sub(1).and_then(|n| self.steps.get(n));
            if let Some(step) = before {
                let rise_mm = step.rise_mm(self.thickness_mm);
                underside_mm += if step.up { rise_mm } else { -rise_mm };
            }
            write!(
                text,
                "[[flat]]\nname = \"flat {}\"\nto_mm = {to}\nunderside_mm = {underside_mm}\n",
                number + 1
            )
            .unwrap();
            match before {
                None => writeln!(text, "from_mm = {from}").unwrap(),
                Some(step) => writeln!(
                    text,
                    "step = {{ wall_angle_deg = {}, inside_radius_mm = {:?} }}",
                    step.wall_angle_deg, step.radii_mm
                )
                .unwrap(),
            }
        }
        text.push_str(
            "[[component]]\nname = \"U1\"\nx_mm = 1.0\ny_mm = 1.0\nsize_mm = [1.0, 1.0]\nheight_mm = 1.0\n",
        );
        text.push_str(&self.more);
        text
    }

    pub fn part(&self) -> Part {
        let text = self.text();
        parse(&text)
            .unwrap_or_else(|findings| panic!("{findings:#?}\n{text}"))
            .value
    }
}

fn steps() -> impl Strategy<Value = SampleStep> {
    let angle = prop_oneof![3 => 20.0f64..89.0, 1 => 89.0f64..90.0, 1 => Just(90.0)];
    let wall = prop_oneof![3 => 0.01f64..10.0, 1 => Just(0.0)];
    (any::<bool>(), angle, wall, [0.3f64..3.0, 0.3f64..3.0]).prop_map(
        |(up, wall_angle_deg, wall_mm, radii_mm)| SampleStep {
            up,
            wall_angle_deg,
            wall_mm,
            radii_mm,
        },
    )
}

/// Stairs of one to four steps, up and down, some with vertical walls, some without walls.
pub fn stairs() -> impl Strategy<Value = Stair> {
    (1usize..=4).prop_flat_map(|count| {
        (
            0.3f64..2.0,
            5.0f64..60.0,
            prop::collection::vec(2.0f64..30.0, count + 1),
            prop::collection::vec(steps(), count),
        )
            .prop_map(|(thickness_mm, width_mm, flats_mm, steps)| Stair {
                thickness_mm,
                width_mm,
                flats_mm,
                steps,
                more: String::new(),
                sheet: String::new(),
            })
    })
}
