//! How far a search of dies is: a bar, the time left, and what it does, on one line of a terminal.

use super::terminal::Line;
use crate::forming::pressing::{Effort, Progress, Stage};
use std::fmt::Write as _;
use std::time::{Duration, Instant};

/// Presses that a search usually takes on the coarse mesh and on the fine one: of the bundled examples two to four, and one.
const USUAL_QUICK: f64 = 4.0;
const USUAL_FULL: f64 = 1.0;
/// A press on the fine mesh takes so many times one on the coarse mesh.
const FULL_COSTS: f64 = 1.5;
/// A last press for what inputs change, where the ones before did not say it.
const CHANGES_COST: f64 = 0.5;
/// Before so much time has passed nothing is said of the time left.
const SAID_AFTER: Duration = Duration::from_secs(1);
/// Signs of the bar.
const SIGNS: usize = 12;

/// A bar over one search.
#[derive(Debug)]
pub struct Bar<'l> {
    line: &'l mut Line,
    effort: Effort,
    begun: Instant,
    press: Option<(Stage, u32)>,
    /// How far the upper die stood off when the press under way began.
    lifted_mm: f64,
    share: f64,
}

impl<'l> Bar<'l> {
    /// A search that begins now.
    pub fn new(line: &'l mut Line, effort: Effort) -> Self {
        Self {
            line,
            effort,
            begun: Instant::now(),
            press: None,
            lifted_mm: 0.0,
            share: 0.0,
        }
    }

    /// Shows how far it is.
    pub fn show(&mut self, progress: &Progress) {
        let press = Some((progress.stage, progress.press));
        if self.press != press {
            self.press = press;
            self.lifted_mm = progress.lifted_mm;
        }
        let within = if self.lifted_mm > 0.0 {
            (1.0 - progress.lifted_mm / self.lifted_mm).clamp(0.0, 1.0)
        } else {
            0.0
        };
        self.share = self.share.max(share(self.effort, progress, within));
        let left = left(self.begun.elapsed(), self.share);
        self.line.show(&words(self.share, left, progress));
    }
}

/// What part of a usual search is done; one that takes longer waits just before the next part.
fn share(effort: Effort, progress: &Progress, within: f64) -> f64 {
    let presses = f64::from(progress.press.saturating_sub(1)) + within;
    let full = match effort {
        Effort::Quick => 0.0,
        Effort::Full => USUAL_FULL * FULL_COSTS,
    };
    let done = match progress.stage {
        Stage::Quick => presses.min(USUAL_QUICK),
        Stage::Full => USUAL_QUICK + full.min(presses * FULL_COSTS),
        Stage::Changes => USUAL_QUICK + full + within * CHANGES_COST,
    };
    (done / (USUAL_QUICK + full + CHANGES_COST)).clamp(0.0, 1.0)
}

/// Seconds left, if the rest takes as long for its size as what is done took.
fn left(passed: Duration, share: f64) -> Option<f64> {
    (passed >= SAID_AFTER && share > 0.0)
        .then(|| (passed.as_secs_f64() * (1.0 - share) / share).ceil())
}

fn words(share: f64, left: Option<f64>, progress: &Progress) -> String {
    let what = match progress.stage {
        Stage::Quick => "coarse mesh",
        Stage::Full => "fine mesh",
        Stage::Changes => "what inputs change",
    };
    let full = (0..SIGNS).filter(|sign| (*sign as f64 + 0.5) / SIGNS as f64 <= share);
    let full = full.count();
    let mut words = format!("[{:.<SIGNS$}] ", "#".repeat(full));
    if let Some(seconds) = left {
        let _ = write!(words, "about {seconds:.0} s left; ");
    }
    let _ = write!(
        words,
        "press {}, {what}, {:.2} mm to close",
        progress.press,
        progress.lifted_mm.max(0.0)
    );
    if let (Some(deg), Some(mm)) = (progress.worst_deg, progress.worst_mm) {
        let _ = write!(words, "; worst so far {deg:.2}°, {mm:.3} mm");
    }
    words
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(stage: Stage, press: u32) -> Progress {
        Progress {
            press,
            stage,
            lifted_mm: 0.5,
            worst_deg: None,
            worst_mm: None,
        }
    }

    #[test]
    fn the_share_grows_from_press_to_press_and_ends_at_one() {
        for effort in [Effort::Quick, Effort::Full] {
            let mut stages = vec![(Stage::Quick, 9)];
            if effort == Effort::Full {
                stages.push((Stage::Full, 3));
            }
            stages.push((Stage::Changes, 1));
            let mut before = -1.0;
            for (stage, presses) in stages {
                for press in 1..=presses {
                    for within in [0.0, 0.5, 1.0] {
                        let now = share(effort, &at(stage, press), within);
                        assert!(now >= before && (0.0..=1.0).contains(&now));
                        before = now;
                    }
                }
            }
            assert_eq!(before, 1.0);
            assert_eq!(share(effort, &at(Stage::Quick, 1), 0.0), 0.0);
        }
    }

    #[test]
    fn the_time_left_is_in_proportion_and_waits_for_a_second() {
        assert_eq!(left(Duration::from_millis(999), 0.5), None);
        assert_eq!(left(Duration::from_secs(6), 0.0), None);
        assert_eq!(left(Duration::from_secs(6), 0.25), Some(18.0));
        assert_eq!(left(Duration::from_secs(6), 1.0), Some(0.0));
    }

    #[test]
    fn the_line_has_bar_time_and_work() {
        assert_eq!(
            words(0.5, Some(18.0), &at(Stage::Full, 1)),
            "[######......] about 18 s left; press 1, fine mesh, 0.50 mm to close"
        );
        let begun = words(0.0, None, &at(Stage::Quick, 1));
        assert!(
            begun.starts_with("[............] press 1, coarse"),
            "{begun}"
        );
        assert!(words(1.0, None, &at(Stage::Quick, 1)).starts_with("[############] "));
    }
}
