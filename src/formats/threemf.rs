//! The die pair as one print file (3MF): named, in millimetres, beside each other on the bed.

use crate::geometry::{Mesh, OpenMesh};
use crate::mark::MARK;
use nalgebra::Vector3;
use std::collections::BTreeSet;
use std::fmt::Display;
use thiserror::Error;
use threemf2::model::builder::{ModelBuilder, ObjectType, Unit};
use threemf2::package::ThreemfPackageBuilder;

/// Steps of written coordinates in a millimetre: a nanometre, far below any printer.
const STEPS_PER_MM: f64 = 1e6;
/// Where the picture of the file stands in it.
const THUMBNAIL: &str = "/Metadata/thumbnail.png";
/// Longest name that is written, letters.
const NAME_LETTERS: usize = 200;

/// One solid of the file.
#[derive(Debug, Clone, Copy)]
pub struct Printed<'a> {
    /// Its name.
    pub name: &'a str,
    /// Its triangles, resting on the bed.
    pub mesh: &'a Mesh,
    /// Where its corner goes.
    pub at: Vector3<f64>,
}

/// Why a file was not written.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum ThreemfError {
    /// The mesh does not close.
    #[error("the mesh is not closed: {0}")]
    Open(#[from] OpenMesh),
    /// Two corners fall together in the written digits.
    #[error("the mesh is too fine for the digits of the file")]
    TooFine,
    /// The writer refused.
    #[error("the 3MF writer refused: {0}")]
    Refused(String),
}

fn refused(error: impl Display) -> ThreemfError {
    ThreemfError::Refused(error.to_string())
}

/// Writes solids and a picture of them.
///
/// # Errors
/// When a mesh is not closed, before or after rounding to the written digits.
pub fn threemf(
    title: &str,
    solids: &[Printed<'_>],
    thumbnail_png: Vec<u8>,
) -> Result<Vec<u8>, ThreemfError> {
    let mut model = ModelBuilder::new(Unit::Millimeter, true);
    // The library writes texts and attributes as they are.
    model
        .add_metadata("Title", Some(&escaped(&legal(title))))
        .add_metadata("Application", Some("coldstep"))
        .add_metadata("Description", Some(MARK));
    model.add_build(None).map_err(refused)?;
    for solid in solids {
        solid.mesh.check_closed()?;
        let corners = written_corners(solid.mesh)?;
        let object = model
            .add_mesh_object(|object| {
                object
                    .object_type(ObjectType::Model)
                    .name(&escaped(&legal(solid.name)));
                object.add_vertices(&corners);
                for triangle in &solid.mesh.triangles {
                    object.add_triangle(&triangle.map(|corner| corner as usize));
                }
                Ok(())
            })
            .map_err(refused)?;
        let shift = shift(rounded([solid.at.x, solid.at.y, solid.at.z]));
        model
            .add_build_item_advanced(object, |item| {
                item.transform(&shift);
            })
            .map_err(refused)?;
    }
    let mut package = ThreemfPackageBuilder::new();
    package.set_root_model(model.build().map_err(refused)?);
    package
        .add_thumbnail(THUMBNAIL, thumbnail_png)
        .map_err(refused)?;
    let mut bytes = Vec::new();
    package
        .build()
        .map_err(refused)?
        .write(std::io::Cursor::new(&mut bytes))
        .map_err(refused)?;
    commented(bytes)
}

/// A shift as the writer takes it: rows of three turns and a place, column by column.
fn shift([x, y, z]: [f64; 3]) -> [f64; 16] {
    [
        1.0, 0.0, 0.0, x, 0.0, 1.0, 0.0, y, 0.0, 0.0, 1.0, z, 0.0, 0.0, 0.0, 1.0,
    ]
}

fn rounded(place: [f64; 3]) -> [f64; 3] {
    // Adding zero turns -0 into 0.
    place.map(|c| (c * STEPS_PER_MM).round() / STEPS_PER_MM + 0.0)
}

/// Corners in the digits of the file, all of them apart.
fn written_corners(mesh: &Mesh) -> Result<Vec<[f64; 3]>, ThreemfError> {
    let corners: Vec<[f64; 3]> = mesh
        .vertices
        .iter()
        .map(|corner| rounded([corner.x, corner.y, corner.z]))
        .collect();
    let apart: BTreeSet<[u64; 3]> = corners.iter().map(|c| c.map(f64::to_bits)).collect();
    if apart.len() == corners.len() {
        Ok(corners)
    } else {
        Err(ThreemfError::TooFine)
    }
}

/// A name without what no XML may hold.
fn legal(name: &str) -> String {
    name.chars()
        .filter(|letter| !letter.is_control() && !matches!(letter, '\u{fffe}' | '\u{ffff}'))
        .take(NAME_LETTERS)
        .collect()
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;")
        .replace('<', "&lt;")
        .replace('>', "&gt;")
        .replace('"', "&quot;")
}

/// Length of what closes a ZIP file that has no comment: the comment's own length stands last.
/// .ZIP File Format Specification 4.3.16, from memory.
const END_OF_ZIP: usize = 22;

/// Adds the mark as the archive's comment: the beginning of such a file is compressed.
fn commented(mut bytes: Vec<u8>) -> Result<Vec<u8>, ThreemfError> {
    let end = bytes.len().saturating_sub(END_OF_ZIP);
    let is_end = bytes
        .get(end..)
        .is_some_and(|end| end.starts_with(b"PK\x05\x06"));
    let length = u16::try_from(MARK.len()).map_err(refused)?.to_le_bytes();
    let place = bytes.len().saturating_sub(length.len());
    match bytes.get_mut(place..) {
        Some(last) if is_end && *last == [0, 0] => last.copy_from_slice(&length),
        _ => return Err(refused("the archive does not end as expected")),
    }
    bytes.extend_from_slice(MARK.as_bytes());
    Ok(bytes)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::mesh::tetrahedron;
    use threemf2::package::ThreemfPackage;

    fn pair(mesh: &Mesh) -> [Printed<'_>; 2] {
        [("one <&> \"two\" 'ü' 日本 😀\0\u{8}", 0.0), ("other", 12.5)].map(|(name, x)| Printed {
            name,
            mesh,
            at: Vector3::new(x, 0.0, 0.0),
        })
    }

    fn read(bytes: &[u8]) -> ThreemfPackage {
        ThreemfPackage::from_reader_with_memory_optimized_deserializer(
            std::io::Cursor::new(bytes),
            true,
        )
        .unwrap()
    }

    #[test]
    fn the_reader_of_the_same_library_sees_names_places_and_closed_solids() {
        let mesh = tetrahedron();
        let title = "a <&> \"name\" 'ü' 日本 😀 ]]> \0\u{1b}";
        let bytes = threemf(title, &pair(&mesh), vec![1, 2, 3]).unwrap();
        assert_eq!(bytes, threemf(title, &pair(&mesh), vec![1, 2, 3]).unwrap());
        assert!(bytes.ends_with(MARK.as_bytes()));
        let package = read(&bytes);
        let model = &package.root;
        assert_eq!(model.unit, Some(Unit::Millimeter));
        let said: Vec<(&str, &str)> = model
            .metadata
            .iter()
            .map(|data| (&*data.name, &**data.value.as_ref().unwrap()))
            .collect();
        assert_eq!(
            said,
            [
                ("Title", "a <&> \"name\" 'ü' 日本 😀 ]]> "),
                ("Application", "coldstep"),
                ("Description", MARK)
            ]
        );
        let objects = &model.resources.object;
        let names: Vec<&str> = objects
            .iter()
            .map(|object| &**object.name.as_ref().unwrap())
            .collect();
        assert_eq!(names, ["one <&> \"two\" 'ü' 日本 😀", "other"]);
        for object in objects {
            let seen = object.get_mesh().unwrap();
            let whole = Mesh {
                vertices: seen
                    .vertices
                    .vertex
                    .iter()
                    .map(|v| nalgebra::Point3::new(v.x.value(), v.y.value(), v.z.value()))
                    .collect(),
                triangles: seen
                    .triangles
                    .triangle
                    .iter()
                    .map(|t| [t.v1, t.v2, t.v3])
                    .collect(),
            };
            assert_eq!(whole, mesh);
            whole.check_closed().unwrap();
        }
        assert_eq!(package.thumbnails.len(), 1);
        assert_eq!(model.build.item.len(), 2);
        let places: Vec<f64> = model
            .build
            .item
            .iter()
            .map(|item| item.transform.as_ref().unwrap().0[9])
            .collect();
        assert_eq!(places, [0.0, 12.5]);
    }

    #[test]
    fn open_and_too_fine_meshes_are_refused() {
        let mut open = tetrahedron();
        open.triangles.pop();
        assert!(matches!(
            threemf("", &pair(&open), Vec::new()),
            Err(ThreemfError::Open(_))
        ));
        let mut fine = tetrahedron();
        fine.vertices[0] = nalgebra::Point3::new(1.0 + 1e-9, 0.0, 0.0);
        assert_eq!(
            threemf("", &pair(&fine), Vec::new()),
            Err(ThreemfError::TooFine)
        );
    }
}
