//! Binary STL: an 80-byte header, the number of facets, and 50 bytes per facet.
//!
//! STL has no units; the header states millimetres for whoever looks.

use crate::geometry::InnerSpace;
use crate::solid::mesh::Mesh;

const HEADER: usize = 80;
/// Where the facets start: behind the header and their number.
const START: usize = HEADER + 4;
const FACET: usize = 50;

/// The mesh of the run called `name` as binary STL, mm.
///
/// The format's 32-bit floats are coarser than the mesh: facets of which two corners fall together
/// are left out, which keeps the mesh closed, since both their edges fall together as well.
pub fn render(mesh: &Mesh, name: &str) -> Vec<u8> {
    let mut bytes = vec![0; START + FACET * mesh.triangles.len()];
    // Adding zero turns -0.0 into 0.0.
    let single = |p: [f64; 3]| p.map(|c| c as f32 + 0.0);
    let rounded: Vec<[f32; 3]> = mesh.vertices.iter().map(|p| single((*p).into())).collect();
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
    bytes[..HEADER].copy_from_slice(&header(name));
    // A mesh has at most two million triangles.
    bytes[HEADER..START].copy_from_slice(&(count as u32).to_le_bytes());
    bytes
}

/// Readers take a file that begins with "solid" for a text STL, so the header does not.
fn header(name: &str) -> [u8; HEADER] {
    let mut header = [b' '; HEADER];
    let text = format!("tubewright binary STL, units mm, run {name}");
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
        }
    }

    #[test]
    fn layout_is_header_count_and_fifty_bytes_a_facet() {
        let bytes = render(&tetrahedron(), "feed");
        assert_eq!(bytes.len(), 84 + 50 * 4);
        assert!(bytes.starts_with(b"tubewright binary STL, units mm, run feed "));
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
        assert_eq!(render(&mesh, "x")[80..84], 2_u32.to_le_bytes());
    }

    #[test]
    fn long_names_end_at_a_whole_character() {
        let header = header(&"ö".repeat(40));
        assert!(std::str::from_utf8(&header).is_ok());
    }
}
