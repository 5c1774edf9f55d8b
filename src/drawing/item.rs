//! The parts of a drawing.

pub use crate::flat::{Arc, Edge, Line, Path, Point};

use strum::VariantArray;

use crate::palette::Rgb;

/// The meaning of an item. Writers map a role to a pen or a layer; each has one in every writer.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, VariantArray)]
pub enum Role {
    /// Outline of the tube itself: 0.15 mm, so that its middle is the edge.
    TubeEdge,
    /// Centreline: thin dash-dot.
    Centreline,
    /// Ticks across the tube where a bend starts and ends.
    Tangent,
    /// Corner points and the legs that reach them.
    Corner,
    /// Where the finished tube is cut.
    Trim,
    /// Tube that is cut away: outline and hatching.
    Waste,
    /// Arrows, leaders and dimension lines.
    Dimension,
    /// Lines of check sizes on a template: dotted, so that nothing of them is taken for the tube.
    Check,
    /// Outline of a bend as it is held at the angle to pull to.
    Springback,
    /// Where to set the bender's reference line: the boldest line of a wrap strip.
    ToolMark,
    /// Middle of a bend on a wrap strip.
    Middle,
    /// Along the inside of a bend on a wrap strip.
    Inside,
    /// Along the side of a wrap strip that turns up first.
    SideUp,
    /// Ends of the stretch to anneal.
    Anneal,
    /// Outline of a component, or of a port's face.
    Component,
    /// Visible edge of a tube on a picture.
    Outline,
    /// A part hidden behind another.
    Hidden,
    /// Scale bars.
    Scale,
    /// Registration marks and tile frames.
    Registration,
    /// Cut contour as designed.
    Cut,
    /// Cut contour with the kerf taken up.
    CutKerf,
    /// Holes.
    Drill,
    /// Engraved marks and names.
    Engrave,
    /// Notes and labels.
    Note,
    /// Titles.
    Title,
}

impl Role {
    /// Every role, for tables and their tests.
    pub const ALL: &'static [Role] = Role::VARIANTS;
}

/// Where a text's anchor lies, across.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Across {
    /// At its left end.
    Left,
    /// In its middle.
    Middle,
    /// At its right end.
    Right,
}

/// Where a text's anchor lies, up and down.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Vertical {
    /// On the baseline.
    Baseline,
    /// Half a capital's height above the baseline.
    Middle,
    /// At the top of capitals.
    Top,
}

/// One line of text.
#[derive(Debug, Clone, PartialEq)]
pub struct Text {
    /// Anchor.
    pub at: Point,
    /// Height of capitals, mm.
    pub height: f64,
    /// Direction of reading, rad counter-clockwise from +x.
    pub angle: f64,
    /// Where the anchor lies across.
    pub across: Across,
    /// Where the anchor lies up and down.
    pub upright: Vertical,
    /// The words.
    pub content: String,
}

/// The shape of an item of a drawing.
#[derive(Debug, Clone, PartialEq)]
pub enum ItemShape {
    /// A line.
    Line(Line),
    /// An arc.
    Arc(Arc),
    /// A full circle.
    Circle {
        /// Centre.
        centre: Point,
        /// Radius, mm.
        radius: f64,
    },
    /// Joined edges.
    Path(Path),
    /// A filled area without an outline of its own (pictures only).
    Area {
        /// Its bound.
        bound: Path,
        /// Its colour.
        fill: Rgb,
    },
    /// Words.
    Text(Text),
}

/// A shape with its role and, on pictures, a colour of its own.
#[derive(Debug, Clone, PartialEq)]
pub struct Item {
    /// Its shape.
    pub shape: ItemShape,
    /// Its meaning.
    pub role: Role,
    /// Colour instead of the role's.
    pub colour: Option<Rgb>,
}

/// Items in painting order.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Drawing {
    /// The items; later ones cover earlier ones.
    pub items: Vec<Item>,
}

impl Drawing {
    /// An empty drawing.
    pub fn new() -> Self {
        Self::default()
    }

    /// Adds a shape.
    pub fn add(&mut self, role: Role, shape: ItemShape) {
        self.items.push(Item { shape, role, colour: None });
    }

    /// Adds a line.
    pub fn line(&mut self, role: Role, from: Point, to: Point) {
        self.add(role, ItemShape::Line(Line { from, to }));
    }

    /// Adds all items of another drawing.
    pub fn append(&mut self, mut other: Drawing) {
        self.items.append(&mut other.items);
    }
}
