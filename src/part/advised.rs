//! Changes that an analysis would advise, looked at before anybody tells them.

use super::edit::{Edit, lines, set};
use super::{Part, parse};
use crate::change::Way;
use crate::diagnostic::{Noted, Refused};
use crate::numbers::{nearest_hundredth, plain};
use crate::quantity::Angle;
use serde::{Deserialize, Serialize};

/// Something that shall be otherwise. Only a candidate: the part file may not bear it, see [`Self::tried`].
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub enum Change {
    /// A step with other inside radii and the wall where it is: both flats beside it give way.
    InsideRadii {
        /// Number of the step, from 0.
        step: usize,
        /// Of the first and the second bend, mm.
        inside_radius_mm: [f64; 2],
    },
    /// A step with another wall angle: the next flat begins elsewhere.
    WallAngle {
        /// Number of the step, from 0.
        step: usize,
        /// Degrees.
        wall_angle_deg: f64,
    },
    /// Another sheet of the same metal.
    Sheet {
        /// How thick it is.
        thickness_mm: f64,
    },
    /// Dies with another infill.
    Infill {
        /// Of the print.
        infill_percent: f64,
    },
}

/// A way out that the part file bears.
#[derive(Debug, Clone, PartialEq)]
pub struct Tried {
    /// What is done.
    pub way: Way,
    /// The changed lines as a person types them: `[[flat]] "b": from_mm = 21.5`.
    pub lines: String,
    /// The part with them.
    pub part: Noted<Part>,
}

impl Tried {
    /// A way out written into a part file and read again.
    ///
    /// # Errors
    /// The findings of the changed file, where it is refused.
    pub fn of(source: &str, way: &Way) -> Result<Self, Refused> {
        let edited = set(source, &way.edits)?;
        Ok(Self {
            part: parse(&edited)?,
            lines: lines(&edited, &way.edits),
            way: way.clone(),
        })
    }

    /// What to do and the lines to type.
    pub fn told(&self) -> String {
        self.way.told(&self.lines)
    }
}

impl Change {
    /// Written into the part's own file and read again; `None` where the file is refused then, or warned of for what it was
    /// not warned of before.
    pub fn tried(&self, part: &Part) -> Option<Tried> {
        let before = part.said.to_toml();
        let tried = Tried::of(&before, &Way::new(self.words(), self.edits(part)?)).ok()?;
        let known = parse(&before).ok()?.notes;
        // Where no wall is left for such radii, the same places make another wall.
        if let Self::InsideRadii { step, .. } = self {
            let turn = |part: &Part| part.steps.get(*step).map(|step| step.shape.bend.degrees());
            if (turn(&tried.part.value)? - turn(part)?).abs() > SAME_WALL_DEG {
                return None;
            }
        }
        let is_new = |message: &str| known.iter().all(|note| note.message != message);
        let notes = &tried.part.notes;
        (!notes.iter().any(|note| is_new(&note.message))).then_some(tried)
    }

    /// The same a little further, where that did not do.
    #[must_use]
    pub fn further(&self) -> Option<Self> {
        match *self {
            Self::InsideRadii {
                step,
                inside_radius_mm,
            } => Some(Self::InsideRadii {
                step,
                inside_radius_mm: inside_radius_mm.map(|radius_mm| tenths(radius_mm + 0.2)),
            }),
            Self::WallAngle {
                step,
                wall_angle_deg,
            } => Some(Self::WallAngle {
                step,
                wall_angle_deg: libm::floor(0.8 * wall_angle_deg),
            }),
            Self::Sheet { .. } | Self::Infill { .. } => None,
        }
    }

    fn edits(&self, part: &Part) -> Option<Vec<Edit>> {
        match *self {
            Self::InsideRadii {
                step,
                inside_radius_mm,
            } => radii_edits(part, step, inside_radius_mm),
            Self::WallAngle {
                step,
                wall_angle_deg,
            } => {
                let said = part.said.flats.get(step + 1)?;
                let next = |key: &str, value: f64| Edit::new("flat", step + 1, key, value);
                let mut edits = vec![next("step.wall_angle_deg", wall_angle_deg)];
                if said.from_mm.is_some() {
                    edits.push(Edit::without("flat", step + 1, "from_mm"));
                }
                Some(edits)
            }
            Self::Sheet { thickness_mm } => {
                Some(vec![Edit::new("sheet", 0, "thickness_mm", thickness_mm)])
            }
            Self::Infill { infill_percent } => Some(vec![Edit::new(
                "printer",
                0,
                "infill_percent",
                infill_percent,
            )]),
        }
    }

    /// What is advised, in words.
    pub fn words(&self) -> String {
        match self {
            Self::InsideRadii { .. } => {
                "draw that step with the radii that come out, and its flats so that the wall keeps its place".to_owned()
            }
            Self::WallAngle { wall_angle_deg, .. } => format!(
                "draw that step with a wall of {} degrees, which takes more run",
                plain(*wall_angle_deg)
            ),
            Self::Sheet { thickness_mm } => {
                format!("take sheet of {} mm", plain(*thickness_mm))
            }
            Self::Infill { infill_percent } => {
                format!("print the dies with {} % infill", plain(*infill_percent))
            }
        }
    }
}

/// Other radii in the same corners: their ends move away from them.
fn radii_edits(part: &Part, number: usize, inside_radius_mm: [f64; 2]) -> Option<Vec<Edit>> {
    let step = part.steps.get(number)?;
    let said = part.said.flats.get(number + 1)?;
    let next = |key: &str, value: f64| Edit::new("flat", number + 1, key, value);
    let tangent = step.shape.bend.half().tan();
    let [first, second] = [0, 1].map(|which: usize| {
        let of = |radii: &[f64; 2]| radii.get(which).copied().unwrap_or_default();
        tangent * (of(&inside_radius_mm) - of(&step.inside_radius_mm))
    });
    let to_mm = part.flats.get(number)?.level.to_mm;
    let mut edits = vec![
        Edit::new("flat", number, "to_mm", nearest_hundredth(to_mm - first)),
        match inside_radius_mm {
            [one, other] if one == other => next("step.inside_radius_mm", one),
            pair => Edit::new("flat", number + 1, "step.inside_radius_mm", pair),
        },
    ];
    if let Some(from_mm) = said.from_mm {
        edits.push(next("from_mm", nearest_hundredth(from_mm + second)));
    }
    Some(edits)
}

/// Places in hundredths turn a wall by less. Own choice: a wall of 2 mm is turned by 0.3 degrees.
const SAME_WALL_DEG: f64 = 0.5;

/// A radius that people write.
fn tenths(radius_mm: f64) -> f64 {
    libm::round(10.0 * radius_mm) / 10.0
}

/// Wall angle in whole degrees, as it is advised.
pub fn whole_degrees(angle: Angle) -> f64 {
    libm::floor(angle.degrees())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::part::starter::STARTER;

    #[test]
    fn larger_radii_leave_the_wall_where_it_is() {
        let part = parse(STARTER).unwrap().value;
        let drawn = part.steps[0].inside_radius_mm;
        let larger = drawn.map(|radius_mm| radius_mm + 0.2);
        let tried = Change::InsideRadii {
            step: 0,
            inside_radius_mm: larger,
        }
        .tried(&part)
        .unwrap();
        let other = &tried.part.value;
        assert_eq!(other.steps[0].inside_radius_mm, larger);
        // By hand: places in hundredths move an angle over a run of 5 mm by a few tenths of a degree at most.
        let turn = |part: &Part| part.steps[0].shape.bend.degrees();
        assert!((turn(other) - turn(&part)).abs() < 0.3, "{}", tried.lines);
        let middle =
            |part: &Part| f64::midpoint(part.flats[0].level.to_mm, part.flats[1].level.from_mm);
        assert!((middle(other) - middle(&part)).abs() < 0.01);
        assert!(
            tried.lines.contains("[[flat]] \"stages\": to_mm = 16."),
            "{}",
            tried.lines
        );
        assert!(
            tried.lines.contains("step = { inside_radius_mm = 2.7 }"),
            "{}",
            tried.lines
        );
    }

    /// Radii that the check refuses are not advised.
    #[test]
    fn what_the_check_refuses_is_no_advice() {
        let part = parse(STARTER).unwrap().value;
        for radius_mm in [29.0, 1e4, f64::NAN, -1.0] {
            let change = Change::InsideRadii {
                step: 0,
                inside_radius_mm: [radius_mm, 33.1],
            };
            assert!(change.tried(&part).is_none(), "{radius_mm}");
        }
        // So sharp that the sheet may crack: refused by a new warning.
        let sharp = Change::InsideRadii {
            step: 0,
            inside_radius_mm: [0.05, 0.05],
        };
        let hard = parse(&STARTER.replace("temper = \"soft\"", "temper = \"hard\"")).unwrap();
        assert_eq!(hard.notes, []);
        assert!(sharp.tried(&hard.value).is_none());
        let none = Change::WallAngle {
            step: 7,
            wall_angle_deg: 30.0,
        };
        assert!(none.tried(&part).is_none());
    }

    #[test]
    fn a_gentler_wall_moves_the_next_flat() {
        let part = parse(STARTER).unwrap().value;
        let change = Change::WallAngle {
            step: 0,
            wall_angle_deg: 25.0,
        };
        let tried = change.tried(&part).unwrap();
        let other = tried.part.value;
        assert!((other.steps[0].shape.bend.degrees() - 25.0).abs() < 1e-9);
        assert!(other.flats[1].level.from_mm > part.flats[1].level.from_mm);
        assert_eq!(
            tried.lines,
            "[[flat]] \"chokes\": step = { wall_angle_deg = 25.0 }, no from_mm"
        );
    }
}
