//! What something else would do: another pad, a smaller gap, a thicker sheet, a cooler pipe.

use super::draws::Drawable;
use super::filling::{Filling, PadFilling};
use super::loads::{Holding, PartLoad, PipeLoad};
use super::model::{Case, Over, Setup, Values};
use super::solved::Solved;
use crate::conduction::plate::{Hung, Patch, Sheet};
use crate::numbers::plain;
use crate::part::Part;
use crate::part::thermal::{Joint, Sink};
use crate::part::words::JointKind;
use schemars::JsonSchema;
use serde::Serialize;

/// Conductivities of the pad chart, W/(m·K).
pub const CHART_W_MK: [f64; 14] = [
    1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0, 10.0, 12.0, 15.0, 20.0,
];
/// A better pad has stopped paying where all better ones together bring less than this, K. Own choice: less than a
/// thermocouple on a board can tell.
pub const PAYS_K: f64 = 1.0;
/// Stands for a perfect pad: contact resistance only, W/(m·K).
const PERFECT_W_MK: f64 = 1e9;
/// Conductivities between which it is looked where a better pad stops paying, W/(m·K).
const SEARCH_W_MK: [f64; 2] = [0.05, 500.0];

/// Temperature of one part against the conductivity of its pad, wherever the plate has that pad.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct PadCurve {
    /// Inside of the part at each of [`CHART_W_MK`], °C.
    pub inside_c: Vec<f64>,
    /// What it would be with a perfect pad: contact resistance only, °C.
    pub floor_c: f64,
    /// Conductivity of its pad now, W/(m·K).
    pub now_w_mk: f64,
    /// What it is now, °C.
    pub now_c: f64,
    /// Thickness of its pressed pad.
    pub pressed_mm: f64,
    /// Both faces of its pad together, mm²·K/W.
    pub contact_mm2k_w: f64,
    /// Conductivity beyond which all better pads together bring less than [`PAYS_K`]; `None`: beyond any pad, or a
    /// better pad makes it hotter.
    pub pays_until_w_mk: Option<f64>,
}

/// Gains below this are not worth a line, K.
pub const LEAST_GAIN_K: f64 = 0.05;

/// One thing to improve, and what it brings the part in question.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Improvement {
    /// What to do.
    pub what: String,
    /// What it brings, K; negative makes it worse.
    pub gain_k: f64,
}

impl Improvement {
    /// Whether it changes anything to speak of.
    pub fn counts(&self) -> bool {
        self.gain_k.abs() >= LEAST_GAIN_K
    }
}

/// One plate with its solution at the middle of all ranges.
#[derive(Clone, Copy)]
pub struct Plated<'a> {
    /// The plate.
    pub case: &'a Case<'a>,
    /// Its solution.
    pub solved: &'a Solved,
}

impl<'a> Plated<'a> {
    /// What draws need of it.
    pub fn drawable(&self) -> Drawable<'a> {
        Drawable {
            over: &self.case.over,
            solved: self.solved,
        }
    }

    /// Inside of a foot's part, °C, as it is.
    fn now_c(&self, values: &Values, port: usize) -> Option<f64> {
        let inside_k = self.solved.state.inside_k.get(port)?;
        Some(inside_k + values.air_c)
    }

    /// Inside of a foot's part, °C, with other fillings: `filling` gives what fills each gap and how much wider it is.
    fn inside_c(
        &self,
        setup: &Setup<'_>,
        values: &Values,
        pipes: &[PipeLoad],
        port: usize,
        filling: impl Fn(&Over) -> (Filling, f64),
    ) -> Option<f64> {
        let parts: Vec<PartLoad> =
            setup.part_loads_with(&self.case.over, values, |port, over, _| {
                let (now, wider_mm) = filling(over);
                self.solved
                    .pad_change_k_w(port, over.filling, now, wider_mm)
            });
        let state = self.solved.reduced.solve(&parts, pipes)?;
        state
            .inside_k
            .get(port)
            .map(|inside_k| inside_k + values.air_c)
    }

    /// The pad chart of one foot; `None` where it has no pad.
    pub fn pad_curve(&self, setup: &Setup<'_>, values: &Values, port: usize) -> Option<PadCurve> {
        let over = self.case.over.get(port)?;
        let Filling::Pad(own) = over.filling else {
            return None;
        };
        let pipes = setup.pipe_loads(values, Some(self.solved));
        let at = |conductivity_w_mk: f64| {
            let changed = of_same_pad(over, |pad| PadFilling {
                conductivity_w_mk,
                ..pad
            });
            self.inside_c(setup, values, &pipes, port, changed)
        };
        let inside_c = CHART_W_MK.iter().filter_map(|k| at(*k)).collect();
        let floor_c = at(PERFECT_W_MK)?;
        let [mut low, mut high] = SEARCH_W_MK;
        // Under a plate that heats its part a better pad makes it hotter.
        let falls = at(low)? > floor_c;
        let pays_until_w_mk = if !falls || at(high)? - floor_c > PAYS_K {
            None
        } else {
            // Between them the temperature only falls.
            for _ in 0..40 {
                let middle = f64::midpoint(low, high);
                if at(middle)? - floor_c > PAYS_K {
                    low = middle;
                } else {
                    high = middle;
                }
            }
            Some(high)
        };
        Some(PadCurve {
            inside_c,
            floor_c,
            now_w_mk: own.conductivity_w_mk,
            now_c: self.now_c(values, port)?,
            pressed_mm: own.pressed_mm(self.solved.gap_mm(port)),
            contact_mm2k_w: own.contact_mm2k_w,
            pays_until_w_mk,
        })
    }

    /// What to improve next for one foot's part, best first.
    pub fn improvements(
        &self,
        setup: &Setup<'_>,
        values: &Values,
        port: usize,
        widened: &Widened<'_>,
    ) -> Vec<Improvement> {
        let Some(now_c) = self.now_c(values, port) else {
            return Vec::new();
        };
        let mut list = Vec::new();
        let mut take = |what: String, then_c: Option<f64>| {
            if let Some(then_c) = then_c {
                list.push(Improvement {
                    what,
                    gain_k: now_c - then_c,
                });
            }
        };
        self.fillings(setup, values, port, &mut take);
        self.sinks(setup, values, port, &mut take);
        let again = self.solved_again(setup, values, port, widened);
        list.extend(again.into_iter().filter_map(|(what, gain_k)| {
            let gain_k = gain_k?;
            Some(Improvement { what, gain_k })
        }));
        list.sort_by(|a, b| b.gain_k.total_cmp(&a.gain_k));
        list
    }

    /// Pads, contacts, gaps.
    fn fillings(
        &self,
        setup: &Setup<'_>,
        values: &Values,
        port: usize,
        take: &mut impl FnMut(String, Option<f64>),
    ) {
        let pipes = setup.pipe_loads(values, Some(self.solved));
        let Some(over) = self.case.over.get(port) else {
            return;
        };
        let Filling::Pad(own) = over.filling else {
            return;
        };
        let better = 1.5 * own.conductivity_w_mk;
        take(
            format!(
                "a pad that conducts 50 % better, {} W/(m K) compressed",
                tenths(better)
            ),
            self.inside_c(
                setup,
                values,
                &pipes,
                port,
                of_same_pad(over, |pad| PadFilling {
                    conductivity_w_mk: better,
                    ..pad
                }),
            ),
        );
        take(
            "half the resistance at the faces of the pad: clean faces, softer pad, more pressure"
                .into(),
            self.inside_c(
                setup,
                values,
                &pipes,
                port,
                of_same_pad(over, |pad| PadFilling {
                    contact_mm2k_w: pad.contact_mm2k_w / 2.0,
                    ..pad
                }),
            ),
        );
        let gap_mm = self.solved.gap_mm(port);
        let closer_mm = 0.2;
        if gap_mm > 2.0 * closer_mm {
            let suits = PadFilling {
                thickness_mm: own.thickness_mm - closer_mm,
                least_mm: (own.least_mm - closer_mm).max(0.0),
                ..own
            };
            take(
                format!(
                    "metal {closer_mm} mm closer to it, gap {}, with a pad as much thinner",
                    hundredths(gap_mm - closer_mm)
                ),
                self.inside_c(setup, values, &pipes, port, |other| {
                    if other.component == over.component {
                        (Filling::Pad(suits), -closer_mm)
                    } else {
                        (other.filling, 0.0)
                    }
                }),
            );
        }
    }

    /// Pipes, cooler, heat.
    fn sinks(
        &self,
        setup: &Setup<'_>,
        values: &Values,
        port: usize,
        take: &mut impl FnMut(String, Option<f64>),
    ) {
        let unchanged = |over: &Over| (over.filling, 0.0);
        let pipes = setup.pipe_loads(values, Some(self.solved));
        let changed = |change: &dyn Fn(PipeLoad) -> PipeLoad| -> Vec<PipeLoad> {
            pipes.iter().map(|pipe| change(*pipe)).collect()
        };
        let held = |pipe: &PipeLoad| matches!(pipe.held_by, Holding::Temperature { .. });
        if pipes.iter().any(held) {
            let cooler = changed(&|pipe| match pipe.held_by {
                Holding::Temperature { above_air_k } => PipeLoad {
                    held_by: Holding::Temperature {
                        above_air_k: above_air_k - 5.0,
                    },
                    ..pipe
                },
                Holding::Air { .. } => pipe,
            });
            take(
                "heat pipes 5 K cooler".into(),
                self.inside_c(setup, values, &cooler, port, unchanged),
            );
        }
        if !pipes.iter().all(held) {
            let scaled = |resistance: f64, heat: f64| {
                changed(&|pipe| match pipe.held_by {
                    Holding::Air {
                        resistance_k_w,
                        other_heat_w,
                    } => PipeLoad {
                        held_by: Holding::Air {
                            resistance_k_w: resistance * resistance_k_w,
                            other_heat_w: heat * other_heat_w,
                        },
                        ..pipe
                    },
                    Holding::Temperature { .. } => pipe,
                })
            };
            take(
                "a tenth less resistance from pipes to air: fan, clean fins".into(),
                self.inside_c(setup, values, &scaled(0.9, 1.0), port, unchanged),
            );
            let others = setup.part.thermal.pipes.iter().any(|pipe| {
                matches!(pipe.sink, Sink::ToAir { other_heat_w, .. } if other_heat_w.value > 0.0)
            });
            if others {
                take(
                    "a tenth less other heat on the same pipes".into(),
                    self.inside_c(setup, values, &scaled(1.0, 0.9), port, unchanged),
                );
            }
        }
        let joints: Vec<PipeLoad> = pipes
            .iter()
            .zip(&setup.part.thermal.pipes)
            .enumerate()
            .map(|(number, (load, pipe))| PipeLoad {
                joint_change_k_w: load.joint_change_k_w
                    - self
                        .solved
                        .joint_change_k_w(number, pipe.joint.resistance_mm2k_w() / 2.0),
                ..*load
            })
            .collect();
        take(
            "joints to the heat pipes half as thick, or of a better filler".into(),
            self.inside_c(setup, values, &joints, port, unchanged),
        );
        let mut less = values.clone();
        if let Some(heat_w) = self
            .case
            .over
            .get(port)
            .and_then(|over| less.heat_w.get_mut(setup.place_of(over.component)))
        {
            *heat_w *= 0.9;
        }
        take(
            "a tenth less heat in this part".into(),
            self.inside_c(setup, &less, &pipes, port, unchanged),
        );
    }

    /// What needs the plate solved again, with what it gains, K; on the grid of the solution.
    fn solved_again(
        &self,
        setup: &Setup<'_>,
        values: &Values,
        port: usize,
        widened: &Widened<'_>,
    ) -> Vec<(String, Option<f64>)> {
        let mut list = Vec::new();
        let now_c = self.now_c(values, port);
        let gain = |from_c: Option<f64>, to_c: Option<f64>| Some(from_c? - to_c?);
        let cell_mm = self.solved.grid.cell_mm;
        let layers = self.solved.grid.layers;
        let pipes = setup.pipe_loads(values, None);
        let solve = |setup: &Setup<'_>, case: &Case<'_>| -> Option<f64> {
            let parts = setup.part_loads(&case.over, values, None);
            let solved = Solved::on_grid(&case.plate, &parts, &pipes, cell_mm, layers).ok()?;
            let component = self.case.over.get(port)?.component;
            let port = case
                .over
                .iter()
                .position(|over| over.component == component)?;
            Some(solved.state.inside_k.get(port)? + values.air_c)
        };
        let mut thicker = setup.new_case();
        thicker.plate.sheet.thickness_mm *= 1.5;
        list.push((
            format!(
                "sheet 50 % thicker, {} mm",
                hundredths(thicker.plate.sheet.thickness_mm)
            ),
            gain(now_c, solve(setup, &thicker)),
        ));
        if let Some((what, case)) = self.with_extension(setup, port) {
            list.push((what, gain(now_c, solve(setup, &case))));
        }
        if !widened.wider.is_empty() {
            // Drawn plates are compared, so that only the width differs.
            let before_c = solve(&widened.before, &widened.before.new_case());
            for (what, wider) in &widened.wider {
                let then_c = solve(wider, &wider.new_case());
                list.push((what.clone(), gain(before_c, then_c)));
            }
        }
        list
    }

    /// An extension plate over the whole part that leaves a gap for half a millimetre of pad.
    fn with_extension<'s>(&self, setup: &Setup<'s>, port: usize) -> Option<(String, Case<'s>)> {
        const PAD_MM: f64 = 0.5;
        const LEAST_MM: f64 = 0.3;
        let over = self.case.over.get(port)?;
        let Filling::Pad(own) = over.filling else {
            return None;
        };
        let component = setup.part.components.get(over.component)?;
        let faced: Vec<_> = self.case.plate.feet.get(port)?.faced();
        let thickness_mm = self.solved.gap_mm(port) - PAD_MM;
        if thickness_mm < LEAST_MM || faced.iter().any(|patch| patch.hung.is_some()) {
            return None;
        }
        let mut case = setup.new_case();
        let number = case.plate.hung.len();
        case.plate.hung.push(Hung {
            footprint: component.footprint.clone(),
            sheet: Sheet {
                thickness_mm,
                conductivity_w_mmk: case.plate.sheet.conductivity_w_mmk,
            },
            joint_mm2k_w: Joint::usual(JointKind::Solder).resistance_mm2k_w(),
        });
        let thin = Filling::Pad(PadFilling {
            thickness_mm: PAD_MM,
            least_mm: 0.0,
            ..own
        });
        let foot = case.plate.feet.get_mut(port)?;
        let footprint = &component.footprint;
        foot.patches = Box::new(move |x| {
            footprint
                .y_interval(x)
                .map(|(y_from_mm, y_to_mm)| Patch {
                    y_from_mm,
                    y_to_mm,
                    gap_mm: PAD_MM,
                    hung: Some(number),
                })
                .into_iter()
                .collect()
        });
        foot.resistance = Box::new(move |gap_mm| thin.resistance_mm2k_w(gap_mm));
        let what = format!(
            "an extension plate of {} mm soldered over it, with {PAD_MM} mm of pad",
            hundredths(thickness_mm)
        );
        Some((what, case))
    }
}

/// The same part with wider flats over the part in question, all as drawn.
pub struct Widened<'a> {
    /// As it is.
    pub before: Setup<'a>,
    /// What was done, and what it gives.
    pub wider: Vec<(String, Setup<'a>)>,
}

/// Parts with the flat over a component 2 mm wider at the cost of its neighbours, where a step is next to it.
pub fn wider_flats(part: &Part, component: usize) -> Vec<(String, Part)> {
    const MORE_MM: f64 = 2.0;
    const LEAST_FLAT_MM: f64 = 1.0;
    let Some(centre) = part.components.get(component).map(|one| one.centre) else {
        return Vec::new();
    };
    let Some(flat) = super::model::flat_over(part, centre.x) else {
        return Vec::new();
    };
    let Some(name) = part.flats.get(flat).map(|flat| flat.name.clone()) else {
        return Vec::new();
    };
    // The next flat gives on the right, the one before on the left.
    let sides = [
        (flat + 1, flat, 1.0),
        (flat.wrapping_sub(1), flat.wrapping_sub(1), -1.0),
    ];
    sides
        .into_iter()
        .filter_map(|(giving, step, way)| {
            let mut wider = part.clone();
            let giver = wider.flats.get_mut(giving)?;
            if giver.level.to_mm - giver.level.from_mm < MORE_MM + LEAST_FLAT_MM {
                return None;
            }
            let by = way * MORE_MM;
            if way > 0.0 {
                giver.level.from_mm += by;
                wider.flats.get_mut(flat)?.level.to_mm += by;
            } else {
                giver.level.to_mm += by;
                wider.flats.get_mut(flat)?.level.from_mm += by;
            }
            part.steps.get(step)?;
            let mut levels: Vec<_> = wider.flats.iter().map(|flat| flat.level).collect();
            let shapes: Vec<_> = wider
                .steps
                .iter()
                .map(|step| (step.shape, step.inside_radius_mm))
                .collect();
            // Ends that an outline moved stay where they were.
            let (from, to) = part.profile.extent_mm();
            levels.first_mut()?.from_mm = from;
            levels.last_mut()?.to_mm = to;
            wider.profile =
                crate::part::FormedProfile::build(&levels, &shapes, wider.sheet.thickness_mm)
                    .ok()?;
            Some((
                format!(
                    "the flat \"{name}\" {} mm wider on the {}",
                    plain(MORE_MM),
                    if way > 0.0 { "right" } else { "left" }
                ),
                wider,
            ))
        })
        .collect()
}

/// Fillings with the pad of one part changed wherever the plate has it, gaps as they are.
fn of_same_pad(
    one: &Over,
    change: impl Fn(PadFilling) -> PadFilling,
) -> impl Fn(&Over) -> (Filling, f64) {
    let pad = one.pad;
    move |other| match other.filling {
        Filling::Pad(own) if other.pad == pad => (Filling::Pad(change(own)), 0.0),
        filling => (filling, 0.0),
    }
}

fn tenths(value: f64) -> String {
    format!("{value:.1}")
}

fn hundredths(value: f64) -> String {
    format!("{value:.2}")
}
