//! Meanings of a template's line styles, each drawn beside its words; only those that are there.

use strum::VariantArray;

use super::plane::{DrawnEndKind, Plane};
use crate::drawing::extents::Rect;
use crate::drawing::item::{Drawing, Point, Role};
use crate::drawing::legend::table;

/// A row of the legend, in its order.
#[derive(Debug, Clone, Copy, PartialEq, Eq, VariantArray)]
pub(crate) enum LegendRow {
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

impl LegendRow {
    /// Some rows in their order, each once.
    pub(crate) fn those(wanted: &[LegendRow]) -> Vec<LegendRow> {
        LegendRow::VARIANTS.iter().copied().filter(|row| wanted.contains(row)).collect()
    }

    fn words(self) -> &'static str {
        match self {
            LegendRow::Edge => "thin full line: tube edge",
            LegendRow::Centreline => "dash-dot: centreline",
            LegendRow::Tick => "tick: start, end of bend",
            LegendRow::Legs => "long dashes: legs to corner",
            LegendRow::Trim => "thick: trim line, cut here",
            LegendRow::Face => "face of the port",
            LegendRow::Pulled => "dash-dot-dot: pull to here",
            LegendRow::Waste => "hatched: waste, cut off",
            LegendRow::Break => "tube leaves this plane",
            LegendRow::Check => "dotted: check size",
            LegendRow::Travel => "direction of travel",
        }
    }

    fn role(self) -> Role {
        match self {
            LegendRow::Edge => Role::TubeEdge,
            LegendRow::Centreline => Role::Centreline,
            LegendRow::Tick | LegendRow::Break => Role::Tangent,
            LegendRow::Legs => Role::Corner,
            LegendRow::Trim => Role::Trim,
            LegendRow::Face => Role::Component,
            LegendRow::Pulled => Role::Springback,
            LegendRow::Waste => Role::Waste,
            LegendRow::Check => Role::Check,
            LegendRow::Travel => Role::Dimension,
        }
    }

    fn sample(self, drawing: &mut Drawing, from: Point) {
        let role = self.role();
        match self {
            LegendRow::Tick | LegendRow::Trim | LegendRow::Face => {
                drawing.line(role, from.shifted(4.5, -1.5), from.shifted(4.5, 1.5));
            }
            LegendRow::Waste => {
                for step in 0..4u8 {
                    let foot = from.shifted(1.0 + 2.0 * f64::from(step), -1.2);
                    drawing.line(role, foot, foot.shifted(2.4, 2.4));
                }
            }
            LegendRow::Break => {
                let zigzag = [(4.5, -1.6), (4.5, -0.5), (5.5, -0.25), (3.5, 0.25), (4.5, 0.5), (4.5, 1.6)];
                for pair in zigzag.map(|(x, y)| from.shifted(x, y)).windows(2) {
                    if let &[a, b] = pair {
                        drawing.line(role, a, b);
                    }
                }
            }
            LegendRow::Travel => {
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
pub(crate) fn rows(drawing: &Drawing, plane: &Plane, window: &Rect) -> Vec<LegendRow> {
    let seen = |row: LegendRow| drawing.items.iter().any(|item| item.role == row.role());
    let tick = || plane.bends.iter().any(|b| window.has(b.arc.from()) || window.has(b.arc.to()));
    let left = || {
        let mut breaks = plane.stops().into_iter().filter(|s| matches!(s.kind, DrawnEndKind::Break { .. }));
        breaks.any(|stop| window.has(stop.at))
    };
    let shown = |row: &LegendRow| match row {
        LegendRow::Tick => tick(),
        LegendRow::Break => left(),
        row => seen(*row),
    };
    LegendRow::VARIANTS.iter().copied().filter(shown).collect()
}

/// Draws the legend with its upper left corner at `at`; 44 mm wide.
pub(crate) fn legend(at: Point, rows: &[LegendRow]) -> Drawing {
    let mut heads = vec!["All lengths in mm."];
    if rows.contains(&LegendRow::Tick) {
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
        let room = extents(&legend(Point::new(0.0, 0.0), LegendRow::VARIANTS)).expect("drawn");
        assert!(room.min.x >= -1e-9 && room.width() <= 43.5, "{room:?}");
        assert!(room.max.y <= 0.0 && room.height() <= 44.0, "{room:?}");
    }
}
