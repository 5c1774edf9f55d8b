//! A page's content stream.

use std::f64::consts::{FRAC_PI_2, PI, TAU};
use std::fmt::Write as _;

use super::POINTS_PER_MM;
use crate::drawing::item::{Arc, Drawing, Edge, Item, ItemShape, Path, Point, Role, Text};
use crate::drawing::pen::{Pen, pen};
use crate::drawing::sheet::Sheet;
use crate::drawing::text::{Weight, baseline_start, encoded, font_size, weight};
use crate::export::decimal::{decimal, push_decimal};
use crate::palette::Rgb;

/// Decimals of a coordinate in points: 4e-6 mm.
const PLACES: usize = 5;

/// How far a Bezier piece may leave its arc, mm: a tenth of what any check of the paper could see.
const ARC_ERROR: f64 = 1e-4;

/// How far a cubic Bezier leaves a quarter circle of radius 1. The error goes with the sixth power
/// of the angle (elementary; for instance Goldapp, "Approximation of circular arcs by cubic
/// polynomials", CAGD 8, 1991; from memory).
const QUARTER_ERROR: f64 = 2.73e-4;

/// The operators that draw a sheet.
pub(super) fn content(sheet: &Sheet) -> Vec<u8> {
    let mut page = Page { out: String::new(), by: (1.0, 1.0), state: None };
    // Round joins, so that arrows and corners end where their lines end.
    page.out.push_str("1 j\n");
    for part in &sheet.stretched {
        page.by = part.by;
        page.drawing(&part.drawing);
    }
    page.by = (1.0, 1.0);
    page.drawing(&sheet.drawing);
    page.out.into_bytes()
}

struct Page {
    out: String,
    /// Stretch of points, not of pens and letters.
    by: (f64, f64),
    /// Pen and stroke colour set last.
    state: Option<(Pen, Rgb)>,
}

impl Page {
    fn drawing(&mut self, drawing: &Drawing) {
        for item in &drawing.items {
            self.item(item);
        }
    }

    fn item(&mut self, item: &Item) {
        match &item.shape {
            ItemShape::Text(text) => self.text(text, item.role, item.colour),
            ItemShape::Area { bound, fill } => {
                self.fill_colour(*fill);
                self.path(bound);
                self.out.push_str("f\n");
            }
            shape => {
                self.pen(item);
                self.outline(shape);
                self.out.push_str("S\n");
            }
        }
    }

    fn outline(&mut self, shape: &ItemShape) {
        match shape {
            ItemShape::Line(line) => {
                self.point(line.from, "m");
                self.point(line.to, "l");
            }
            ItemShape::Arc(arc) => {
                self.point(arc.from(), "m");
                self.curve(arc);
            }
            ItemShape::Circle { centre, radius } => {
                let arc = Arc { centre: *centre, radius: *radius, start: 0.0, sweep: TAU };
                self.point(arc.from(), "m");
                self.curve(&arc);
                self.out.push_str("h\n");
            }
            ItemShape::Path(path) => self.path(path),
            ItemShape::Area { .. } | ItemShape::Text(_) => {}
        }
    }

    fn path(&mut self, path: &Path) {
        if let Some(first) = path.edges.first() {
            self.point(first.from(), "m");
        }
        for edge in &path.edges {
            match edge {
                Edge::Line(line) => self.point(line.to, "l"),
                Edge::Arc(arc) => self.curve(arc),
            }
        }
        if path.closed {
            self.out.push_str("h\n");
        }
    }

    fn curve(&mut self, arc: &Arc) {
        for [a, b, end] in beziers(arc) {
            for (point, operator) in [(a, ""), (b, ""), (end, "c")] {
                self.point(point, operator);
            }
        }
    }

    /// A point and its operator; without an operator the line goes on.
    fn point(&mut self, p: Point, operator: &str) {
        for coordinate in [p.x * self.by.0, p.y * self.by.1] {
            push_decimal(&mut self.out, coordinate * POINTS_PER_MM, PLACES);
            self.out.push(' ');
        }
        if !operator.is_empty() {
            self.out.push_str(operator);
            self.out.push('\n');
        }
    }

    fn pen(&mut self, item: &Item) {
        let pen = pen(item.role);
        let colour = item.colour.unwrap_or(pen.colour);
        if self.state == Some((pen, colour)) {
            return;
        }
        let dashes: Vec<String> = pen.dashes.iter().map(|&d| points(d)).collect();
        let [r, g, b] = colour.unit().map(|c| decimal(c, 4));
        let _ = writeln!(self.out, "{} w [{}] 0 d {r} {g} {b} RG", points(pen.width), dashes.join(" "));
        self.state = Some((pen, colour));
    }

    fn fill_colour(&mut self, colour: Rgb) {
        let [r, g, b] = colour.unit().map(|c| decimal(c, 4));
        let _ = writeln!(self.out, "{r} {g} {b} rg");
    }

    fn text(&mut self, text: &Text, role: Role, colour: Option<Rgb>) {
        let weight = weight(role);
        self.fill_colour(colour.unwrap_or(pen(role).colour));
        let start = baseline_start(text, weight);
        // Letters are not stretched, so only the anchor moves.
        let (dx, dy) = (start.x - text.at.x, start.y - text.at.y);
        let at = Point::new(text.at.x * self.by.0 + dx, text.at.y * self.by.1 + dy);
        let (sin, cos) = text.angle.sin_cos();
        let [sin, minus_sin, cos] = [sin, -sin, cos].map(|v| decimal(v, 7));
        let face = match weight {
            Weight::Regular => "F1",
            Weight::Bold => "F2",
        };
        let _ = writeln!(
            self.out,
            "BT /{face} {} Tf {cos} {sin} {minus_sin} {cos} {} {} Tm ({}) Tj ET",
            points(font_size(text.height)),
            points(at.x),
            points(at.y),
            literal(&text.content)
        );
    }
}

fn points(millimetres: f64) -> String {
    decimal(millimetres * POINTS_PER_MM, PLACES)
}

/// The words as the inside of a literal string, in WinAnsi codes, 7-bit clean.
fn literal(words: &str) -> String {
    encoded(words).iter().fold(String::new(), |mut out, &code| {
        match code {
            b'(' | b')' | b'\\' => {
                out.push('\\');
                out.push(char::from(code));
            }
            32..=126 => out.push(char::from(code)),
            _ => {
                let _ = write!(out, "\\{code:03o}");
            }
        }
        out
    })
}

/// Control points and ends of Bezier pieces, each at most a quarter turn and within [`ARC_ERROR`].
fn beziers(arc: &Arc) -> impl Iterator<Item = [Point; 3]> + use<> {
    let arc = *arc;
    let reach = (ARC_ERROR / (QUARTER_ERROR * arc.radius.max(f64::MIN_POSITIVE))).powf(1.0 / 6.0).min(1.0);
    let largest = (FRAC_PI_2 * reach).max(PI / 180.0);
    let pieces = (1..=720u16).find(|&n| arc.sweep.abs() / f64::from(n) <= largest).unwrap_or(720);
    let step = arc.sweep / f64::from(pieces);
    let handle = 4.0 / 3.0 * (step / 4.0).tan() * arc.radius;
    (0..pieces).map(move |index| {
        let from = arc.start + step * f64::from(index);
        let to = arc.start + step * f64::from(index + 1);
        let at = |angle: f64| arc.centre.polar(arc.radius, angle);
        [at(from).polar(handle, from + FRAC_PI_2), at(to).polar(-handle, to + FRAC_PI_2), at(to)]
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bezier_pieces_stay_on_their_arc() {
        for (radius, sweep) in [(3.0, TAU), (47.5, -1.9), (400.0, 2.5), (5000.0, -PI), (0.5, 0.01)] {
            let arc = Arc { centre: Point::new(20.0, -7.0), radius, start: 0.7, sweep };
            let mut from = arc.from();
            let mut worst = 0.0_f64;
            for [a, b, end] in beziers(&arc) {
                for step in 0..=20 {
                    let t = f64::from(step) / 20.0;
                    let s = 1.0 - t;
                    let mix = |p: f64, q: f64, r: f64, v: f64| {
                        s * s * s * p + 3.0 * s * s * t * q + 3.0 * s * t * t * r + t * t * t * v
                    };
                    let point = Point::new(mix(from.x, a.x, b.x, end.x), mix(from.y, a.y, b.y, end.y));
                    worst = worst.max((point.distance(arc.centre) - radius).abs());
                }
                from = end;
            }
            assert!(worst < 2.0 * ARC_ERROR, "radius {radius}: {worst}");
            assert!(from.distance(arc.to()) < 1e-9);
        }
    }

    #[test]
    fn strings_are_escaped() {
        assert_eq!(literal(r"a(b)\ 90°"), r"a\(b\)\\ 90\260");
    }

    #[test]
    fn a_stretch_moves_points_but_not_letters() {
        let mut drawing = Drawing::new();
        drawing.line(Role::Scale, Point::new(0.0, 0.0), Point::new(25.4, 25.4));
        let mut sheet = Sheet::new("s", 100.0, 100.0, Drawing::new());
        sheet.stretched.push(crate::drawing::sheet::Stretched { drawing, by: (1.01, 0.99) });
        let stream = String::from_utf8(content(&sheet)).expect("7-bit");
        assert!(stream.contains("72.72 71.28 l"), "{stream}");
    }
}
