//! The outer shapes of components: `box:`, `cylinder:` and `mesh:`.

use std::sync::Arc;

use crate::diagnostic::Span;
use crate::geometry::{MetricSpace, Point3};
use crate::quantity::{Unit, trimmed};
use crate::spec::fields::{Fields, Reader, UnitFrom};
use crate::spec::keys;
use crate::spec::model::{Rotation, Shape, TriangleMesh};
use crate::spec::named::NamedFiles;
use crate::spec::node::{Node, Value};
use crate::spec::stl;
use crate::tolerance::COINCIDENT_MM;

/// Most triangles of a mesh: more do not tell a tube any better where it may go.
const MOST_TRIANGLES: usize = 200_000;
/// Most triangles of all meshes together: a tenth of a gigabyte or two.
const MOST_TOGETHER: usize = 1_000_000;
/// Sizes of parts that tubes are led past, mm; a mesh outside of them was drawn in another unit.
const SIZES_MM: std::ops::RangeInclusive<f64> = 2.0..=10_000.0;

/// Keys that go with `mesh:` only.
const OF_MESHES: [&str; 2] = ["units", "at"];

/// The shapes of a component at its coordinates, before it is turned; none where it is ports only.
pub(super) fn shapes(
    reader: &mut Reader,
    files: &mut NamedFiles<'_>,
    fields: &Fields<'_>,
) -> Option<Vec<Shape>> {
    if !fields.has("parts") {
        let is_bare = !fields.written().any(|rule| keys::PART.exactly_one.contains(&rule.key));
        return if is_bare { alone(reader, fields).map(|()| Vec::new()) } else { one(reader, files, fields) };
    }
    alone(reader, fields)?;
    let (_, node) = reader.value(fields, "parts")?;
    let Value::List(items) = &node.value else {
        reader.wrong_type(node, "a list of parts, such as [{box: ...}, {cylinder: ...}]");
        return None;
    };
    if items.is_empty() {
        reader.error(
            "no-parts",
            node.place,
            "there are no parts",
            "list them, such as [{box: ...}], or delete `parts`",
        );
        return None;
    }
    let parts: Vec<Option<Vec<Shape>>> = items.iter().map(|item| part(reader, files, item)).collect();
    parts.into_iter().collect::<Option<Vec<_>>>().map(|parts| parts.concat())
}

fn part(reader: &mut Reader, files: &mut NamedFiles<'_>, node: &Node) -> Option<Vec<Shape>> {
    let fields = reader.fields(node, &keys::PART, node.place)?;
    let shapes = one(reader, files, &fields);
    let rotation = rotation(reader, &fields);
    let (shapes, rotation) = (shapes?, rotation?);
    Some(match rotation {
        Some(rotation) => shapes.iter().map(|shape| shape.turned(&rotation)).collect(),
        None => shapes,
    })
}

/// The box, the bar or the bodies of the mesh of a component or part.
fn one(reader: &mut Reader, files: &mut NamedFiles<'_>, fields: &Fields<'_>) -> Option<Vec<Shape>> {
    let written: Vec<&str> = keys::PART.exactly_one.iter().copied().filter(|key| fields.has(key)).collect();
    match written.as_slice() {
        ["mesh"] => mesh(reader, files, fields),
        ["box"] => alone(reader, fields).and_then(|()| block(reader, fields)).map(|shape| vec![shape]),
        ["cylinder"] => {
            alone(reader, fields).and_then(|()| cylinder(reader, fields)).map(|shape| vec![shape])
        }
        // Noted by the table's rule.
        _ => None,
    }
}

/// Notes keys that go with a mesh and stand beside none; `None` for some.
fn alone(reader: &mut Reader, fields: &Fields<'_>) -> Option<()> {
    let mut sound = Some(());
    if fields.is_meant("mesh") {
        return None;
    }
    for key in OF_MESHES.into_iter().filter(|key| fields.has(key)) {
        let (message, hint) =
            (format!("`{key}` goes with a `mesh`, and there is none"), format!("delete `{key}`"));
        reader.error("misplaced-key", fields.place_of(key), message, hint);
        sound = None;
    }
    sound
}

/// The rotation of `rotate:`, if any.
pub(super) fn rotation(reader: &mut Reader, fields: &Fields<'_>) -> Option<Option<Rotation>> {
    reader.optional(fields, "rotate", None, |reader| {
        let (_, node) = reader.value(fields, "rotate")?;
        let fields = reader.fields(node, &keys::ROTATION, fields.place_of("rotate"))?;
        let axis = reader.required(&fields, "axis", |reader| reader.direction(&fields, "axis"));
        let angle = reader.required(&fields, "degrees", |reader| reader.angle(&fields, "degrees"));
        let origin = Point3::new(0.0, 0.0, 0.0);
        let about = reader.optional(&fields, "about", origin, |reader| reader.point(&fields, "about"));
        Some(Some(Rotation { axis: axis?, angle: angle?, about: about? }))
    })
}

fn block(reader: &mut Reader, fields: &Fields<'_>) -> Option<Shape> {
    let (_, node) = reader.value(fields, "box")?;
    let fields = reader.fields(node, &keys::BOX, fields.place_of("box"))?;
    between_corners(reader, &fields)
}

/// The box of `from` and `to`.
pub(super) fn between_corners(reader: &mut Reader, fields: &Fields<'_>) -> Option<Shape> {
    let from = reader.point(fields, "from");
    let to = reader.point(fields, "to");
    let (from, to) = (from?, to?);
    let pairs = [(from.x, to.x, "x"), (from.y, to.y, "y"), (from.z, to.z, "z")];
    let flat: Vec<&str> =
        pairs.iter().filter(|(a, b, _)| (a - b).abs() < COINCIDENT_MM).map(|(_, _, axis)| *axis).collect();
    if !flat.is_empty() {
        let message = format!("the box has no size along {}", flat.join(" and "));
        let hint = "give two opposite corners that differ in x, y and z";
        reader.error("flat-box", fields.value_place("to"), message, hint);
        return None;
    }
    let corner =
        |pick: fn(f64, f64) -> f64| Point3::new(pick(from.x, to.x), pick(from.y, to.y), pick(from.z, to.z));
    Some(Shape::square(corner(f64::min), corner(f64::max)))
}

fn cylinder(reader: &mut Reader, fields: &Fields<'_>) -> Option<Shape> {
    let (_, node) = reader.value(fields, "cylinder")?;
    let fields = reader.fields(node, &keys::CYLINDER, fields.place_of("cylinder"))?;
    let from = reader.point(&fields, "from");
    let to = reader.point(&fields, "to");
    let diameter = reader.length(&fields, "diameter");
    let (from, to, diameter) = (from?, to?, diameter?);
    if from.distance(to) < COINCIDENT_MM {
        let message =
            format!("both ends of the cylinder are ({})", [from.x, from.y, from.z].map(trimmed).join(", "));
        let hint = "`from` and `to` are the centres of its two ends";
        reader.error("cylinder-ends", fields.value_place("to"), message, hint);
        return None;
    }
    Some(Shape::Cylinder { from, to, diameter })
}

/// A mesh as the spec names it.
struct Named<'n> {
    file: &'n str,
    /// The name in the spec.
    place: Span,
    unit: Unit,
    at: Point3,
}

impl<'n> Named<'n> {
    fn read(reader: &mut Reader, fields: &Fields<'n>) -> Option<Self> {
        let (_, node) = reader.value(fields, "mesh")?;
        let file = reader.text(node, "the name of an STL file, such as pump.stl");
        if file.is_some_and(|file| file.trim().is_empty()) {
            reader.error("wrong-type", node.place, "`mesh` names no file", "write the name of an STL file");
            return None;
        }
        let usual = reader.unit;
        let unit = reader.optional(fields, "units", usual, |reader| {
            reader.chosen(fields, "units").and_then(Unit::from_name)
        });
        let origin = Point3::new(0.0, 0.0, 0.0);
        let at = reader.optional(fields, "at", origin, |reader| reader.point(fields, "at"));
        Some(Named { file: file?, place: node.place, unit: unit?, at: at? })
    }

    /// A corner of the file, where the spec places it.
    fn corner(&self, corner: [f32; 3]) -> Point3 {
        let [x, y, z] = corner.map(|number| f64::from(number) * self.unit.millimetres());
        Point3::new(x + self.at.x, y + self.at.y, z + self.at.z)
    }
}

fn mesh(reader: &mut Reader, files: &mut NamedFiles<'_>, fields: &Fields<'_>) -> Option<Vec<Shape>> {
    let named = Named::read(reader, fields)?;
    if reader.unit_from == UnitFrom::Unreadable {
        return None;
    }
    let Named { file, place, .. } = named;
    let content = match files.content(file) {
        Ok(content) => content,
        Err(why) => {
            let message = format!("could not read `{file}`: {why}");
            let hint = "give the name of an STL file, from the folder that the spec is in";
            reader.error("mesh-file", place, message, hint);
            return None;
        }
    };
    let triangles = match stl::triangles(&content) {
        Ok(triangles) => triangles,
        Err(fault) => {
            let hint = "export the part as STL, binary or ASCII";
            reader.error("bad-mesh", place, format!("could not read `{file}`: {fault}"), hint);
            return None;
        }
    };
    if triangles.len() > MOST_TRIANGLES {
        let count = triangles.len();
        let message = format!("`{file}` has {count} triangles; a mesh is read with {MOST_TRIANGLES} at most");
        let hint = "export it coarser; a tenth of a millimetre is fine enough for a tube to pass by";
        reader.error("mesh-limit", place, message, hint);
        return None;
    }
    files.triangles += triangles.len();
    if files.triangles > MOST_TOGETHER {
        let message = format!("the meshes up to this one have more than {MOST_TOGETHER} triangles together");
        let hint = "export them coarser, or draw a `box` or a `cylinder` around some of them";
        reader.error("mesh-limit", place, message, hint);
        return None;
    }
    let corners: Vec<Point3> = triangles.iter().flatten().map(|&corner| named.corner(corner)).collect();
    let count = corners.len() as u32 / 3;
    let indices: Vec<[u32; 3]> = (0..count).map(|face| [3 * face, 3 * face + 1, 3 * face + 2]).collect();
    match TriangleMesh::all(&corners, &indices) {
        Ok(bodies) => {
            check_mesh(reader, &named, &bodies);
            Some(bodies.into_iter().map(|body| Shape::Mesh(Arc::new(body))).collect())
        }
        Err(fault) => {
            let hint = "export the part again, or draw a `box` or a `cylinder` around it";
            reader.error("bad-mesh", place, format!("`{file}` holds no surface: {fault}"), hint);
            None
        }
    }
}

/// Notes what is odd about the bodies of a mesh.
fn check_mesh(reader: &mut Reader, named: &Named<'_>, bodies: &[TriangleMesh]) {
    let Named { file, place, .. } = *named;
    let open: usize = bodies.iter().map(TriangleMesh::open_edges).sum();
    if open > 0 {
        let message = format!(
            "the surface in `{file}` is not closed: {open} of its edges do not have a triangle on both sides, facing the same way"
        );
        let hint = "clearances to its skin are right, but a tube wholly inside it is not noticed; repair the part where it was drawn";
        reader.warning("mesh-open", place, message, hint);
    }
    if bodies.iter().any(TriangleMesh::was_inside_out) {
        let which = if bodies.len() > 1 { "triangles of a body" } else { "the triangles" };
        let message = format!("{which} in `{file}` face inwards; they are taken the other way round");
        reader.warning("mesh-inside-out", place, message, "turn the normals round where the part was drawn");
    }
    let extent = |axis: usize| {
        let least = bodies.iter().map(|body| body.bounds()[0][axis]).fold(f64::MAX, f64::min);
        bodies.iter().map(|body| body.bounds()[1][axis]).fold(f64::MIN, f64::max) - least
    };
    let size = [0, 1, 2].map(extent).into_iter().fold(0.0, f64::max);
    if !SIZES_MM.contains(&size) {
        let (length, unit) = (reader.unit.length(size), named.unit);
        let message = format!("the part in `{file}` is {length} long, read in {}", unit.name());
        let drawn = size / unit.millimetres();
        let meant = [Unit::Millimetre, Unit::Metre, Unit::Inch, Unit::Centimetre]
            .into_iter()
            .find(|other| *other != unit && SIZES_MM.contains(&(drawn * other.millimetres())));
        let hint = match meant {
            Some(meant) => format!("if it was drawn in {0}, write `units: {0}` beside `mesh:`", meant.name()),
            None => "export it again, in its own size".to_owned(),
        };
        reader.warning("mesh-size", place, message, hint);
    }
}
