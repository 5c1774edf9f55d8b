//! Binary STL: an 80-byte header, the number of facets, and 50 bytes per facet.
//!
//! STL has no units; the header states millimetres for whoever looks.

use crate::geometry::{EuclideanSpace, InnerSpace, Point3, Vector3};
use crate::solid::mesh::Mesh;

const HEADER: usize = 80;
/// Where the facets start: behind the header and their number.
const START: usize = HEADER + 4;
const FACET: usize = 50;

/// The point to write a mesh about where about 0 the format's 32-bit floats would be too coarse for it, in
/// whole mm near the middle of the mesh; `None` where they are not.
pub fn origin(mesh: &Mesh) -> Option<Point3> {
    if spacing(mesh, None) / 2.0 <= mesh.slack {
        return None;
    }
    let (low, high) = bounds(mesh)?;
    Some(low.zip(high, |low, high| ((low + high) / 2.0).round()))
}

/// Distance between neighbouring 32-bit floats at the mesh's outermost coordinate, mm, when it is written about
/// `origin`.
pub fn spacing(mesh: &Mesh, origin: Option<Point3>) -> f64 {
    let about = origin.map_or(Vector3::new(0.0, 0.0, 0.0), Point3::to_vec);
    let Some((low, high)) = bounds(mesh) else { return 0.0 };
    let furthest = [low - about, high - about]
        .into_iter()
        .flat_map(|p| [p.x, p.y, p.z])
        .fold(0.0, |furthest: f64, c| furthest.max(c.abs())) as f32;
    f64::from(furthest.next_up()) - f64::from(furthest)
}

/// Smallest and largest coordinates.
fn bounds(mesh: &Mesh) -> Option<(Point3, Point3)> {
    let first = *mesh.vertices.first()?;
    Some(
        mesh.vertices
            .iter()
            .fold((first, first), |(low, high), p| (low.zip(*p, f64::min), high.zip(*p, f64::max))),
    )
}

/// The mesh of the part or run called `name` as binary STL, mm, with the plan's mark in its header, written about `origin` (see [`origin`]) or about 0.
///
/// The format's 32-bit floats are coarser than the mesh: facets of which two corners fall together
/// are left out, which keeps the mesh closed, since both their edges fall together as well.
pub fn render(mesh: &Mesh, origin: Option<Point3>, name: &str, mark: &str) -> Vec<u8> {
    let mut bytes = vec![0; START + FACET * mesh.triangles.len()];
    let about = origin.map_or(Vector3::new(0.0, 0.0, 0.0), Point3::to_vec);
    // Adding zero turns -0.0 into 0.0.
    let single = |p: [f64; 3]| p.map(|c| c as f32 + 0.0);
    let rounded: Vec<[f32; 3]> = mesh.vertices.iter().map(|p| single((*p - about).into())).collect();
    let mut count = 0;
    let mut facets = bytes[START..].chunks_exact_mut(FACET);
    for triangle in &mesh.triangles {
        let corners = triangle.map(|i| rounded[i as usize]);
        let [a, b, c] = corners;
        if a == b || b == c || c == a {
            continue;
        }
        let Some(facet) = facets.next() else { break };
        let [a, b, c] = triangle.map(|i| mesh.vertices[i as usize]);
        let normal = (b - a).cross(c - a);
        let length = normal.magnitude();
        // A facet without area has no normal; zero is what the format then wants.
        let unit = if length > 0.0 { 1.0 / length } else { 0.0 };
        let numbers = [single((normal * unit).into()), corners[0], corners[1], corners[2]];
        for (place, number) in facet.chunks_exact_mut(4).zip(numbers.as_flattened()) {
            place.copy_from_slice(&number.to_le_bytes());
        }
        count += 1;
    }
    bytes.truncate(START + FACET * count);
    bytes[..HEADER].copy_from_slice(&header(origin, name, mark));
    // A mesh has at most two million triangles.
    bytes[HEADER..START].copy_from_slice(&(count as u32).to_le_bytes());
    bytes
}

/// Readers take a file that begins with "solid" for a text STL, so the header does not.
fn header(origin: Option<Point3>, name: &str, mark: &str) -> [u8; HEADER] {
    let mut header = [b' '; HEADER];
    let moved =
        origin.map_or_else(String::new, |p| format!("moved by {},{},{}, ", 0.0 - p.x, 0.0 - p.y, 0.0 - p.z));
    let mark = super::mark::words(mark);
    let text = format!("tubewright STL in mm, {mark}, {moved}{name}");
    // A character cut in two at the end would leave a byte that is no text; spaces do instead.
    let whole = text.char_indices().map(|(at, c)| at + c.len_utf8()).take_while(|&end| end <= HEADER).last();
    let length = whole.unwrap_or(0);
    header[..length].copy_from_slice(&text.as_bytes()[..length]);
    header
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::Point3;

    fn tetrahedron() -> Mesh {
        let p = Point3::new;
        Mesh {
            vertices: vec![p(0.0, 0.0, 0.0), p(1.0, 0.0, 0.0), p(0.0, 1.0, 0.0), p(-0.0, 0.0, 1.0)],
            triangles: vec![[0, 2, 1], [0, 1, 3], [1, 2, 3], [0, 3, 2]],
            slack: 0.01,
        }
    }

    #[test]
    fn layout_is_header_count_and_fifty_bytes_a_facet() {
        let bytes = render(&tetrahedron(), None, "feed", "BCDFGH");
        assert_eq!(bytes.len(), 84 + 50 * 4);
        assert!(bytes.starts_with(b"tubewright STL in mm, plan mark BCDFGH, feed "));
        assert_eq!(bytes[80..84], 4_u32.to_le_bytes());
        let floats = |at: usize| -> Vec<f32> {
            bytes[at..at + 48].chunks(4).map(|b| f32::from_le_bytes([b[0], b[1], b[2], b[3]])).collect()
        };
        // First facet: normal −z, right-hand order, attribute 0.
        assert_eq!(floats(84), [0.0, 0.0, -1.0, 0.0, 0.0, 0.0, 0.0, 1.0, 0.0, 1.0, 0.0, 0.0]);
        assert_eq!(bytes[84 + 48..84 + 50], [0, 0]);
        // No negative zero anywhere: its bytes would differ between equal meshes.
        assert!((0..4).all(|f| floats(84 + 50 * f).iter().all(|x| x.to_bits() != (-0.0_f32).to_bits())));
    }

    #[test]
    fn facets_that_collapse_in_single_precision_are_left_out() {
        let mut mesh = tetrahedron();
        mesh.vertices[3] = Point3::new(1.0 + 1e-12, 0.0, 0.0);
        // Vertices 1 and 3 fall together: the two facets with both go, the two others cancel.
        assert_eq!(render(&mesh, None, "x", "BCDFGH")[80..84], 2_u32.to_le_bytes());
    }

    #[test]
    fn long_names_end_at_a_whole_character() {
        let header = header(None, &"ö".repeat(40), "BCDFGH");
        assert!(std::str::from_utf8(&header).is_ok());
    }
}
