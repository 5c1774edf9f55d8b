//! What each line style of a template means, drawn beside its words.

use crate::drawing::item::{Across, Drawing, Point, Role, Shape, Text, Upright};

/// Line styles and their words, in the order of the legend.
const STYLES: [(Role, &str); 8] = [
    (Role::TubeEdge, "thin full line: tube edge"),
    (Role::Centreline, "dash-dot: centreline"),
    (Role::Tangent, "tick: start, end of bend"),
    (Role::Corner, "legs to the corner"),
    (Role::Trim, "thick: trim line, cut here"),
    (Role::Component, "face of the port"),
    (Role::Waste, "hatched: waste, cut off"),
    (Role::Dimension, "check size; arrow: travel"),
];

/// Height of capitals, mm.
const HEIGHT: f64 = 1.8;

/// From line to line, mm.
const PITCH: f64 = 4.0;

/// Draws the legend with its upper left corner at `at`; 44 mm wide.
pub(crate) fn legend(at: Point) -> Drawing {
    let mut drawing = Drawing::new();
    let heading = "CLR: centreline radius, mm";
    words(&mut drawing, at.shifted(0.0, -PITCH * 0.5), heading);
    for ((role, meaning), line) in STYLES.into_iter().zip(1u8..) {
        let y = at.y - PITCH * (f64::from(line) + 0.5);
        let from = Point::new(at.x, y);
        match role {
            Role::Tangent | Role::Trim | Role::Component => {
                drawing.line(role, from.shifted(4.5, -1.5), from.shifted(4.5, 1.5));
            }
            Role::Waste => {
                for step in 0..4u8 {
                    let foot = from.shifted(1.0 + 2.0 * f64::from(step), -1.2);
                    drawing.line(role, foot, foot.shifted(2.4, 2.4));
                }
            }
            Role::Dimension => {
                let tip = from.shifted(9.6, 0.0);
                drawing.line(role, from, tip);
                drawing.line(role, tip, tip.shifted(-2.4, 0.7));
                drawing.line(role, tip, tip.shifted(-2.4, -0.7));
            }
            _ => drawing.line(role, from, from.shifted(9.6, 0.0)),
        }
        words(&mut drawing, Point::new(at.x + 11.5, y), meaning);
    }
    drawing
}

fn words(drawing: &mut Drawing, at: Point, words: &str) {
    let text = Text {
        at,
        height: HEIGHT,
        angle: 0.0,
        across: Across::Left,
        upright: Upright::Middle,
        content: words.to_owned(),
    };
    drawing.add(Role::Note, Shape::Text(text));
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::drawing::extents::extents;

    #[test]
    fn the_legend_keeps_its_room() {
        let room = extents(&legend(Point::new(0.0, 0.0))).expect("drawn");
        assert!(room.min.x >= -1e-9 && room.width() <= 43.5, "{room:?}");
        assert!(room.max.y <= 0.0 && room.height() <= 9.0 * PITCH, "{room:?}");
    }
}
