//! Test pieces: a comb that finds a machine's kerf and slot fit, and a gauge that finds a printed groove's
//! clearance.

use std::f64::consts::{FRAC_PI_2, PI};

use super::{Engraving, Part, SheetWork, Words};
use crate::flat::{Arc, Edge, Line, Path, Point};
use crate::quantity::trimmed;
use crate::spec::model::Workshop;

/// How much wider than the sheet is thick the comb's slots are, mm.
const SLOT_FITS: [f64; 10] = [-0.15, -0.1, -0.05, 0.0, 0.05, 0.1, 0.15, 0.2, 0.3, 0.4];

/// Blocks that are laid side by side to measure the kerf.
pub const KERF_BLOCKS: usize = 10;

/// Width of one block as drawn, mm.
pub const KERF_BLOCK_MM: f64 = 10.0;

/// Height of the blocks, mm: long enough to line up by.
const KERF_BLOCK_HIGH_MM: f64 = 25.0;

/// Least width of a comb's tooth, mm: room for its figures, and stiff.
const TOOTH_MM: f64 = 10.0;

/// Depth of a comb's slots and height of its back, mm.
const SLOT_DEEP_MM: f64 = 15.0;
const BACK_MM: f64 = 14.0;

/// Capitals of the figures, mm.
const FIGURE_MM: f64 = 2.6;

/// Kerf (mm) by which all blocks, cut along their nominal outlines, are together less wide than drawn: each
/// loses half a kerf on either side. `measured` is their width side by side, mm.
///
/// ```
/// # use tubewright::tooling::trial::kerf;
/// // Ten blocks of 10 mm that measure 98 mm together.
/// assert!((kerf(98.0) - 0.2).abs() < 1e-12);
/// ```
pub fn kerf(measured: f64) -> f64 {
    (KERF_BLOCKS as f64 * KERF_BLOCK_MM - measured) / KERF_BLOCKS as f64
}

/// The comb: slots of rising width, a feeler to try in them, and blocks to find the kerf by.
///
/// Slots that the cut is too wide for are left out; where the sheet is too small for all, they are shared out
/// among several parts.
pub fn comb(workshop: &Workshop) -> SheetWork {
    let stock = &workshop.sheet;
    let thickness = stock.thickness;
    let fits: Vec<f64> = SLOT_FITS.into_iter().filter(|fit| thickness + fit > stock.kerf).collect();
    let room = stock.width.max(stock.height) - 2.0 * stock.spacing.max(stock.kerf);
    let mut parts: Vec<Part> = fits
        .chunks(most_slots(thickness, room))
        .enumerate()
        .map(|(index, fits)| slots(thickness, fits, index))
        .collect();
    if !parts.is_empty() {
        parts.push(feeler(thickness));
    }
    let corner = Point::new(KERF_BLOCK_MM, KERF_BLOCK_HIGH_MM);
    let middle = Point::new(corner.x / 2.0, corner.y / 2.0);
    parts.extend((1..=KERF_BLOCKS).map(|number| Part {
        name: format!("k{number}"),
        outline: polygon(&[(0.0, 0.0), (corner.x, 0.0), (corner.x, corner.y), (0.0, corner.y)]),
        openings: Vec::new(),
        marks: vec![words(middle, FRAC_PI_2, format!("k{number}"))],
    }));
    SheetWork { name: "comb".to_owned(), thickness, parts, posed: Vec::new() }
}

/// Width of a comb's tooth, mm: stiff, and with its slot as wide as the longest figure.
fn tooth(thickness: f64) -> f64 {
    let figures = SLOT_FITS.map(|fit| trimmed(fit).chars().count()).into_iter().max().unwrap_or_default();
    TOOTH_MM.max(thickness).max((figures as f64 + 1.0) * FIGURE_MM - thickness)
}

/// How many slots a comb has that is no longer than `room` mm; at least one.
fn most_slots(thickness: f64, room: f64) -> usize {
    let widest = thickness + SLOT_FITS.into_iter().fold(0.0, f64::max);
    let tooth = tooth(thickness);
    // As a fall below 0 makes 0, a comb that is too long is one slot long.
    (((room - tooth) / (tooth + widest)).floor() as usize).max(1)
}

fn slots(thickness: f64, fits: &[f64], index: usize) -> Part {
    let tooth = tooth(thickness);
    let high = BACK_MM + SLOT_DEEP_MM;
    let mut marks = Vec::new();
    let mut top = vec![(0.0, high)];
    let mut x = tooth;
    for &fit in fits {
        let wide = thickness + fit;
        top.extend([(x, high), (x, BACK_MM), (x + wide, BACK_MM), (x + wide, high)]);
        let below = Point::new(x + wide / 2.0, BACK_MM - 2.0 - FIGURE_MM);
        marks.push(words(below, 0.0, trimmed(fit)));
        x += wide + tooth;
    }
    top.push((x, high));
    // Counter-clockwise: along the foot to the right, back along the teeth.
    let corners: Vec<(f64, f64)> = [(0.0, 0.0), (x, 0.0)].into_iter().chain(top.into_iter().rev()).collect();
    let name = if index == 0 { "comb".to_owned() } else { format!("comb{}", index + 1) };
    // The shortest words that say what it is for go where there is no room for more.
    let said = [format!("{name}, sheet {} mm: slot_fit", trimmed(thickness)), "slot_fit".to_owned()];
    let fitting = said.into_iter().find(|words| (words.chars().count() as f64 + 1.0) * FIGURE_MM < x);
    marks.extend(fitting.map(|said| words(Point::new(x / 2.0, 3.5), 0.0, said)));
    Part { name, outline: polygon(&corners), openings: Vec::new(), marks }
}

/// A piece whose edge goes into the slots.
fn feeler(thickness: f64) -> Part {
    let (wide, high) = (40.0, 25.0_f64.max(2.0 * thickness));
    Part {
        name: "feeler".to_owned(),
        outline: polygon(&[(0.0, 0.0), (wide, 0.0), (wide, high), (0.0, high)]),
        openings: Vec::new(),
        marks: vec![words(Point::new(wide / 2.0, high / 2.0), 0.0, "feeler".to_owned())],
    }
}

fn words(at: Point, angle: f64, content: String) -> Engraving {
    Engraving::Words(Words { at, height: FIGURE_MM, angle, content })
}

fn polygon(corners: &[(f64, f64)]) -> Path {
    Path::polygon(corners.iter().map(|&(x, y)| Point::new(x, y)))
}

/// A bar with grooves of rising clearance for one tube diameter. Printed as it stands: its grooves open
/// sideways, as a form's does. The upper back corner is cut off, to tell which way up it was printed.
#[derive(Debug, Clone, PartialEq)]
pub struct GrooveGauge {
    /// Name, fit for a path: `groove-15`.
    pub name: String,
    /// Outside diameter of the tube, mm.
    pub od: f64,
    /// Clearances of its grooves, mm, lowest groove first.
    pub clearances: Vec<f64>,
    /// Its section, x away from the grooves' backs and y upwards: closed, counter-clockwise.
    pub section: Path,
    /// Length along the grooves, mm.
    pub length: f64,
}

/// Clearances tried, mm.
const CLEARANCES: [f64; 6] = [0.0, 0.05, 0.1, 0.15, 0.2, 0.3];

/// Between two grooves, below the lowest and above the highest, mm.
const LIP_MM: f64 = 4.0;

/// Behind the deepest groove, mm.
const BEHIND_MM: f64 = 6.0;

/// Length along the grooves, mm: enough to feel how the tube lies.
const LONG_MM: f64 = 20.0;

/// Legs of the triangle cut off the upper back corner, mm.
const CUT_OFF_MM: f64 = 2.0;

/// One gauge for each tube diameter, with as many grooves as the printer is high.
pub fn groove_gauges(ods: &[f64], workshop: &Workshop) -> Vec<GrooveGauge> {
    let [.., high] = workshop.printer.bed;
    ods.iter().filter_map(|&od| gauge(od, high)).collect()
}

/// `None` where not even one groove goes below the printer's height.
fn gauge(od: f64, high: f64) -> Option<GrooveGauge> {
    let front = BEHIND_MM + od / 2.0 + CLEARANCES.iter().copied().fold(0.0, f64::max);
    let mut grooves = Vec::new();
    let mut clearances = Vec::new();
    let mut top = 0.0;
    for clearance in CLEARANCES {
        let radius = od / 2.0 + clearance;
        let above = top + LIP_MM + 2.0 * radius;
        if above + LIP_MM > high {
            break;
        }
        let centre = Point::new(front, top + LIP_MM + radius);
        grooves.push(Arc { centre, radius, start: -FRAC_PI_2, sweep: -PI });
        clearances.push(clearance);
        top = above;
    }
    let upper = top + LIP_MM;
    let last = grooves.last()?.to();
    let corners = [
        last,
        Point::new(front, upper),
        Point::new(CUT_OFF_MM, upper),
        Point::new(0.0, upper - CUT_OFF_MM),
        Point::new(0.0, 0.0),
        Point::new(front, 0.0),
    ];
    let mut edges: Vec<Edge> =
        corners.windows(2).map(|pair| Edge::Line(Line { from: pair[0], to: pair[1] })).collect();
    let mut at = Point::new(front, 0.0);
    for groove in grooves {
        edges.push(Edge::Line(Line { from: at, to: groove.from() }));
        edges.push(Edge::Arc(groove));
        at = groove.to();
    }
    Some(GrooveGauge {
        name: format!("groove-{}", trimmed(od)),
        od,
        clearances,
        section: Path { edges, closed: true },
        length: LONG_MM,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::flat::path_extents;
    use crate::tooling::nest::nest;

    /// The fits of a comb's slots, from left to right.
    fn fits(comb: &SheetWork) -> Vec<f64> {
        let slots = |part: &Part| -> Vec<f64> {
            let floors = part.outline.edges.iter().filter(|e| e.from().y == BACK_MM && e.to().y == BACK_MM);
            floors.rev().map(|e| e.from().x - e.to().x - comb.thickness).collect()
        };
        comb.parts.iter().filter(|part| part.name.starts_with("comb")).flat_map(slots).collect()
    }

    #[test]
    fn slots_rise_about_the_sheet_s_thickness_on_as_many_combs_as_the_sheet_needs() {
        for (thickness, size, combs) in [
            (6.0, (600.0, 400.0), 1),
            (0.5, (600.0, 400.0), 1),
            (20.0, (300.0, 200.0), 2),
            (6.0, (60.0, 70.0), 4),
        ] {
            let mut workshop = Workshop::default();
            workshop.sheet.thickness = thickness;
            (workshop.sheet.width, workshop.sheet.height) = size;
            let comb = comb(&workshop);
            assert_eq!(comb.parts.iter().filter(|part| part.name.starts_with("comb")).count(), combs);
            let found = fits(&comb);
            assert_eq!(found.len(), SLOT_FITS.len());
            assert!(found.iter().zip(SLOT_FITS).all(|(found, wanted)| (found - wanted).abs() < 1e-9));
            // Nothing needs a larger sheet, and no cut is lost.
            assert!(nest(&comb.parts, &workshop.sheet).sheets.iter().all(|&sheet| sheet == size));
            let lost = |part: &Part| part.kerfed(workshop.sheet.kerf).unwrap().lost;
            assert_eq!(comb.parts.iter().map(lost).sum::<usize>(), 0);
        }
    }

    #[test]
    fn slots_too_narrow_for_the_cut_are_left_out() {
        let mut workshop = Workshop::default();
        workshop.sheet.kerf = 6.0;
        let found = fits(&comb(&workshop));
        assert!(found.len() == 6 && found.iter().all(|fit| *fit > 0.049));
        workshop.sheet.kerf = 8.0;
        assert!(comb(&workshop).parts.iter().all(|part| part.name.starts_with('k')));
    }

    #[test]
    fn blocks_side_by_side_are_as_wide_as_the_formula_takes_them_to_be() {
        let comb = comb(&Workshop::default());
        let blocks = comb.parts.iter().filter(|part| part.name.starts_with('k'));
        let wide: f64 = blocks.map(|part| path_extents(&part.outline).unwrap().width()).sum();
        // Cut along their outlines with a cut of 0.2 mm each is 0.2 mm less wide.
        assert!((kerf(wide - KERF_BLOCKS as f64 * 0.2) - 0.2).abs() < 1e-9);
    }

    #[test]
    fn gauges_have_a_groove_for_each_clearance_that_the_bed_has_room_for() {
        let mut workshop = Workshop::default();
        let [small, large] =
            [&groove_gauges(&[15.0, 54.0], &workshop)[0], &groove_gauges(&[54.0], &workshop)[0]];
        assert_eq!(small.clearances, CLEARANCES);
        assert_eq!(large.clearances, &CLEARANCES[..4]);
        for gauge in [small, large] {
            let bounds = path_extents(&gauge.section).unwrap();
            assert!(bounds.height() <= 250.0 && bounds.min == Point::new(0.0, 0.0));
            let ends = gauge.section.edges.iter().zip(gauge.section.edges.iter().cycle().skip(1));
            assert!(ends.clone().all(|(a, b)| a.to().distance(b.from()) < 1e-9));
            let radii: Vec<f64> = gauge
                .section
                .edges
                .iter()
                .filter_map(|e| if let Edge::Arc(arc) = e { Some(arc.radius - gauge.od / 2.0) } else { None })
                .collect();
            assert!(radii.iter().zip(&gauge.clearances).all(|(r, c)| (r - c).abs() < 1e-12));
        }
        workshop.printer.bed[2] = 50.0;
        assert!(groove_gauges(&[54.0], &workshop).is_empty());
    }
}
