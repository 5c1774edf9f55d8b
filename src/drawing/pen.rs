//! How each role is drawn on paper: line width, dashes, colour. Black on white first.

use super::item::Role;
use crate::palette::Rgb;

/// A pen.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pen {
    /// Line width, mm.
    pub width: f64,
    /// Lengths of dashes and gaps in turn, mm; empty for a full line.
    pub dashes: &'static [f64],
    /// Colour of lines and words.
    pub colour: Rgb,
}

const BLACK: Rgb = Rgb(0, 0, 0);

/// Long dash, gap, dot, gap.
const DASH_DOT: &[f64] = &[6.0, 1.2, 0.6, 1.2];

/// Long dash and two dots: a moving part in its other position, as in ISO 128 (line type 05.1; from memory).
const DASH_DOT_DOT: &[f64] = &[3.0, 0.8, 0.5, 0.8, 0.5, 0.8];

/// Short dashes.
const DASHED: &[f64] = &[1.6, 1.0];

/// Long dashes.
const LONG_DASHED: &[f64] = &[3.0, 1.2];

/// Dots long enough for a home printer.
const DOTTED: &[f64] = &[0.5, 0.8];

/// The pen of a role.
pub fn pen(role: Role) -> Pen {
    let full = |width| Pen { width, dashes: &[], colour: BLACK };
    match role {
        // 0.15 mm: the middle of the line is the edge, and half its width is below a hair's.
        Role::TubeEdge => full(0.15),
        Role::Centreline => Pen { dashes: DASH_DOT, ..full(0.1) },
        Role::Tangent => full(0.3),
        // Nothing thin and full but the tube's edge runs far: legs and check sizes are broken lines.
        Role::Corner => Pen { dashes: LONG_DASHED, ..full(0.1) },
        Role::Check => Pen { dashes: DOTTED, ..full(0.1) },
        Role::Dimension | Role::Note | Role::Title | Role::Waste => full(0.1),
        Role::Trim => full(0.4),
        Role::Springback => Pen { dashes: DASH_DOT_DOT, ..full(0.1) },
        Role::ToolMark => full(0.7),
        Role::Middle => Pen { dashes: DASHED, ..full(0.2) },
        Role::Inside => Pen { dashes: LONG_DASHED, ..full(0.35) },
        Role::SideUp => Pen { dashes: DASH_DOT, ..full(0.2) },
        Role::Anneal => Pen { dashes: DOTTED, ..full(0.2) },
        Role::Component | Role::Outline | Role::Scale => full(0.2),
        Role::Hidden => Pen { dashes: DASHED, ..full(0.1) },
        Role::Registration => full(0.15),
        Role::Cut | Role::Drill => full(0.15),
        Role::CutKerf => Pen { colour: Rgb(200, 30, 30), ..full(0.1) },
        Role::Engrave => Pen { colour: Rgb(30, 60, 180), ..full(0.1) },
    }
}

/// A role's name in files: lower-case words joined by hyphens.
pub fn name(role: Role) -> &'static str {
    match role {
        Role::TubeEdge => "tube-edge",
        Role::Centreline => "centreline",
        Role::Tangent => "tangent",
        Role::Corner => "corner",
        Role::Trim => "trim",
        Role::Waste => "waste",
        Role::Dimension => "dimension",
        Role::Check => "check",
        Role::Springback => "springback",
        Role::ToolMark => "tool-mark",
        Role::Middle => "middle",
        Role::Inside => "inside",
        Role::SideUp => "side-up",
        Role::Anneal => "anneal",
        Role::Component => "component",
        Role::Outline => "outline",
        Role::Hidden => "hidden",
        Role::Scale => "scale",
        Role::Registration => "registration",
        Role::Cut => "cut",
        Role::CutKerf => "cut-kerf",
        Role::Drill => "drill",
        Role::Engrave => "engrave",
        Role::Note => "note",
        Role::Title => "title",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_role_has_a_pen_and_a_name_of_its_own() {
        let mut names: Vec<&str> = Role::ALL.iter().map(|&r| name(r)).collect();
        assert!(Role::ALL.iter().all(|&r| pen(r).width > 0.0));
        names.sort_unstable();
        names.dedup();
        assert_eq!(names.len(), Role::ALL.len());
    }
}
