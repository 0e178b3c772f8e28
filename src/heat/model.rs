//! From a part to plates that can be solved: the new one and the old one, with what lies between their limits.

use super::filling::{Filling, PadFilling};
use super::loads::{BoardPath, Holding, PartLoad, PipeLoad};
use super::solved::Solved;
use crate::conduction::plate::{Foot, Hung, Patch, Plate, Seat, Sheet};
use crate::conduction::unfold;
use crate::fit::Underside;
use crate::geometry::{Footprint, y_intervals};
use crate::part::thermal::{HeatPipe, Sink};
use crate::part::{Component, Part};
use crate::quantity::Toleranced;
use crate::stock::Pad;
use crate::stock::impedance::MM_OVER_W_MK;
use crate::stock::pad_heat::PadHeat;

/// Flats whose heights differ by less carry one heat pipe together, mm. Own choice: what solder bridges.
const SAME_LEVEL_MM: f64 = 0.1;
/// Half-width of a height that came without one, mm. Own choice: a calliper on a soldered part.
const HEIGHT_SPREAD_MM: f64 = 0.1;
/// A source narrower than this many thicknesses of the sheet it heats is said to be narrow: here one layer makes spreading
/// read 2 % high, at [`TOO_NARROW`] 6 to 7 % (`tests/heat/reference_heat.rs`, `narrow_sources`).
pub const NARROW: f64 = 4.0;
/// A source narrower than this needs layers through the thickness: one thickness wide it reads 24 % high in one layer, 6 %
/// in four.
pub const TOO_NARROW: f64 = 2.0;
/// Layers through each sheet where a source is too narrow.
const LAYERS: usize = 4;
/// Places along a part at which it is looked for metal above it.
const LOOKS: u32 = 64;

/// What is over one part in one case.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Over {
    /// Number of the component.
    pub component: usize,
    /// What fills its gap.
    pub filling: Filling,
    /// Number of the pad in use, if it is one.
    pub pad: Option<usize>,
    /// Half-width of the gap from what is only this part's: its own height.
    pub gap_spread_mm: f64,
    /// Number of what else moves the gap (a flat, the old plate), with its half-width.
    pub moved_by: Option<(usize, f64)>,
}

/// One plate over the parts.
pub struct Case<'a> {
    /// The plate.
    pub plate: Plate<'a>,
    /// What is over each of its feet, in their order.
    pub over: Vec<Over>,
    /// Layers that its narrowest source needs.
    pub layers: usize,
    /// Parts that are narrow against the sheet, with their widths in thicknesses.
    pub narrow: Vec<(usize, f64)>,
}

/// Everything that has a range, at one place in it.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Values {
    /// Air.
    pub air_c: f64,
    /// Board.
    pub board_c: Option<f64>,
    /// Heat of each component.
    pub heat_w: Vec<f64>,
    /// Inside to top of each component.
    pub inside_k_w: Vec<f64>,
    /// Inside to board of each component.
    pub to_board_k_w: Vec<f64>,
    /// Conductivity and contact of each pad in use.
    pub pads: Vec<[f64; 2]>,
    /// Where the gap of each component lies in what its own height leaves open, -1 to 1.
    pub gap_share: Vec<f64>,
    /// Where each flat, then the old plate, lies in what is open of its height, -1 to 1.
    pub level_share: Vec<f64>,
    /// Evaporation resistance times area of each pipe beyond its middle.
    pub evaporation_mm2k_w: Vec<f64>,
    /// Temperature of each held pipe, or resistance to air and other heat.
    pub pipes: Vec<[f64; 2]>,
}

/// What goes from the file into every case.
pub struct Setup<'a> {
    /// The part.
    pub part: &'a Part,
    underside: &'a Underside,
    /// Numbers of the components that make heat.
    pub heated: Vec<usize>,
    /// Pads over heated components, new and old.
    pub pads: Vec<&'a Pad>,
}

fn middle(number: Toleranced) -> f64 {
    number.value
}

fn spread(number: Toleranced) -> f64 {
    number.plus_minus.unwrap_or(0.0)
}

/// A number at a place in its range.
fn of(at: &mut impl FnMut(f64, f64) -> f64, number: Toleranced) -> f64 {
    at(number.value, spread(number))
}

impl<'a> Setup<'a> {
    /// Collects what is asked.
    pub fn new(part: &'a Part, underside: &'a Underside) -> Self {
        let heated: Vec<usize> = part
            .components
            .iter()
            .enumerate()
            .filter(|(_, component)| component.heat.heat_w.is_some())
            .map(|(number, _)| number)
            .collect();
        let mut pads: Vec<&'a Pad> = Vec::new();
        for number in &heated {
            let Some(component) = part.components.get(*number) else {
                continue;
            };
            let new = component.treatment.pad();
            for pad in new.into_iter().chain(&component.heat.old.pad) {
                if !pads.contains(&pad) {
                    pads.push(pad);
                }
            }
        }
        Self {
            part,
            underside,
            heated,
            pads,
        }
    }

    fn pad_number(&self, pad: Option<&Pad>) -> Option<usize> {
        let pad = pad?;
        self.pads.iter().position(|known| *known == pad)
    }

    fn component(&self, number: usize) -> Option<&'a Component> {
        self.part.components.get(number)
    }

    /// Whether metal of the new plate is over a component.
    pub fn is_covered(&self, component: &Component) -> bool {
        let (low, high) = component.footprint.bounds();
        (0..LOOKS).any(|look| {
            let x = low.x + (high.x - low.x) * (f64::from(look) + 0.5) / f64::from(LOOKS);
            !self.underside.facing(&component.footprint, x).is_empty()
        })
    }

    /// The new plate.
    pub fn new_case(&self) -> Case<'a> {
        let part = self.part;
        let sheet = Sheet {
            thickness_mm: part.sheet.thickness_mm,
            conductivity_w_mmk: part.sheet.metal.conductivity_w_mk / 1000.0,
        };
        let mut feet = Vec::new();
        let mut over = Vec::new();
        let mut narrow = Vec::new();
        for number in &self.heated {
            let Some(component) = self.component(*number) else {
                continue;
            };
            if !self.is_covered(component) {
                continue;
            }
            let filling = Filling::of(component.treatment.pad());
            let underside = self.underside;
            let top_mm = component.height_mm.value;
            feet.push(Foot {
                x_mm: x_extent(&component.footprint),
                y_mm: y_extent(&component.footprint),
                patches: Box::new(move |x| {
                    underside
                        .facing(&component.footprint, x)
                        .into_iter()
                        .map(|facing| Patch {
                            y_from_mm: facing.y_from_mm,
                            y_to_mm: facing.y_to_mm,
                            gap_mm: facing.underside_mm - top_mm,
                            hung: facing.extension,
                        })
                        .collect()
                }),
                resistance: Box::new(move |gap_mm| filling.resistance_mm2k_w(gap_mm)),
            });
            let facing = self
                .underside
                .facing(&component.footprint, component.centre.x);
            let extension = facing
                .first()
                .and_then(|facing| facing.extension)
                .and_then(|number| part.extensions.get(number));
            let flat = extension.map_or_else(
                || flat_over(part, component.centre.x),
                |extension| Some(extension.flat),
            );
            let mut own = spread_or(component.height_mm, HEIGHT_SPREAD_MM);
            let mut faced = sheet;
            if let Some(extension) = extension {
                own += spread(extension.thickness_mm);
                faced.thickness_mm = extension.thickness_mm.value;
            }
            let pad = component.treatment.pad();
            if pad.is_some() {
                narrow.extend(narrow_source(*number, component, faced.thickness_mm));
            }
            over.push(Over {
                component: *number,
                filling,
                pad: self.pad_number(pad),
                gap_spread_mm: own,
                moved_by: flat.and_then(|flat| {
                    let level = part.flats.get(flat)?;
                    Some((flat, spread_or(level.underside_mm, HEIGHT_SPREAD_MM)))
                }),
            });
        }
        let hung = part
            .extensions
            .iter()
            .map(|extension| Hung {
                footprint: extension.footprint.clone(),
                sheet: Sheet {
                    thickness_mm: extension.thickness_mm.value,
                    conductivity_w_mmk: sheet.conductivity_w_mmk,
                },
                joint_mm2k_w: extension.joint.resistance_mm2k_w(),
            })
            .collect();
        let seats = part
            .thermal
            .pipes
            .iter()
            .map(|pipe| Seat {
                footprint: pipe.footprint.clone(),
                flats: seat_flats(part, pipe),
                joint_mm2k_w: seat_mm2k_w(pipe),
            })
            .collect();
        Case {
            plate: Plate {
                stretches: unfold::stretches(&part.profile),
                loops: part.metal_loops(),
                sheet,
                hung,
                seats,
                feet,
                loss_w_mm2k: part.thermal.loss_w_m2k * 1e-6,
            },
            over,
            layers: layers(&narrow),
            narrow,
        }
    }

    /// The old plate: level, with the outline of the new one; `None` when the file has none.
    pub fn old_case(&self) -> Option<Case<'a>> {
        let part = self.part;
        let old = part.thermal.old_plate.as_ref()?;
        let loops = vec![part.outline.clone()];
        let (low, high) = part.outline.bounds();
        let mut feet = Vec::new();
        let mut over = Vec::new();
        let mut narrow = Vec::new();
        let thickness_mm = old.thickness_mm;
        for number in &self.heated {
            let Some(component) = self.component(*number) else {
                continue;
            };
            let own_gap = component.heat.old.gap_mm;
            let level = old
                .underside_mm
                .map(|level| level.value - component.height_mm.value);
            let Some(gap_mm) = own_gap.map(middle).or(level) else {
                continue;
            };
            let outline = loops.clone();
            let footprint = &component.footprint;
            let patches = move |x: f64| -> Vec<Patch> {
                let Some((near, far)) = footprint.y_interval(x) else {
                    return Vec::new();
                };
                y_intervals(x, &outline)
                    .into_iter()
                    .map(|(a, b)| (a.max(near), b.min(far)))
                    .filter(|(a, b)| b > a)
                    .map(|(y_from_mm, y_to_mm)| Patch {
                        y_from_mm,
                        y_to_mm,
                        gap_mm,
                        hung: None,
                    })
                    .collect()
            };
            let (from, to) = x_extent(footprint);
            let faces_metal = (0..LOOKS).any(|look| {
                !patches(from + (to - from) * (f64::from(look) + 0.5) / f64::from(LOOKS)).is_empty()
            });
            if !faces_metal {
                continue;
            }
            let filling = Filling::of(component.heat.old.pad.as_ref());
            if component.heat.old.pad.is_some() {
                narrow.extend(narrow_source(*number, component, thickness_mm));
            }
            feet.push(Foot {
                x_mm: (from, to),
                y_mm: y_extent(footprint),
                patches: Box::new(patches),
                resistance: Box::new(move |gap_mm| filling.resistance_mm2k_w(gap_mm)),
            });
            over.push(Over {
                component: *number,
                filling,
                pad: self.pad_number(component.heat.old.pad.as_ref()),
                gap_spread_mm: own_gap.map_or_else(
                    || spread_or(component.height_mm, HEIGHT_SPREAD_MM),
                    |gap| spread_or(gap, HEIGHT_SPREAD_MM),
                ),
                moved_by: old
                    .underside_mm
                    .filter(|_| own_gap.is_none())
                    .map(|level| (part.flats.len(), spread_or(level, HEIGHT_SPREAD_MM))),
            });
        }
        let seats = part
            .thermal
            .pipes
            .iter()
            .map(|pipe| Seat {
                footprint: pipe.footprint.clone(),
                flats: vec![0],
                joint_mm2k_w: seat_mm2k_w(pipe),
            })
            .collect();
        Some(Case {
            plate: Plate {
                stretches: unfold::level(low.x, high.x),
                loops,
                sheet: Sheet {
                    thickness_mm,
                    conductivity_w_mmk: old.conductivity_w_mk / 1000.0,
                },
                hung: Vec::new(),
                seats,
                feet,
                loss_w_mm2k: part.thermal.loss_w_m2k * 1e-6,
            },
            over,
            layers: layers(&narrow),
            narrow,
        })
    }

    /// Everything at the middle of its range.
    pub fn middle(&self) -> Values {
        let mut values = Values::default();
        self.set(&mut values, &mut |middle, _| middle);
        values
    }

    /// Sets everything to places in its range that `place` gives, -1 to 1, asked for in a fixed order.
    pub fn draw(&self, values: &mut Values, mut place: impl FnMut() -> f64) {
        self.set(values, &mut |middle, half| middle + half * place());
    }

    fn set(&self, values: &mut Values, at: &mut impl FnMut(f64, f64) -> f64) {
        fn all<T>(list: &mut Vec<T>, values: impl Iterator<Item = T>) {
            list.clear();
            list.extend(values);
        }
        let part = self.part;
        let thermal = &part.thermal;
        let heats = || {
            self.heated
                .iter()
                .filter_map(|number| self.component(*number))
                .map(|component| &component.heat)
        };
        values.air_c = of(at, thermal.air_c);
        values.board_c = thermal.board_c.map(|board_c| of(at, board_c));
        let heat_w = heats().filter_map(|heat| heat.heat_w);
        all(
            &mut values.heat_w,
            heat_w.map(|heat_w| of(at, heat_w).max(0.0)),
        );
        all(
            &mut values.inside_k_w,
            heats().map(|heat| of(at, heat.junction_to_top_k_w).max(0.0)),
        );
        all(
            &mut values.to_board_k_w,
            heats().map(|heat| of(at, heat.junction_to_board_k_w).max(LEAST_K_W)),
        );
        all(
            &mut values.pads,
            self.pads.iter().map(|pad| drawn_pad(&pad.heat, at)),
        );
        all(&mut values.gap_share, heats().map(|_| at(0.0, 1.0)));
        all(
            &mut values.level_share,
            (0..=part.flats.len()).map(|_| at(0.0, 1.0)),
        );
        all(
            &mut values.evaporation_mm2k_w,
            thermal.pipes.iter().map(|pipe| {
                let half = spread(pipe.evaporation_mm2k_w);
                at(0.0, half.min(pipe.evaporation_mm2k_w.value))
            }),
        );
        all(
            &mut values.pipes,
            thermal.pipes.iter().map(|pipe| match pipe.sink {
                Sink::Held { temperature_c } => [of(at, temperature_c), 0.0],
                Sink::ToAir {
                    resistance_k_w,
                    other_heat_w,
                } => [of(at, resistance_k_w).max(0.0), of(at, other_heat_w)],
            }),
        );
    }

    /// Number of a component among the heated ones.
    pub fn place_of(&self, component: usize) -> usize {
        self.heated
            .iter()
            .position(|number| *number == component)
            .unwrap_or(0)
    }

    /// What the parts of a case ask of its plate; with `solved`, what differs from the middle counts.
    pub fn part_loads(
        &self,
        over: &[Over],
        values: &Values,
        solved: Option<&Solved>,
    ) -> Vec<PartLoad> {
        self.part_loads_with(over, values, |port, over, place| {
            solved.map_or(0.0, |solved| {
                let (filling, wider_mm) = filling(over, values, place);
                solved.pad_change_k_w(port, over.filling, filling, wider_mm)
            })
        })
    }

    /// The same with the change of each filling given for port, what is over it and its place among the heated.
    pub fn part_loads_with(
        &self,
        over: &[Over],
        values: &Values,
        change: impl Fn(usize, &Over, usize) -> f64,
    ) -> Vec<PartLoad> {
        over.iter()
            .enumerate()
            .map(|(port, over)| {
                let place = self.place_of(over.component);
                part_load(values, place, change(port, over, place))
            })
            .collect()
    }

    /// What the heat pipes do in a case.
    pub fn pipe_loads(&self, values: &Values, solved: Option<&Solved>) -> Vec<PipeLoad> {
        self.each_pipe_load(values, solved).collect()
    }

    /// The same one by one.
    pub fn each_pipe_load<'b>(
        &'b self,
        values: &'b Values,
        solved: Option<&'b Solved>,
    ) -> impl Iterator<Item = PipeLoad> + 'b {
        let pipes = self.part.thermal.pipes.iter().enumerate();
        pipes.map(move |(number, pipe)| {
            let [first, second] = values.pipes.get(number).copied().unwrap_or_default();
            let more = values.evaporation_mm2k_w.get(number);
            let more = more.copied().unwrap_or(0.0);
            PipeLoad {
                held_by: match pipe.sink {
                    Sink::Held { .. } => Holding::Temperature {
                        above_air_k: first - values.air_c,
                    },
                    Sink::ToAir { .. } => Holding::Air {
                        resistance_k_w: first,
                        other_heat_w: second,
                    },
                },
                joint_change_k_w: solved
                    .map_or(0.0, |solved| solved.joint_change_k_w(number, more)),
            }
        })
    }
}

/// What the part at a place among the heated asks of its plate.
pub fn part_load(values: &Values, place: usize, pad_change_k_w: f64) -> PartLoad {
    let of = |list: &[f64]| list.get(place).copied().unwrap_or(0.0);
    PartLoad {
        heat_w: of(&values.heat_w),
        inside_k_w: of(&values.inside_k_w),
        board: values.board_c.map(|board_c| BoardPath {
            board_k: board_c - values.air_c,
            resistance_k_w: of(&values.to_board_k_w),
        }),
        pad_change_k_w,
    }
}

/// What fills the gap under something at given values, and how much wider it is.
pub fn filling(over: &Over, values: &Values, place: usize) -> (Filling, f64) {
    let filling = match (over.filling, over.pad.and_then(|pad| values.pads.get(pad))) {
        (Filling::Pad(pad), Some([conductivity_w_mk, contact_mm2k_w])) => {
            Filling::Pad(PadFilling {
                conductivity_w_mk: *conductivity_w_mk,
                contact_mm2k_w: *contact_mm2k_w,
                ..pad
            })
        }
        (filling, _) => filling,
    };
    let own = values.gap_share.get(place).copied().unwrap_or(0.0) * over.gap_spread_mm;
    let moved = over.moved_by.map_or(0.0, |(level, half)| {
        values.level_share.get(level).copied().unwrap_or(0.0) * half
    });
    (filling, own + moved)
}

/// Conductivity and contact of a pad at a place in their ranges.
///
/// What a line through measured impedances leaves open of its slope and of its meeting with thickness zero belongs
/// together; slope and middle of the line do not, so those are drawn.
fn drawn_pad(heat: &PadHeat, at: &mut impl FnMut(f64, f64) -> f64) -> [f64; 2] {
    let Some(fit) = &heat.fit else {
        return [
            at(heat.conductivity_w_mk.value, spread(heat.conductivity_w_mk)).max(LEAST_W_MK),
            at(heat.contact_mm2k_w.value, spread(heat.contact_mm2k_w)).max(0.0),
        ];
    };
    let slope = MM_OVER_W_MK / fit.conductivity_w_mk;
    let open = fit.conductivity_plus_minus_w_mk / fit.conductivity_w_mk;
    let slope = at(slope, slope * open).max(LEAST_SLOPE);
    let middle = at(fit.middle_mm2k_w, fit.middle_plus_minus_mm2k_w);
    [
        MM_OVER_W_MK / slope,
        (middle - slope * fit.middle_mm).max(0.0),
    ]
}

/// Least impedance of a pad for each mm, mm²·K/W: no pad conducts like metal.
const LEAST_SLOPE: f64 = 5.0;

/// Least resistance into the board, K/W: the range of an input must not make it none.
const LEAST_K_W: f64 = 1e-3;
/// Least conductivity of a pad, W/(m·K).
const LEAST_W_MK: f64 = 0.05;

fn spread_or(number: Toleranced, otherwise: f64) -> f64 {
    number.plus_minus.unwrap_or(otherwise)
}

fn x_extent(footprint: &Footprint) -> (f64, f64) {
    let (low, high) = footprint.bounds();
    (low.x, high.x)
}

fn y_extent(footprint: &Footprint) -> (f64, f64) {
    let (low, high) = footprint.bounds();
    (low.y, high.y)
}

/// The flat over a plan place, or the nearest.
pub fn flat_over(part: &Part, x_mm: f64) -> Option<usize> {
    let away = |flat: &crate::part::Flat| {
        (flat.level.from_mm - x_mm)
            .max(x_mm - flat.level.to_mm)
            .max(0.0)
    };
    part.flats
        .iter()
        .enumerate()
        .min_by(|(_, a), (_, b)| away(a).total_cmp(&away(b)))
        .map(|(number, _)| number)
}

/// Flats that a heat pipe lies on: the highest that it covers, and those as high.
pub fn seat_flats(part: &Part, pipe: &HeatPipe) -> Vec<usize> {
    let (low, high) = pipe.footprint.bounds();
    let (plate_low, plate_high) = part.outline.bounds();
    let last = part.flats.len().saturating_sub(1);
    let under = |number: usize, flat: &crate::part::Flat| {
        let from = if number == 0 {
            flat.level.from_mm.min(plate_low.x)
        } else {
            flat.level.from_mm
        };
        let to = if number == last {
            flat.level.to_mm.max(plate_high.x)
        } else {
            flat.level.to_mm
        };
        from < high.x && to > low.x
    };
    let covered: Vec<(usize, f64)> = part
        .flats
        .iter()
        .enumerate()
        .filter(|(number, flat)| under(*number, flat))
        .map(|(number, flat)| (number, flat.level.underside_mm))
        .collect();
    let top = covered.iter().map(|(_, z)| *z).fold(f64::MIN, f64::max);
    covered
        .into_iter()
        .filter(|(_, z)| top - z <= SAME_LEVEL_MM)
        .map(|(number, _)| number)
        .collect()
}

/// Area of plate, of any height, under a heat pipe in plan.
pub fn over_plate_mm2(part: &Part, pipe: &HeatPipe) -> f64 {
    const LOOKS: u32 = 400;
    let (low, high) = pipe.footprint.bounds();
    let loops = part.metal_loops();
    let width = (high.x - low.x) / f64::from(LOOKS);
    (0..LOOKS)
        .filter_map(|look| {
            let x = low.x + (f64::from(look) + 0.5) * width;
            let (front, back) = pipe.footprint.y_interval(x)?;
            let under: f64 = y_intervals(x, &loops)
                .into_iter()
                .map(|(a, b)| (b.min(back) - a.max(front)).max(0.0))
                .sum();
            Some(under * width)
        })
        .sum()
}

fn seat_mm2k_w(pipe: &HeatPipe) -> f64 {
    pipe.joint.resistance_mm2k_w() + pipe.evaporation_mm2k_w.value
}

/// Width of a source in thicknesses of the sheet it heats, when that is narrow.
fn narrow_source(number: usize, component: &Component, thickness_mm: f64) -> Option<(usize, f64)> {
    let width_mm = match &component.footprint {
        Footprint::Disc { radius_mm, .. } => 2.0 * radius_mm,
        Footprint::Rectangle {
            corners: [a, b, c, _],
        } => (b - a).norm().min((c - b).norm()),
    };
    let widths = width_mm / thickness_mm;
    let makes_heat = component.heat.heat_w.is_some_and(|heat| heat.value > 0.0);
    (makes_heat && widths < NARROW - 1e-9).then_some((number, widths))
}

fn layers(narrow: &[(usize, f64)]) -> usize {
    if narrow.iter().any(|(_, widths)| *widths < TOO_NARROW) {
        LAYERS
    } else {
        1
    }
}
