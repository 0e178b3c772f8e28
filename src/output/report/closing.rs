//! What the 3D view plays: where the upper die is and how the sheet lies, from laying in to letting go.

use crate::dies::Tooling;
use crate::forming::pressing::StripOutline;
use crate::geometry::{Chain, Segment};
use crate::job::Job;
use crate::output::pictures::dies::pair::released;
use crate::part::Part;
use crate::quantity::Angle;
use nalgebra::{Point2, Vector2};

/// Lift of the open pair beyond first touch, as a share of the closed height: own choice, to look in between.
const LIFT: f64 = 0.75;
/// Share of the playing time at which the blank is touched, the dies are closed, and the sheet has sprung back.
const TIMES: [f64; 3] = [0.22, 0.7, 0.76];
/// How far the pair has opened when the sheet has sprung back, as a share of the whole opening.
const SPRUNG: f64 = 0.12;
/// Pictures of a closing that was not calculated.
const SKETCHED: u32 = 8;

/// What is to be seen, in the order of the words beside the view.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stage {
    /// The blank lies in the lower die, the upper one is lifted off.
    Laid,
    /// The upper die comes down.
    Coming,
    /// It touches the blank.
    Touching,
    /// The sheet is bent.
    Closing,
    /// The pair is closed.
    Closed,
    /// The upper die goes up.
    Opening,
    /// The plate lies in the lower die.
    Opened,
}

impl Stage {
    /// All of them.
    pub const ALL: [Self; 7] = [
        Self::Laid,
        Self::Coming,
        Self::Touching,
        Self::Closing,
        Self::Closed,
        Self::Opening,
        Self::Opened,
    ];
}

/// Both faces of the sheet at one station: underside, top.
pub type Faces = [Point2<f64>; 2];

/// How the sheet lies: a place along it, as a share of its length, becomes both its faces, in the dies' frame.
pub type Lie<'a> = Box<dyn Fn(f64) -> Faces + 'a>;

/// One picture.
pub struct Key<'a> {
    /// When, as a share of the playing time.
    pub at: f64,
    /// How far the upper die is above its closed place.
    pub lift_mm: f64,
    /// The sheet.
    pub lie: Lie<'a>,
    /// What is to be seen on the way here, and here.
    pub coming: Stage,
    /// What is to be seen here.
    pub stage: Stage,
}

/// How far the opened pair is open.
pub fn open_mm(tooling: &Tooling) -> f64 {
    tooling.section.stroke_mm + LIFT * tooling.closed_height_mm
}

/// All pictures, at most about `most` of them while the dies close.
pub fn keys<'a>(job: &'a Job, tooling: &'a Tooling, most: usize) -> Vec<Key<'a>> {
    let part = &job.part;
    let [touched, closed, sprung] = TIMES;
    let open_mm = open_mm(tooling);
    let mut keys = vec![Key {
        at: 0.0,
        lift_mm: open_mm,
        lie: laid(part, tooling),
        coming: Stage::Laid,
        stage: Stage::Laid,
    }];
    let mut push = |at, lift_mm, lie, coming, stage| {
        keys.push(Key {
            at,
            lift_mm,
            lie,
            coming,
            stage,
        });
    };
    let frames = job.pressing.as_ref().map(|pressing| &pressing.frames);
    let frames = frames.filter(|frames| frames.len() >= 2);
    let least_mm;
    if let (Some(frames), Some(pressing)) = (frames, &job.pressing) {
        let opened = pressing.let_go(part);
        let first_mm = frames.first().map_or(0.0, |frame| frame.lifted_mm);
        least_mm = frames.last().map_or(0.0, |frame| frame.lifted_mm);
        let every = frames.len().div_ceil(most.max(2));
        let last = frames.len() - 1;
        for (number, frame) in frames.iter().enumerate() {
            if number % every != 0 && number != last {
                continue;
            }
            let share = (first_mm - frame.lifted_mm) / (first_mm - least_mm).max(1e-9);
            let (coming, stage) = match number {
                0 => (Stage::Coming, Stage::Touching),
                number if number == last => (Stage::Closing, Stage::Closed),
                _ => (Stage::Closing, Stage::Closing),
            };
            let at = touched + (closed - touched) * share;
            push(at, frame.lifted_mm, outline(&frame.strip), coming, stage);
        }
        let lie = outline(&opened);
        let lift_mm = least_mm + SPRUNG * (open_mm - least_mm);
        push(sprung, lift_mm, lie, Stage::Opening, Stage::Opening);
        let lie = outline(&opened);
        push(1.0, open_mm, lie, Stage::Opening, Stage::Opened);
    } else {
        least_mm = 0.0;
        push(
            touched,
            tooling.section.stroke_mm,
            laid(part, tooling),
            Stage::Coming,
            Stage::Touching,
        );
        for number in 1..=SKETCHED {
            let share = f64::from(number) / f64::from(SKETCHED);
            let stage = if number == SKETCHED {
                Stage::Closed
            } else {
                Stage::Closing
            };
            push(
                touched + (closed - touched) * share,
                tooling.section.stroke_mm * (1.0 - share),
                sketched(part, tooling, share),
                Stage::Closing,
                stage,
            );
        }
        let half_mm = part.sheet.thickness_mm / 2.0;
        let released = released(part, tooling);
        let lift_mm = least_mm + SPRUNG * (open_mm - least_mm);
        let lie = chain(released.clone(), half_mm);
        push(sprung, lift_mm, lie, Stage::Opening, Stage::Opening);
        let lie = chain(released, half_mm);
        push(1.0, open_mm, lie, Stage::Opening, Stage::Opened);
    }
    keys
}

/// The flat blank on the lower die.
fn laid<'a>(part: &Part, tooling: &Tooling) -> Lie<'a> {
    let laid = tooling.section.laid;
    let way = laid.right - laid.left;
    let length_mm = way.norm().max(f64::MIN_POSITIVE);
    let up = Vector2::new(-way.y, way.x) / length_mm * part.sheet.thickness_mm;
    Box::new(move |share| {
        let under = laid.left + way * share;
        [under, under + up]
    })
}

/// A chain at mid-thickness as a sheet; beyond its ends it goes straight on.
fn chain<'a>(mid: Chain, half_mm: f64) -> Lie<'a> {
    let length_mm = mid.length_mm();
    Box::new(move |share| {
        let along_mm = share * length_mm;
        let held_mm = along_mm.clamp(0.0, length_mm);
        let pose = mid.at(held_mm);
        let point = pose.point + pose.along() * (along_mm - held_mm);
        [point - pose.left() * half_mm, point + pose.left() * half_mm]
    })
}

/// The strip of the closed dies with a share of its bends: a sketch of what was not calculated.
fn sketched<'a>(part: &Part, tooling: &Tooling, share: f64) -> Lie<'a> {
    let half_mm = part.sheet.thickness_mm / 2.0;
    let closed = &tooling.section.strip;
    let flat = laid(part, tooling);
    let middle = |[under, top]: Faces| nalgebra::center(&under, &top);
    let blend = |from: Point2<f64>, to: Point2<f64>| from + (to - from) * share;
    let ends = [
        blend(middle(flat(0.0)), closed.start.point),
        blend(middle(flat(1.0)), closed.end().point),
    ];
    let mut bent = Chain::from_start(0.0, 0.0, Angle::ZERO);
    for segment in &closed.segments {
        match *segment {
            Segment::Line { length_mm } => bent.line(length_mm),
            Segment::Arc { radius_mm, turn } => bent.arc(radius_mm / share, turn * share),
        };
    }
    let [from, to] = ends;
    let [way, wanted] = [bent.end().point - bent.start.point, to - from];
    let turn = Angle::between(wanted.x, wanted.y).rad() - Angle::between(way.x, way.y).rad();
    let turned = bent.turned(Point2::origin(), Angle::rad_from(turn));
    let centre = nalgebra::center(&from, &to);
    let by = centre - nalgebra::center(&turned.start.point, &turned.end().point);
    chain(turned.moved(by), half_mm)
}

/// Both faces of a calculated strip. Its columns lie at shares of its length; beyond its ends it goes straight on.
fn outline(strip: &StripOutline) -> Lie<'static> {
    let columns: Vec<Faces> = strip
        .under
        .iter()
        .zip(&strip.top)
        .map(|(under, top)| [*under, *top])
        .collect();
    let mut shares = vec![0.0];
    let mut sum_mm = 0.0;
    for pair in columns.windows(2) {
        if let [[under, top], [next_under, next_top]] = pair {
            let way = (next_under - under) + (next_top - top);
            sum_mm += way.norm() / 2.0;
            shares.push(sum_mm);
        }
    }
    for share in &mut shares {
        *share /= f64::max(sum_mm, f64::MIN_POSITIVE);
    }
    Box::new(move |share| {
        let after = shares
            .partition_point(|at| *at < share)
            .clamp(1, shares.len().saturating_sub(1).max(1));
        let of = |number: usize| shares.get(number).zip(columns.get(number));
        let (Some((from, one)), Some((to, other))) = (of(after - 1), of(after)) else {
            return columns.first().copied().unwrap_or([Point2::origin(); 2]);
        };
        let way = (share - from) / (to - from).max(f64::MIN_POSITIVE);
        let [a, b] = one;
        let [c, d] = other;
        [a + (c - a) * way, b + (d - b) * way]
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::forming::pressing::Effort;
    use crate::part::{parse, starter::STARTER};
    use std::ops::ControlFlow;

    fn jobs() -> Vec<Job> {
        let part = || parse(STARTER).unwrap();
        let pressed = Job::pressed(part(), Effort::Quick, &mut |_| ControlFlow::Continue(()));
        vec![Job::run(part()), pressed.unwrap()]
    }

    /// Closed, the sheet lies between the faces of the dies that are shown, wherever the shape came from.
    #[test]
    fn the_closed_sheet_lies_in_the_dies() {
        for job in jobs() {
            let tooling = job.tooling.as_ref().unwrap();
            let keys = keys(&job, tooling, 25);
            let closed = keys.iter().find(|key| key.stage == Stage::Closed).unwrap();
            // A print gives way and corners are relieved: so far the sheet may lie beyond the drawn faces.
            let slack_mm = 0.12;
            for step in 0..=100 {
                let [under, top] = (closed.lie)(f64::from(step) / 100.0);
                let floor_mm = tooling.section.lower.height_at(under.x);
                let roof_mm = tooling.section.upper.height_at(top.x) + closed.lift_mm;
                assert!(under.y > floor_mm - slack_mm, "{step}: {under} {floor_mm}");
                assert!(top.y < roof_mm + slack_mm, "{step}: {top} {roof_mm}");
            }
        }
    }

    #[test]
    fn the_sheet_keeps_its_length_and_thickness_and_time_runs_forward() {
        for job in jobs() {
            let tooling = job.tooling.as_ref().unwrap();
            let keys = keys(&job, tooling, 25);
            assert_eq!(keys.first().unwrap().stage, Stage::Laid);
            assert_eq!(keys.last().unwrap().stage, Stage::Opened);
            assert!(keys.windows(2).all(|pair| pair[0].at <= pair[1].at));
            let t = job.part.sheet.thickness_mm;
            for key in &keys {
                let mut length_mm = 0.0;
                let mut before: Option<Point2<f64>> = None;
                for step in 0..=400 {
                    let [under, top] = (key.lie)(f64::from(step) / 400.0);
                    assert!(
                        ((top - under).norm() - t).abs() < 0.12 * t,
                        "{:?}",
                        key.stage
                    );
                    let mid = nalgebra::center(&under, &top);
                    length_mm += before.map_or(0.0, |before| (mid - before).norm());
                    before = Some(mid);
                }
                let wanted_mm = job.blank.developed_length_mm;
                assert!((length_mm / wanted_mm - 1.0).abs() < 0.02, "{length_mm}");
            }
        }
    }
}
