//! DXF R2010 (AC1024) in millimetres: LINE, ARC, CIRCLE, LWPOLYLINE and TEXT on five layers, 1:1.
//!
//! The tags are written here, after Autodesk's public DXF reference. The `dxf` crate was tried: its
//! R2010 files have tables without handles, no block of the model space, no root dictionary, zero
//! handles and an invalid transparency on every entity, all of which readers must repair. It serves
//! as an independent reader in the tests instead.

mod frame;
mod tags;

use std::f64::consts::TAU;

use super::Meta;
use crate::drawing::item::{Across, Arc, Drawing, Edge, Item, ItemShape, Path, Point, Role, Text, Vertical};
use crate::tolerance::COINCIDENT_MM;
use tags::Tags;

/// Why a drawing is no DXF file.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum DxfError {
    /// A filled area: DXF forms are contours for a cutter.
    #[error("a filled area cannot be written as DXF")]
    Area,
    /// An edge that does not start where the one before ends, or a closed path that is open.
    #[error("a contour has a gap of {gap} mm at ({x:.3}, {y:.3})")]
    Gap {
        /// Width of the gap, mm.
        gap: f64,
        /// Where, mm.
        x: f64,
        /// Where, mm.
        y: f64,
    },
    /// A coordinate that is no number.
    #[error("a coordinate is not finite")]
    NotFinite,
}

/// A layer: its name and its colour number in the DXF colour index.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Layer {
    /// Name.
    pub name: &'static str,
    /// Colour index, 1 ..= 255.
    pub colour: u8,
}

/// The layers, in the order they are written.
pub const LAYERS: [Layer; 5] = [
    Layer { name: "CUT", colour: 1 },
    Layer { name: "CUT-KERF", colour: 6 },
    Layer { name: "DRILL", colour: 5 },
    Layer { name: "ENGRAVE", colour: 3 },
    Layer { name: "NOTE", colour: 8 },
];

/// Name of the layer an item with this role is written on.
pub fn layer(role: Role) -> &'static str {
    match role {
        Role::Cut => "CUT",
        Role::CutKerf => "CUT-KERF",
        Role::Drill => "DRILL",
        Role::Engrave => "ENGRAVE",
        Role::TubeEdge
        | Role::Centreline
        | Role::Tangent
        | Role::Corner
        | Role::Trim
        | Role::Waste
        | Role::Dimension
        | Role::Check
        | Role::Springback
        | Role::ToolMark
        | Role::Middle
        | Role::Inside
        | Role::SideUp
        | Role::Anneal
        | Role::Component
        | Role::Outline
        | Role::Hidden
        | Role::Scale
        | Role::Registration
        | Role::Note
        | Role::Title => "NOTE",
    }
}

/// Width a reader may give a text per character, as a part of the height of capitals: the advance
/// of plain stroke fonts. Only the extents in the header depend on it.
const TEXT_ADVANCE: f64 = 1.0;

/// Writes a drawing as DXF R2010, millimetres, UTF-8.
///
/// # Errors
/// When the drawing holds a filled area, a contour with a gap, or a coordinate that is no number.
pub fn render(drawing: &Drawing, meta: &Meta) -> Result<Vec<u8>, DxfError> {
    let mut extents = Extents::default();
    let mut entities = Tags::starting_at(frame::FIRST_FREE_HANDLE);
    for item in &drawing.items {
        check(item)?;
        extents.shape(&item.shape);
        write_entity(&mut entities, item)?;
    }
    Ok(frame::around(&entities, extents.corners(), meta).into_bytes())
}

fn write_entity(tags: &mut Tags, item: &Item) -> Result<(), DxfError> {
    let layer = layer(item.role);
    match &item.shape {
        ItemShape::Line(line) => {
            open(tags, "LINE", layer, "AcDbLine");
            tags.point(10, line.from);
            tags.point(11, line.to);
        }
        ItemShape::Arc(arc) => {
            let (start, end) = counter_clockwise(arc);
            open(tags, "ARC", layer, "AcDbCircle");
            tags.point(10, arc.centre);
            tags.length(40, arc.radius);
            tags.text(100, "AcDbArc");
            tags.length(50, start);
            tags.length(51, end);
        }
        ItemShape::Circle { centre, radius } => {
            open(tags, "CIRCLE", layer, "AcDbCircle");
            tags.point(10, *centre);
            tags.length(40, *radius);
        }
        ItemShape::Path(path) => {
            let vertices = vertices(path)?;
            open(tags, "LWPOLYLINE", layer, "AcDbPolyline");
            tags.text(90, vertices.len());
            tags.text(70, u8::from(path.closed));
            tags.length(43, 0.0);
            for (at, bulge) in vertices {
                tags.length(10, at.x);
                tags.length(20, at.y);
                if bulge != 0.0 {
                    tags.ratio(42, bulge);
                }
            }
        }
        ItemShape::Text(text) => {
            open(tags, "TEXT", layer, "AcDbText");
            write_text(tags, text);
        }
        ItemShape::Area { .. } => return Err(DxfError::Area),
    }
    Ok(())
}

/// The tags every entity of the model space starts with.
fn open(tags: &mut Tags, kind: &str, layer: &str, class: &str) {
    tags.text(0, kind);
    tags.handle();
    tags.owner(frame::MODEL_SPACE);
    tags.text(100, "AcDbEntity");
    tags.text(8, layer);
    tags.text(100, class);
}

fn write_text(tags: &mut Tags, text: &Text) {
    let across = match text.across {
        Across::Left => 0,
        Across::Middle => 1,
        Across::Right => 2,
    };
    let upright = match text.upright {
        Vertical::Baseline => 0,
        Vertical::Middle => 2,
        Vertical::Top => 3,
    };
    tags.point(10, text.at);
    tags.length(40, text.height);
    tags.text(1, plain(&text.content));
    tags.length(50, text.angle.to_degrees());
    tags.text(7, frame::TEXT_STYLE);
    tags.text(72, across);
    // Readers take the second point for every alignment but left on the baseline.
    if (across, upright) != (0, 0) {
        tags.point(11, text.at);
    }
    tags.text(100, "AcDbText");
    tags.text(73, upright);
}

/// One line without control characters. `^` starts an escaped control character and `%%` a code in
/// DXF; `^ ` (with the space) and `%%%` stand for the characters themselves.
fn plain(content: &str) -> String {
    let line: String = content.chars().map(|c| if c.is_control() { ' ' } else { c }).collect();
    line.replace('^', "^ ").replace("%%", "%%%%%%")
}

/// Start and end angle (degrees) of an arc walked counter-clockwise, as DXF wants it: 0 ≤ start < 360,
/// and the end above the start by the size of the sweep, brought below 360 too.
fn counter_clockwise(arc: &Arc) -> (f64, f64) {
    let first = first_angle(arc).to_degrees().rem_euclid(360.0);
    (first % 360.0, (first + arc.sweep.abs().to_degrees()).rem_euclid(360.0))
}

/// The end of the arc from which it is walked counter-clockwise, rad.
fn first_angle(arc: &Arc) -> f64 {
    if arc.sweep < 0.0 { arc.start + arc.sweep } else { arc.start }
}

/// The corners of a path, each with the bulge of the edge that leaves it: tan(sweep/4), positive
/// counter-clockwise, 1 for half a turn. Arcs of more than half a turn are cut in two, for bulges
/// above 1 lose digits and upset some readers.
fn vertices(path: &Path) -> Result<Vec<(Point, f64)>, DxfError> {
    let mut vertices = Vec::with_capacity(path.edges.len() + 1);
    let mut last: Option<Point> = None;
    for edge in &path.edges {
        let from = edge.from();
        joined(last.unwrap_or(from), from)?;
        last = Some(edge.to());
        match edge {
            Edge::Line(_) => vertices.push((from, 0.0)),
            Edge::Arc(arc) => {
                let halves = if arc.sweep.abs() > TAU / 2.0 + 1e-9 { 2 } else { 1 };
                let sweep = arc.sweep / f64::from(halves);
                for half in 0..halves {
                    let at = arc.centre.polar(arc.radius, arc.start + sweep * f64::from(half));
                    vertices.push((at, (sweep / 4.0).tan()));
                }
            }
        }
    }
    match (path.edges.first(), last) {
        (Some(first), Some(last)) if path.closed => joined(last, first.from())?,
        (_, Some(last)) => vertices.push((last, 0.0)),
        (_, None) => {}
    }
    Ok(vertices)
}

fn joined(end: Point, start: Point) -> Result<(), DxfError> {
    let gap = end.distance(start);
    if gap < COINCIDENT_MM { Ok(()) } else { Err(DxfError::Gap { gap, x: start.x, y: start.y }) }
}

fn check(item: &Item) -> Result<(), DxfError> {
    let arc = |a: &Arc| [a.centre.x, a.centre.y, a.radius, a.start, a.sweep].iter().all(|v| v.is_finite());
    let point = |p: &Point| p.x.is_finite() && p.y.is_finite();
    let finite = match &item.shape {
        ItemShape::Line(line) => point(&line.from) && point(&line.to),
        ItemShape::Arc(a) => arc(a),
        ItemShape::Circle { centre, radius } => point(centre) && radius.is_finite(),
        ItemShape::Path(path) => path.edges.iter().all(|edge| match edge {
            Edge::Line(line) => point(&line.from) && point(&line.to),
            Edge::Arc(a) => arc(a),
        }),
        ItemShape::Text(text) => point(&text.at) && text.height.is_finite() && text.angle.is_finite(),
        ItemShape::Area { .. } => true,
    };
    if finite { Ok(()) } else { Err(DxfError::NotFinite) }
}

/// Smallest box around everything drawn.
#[derive(Default)]
struct Extents(Option<(Point, Point)>);

impl Extents {
    fn point(&mut self, at: Point) {
        let (min, max) = self.0.get_or_insert((at, at));
        *min = Point::new(min.x.min(at.x), min.y.min(at.y));
        *max = Point::new(max.x.max(at.x), max.y.max(at.y));
    }

    fn arc(&mut self, arc: &Arc) {
        self.point(arc.from());
        self.point(arc.to());
        for quadrant in 0..4 {
            let angle = f64::from(quadrant) * TAU / 4.0;
            if (angle - first_angle(arc)).rem_euclid(TAU) <= arc.sweep.abs() {
                self.point(arc.centre.polar(arc.radius, angle));
            }
        }
    }

    fn text(&mut self, text: &Text) {
        let width = text.height * TEXT_ADVANCE * text.content.chars().count() as f64;
        let left = match text.across {
            Across::Left => 0.0,
            Across::Middle => -width / 2.0,
            Across::Right => -width,
        };
        let low = match text.upright {
            Vertical::Baseline => 0.0,
            Vertical::Middle => -text.height / 2.0,
            Vertical::Top => -text.height,
        };
        let up = text.angle + TAU / 4.0;
        for (along, above) in [(left, low), (left + width, low), (left, low + text.height)] {
            self.point(text.at.polar(along, text.angle).polar(above, up));
        }
        self.point(text.at.polar(left + width, text.angle).polar(low + text.height, up));
    }

    fn shape(&mut self, shape: &ItemShape) {
        match shape {
            ItemShape::Line(line) => {
                self.point(line.from);
                self.point(line.to);
            }
            ItemShape::Arc(arc) => self.arc(arc),
            ItemShape::Circle { centre, radius } => {
                self.point(centre.shifted(-radius, -radius));
                self.point(centre.shifted(*radius, *radius));
            }
            ItemShape::Path(path) => {
                for edge in &path.edges {
                    match edge {
                        Edge::Line(line) => {
                            self.point(line.from);
                            self.point(line.to);
                        }
                        Edge::Arc(arc) => self.arc(arc),
                    }
                }
            }
            ItemShape::Text(text) => self.text(text),
            ItemShape::Area { .. } => {}
        }
    }

    fn corners(&self) -> (Point, Point) {
        self.0.unwrap_or((Point::new(0.0, 0.0), Point::new(0.0, 0.0)))
    }
}
