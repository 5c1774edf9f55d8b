//! `uncertainty:`, how exactly the work is done.

use crate::diagnostic::Span;
use crate::spec::fields::Reader;
use crate::spec::keys;
use crate::spec::model::Uncertainty;
use crate::spec::node::Node;

/// Reads `uncertainty:`; what is left out or faulty is as in the default.
pub(super) fn uncertainty(reader: &mut Reader, node: &Node, place: Span) -> Uncertainty {
    let usual = Uncertainty::default();
    let Some(fields) = reader.fields(node, &keys::UNCERTAINTY, place) else { return usual };
    Uncertainty {
        port: reader.length(&fields, "port").unwrap_or(usual.port),
        mark: reader.length(&fields, "mark").unwrap_or(usual.mark),
        angle: reader.angle(&fields, "angle"),
        turn: reader.angle(&fields, "turn").unwrap_or(usual.turn),
        radius: reader.length(&fields, "radius"),
        length: reader.length(&fields, "length").unwrap_or(usual.length),
    }
}
