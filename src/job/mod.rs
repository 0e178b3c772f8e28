//! The main job: one part through every analysis, in order, with all findings kept.
//!
//! Nothing here computes; it only runs what stands above it. "Can this plate be made?" is answered by [`crate::verdict`].

mod mended;
mod misfits;

use crate::blank::{Blank, blank_by};
use crate::diagnostic::{Diagnostic, Noted, Refused, Severity};
use crate::dies::{Tooling, tooling};
use crate::fit::{Fit, PressedStrip, Underside, fit, fit_pressed};
use crate::forming::pressing::{Effort, ForcePoint, NoPressing, Pressing, Searcher, Task, Watcher};
use crate::forming::{Compensation, compensate};
use crate::heat::{Heat, heat};
use crate::part::advised::{Change, Tried};
use crate::part::{Part, parse};
use crate::stock::KRule;
use crate::verdict::{Help, Known, Verdict};

/// Everything known about one part.
#[derive(Debug, Clone, PartialEq)]
pub struct Job {
    /// The part.
    pub part: Part,
    /// Gaps, judged on the pressed plate where a pressing was calculated.
    pub fit: Fit,
    /// Flat blank.
    pub blank: Blank,
    /// Shape that the closed die must give the sheet.
    pub compensation: Compensation,
    /// What comes out of the vise, where it was calculated.
    pub pressing: Option<Pressing>,
    /// Why it was not, where it was asked for and something is bent.
    pub no_pressing: Option<NoPressing>,
    /// Die pair, or every reason why there is none.
    pub tooling: Result<Tooling, Refused>,
    /// Temperatures, where the part file asks about heat and there is an answer.
    pub heat: Option<Heat>,
    /// Everything that keeps that question from an answer; empty where there is one, or no question.
    pub no_heat: Vec<Diagnostic>,
    /// Changes of the part file that were tried and help, in no order: the verdict tells which stand where.
    pub helps: Vec<Help>,
    /// Warnings and notes of all of them, in the order of the analyses.
    pub notes: Vec<Diagnostic>,
    /// So many of them, the first ones, are about the part file itself.
    pub remarks: usize,
}

/// Somebody asked to stop.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("stopped")]
pub struct Stopped;

/// All gaps of a part: judged on the plate as the vise leaves it where that was calculated, else on the drawn one.
///
/// The pressed plate is put on the cooler by one stiff laying (see [`Pressing::released`]): which of its flats the
/// cooler really holds is in no part file.
pub fn gaps(part: &Part, pressing: Option<&Pressing>) -> Fit {
    let Some(pressing) = pressing else {
        return fit(part);
    };
    fit_pressed(part, &pressed_strip(pressing, &along_mm(pressing)))
}

/// The underside of a part: of the plate as the vise leaves it where that was calculated, else of the drawn one.
pub fn underside(part: &Part, pressing: Option<&Pressing>) -> Underside {
    let Some(pressing) = pressing else {
        return Underside::drawn(part);
    };
    Underside::pressed(part, &pressed_strip(pressing, &along_mm(pressing)))
}

fn along_mm(pressing: &Pressing) -> Vec<f64> {
    let flats = pressing.flats.iter();
    flats.map(|flat| flat.along_error_mm).collect()
}

fn pressed_strip<'a>(pressing: &'a Pressing, along_mm: &'a [f64]) -> PressedStrip<'a> {
    PressedStrip {
        under: &pressing.released.under,
        top: &pressing.released.top,
        along_mm,
    }
}

/// Temperatures, where the part file asks for them, and everything that keeps them from an answer. That does not keep the
/// plate from being made: it becomes a warning.
fn temperatures(
    part: &Part,
    pressing: Option<&Pressing>,
    notes: &mut Vec<Diagnostic>,
) -> (Option<Heat>, Vec<Diagnostic>) {
    if !crate::heat::is_asked(part) {
        return (None, Vec::new());
    }
    match heat(part, &underside(part, pressing), Underside::drawn) {
        Ok(heat) => {
            notes.extend(heat.notes);
            (Some(heat.value), Vec::new())
        }
        Err(findings) => {
            notes.extend(findings.iter().map(|finding| Diagnostic {
                severity: Severity::Warning,
                message: format!("no temperatures: {}", finding.message),
                ..finding.clone()
            }));
            (None, findings.0)
        }
    }
}

/// So many changes are pressed at most before they are told.
const MOST_TRIED: usize = 4;

/// So often a change is followed further where it does not do.
const MOST_FOLLOWED: u32 = 3;

/// Changes that are looked at, and those that were.
struct Trying<'a, 's> {
    part: &'a Part,
    /// Board parts and obstacles that it leaves too near or too far.
    bad_gaps: usize,
    search: Option<&'a mut Searcher<'s>>,
    left: usize,
    /// What helped.
    helps: Vec<Help>,
}

/// Board parts and obstacles that a part, as drawn, leaves too near or too far.
fn bad_gaps(part: &Part) -> usize {
    let fit = fit(part);
    let near = fit.obstacles.iter().filter(|one| !one.clears);
    fit.bad_components().count() + near.count()
}

impl Trying<'_, '_> {
    /// A change and what comes out of the vise with it: the part file bears it, as many parts have good gaps as
    /// before, and it was pressed.
    fn pressed(&mut self, change: &Change) -> Result<Option<(Tried, Pressing)>, Stopped> {
        let Some(search) = self.search.as_mut().filter(|_| self.left > 0) else {
            return Ok(None);
        };
        let Some(tried) = change.tried(self.part) else {
            return Ok(None);
        };
        if bad_gaps(&tried.part.value) > self.bad_gaps {
            return Ok(None);
        }
        self.left -= 1;
        let found = Task::of(&tried.part.value).and_then(|task| search(&task));
        match found {
            Ok(pressing) => Ok(Some((tried, pressing))),
            Err(NoPressing::Stopped) => Err(Stopped),
            Err(_) => Ok(None),
        }
    }

    /// What helps against the limits of a pressing, in front of what helps any part: changes with which the limit is gone.
    fn help(&mut self, pressing: &mut Pressing) -> Result<(), Stopped> {
        for advice in std::mem::take(&mut pressing.advice) {
            let mut change = Some(advice.change);
            for _ in 0..MOST_FOLLOWED {
                let Some(now) = change else { break };
                let tried = self.pressed(&now)?;
                let holds = tried.filter(|(_, other)| {
                    other.shape_met && (other.converged || !pressing.shape_met)
                });
                if let Some((tried, _)) = holds {
                    if let Some(limit) = pressing.limits.get_mut(advice.limit) {
                        limit.help.insert(0, tried.told());
                        self.helps.push(Help {
                            about: None,
                            text: tried.told(),
                            way: tried.way,
                        });
                    }
                    break;
                }
                change = now.further();
            }
        }
        Ok(())
    }

    /// Walls that forgive little, the worst of them with what calms it.
    fn calm(&mut self, pressing: &mut Pressing) -> Result<(), Stopped> {
        for (number, (step, mut wall)) in pressing.fragile().into_iter().enumerate() {
            if number == 0 && pressing.shape_met {
                for change in Pressing::calmer(self.part, step) {
                    let tried = self.pressed(&change)?;
                    let calmed =
                        tried.and_then(|(tried, other)| Some((tried, other.calms(step, &wall)?)));
                    if let Some((tried, calmed)) = calmed {
                        wall.help.insert(0, format!("{}; {calmed}", tried.told()));
                        break;
                    }
                }
            }
            pressing.fragile_walls.push(wall);
        }
        Ok(())
    }
}

/// The rule for K: what the file asks for; where it leaves that open, what the pressing came to.
pub fn k_rule(part: &Part, pressing: Option<&Pressing>) -> KRule {
    let pressed = pressing.filter(|one| part.leaves_k_open() && !one.is_estimate());
    pressed
        .and_then(|pressing| pressing.k_factor(part))
        .map_or_else(|| part.sheet.k_rule.clone(), KRule::Pressed)
}

/// How far the backs of the printed pair are apart, mm: a print is larger by `size_error_mm`, and its faces are drawn so that they
/// come out right.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Backs {
    /// The upper die touches the blank that is laid in.
    pub touching_mm: f64,
    /// The faces are as far apart as they are drawn.
    pub closed_mm: f64,
    /// The pressing ends, as calculated; the drawn closed place where it was not.
    pub end_mm: f64,
}

impl Backs {
    /// Way of the upper die under load.
    pub fn travel_mm(&self) -> f64 {
        self.touching_mm - self.end_mm
    }
}

impl Job {
    /// How far the backs of the pair are apart; `None`: there is no pair.
    pub fn backs(&self) -> Option<Backs> {
        self.tooling.as_ref().ok().map(|pair| self.backs_of(pair))
    }

    /// The same for its pair.
    pub fn backs_of(&self, tooling: &Tooling) -> Backs {
        let closed_mm = tooling.closed_height_mm + self.part.printer.size_error_mm;
        let curve = self.pressing.as_ref().map_or(&[][..], |one| &one.curve);
        let lifted_mm =
            |point: Option<&ForcePoint>, otherwise| point.map_or(otherwise, |p| p.lifted_mm);
        Backs {
            touching_mm: closed_mm + lifted_mm(curve.first(), tooling.section.stroke_mm),
            closed_mm,
            end_mm: closed_mm + lifted_mm(curve.last(), 0.0),
        }
    }

    /// Reads a part file and runs everything, see [`Self::run`].
    ///
    /// # Errors
    /// All findings when the part itself is refused. Gaps or dies that are not good are no error here:
    /// they are the answer.
    pub fn read(source: &str) -> Result<Self, Refused> {
        parse(source).map(Self::run)
    }

    /// Runs everything on a part, in milliseconds: the dies are compensated bend by bend, no pressing is calculated.
    pub fn run(part: Noted<Part>) -> Self {
        let compensation = compensate(&part.value);
        Self::with(part, compensation, Err(None))
    }

    /// Runs everything on a part, with dies from a calculated pressing: seconds.
    ///
    /// Where no pressing can be calculated the dies are compensated bend by bend, and a warning says so.
    ///
    /// # Errors
    /// [`Stopped`] when the watcher ends it.
    pub fn pressed(
        part: Noted<Part>,
        effort: Effort,
        watcher: &mut Watcher<'_>,
    ) -> Result<Self, Stopped> {
        let found = Task::of(&part.value).and_then(|task| task.find(effort, watcher));
        let mut search = |task: &Task| task.find(Effort::Quick, watcher);
        Self::found(part, found, Some(&mut search))
    }

    /// Runs everything on a part, with dies from what a search for them has found, see [`Self::pressed`]. Changes are advised
    /// that were pressed by `search`; without it none.
    ///
    /// # Errors
    /// [`Stopped`] when a search was stopped.
    pub fn found(
        part: Noted<Part>,
        found: Result<Pressing, NoPressing>,
        search: Option<&mut Searcher<'_>>,
    ) -> Result<Self, Stopped> {
        match found {
            Ok(mut pressing) => {
                let known = part.value.clone();
                let mut trying = Trying {
                    part: &known,
                    bad_gaps: bad_gaps(&known),
                    search,
                    left: MOST_TRIED,
                    helps: Vec::new(),
                };
                trying.help(&mut pressing)?;
                trying.calm(&mut pressing)?;
                let compensation = Noted {
                    value: pressing.compensation(),
                    // What it misses stands in the verdict.
                    notes: Vec::new(),
                };
                let Trying { search, helps, .. } = trying;
                let mut job = Self::with(part, compensation, Ok(pressing));
                job.helps = helps;
                if search.is_some() {
                    job.mend(search)?;
                }
                Ok(job)
            }
            Err(NoPressing::Stopped) => Err(Stopped),
            Err(NoPressing::Flat) => Ok(Self::run(part)),
            Err(reason) => {
                let mut compensation = compensate(&part.value);
                compensation.notes.push(reason.note());
                Ok(Self::with(part, compensation, Err(Some(reason))))
            }
        }
    }

    fn with(
        part: Noted<Part>,
        compensation: Noted<Compensation>,
        pressing: Result<Pressing, Option<NoPressing>>,
    ) -> Self {
        let Noted {
            value: part,
            mut notes,
        } = part;
        let remarks = notes.len();
        let (pressing, no_pressing) = match pressing {
            Ok(pressing) => (Some(pressing), None),
            Err(reason) => (None, reason),
        };
        let fit = gaps(&part, pressing.as_ref());
        let blank = blank_by(&part, &k_rule(&part, pressing.as_ref()));
        notes.extend(blank.notes);
        notes.extend(compensation.notes);
        let tooling = tooling(&part, &compensation.value).map(|tooling| {
            notes.extend(tooling.notes);
            tooling.value
        });
        let (heat, no_heat) = temperatures(&part, pressing.as_ref(), &mut notes);
        Self {
            part,
            fit,
            blank: blank.value,
            compensation: compensation.value,
            pressing,
            no_pressing,
            tooling,
            heat,
            no_heat,
            helps: Vec::new(),
            notes,
            remarks,
        }
    }

    /// Can the plate be made? The one answer that every output and every exit code reads.
    pub fn verdict(&self) -> Verdict {
        Verdict::of(&Known {
            part: &self.part,
            remarks: self.notes.get(..self.remarks).unwrap_or_default(),
            fit: &self.fit,
            tooling: self.tooling.as_ref().map_err(std::ops::Deref::deref),
            pressing: self.pressing.as_ref(),
            no_pressing: self.no_pressing.as_ref(),
            heat: self.heat.as_ref(),
            no_heat: &self.no_heat,
            helps: &self.helps,
        })
    }
}
