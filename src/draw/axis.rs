//! Round steps and ticks for axes.

/// Numbers on a ruler along a picture stand at least this far apart, mm.
const RULER_MM: f64 = 13.0;

/// The largest of 1, 2, 5 and their tens that is not above a number.
pub fn round_below(value: f64) -> f64 {
    let mut ten = 1.0;
    while ten > value && ten > 1e-9 {
        ten /= 10.0;
    }
    while ten * 10.0 <= value && ten < 1e9 {
        ten *= 10.0;
    }
    [5.0, 2.0]
        .into_iter()
        .map(|digit| digit * ten)
        .find(|round| *round <= value)
        .unwrap_or(ten)
}

/// Distance of ticks, a round number.
pub fn ruler_step(scale: f64) -> f64 {
    [1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0]
        .into_iter()
        .find(|step| step * scale >= RULER_MM)
        .unwrap_or(500.0)
}

/// Whole multiples of a step from one place to another.
pub fn ticks(from: f64, to: f64, step: f64) -> Vec<f64> {
    let mut places = Vec::new();
    let mut number = (from / step - 1e-9).ceil();
    while number * step <= to + 1e-9 {
        // Minus zero would be written with its sign.
        places.push(number * step + 0.0);
        number += 1.0;
    }
    places
}
