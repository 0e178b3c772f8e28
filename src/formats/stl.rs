//! Binary STL of a closed mesh, millimetres.

use crate::geometry::Mesh;
use crate::mark::MARK;
use stl_io::{Normal, Triangle, Vertex};
use thiserror::Error;

/// Length of the header in a binary STL file.
const HEADER_BYTES: usize = 80;

/// Why a mesh was not written.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum StlError {
    /// The mesh does not close.
    #[error("the mesh is not closed: {0}")]
    Open(#[from] crate::geometry::OpenMesh),
    /// The writer refused.
    #[error("the STL writer refused: {0}")]
    Refused(String),
    /// Two corners fall together in the file's single precision.
    #[error("the mesh is too fine for STL's single precision")]
    TooFine,
}

/// Writes a mesh. `title` goes into the header, as far as it fits.
///
/// # Errors
/// When the mesh is not closed, before or after rounding to the file's single precision.
pub fn stl(mesh: &Mesh, title: &str) -> Result<Vec<u8>, StlError> {
    mesh.check_closed()?;
    #[expect(
        clippy::cast_possible_truncation,
        reason = "STL stores single precision"
    )]
    let single = |p: &nalgebra::Point3<f64>| [p.x as f32, p.y as f32, p.z as f32];
    let mut places: Vec<[u32; 3]> = mesh
        .vertices
        .iter()
        .map(|vertex| single(vertex).map(f32::to_bits))
        .collect();
    places.sort_unstable();
    places.dedup();
    if places.len() != mesh.vertices.len() {
        return Err(StlError::TooFine);
    }
    let triangles: Vec<Triangle> = mesh
        .corners()
        .map(|[a, b, c]| {
            // A triangle of no area has no direction; readers take a zero normal as "work it out".
            let normal = (b - a)
                .cross(&(c - a))
                .try_normalize(0.0)
                .unwrap_or_default();
            Triangle {
                normal: Normal::new(single(&normal.into())),
                vertices: [a, b, c].map(|corner| Vertex::new(single(&corner))),
            }
        })
        .collect();
    let mut bytes = Vec::with_capacity(84 + 50 * triangles.len());
    stl_io::write_stl(&mut bytes, triangles.iter())
        .map_err(|error| StlError::Refused(error.to_string()))?;
    let header: String = format!("{MARK}: {title}, mm")
        .chars()
        .map(|c| {
            if c.is_ascii_graphic() || c == ' ' {
                c
            } else {
                '?'
            }
        })
        .take(HEADER_BYTES)
        .collect();
    for (byte, letter) in bytes.iter_mut().zip(header.bytes()) {
        *byte = letter;
    }
    Ok(bytes)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::mesh::tetrahedron;
    use nalgebra::Point3;

    #[test]
    fn the_reader_of_the_same_library_sees_every_triangle_and_every_edge() {
        let bytes = stl(&tetrahedron(), "a \"name\" with ü").unwrap();
        assert!(bytes.starts_with(MARK.as_bytes()));
        assert!(!bytes.starts_with(b"solid"));
        let read = stl_io::read_stl(&mut std::io::Cursor::new(bytes)).unwrap();
        assert_eq!((read.faces.len(), read.vertices.len()), (4, 4));
        read.validate().unwrap();
    }

    #[test]
    fn an_open_mesh_is_not_written() {
        let mut open = tetrahedron();
        open.triangles.pop();
        assert!(matches!(stl(&open, ""), Err(StlError::Open(_))));
    }

    #[test]
    fn corners_that_fall_together_in_single_precision_are_refused() {
        let mut fine = tetrahedron();
        fine.vertices[0] = Point3::new(1.0 + 1e-12, 0.0, 0.0);
        assert_eq!(stl(&fine, ""), Err(StlError::TooFine));
    }
}
