//! One plate with what is soldered under it, what it touches below and what carries its heat away above.
//!
//! Every sheet is a layer of cells with their mean temperature. Where heat enters or leaves a face the temperature over
//! the thickness is a parabola, and its three values (both faces, mean) are tied by
//!
//! `q_face = (k/t)·(6 (T_face − T_mean) − 2 (T_face − T_other))`
//!
//! which is exact for heat through the sheet and for heat that enters a face and leaves along the sheet; with one face
//! insulated it is the resistance t/(3k) between face and mean.
//!
//! # Source
//! Derived: a parabola with `q_b` entering below and `q_t` above has `T_b − T_mean = (t/k)(q_b/3 − q_t/6)`; the two
//! equations solved for the heats give the ties. Through heat q enters below and leaves above: `t/(2k)` to the mean.

use super::grid::{Cover, Grid};
use super::network::{Factor, Network, Unsolvable};
use super::unfold;
use super::unfold::SheetStretch;
use crate::geometry::{Footprint, Loop, y_intervals};
use std::collections::BTreeMap;

/// A tie so weak that it only keeps a crumb of the grid from floating, W/K.
const CRUMB_W_K: f64 = 1e-9;
/// A piece of plate smaller than this is a crumb of the grid, not a piece that was cut off, mm².
const PIECE_MM2: f64 = 1.0;
/// Places along each column at which the gap under it is read: Gauss points on 0 to 1, with their weights.
const LOOKS: [(f64, f64); 2] = [(0.211_324_865_405_187, 0.5), (0.788_675_134_594_813, 0.5)];

/// Sheet metal for heat.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sheet {
    /// Thickness.
    pub thickness_mm: f64,
    /// Conductivity, W/(mm·K).
    pub conductivity_w_mmk: f64,
}

/// A plate soldered under a flat.
#[derive(Debug, Clone, PartialEq)]
pub struct Hung {
    /// Area it covers.
    pub footprint: Footprint,
    /// Its sheet.
    pub sheet: Sheet,
    /// Resistance of the joint above it times area.
    pub joint_mm2k_w: f64,
}

/// Where a heat pipe lies on the plate.
#[derive(Debug, Clone, PartialEq)]
pub struct Seat {
    /// Area it covers.
    pub footprint: Footprint,
    /// Flats it touches.
    pub flats: Vec<usize>,
    /// Resistance from the plate's face to the vapour, times area.
    pub joint_mm2k_w: f64,
}

/// A stretch from front to back in which one metal faces a board part.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Patch {
    /// Front end.
    pub y_from_mm: f64,
    /// Back end.
    pub y_to_mm: f64,
    /// Distance to the metal.
    pub gap_mm: f64,
    /// Number of the hung plate; `None` for the plate itself.
    pub hung: Option<usize>,
}

/// What a board part sees of the plate.
pub struct Foot<'a> {
    /// Left and right end of the part.
    pub x_mm: (f64, f64),
    /// Front and back end of the part.
    pub y_mm: (f64, f64),
    /// What faces it at a plan place.
    pub patches: Box<dyn Fn(f64) -> Vec<Patch> + 'a>,
    /// Resistance of what fills a gap, times area, mm²K/W.
    pub resistance: Box<dyn Fn(f64) -> f64 + 'a>,
}

impl Foot<'_> {
    /// What faces it in its middle.
    pub fn faced(&self) -> Vec<Patch> {
        (self.patches)(f64::midpoint(self.x_mm.0, self.x_mm.1))
    }
}

/// A plate before it is cut into cells.
pub struct Plate<'a> {
    /// Its strip.
    pub stretches: Vec<SheetStretch>,
    /// Outline and holes in plan.
    pub loops: Vec<Loop>,
    /// Its sheet.
    pub sheet: Sheet,
    /// Plates soldered under it.
    pub hung: Vec<Hung>,
    /// Heat pipes on it.
    pub seats: Vec<Seat>,
    /// Board parts under it.
    pub feet: Vec<Foot<'a>>,
    /// Loss of bare faces, W/(mm²·K).
    pub loss_w_mm2k: f64,
}

/// One tie of a board part or heat pipe to a node of the plate.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tie {
    /// Node.
    pub node: usize,
    /// Conductance, W/K.
    pub conductance_w_k: f64,
    /// Area.
    pub area_mm2: f64,
    /// Gap that is filled; 0 for heat pipes.
    pub gap_mm: f64,
    /// Resistance of the filling alone, times area.
    pub filling_mm2k_w: f64,
}

/// Something with one temperature that touches the plate in many places.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Port {
    /// Its ties.
    pub ties: Vec<Tie>,
}

impl Port {
    /// All conductances together, W/K.
    pub fn conductance_w_k(&self) -> f64 {
        self.ties.iter().map(|tie| tie.conductance_w_k).sum()
    }

    /// Area of all ties.
    pub fn area_mm2(&self) -> f64 {
        self.ties.iter().map(|tie| tie.area_mm2).sum()
    }
}

/// A piece of plate that no heat pipe reaches.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CutOff {
    /// Its area.
    pub area_mm2: f64,
    /// Its middle in plan.
    pub x_mm: f64,
    /// Its middle in plan.
    pub y_mm: f64,
}

/// A plate in cells. Its ports are the board parts, then the heat pipes; all are held at a temperature of zero.
pub struct Cells {
    /// Cells of the plate itself.
    pub grid: Grid,
    /// Node of each cell of the plate's uppermost layer.
    pub top_nodes: Vec<Option<usize>>,
    /// The network.
    pub network: Network,
    /// Board parts, then heat pipes.
    pub ports: Vec<Port>,
    /// How many of the ports are board parts.
    pub parts: usize,
    /// Nodes that lose heat to the air, W/K.
    pub losses: Vec<(usize, f64)>,
    /// Pieces that no heat pipe reaches.
    pub cut_off: Vec<CutOff>,
}

/// What hangs on one face of one cell.
#[derive(Clone, Copy)]
enum Hold {
    Port {
        port: usize,
        filling_mm2k_w: f64,
        area_mm2: f64,
        gap_mm: f64,
    },
    /// Solder between a hung plate and the plate; the other face holds the same.
    Joint { hung: usize, conductance_w_k: f64 },
}

/// All layers of one sheet.
struct Stack {
    cover: Cover,
    sheet: Sheet,
    layers: usize,
    /// Node of each cell of each layer, lowest layer first.
    means: Vec<Option<usize>>,
    below: BTreeMap<usize, Vec<Hold>>,
    above: BTreeMap<usize, Vec<Hold>>,
}

impl Stack {
    fn mean(&self, layer: usize, cell: usize) -> Option<usize> {
        self.means
            .get(layer * self.cover.share.len() + cell)
            .copied()
            .flatten()
    }
}

impl Cells {
    /// Cuts a plate into cells of about `size_mm`, each sheet in so many layers.
    pub fn of(plate: &Plate<'_>, size_mm: f64, layers: usize) -> Self {
        let grid = grid(plate, size_mm);
        let mut stacks = vec![Stack {
            cover: Cover::of(&grid, |x, _| y_intervals(x, &plate.loops)),
            sheet: plate.sheet,
            layers,
            means: Vec::new(),
            below: BTreeMap::new(),
            above: BTreeMap::new(),
        }];
        for hung in &plate.hung {
            let (low, high) = hung.footprint.bounds();
            let cover = Cover::of(&grid, |x, column| {
                let inside = column.flat.is_some() && x > low.x - 1e-9 && x < high.x + 1e-9;
                hung.footprint
                    .y_interval(x)
                    .filter(|_| inside)
                    .into_iter()
                    .collect()
            });
            stacks.push(Stack {
                cover,
                sheet: hung.sheet,
                layers,
                means: Vec::new(),
                below: BTreeMap::new(),
                above: BTreeMap::new(),
            });
        }
        let mut cells = Self {
            top_nodes: Vec::new(),
            network: Network::default(),
            ports: vec![Port::default(); plate.feet.len() + plate.seats.len()],
            parts: plate.feet.len(),
            losses: Vec::new(),
            cut_off: Vec::new(),
            grid,
        };
        cells.sheets(&mut stacks);
        cells.feet(plate, &mut stacks);
        cells.seats(plate, &mut stacks);
        cells.solder(plate, &mut stacks);
        cells.through(&stacks);
        cells.lose(plate, &stacks);
        cells.pieces(&stacks);
        if let Some(first) = stacks.first() {
            cells.top_nodes = (0..cells.grid.cells())
                .map(|cell| first.mean(layers - 1, cell))
                .collect();
        }
        cells
    }

    /// Area of a cell that is fully metal.
    fn full_mm2(&self, cell: usize) -> f64 {
        let rows = self.grid.rows().max(1);
        let (front, back) = self.grid.row(cell % rows);
        self.grid
            .columns
            .get(cell / rows)
            .map_or(0.0, |column| column.arc_mm * (back - front))
    }

    /// Nodes of all layers, and heat along the sheets.
    fn sheets(&mut self, stacks: &mut [Stack]) {
        let (rows, cells) = (self.grid.rows(), self.grid.cells());
        for stack in stacks {
            for _ in 0..stack.layers {
                for cell in 0..cells {
                    let node = (stack.cover.at(cell) > 0.0).then(|| self.network.node());
                    stack.means.push(node);
                }
            }
            let depth = stack.sheet.thickness_mm / stack.layers as f64;
            let conducts = stack.sheet.conductivity_w_mmk * depth;
            let open = |list: &[f64], cell: usize| list.get(cell).copied().unwrap_or(0.0);
            for layer in 0..stack.layers {
                for (number, column) in self.grid.columns.iter().enumerate() {
                    for row in 0..rows {
                        let cell = self.grid.cell(number, row);
                        let Some(here) = stack.mean(layer, cell) else {
                            continue;
                        };
                        let (front, back) = self.grid.row(row);
                        if let Some(next) = self.grid.columns.get(number + 1)
                            && let Some(there) = stack.mean(layer, cell + rows)
                        {
                            let way = f64::midpoint(column.conduction_mm, next.conduction_mm);
                            let border = open(&stack.cover.along, cell) * (back - front);
                            self.network.tie(here, there, conducts * border / way);
                        }
                        if row + 1 < rows
                            && let Some(there) = stack.mean(layer, cell + 1)
                        {
                            let (next_front, next_back) = self.grid.row(row + 1);
                            let way = f64::midpoint(back - front, next_back - next_front);
                            let border = open(&stack.cover.across, cell) * column.arc_mm;
                            self.network.tie(here, there, conducts * border / way);
                        }
                    }
                }
            }
        }
    }

    /// What each board part faces, cell by cell.
    fn feet(&mut self, plate: &Plate<'_>, stacks: &mut [Stack]) {
        for (number, foot) in plate.feet.iter().enumerate() {
            // Sheet and cell -> area, area / resistance, area × gap.
            let mut sums: BTreeMap<(usize, usize), [f64; 3]> = BTreeMap::new();
            for (column, _, (from, to)) in self.grid.columns_of(foot.x_mm.0, foot.x_mm.1) {
                for (share, weight) in LOOKS {
                    for patch in (foot.patches)(from + (to - from) * share) {
                        let filling = (foot.resistance)(patch.gap_mm);
                        let stack = patch.hung.map_or(0, |hung| hung + 1);
                        for (row, length) in self.grid.rows_of(patch.y_from_mm, patch.y_to_mm) {
                            let area = weight * (to - from) * length;
                            let sum = sums
                                .entry((stack, self.grid.cell(column, row)))
                                .or_insert([0.0; 3]);
                            sum[0] += area;
                            sum[1] += area / filling;
                            sum[2] += area * patch.gap_mm;
                        }
                    }
                }
            }
            for ((stack, cell), [area_mm2, conductance, volume]) in sums {
                let Some(stack) = stacks.get_mut(stack) else {
                    continue;
                };
                if stack.mean(0, cell).is_none() || conductance <= 0.0 {
                    continue;
                }
                stack.below.entry(cell).or_default().push(Hold::Port {
                    port: number,
                    filling_mm2k_w: area_mm2 / conductance,
                    area_mm2,
                    gap_mm: volume / area_mm2,
                });
            }
        }
    }

    fn seats(&mut self, plate: &Plate<'_>, stacks: &mut [Stack]) {
        let Some(stack) = stacks.first_mut() else {
            return;
        };
        for (number, seat) in plate.seats.iter().enumerate() {
            let (low, high) = seat.footprint.bounds();
            let mut areas: BTreeMap<usize, f64> = BTreeMap::new();
            for (number, column, (from, to)) in self.grid.columns_of(low.x, high.x) {
                if !column.flat.is_some_and(|flat| seat.flats.contains(&flat)) {
                    continue;
                }
                for (share, weight) in LOOKS {
                    let x = from + (to - from) * share;
                    let Some((near, far)) = seat.footprint.y_interval(x) else {
                        continue;
                    };
                    for (metal_low, metal_high) in y_intervals(x, &plate.loops) {
                        let (a, b) = (near.max(metal_low), far.min(metal_high));
                        for (row, length) in self.grid.rows_of(a, b) {
                            *areas.entry(self.grid.cell(number, row)).or_insert(0.0) +=
                                weight * (to - from) * length;
                        }
                    }
                }
            }
            for (cell, area_mm2) in areas {
                if stack.mean(0, cell).is_some() {
                    stack.above.entry(cell).or_default().push(Hold::Port {
                        port: plate.feet.len() + number,
                        filling_mm2k_w: seat.joint_mm2k_w,
                        area_mm2,
                        gap_mm: 0.0,
                    });
                }
            }
        }
    }

    fn solder(&mut self, plate: &Plate<'_>, stacks: &mut [Stack]) {
        let Some((first, hung_stacks)) = stacks.split_first_mut() else {
            return;
        };
        for (hung, (spec, stack)) in plate.hung.iter().zip(hung_stacks).enumerate() {
            for cell in 0..self.grid.cells() {
                let share = stack.cover.at(cell).min(first.cover.at(cell));
                if share > 0.0 {
                    let conductance_w_k = share * self.full_mm2(cell) / spec.joint_mm2k_w;
                    let hold = Hold::Joint {
                        hung,
                        conductance_w_k,
                    };
                    first.below.entry(cell).or_default().push(hold);
                    stack.above.entry(cell).or_default().push(hold);
                }
            }
        }
    }

    /// Heat through the sheets: faces, joints, and the ties of all ports.
    fn through(&mut self, stacks: &[Stack]) {
        // Faces of the plate that wait for the hung plate below them: number of the hung plate and cell -> node.
        let mut waiting: BTreeMap<(usize, usize), usize> = BTreeMap::new();
        let none = Vec::new();
        for (number, stack) in stacks.iter().enumerate() {
            let depth = stack.sheet.thickness_mm / stack.layers as f64;
            for cell in 0..self.grid.cells() {
                let below = stack.below.get(&cell).unwrap_or(&none);
                let above = stack.above.get(&cell).unwrap_or(&none);
                if stack.layers == 1 && below.is_empty() && above.is_empty() {
                    continue;
                }
                let area_mm2 = stack.cover.at(cell) * self.full_mm2(cell);
                let through_w_k = stack.sheet.conductivity_w_mmk * area_mm2 / depth;
                // One port on an otherwise bare cell needs no node for its face: face and mean stand in series.
                if stack.layers == 1
                    && let ([only @ Hold::Port { .. }], []) | ([], [only @ Hold::Port { .. }]) =
                        (below.as_slice(), above.as_slice())
                    && let Some(mean) = stack.mean(0, cell)
                {
                    self.hold(only, mean, 1.0 / (3.0 * through_w_k));
                    continue;
                }
                let mut under = (!below.is_empty()).then(|| self.network.node());
                self.hold_all(below, under, number, cell, &mut waiting);
                for layer in 0..stack.layers {
                    let Some(mean) = stack.mean(layer, cell) else {
                        continue;
                    };
                    let is_last = layer + 1 == stack.layers;
                    let over = (!is_last || !above.is_empty()).then(|| self.network.node());
                    match (under, over) {
                        (Some(under), Some(over)) => {
                            self.network.tie(under, mean, 6.0 * through_w_k);
                            self.network.tie(over, mean, 6.0 * through_w_k);
                            self.network.tie(under, over, -2.0 * through_w_k);
                        }
                        (Some(face), None) | (None, Some(face)) => {
                            self.network.tie(face, mean, 3.0 * through_w_k);
                        }
                        (None, None) => {}
                    }
                    under = over;
                }
                self.hold_all(above, under, number, cell, &mut waiting);
            }
        }
    }

    fn hold_all(
        &mut self,
        holds: &[Hold],
        face: Option<usize>,
        stack: usize,
        cell: usize,
        waiting: &mut BTreeMap<(usize, usize), usize>,
    ) {
        let Some(face) = face else { return };
        for hold in holds {
            match hold {
                Hold::Port { .. } => self.hold(hold, face, 0.0),
                Hold::Joint {
                    hung,
                    conductance_w_k,
                } => {
                    if stack == 0 {
                        waiting.insert((*hung, cell), face);
                    } else if let Some(plate) = waiting.get(&(*hung, cell)) {
                        self.network.tie(*plate, face, *conductance_w_k);
                    }
                }
            }
        }
    }

    fn hold(&mut self, hold: &Hold, node: usize, before_k_w: f64) {
        let Hold::Port {
            port,
            filling_mm2k_w,
            area_mm2,
            gap_mm,
        } = *hold
        else {
            return;
        };
        let conductance_w_k = 1.0 / (filling_mm2k_w / area_mm2 + before_k_w);
        self.network.ground(node, conductance_w_k);
        if let Some(port) = self.ports.get_mut(port) {
            port.ties.push(Tie {
                node,
                conductance_w_k,
                area_mm2,
                gap_mm,
                filling_mm2k_w,
            });
        }
    }

    /// Bare faces lose heat to the air.
    fn lose(&mut self, plate: &Plate<'_>, stacks: &[Stack]) {
        if plate.loss_w_mm2k <= 0.0 {
            return;
        }
        for stack in stacks {
            for cell in 0..self.grid.cells() {
                let Some(node) = stack.mean(stack.layers - 1, cell) else {
                    continue;
                };
                let face_mm2 = stack.cover.at(cell) * self.full_mm2(cell);
                let covered = |holds: &BTreeMap<usize, Vec<Hold>>| -> f64 {
                    let holds = holds.get(&cell).into_iter().flatten();
                    holds
                        .map(|hold| match hold {
                            Hold::Port { area_mm2, .. } => *area_mm2,
                            Hold::Joint { .. } => face_mm2,
                        })
                        .sum()
                };
                let bare_mm2 = (face_mm2 - covered(&stack.below)).max(0.0)
                    + (face_mm2 - covered(&stack.above)).max(0.0);
                if bare_mm2 > 0.0 {
                    let conductance = plate.loss_w_mm2k * bare_mm2;
                    self.network.ground(node, conductance);
                    self.losses.push((node, conductance));
                }
            }
        }
    }

    /// Pieces of the plate that hang together with no heat pipe.
    fn pieces(&mut self, stacks: &[Stack]) {
        let groups = self.network.groups();
        let mut carried = vec![false; groups.len()];
        for port in self.ports.iter().skip(self.parts) {
            for tie in &port.ties {
                let group = groups.get(tie.node).copied().unwrap_or(0);
                if let Some(place) = carried.get_mut(group) {
                    *place = true;
                }
            }
        }
        // Area and moments of each group that nothing carries.
        let mut lost: BTreeMap<usize, [f64; 3]> = BTreeMap::new();
        for stack in stacks {
            for cell in 0..self.grid.cells() {
                let Some(group) = stack
                    .mean(0, cell)
                    .and_then(|node| groups.get(node).copied())
                else {
                    continue;
                };
                if carried.get(group).copied().unwrap_or(false) {
                    continue;
                }
                let rows = self.grid.rows().max(1);
                let (front, back) = self.grid.row(cell % rows);
                let x = self
                    .grid
                    .columns
                    .get(cell / rows)
                    .map_or(0.0, |column| column.x_at(0.5));
                let area = stack.cover.at(cell) * self.full_mm2(cell);
                let sums = lost.entry(group).or_insert([0.0; 3]);
                sums[0] += area;
                sums[1] += area * x;
                sums[2] += area * f64::midpoint(front, back);
            }
        }
        for (group, [area_mm2, x, y]) in lost {
            self.network.ground(group, CRUMB_W_K);
            if area_mm2 > PIECE_MM2 {
                self.cut_off.push(CutOff {
                    area_mm2,
                    x_mm: x / area_mm2,
                    y_mm: y / area_mm2,
                });
            }
        }
    }

    /// How the plate answers each port, from one factorisation.
    ///
    /// # Errors
    /// See [`Unsolvable`].
    pub fn answers(&self) -> Result<Answers, Unsolvable> {
        let factor = self.network.factorise()?;
        let loads: Vec<Vec<(usize, f64)>> = self
            .ports
            .iter()
            .map(|port| {
                port.ties
                    .iter()
                    .map(|tie| (tie.node, tie.conductance_w_k))
                    .collect()
            })
            .collect();
        let fields = factor.solve(&loads);
        let flows = self
            .ports
            .iter()
            .enumerate()
            .map(|(number, port)| {
                fields
                    .iter()
                    .enumerate()
                    .map(|(other, field)| {
                        let own = if other == number { 1.0 } else { 0.0 };
                        port.ties
                            .iter()
                            .map(|tie| {
                                let at = field.get(tie.node).copied().unwrap_or(0.0);
                                tie.conductance_w_k * (own - at)
                            })
                            .sum()
                    })
                    .collect()
            })
            .collect();
        Ok(Answers {
            factor,
            fields,
            flows,
        })
    }
}

/// How a plate answers its ports, air at zero.
#[derive(Debug)]
pub struct Answers {
    /// The factorised network, all ports held at zero.
    pub factor: Factor,
    /// Temperature of every node for one kelvin at one port and zero at all others.
    pub fields: Vec<Vec<f64>>,
    /// Heat from each port (row) for one kelvin at each port (column), W/K.
    pub flows: Vec<Vec<f64>>,
}

impl Answers {
    /// Temperature of every node for temperatures of all ports.
    pub fn field(&self, ports_k: &[f64]) -> Vec<f64> {
        let nodes = self.fields.first().map_or(0, Vec::len);
        let mut sum = vec![0.0; nodes];
        for (field, port_k) in self.fields.iter().zip(ports_k) {
            for (place, value) in sum.iter_mut().zip(field) {
                *place += port_k * value;
            }
        }
        sum
    }
}

/// Grid with a line at every edge that runs along or across the strip.
fn grid(plate: &Plate<'_>, size_mm: f64) -> Grid {
    let mut bounds: Vec<_> = plate.loops.iter().map(Loop::bounds).collect();
    let (low, high) = bounds.first().copied().unwrap_or_default();
    bounds.extend(plate.hung.iter().map(|hung| hung.footprint.bounds()));
    bounds.extend(plate.seats.iter().map(|seat| seat.footprint.bounds()));
    let mut x_breaks: Vec<f64> = bounds.iter().flat_map(|(a, b)| [a.x, b.x]).collect();
    let mut y_breaks: Vec<f64> = bounds.iter().flat_map(|(a, b)| [a.y, b.y]).collect();
    for foot in &plate.feet {
        x_breaks.extend([foot.x_mm.0, foot.x_mm.1]);
        y_breaks.extend([foot.y_mm.0, foot.y_mm.1]);
    }
    if let Some(outline) = plate.loops.first() {
        for side in outline.sides() {
            x_breaks.push(side.from.x);
            y_breaks.push(side.from.y);
        }
    }
    let y_breaks: Vec<f64> = y_breaks.iter().map(|y| y - low.y).collect();
    Grid {
        columns: unfold::columns(&plate.stretches, &x_breaks, size_mm),
        row_edges: unfold::edges(high.y - low.y, &y_breaks, size_mm)
            .into_iter()
            .map(|edge| edge + low.y)
            .collect(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use nalgebra::Point2;

    fn rectangle(x: (f64, f64), y: (f64, f64)) -> Footprint {
        Footprint::between(Point2::new(x.0, y.0), Point2::new(x.1, y.1))
    }

    /// A plate of 20 by 10 mm with a hole across it, a part on the left and a pipe on the right.
    fn slotted(slot_mm: f64) -> Plate<'static> {
        Plate {
            stretches: unfold::level(0.0, 20.0),
            loops: vec![
                Loop::rectangle(Point2::new(0.0, 0.0), Point2::new(20.0, 10.0)),
                Loop::rectangle(Point2::new(9.0, 0.0), Point2::new(11.0, slot_mm)),
            ],
            sheet: Sheet {
                thickness_mm: 1.0,
                conductivity_w_mmk: 0.39,
            },
            hung: Vec::new(),
            seats: vec![Seat {
                footprint: rectangle((14.0, 19.0), (0.0, 10.0)),
                flats: vec![0],
                joint_mm2k_w: 10.0,
            }],
            feet: vec![Foot {
                x_mm: (1.0, 6.0),
                y_mm: (2.0, 8.0),
                patches: Box::new(|_| {
                    vec![Patch {
                        y_from_mm: 2.0,
                        y_to_mm: 8.0,
                        gap_mm: 1.0,
                        hung: None,
                    }]
                }),
                resistance: Box::new(|gap_mm| 200.0 * gap_mm),
            }],
            loss_w_mm2k: 0.0,
        }
    }

    #[test]
    fn a_slot_right_across_cuts_a_piece_off_and_a_bridge_does_not() {
        for layers in [1, 3] {
            let cut = Cells::of(&slotted(10.0), 0.5, layers);
            let [piece] = cut.cut_off.as_slice() else {
                panic!("{:?}", cut.cut_off)
            };
            assert!((piece.area_mm2 - 90.0).abs() < 1e-6, "{piece:?}");
            assert!((piece.x_mm - 4.5).abs() < 1e-6 && (piece.y_mm - 5.0).abs() < 1e-6);
            // However narrow, a bridge is a bridge, on a coarse grid too.
            for bridge_mm in [0.02, 1.0] {
                let plate = slotted(10.0 - bridge_mm);
                let cells = Cells::of(&plate, 0.5, layers);
                assert_eq!(cells.cut_off, Vec::new());
                let flow = cells.answers().unwrap().flows[0][0];
                // At most what the bridge lets through, 2 mm long; and more for the wide one than for the narrow.
                let bridge = 0.39 * bridge_mm / 2.0;
                assert!(
                    flow < 1.5 * bridge && flow > 0.2 * bridge.min(0.1),
                    "{flow} {bridge}"
                );
            }
        }
    }

    #[test]
    fn layers_and_hung_plates_change_nothing_where_heat_goes_straight_through() {
        // 5 by 6 mm of everything: part, extension plate, solder, plate, joint.
        let all = rectangle((0.0, 5.0), (0.0, 6.0));
        for layers in [1, 2, 5] {
            let plate = Plate {
                stretches: unfold::level(0.0, 5.0),
                loops: vec![Loop::rectangle(
                    Point2::new(0.0, 0.0),
                    Point2::new(5.0, 6.0),
                )],
                sheet: Sheet {
                    thickness_mm: 0.8,
                    conductivity_w_mmk: 0.39,
                },
                hung: vec![Hung {
                    footprint: all.clone(),
                    sheet: Sheet {
                        thickness_mm: 2.0,
                        conductivity_w_mmk: 0.12,
                    },
                    joint_mm2k_w: 5.0,
                }],
                seats: vec![Seat {
                    footprint: all.clone(),
                    flats: vec![0],
                    joint_mm2k_w: 35.0,
                }],
                feet: vec![Foot {
                    x_mm: (0.0, 5.0),
                    y_mm: (0.0, 6.0),
                    patches: Box::new(|_| {
                        vec![Patch {
                            y_from_mm: 0.0,
                            y_to_mm: 6.0,
                            gap_mm: 1.0,
                            hung: Some(0),
                        }]
                    }),
                    resistance: Box::new(|_| 240.0),
                }],
                loss_w_mm2k: 0.0,
            };
            let cells = Cells::of(&plate, 0.7, layers);
            let flow = cells.answers().unwrap().flows[0][0];
            let series = 240.0 + 2.0 / 0.12 + 5.0 + 0.8 / 0.39 + 35.0;
            approx::assert_relative_eq!(1.0 / flow, series / 30.0, max_relative = 1e-9);
        }
    }
}
