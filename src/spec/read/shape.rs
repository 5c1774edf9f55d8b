//! The outer shapes of components: `box:`, `cylinder:` and `mesh:`.

use std::sync::Arc;

use crate::diagnostic::Span;
use crate::geometry::{MetricSpace, Placement, Point3};
use crate::quantity::{Unit, trimmed};
use crate::spec::fields::{Fields, Reader, UnitFrom};
use crate::spec::keys;
use crate::spec::model::{Shape, TriangleMesh, Turn};
use crate::spec::named::NamedFiles;
use crate::spec::node::{Node, Value};
use crate::spec::stl;
use crate::tolerance::COINCIDENT_MM;

/// Most triangles of a mesh: more do not tell a tube any better where it may go.
const MOST_TRIANGLES: usize = 200_000;
/// Sizes of parts that tubes are led past, mm; a mesh outside of them was drawn in another unit.
const SIZES_MM: std::ops::RangeInclusive<f64> = 2.0..=10_000.0;

/// The shape of a component; `Some(None)` for one that is ports only.
pub(super) fn shape(
    reader: &mut Reader,
    files: &mut NamedFiles<'_>,
    fields: &Fields<'_>,
) -> Option<Option<Shape>> {
    let written: Vec<&str> =
        keys::COMPONENT.at_most_one.iter().copied().filter(|key| fields.has(key)).collect();
    match written.as_slice() {
        [] => Some(None),
        ["box"] => block(reader, fields).map(Some),
        ["cylinder"] => cylinder(reader, fields).map(Some),
        ["mesh"] => mesh(reader, files, fields).map(Some),
        // Noted by the table's rule.
        _ => None,
    }
}

fn block(reader: &mut Reader, fields: &Fields<'_>) -> Option<Shape> {
    let (_, node) = reader.value(fields, "box")?;
    let fields = reader.fields(node, &keys::BOX, fields.place_of("box"))?;
    let from = reader.point(&fields, "from");
    let to = reader.point(&fields, "to");
    let middle = from.zip(to).map_or(Point3::new(0.0, 0.0, 0.0), |(from, to)| from + (to - from) / 2.0);
    let turns = turns(reader, &fields, middle);
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
    let mut shape = Shape::square(corner(f64::min), corner(f64::max));
    if let Shape::Box { place, .. } = &mut shape {
        for turn in turns? {
            let Placement { origin, axis, x } = *place;
            *place =
                Placement { origin: turn.point(origin), axis: turn.direction(axis), x: turn.direction(x) };
        }
    }
    Some(shape)
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
    file: String,
    /// Where the spec names it.
    node: &'n Node,
    unit: Unit,
    turns: Vec<Turn>,
    at: Point3,
}

impl Named<'_> {
    /// A corner of the file, where the spec places it.
    fn place(&self, corner: [f32; 3]) -> Point3 {
        let [x, y, z] = corner.map(|number| f64::from(number) * self.unit.millimetres());
        let turned = self.turns.iter().fold(Point3::new(x, y, z), |point, turn| turn.point(point));
        Point3::new(turned.x + self.at.x, turned.y + self.at.y, turned.z + self.at.z)
    }
}

fn mesh(reader: &mut Reader, files: &mut NamedFiles<'_>, fields: &Fields<'_>) -> Option<Shape> {
    let named = named_mesh(reader, fields)?;
    if reader.unit_from == UnitFrom::Unreadable {
        return None;
    }
    let (file, place) = (&named.file, named.node.place);
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
    let corners: Vec<Point3> = triangles.iter().flatten().map(|&corner| named.place(corner)).collect();
    let count = corners.len() as u32 / 3;
    let indices: Vec<[u32; 3]> = (0..count).map(|face| [3 * face, 3 * face + 1, 3 * face + 2]).collect();
    match TriangleMesh::new(&corners, &indices) {
        Ok(mesh) => {
            check_mesh(reader, &named, &mesh);
            Some(Shape::Mesh(Arc::new(mesh)))
        }
        Err(fault) => {
            let hint = "export the part again, or draw a `box` or a `cylinder` around it";
            reader.error("bad-mesh", place, format!("`{file}` holds no surface: {fault}"), hint);
            None
        }
    }
}

/// `mesh: part.stl`, or a mapping with `file:`.
fn named_mesh<'n>(reader: &mut Reader, fields: &Fields<'n>) -> Option<Named<'n>> {
    let (_, node) = reader.value(fields, "mesh")?;
    let origin = Point3::new(0.0, 0.0, 0.0);
    if !matches!(node.value, Value::Map(_)) {
        let file = reader.text(node, "the name of an STL file, such as pump.stl")?.to_owned();
        return Some(Named { file, node, unit: reader.unit, turns: Vec::new(), at: origin });
    }
    let fields = reader.fields(node, &keys::MESH, fields.place_of("mesh"))?;
    let file = reader.words(&fields, "file");
    let usual = reader.unit;
    let unit = reader.optional(&fields, "units", usual, |reader| {
        reader.chosen(&fields, "units").and_then(Unit::from_name)
    });
    let turns = turns(reader, &fields, origin);
    let at = reader.optional(&fields, "at", origin, |reader| reader.point(&fields, "at"));
    let node = fields.node("file").unwrap_or(node);
    Some(Named { file: file?, node, unit: unit?, turns: turns?, at: at? })
}

/// The turns of `rotate:`, which is one or a list of them; `about` is what they turn about unless they say.
fn turns(reader: &mut Reader, fields: &Fields<'_>, about: Point3) -> Option<Vec<Turn>> {
    reader.optional(fields, "rotate", Vec::new(), |reader| {
        let (_, node) = reader.value(fields, "rotate")?;
        let place = fields.place_of("rotate");
        let turns: Vec<Option<Turn>> = match &node.value {
            Value::List(items) => items.iter().map(|item| turn(reader, item, item.place, about)).collect(),
            _ => vec![turn(reader, node, place, about)],
        };
        turns.into_iter().collect()
    })
}

fn turn(reader: &mut Reader, node: &Node, place: Span, about: Point3) -> Option<Turn> {
    let fields = reader.fields(node, &keys::TURN, place)?;
    let axis = reader.required(&fields, "axis", |reader| reader.choice(&fields, "axis"));
    let angle = reader.angle(&fields, "angle");
    let about = reader.optional(&fields, "about", about, |reader| reader.point(&fields, "about"));
    Some(Turn { axis: axis?, angle: angle?, about: about? })
}

/// Notes what is odd about a mesh.
fn check_mesh(reader: &mut Reader, named: &Named<'_>, mesh: &TriangleMesh) {
    let (file, place) = (&named.file, named.node.place);
    if mesh.open_edges() > 0 {
        let edges = mesh.open_edges();
        let message = format!(
            "the surface in `{file}` is not closed: {edges} of its edges have a triangle on one side only"
        );
        let hint = "clearances to its skin are right, but a tube wholly inside it is not noticed; repair the part where it was drawn";
        reader.warning("mesh-open", place, message, hint);
    }
    if mesh.was_inside_out() {
        let message = format!("the triangles in `{file}` face inwards; they are taken the other way round");
        reader.warning("mesh-inside-out", place, message, "turn the normals round where the part was drawn");
    }
    let (mut least, mut most) = ([f64::MAX; 3], [f64::MIN; 3]);
    for corner in mesh.corners() {
        for axis in 0..3 {
            least[axis] = least[axis].min(corner[axis]);
            most[axis] = most[axis].max(corner[axis]);
        }
    }
    let size = (0..3).map(|axis| most[axis] - least[axis]).fold(0.0, f64::max);
    if !SIZES_MM.contains(&size) {
        let message = format!(
            "the part in `{file}` is {} long, read in {}",
            reader.unit.length(size),
            named.unit.name()
        );
        let hint = "write the unit it was drawn in: `mesh: {file: ..., units: mm}`, or cm or in";
        reader.warning("mesh-size", place, message, hint);
    }
}
