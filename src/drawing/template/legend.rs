//! Meanings of a template's line styles, each drawn beside its words; only those that are there.

use strum::VariantArray;

use super::plane::{Plane, StopKind};
use crate::drawing::extents::Rect;
use crate::drawing::item::{Drawing, Point, Role};
use crate::drawing::legend::table;

/// A row of the legend, in its order.
#[derive(Debug, Clone, Copy, PartialEq, Eq, VariantArray)]
pub(crate) enum Row {
    /// Edge of the tube.
    Edge,
    /// Its centreline.
    Centreline,
    /// Start or end of a bend.
    Tick,
    /// Legs to a corner.
    Legs,
    /// Trim line.
    Trim,
    /// Face of a port.
    Face,
    /// Bend as it is held.
    Pulled,
    /// Waste.
    Waste,
    /// Where the tube leaves the plane.
    Break,
    /// Check sizes.
    Check,
    /// Arrow of travel.
    Travel,
}

impl Row {
    /// Some rows in their order, each once.
    pub(crate) fn those(wanted: &[Row]) -> Vec<Row> {
        Row::VARIANTS.iter().copied().filter(|row| wanted.contains(row)).collect()
    }

    fn words(self) -> &'static str {
        match self {
            Row::Edge => "thin full line: tube edge",
            Row::Centreline => "dash-dot: centreline",
            Row::Tick => "tick: start, end of bend",
            Row::Legs => "long dashes: legs to corner",
            Row::Trim => "thick: trim line, cut here",
            Row::Face => "face of the port",
            Row::Pulled => "dash-dot-dot: pull to here",
            Row::Waste => "hatched: waste, cut off",
            Row::Break => "tube leaves this plane",
            Row::Check => "dotted: check size",
            Row::Travel => "direction of travel",
        }
    }

    fn role(self) -> Role {
        match self {
            Row::Edge => Role::TubeEdge,
            Row::Centreline => Role::Centreline,
            Row::Tick | Row::Break => Role::Tangent,
            Row::Legs => Role::Corner,
            Row::Trim => Role::Trim,
            Row::Face => Role::Component,
            Row::Pulled => Role::Springback,
            Row::Waste => Role::Waste,
            Row::Check => Role::Check,
            Row::Travel => Role::Dimension,
        }
    }

    fn sample(self, drawing: &mut Drawing, from: Point) {
        let role = self.role();
        match self {
            Row::Tick | Row::Trim | Row::Face => {
                drawing.line(role, from.shifted(4.5, -1.5), from.shifted(4.5, 1.5));
            }
            Row::Waste => {
                for step in 0..4u8 {
                    let foot = from.shifted(1.0 + 2.0 * f64::from(step), -1.2);
                    drawing.line(role, foot, foot.shifted(2.4, 2.4));
                }
            }
            Row::Break => {
                let zigzag = [(4.5, -1.6), (4.5, -0.5), (5.5, -0.25), (3.5, 0.25), (4.5, 0.5), (4.5, 1.6)];
                for pair in zigzag.map(|(x, y)| from.shifted(x, y)).windows(2) {
                    if let &[a, b] = pair {
                        drawing.line(role, a, b);
                    }
                }
            }
            Row::Travel => {
                let tip = from.shifted(9.6, 0.0);
                drawing.line(role, from, tip);
                drawing.line(role, tip, tip.shifted(-2.4, 0.7));
                drawing.line(role, tip, tip.shifted(-2.4, -0.7));
            }
            _ => drawing.line(role, from, from.shifted(9.6, 0.0)),
        }
    }
}

/// The rows for what a drawing of a plane, cut to a window, shows.
pub(crate) fn rows(drawing: &Drawing, plane: &Plane, window: &Rect) -> Vec<Row> {
    let seen = |row: Row| drawing.items.iter().any(|item| item.role == row.role());
    let tick = || plane.bends.iter().any(|b| window.has(b.arc.from()) || window.has(b.arc.to()));
    let left = || {
        let mut breaks = plane.stops().into_iter().filter(|s| matches!(s.kind, StopKind::Break { .. }));
        breaks.any(|stop| window.has(stop.at))
    };
    let shown = |row: &Row| match row {
        Row::Tick => tick(),
        Row::Break => left(),
        row => seen(*row),
    };
    Row::VARIANTS.iter().copied().filter(shown).collect()
}

/// Draws the legend with its upper left corner at `at`; 44 mm wide.
pub(crate) fn legend(at: Point, rows: &[Row]) -> Drawing {
    let mut heads = vec!["All lengths in mm."];
    if rows.contains(&Row::Tick) {
        heads.push("CLR: centreline radius.");
    }
    let rows: Vec<(Drawing, &str)> = rows
        .iter()
        .map(|row| {
            let mut sample = Drawing::new();
            row.sample(&mut sample, Point::new(0.0, 0.0));
            (sample, row.words())
        })
        .collect();
    table(at, &heads, &rows)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::drawing::extents::extents;

    #[test]
    fn the_legend_keeps_its_room() {
        let room = extents(&legend(Point::new(0.0, 0.0), Row::VARIANTS)).expect("drawn");
        assert!(room.min.x >= -1e-9 && room.width() <= 43.5, "{room:?}");
        assert!(room.max.y <= 0.0 && room.height() <= 44.0, "{room:?}");
    }
}
