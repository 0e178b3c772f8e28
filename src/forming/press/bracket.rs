//! How far to go along a step of Newton's method.

/// Work of the out-of-balance forces along a step that may be left at its end, as a share of that at its beginning.
const WORK_LEFT: f64 = 0.5;

/// What a line search knows: where the out-of-balance forces still push along the step, and where they push back.
pub(super) struct Bracket {
    begin: f64,
    low: (f64, f64),
    high: Option<(f64, f64)>,
}

impl Bracket {
    pub(super) fn from(begin: f64) -> Self {
        Self {
            begin,
            low: (0.0, begin),
            high: None,
        }
    }

    /// The next share of the step to try; `None` when this one will do. `work` is missing where the strip cannot be there.
    pub(super) fn next_share(&mut self, share: f64, work: Option<f64>) -> Option<f64> {
        let Some(work) = work else {
            self.high = Some((share, f64::NEG_INFINITY));
            return Some(self.low.0 + 0.3 * (share - self.low.0));
        };
        if self.begin <= 0.0 || work.abs() <= WORK_LEFT * self.begin {
            return None;
        }
        if work < 0.0 {
            self.high = Some((share, work));
        } else {
            self.low = (share, work);
        }
        let Some((high, back)) = self.high else {
            // It pushes on even at the end of the step.
            return (work > self.begin && share > 0.2).then_some(0.5 * share);
        };
        let (low, push) = self.low;
        let between = if back.is_finite() {
            push / (push - back)
        } else {
            0.5
        };
        Some(low + (high - low) * between.clamp(0.1, 0.9))
    }
}
