//! How far the answer can be trusted: every input drawn again and again from what is open of it.
//!
//! Each input lies evenly between its limits (that is what a plus-minus says when nothing more is known: JCGM 100:2008,
//! Guide to the expression of uncertainty in measurement, 4.3.7, from memory). Old and new plate are drawn together: the
//! same heat, board, pipes and air, and the same pad where both have it.

use super::filling::Filling;
use super::lanes::Lanes;
use super::model::{Over, Setup, Values, filling, part_load};
use super::solved::Solved;
use crate::numeric::shares::{cores, run_all};
use rand_pcg::Pcg64;
use rand_pcg::rand_core::Rng;
use schemars::JsonSchema;
use serde::Serialize;

/// Draws of one study, where the parts are few.
pub const DRAWS: usize = 100_000;
/// Draws for each stream of random numbers; the answer does not depend on how streams are shared out to threads.
pub const STREAM: usize = 2_500;
/// No study takes more steps than this: draws times (parts + pipes) cubed.
const MOST_STEPS: f64 = 1e9;
/// Fewest draws that still say something of a range.
const FEWEST: usize = 2_500;
/// Where the random numbers begin. Any number will do.
const SEED: u128 = 0x636f_6c64_7374_6570;
/// Share of the draws below the lower and above the upper end of a range.
const TAIL: f64 = 0.05;

/// A value with the range that nine in ten draws lie in. Not finite, null in JSON: there is no such value.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
pub struct Range {
    /// With every input at its middle.
    #[schemars(with = "Option<f64>")]
    pub middle: f64,
    /// One draw in twenty is lower.
    #[schemars(with = "Option<f64>")]
    pub low: f64,
    /// One draw in twenty is higher.
    #[schemars(with = "Option<f64>")]
    pub high: f64,
}

/// Inside temperatures of every draw, °C.
#[derive(Debug, Clone, PartialEq)]
pub struct Drawn {
    /// For each foot of the new plate, draw by draw.
    pub new_c: Vec<Vec<f64>>,
    /// For each foot of the old plate, draw by draw.
    pub old_c: Vec<Vec<f64>>,
    /// How many draws.
    pub draws: usize,
}

/// A plate that draws are made of.
#[derive(Clone, Copy)]
pub struct Drawable<'a> {
    /// What is over its parts.
    pub over: &'a [Over],
    /// Its solution at the middle of all ranges.
    pub solved: &'a Solved,
}

/// How many draws a study of so many parts and pipes takes.
pub fn draws_for(unknowns: usize) -> usize {
    let size = unknowns.max(1) as f64;
    let mut draws = DRAWS;
    while draws > FEWEST && draws as f64 * size * size * size > MOST_STEPS {
        draws -= STREAM;
    }
    draws
}

/// Draws all inputs and solves both plates for each draw.
pub fn draw(
    setup: &Setup<'_>,
    new: Drawable<'_>,
    old: Option<Drawable<'_>>,
    draws: usize,
) -> Drawn {
    draw_on(setup, new, old, draws, cores())
}

/// The same on so many threads.
pub fn draw_on(
    setup: &Setup<'_>,
    new: Drawable<'_>,
    old: Option<Drawable<'_>>,
    draws: usize,
    threads: usize,
) -> Drawn {
    let streams = draws.div_ceil(STREAM).max(1);
    let width = new.over.len() + old.map_or(0, |old| old.over.len());
    // Stream by stream, each column after column.
    let mut table = vec![f64::NAN; streams * STREAM * width];
    let share = streams.div_ceil(threads.clamp(1, streams)) * STREAM * width;
    if width > 0 {
        let shares = table.chunks_mut(share).enumerate().map(|(number, room)| {
            move || {
                let first = number * share / (STREAM * width);
                for (stream, room) in room.chunks_mut(STREAM * width).enumerate() {
                    fill(setup, new, old, first + stream, room);
                }
            }
        });
        run_all(shares.collect());
    }
    let column = |number: usize| -> Vec<f64> {
        let mut all = Vec::with_capacity(streams * STREAM);
        for stream in table.chunks_exact(STREAM * width) {
            all.extend(stream.iter().skip(number * STREAM).take(STREAM));
        }
        all.truncate(draws);
        all
    };
    Drawn {
        new_c: (0..new.over.len()).map(column).collect(),
        old_c: (new.over.len()..width).map(column).collect(),
        draws,
    }
}

/// Draws that are solved side by side.
const LANES: usize = 8;

/// One plate, ready to be solved for draw after draw.
struct Drawing<'a> {
    over: &'a [Over],
    /// Place of each part among the heated.
    places: Vec<usize>,
    solved: &'a Solved,
    lanes: Lanes<'a, LANES>,
}

impl<'a> Drawing<'a> {
    fn of(setup: &Setup<'_>, plate: Drawable<'a>) -> Self {
        Self {
            over: plate.over,
            places: plate
                .over
                .iter()
                .map(|over| setup.place_of(over.component))
                .collect(),
            solved: plate.solved,
            lanes: Lanes::of(
                plate.solved.reduced.packed(),
                plate.solved.reduced.follows.shape(),
            ),
        }
    }

    fn put(&mut self, lane: usize, setup: &Setup<'_>, values: &Values) {
        let solved = self.solved;
        let loads = self
            .over
            .iter()
            .zip(&self.places)
            .enumerate()
            .map(|(port, (over, place))| {
                let (filling, wider_mm) = filling(over, values, *place);
                let change = solved.pad_change_k_w(port, over.filling, filling, wider_mm);
                part_load(values, *place, change)
            });
        let pipes = setup.each_pipe_load(values, Some(solved));
        self.lanes.put(lane, loads, pipes);
    }
}

/// One stream of draws, column after column.
fn fill(
    setup: &Setup<'_>,
    new: Drawable<'_>,
    old: Option<Drawable<'_>>,
    stream: usize,
    room: &mut [f64],
) {
    let mut random = Pcg64::new(SEED, stream as u128);
    let mut values = Values::default();
    let mut plates: Vec<Drawing<'_>> = std::iter::once(new)
        .chain(old)
        .map(|plate| Drawing::of(setup, plate))
        .collect();
    for first in (0..STREAM).step_by(LANES) {
        let mut air_c = [0.0; LANES];
        for (lane, air_c) in air_c.iter_mut().enumerate().take(STREAM - first) {
            setup.draw(&mut values, || even(&mut random));
            *air_c = values.air_c;
            for plate in &mut plates {
                plate.put(lane, setup, &values);
            }
        }
        let mut columns = room.chunks_exact_mut(STREAM);
        for plate in &mut plates {
            let good = plate.lanes.solve();
            for (inside_k, column) in plate.lanes.inside_k.iter().zip(&mut columns) {
                let answers = inside_k.iter().zip(&air_c).zip(good);
                for (place, ((inside_k, air_c), good)) in column.iter_mut().skip(first).zip(answers)
                {
                    *place = if good { inside_k + air_c } else { f64::NAN };
                }
            }
        }
    }
}

/// Draws of what needs no plate to be solved.
const SIMPLE: usize = 10_000;

fn each_simple(setup: &Setup<'_>, mut take: impl FnMut(&Values)) {
    let mut random = Pcg64::new(SEED, 0);
    let mut values = Values::default();
    for _ in 0..SIMPLE {
        setup.draw(&mut values, || even(&mut random));
        take(&values);
    }
}

/// Temperatures of a part that only the board cools, °C, draw by draw; `of` gives it for drawn values.
pub fn draw_simple(setup: &Setup<'_>, of: impl Fn(&Values) -> Option<f64>) -> Vec<f64> {
    let mut list = Vec::with_capacity(SIMPLE);
    each_simple(setup, |values| list.extend(of(values)));
    list
}

/// For each part of a plate, the share of all draws in which its pad does not reach across its gap somewhere.
pub fn short_shares(setup: &Setup<'_>, plate: Drawable<'_>) -> Vec<f64> {
    let pads: Vec<_> = plate
        .over
        .iter()
        .enumerate()
        .map(|(port, over)| match over.filling {
            Filling::Pad(pad) => {
                let widest_mm = plate.solved.widest_gap_mm(port)?;
                Some((over, setup.place_of(over.component), widest_mm, pad))
            }
            Filling::Air => None,
        })
        .collect();
    let mut short = vec![0_u32; pads.len()];
    each_simple(setup, |values| {
        for (count, pad) in short.iter_mut().zip(&pads) {
            let Some((over, place, widest_mm, pad)) = pad else {
                continue;
            };
            let (_, wider_mm) = filling(over, values, *place);
            *count += u32::from(widest_mm + wider_mm > pad.thickness_mm);
        }
    });
    short
        .into_iter()
        .map(|count| f64::from(count) / SIMPLE as f64)
        .collect()
}

/// A number between -1 and 1, all alike likely.
fn even(random: &mut Pcg64) -> f64 {
    // The upper 53 bits: every double of that many bits below 1.
    const STEP: f64 = 1.0 / 9_007_199_254_740_992.0;
    let bits = random.next_u64() >> 11;
    2.0 * (bits as f64 * STEP) - 1.0
}

impl Range {
    /// The range of draws about a middle. Draws without an answer are left out.
    pub fn of(middle: f64, draws: &[f64]) -> Self {
        let mut good: Vec<f64> = draws.iter().copied().filter(|c| c.is_finite()).collect();
        let last = good.len().saturating_sub(1);
        // Counts are small: far below where a double has no half.
        let below = (TAIL * last as f64).round();
        let mut cut = 0;
        while (cut as f64) < below {
            cut += 1;
        }
        if good.is_empty() {
            return Self {
                middle,
                low: middle,
                high: middle,
            };
        }
        let (_, low, above) = good.select_nth_unstable_by(cut, f64::total_cmp);
        let low = *low;
        let high = match (last - cut).checked_sub(cut + 1) {
            Some(nth) if nth < above.len() => *above.select_nth_unstable_by(nth, f64::total_cmp).1,
            _ => low,
        };
        Self { middle, low, high }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_range_leaves_a_twentieth_on_either_side() {
        let draws: Vec<f64> = (0..=1000).rev().map(f64::from).collect();
        let range = Range::of(500.0, &draws);
        assert_eq!((range.low, range.high), (50.0, 950.0));
        assert_eq!(Range::of(3.0, &[]).low, 3.0);
        let one = Range::of(3.0, &[7.0]);
        assert_eq!((one.low, one.high), (7.0, 7.0));
    }

    #[test]
    fn draws_are_even_and_streams_differ() {
        let mut random = Pcg64::new(SEED, 0);
        let numbers: Vec<f64> = (0..100_000).map(|_| even(&mut random)).collect();
        assert!(numbers.iter().all(|number| (-1.0..1.0).contains(number)));
        let mean: f64 = numbers.iter().sum::<f64>() / 1e5;
        let square: f64 = numbers.iter().map(|number| number * number).sum::<f64>() / 1e5;
        // Of an even spread over 2: mean 0 ± 1/√(3n), mean square 1/3 ± √(4/45)/√n; four times that.
        assert!(mean.abs() < 4.0 * 0.001_83, "{mean}");
        assert!((square - 1.0 / 3.0).abs() < 4.0 * 0.000_95, "{square}");
        let mut other = Pcg64::new(SEED, 1);
        assert_ne!(numbers[0].to_bits(), even(&mut other).to_bits());
    }

    #[test]
    fn many_parts_take_fewer_draws() {
        assert_eq!(draws_for(14), DRAWS);
        assert!(draws_for(100) < DRAWS && draws_for(100) >= FEWEST);
        assert_eq!(draws_for(5000), FEWEST);
    }
}
