//! `fittings:` and `components:` with their ports.

use std::collections::BTreeMap;

use super::shape::{rotation, shapes};
use crate::diagnostic::{Diagnostic, Span};
use crate::geometry::{MetricSpace, Point3, Vector3, reference_normal};
use crate::quantity::trimmed;
use crate::spec::fields::{Fields, Reader, UnitFrom};
use crate::spec::keys;
use crate::spec::model::{
    Component, EndForm, Fitting, FittingBody, ON_THE_SKIN_MM, Port, PortFault, PortSlip, Rotation, Seal,
    Shape,
};
use crate::spec::named::NamedFiles;
use crate::spec::node::Node;
use crate::spelling;

/// Misalignment a fitting takes where the spec does not say, degrees (common practice, no source).
const DEFAULT_MAX_ANGLE: f64 = 1.0;
/// Sideways misfit a fitting takes where the spec does not say, mm (common practice, no source).
const DEFAULT_MAX_SIDE: f64 = 0.5;

/// Fittings by name; `None` for one that could not be read, so that its name is still known.
pub(super) type Fittings = BTreeMap<String, Option<Fitting>>;
/// Ports by `component.port`, likewise.
pub(super) type Ports = BTreeMap<String, Option<Port>>;

/// Reads `fittings:`.
pub(super) fn fittings(reader: &mut Reader, node: &Node) -> Fittings {
    let named = reader.named(node, "fitting");
    named
        .into_iter()
        .map(|(key, node)| (key.text.clone(), fitting(reader, &key.text, node, key.place)))
        .collect()
}

fn fitting(reader: &mut Reader, name: &str, node: &Node, place: Span) -> Option<Fitting> {
    let fields = reader.fields(node, &keys::FITTING, place)?;
    let tube_od = reader.length(&fields, "tube_od");
    let insert = reader.length(&fields, "insert");
    let deep = deep(reader, &fields, insert);
    let straight = reader.length_or(&fields, "straight", 0.0);
    let max_angle = reader.angle_or(&fields, "max_angle", DEFAULT_MAX_ANGLE.to_radians());
    let max_side = reader.length_or(&fields, "max_side", DEFAULT_MAX_SIDE);
    let seal = reader.optional(&fields, "seal", None, |reader| seal(reader, &fields, tube_od).map(Some));
    let end = reader.optional(&fields, "end", EndForm::default(), |reader| reader.choice(&fields, "end"));
    let body = reader.optional(&fields, "body", None, |reader| body(reader, &fields, tube_od).map(Some));
    let slide_back = reader.length_or(&fields, "slide_back", 0.0);
    Some(Fitting {
        name: name.to_owned(),
        tube_od: tube_od?,
        insert: insert?,
        deep: deep?,
        straight: straight?,
        max_angle: max_angle?,
        max_side: max_side?,
        seal: seal?,
        end: end?,
        body: body?,
        slide_back: slide_back?,
    })
}

/// How deep the tube can go; the insertion where that is not written, and never less.
fn deep(reader: &mut Reader, fields: &Fields<'_>, insert: Option<f64>) -> Option<f64> {
    let deep = reader.length_or(fields, "deep", insert.unwrap_or_default())?;
    let slip = insert.filter(|insert| deep < *insert && reader.unit_from != UnitFrom::Unreadable);
    if let Some(insert) = slip {
        let [deep, insert] = [deep, insert].map(|mm| reader.unit.length(mm));
        let message = format!("`deep` is {deep}, and the tube goes {insert} in");
        let hint = "`deep` is how far the tube can go in at most: write `insert` or more, or delete `deep`";
        reader.error("out-of-range", fields.value_place("deep"), message, hint);
        return None;
    }
    Some(deep)
}

fn body(reader: &mut Reader, fitting: &Fields<'_>, tube_od: Option<f64>) -> Option<FittingBody> {
    let (_, node) = reader.value(fitting, "body")?;
    let fields = reader.fields(node, &keys::FITTING_BODY, fitting.place_of("body"))?;
    let diameter = reader.length(&fields, "diameter");
    let length = reader.length(&fields, "length");
    let (diameter, length) = (diameter?, length?);
    let slip = tube_od.filter(|od| diameter <= *od && reader.unit_from != UnitFrom::Unreadable);
    if let Some(od) = slip {
        let [over_all, tube] = [diameter, od].map(|mm| reader.unit.length(mm));
        let message = format!("a body of {over_all} has no room for a tube of {tube}");
        let hint = "`diameter` is the body's diameter over all, larger than `tube_od`";
        reader.error("out-of-range", fields.value_place("diameter"), message, hint);
        return None;
    }
    Some(FittingBody { diameter, length })
}

fn seal(reader: &mut Reader, fitting: &Fields<'_>, tube_od: Option<f64>) -> Option<Seal> {
    let (_, node) = reader.value(fitting, "seal")?;
    let fields = reader.fields(node, &keys::SEAL, fitting.place_of("seal"))?;
    let section = reader.length(&fields, "section");
    let squeeze = reader.number(&fields, "squeeze").map(|percent| percent / 100.0);
    let (section, squeeze) = (section?, squeeze?);
    // A ring's inside diameter is given beside its thickness, and is the larger of the two.
    let slip = tube_od.filter(|od| section >= od / 2.0 && reader.unit_from != UnitFrom::Unreadable);
    if let Some(od) = slip {
        let [thick, tube] = [section, od].map(|mm| reader.unit.length(mm));
        let message = format!("a ring {thick} thick has no place around a tube of {tube}");
        let usual = reader.unit.length_to(1.78, 2);
        let hint = format!("`section` is the thickness of the ring itself, such as {usual}");
        reader.error("out-of-range", fields.value_place("section"), message, hint);
        return None;
    }
    Some(Seal { section, squeeze })
}

/// Reads `components:`: those without fault, and every port by its full name.
pub(super) fn components(
    reader: &mut Reader,
    files: &mut NamedFiles<'_>,
    node: &Node,
    (fittings, ports): (&Fittings, &mut Ports),
) -> Vec<Component> {
    let mut components = Vec::new();
    for (key, node) in reader.named(node, "component") {
        let before = reader.errors();
        let Some(fields) = reader.fields(node, &keys::COMPONENT, key.place) else { continue };
        let shapes = shapes(reader, files, &fields);
        let rotation = rotation(reader, &fields);
        let fixed = reader.optional(&fields, "fixed", false, |reader| reader.yes_or_no(&fields, "fixed"));
        let place = Placing { shapes: shapes.as_deref().unwrap_or_default(), rotation: rotation.flatten() };
        let own = component_ports(reader, &fields, (&key.text, &place), fittings, ports);
        if let (Some(shapes), Some(rotation), Some(fixed), Some(ports)) = (shapes, rotation, fixed, own)
            && reader.errors() == before
        {
            let mut shapes: Vec<Shape> = match &rotation {
                Some(rotation) => shapes.iter().map(|shape| shape.turned(rotation)).collect(),
                None => shapes,
            };
            shapes.extend(ports.iter().filter_map(Port::body));
            components.push(Component { name: key.text.clone(), shapes, ports, fixed, rotation });
        }
    }
    components
}

/// Where the ports of a component are: beside its shapes, and turned with them.
struct Placing<'s> {
    shapes: &'s [Shape],
    rotation: Option<Rotation>,
}

fn component_ports(
    reader: &mut Reader,
    fields: &Fields<'_>,
    (component, place): (&str, &Placing<'_>),
    fittings: &Fittings,
    ports: &mut Ports,
) -> Option<Vec<Port>> {
    if !fields.has("ports") {
        return Some(Vec::new());
    }
    let (_, node) = reader.value(fields, "ports")?;
    let mut own = Vec::new();
    for (key, node) in reader.named(node, "port") {
        let mut read = port(reader, &key.text, node, key.place, fittings);
        if let Some(port) = &mut read {
            // In the numbers of the spec, before the rotation.
            port.slip = check_outward(reader, port, node, component, place.shapes);
            if let Some(rotation) = &place.rotation {
                (port.at, port.facing) = (rotation.point(port.at), rotation.direction(port.facing));
            }
        }
        let full = format!("{component}.{}", key.text);
        if ports.contains_key(&full) {
            let message = format!("`{full}` could be a port of two components");
            reader.error("ambiguous-port", key.place, message, "rename the port or one of the components");
            own.push(None);
            continue;
        }
        ports.insert(full, read.clone());
        own.push(read);
    }
    own.into_iter().collect()
}

fn port(reader: &mut Reader, name: &str, node: &Node, place: Span, fittings: &Fittings) -> Option<Port> {
    let fields = reader.fields(node, &keys::PORT, place)?;
    let at = reader.point(&fields, "at");
    let facing = reader.direction(&fields, "facing");
    let fitting = reader.optional(&fields, "fitting", None, |reader| port_fitting(reader, &fields, fittings));
    Some(Port { name: name.to_owned(), at: at?, facing: facing?, fitting: fitting?, slip: None })
}

/// Notes a port that is not on its component's skin, or from which the tube would go into the component or along its
/// skin.
fn check_outward(
    reader: &mut Reader,
    port: &Port,
    node: &Node,
    component: &str,
    shapes: &[Shape],
) -> Option<PortSlip> {
    if reader.unit_from == UnitFrom::Unreadable {
        return None;
    }
    let written = Written { component, port, node };
    let is_at = |&(back, front): &(f64, f64)| back <= ON_THE_SKIN_MM && front >= ON_THE_SKIN_MM;
    let spans = Shape::inside_any(shapes, port.at, port.facing);
    match spans.into_iter().find(is_at) {
        Some(span) => Some(check_inside(reader, &written, span)),
        None => check_on_skin(reader, &written, shapes),
    }
}

/// A port where the spec writes it.
struct Written<'w> {
    component: &'w str,
    port: &'w Port,
    node: &'w Node,
}

impl Written<'_> {
    fn name(&self) -> String {
        format!("{}.{}", self.component, self.port.name)
    }

    /// Notes a finding about one of its keys.
    fn warn(&self, reader: &mut Reader, code: &'static str, key: &str, message: String, hint: String) {
        let place = self.node.get(key).map_or(self.node.place, |node| node.place);
        reader.note(Diagnostic::warning(code, message).hint(hint).at(place).port(self.name()));
    }
}

/// Numbers of a point or direction as a spec writes them, without the brackets.
fn list(numbers: [f64; 3], show: &dyn Fn(f64) -> String) -> String {
    // The sum with 0 leaves no negative zero.
    numbers.map(|n| show(n + 0.0)).join(", ")
}

/// Notes a port from whose place, the way it faces, there is more of its component: from so far behind it to so far
/// in front, mm.
fn check_inside(reader: &mut Reader, written: &Written<'_>, (back, front): (f64, f64)) -> PortSlip {
    let Written { component, port, .. } = *written;
    let (name, behind, through) = (written.name(), -back, front - back);
    let faces_inward = behind < ON_THE_SKIN_MM;
    let unit = reader.unit;
    if faces_inward {
        let facing = -port.facing;
        let out = list([facing.x, facing.y, facing.z], &trimmed);
        let message = format!("port {name} faces into {component}");
        let hint = format!("`facing` is the way the tube leaves: write `facing: [{out}]`");
        written.warn(reader, "port-facing", "facing", message, hint);
    } else {
        let skin = port.at + port.facing * front;
        let at = list([skin.x, skin.y, skin.z], &|mm| unit.number(mm));
        let out = unit.length(front);
        if front < through / 2.0 {
            let message = format!("port {name} lies {out} below the skin of {component}");
            let hint = format!(
                "`at` is the centre of the port's face: write `at: [{at}]`; if the port is in a recess, draw the \
                 component by `parts:` round it"
            );
            written.warn(reader, "port-recess", "at", message, hint);
        } else {
            let message = format!("port {name} lies inside {component}, {out} from where it would come out");
            let hint =
                format!("`at` is the centre of the port's face: write `at: [{at}]`, or turn `facing` round");
            written.warn(reader, "port-inside", "at", message, hint);
        }
    }
    let fault = if faces_inward { PortFault::FacesInward } else { PortFault::Inside };
    PortSlip { fault, out: front }
}

/// How far beside a port the tube's skin is looked at, mm: a tube that faces within 11 degrees of the component's skin
/// is inside by this much for more than [`ON_THE_SKIN_MM`].
const BESIDE_MM: f64 = 0.2;

/// Notes a port that stands off its component, or faces along its skin.
fn check_on_skin(reader: &mut Reader, written: &Written<'_>, shapes: &[Shape]) -> Option<PortSlip> {
    let Written { component, port, .. } = *written;
    let nearest = shapes.iter().map(|shape| shape.nearest(port.at));
    let skin = nearest.min_by(|a, b| a.distance(port.at).total_cmp(&b.distance(port.at)))?;
    let (name, unit, off) = (written.name(), reader.unit, skin.distance(port.at));
    if off > ON_THE_SKIN_MM {
        let message = format!("port {name} is {} off {component}, in the open", unit.length_with(off, 1));
        let at = list([skin.x, skin.y, skin.z], &|mm| unit.number_to(mm, 2));
        let hint = format!(
            "the nearest place of {component} is [{at}]; write `at:` on its skin, or draw the part that the port is \
             on as one of its `parts:`"
        );
        written.warn(reader, "port-off", "at", message, hint);
        return None;
    }
    let ways_in = |way: Vector3| {
        let is_at = |&(back, front): &(f64, f64)| back <= 0.0 && front >= ON_THE_SKIN_MM;
        let inside = |from: Point3| Shape::inside_any(shapes, from, way).into_iter().find(is_at);
        beside(port.at, way).map(inside)
    };
    // Inside on both sides of it: on the joint of two parts.
    if let [Some(span), Some(_), ..] | [.., Some(span), Some(_)] = ways_in(port.facing) {
        return Some(check_inside(reader, written, span));
    }
    let goes_in = |way: Vector3| ways_in(way).iter().any(Option::is_some);
    if !goes_in(port.facing) {
        return None;
    }
    let message =
        format!("port {name} faces along the skin of {component}: half of the tube would lie in it");
    let is_out = |way: &Vector3| !goes_in(*way) && shapes.iter().any(|shape| shape.is_behind(port.at, *way));
    let out = AXES.map(Vector3::from).into_iter().find(is_out);
    let write = out.map_or_else(String::new, |way| {
        format!(": write `facing: [{}]`", list([way.x, way.y, way.z], &trimmed))
    });
    let hint = format!("`facing` is the way the tube leaves{write}");
    written.warn(reader, "port-along", "facing", message, hint);
    Some(PortSlip { fault: PortFault::Along, out: 0.0 })
}

/// The directions of the axes.
const AXES: [[f64; 3]; 6] =
    [[1.0, 0.0, 0.0], [-1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, -1.0, 0.0], [0.0, 0.0, 1.0], [0.0, 0.0, -1.0]];

/// Four points about a place, [`BESIDE_MM`] from it, square to a unit direction: two pairs, each on both sides of it.
fn beside(at: Point3, way: Vector3) -> [Point3; 4] {
    let across = reference_normal(way) * BESIDE_MM;
    let up = way.cross(across);
    [at + across, at - across, at + up, at - up]
}

fn port_fitting(reader: &mut Reader, fields: &Fields<'_>, fittings: &Fittings) -> Option<Option<Fitting>> {
    let name = reader.words(fields, "fitting")?;
    match fittings.get(&name) {
        Some(Some(fitting)) => Some(Some(fitting.clone())),
        // Its own fault is noted where it is defined.
        Some(None) => None,
        None => {
            let hint = spelling::advice(&name, "fittings", fittings.keys().map(String::as_str));
            let message = format!("there is no fitting `{name}`");
            reader.error("unknown-fitting", fields.value_place("fitting"), message, hint);
            None
        }
    }
}
