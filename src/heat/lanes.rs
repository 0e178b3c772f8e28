//! The small equations of [`super::reduced`] solved for several what-ifs side by side.
//!
//! Each number is a lane of as many numbers as there are what-ifs; every step does the same to each of them. So a what-if
//! comes out with the same bits alone or beside others, and the processor has several at once to work on, without a place
//! in memory asked for between draws.

use super::loads::{Holding, Packed, PartLoad, PipeLoad};

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
    board_k: Lane<N>,
    to_board_k_w: Lane<N>,
}

/// A heat pipe in each what-if: port temperature = slope × heat into it + base.
#[derive(Debug, Clone, Copy)]
struct Pipe<const N: usize> {
    slope: Lane<N>,
    base: Lane<N>,
}

/// Where the three matrices lie in the list of all entries.
#[derive(Debug, Clone, Copy)]
struct Sizes {
    parts: usize,
    pipes: usize,
}

impl Sizes {
    /// Entries of a row of `rows`.
    fn width(self) -> usize {
        self.pipes + 1 + self.parts
    }

    /// Lower half of the rises, row by row; columns of how parts follow pipes; columns between pipes.
    fn split<const N: usize>(self, all: &[Lane<N>]) -> [&[Lane<N>]; 3] {
        let (rises, rest) = all
            .split_at_checked(self.parts * (self.parts + 1) / 2)
            .unwrap_or((all, &[]));
        let (follows, between) = rest
            .split_at_checked(self.parts * self.pipes)
            .unwrap_or((rest, &[]));
        [rises, follows, between]
    }
}

/// Pieces of a list, also where they are empty.
fn pieces<const N: usize>(
    list: &[Lane<N>],
    count: usize,
    length: usize,
) -> impl Iterator<Item = &[Lane<N>]> {
    (0..count).map(move |number| {
        list.get(number * length..(number + 1) * length)
            .unwrap_or(&[])
    })
}

/// Several what-ifs of one plate, with room for their answers.
#[derive(Debug, Clone)]
pub struct Lanes<'a, const N: usize> {
    packed: &'a Packed,
    sizes: Sizes,
    /// What each port has more than the solution.
    changes: Vec<Lane<N>>,
    /// The three matrices with that.
    entries: Vec<Lane<N>>,
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
    /// Top of each part.
    pub top_k: Vec<Lane<N>>,
    /// Inside of each part.
    pub inside_k: Vec<Lane<N>>,
}

impl<'a, const N: usize> Lanes<'a, N> {
    /// Room for what-ifs of one plate with so many parts and pipes.
    pub(super) fn of(packed: &'a Packed, (parts, pipes): (usize, usize)) -> Self {
        const {
            assert!(N > 0);
        }
        let none = [0.0; N];
        Self {
            packed,
            sizes: Sizes { parts, pipes },
            changes: vec![none; parts + pipes],
            entries: vec![none; packed.base.len()],
            parts: vec![
                Part {
                    heat_w: none,
                    inside_k_w: none,
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
            top_k: vec![none; parts],
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
        let mut changes = self.changes.iter_mut();
        for ((place, change), load) in self.parts.iter_mut().zip(&mut changes).zip(parts) {
            set(&mut place.heat_w, lane, load.heat_w);
            set(&mut place.inside_k_w, lane, load.inside_k_w);
            set(change, lane, load.pad_change_k_w);
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
        for ((place, change), load) in self.pipes.iter_mut().zip(changes).zip(pipes) {
            set(change, lane, load.joint_change_k_w);
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
        self.change();
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

    /// The three matrices with what each port has more.
    fn change(&mut self) {
        let ports = self.changes.len().max(1);
        let Packed { base, changes } = self.packed;
        if changes.is_empty() {
            for (place, base) in self.entries.iter_mut().zip(base) {
                *place = [*base; N];
            }
            // The diagonal of the rises is the last of each row of the lower half.
            let mut diagonal = 0;
            for (number, change) in self.changes.iter().enumerate().take(self.sizes.parts) {
                if let Some(place) = self.entries.get_mut(diagonal) {
                    add_of(place, 1.0, change);
                }
                diagonal += number + 2;
            }
            return;
        }
        let by_entry = changes.chunks_exact(ports);
        for ((place, base), by_port) in self.entries.iter_mut().zip(base).zip(by_entry) {
            let mut sum = [*base; N];
            for (by, change) in by_port.iter().zip(&self.changes) {
                add_of(&mut sum, *by, change);
            }
            *place = sum;
        }
    }

    /// Temperature of each pipe's port as a floor and a rise for the heat of each part.
    ///
    /// Port temperatures are slope × (heat from the parts − what goes between the pipes) + base. The matrix of that is
    /// the identity and conductances; it needs no exchange of rows.
    fn pipes_for_heat(&mut self, good: &mut [bool; N]) {
        let Sizes { parts, pipes } = self.sizes;
        let width = self.sizes.width();
        let [_, follows, between] = self.sizes.split(&self.entries);
        for (number, (((row, pipe), follows), between)) in self
            .rows
            .chunks_exact_mut(width)
            .zip(&self.pipes)
            .zip(pieces(follows, pipes, parts))
            .zip(pieces(between, pipes, pipes))
            .enumerate()
        {
            let shares = between.iter().enumerate().map(|(other, between)| {
                let own = if other == number { 1.0 } else { 0.0 };
                let mut share = [own; N];
                add(&mut share, &pipe.slope, between);
                share
            });
            let rises = follows.iter().map(|follows| times(&pipe.slope, follows));
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
        let Sizes {
            parts: count,
            pipes,
        } = self.sizes;
        let width = self.sizes.width();
        let [mut rises, follows, _] = self.sizes.split(&self.entries);
        for (number, (row, part)) in self
            .matrix
            .chunks_exact_mut(count.max(1))
            .zip(&self.parts)
            .enumerate()
        {
            let Some((rise, rest)) = rises.split_at_checked(number + 1) else {
                return;
            };
            rises = rest;
            for (place, rise) in row.iter_mut().zip(rise) {
                *place = *rise;
            }
            let mut side = [0.0; N];
            for (pipe, follows) in self
                .rows
                .chunks_exact(width)
                .zip(pieces(follows, pipes, count))
            {
                let Some(follows) = follows.get(number) else {
                    continue;
                };
                let mut pipe = pipe.iter().skip(pipes);
                if let Some(floor) = pipe.next() {
                    take(&mut side, follows, floor);
                }
                for (place, rise) in row.iter_mut().zip(pipe).take(number + 1) {
                    add(place, follows, rise);
                }
            }
            let Some(diagonal) = row.get_mut(number) else {
                return;
            };
            let lanes = diagonal.iter_mut().zip(&mut side);
            for (lane, (diagonal, side)) in lanes.enumerate() {
                let of = |list: &Lane<N>| list.get(lane).copied().unwrap_or(0.0);
                let to_board = of(&part.to_board_k_w);
                *diagonal += of(&part.inside_k_w) + to_board;
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
        let Sizes { parts, pipes } = self.sizes;
        let width = self.sizes.width();
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
        let [mut rises, follows, _] = self.sizes.split(&self.entries);
        for number in 0..parts {
            let Some((rise, rest)) = rises.split_at_checked(number + 1) else {
                return;
            };
            rises = rest;
            let Some((before, own)) = self.top_k.split_at_mut_checked(number) else {
                return;
            };
            let (Some(own), Some(into)) = (own.first_mut(), self.into_plate_w.get(number)) else {
                return;
            };
            let mut sum = [0.0; N];
            for (rise, other) in rise.iter().zip(&self.into_plate_w) {
                add(&mut sum, rise, other);
            }
            for (rise, before) in rise.iter().zip(before) {
                add(before, rise, into);
            }
            for (follows, pipe) in pieces(follows, pipes, parts).zip(&self.pipe_ports_k) {
                if let Some(follows) = follows.get(number) {
                    add(&mut sum, follows, pipe);
                }
            }
            *own = sum;
        }
        for (((inside, top), part), into) in self
            .inside_k
            .iter_mut()
            .zip(&self.top_k)
            .zip(&self.parts)
            .zip(&self.into_plate_w)
        {
            let mut sum = *top;
            add(&mut sum, into, &part.inside_k_w);
            *inside = sum;
        }
    }

    /// Heat that each pipe takes.
    pub fn into_pipe_w(&self) -> Vec<Lane<N>> {
        let Sizes { parts, pipes } = self.sizes;
        let [_, follows, between] = self.sizes.split(&self.entries);
        pieces(follows, pipes, parts)
            .zip(pieces(between, pipes, pipes))
            .map(|(follows, between)| {
                let mut sum = [0.0; N];
                for (follows, into) in follows.iter().zip(&self.into_plate_w) {
                    add(&mut sum, follows, into);
                }
                for (between, port) in between.iter().zip(&self.pipe_ports_k) {
                    take(&mut sum, between, port);
                }
                sum
            })
            .collect()
    }
}

fn times<const N: usize>(a: &Lane<N>, b: &Lane<N>) -> Lane<N> {
    let mut product = *a;
    for (a, b) in product.iter_mut().zip(b) {
        *a *= b;
    }
    product
}

/// A pivot that is not above zero leaves its what-if without an answer.
fn check<const N: usize>(good: &mut [bool; N], pivot: &Lane<N>) {
    for (good, pivot) in good.iter_mut().zip(pivot) {
        *good &= *pivot > 0.0 && pivot.is_finite();
    }
}
