//! What gaps say in words.

use super::press::LAYING;
use crate::fit::{Fit, Judged};
use crate::part::{Kind, Part};

/// What to take care of, each one sentence.
pub fn cautions(part: &Part, fit: &Fit) -> Vec<String> {
    let mut cautions = vec!["Nominal sizes only: tolerances are not in these numbers.".to_owned()];
    if fit.judged == Judged::Pressed {
        cautions.push(LAYING.to_owned());
    }
    let only_pressed: Vec<&str> = fit
        .components
        .iter()
        .filter(|fit| fit.verdict.is_good() && !fit.drawn_verdict.is_good())
        .map(|fit| fit.name.as_str())
        .collect();
    if !only_pressed.is_empty() {
        cautions.push(format!(
            "Good once pressed, but not as drawn: {}. Correct the drawing, so the fit does not depend on springback error.",
            only_pressed.join(", ")
        ));
    }
    let covered: Vec<&str> = part
        .components
        .iter()
        .zip(&fit.components)
        .filter(|(component, fit)| component.kind == Kind::Capacitor && fit.covered_percent > 0.0)
        .map(|(component, _)| component.name.as_str())
        .collect();
    if !covered.is_empty() {
        cautions.push(format!(
            "Metal that touches a capacitor shorts its ends, and metal stands over {}: glue a \
             sheet of polyimide tape under the plate there.",
            covered.join(", ")
        ));
    }
    cautions
}
