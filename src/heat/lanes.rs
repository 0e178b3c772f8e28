//! The small equations of [`super::reduced`] solved for several what-ifs side by side.
//!
//! Each number is a lane of as many numbers as there are what-ifs; every step does the same to each of them. So a what-if
//! comes out with the same bits alone or beside others, and the processor has several at once to work on, without a place
//! in memory asked for between draws.

use super::reduced::{Holding, PartLoad, PipeLoad, Reduced};
use nalgebra::DMatrix;

/// One number of each what-if.
pub type Lane<const N: usize> = [f64; N];

/// Adds `a·b` to each.
fn add<const N: usize>(sum: &mut Lane<N>, a: &Lane<N>, b: &Lane<N>) {
    for ((sum, a), b) in sum.iter_mut().zip(a).zip(b) {
        *sum += a * b;
    }
}

/// Takes `a·b` from each.
fn take<const N: usize>(sum: &mut Lane<N>, a: &Lane<N>, b: &Lane<N>) {
    for ((sum, a), b) in sum.iter_mut().zip(a).zip(b) {
        *sum -= a * b;
    }
}

/// Adds `a·b` to each, with one `a` for all.
fn add_of<const N: usize>(sum: &mut Lane<N>, a: f64, b: &Lane<N>) {
    for (sum, b) in sum.iter_mut().zip(b) {
        *sum += a * b;
    }
}

/// A board part in each what-if.
#[derive(Debug, Clone, Copy)]
struct Part<const N: usize> {
    heat_w: Lane<N>,
    inside_k_w: Lane<N>,
    pad_change_k_w: Lane<N>,
    board_k: Lane<N>,
    to_board_k_w: Lane<N>,
}

/// A heat pipe in each what-if: port temperature = slope × heat into it + base.
#[derive(Debug, Clone, Copy)]
struct Pipe<const N: usize> {
    slope: Lane<N>,
    base: Lane<N>,
}

/// Several what-ifs of one plate, with room for their answers.
#[derive(Debug, Clone)]
pub struct Lanes<'a, const N: usize> {
    reduced: &'a Reduced,
    parts: Vec<Part<N>>,
    pipes: Vec<Pipe<N>>,
    /// Whether the parts of each what-if have a way into the board; `None`: some have, which has no answer.
    to_board: [Option<bool>; N],
    /// For each pipe a row: its share of each pipe, its floor, its rise for a watt from each part.
    rows: Vec<Lane<N>>,
    /// Lower half of the matrix of the parts, row by row.
    matrix: Vec<Lane<N>>,
    /// Pivots over one.
    pivots: Vec<Lane<N>>,
    /// Heat of each part into the plate.
    pub into_plate_w: Vec<Lane<N>>,
    /// Temperature of each pipe's port.
    pub pipe_ports_k: Vec<Lane<N>>,
    /// Temperature of each part's port.
    pub part_ports_k: Vec<Lane<N>>,
    /// Inside of each part.
    pub inside_k: Vec<Lane<N>>,
}

impl<'a, const N: usize> Lanes<'a, N> {
    /// Room for what-ifs of one plate.
    pub fn of(reduced: &'a Reduced) -> Self {
        const {
            assert!(N > 0);
        }
        let (parts, pipes) = reduced.follows.shape();
        let none = [0.0; N];
        Self {
            reduced,
            parts: vec![
                Part {
                    heat_w: none,
                    inside_k_w: none,
                    pad_change_k_w: none,
                    board_k: none,
                    to_board_k_w: none,
                };
                parts
            ],
            pipes: vec![
                Pipe {
                    slope: none,
                    base: none,
                };
                pipes
            ],
            to_board: [Some(false); N],
            rows: vec![none; pipes * (pipes + 1 + parts)],
            matrix: vec![none; parts * parts],
            pivots: vec![none; parts],
            into_plate_w: vec![none; parts],
            pipe_ports_k: vec![none; pipes],
            part_ports_k: vec![none; parts],
            inside_k: vec![none; parts],
        }
    }

    /// Puts one what-if into its lane.
    pub fn put(
        &mut self,
        lane: usize,
        parts: impl IntoIterator<Item = PartLoad>,
        pipes: impl IntoIterator<Item = PipeLoad>,
    ) {
        fn set<const N: usize>(place: &mut Lane<N>, lane: usize, value: f64) {
            if let Some(place) = place.get_mut(lane) {
                *place = value;
            }
        }
        let (mut all, mut some) = (true, false);
        for (place, load) in self.parts.iter_mut().zip(parts) {
            set(&mut place.heat_w, lane, load.heat_w);
            set(&mut place.inside_k_w, lane, load.inside_k_w);
            set(&mut place.pad_change_k_w, lane, load.pad_change_k_w);
            all &= load.board.is_some();
            if let Some(path) = load.board {
                some = true;
                set(&mut place.board_k, lane, path.board_k);
                set(&mut place.to_board_k_w, lane, path.resistance_k_w);
            }
        }
        if let Some(place) = self.to_board.get_mut(lane) {
            *place = (all || !some).then_some(some);
        }
        for (place, load) in self.pipes.iter_mut().zip(pipes) {
            let (slope, base) = match load.held_by {
                Holding::Temperature { above_air_k } => (0.0, above_air_k),
                Holding::Air {
                    resistance_k_w,
                    other_heat_w,
                } => (resistance_k_w, resistance_k_w * other_heat_w),
            };
            set(&mut place.slope, lane, load.joint_change_k_w + slope);
            set(&mut place.base, lane, base);
        }
    }

    /// Solves all; says of each whether it has an answer. What-ifs with and without a board do not go together.
    pub fn solve(&mut self) -> [bool; N] {
        let to_board = self.to_board.iter().flatten().any(|to_board| *to_board);
        let mut good = self.to_board.map(|own| own == Some(to_board));
        self.pipes_for_heat(&mut good);
        if to_board {
            self.parts_with_board(&mut good);
        } else {
            for (into, part) in self.into_plate_w.iter_mut().zip(&self.parts) {
                *into = part.heat_w;
            }
        }
        self.temperatures();
        good
    }

    /// Temperature of each pipe's port as a floor and a rise for the heat of each part.
    ///
    /// Port temperatures are slope × (heat from the parts − what goes between the pipes) + base. The matrix of that is
    /// the identity and conductances; it needs no exchange of rows.
    fn pipes_for_heat(&mut self, good: &mut [bool; N]) {
        let pipes = self.pipes.len();
        let width = pipes + 1 + self.parts.len();
        let follows = columns(&self.reduced.follows);
        let between = columns(&self.reduced.between_w_k);
        for (number, (((row, pipe), follows), between)) in self
            .rows
            .chunks_exact_mut(width)
            .zip(&self.pipes)
            .zip(follows)
            .zip(between)
            .enumerate()
        {
            let shares = between.iter().enumerate().map(|(other, between)| {
                let own = if other == number { 1.0 } else { 0.0 };
                pipe.slope.map(|slope| own + slope * between)
            });
            let rises = follows
                .iter()
                .map(|follows| pipe.slope.map(|slope| slope * follows));
            let all = shares.chain(std::iter::once(pipe.base)).chain(rises);
            for (place, lane) in row.iter_mut().zip(all) {
                *place = lane;
            }
        }
        for number in 0..pipes {
            let Some((above, rest)) = self.rows.split_at_mut_checked(number * width) else {
                return;
            };
            let Some((own, below)) = rest.split_at_mut_checked(width) else {
                return;
            };
            let Some(pivot) = own.get(number).copied() else {
                return;
            };
            check(good, &pivot);
            let over = pivot.map(|pivot| 1.0 / pivot);
            for place in own.iter_mut().skip(number) {
                *place = times(place, &over);
            }
            for row in above
                .chunks_exact_mut(width)
                .chain(below.chunks_exact_mut(width))
            {
                let Some(share) = row.get(number).copied() else {
                    return;
                };
                for (place, own) in row.iter_mut().zip(own.iter()).skip(number) {
                    take(place, &share, own);
                }
            }
        }
    }

    /// Heat of each part into the plate where the board takes some: a square-root-free Cholesky factorisation.
    fn parts_with_board(&mut self, good: &mut [bool; N]) {
        let count = self.parts.len();
        let pipes = self.pipes.len();
        let width = pipes + 1 + count;
        let rises = columns(&self.reduced.rise_k_w);
        for (number, ((row, part), rise)) in self
            .matrix
            .chunks_exact_mut(count.max(1))
            .zip(&self.parts)
            .zip(rises)
            .enumerate()
        {
            for (place, rise) in row.iter_mut().zip(rise).take(number + 1) {
                *place = [*rise; N];
            }
            let mut side = [0.0; N];
            for (pipe, follows) in self
                .rows
                .chunks_exact(width)
                .zip(columns(&self.reduced.follows))
            {
                let Some(follows) = follows.get(number).copied() else {
                    continue;
                };
                let mut pipe = pipe.iter().skip(pipes);
                if let Some(floor) = pipe.next() {
                    add_of(&mut side, -follows, floor);
                }
                for (place, rise) in row.iter_mut().zip(pipe).take(number + 1) {
                    add_of(place, follows, rise);
                }
            }
            let Some(diagonal) = row.get_mut(number) else {
                return;
            };
            let lanes = diagonal.iter_mut().zip(&mut side);
            for (lane, (diagonal, side)) in lanes.enumerate() {
                let of = |list: &Lane<N>| list.get(lane).copied().unwrap_or(0.0);
                let to_board = of(&part.to_board_k_w);
                *diagonal += of(&part.inside_k_w) + of(&part.pad_change_k_w) + to_board;
                *side += of(&part.board_k) + to_board * of(&part.heat_w);
            }
            if let Some(place) = self.into_plate_w.get_mut(number) {
                *place = side;
            }
        }
        // Rows become L·D, then L; the right-hand side goes along.
        for number in 0..count {
            let Some((before, rest)) = self.matrix.split_at_mut_checked(number * count) else {
                return;
            };
            let Some((sides, own_side)) = self.into_plate_w.split_at_mut_checked(number) else {
                return;
            };
            let (Some(row), Some(side)) = (rest.get_mut(..count), own_side.first_mut()) else {
                return;
            };
            for (other, upper) in before.chunks_exact(count).enumerate() {
                let Some((done, place)) = row.split_at_mut_checked(other) else {
                    return;
                };
                let Some(place) = place.first_mut() else {
                    return;
                };
                let mut sum = *place;
                for (own, upper) in done.iter().zip(upper) {
                    take(&mut sum, own, upper);
                }
                *place = sum;
            }
            let Some((row, diagonal)) = row.split_at_mut_checked(number) else {
                return;
            };
            let Some(mut pivot) = diagonal.first().copied() else {
                return;
            };
            for ((place, over), before) in row.iter_mut().zip(&self.pivots).zip(sides.iter()) {
                let scaled = times(place, over);
                take(&mut pivot, place, &scaled);
                take(side, &scaled, before);
                *place = scaled;
            }
            check(good, &pivot);
            if let Some(place) = self.pivots.get_mut(number) {
                *place = pivot.map(|pivot| 1.0 / pivot);
            }
        }
        for (place, over) in self.into_plate_w.iter_mut().zip(&self.pivots) {
            *place = times(place, over);
        }
        for (number, row) in self.matrix.chunks_exact(count.max(1)).enumerate().rev() {
            let Some((sides, own)) = self.into_plate_w.split_at_mut_checked(number) else {
                return;
            };
            let Some(own) = own.first() else { return };
            for (side, lower) in sides.iter_mut().zip(row) {
                take(side, lower, own);
            }
        }
    }

    /// Ports and insides from the heat of each part.
    fn temperatures(&mut self) {
        let pipes = self.pipes.len();
        let width = pipes + 1 + self.parts.len();
        for (place, row) in self
            .pipe_ports_k
            .iter_mut()
            .zip(self.rows.chunks_exact(width))
        {
            let mut row = row.iter().skip(pipes);
            let mut sum = row.next().copied().unwrap_or([0.0; N]);
            for (rise, into) in row.zip(&self.into_plate_w) {
                add(&mut sum, rise, into);
            }
            *place = sum;
        }
        for (number, (port, rise)) in self
            .part_ports_k
            .iter_mut()
            .zip(columns(&self.reduced.rise_k_w))
            .enumerate()
        {
            let mut sum = [0.0; N];
            for (rise, into) in rise.iter().zip(&self.into_plate_w) {
                add_of(&mut sum, *rise, into);
            }
            for (follows, pipe) in columns(&self.reduced.follows).zip(&self.pipe_ports_k) {
                add_of(&mut sum, follows.get(number).copied().unwrap_or(0.0), pipe);
            }
            *port = sum;
        }
        for (((inside, port), part), into) in self
            .inside_k
            .iter_mut()
            .zip(&self.part_ports_k)
            .zip(&self.parts)
            .zip(&self.into_plate_w)
        {
            let mut sum = *port;
            add(&mut sum, into, &part.pad_change_k_w);
            add(&mut sum, into, &part.inside_k_w);
            *inside = sum;
        }
    }
}

fn times<const N: usize>(a: &Lane<N>, b: &Lane<N>) -> Lane<N> {
    let mut product = *a;
    for (a, b) in product.iter_mut().zip(b) {
        *a *= b;
    }
    product
}

/// A pivot that is not above nought leaves its what-if without an answer.
fn check<const N: usize>(good: &mut [bool; N], pivot: &Lane<N>) {
    for (good, pivot) in good.iter_mut().zip(pivot) {
        *good &= *pivot > 0.0 && pivot.is_finite();
    }
}

/// Columns of a matrix, empty ones too.
fn columns(matrix: &DMatrix<f64>) -> impl Iterator<Item = &[f64]> {
    let (rows, columns) = matrix.shape();
    (0..columns).map(move |column| {
        let range = column * rows..(column + 1) * rows;
        matrix.as_slice().get(range).unwrap_or(&[])
    })
}
