//! Changes that may bring a board part or an obstacle its gap: candidates, nearest to the drawing first.

use crate::change::{Edit, Value, Way};
use crate::fit::{ComponentFit, GapVerdict};
use crate::geometry::Footprint;
use crate::numbers::{hundredth_above, hundredth_below, nearest_hundredth, plain};
use crate::part::value::LONGEST_NAME;
use crate::part::{Component, Obstacle, Part, Treatment};
use crate::stock::Pad;

/// How far metal is drawn beyond the edge of a part, or bends away from it, mm. Own choices.
const BEYOND_MM: [f64; 3] = [0.3, 1.0, 2.0];
/// Pads named in place of the part's own.
const PADS: usize = 2;
/// Between the parts of a pad's range where it is pressed best. Own choice: the middle.
const MIDDLE: f64 = 0.5;
/// A bare part keeps so much more than it must, mm. Own choice: a twentieth is what printing and pressing miss.
const SPARE_MM: f64 = 0.05;

/// Changes for a board part whose gap is not good.
pub fn of_component(part: &Part, number: usize, fit: &ComponentFit) -> Vec<Way> {
    let Some(component) = part.components.get(number) else {
        return Vec::new();
    };
    let shape = &component.footprint;
    let mut ways = Vec::new();
    ways.extend(swapped(part, number));
    if fit.verdict == GapVerdict::NotCovered {
        ways.extend(further(part, shape));
    }
    let has_gap = fit
        .judged_gap_mm()
        .is_some_and(|[least_mm, _]| least_mm > 0.0);
    if has_gap && component.treatment.pad().is_some() {
        let names = fit.fitting_pads.iter().take(PADS);
        ways.extend(names.map(|name| {
            let pad = Edit::new("component", number, "pad", name.as_str());
            Way::new(format!("put {name} on {}", fit.name), vec![pad])
        }));
    }
    ways.extend(twin(part, number));
    ways.extend(heights(part, component, fit));
    ways.extend(steps(part, shape, &fit.name));
    ways.extend(over(part, shape).filter_map(|flat| together(part, flat)));
    ways.extend(cut_out(part, component));
    if component.treatment.pad().is_some() && fit.verdict != GapVerdict::Touches {
        let pad = Edit::without("component", number, "pad");
        let keep_out = Edit::new("component", number, "keep_out_mm", 0.4);
        ways.push(Way::new(
            format!("leave {} bare: the plate does not cool it then", fit.name),
            vec![pad, keep_out],
        ));
    }
    ways
}

/// Changes for an obstacle that metal comes too near to.
pub fn of_obstacle(part: &Part, obstacle: &Obstacle) -> Vec<Way> {
    let clears_mm = hundredth_above(obstacle.top_mm + obstacle.clearance_mm + SPARE_MM);
    let mut ways: Vec<Way> = over(part, &obstacle.footprint)
        .map(|flat| lies(part, flat, clears_mm))
        .collect();
    ways.extend(steps(part, &obstacle.footprint, &obstacle.name));
    ways
}

/// Flats over a footprint along the strip.
fn over(part: &Part, shape: &Footprint) -> impl Iterator<Item = usize> {
    let (low, high) = shape.bounds();
    let flats = part.flats.iter().enumerate();
    flats
        .filter(move |(_, flat)| low.x < flat.level.to_mm && flat.level.from_mm < high.x)
        .map(|(number, _)| number)
}

/// Heights of parts that are the same kind of thing differ by less, as a share. Own choice.
const ALIKE: f64 = 0.3;
/// Flats are looked at so many tenths of a millimetre above and below the drawing.
const TENTHS: i32 = 60;
/// Metal keeps so much further from the edge of a cut-out than it must, mm. Own choice.
const CUT_SPARE_MM: f64 = 0.1;

/// The height of a part of the same kind and size, where the two differ by much: one of them may be a slip.
fn twin(part: &Part, number: usize) -> Option<Way> {
    let said = part.said.components.get(number)?;
    let own = part.components.get(number)?;
    let twin = part
        .said
        .components
        .iter()
        .enumerate()
        .find(|(other, twin)| {
            *other != number
                && (&twin.kind, twin.size_mm, twin.diameter_mm)
                    == (&said.kind, said.size_mm, said.diameter_mm)
        });
    let twin = part.components.get(twin?.0)?;
    let (own_mm, twin_mm) = (own.height_mm.value, twin.height_mm.value);
    ((own_mm - twin_mm).abs() > ALIKE * own_mm.min(twin_mm)).then(|| {
        Way::new(
            format!(
                "measure {} again: is it {} mm high, as {} is?",
                own.name,
                plain(twin_mm),
                twin.name
            ),
            vec![Edit::new("component", number, "height_mm", twin_mm)],
        )
    })
}

/// A flat at a height at which every part under it has a pad that fits, or its distance.
fn together(part: &Part, flat: usize) -> Option<Way> {
    let level = part.flats.get(flat)?.level;
    let under: Vec<(usize, &Component)> = (part.components.iter().enumerate())
        .filter(|(_, component)| over(part, &component.footprint).any(|other| other == flat))
        .collect();
    let pads: Vec<Pad> = (part.pads.iter().cloned())
        .chain(Pad::stock_series())
        .collect();
    // The nearest height first.
    let mut tenths: Vec<i32> = (-TENTHS..=TENTHS).collect();
    tenths.sort_by_key(|tenths| tenths.abs());
    tenths.into_iter().find_map(|tenths| {
        let height_mm = nearest_hundredth(level.underside_mm + 0.1 * f64::from(tenths));
        let mut edits = vec![Edit::new("flat", flat, "underside_mm", height_mm)];
        for (number, component) in &under {
            let gap_mm = height_mm - component.height_mm.value;
            match &component.treatment {
                Treatment::Bare { keep_out_mm } if gap_mm >= keep_out_mm + SPARE_MM => {}
                Treatment::Bare { .. } => return None,
                Treatment::Pad(pad) if pad.fits(gap_mm, gap_mm).fits() => {}
                Treatment::Pad(_) => {
                    let pad = pads.iter().find(|pad| pad.fits(gap_mm, gap_mm).fits())?;
                    edits.push(Edit::new("component", *number, "pad", pad.name.as_str()));
                }
            }
        }
        (height_mm > 0.0).then(|| {
            let mut way = lies(part, flat, height_mm);
            way.words.push_str(", with pads that fit then");
            way.edits = edits;
            way
        })
    })
}

/// A hole in the plate around a bare part.
fn cut_out(part: &Part, component: &Component) -> Option<Way> {
    let Treatment::Bare { keep_out_mm } = component.treatment else {
        return None;
    };
    let (low, high) = component.footprint.bounds();
    let around_mm = 2.0 * (keep_out_mm + CUT_SPARE_MM);
    let size_mm = [
        hundredth_above(high.x - low.x + around_mm),
        hundredth_above(high.y - low.y + around_mm),
    ];
    let number = part.said.holes.len();
    let edit = |key: &str, value: Value| Edit::new("hole", number, key, value);
    let name = format!("over {}", component.name);
    Some(Way::new(
        format!("cut a hole over {}", component.name),
        vec![
            edit(
                "name",
                name.chars()
                    .take(LONGEST_NAME)
                    .collect::<String>()
                    .as_str()
                    .into(),
            ),
            edit(
                "x_mm",
                nearest_hundredth(f64::midpoint(low.x, high.x)).into(),
            ),
            edit(
                "y_mm",
                nearest_hundredth(f64::midpoint(low.y, high.y)).into(),
            ),
            edit("size_mm", size_mm.into()),
        ],
    ))
}

/// A flat at another height.
fn lies(part: &Part, flat: usize, height_mm: f64) -> Way {
    let (name, before_mm) = part.flats.get(flat).map_or(("", 0.0), |flat| {
        (flat.name.as_str(), flat.level.underside_mm)
    });
    let word = if height_mm < before_mm {
        "lower"
    } else {
        "raise"
    };
    Way::new(
        format!(
            "{word} \"{name}\" from {} to {} mm",
            plain(before_mm),
            plain(height_mm)
        ),
        vec![Edit::new("flat", flat, "underside_mm", height_mm)],
    )
}

/// The flats over a part so high that its gap is one that its pad fills, or that it asks for.
fn heights(part: &Part, component: &Component, fit: &ComponentFit) -> Vec<Way> {
    let top_mm = component.height_mm.value;
    let mut ways = Vec::new();
    for flat in over(part, &component.footprint) {
        let Some(level) = part.flats.get(flat).map(|flat| flat.level) else {
            continue;
        };
        let targets_mm: Vec<f64> = match &component.treatment {
            Treatment::Bare { keep_out_mm } => vec![keep_out_mm + SPARE_MM],
            Treatment::Pad(pad) => {
                let (least_mm, most_mm) = pad.gap_window_mm();
                // The nearest that fits in the middle of a tenth, then the middle of all.
                let share = |share: f64| least_mm + share * (most_mm - least_mm);
                let drawn_mm = level.underside_mm - top_mm;
                vec![drawn_mm.clamp(share(0.1), share(0.9)), share(MIDDLE)]
            }
        };
        for target_mm in targets_mm {
            ways.push(lies(part, flat, nearest_hundredth(top_mm + target_mm)));
            // The same where the vise leaves it, if it leaves it elsewhere than drawn.
            if let (Some([least_mm, most_mm]), true) = (fit.judged_gap_mm(), fit.pressed.is_some())
            {
                let miss_mm = target_mm - f64::midpoint(least_mm, most_mm);
                ways.push(lies(
                    part,
                    flat,
                    nearest_hundredth(level.underside_mm + miss_mm),
                ));
            }
        }
    }
    ways.retain(|way| {
        let height = way.edits.first().and_then(|edit| edit.value.clone());
        matches!(height, Some(Value::Number(mm)) if mm > 0.0)
    });
    ways
}

/// The steps over or beside a footprint moved along the strip, to either side of it.
fn steps(part: &Part, shape: &Footprint, name: &str) -> Vec<Way> {
    let (low, high) = shape.bounds();
    let mut ways = Vec::new();
    for (step, pair) in part.flats.windows(2).enumerate() {
        let [before, after] = pair else { continue };
        let (end_mm, begin_mm) = (before.level.to_mm, after.level.from_mm);
        let near_mm = 2.0;
        if high.x < end_mm - near_mm || begin_mm + near_mm < low.x {
            continue;
        }
        for beyond_mm in BEYOND_MM {
            let to_right_mm = hundredth_above(high.x + beyond_mm - end_mm);
            let to_left_mm = hundredth_below(low.x - beyond_mm - begin_mm);
            for by_mm in [to_right_mm, to_left_mm] {
                let is_there = (by_mm > 0.0) == (by_mm == to_right_mm);
                if by_mm == 0.0 || !is_there {
                    continue;
                }
                ways.push(moved(part, step, by_mm, name));
            }
        }
    }
    // The shorter the way, the more stays as drawn.
    ways.sort_by(|(one, _), (other, _)| one.total_cmp(other));
    ways.into_iter().map(|(_, way)| way).collect()
}

/// A step moved along the strip; what it takes from one flat the other gets.
fn moved(part: &Part, step: usize, by_mm: f64, name: &str) -> (f64, Way) {
    let mut edits = Vec::new();
    if let Some(before) = part.flats.get(step) {
        let to_mm = nearest_hundredth(before.level.to_mm + by_mm);
        edits.push(Edit::new("flat", step, "to_mm", to_mm));
    }
    let said = part.said.flats.get(step + 1).and_then(|flat| flat.from_mm);
    if let Some(from_mm) = said {
        let from_mm = nearest_hundredth(from_mm + by_mm);
        edits.push(Edit::new("flat", step + 1, "from_mm", from_mm));
    }
    let side = if by_mm > 0.0 { "right" } else { "left" };
    let words = format!(
        "move the step {} mm to the {side}, away from {name}",
        plain(by_mm.abs())
    );
    (by_mm.abs(), Way::new(words, edits))
}

/// A plate that reaches over the part.
fn further(part: &Part, shape: &Footprint) -> Option<Way> {
    let (low, high) = shape.bounds();
    let (first, last) = (part.flats.first()?, part.flats.last()?);
    let mut edits = Vec::new();
    if high.x > last.level.to_mm {
        let number = part.flats.len() - 1;
        edits.push(Edit::new("flat", number, "to_mm", hundredth_above(high.x)));
    }
    if low.x < first.level.from_mm {
        edits.push(Edit::new("flat", 0, "from_mm", hundredth_below(low.x)));
    }
    if high.y > part.width_mm {
        edits.push(Edit::new("plate", 0, "width_mm", hundredth_above(high.y)));
    }
    (!edits.is_empty()).then(|| Way::new("let the plate reach over it", edits))
}

/// x and y swapped: of a part that is off the plate and would then be on it, or of all parts.
fn swapped(part: &Part, number: usize) -> Vec<Way> {
    let on_plate = |x: f64, y: f64| {
        let ends = part.flats.first().zip(part.flats.last());
        ends.is_some_and(|(first, last)| first.level.from_mm <= x && x <= last.level.to_mm)
            && (0.0..=part.width_mm).contains(&y)
    };
    let would_be = |component: &Component| on_plate(component.centre.y, component.centre.x);
    let is_off = |component: &Component| !on_plate(component.centre.x, component.centre.y);
    let all: Vec<(usize, &Component)> = part.components.iter().enumerate().collect();
    let off: Vec<(usize, &Component)> = (all.iter().copied())
        .filter(|(_, component)| is_off(component) && would_be(component))
        .collect();
    let mut ways = Vec::new();
    if all.len() > 2 && all.iter().all(|(_, component)| would_be(component)) {
        ways.push(swap(&all));
    }
    if off.iter().any(|(one, _)| *one == number) {
        ways.push(swap(&off));
    }
    let own = all.get(number).copied();
    ways.extend(own.filter(|(_, own)| would_be(own)).map(|own| swap(&[own])));
    ways.retain(|way| !way.edits.is_empty());
    ways
}

fn swap(parts: &[(usize, &Component)]) -> Way {
    let edits = parts.iter().filter_map(|(number, component)| {
        let edit = |key: &str, mm: f64| Edit::new("component", *number, key, mm);
        let (x, y) = (component.centre.x, component.centre.y);
        (x != y).then(|| [edit("x_mm", y), edit("y_mm", x)])
    });
    let whose = match parts {
        [(_, one)] => format!("of {}", one.name),
        many => format!("of {} parts", many.len()),
    };
    Way::new(
        format!("are x and y {whose} swapped? then swap them"),
        edits.flatten().collect(),
    )
}
