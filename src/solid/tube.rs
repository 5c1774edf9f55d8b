//! A bent tube's solid: two rings swept along the centreline, closed by an annulus at each end.

use std::f64::consts::PI;

use super::curve::Motion;
use super::sweep::{bore, ring, swept};
use super::{Face, LEAST_MM, Placement, Shell, Solid, SolidFault, Surface, in_reach};
use crate::centreline::Centreline;
use crate::geometry::Frame;
use crate::spec::model::Tube;
use crate::tolerance::HALF_TURN_ROUNDING;

/// Checks what nothing later would notice: the modeller accepts a torus that crosses itself.
///
/// # Errors
/// [`SolidFault::NoLength`], [`SolidFault::TooFar`], [`SolidFault::TooSmall`],
/// [`SolidFault::BendAngle`] or [`SolidFault::RadiusTooSmall`].
pub fn check(centreline: &Centreline, tube: &Tube) -> Result<(), SolidFault> {
    if centreline.segments().is_empty() {
        return Err(SolidFault::NoLength);
    }
    in_reach(tube.od())?;
    for (what, mm) in [("a wall", tube.wall()), ("a bore", tube.bore())] {
        if mm < LEAST_MM {
            return Err(SolidFault::TooSmall { what, mm });
        }
    }
    for segment in centreline.segments() {
        let (from, to) = (segment.start(), segment.end());
        [from.x, from.y, from.z, to.x, to.y, to.z].into_iter().try_for_each(in_reach)?;
    }
    for bend in centreline.bends() {
        in_reach(bend.radius)?;
        if !(bend.angle > 0.0 && bend.angle <= PI + HALF_TURN_ROUNDING) {
            return Err(SolidFault::BendAngle { bend: bend.number, degrees: bend.angle.to_degrees() });
        }
        if bend.radius - tube.outer_radius() < LEAST_MM {
            return Err(SolidFault::RadiusTooSmall { bend: bend.number, radius: bend.radius, od: tube.od() });
        }
    }
    Ok(())
}

/// The hollow solid of a bent tube: half cylinders and half tori inside and out, flat annular ends.
///
/// Its boundary is checked to be closed and oriented; [`verify::tube`](super::verify::tube) also
/// holds the volume its faces enclose against the closed form.
///
/// # Errors
/// See [`check`]; [`SolidFault::Boundary`] would be a fault of this program.
pub fn tube(centreline: &Centreline, tube: &Tube) -> Result<Solid, SolidFault> {
    check(centreline, tube)?;
    let Frame { origin, direction, normal } = centreline.frame();
    let mut section = Placement { origin, axis: direction, x: normal };
    let mut outer = ring(section, tube.outer_radius());
    let mut inner = ring(section, tube.inner_radius());
    let mut shell = Shell::new();
    shell.push(Face::try_new(vec![outer.inverse(), inner.clone()], Surface::Plane(section.flipped()))?);
    for segment in centreline.segments() {
        let motion = Motion::part_of(segment, 1.0);
        let outside = swept(&outer, &motion)?;
        let (inside, far) = bore(&inner, &motion)?;
        (outer, inner) = (outside.far, far);
        shell.extend(outside.faces);
        shell.extend(inside);
        section = motion.placement(&section);
    }
    shell.push(Face::try_new(vec![outer, inner.inverse()], Surface::Plane(section))?);
    Ok(Solid::try_new(vec![shell])?)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::centreline::{CornerPoint, TableRow, from_corners, from_table};
    use crate::geometry::{Point3, Vector3};
    use crate::spec::model::Temper;
    use crate::tolerance::SMALLEST_BEND;
    use truck_topology::shell::ShellCondition;

    fn copper(od: f64, wall: f64) -> Tube {
        Tube::new(od, wall, "copper", None, Temper::Soft, "test").unwrap()
    }

    fn u_bend() -> Centreline {
        let corner = |x, y| CornerPoint { at: Point3::new(x, y, 0.0), radius: 38.1 };
        from_corners(
            Point3::new(0.0, 0.0, 0.0),
            &[corner(100.0, 0.0), corner(100.0, 120.0)],
            Point3::new(0.0, 120.0, 0.0),
        )
        .unwrap()
    }

    #[test]
    fn u_bend_is_closed_and_made_of_the_right_faces() {
        let solid = tube(&u_bend(), &copper(15.875, 1.245)).unwrap();
        let shell = &solid.boundaries()[0];
        assert_eq!(shell.shell_condition(), ShellCondition::Closed);
        let count = |wanted: fn(&Surface) -> bool| shell.iter().filter(|f| wanted(&f.surface())).count();
        assert_eq!(count(|s| matches!(s, Surface::Plane(_))), 2);
        assert_eq!(count(|s| matches!(s, Surface::Cylinder { .. })), 3 * 4);
        assert_eq!(count(|s| matches!(s, Surface::Torus { .. })), 2 * 4);
    }

    #[test]
    fn a_radius_within_the_tube_is_refused() {
        let row = |radius| TableRow { length: 10.0, rotation: 0.0, angle: 1.0, radius };
        let line = |radius| from_table(Frame::default(), &[row(radius)], 10.0).unwrap();
        let fault = tube(&line(7.5), &copper(15.0, 1.0)).unwrap_err();
        assert_eq!(fault, SolidFault::RadiusTooSmall { bend: 1, radius: 7.5, od: 15.0 });
        for radius in [f64::NAN, f64::INFINITY, 1e9] {
            assert!(
                matches!(tube(&line(radius), &copper(15.0, 1.0)), Err(SolidFault::TooFar(_))),
                "{radius}"
            );
        }
        tube(&line(7.502), &copper(15.0, 1.0)).unwrap();
    }

    /// Far out, rounding is a large angle about an axis that the inside of the bend nearly touches, and
    /// a large share of a tube that is hardly there.
    #[test]
    fn small_bends_far_from_the_origin_are_sound() {
        // Turned so that a seam runs along the inside of the bend.
        let row = |radius| TableRow { length: 2e-6, rotation: PI / 2.0, angle: SMALLEST_BEND, radius };
        let frame = Frame::new(Point3::new(9_000.0, -8_000.0, 7_000.0), Vector3::new(0.3, 0.4, 0.5));
        for (od, wall, radius) in [(60.0, 0.06, 30.0011), (7.88, 0.01, 4.44), (2.0, 0.9, 1.0011)] {
            let line = from_table(frame, &[row(radius)], 0.0).unwrap();
            tube(&line, &copper(od, wall)).unwrap();
        }
    }

    #[test]
    fn walls_and_bores_too_small_for_cad_are_refused() {
        let line = from_table(Frame::default(), &[], 10.0).unwrap();
        for (od, wall) in [(15.0, 1e-7), (15.0, 7.5 - 1e-7)] {
            assert!(
                matches!(tube(&line, &copper(od, wall)), Err(SolidFault::TooSmall { .. })),
                "{od} {wall}"
            );
        }
    }

    #[test]
    fn a_half_turn_and_touching_bends_are_sound() {
        let rows = [(0.0, 0.3, PI), (0.0, 1.0, 0.7), (0.0, -2.0, PI)]
            .map(|(length, rotation, angle)| TableRow { length, rotation, angle, radius: 20.0 });
        let line = from_table(Frame::default(), &rows, 0.0).unwrap();
        let solid = tube(&line, &copper(15.0, 1.0)).unwrap();
        assert_eq!(solid.boundaries()[0].len(), 2 + 3 * 4);
    }
}
