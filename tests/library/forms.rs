//! Bending forms by numbers: what a stack and a block must be like over whole ranges of tubes and bends.

use crate::support;
use std::f64::consts::{FRAC_PI_2, PI, TAU};

use cavalier_contours::polyline::{PlineSource, PlineSourceMut, Polyline};
use proptest::prelude::*;
use tubewright::calibration::Formed;
use tubewright::centreline::{LaidRun, Layout, TableRow, from_table};
use tubewright::diagnostic::{Diagnostics, Span};
use tubewright::fit;
use tubewright::flat::{Arc, Edge, Line, Path, Point};
use tubewright::formula::springback::{BentTube, FlowLaw};
use tubewright::geometry::Frame;
use tubewright::plan::{self, SpringbackSource};
use tubewright::solid;
use tubewright::spec::model::{Anneal, GivenMetal, Temper, Tube};
use tubewright::tooling::form::{self, Form, LARGEST_ARC, OVER_BEND_UNKNOWN};
use tubewright::tooling::{Block, Engraving, Opening, Part, Purpose, Words};

use crate::support::layout;

/// A run of half-hard copper with bends (angle in degrees, radius in mm) in a plane.
fn run(index: usize, od: f64, bends: &[(f64, f64)]) -> LaidRun {
    let row = |&(angle, radius): &(f64, f64)| TableRow {
        length: 60.0,
        rotation: 0.0,
        angle: angle.to_radians(),
        radius,
    };
    let table: Vec<TableRow> = bends.iter().map(row).collect();
    let centreline = from_table(Frame::default(), &table, 60.0).unwrap();
    support::laid(index, &format!("run-{index}"), centreline, support::copper(od, od * 0.08))
}

fn forms(layout: &Layout) -> (Vec<Form>, Diagnostics) {
    let (plan, _) = plan::plan(layout, &fit::check(layout).0);
    let mut findings = Diagnostics::new();
    (form::forms(layout, &plan, &mut findings), findings)
}

fn codes(findings: &Diagnostics) -> Vec<&'static str> {
    findings.iter().map(|finding| finding.code).collect()
}

/// Distance from a point to the nearest point of an edge.
fn distance_to_edge(edge: &Edge, at: Point) -> f64 {
    match edge {
        Edge::Line(Line { from, to }) => {
            let (dx, dy) = (to.x - from.x, to.y - from.y);
            let t = ((at.x - from.x) * dx + (at.y - from.y) * dy) / (dx * dx + dy * dy);
            at.distance(from.shifted(dx * t.clamp(0.0, 1.0), dy * t.clamp(0.0, 1.0)))
        }
        Edge::Arc(arc) => {
            let angle = (at.y - arc.centre.y).atan2(at.x - arc.centre.x);
            let turned = ((angle - arc.start) * arc.sweep.signum()).rem_euclid(TAU);
            if turned <= arc.sweep.abs() {
                (at.distance(arc.centre) - arc.radius).abs()
            } else {
                at.distance(arc.from()).min(at.distance(arc.to()))
            }
        }
    }
}

fn distance(path: &Path, at: Point) -> f64 {
    path.edges.iter().map(|edge| distance_to_edge(edge, at)).fold(f64::INFINITY, f64::min)
}

/// Points spread over every edge.
fn samples(path: &Path) -> Vec<Point> {
    let along = |edge: &Edge, t: f64| match edge {
        Edge::Line(l) => l.from.shifted((l.to.x - l.from.x) * t, (l.to.y - l.from.y) * t),
        Edge::Arc(a) => a.centre.polar(a.radius, a.start + a.sweep * t),
    };
    path.edges.iter().flat_map(|edge| (0..20).map(move |n| along(edge, f64::from(n) / 19.0))).collect()
}

/// Corners, and points on arcs that are off their chords by less than a ten thousandth of the radius.
fn finely(path: &Path) -> Vec<Point> {
    let along = |edge: &Edge| match *edge {
        Edge::Line(line) => vec![line.from],
        Edge::Arc(a) => {
            (0..200).map(|n| a.centre.polar(a.radius, a.start + a.sweep * f64::from(n) / 200.0)).collect()
        }
    };
    path.edges.iter().flat_map(along).collect()
}

/// Whether a point lies inside, by turns of a polygon of samples around it.
fn inside(path: &Path, at: Point) -> bool {
    let around = finely(path);
    let angle = |p: &Point| (p.y - at.y).atan2(p.x - at.x);
    let turns: f64 = around
        .iter()
        .zip(around.iter().skip(1).chain(around.first()))
        .map(|(a, b)| (angle(b) - angle(a) + PI).rem_euclid(TAU) - PI)
        .sum();
    turns.abs() > PI
}

fn as_polyline(path: &Path) -> Polyline<f64> {
    let mut outline = Polyline::new_closed();
    for edge in path.edges.iter().flat_map(Edge::in_half_turns) {
        let bulge = if let Edge::Arc(arc) = edge { (arc.sweep / 4.0).tan() } else { 0.0 };
        outline.add(edge.from().x, edge.from().y, bulge);
    }
    outline
}

fn holes(part: &Part) -> Vec<(Point, f64, Purpose)> {
    let round = |opening: &Opening| match *opening {
        Opening::Round { at, diameter, purpose } => Some((at, diameter, purpose)),
        Opening::Slot(_) => None,
    };
    part.openings.iter().filter_map(round).collect()
}

fn the_arc(path: &Path) -> Arc {
    let arcs: Vec<Arc> =
        path.edges.iter().filter_map(|e| if let Edge::Arc(a) = e { Some(*a) } else { None }).collect();
    assert_eq!(arcs.len(), 1);
    arcs[0]
}

/// Distance of a rim's lead from the bend's centre and its slope against the arc's end.
fn check_rim(form: &Form, outline: &Path, radius: f64) -> Result<(), TestCaseError> {
    let arc = the_arc(outline);
    prop_assert!((arc.radius - radius).abs() < 1e-9 && (arc.sweep - form.arc).abs() < 1e-9);
    for end in [arc.from(), arc.to()] {
        let lead = outline.edges.iter().find_map(|e| match e {
            Edge::Line(l) if l.from.distance(end) < 1e-6 => Some((l.to.x - end.x, l.to.y - end.y)),
            Edge::Line(l) if l.to.distance(end) < 1e-6 => Some((l.from.x - end.x, l.from.y - end.y)),
            _ => None,
        });
        let (dx, dy) = lead.expect("a lead at each end of the arc");
        prop_assert!((dx.hypot(dy) - form.lead).abs() < 1e-6);
        let out_of_square = (end.x * dx + end.y * dy) / radius / dx.hypot(dy);
        prop_assert!(out_of_square.abs() < 1e-9, "lead not tangent: {}", out_of_square);
    }
    Ok(())
}

/// The stack's section: never within the groove, the groove met by every layer in it, the hollow as said.
fn check_section(form: &Form) -> Result<(), TestCaseError> {
    let (groove, thickness) = (form.od / 2.0 + form.clearance, form.stack.thickness);
    let offset = form.blocks[0].groove.offset;
    let edge = if offset > 0.0 { (groove * groove - offset * offset).sqrt() } else { groove };
    let mut hollow = 0.0_f64;
    let mut lips = [0.0, 0.0];
    for (part, posed) in form.stack.parts.iter().zip(&form.stack.posed) {
        let radius = the_arc(&part.outline).radius;
        let bottom = posed.at.origin.z;
        if radius >= form.held_radius - offset - 0.1 * form.od - 1e-9 {
            lips[usize::from(bottom > 0.0)] += thickness;
        }
        let mut nearest = f64::INFINITY;
        for n in 0..=400 {
            let z = bottom + thickness * f64::from(n) / 400.0;
            let from_tube = (form.held_radius - radius).hypot(z) - form.od / 2.0;
            nearest = nearest.min(from_tube);
            if z.abs() <= edge {
                hollow = hollow.max(from_tube);
            }
        }
        prop_assert!(nearest > form.clearance - 1e-9, "a layer reaches into the groove by {}", nearest);
        // Layers beside the groove's edge stand at the rim; the others meet the groove.
        let rim = form.held_radius - offset;
        let touches = (nearest - form.clearance).abs() < thickness / 400.0 + 1e-9;
        prop_assert!(touches || (radius - rim).abs() < 1e-9, "{} {}", radius, rim);
        prop_assert!(radius <= rim + 1e-9);
    }
    // Above and below, layers that stand at the rim.
    let lip = (form.od / 6.0).max(3.0) - 1e-9;
    prop_assert!(lips.iter().all(|height| *height >= lip), "{:?}", lips);
    prop_assert!(form.stack.parts.len() as f64 * thickness / 2.0 >= groove + lip);
    // Between two samples the distance changes by less than their step.
    prop_assert!(hollow <= form.hollow + 1e-9 && hollow > form.hollow - thickness / 400.0 - 1e-9);
    Ok(())
}

fn check_stack(form: &Form) -> Result<(), TestCaseError> {
    let thickness = form.stack.thickness;
    for (index, (part, posed)) in form.stack.parts.iter().zip(&form.stack.posed).enumerate() {
        let outline = &part.outline;
        prop_assert!(outline.closed && outline.area() > 0.0);
        for (edge, next) in
            outline.edges.iter().zip(outline.edges.iter().skip(1).chain(outline.edges.first()))
        {
            prop_assert!(edge.to().distance(next.from()) < 1e-6);
            prop_assert!(edge.from().distance(edge.to()) > 0.1, "a short edge");
        }
        prop_assert!(!as_polyline(outline).scan_for_self_intersect());
        check_rim(form, outline, the_arc(outline).radius)?;
        prop_assert_eq!(&part.name, &format!("L{}", index + 1));
        prop_assert_eq!(posed.part, index);
        if let Some(below) = index.checked_sub(1) {
            let step = posed.at.origin.z - form.stack.posed[below].at.origin.z;
            prop_assert!((step - thickness).abs() < 1e-9);
        }
        prop_assert_eq!(&part.openings, &form.stack.parts[0].openings);
        check_openings(part)?;
        check_marks(part)?;
    }
    check_section(form)
}

fn check_openings(part: &Part) -> Result<(), TestCaseError> {
    let holes = holes(part);
    let slots: Vec<&Path> = part
        .openings
        .iter()
        .filter_map(|o| if let Opening::Slot(path) = o { Some(path) } else { None })
        .collect();
    for (n, &(at, diameter, _)) in holes.iter().enumerate() {
        prop_assert!(inside(&part.outline, at));
        prop_assert!(distance(&part.outline, at) >= 1.5 * diameter - 1e-9, "a web as wide as the hole");
        for &(other, other_diameter, _) in &holes[..n] {
            prop_assert!(at.distance(other) >= diameter + other_diameter);
        }
        for slot in &slots {
            prop_assert!(!inside(slot, at) && distance(slot, at) >= diameter - 1e-9);
        }
    }
    for at in slots.iter().flat_map(|slot| samples(slot)) {
        prop_assert!(inside(&part.outline, at) && distance(&part.outline, at) > 2.99);
    }
    Ok(())
}

/// Points in the box of some words: one height of capitals per character, the widest that counts.
fn word_points(words: &Words) -> Vec<Point> {
    let (w, h) = (words.content.chars().count() as f64 * words.height / 2.0, words.height / 2.0);
    let at = |x: f64, y: f64| words.at.polar(x, words.angle).polar(y, words.angle + FRAC_PI_2);
    let mut points = Vec::new();
    for n in 0..=20 {
        let x = w * (f64::from(n) / 10.0 - 1.0);
        points.extend([at(x, -h), at(x, 0.0), at(x, h)]);
    }
    points
}

fn check_marks(part: &Part) -> Result<(), TestCaseError> {
    let words: Vec<&Words> =
        part.marks.iter().filter_map(|m| if let Engraving::Words(w) = m { Some(w) } else { None }).collect();
    let lines: Vec<&Line> =
        part.marks.iter().filter_map(|m| if let Engraving::Line(l) = m { Some(l) } else { None }).collect();
    for (n, text) in words.iter().enumerate() {
        for at in word_points(text) {
            prop_assert!(inside(&part.outline, at), "{} leaves the layer", text.content);
            prop_assert!(distance(&part.outline, at) > 1.0, "{} is too near the edge", text.content);
            for (hole, diameter, _) in holes(part) {
                prop_assert!(hole.distance(at) > diameter / 2.0 + 1.0, "{} is too near a hole", text.content);
            }
            for other in &words[..n] {
                let (dx, dy) = (at.x - other.at.x, at.y - other.at.y);
                let (sin, cos) = other.angle.sin_cos();
                let wide = other.content.chars().count() as f64 * other.height / 2.0;
                let over =
                    (dx * cos + dy * sin).abs() < wide && (dy * cos - dx * sin).abs() < other.height / 2.0;
                prop_assert!(!over, "{} lies on {}", text.content, other.content);
            }
            for line in &lines {
                let off = distance_to_edge(&Edge::Line(**line), at);
                prop_assert!(off > 0.3, "{} lies on a stroke", text.content);
            }
        }
    }
    for line in lines {
        let middle = Point::new((line.from.x + line.to.x) / 2.0, (line.from.y + line.to.y) / 2.0);
        prop_assert!(inside(&part.outline, middle));
        for at in [line.from, line.to] {
            prop_assert!(inside(&part.outline, at) || distance(&part.outline, at) < 1e-6);
        }
    }
    Ok(())
}

/// The blocks make solids, whose own check refuses openings that meet, break out or reach the groove.
fn check_blocks(form: &Form) -> Result<(), TestCaseError> {
    for block in form.blocks.iter().chain([&form.follower]) {
        if let Err(fault) = solid::block(block) {
            return Err(TestCaseError::fail(format!("{}: {fault}", block.name)));
        }
        prop_assert!(
            (block.height - 2.0 * (form.od / 2.0 + form.clearance + (form.od / 5.0).max(3.0))).abs() < 1e-9
        );
    }
    Ok(())
}

/// Area within a block's contour, mm².
fn area(block: &Block) -> f64 {
    let back = block.back.windows(2).map(|c| Edge::Line(Line { from: c[0], to: c[1] }));
    -Path { edges: block.rim.iter().copied().chain(back).collect(), closed: true }.area()
}

/// Both halves of a form together are the form: areas, what they carry, and dowels that meet in the cut.
fn check_halves(form: &Form, whole: &Form) -> Result<(), TestCaseError> {
    let ([a, b], [one]) = (form.blocks.as_slice(), whole.blocks.as_slice()) else {
        return Err(TestCaseError::fail("two halves of one block"));
    };
    prop_assert_eq!((a.name.as_str(), b.name.as_str()), ("form-a", "form-b"));
    prop_assert!((area(a) + area(b) - area(one)).abs() < 1e-6 && (area(a) - area(b)).abs() < 1e-6);
    prop_assert_eq!(a.holes.len() + b.holes.len(), one.holes.len());
    prop_assert_eq!(a.slots.len() + b.slots.len(), one.slots.len());
    // Half a turn of the plane about the axis of symmetry takes one half to the other.
    let axis = FRAC_PI_2 - form.arc / 2.0;
    let mirrored = |at: Point| {
        let (sin, cos) = (2.0 * axis).sin_cos();
        Point::new(at.x * cos + at.y * sin, at.x * sin - at.y * cos)
    };
    for (p, q) in a.back.iter().zip(b.back.iter().rev()) {
        prop_assert!(mirrored(*p).distance(*q) < 1e-9);
    }
    let places = |block: &Block| -> Vec<Point> {
        let place = |hole: &tubewright::tooling::SideHole| {
            let (from, to) = (block.back[hole.side], block.back[hole.side + 1]);
            from.polar(hole.along, (to.y - from.y).atan2(to.x - from.x))
        };
        block.side_holes.iter().map(place).collect()
    };
    prop_assert_eq!(a.side_holes.len(), b.side_holes.len());
    for (p, q) in places(a).into_iter().zip(places(b)) {
        prop_assert!(p.distance(q) < 1e-9 && mirrored(p).distance(p) < 1e-9, "a dowel on the cut");
    }
    for block in &form.blocks {
        for at in block.sunk.iter().chain(&block.slots).flat_map(samples) {
            prop_assert!(at.distance(mirrored(at)) / 2.0 > 1.49, "a mark too near the cut");
        }
        for (at, diameter, _) in &block.holes {
            prop_assert!(at.distance(mirrored(*at)) / 2.0 >= diameter / 2.0 + 1.5 - 1e-9);
        }
    }
    Ok(())
}

fn check_split(od: f64, clr: f64, angle: f64, bed: f64) -> Result<(), TestCaseError> {
    let mut layout = layout(vec![run(0, od, &[(angle, clr)])]);
    layout.workshop.printer.bed = [5000.0, 5000.0, 5000.0];
    let (whole, _) = forms(&layout);
    layout.workshop.printer.bed = [bed, bed * 1.2, 250.0];
    // The size of the bed is told where the spec gives it.
    layout.workshop.place = Some(Span { line: 1, column: 1, start: 0, end: 0 });
    let (split, findings) = forms(&layout);
    prop_assert_eq!(whole.len(), split.len());
    let ([whole], [split]) = (whole.as_slice(), split.as_slice()) else { return Ok(()) };
    check_blocks(split)?;
    prop_assert_eq!(whole.blocks.len(), 1);
    if split.blocks.len() == 1 {
        prop_assert_eq!(&whole.blocks, &split.blocks);
    } else {
        check_halves(split, whole)?;
        let holes = split.blocks[0].side_holes.len();
        prop_assert!(holes == 2 || codes(&findings).contains(&"form-hole"));
    }
    // A block whose area is more than the bed's never fits.
    for block in &split.blocks {
        prop_assert!(area(block) <= bed * bed * 1.2 || codes(&findings).contains(&"printer-bed"));
    }
    Ok(())
}

fn check_form(od: f64, clr: f64, angle: f64, thickness: f64, depth: f64) -> Result<(), TestCaseError> {
    let mut layout = layout(vec![run(0, od, &[(angle, clr)])]);
    layout.workshop.sheet.thickness = thickness;
    layout.workshop.form.depth = depth;
    let (forms, findings) = forms(&layout);
    if forms.is_empty() {
        prop_assert_eq!(codes(&findings), vec!["form-rim"]);
        prop_assert!(clr < od * 0.6 + 1.5, "no form for a wide bend");
        return Ok(());
    }
    prop_assert_eq!(forms.len(), 1);
    let form = &forms[0];
    let pull_to = form.bends[0].pull_to;
    prop_assert!(pull_to >= angle.to_radians() && form.held_radius <= clr);
    let known = form.source == SpringbackSource::Predicted;
    let beyond = if known { layout.workshop.form.over_bend } else { OVER_BEND_UNKNOWN };
    prop_assert!((form.arc - (pull_to + beyond).min(LARGEST_ARC)).abs() < 1e-9);
    prop_assert_eq!(codes(&findings).contains(&"form-arc"), pull_to > form.arc);
    check_stack(form)?;
    check_blocks(form)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 96, ..ProptestConfig::default() })]

    #[test]
    fn forms_of_every_size_are_sound(
        od in 3.0..60.0f64, diameters in 0.7..10.0f64, angle in 1.0..180.0f64, thickness in 2.0..12.0f64,
        depth in 0.25..0.6f64,
    ) {
        check_form(od, od * diameters, angle, thickness, depth)?;
    }

    #[test]
    fn forms_for_u_bends_are_sound(
        od in 3.0..30.0f64, diameters in 0.7..10.0f64, angle in 170.0..=180.0f64, thickness in 2.0..12.0f64,
    ) {
        check_form(od, od * diameters, angle, thickness, 0.5)?;
    }

    #[test]
    fn halves_fit_and_mirror_each_other(
        od in 3.0..60.0f64, diameters in 0.7..10.0f64, angle in 1.0..=180.0f64, bed in 50.0..300.0f64,
    ) {
        check_split(od, od * diameters, angle, bed)?;
    }
}

/// The tube of a law as the run's own.
fn tube(od: f64, wall: f64, material: &str, temper: Temper) -> Tube {
    Tube::new(od, wall, material, None, temper, "test").unwrap()
}

/// Bends as they relax from the form: angle and radius, by the law alone.
fn relaxed(law: FlowLaw, modulus: f64, od: f64, wall: f64, form: &Form) -> Vec<(f64, f64)> {
    let tube = BentTube { od, wall, modulus, law };
    let lost = tube.lost_share(form.held_radius);
    form.bends.iter().map(|b| (b.pull_to * (1.0 - lost), tube.released(form.held_radius).unwrap())).collect()
}

#[test]
fn a_tube_wound_on_the_form_relaxes_to_the_bend_wanted() {
    // Annealed copper by its hardening law, half-hard by its flow stress, steel by what the spec gives.
    let soft = FlowLaw::Power { strength: 530.0, exponent: 0.44 };
    let given =
        GivenMetal { modulus: Some(205e3), yield_strength: Some(300.0), elongation: None, hardening: None };
    let none = GivenMetal { modulus: None, yield_strength: None, ..given };
    let cases = [
        ("copper", Temper::Soft, Anneal::Auto, none, soft, 117_200.0),
        ("copper", Temper::HalfHard, Anneal::Never, none, FlowLaw::Plastic { stress: 250.0 }, 117_200.0),
        ("copper", Temper::HalfHard, Anneal::Always, none, soft, 117_200.0),
        ("copper", Temper::Hard, Anneal::Always, none, soft, 117_200.0),
        ("steel", Temper::Hard, Anneal::Never, given, FlowLaw::Plastic { stress: 300.0 }, 205e3),
    ];
    for (material, temper, anneal, metal, law, modulus) in cases {
        for (od, wall, clr) in [(15.0, 1.0, 55.0), (8.0, 0.8, 20.0), (28.0, 1.2, 110.0)] {
            let mut laid = run(0, od, &[(90.0, clr), (33.0, clr), (180.0, clr)]);
            laid.run.tube = tube(od, wall, material, temper).with_metal(metal);
            laid.run.anneal = anneal;
            let (forms, _) = forms(&layout(vec![laid]));
            assert_eq!((forms.len(), forms[0].source), (1, SpringbackSource::Predicted));
            let form = &forms[0];
            assert!(form.held_radius < clr);
            let relaxed = relaxed(law, modulus, od, wall, form);
            assert_eq!(relaxed.len(), 3);
            for ((angle, radius), bend) in relaxed.iter().zip(&form.bends) {
                assert!((radius / clr - 1.0).abs() < 1e-6, "{material} {temper:?} {radius} for {clr}");
                assert!((angle / bend.angle - 1.0).abs() < 1e-6, "{material} {temper:?} {angle}");
            }
        }
    }
}

#[test]
fn test_bends_take_their_rate_off_the_radius_and_unknown_springback_nothing() {
    let mut tested = run(0, 15.0, &[(90.0, 55.0)]);
    let formed = Formed { springback_fixed: 0.02, springback_rate: 0.03, clr: 55.0, stretch: 0.0 };
    tested.formed = Some(formed);
    let (forms_of_tested, _) = forms(&layout(vec![tested]));
    assert_eq!(forms_of_tested[0].source, SpringbackSource::TestBends);
    assert!((forms_of_tested[0].held_radius - 55.0 * 0.97).abs() < 1e-9);

    let mut unknown = run(0, 15.0, &[(90.0, 55.0)]);
    unknown.run.tube = tube(15.0, 1.0, "titanium", Temper::Hard);
    let (forms_of_unknown, _) = forms(&layout(vec![unknown]));
    let form = &forms_of_unknown[0];
    assert_eq!((form.source, form.held_radius), (SpringbackSource::Unknown, 55.0));
    assert!((form.arc.to_degrees() - 100.0).abs() < 1e-9);
}

#[test]
fn one_form_for_each_tube_radius_and_springback() {
    let mut hard = run(1, 15.0, &[(45.0, 55.0)]);
    hard.run.tube = tube(15.0, 15.0 * 0.08, "copper", Temper::HalfHard);
    let runs = vec![
        run(0, 15.0, &[(90.0, 55.0), (90.04, 55.0), (45.0, 80.0)]),
        hard,
        run(2, 15.875, &[(30.0, 38.0)]),
        run(3, 15.0, &[(60.0, 55.0)]),
    ];
    let (forms, findings) = forms(&layout(runs));
    assert!(findings.is_empty(), "{:?}", codes(&findings));
    let names: Vec<&str> = forms.iter().map(|form| form.name.as_str()).collect();
    assert_eq!(names, ["15-r55-held53.8", "15-r55-held54.1", "15-r80", "15.875-r38"]);
    let angles: Vec<f64> = forms[1].bends.iter().map(|b| b.angle.to_degrees().round()).collect();
    assert_eq!(angles, [60.0, 90.0]);
}

#[test]
fn a_blocks_top_shows_start_ticks_ends_and_numbers() {
    let (forms, _) = forms(&layout(vec![run(0, 15.0, &[(90.0, 55.0), (50.0, 55.0)])]));
    let block = &forms[0].blocks[0];
    // Strokes that lie along a spoke: degrees from the start of bend, distance off the spoke, length.
    let strokes: Vec<(f64, f64)> = block
        .sunk
        .iter()
        .filter_map(|mark| {
            let corners: Vec<Point> = mark.edges.iter().map(Edge::from).collect();
            let length = corners[0].distance(corners[1]);
            let (x, y) = (
                corners.iter().map(|c| c.x).sum::<f64>() / 4.0,
                corners.iter().map(|c| c.y).sum::<f64>() / 4.0,
            );
            (x.hypot(y) > 35.0 && length > 3.0).then(|| (90.0 - y.atan2(x).to_degrees(), length))
        })
        .collect();
    let near = |degrees: f64, off: f64| strokes.iter().filter(|s| (s.0 - degrees).abs() < off).count();
    // The mark for the start is the longest.
    let longest = strokes.iter().copied().reduce(|a, b| if b.1 > a.1 { b } else { a }).unwrap();
    assert!(longest.0.abs() < 1e-6);
    // Ends are pairs about their spoke; ticks stand where none is near.
    for bend in &forms[0].bends {
        assert_eq!(near(bend.pull_to.to_degrees(), 2.0), 2, "{strokes:?}");
    }
    for tick in [15.0, 30.0, 75.0] {
        assert_eq!(near(tick, 1e-6), 1, "{strokes:?}");
    }
    // More marks than strokes: the bars of figures.
    assert!(block.sunk.len() >= strokes.len() + 8, "{} {}", block.sunk.len(), strokes.len());
}

#[test]
fn a_bend_without_an_inside_has_no_form_and_the_rest_is_built() {
    let (forms, findings) = forms(&layout(vec![run(0, 20.0, &[(90.0, 10.0), (90.0, 60.0)])]));
    assert_eq!(codes(&findings), ["form-rim"]);
    assert_eq!(forms.len(), 1);
    assert_eq!(forms[0].name, "20-r60");
}

#[test]
fn a_stack_of_a_usual_form_by_hand() {
    // 15 mm, 6 mm sheets, clearance 0.1, half round. With a joint in the middle the inner two sheets end 6 mm
    // up, at √(7.6² + 6²) − 7.5 = 2.183 mm from the tube; the next two meet the groove at √(7.6² − 6²) = 4.665
    // from its axis and leave √(4.665² + 7.6²) − 7.5 = 1.417 mm; beyond them stands a lip on either side. With
    // a sheet in the middle the second one would span 3 to 7.6 mm at √(7.6² − 3²) = 6.983 mm and leave
    // √(6.983² + 7.6²) − 7.5 = 2.821 mm. So six sheets rather than five.
    let (forms, _) = forms(&layout(vec![run(0, 15.0, &[(90.0, 55.0)])]));
    let form = &forms[0];
    assert_eq!(form.stack.parts.len(), 6);
    assert!((form.hollow - 2.1830).abs() < 1e-4, "{}", form.hollow);
    let radii: Vec<f64> =
        form.stack.parts.iter().map(|part| form.held_radius - the_arc(&part.outline).radius).collect();
    for (found, wanted) in radii.iter().zip([0.1, 4.6648, 7.6, 7.6, 4.6648, 0.1]) {
        assert!((found - wanted).abs() < 1e-4, "{radii:?}");
    }
}

#[test]
fn a_spec_of_very_many_radii_has_the_first_forms_and_says_so() {
    let radii = |count: usize| {
        let runs = (0..count).map(|n| run(n, 15.0, &[(90.0, 60.0 + n as f64 / 4.0)])).collect();
        forms(&layout(runs))
    };
    let (made, findings) = radii(100);
    assert_eq!(made.len(), 100);
    assert!(!codes(&findings).contains(&"form-limit"), "{findings:?}");
    let (made, findings) = radii(103);
    assert_eq!(made.len(), 100);
    let said: Vec<_> = findings.iter().filter(|finding| finding.code == "form-limit").collect();
    assert_eq!(said.len(), 1);
    assert_eq!(said[0].run.as_deref(), Some("run-100"));
    assert!(said[0].message.contains("need 103 forms, and 100 are made at most"), "{}", said[0].message);
}
