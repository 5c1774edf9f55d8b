//! SVG: one drawing at full size. `width` and `height` are in mm and the viewBox has the same numbers.

use std::f64::consts::PI;
use std::fmt::Write as _;

use svg::node::element::{Element, Group, Title};
use svg::node::{Node, Text as Words};

use super::Meta;
use super::decimal::decimal;
use crate::drawing::extents::{Rect, extents};
use crate::drawing::item::{Across, Arc, Drawing, Edge, Item, ItemShape, Path, Point, Role, Text};
use crate::drawing::pen::{name, pen};
use crate::drawing::text::{Weight, baseline_rise, font_size, weight, width, win_ansi};
use crate::palette::Rgb;

/// White border around the drawing, mm.
const BORDER: f64 = 5.0;

/// The end of a document.
const CLOSING: &str = "</svg>";

/// Decimals of a coordinate: a millionth of a millimetre.
const PLACES: usize = 6;

/// The drawing with a border of 5 mm around its extents, rounded up to whole millimetres. The lines'
/// own width never changes the extents. An empty drawing gives an empty picture of the border alone.
pub fn render(drawing: &Drawing, meta: &Meta) -> Vec<u8> {
    let origin = Rect { min: Point::new(0.0, 0.0), max: Point::new(0.0, 0.0) };
    let tight = extents(drawing).unwrap_or(origin).grown(BORDER);
    let page = Rect::new(
        Point::new(tight.min.x.floor(), tight.min.y.floor()),
        Point::new(tight.max.x.ceil(), tight.max.y.ceil()),
    );
    render_page(drawing, page, meta)
}

/// The drawing on a page that shows exactly the box `page` of it.
pub fn render_page(drawing: &Drawing, page: Rect, meta: &Meta) -> Vec<u8> {
    let (wide, high) = (coordinate(page.width()), coordinate(page.height()));
    let corner = on_page(Point::new(page.min.x, page.max.y));
    let frame = svg::Document::new()
        .set("width", format!("{wide}mm"))
        .set("height", format!("{high}mm"))
        .set("viewBox", format!("{} {} {wide} {high}", corner.0, corner.1))
        .set("fill", "none")
        .set("stroke-linecap", "butt")
        .set("stroke-linejoin", "round")
        .set("font-family", "Helvetica, Arial, 'Liberation Sans', 'Nimbus Sans', sans-serif")
        .add(Title::new(legal(&meta.title)))
        .add(mark(meta))
        .add(paper(page))
        .to_string();
    // Written group by group: as nodes of one document a picture takes ten times its file's size.
    let mut out = frame.strip_suffix(CLOSING).unwrap_or(&frame).to_owned();
    // Neighbours of one role share a group; the painting order stays.
    for items in drawing.items.chunk_by(|a, b| a.role == b.role) {
        // Writing to a String does not fail.
        let _ = writeln!(out, "{}", group(items));
    }
    out.push_str(CLOSING);
    out.push('\n');
    out.into_bytes()
}

/// The one place where y is turned over: SVG's y runs down.
fn on_page(p: Point) -> (String, String) {
    (coordinate(p.x), coordinate(-p.y))
}

fn coordinate(value: f64) -> String {
    decimal(value, PLACES)
}

fn hex(colour: Rgb) -> String {
    format!("#{:02x}{:02x}{:02x}", colour.0, colour.1, colour.2)
}

/// XML has no control characters, not even as references.
fn legal(words: &str) -> String {
    words.replace(|c: char| c.is_control() || matches!(c, '\u{fffe}' | '\u{ffff}'), " ")
}

/// The plan's mark, which no viewer shows.
fn mark(meta: &Meta) -> Element {
    let mut element = Element::new("metadata");
    element.append(Words::new(super::mark::words(&meta.mark)));
    element
}

fn paper(page: Rect) -> Element {
    let (x, y) = on_page(Point::new(page.min.x, page.max.y));
    element(
        "rect",
        [("x", x), ("y", y), ("width", coordinate(page.width())), ("height", coordinate(page.height()))],
    )
    .with("fill", "#ffffff")
}

fn group(items: &[Item]) -> Group {
    let role = items.first().map_or(Role::Note, |item| item.role);
    let pen = pen(role);
    let mut group = Group::new()
        .set("class", name(role))
        .set("stroke", hex(pen.colour))
        .set("stroke-width", coordinate(pen.width));
    if !pen.dashes.is_empty() {
        let dashes: Vec<String> = pen.dashes.iter().map(|&d| coordinate(d)).collect();
        group = group.set("stroke-dasharray", dashes.join(" "));
    }
    for item in items {
        group.append(shape(item));
    }
    group
}

fn shape(item: &Item) -> Element {
    let drawn = match &item.shape {
        ItemShape::Line(line) => {
            let ((x1, y1), (x2, y2)) = (on_page(line.from), on_page(line.to));
            element("line", [("x1", x1), ("y1", y1), ("x2", x2), ("y2", y2)])
        }
        ItemShape::Arc(arc) => element("path", [("d", format!("M{} {}", pair(arc.from()), sweep(arc)))]),
        ItemShape::Circle { centre, radius } => {
            let (cx, cy) = on_page(*centre);
            element("circle", [("cx", cx), ("cy", cy), ("r", coordinate(*radius))])
        }
        ItemShape::Path(path) => element("path", [("d", outline(path))]),
        ItemShape::Area { bound, fill } => {
            return element(
                "path",
                [("d", outline(bound)), ("fill", hex(*fill)), ("stroke", "none".to_owned())],
            );
        }
        ItemShape::Text(text) => return words(text, item),
    };
    match item.colour {
        Some(colour) => drawn.with("stroke", &hex(colour)),
        None => drawn,
    }
}

fn pair(p: Point) -> String {
    let (x, y) = on_page(p);
    format!("{x} {y}")
}

/// The `A` commands of an arc. More than half a turn goes in two steps, since readers lose accuracy
/// (and at a full turn the arc) when the ends of one command come close.
fn sweep(arc: &Arc) -> String {
    let steps = if arc.sweep.abs() > PI { 2u8 } else { 1 };
    // Counter-clockwise with y up is clockwise-negative with y down: flag 0.
    let flag = u8::from(arc.sweep < 0.0);
    let radius = coordinate(arc.radius);
    (1..=steps)
        .map(|step| {
            let turned = arc.sweep * f64::from(step) / f64::from(steps);
            let end = arc.centre.polar(arc.radius, arc.start + turned);
            format!("A{radius} {radius} 0 0 {flag} {}", pair(end))
        })
        .collect::<Vec<_>>()
        .join(" ")
}

fn outline(path: &Path) -> String {
    let Some(first) = path.edges.first() else { return String::new() };
    let mut commands = vec![format!("M{}", pair(first.from()))];
    for edge in &path.edges {
        commands.push(match edge {
            Edge::Line(line) => format!("L{}", pair(line.to)),
            Edge::Arc(arc) => sweep(arc),
        });
    }
    if path.closed {
        commands.push("Z".to_owned());
    }
    commands.join(" ")
}

fn words(text: &Text, item: &Item) -> Element {
    let anchor = match text.across {
        Across::Left => "start",
        Across::Middle => "middle",
        Across::Right => "end",
    };
    let base = text.at.polar(baseline_rise(text), text.angle + PI / 2.0);
    let (x, y) = on_page(base);
    let colour = item.colour.unwrap_or(pen(item.role).colour);
    let mut drawn = element("text", [("x", x.clone()), ("y", y.clone())])
        .with("font-size", &coordinate(font_size(text.height)))
        .with("text-anchor", anchor)
        .with("fill", &hex(colour))
        .with("stroke", "none");
    if text.content.chars().all(|c| win_ansi(c).is_some()) {
        // A face with other widths is squeezed to the room the layout kept.
        let long = width(&text.content, text.height, weight(item.role));
        drawn = drawn.with("textLength", &coordinate(long)).with("lengthAdjust", "spacingAndGlyphs");
    }
    if weight(item.role) == Weight::Bold {
        drawn = drawn.with("font-weight", "bold");
    }
    if text.angle != 0.0 {
        drawn = drawn.with("transform", &format!("rotate({} {x} {y})", coordinate(-text.angle.to_degrees())));
    }
    drawn.append(Words::new(legal(&text.content)));
    drawn
}

fn element<const N: usize>(tag: &str, attributes: [(&str, String); N]) -> Element {
    let mut element = Element::new(tag);
    for (key, value) in attributes {
        element.assign(key, value);
    }
    element
}

/// Attribute setting in a chain.
trait With {
    fn with(self, key: &str, value: &str) -> Self;
}

impl With for Element {
    fn with(mut self, key: &str, value: &str) -> Self {
        self.assign(key, value);
        self
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::drawing::item::Vertical;

    fn text_of(drawing: &Drawing) -> String {
        let meta = Meta { title: "A & B".to_owned(), mark: "BCDFGH".to_owned(), timestamp: 0 };
        String::from_utf8(render(drawing, &meta)).expect("SVG is UTF-8")
    }

    #[test]
    fn size_and_view_box_carry_the_same_numbers() {
        let mut drawing = Drawing::new();
        drawing.line(Role::TubeEdge, Point::new(-3.25, 10.0), Point::new(40.5, 90.0));
        let svg = text_of(&drawing);
        assert!(svg.contains(r#"height="90mm""#) && svg.contains(r#"width="55mm""#), "{svg}");
        assert!(svg.contains(r#"viewBox="-9 -95 55 90""#), "{svg}");
        assert!(svg.contains("<title>") && svg.contains("A &amp; B"));
    }

    #[test]
    fn arcs_turn_the_way_they_sweep() {
        let mut drawing = Drawing::new();
        let quarter = Arc { centre: Point::new(0.0, 0.0), radius: 10.0, start: 0.0, sweep: PI / 2.0 };
        drawing.add(Role::TubeEdge, ItemShape::Arc(quarter));
        drawing.add(Role::TubeEdge, ItemShape::Arc(Arc { sweep: -1.5 * PI, ..quarter }));
        let svg = text_of(&drawing);
        assert!(svg.contains("M10 0 A10 10 0 0 0 0 -10"), "{svg}");
        assert!(svg.contains("A10 10 0 0 1 -7.071068 7.071068 A10 10 0 0 1 0 -10"), "{svg}");
        assert_eq!(svg.matches(r#"class="tube-edge""#).count(), 1, "neighbours share a group");
    }

    #[test]
    fn words_are_escaped_and_stand_on_their_baseline() {
        let mut drawing = Drawing::new();
        drawing.add(
            Role::Title,
            ItemShape::Text(Text {
                at: Point::new(5.0, 5.0),
                height: 7.18,
                angle: 0.0,
                across: Across::Right,
                upright: Vertical::Top,
                content: "<b> & \u{1}".to_owned(),
            }),
        );
        let svg = text_of(&drawing);
        assert!(svg.contains("&lt;b&gt; &amp;  </text>"), "{svg}");
        assert!(svg.contains(r#"text-anchor="end""#) && svg.contains(r#"y="2.18""#), "{svg}");
        assert!(svg.contains(r#"font-size="10""#) && svg.contains(r#"font-weight="bold""#));
    }

    #[test]
    fn the_same_drawing_gives_the_same_bytes_and_an_empty_one_is_no_fault() {
        assert_eq!(text_of(&Drawing::new()), text_of(&Drawing::new()));
        assert!(text_of(&Drawing::new()).contains(r#"viewBox="-5 -5 10 10""#));
    }
}
