//! `fittings:` and `components:` with their ports.

use std::collections::BTreeMap;

use super::shape::{rotation, shapes};
use crate::diagnostic::Span;
use crate::quantity::trimmed;
use crate::spec::fields::{Fields, Reader, UnitFrom};
use crate::spec::keys;
use crate::spec::model::{
    Component, EndForm, Fitting, FittingBody, ON_THE_SKIN_MM, Port, PortSlip, Rotation, Seal, Shape,
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
        straight: straight?,
        max_angle: max_angle?,
        max_side: max_side?,
        seal: seal?,
        end: end?,
        body: body?,
        slide_back: slide_back?,
    })
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
        let place = Placing { shapes: shapes.as_deref().unwrap_or_default(), rotation: rotation.flatten() };
        let own = component_ports(reader, &fields, (&key.text, &place), fittings, ports);
        if let (Some(shapes), Some(rotation), Some(ports)) = (shapes, rotation, own)
            && reader.errors() == before
        {
            let mut shapes: Vec<Shape> = match &rotation {
                Some(rotation) => shapes.iter().map(|shape| shape.turned(rotation)).collect(),
                None => shapes,
            };
            shapes.extend(ports.iter().filter_map(Port::body));
            components.push(Component { name: key.text.clone(), shapes, ports, rotation });
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

/// Notes a port from which the tube would go into its own component. A port in a recess is none: the way out of
/// it is shorter than the way through.
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
    // One that stands before its component may belong to a part of it that no box is drawn for.
    let is_at = |&(back, front): &(f64, f64)| back <= ON_THE_SKIN_MM && front >= ON_THE_SKIN_MM;
    let spans = Shape::inside_any(shapes, port.at, port.facing);
    let (back, front) = spans.into_iter().find(is_at)?;
    let (behind, through) = (-back, front - back);
    if front < through / 2.0 {
        return None;
    }
    let name = format!("{component}.{}", port.name);
    let place = |key: &str| node.get(key).map_or(node.place, |node| node.place);
    // The sum with 0 leaves no negative zero.
    let list = |numbers: [f64; 3], show: &dyn Fn(f64) -> String| numbers.map(|n| show(n + 0.0)).join(", ");
    let faces_inward = behind < ON_THE_SKIN_MM;
    if faces_inward {
        let facing = -port.facing;
        let out = list([facing.x, facing.y, facing.z], &trimmed);
        let message = format!("port {name} faces into {component}");
        let hint = format!("`facing` is the way the tube leaves: write `facing: [{out}]`");
        reader.warning("port-facing", place("facing"), message, hint);
    } else {
        let unit = reader.unit;
        let skin = port.at + port.facing * front;
        let at = list([skin.x, skin.y, skin.z], &|mm| unit.number(mm));
        let message = format!(
            "port {name} lies inside {component}, {} from where it would come out",
            unit.length(front)
        );
        let hint =
            format!("`at` is the centre of the port's face: write `at: [{at}]`, or turn `facing` round");
        reader.warning("port-inside", place("at"), message, hint);
    }
    Some(PortSlip { faces_inward, out: front })
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
