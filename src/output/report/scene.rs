//! Dies and sheet as numbers for the 3D view: small whole numbers in base64, the same bytes for the same part.

use super::closing::{Faces, Key, Stage, keys, open_mm};
use super::sheet_mesh::SheetMesh;
use crate::dies::{DieBlock, DieSide, Tooling};
use crate::job::Job;
use nalgebra::Point3;
use serde_json::{Value, json};

/// Largest whole number used, so that everything fits into 16 bits with its sign.
const MOST: f64 = 32_000.0;
/// Finest step, mm; larger pairs have larger steps.
const FINEST_MM: f64 = 0.01;
/// Numbers for all shapes of the sheet together: keeps the page small.
const MOST_NUMBERS: usize = 60_000;
/// Pictures of the closing: more than these are not told apart.
const MOST_KEYS: usize = 28;

/// Where the middle of the view lies in the dies' frame, and how fine its numbers are.
struct Frame {
    centre: Point3<f64>,
    unit_mm: f64,
}

impl Frame {
    fn whole(&self, mm: f64) -> i16 {
        #[expect(
            clippy::cast_possible_truncation,
            reason = "held within 16 bits; what is no number becomes 0"
        )]
        let whole = (mm / self.unit_mm).round().clamp(-MOST, MOST) as i16;
        whole
    }

    fn point(&self, point: &Point3<f64>) -> [i16; 3] {
        let away = point - self.centre;
        [away.x, away.y, away.z].map(|mm| self.whole(mm))
    }
}

/// The scene as JSON, fit to stand in a page; `None` where there is no pair.
pub fn scene(job: &Job) -> Option<String> {
    let tooling = job.tooling.as_ref().ok()?;
    // JSON has no use for these signs outside of texts, and a page would take them for its own.
    let text = value(job, tooling)?.to_string();
    Some(
        text.replace('<', "\\u003c")
            .replace('>', "\\u003e")
            .replace('&', "\\u0026")
            .replace('\u{2028}', "\\u2028")
            .replace('\u{2029}', "\\u2029"),
    )
}

fn value(job: &Job, tooling: &Tooling) -> Option<Value> {
    let blocks: Vec<Standing> = tooling
        .blocks
        .iter()
        .map(in_the_vise)
        .collect::<Option<_>>()?;
    let all = || blocks.iter().flat_map(|(_, points, _)| points);
    let first = *all().next()?;
    let (low, high) = all().fold((first, first), |(low, high), p| (low.inf(p), high.sup(p)));
    let open_mm = open_mm(tooling);
    let centre = Point3::new(
        f64::midpoint(low.x, high.x),
        f64::midpoint(low.y, high.y),
        low.z,
    );
    let size = high - low;
    let reach_mm = size.x.max(size.y).max(size.z + open_mm);
    let frame = Frame {
        centre,
        unit_mm: FINEST_MM * (reach_mm / (MOST * FINEST_MM)).ceil().max(1.0),
    };
    let dies: Vec<Value> = blocks
        .iter()
        .map(|(role, points, triangles)| {
            json!({
                "name": role.word(),
                "points": numbers(points.iter().flat_map(|point| frame.point(point))),
                "faces": indices(triangles.iter().flatten()),
            })
        })
        .collect();
    let mesh = SheetMesh::of(&job.blank);
    let most = (MOST_NUMBERS / (4 * mesh.stations_mm.len().max(1))).clamp(4, MOST_KEYS);
    let keys = keys(job, tooling, most);
    let shares = shares(job, &mesh);
    let shapes: Vec<String> = keys.iter().map(|key| shape(key, &shares, &frame)).collect();
    let key_list: Vec<Value> = keys
        .iter()
        .enumerate()
        .map(|(number, key)| {
            json!({
                "at": rounded(key.at),
                "lift_mm": rounded(key.lift_mm),
                "shape": number,
                "coming": place(key.coming),
                "stage": place(key.stage),
                "rest": key.coming != key.stage || number == 0,
            })
        })
        .collect();
    Some(json!({
        "unit_mm": rounded(frame.unit_mm),
        "size_mm": [rounded(size.x), rounded(size.y), rounded(size.z + open_mm)],
        "dies": dies,
        "sheet": {
            "corners": numbers(mesh.corners.iter().flat_map(|(station, y_mm, top)| [
                i16::try_from(*station).unwrap_or(i16::MAX),
                frame.whole(y_mm - centre.y),
                i16::from(*top),
            ])),
            "faces": indices(mesh.triangles.iter().flatten()),
            "edges": indices(mesh.lines.iter().flatten()),
            "shapes": shapes,
        },
        "keys": key_list,
    }))
}

fn rounded(number: f64) -> f64 {
    (number * 1e4).round() / 1e4
}

fn place(stage: Stage) -> usize {
    Stage::ALL
        .iter()
        .position(|one| *one == stage)
        .unwrap_or_default()
}

/// A block with its points and triangles.
type Standing = (DieSide, Vec<Point3<f64>>, Vec<[u32; 3]>);

/// A block as it stands in the closed vise; the upper one's own frame is turned half round.
fn in_the_vise(block: &DieBlock) -> Option<Standing> {
    let mesh = block.shape.body().mesh().ok()?;
    let points = match block.role {
        DieSide::Lower => mesh.vertices,
        DieSide::Upper => mesh.mapped(|p| Point3::new(-p.x, p.y, -p.z)).vertices,
    };
    Some((block.role, points, mesh.triangles))
}

/// Stations of the blank as shares of the formed strip's length: what tabs add at the ends lies beyond 0 and 1.
fn shares(job: &Job, mesh: &SheetMesh) -> Vec<f64> {
    let zones = job.blank.map.zones();
    let lengths = job
        .part
        .profile
        .zones
        .iter()
        .map(|zone| zone.piece.segment.length_mm());
    let mut along_mm = 0.0;
    let stretches: Vec<[f64; 4]> = zones
        .iter()
        .zip(lengths)
        .map(|(zone, length_mm)| {
            along_mm += length_mm;
            [
                zone.s_from_mm,
                zone.s_to_mm,
                along_mm - length_mm,
                length_mm,
            ]
        })
        .collect();
    let all_mm = along_mm.max(f64::MIN_POSITIVE);
    mesh.stations_mm
        .iter()
        .map(|s_mm| {
            let of = stretches
                .iter()
                .find(|[_, to, _, _]| s_mm <= to)
                .or(stretches.last());
            let Some([from, to, begins, length_mm]) = of else {
                return 0.0;
            };
            let stretch = if to > from {
                length_mm / (to - from)
            } else {
                1.0
            };
            (begins + (s_mm - from) * stretch) / all_mm
        })
        .collect()
}

/// Both faces at every station.
fn shape(key: &Key, shares: &[f64], frame: &Frame) -> String {
    numbers(shares.iter().flat_map(|share| {
        let [under, top]: Faces = (key.lie)(*share);
        let across = frame.centre;
        [
            frame.whole(under.x - across.x),
            frame.whole(under.y - across.z),
            frame.whole(top.x - across.x),
            frame.whole(top.y - across.z),
        ]
    }))
}

fn numbers(list: impl Iterator<Item = i16>) -> String {
    base64(&list.flat_map(i16::to_le_bytes).collect::<Vec<u8>>())
}

fn indices<'a>(list: impl Iterator<Item = &'a u32>) -> String {
    base64(&list.flat_map(|one| one.to_le_bytes()).collect::<Vec<u8>>())
}

/// Bytes as letters, RFC 4648, section 4.
fn base64(bytes: &[u8]) -> String {
    const LETTERS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let mut text = String::with_capacity(bytes.len().div_ceil(3) * 4);
    for group in bytes.chunks(3) {
        let at = |number: usize| u32::from(group.get(number).copied().unwrap_or_default());
        let bits = at(0) << 16 | at(1) << 8 | at(2);
        for place in 0..4usize {
            let six = (bits >> (18 - 6 * place)) & 63;
            let letter = LETTERS.get(six as usize).copied().unwrap_or(b'=');
            text.push(if place <= group.len() {
                char::from(letter)
            } else {
                '='
            });
        }
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::part::starter::STARTER;

    /// Test vectors of RFC 4648, section 10.
    #[test]
    fn base64_is_that_of_the_standard() {
        for (plain, coded) in [
            ("", ""),
            ("f", "Zg=="),
            ("fo", "Zm8="),
            ("foo", "Zm9v"),
            ("foob", "Zm9vYg=="),
            ("fooba", "Zm9vYmE="),
            ("foobar", "Zm9vYmFy"),
        ] {
            assert_eq!(base64(plain.as_bytes()), coded);
        }
    }

    #[test]
    fn a_scene_is_json_and_the_same_every_time() {
        let job = Job::read(STARTER).unwrap();
        let text = scene(&job).unwrap();
        assert_eq!(text, scene(&job).unwrap());
        let value: Value = serde_json::from_str(&text).unwrap();
        assert_eq!(value["dies"][0]["name"], "lower");
        assert_eq!(value["dies"][1]["name"], "upper");
        let keys = value["keys"].as_array().unwrap();
        assert_eq!(
            keys.len(),
            value["sheet"]["shapes"].as_array().unwrap().len()
        );
        assert!(text.len() < 300_000, "{}", text.len());
    }
}
