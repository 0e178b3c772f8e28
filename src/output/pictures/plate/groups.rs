//! Board parts as the section picture sees them: those that look alike from the side, with what to say.

use crate::draw::lettering::{LABEL_LETTERS, wrapped};
use crate::fit::{ComponentFit, Fit, GapVerdict};
use crate::numbers::{hundredths, size};
use crate::part::{Component, Part, Treatment};

/// Sizes that differ by less look the same and share a label, mm.
pub const SAME_MM: f64 = 0.005;

/// "gap 0.80", "gap 0.80 ±0.10", "gap 0.80 to 1.20 ±0.10" or "no metal above".
pub fn gap_words(fit: &ComponentFit) -> String {
    let band = fit
        .gap_plus_minus_mm
        .map_or_else(String::new, |mm| format!(" ±{}", hundredths(mm)));
    match (fit.gap_min_mm, fit.gap_max_mm) {
        (Some(min), Some(max)) if max - min < SAME_MM => format!("gap {}{band}", hundredths(min)),
        (Some(min), Some(max)) => format!("gap {} to {}{band}", hundredths(min), hundredths(max)),
        _ => "no metal above".into(),
    }
}

/// "pressed 0.78 to 0.82", where the pressed plate is known and faces the part.
pub fn pressed_words(fit: &ComponentFit) -> Option<String> {
    let pressed = fit.pressed.as_ref()?;
    let (min, max) = (pressed.gap_min_mm?, pressed.gap_max_mm?);
    Some(if max - min < SAME_MM {
        format!("pressed {}", hundredths(min))
    } else {
        format!("pressed {} to {}", hundredths(min), hundredths(max))
    })
}

/// What is wrong, in a few words; nothing when all is well.
pub fn trouble_words(component: &Component, fit: &ComponentFit) -> Option<String> {
    let words: String = match fit.verdict {
        GapVerdict::PadFits | GapVerdict::Clear => return None,
        GapVerdict::PadTooThin => "PAD TOO THIN".into(),
        GapVerdict::PadTooThick => "PAD TOO THICK".into(),
        GapVerdict::GapUneven => "GAP TOO UNEVEN FOR ITS PAD".into(),
        GapVerdict::TooClose => match component.treatment {
            Treatment::Bare { keep_out_mm } => {
                format!("TOO CLOSE: {} wanted", hundredths(keep_out_mm))
            }
            Treatment::Pad(_) => "TOO CLOSE".into(),
        },
        GapVerdict::Touches => "TOUCHES".into(),
        GapVerdict::NotCovered => "NOTHING PRESSES ITS PAD".into(),
    };
    Some(match fit.pressed_cause {
        Some(_) => format!("ONCE PRESSED {words}"),
        None => words,
    })
}

/// Components that look the same from the side.
pub struct Group<'a> {
    /// The components with what their gaps are.
    pub members: Vec<(&'a Component, &'a ComponentFit)>,
    /// Extent along x.
    pub x_mm: (f64, f64),
    /// Height above the board.
    pub height_mm: f64,
    /// Lines of the label below the names.
    pub details: Vec<String>,
}

impl Group<'_> {
    /// Smallest gap; `None` when no metal is above.
    pub fn gap_mm(&self) -> Option<f64> {
        self.members.first().and_then(|(_, fit)| fit.gap_min_mm)
    }

    /// How far the gap may be off, of the member that is known least.
    pub fn gap_plus_minus_mm(&self) -> Option<f64> {
        self.members
            .iter()
            .filter_map(|(_, fit)| fit.gap_plus_minus_mm)
            .reduce(f64::max)
    }

    /// Where the gap is smallest, when it is not the same everywhere.
    pub fn narrowest_mm(&self) -> Option<f64> {
        let (_, fit) = self.members.first()?;
        let even = match (fit.gap_min_mm, fit.gap_max_mm) {
            (Some(min), Some(max)) => max - min < SAME_MM && fit.covered_percent > 99.9,
            _ => true,
        };
        fit.gap_min_at.filter(|_| !even).map(|at| at.x_mm)
    }

    /// Whether each is as it should be.
    pub fn is_good(&self) -> bool {
        self.members.iter().all(|(_, fit)| fit.verdict.is_good())
    }

    /// Whether metal touches one or comes too close.
    pub fn is_alarming(&self) -> bool {
        self.members
            .iter()
            .any(|(_, fit)| matches!(fit.verdict, GapVerdict::Touches | GapVerdict::TooClose))
    }
}

fn details(component: &Component, fit: &ComponentFit) -> Vec<String> {
    let high = format!("{} high", size(component.height_mm.value));
    let mut lines = vec![gap_words(fit)];
    lines.extend(pressed_words(fit));
    match &component.treatment {
        Treatment::Pad(pad) => {
            lines.extend(wrapped(&format!("{high}, pad {}", pad.name), LABEL_LETTERS));
        }
        Treatment::Bare { .. } if fit.verdict != GapVerdict::Touches => {
            let clear = fit.judged_clearance_mm();
            lines.push(format!("{high}, {} clear", hundredths(clear)));
        }
        Treatment::Bare { .. } => lines.push(high),
    }
    lines.extend(trouble_words(component, fit));
    lines
}

/// Components gathered by how they look and what there is to say, the smallest gap last.
pub fn groups<'a>(part: &'a Part, fit: &'a Fit) -> Vec<Group<'a>> {
    let mut groups: Vec<Group> = Vec::new();
    for (component, fit) in part.components.iter().zip(&fit.components) {
        let (low, high) = component.footprint.bounds();
        let details = details(component, fit);
        let known = groups.iter_mut().find(|group| {
            group.details == details
                && (group.x_mm.0 - low.x).abs() < SAME_MM
                && (group.x_mm.1 - high.x).abs() < SAME_MM
                && (group.height_mm - component.height_mm.value).abs() < SAME_MM
        });
        match known {
            Some(group) => group.members.push((component, fit)),
            None => groups.push(Group {
                members: vec![(component, fit)],
                x_mm: (low.x, high.x),
                height_mm: component.height_mm.value,
                details,
            }),
        }
    }
    let gap = |group: &Group| group.gap_mm().unwrap_or(f64::INFINITY);
    groups.sort_by(|a, b| gap(b).total_cmp(&gap(a)));
    groups
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fit::fit;
    use crate::output::pictures::fixtures::check::parts;

    #[test]
    fn every_component_is_in_one_group_and_the_smallest_gap_comes_last() {
        for (name, part) in parts() {
            let fit = fit(&part);
            let groups = groups(&part, &fit);
            let members: usize = groups.iter().map(|group| group.members.len()).sum();
            assert_eq!(members, part.components.len(), "{name}");
            let gaps: Vec<f64> = groups
                .iter()
                .map(|group| group.gap_mm().unwrap_or(f64::INFINITY))
                .collect();
            assert!(gaps.is_sorted_by(|a, b| a >= b), "{name}: {gaps:?}");
        }
    }

    #[test]
    fn what_is_wrong_is_said_and_what_is_right_is_not() {
        for (name, part) in parts() {
            let fit = fit(&part);
            for (component, fit) in part.components.iter().zip(&fit.components) {
                let said = trouble_words(component, fit).is_some();
                assert_eq!(said, !fit.verdict.is_good(), "{name}: {}", fit.name);
            }
        }
    }
}
