//! Changes that bring board parts and obstacles their gaps, tried before anybody tells them.

use super::misfits::{of_component, of_obstacle};
use super::{Job, Stopped, gaps};
use crate::change::{Way, cost};
use crate::dies::tooling;
use crate::fit::{Fit, fit};
use crate::forming::compensate;
use crate::forming::pressing::{NoPressing, Searcher, Task};
use crate::part::Part;
use crate::part::advised::Tried;
use crate::verdict::Help;
use std::collections::BTreeMap;

/// So many parts whose gap is not good get changes: the first ones, which often mend the others too.
const MOST_MENDED: usize = 4;
/// So many changes are told for each of them.
const MOST_TOLD: usize = 2;
/// So many changes are pressed at most before they are told.
const MOST_PRESSED: usize = 5;
/// A part loses cover that is told where so much less of it is under metal, %. Own choice.
const LOSES_PERCENT: f64 = 5.0;

/// A change that was tried as drawn, with what it leaves.
struct Found {
    /// Parts and obstacles whose gap was good, and all warnings that it brings; then parts whose gap is not good.
    spoils: (usize, usize),
    tried: Tried,
    costs: Vec<String>,
}

/// A job before any change.
struct Before {
    /// Its part file.
    source: String,
    /// What has no good gap, with what is wrong.
    bad: BTreeMap<String, String>,
    /// The same of the plate as drawn, where the pressed one decides.
    bad_as_drawn: Option<BTreeMap<String, String>>,
}

/// Names of what has no good gap, with what is wrong.
fn bad(fit: &Fit) -> BTreeMap<String, String> {
    let parts = fit.bad_components();
    let parts = parts.map(|one| (one.name.clone(), one.verdict_text.clone()));
    let obstacles = fit.obstacles.iter().filter(|one| !one.clears);
    parts
        .chain(obstacles.map(|one| (one.name.clone(), one.trouble())))
        .collect()
}

impl Job {
    /// The job with changes of the part file that bring its parts their gaps, as far as any was found: each tried as drawn.
    #[must_use]
    pub fn mended(mut self) -> Self {
        // Nothing is pressed, so nothing can be stopped.
        let _ = self.mend(None);
        self
    }

    /// Looks for changes; with a search, and where a pressing is known, each is pressed.
    pub(super) fn mend(&mut self, search: Option<&mut Searcher<'_>>) -> Result<(), Stopped> {
        let misfits = self.misfits();
        if misfits.is_empty() {
            return Ok(());
        }
        let before = Before {
            source: self.part.said.to_toml(),
            bad: bad(&self.fit),
            bad_as_drawn: self.pressing.as_ref().map(|_| bad(&fit(&self.part))),
        };
        let mut search = search.filter(|_| self.pressing.is_some());
        let mut left = MOST_PRESSED;
        let mut helps: Vec<Help> = Vec::new();
        for (name, ways) in misfits.into_iter().take(MOST_MENDED) {
            let begin = helps.len();
            let mut found: Vec<Found> = ways
                .iter()
                .filter_map(|way| self.as_drawn(way, &name, &before))
                .collect();
            found.sort_by_key(|found| found.spoils);
            // What was told for another part, pressed and all, is told here again.
            let also = |help: &&Help| found.iter().any(|one| one.tried.way == help.way);
            if let Some(help) = helps.iter().find(also).cloned() {
                let about = Some(name.clone());
                helps.push(Help { about, ..help });
            }
            for one in found {
                let told = helps.get(begin..).unwrap_or_default();
                if told.len() == MOST_TOLD {
                    break;
                }
                // More or less of the same.
                let keys = one.tried.way.keys();
                if told.iter().any(|help| help.way.keys() == keys) {
                    continue;
                }
                if let Some(search) = search.as_mut()
                    && !self.holds(&one.tried, &name, &before, (*search, &mut left))?
                {
                    continue;
                }
                helps.push(Help {
                    about: Some(name.clone()),
                    text: format!("{}{}", one.tried.told(), cost(&one.costs, usize::MAX)),
                    way: one.tried.way,
                });
            }
        }
        self.helps.extend(helps);
        Ok(())
    }

    /// Whether a change holds for the pressed plate: pressed again where it is another plate, as long as some are left to press.
    fn holds(
        &self,
        tried: &Tried,
        name: &str,
        before: &Before,
        (search, left): (&mut Searcher<'_>, &mut usize),
    ) -> Result<bool, Stopped> {
        let part = &tried.part.value;
        if tried.way.edits.iter().all(|edit| edit.table == "component") {
            return Ok(mends(&gaps(part, self.pressing.as_ref()), name, before));
        }
        if *left == 0 {
            return Ok(false);
        }
        *left -= 1;
        presses(part, name, before, search)
    }

    /// What has no good gap, with its candidates.
    fn misfits(&self) -> Vec<(String, Vec<Way>)> {
        let parts = self.fit.components.iter().enumerate();
        let parts = parts.filter(|(_, one)| !one.verdict.is_good());
        let parts = parts.map(|(number, one)| {
            let ways = of_component(&self.part, number, one);
            (one.name.clone(), ways)
        });
        let obstacles = self.fit.obstacles.iter().zip(&self.part.obstacles);
        let obstacles = obstacles.filter(|(fit, _)| !fit.clears);
        let obstacles =
            obstacles.map(|(fit, one)| (fit.name.clone(), of_obstacle(&self.part, one)));
        parts.chain(obstacles).collect()
    }

    /// A change that the part file bears, and that helps the part of this name as drawn.
    fn as_drawn(&self, way: &Way, name: &str, before: &Before) -> Option<Found> {
        let tried = Tried::of(&before.source, way).ok()?;
        let part = &tried.part.value;
        let drawn = fit(part);
        let after = bad(&drawn);
        // Where only the pressed plate is too near, the drawn one is no judge.
        let drawn_before = before.bad_as_drawn.as_ref();
        let pressed_only = drawn_before.is_some_and(|drawn| !drawn.contains_key(name));
        if after.contains_key(name) && !pressed_only {
            return None;
        }
        // All parts the other way round is asked only where that mends all.
        let is_turned = way.edits.iter().any(|edit| edit.key == "x_mm");
        if is_turned && way.edits.len() > 2 && !after.is_empty() {
            return None;
        }
        if self.tooling.is_ok() && tooling(part, &compensate(part).value).is_err() {
            return None;
        }
        let mut costs: Vec<String> = after
            .iter()
            .filter(|(other, _)| *other != name && !before.bad.contains_key(*other))
            .map(|(other, trouble)| format!("{other}: {trouble}"))
            .collect();
        let pairs = self.fit.components.iter().zip(&drawn.components);
        costs.extend(pairs.filter_map(|(old, new)| {
            let loses = old.covered_percent - new.covered_percent > LOSES_PERCENT
                && new.name != name
                && new.verdict.is_good()
                && old.verdict.is_good();
            loses.then(|| new.covered_only())
        }));
        let new = |message: &String| self.notes.iter().all(|note| note.message != *message);
        let warnings = tried.part.notes.iter().map(|note| note.message.clone());
        costs.extend(warnings.filter(new));
        // A part that would stand well elsewhere is a question only where nothing speaks against it.
        if is_turned && !costs.is_empty() {
            return None;
        }
        Some(Found {
            spoils: (costs.len(), after.len()),
            tried,
            costs,
        })
    }
}

/// Whether a part comes out of the vise so that what it was changed for has its gap, and nothing else loses its own.
fn presses(
    part: &Part,
    name: &str,
    before: &Before,
    search: &mut Searcher<'_>,
) -> Result<bool, Stopped> {
    match Task::of(part).and_then(|task| search(&task)) {
        Ok(pressing) => Ok(mends(&gaps(part, Some(&pressing)), name, before)),
        // A plate without steps needs no pressing.
        Err(NoPressing::Flat) => Ok(true),
        Err(NoPressing::Stopped) => Err(Stopped),
        Err(_) => Ok(false),
    }
}

/// Whether what was bad has its gap, and nothing else has lost its own.
fn mends(fit: &Fit, name: &str, before: &Before) -> bool {
    let after = bad(fit);
    let spoilt = after.keys().any(|other| !before.bad.contains_key(other));
    !after.contains_key(name) && !spoilt
}
