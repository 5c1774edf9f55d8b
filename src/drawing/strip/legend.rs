//! Meanings of a wrap strip's line styles.

use crate::drawing::item::{Drawing, Point, Role};
use crate::drawing::legend::table;

/// Styles and their meaning, in order.
const ROWS: [(Role, &str); 9] = [
    (Role::ToolMark, "set on the reference line"),
    (Role::Tangent, "start, end of a bend"),
    (Role::Middle, "middle of a bend"),
    (Role::Inside, "inside of a bend"),
    (Role::SideUp, "this side up"),
    (Role::Anneal, "ends of annealing, tinted"),
    (Role::Trim, "trim line, cut here"),
    (Role::Component, "insert up to here"),
    (Role::Waste, "hatched: waste, cut off"),
];

/// The styles a drawing uses.
pub(crate) fn rows(drawing: &Drawing) -> Vec<Role> {
    let used = |role: &Role| drawing.items.iter().any(|item| item.role == *role);
    ROWS.iter().map(|row| row.0).filter(used).collect()
}

/// Draws the legend with its upper left corner at `at`; 44 mm wide.
pub(crate) fn legend(at: Point, rows: &[Role]) -> Drawing {
    let shown = ROWS.iter().filter(|row| rows.contains(&row.0));
    let rows: Vec<(Drawing, &str)> = shown.map(|&(role, words)| (sample(role), words)).collect();
    table(at, &["All lengths in mm. Printed side out."], &rows)
}

fn sample(role: Role) -> Drawing {
    let mut drawing = Drawing::new();
    if role == Role::Waste {
        for step in 0..4u8 {
            let foot = Point::new(1.0 + 2.0 * f64::from(step), -1.2);
            drawing.line(role, foot, foot.shifted(2.4, 2.4));
        }
    } else {
        drawing.line(role, Point::new(0.0, 0.0), Point::new(9.6, 0.0));
    }
    drawing
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::drawing::extents::extents;

    #[test]
    fn the_legend_keeps_its_room() {
        let all: Vec<Role> = ROWS.iter().map(|row| row.0).collect();
        let room = extents(&legend(Point::new(0.0, 0.0), &all)).expect("drawn");
        assert!(room.min.x >= -1e-9 && room.width() <= 43.5, "{room:?}");
        assert!(room.max.y <= 0.0 && room.height() <= 44.0, "{room:?}");
    }
}
