//! How the two ends of a run sit in their ports.

use super::corner::{NextCorner, as_written};
use super::{copies, diameter, slips};
use crate::centreline::{LaidRun, Layout};
use crate::diagnostic::Diagnostic;
use crate::geometry::{InnerSpace, Point3, Vector3, angle_between};
use crate::quantity::Unit;
use crate::spec::model::{End, Fitting, PortFault, RunPath};
use crate::tolerance::NO_STRAIGHT_MM;

/// Largest misfit of position at an end without a fitting, mm: common practice, no source.
const MAX_SIDE: f64 = 0.5;

/// Rounding of an angle that was typed in degrees, rad.
const ANGLE_ROUNDING: f64 = 1e-9;

/// One end as the tube really comes out.
struct Arrival<'a> {
    /// The run and everything around it.
    layout: &'a Layout,
    /// The run.
    laid: &'a LaidRun,
    /// Unit of the spec's bare numbers.
    unit: Unit,
    /// The end as specified.
    end: &'a End,
    /// Whether it is the datum end.
    at_start: bool,
    /// Centre of the tube's end.
    at: Point3,
    /// Unit direction from the end into the tube.
    inward: Vector3,
    /// Unbent tube at this end, mm.
    straight: f64,
}

/// A finding at an end of a run.
pub(super) struct PortFinding {
    /// Whether it is the datum end.
    pub(super) at_start: bool,
    /// The finding.
    pub(super) finding: Diagnostic,
}

/// A finding for every way an end of `laid` misses what its port or fitting asks. All are warnings but a tube that
/// cannot go into its fitting or cannot seal there.
pub(super) fn check(laid: &LaidRun, layout: &Layout) -> Vec<PortFinding> {
    let unit = layout.units;
    let mut findings = Vec::new();
    let centreline = &laid.centreline;
    let taken = |end: &Option<End>| {
        let body = end.as_ref().and_then(|end| end.fitting.as_ref()).map_or(0.0, Fitting::body_length);
        end.as_ref().map_or(0.0, End::insert) + body
    };
    let (first, last) = match centreline.bends().first() {
        Some(bend) => (bend.straight_before, centreline.end_straight()),
        // One straight piece: the tube in the other port, and in the body of its fitting, does not stand out of this one.
        None => {
            let whole = centreline.length();
            (whole - taken(&laid.run.to), whole - taken(&laid.run.from))
        }
    };
    let ends = [
        (&laid.run.from, true, centreline.start(), centreline.start_direction(), first),
        (&laid.run.to, false, centreline.end(), -centreline.end_direction(), last),
    ];
    for (end, at_start, at, inward, straight) in ends {
        let Some(end) = end else { continue };
        let arrival = Arrival { layout, laid, unit, end, at_start, at, inward, straight };
        findings.extend(arrival.check().map(|finding| PortFinding { at_start, finding }));
    }
    findings
}

impl Arrival<'_> {
    fn check(&self) -> impl Iterator<Item = Diagnostic> {
        let fitting = self.end.fitting.as_ref();
        let (angle, place) = self.check_arrival();
        [
            angle,
            place,
            fitting.and_then(|fitting| self.check_straight(fitting)),
            fitting.and_then(|fitting| self.check_od(fitting)),
        ]
        .into_iter()
        .flatten()
    }

    fn port(&self) -> &str {
        let unnamed = if self.at_start { "its start" } else { "its end" };
        self.end.port.as_deref().or(self.end.image_of.as_deref()).unwrap_or(unnamed)
    }

    fn is_bend_table(&self) -> bool {
        matches!(self.laid.run.path, RunPath::Bends { .. })
    }

    fn warning(&self, code: &'static str, message: &str, hint: &str) -> Diagnostic {
        let name = &self.laid.run.name;
        let warning = Diagnostic::warning(code, format!("run {name}: {message}")).hint(hint);
        warning.at(self.end.place).run(name).port(self.port())
    }

    /// How far the tube is turned off the way its end faces, rad, where that is more than it takes.
    fn turned_off(&self) -> Option<f64> {
        let facing = self.end.facing?;
        let takes = |facing| angle_between(self.inward, facing) <= self.end.max_angle() + ANGLE_ROUNDING;
        // A port that was told to face the wrong way, and would take the tube if it were turned round, or another way.
        let told = self.end.slip.is_some_and(|slip| match slip.fault {
            PortFault::FacesInward => takes(-facing),
            PortFault::Along => true,
            PortFault::Inside => false,
        });
        (!takes(facing) && !told).then(|| angle_between(self.inward, facing))
    }

    /// The findings of how the tube arrives and of where. Both are one where one change cures them.
    fn check_arrival(&self) -> (Option<Diagnostic>, Option<Diagnostic>) {
        let (angle, place) = (self.check_angle(), self.check_place(None));
        let is_one = match (&angle, &place) {
            (Some(angle), Some(place)) => angle.hint == place.hint || self.laid.run.from.is_none(),
            _ => false,
        };
        if is_one { (None, self.check_place(self.turned_off())) } else { (angle, place) }
    }

    fn check_angle(&self) -> Option<Diagnostic> {
        let facing = self.end.facing?;
        let most = self.end.max_angle();
        self.turned_off().map(|angle| {
            let (off, most) = (angle.to_degrees(), most.to_degrees());
            let port = self.end.port.as_ref().or(self.end.image_of.as_ref());
            let message = match (port, self.at_start) {
                (Some(port), _) => format!("the tube leaves {port} {off:.2}° off the way it faces"),
                (None, true) => format!("the tube leaves the point in `from` {off:.2}° off its `facing`"),
                (None, false) => format!("the tube reaches the point in `to` {off:.2}° off its `facing`"),
            };
            let message = format!("{message}; {most:.2}° is the most it takes");
            let hint = match &self.laid.run.copy {
                Some(copy) => {
                    let back = as_written(&self.layout.components, self.end, -facing);
                    copies::angle(self.laid, copy, (self.end, facing, self.at_start), back, self.unit)
                }
                None => self.angle_hint(facing),
            };
            self.warning("port-angle", &message, &hint)
        })
    }

    /// The corner next to this end.
    fn next_corner(&self) -> Option<NextCorner<'_>> {
        NextCorner::of(self.layout, self.laid, self.end, self.at_start)
    }

    /// Advice on a tube that does not lie on the way its end faces.
    fn angle_hint(&self, facing: Vector3) -> String {
        if let Some(corner) = self.next_corner() {
            return corner.on_the_way(facing);
        }
        if !self.is_bend_table() {
            return "its two ends do not lie on one line along the ports: give the run `corners:`".to_owned();
        }
        let table = if self.at_start { None } else { slips::table(self.laid, self.end, self.unit) };
        table.unwrap_or_else(|| "change the angles or rotations of the table, or turn the port".to_owned())
    }

    /// Where a bend table really ends, and how far it is `turned` there, rad, where that is of the same cause. A run
    /// through corners ends where it is told to.
    fn check_place(&self, turned: Option<f64>) -> Option<Diagnostic> {
        if !self.is_bend_table() {
            return None;
        }
        let off = self.at - self.end.at;
        let axis = self.end.facing.unwrap_or(self.inward);
        let beyond = -off.dot(axis);
        let beside = (off + axis * beyond).magnitude();
        let most = self.end.fitting.as_ref().map_or(MAX_SIDE, |fitting| fitting.max_side);
        (beside.hypot(beyond) > most + NO_STRAIGHT_MM).then(|| {
            let along = if beyond > 0.0 { "beyond" } else { "short of" };
            let where_to = match (&self.end.port, &self.end.image_of) {
                (Some(port), _) => format!("port {port}"),
                (None, Some(image)) => image.clone(),
                (None, None) => "the point given for its end".to_owned(),
            };
            let hint = self.place_hint(most);
            let [far, aside, most] = [beyond.abs(), beside, most].map(|mm| self.unit.length_with(mm, 2));
            let off = match (shows(beyond.abs()), shows(beside)) {
                (true, true) => format!("{far} {along} {where_to} and {aside} to the side"),
                (false, _) => format!("{aside} to the side of {where_to}"),
                (true, false) => format!("{far} {along} {where_to}"),
            };
            let message = match turned {
                None => format!("the tube ends {off}; at most {most} off is allowed"),
                Some(angle) => format!(
                    "the tube ends {off}, and {:.2}° off the way it should face; at most {most} and {:.2}° off are allowed",
                    angle.to_degrees(),
                    self.end.max_angle().to_degrees()
                ),
            };
            let hint = match self.laid.run.from {
                Some(_) => hint,
                None => format!("`from` is missing, so the tube was laid from the origin: add it; or {hint}"),
            };
            self.warning("port-side", &message, &hint)
        })
    }

    /// What to change for a bend table to end where it should, at most so many mm off.
    fn place_hint(&self, most: f64) -> String {
        if let Some(copy) = &self.laid.run.copy {
            return copies::bends(self.laid, copy, self.end, self.unit);
        }
        let goal = if self.end.port.is_some() { "move the port" } else { "the point in `to`" };
        slips::end_length(self.laid, self.end, most, self.unit)
            .or_else(|| slips::table(self.laid, self.end, self.unit))
            .unwrap_or_else(|| format!("change the lengths or angles of the table, or {goal}"))
    }

    fn check_straight(&self, fitting: &Fitting) -> Option<Diagnostic> {
        let outside = self.straight - fitting.insert;
        let straight = fitting.straight_outside();
        // A loose part that cannot be drawn back is told where the fitting has the straight it needs once it is joined.
        let slides = outside >= straight - NO_STRAIGHT_MM;
        let wanted = if slides { fitting.slide_back } else { straight };
        (outside < wanted - NO_STRAIGHT_MM).then(|| {
            let (port, name) = (self.port(), &fitting.name);
            let needed = self.unit.length(wanted);
            let message = if outside < 0.0 {
                let inside = self.unit.length(-outside);
                format!("the bend next to {port} begins {inside} inside it; {name} needs {needed} of straight tube outside")
            } else if slides {
                format!(
                    "{} of straight tube stand out of {port}; the loose part of {name} needs {needed} to be drawn back while joining",
                    self.unit.length(outside)
                )
            } else {
                format!("{} of straight tube stand out of {port}; {name} needs {needed}", self.unit.length(outside))
            };
            // Rounded up, so that what is shown is enough.
            let short = wanted.max(fitting.slide_back) - outside - 1e-7;
            let lacking = self.unit.length_up(short, 1);
            let only = || self.next_corner().and_then(|corner| corner.further_off(self.port(), short));
            let hint = if let Some(copy) = &self.laid.run.copy {
                copies::straight(&self.laid.run, copy, self.end, self.at_start, &lacking)
            } else if self.is_bend_table() {
                format!("make the straight next to the port longer by {lacking}")
            } else if self.laid.centreline.bends().is_empty() {
                format!("move the two ports apart by {lacking}")
            } else {
                only().unwrap_or_else(|| format!("move the corner next to the port away from it by {lacking}"))
            };
            self.warning(if slides { "slide-back" } else { "port-straight" }, &message, &hint)
        })
    }

    fn check_od(&self, fitting: &Fitting) -> Option<Diagnostic> {
        let run = &self.laid.run;
        let found = diameter::check(run.tube.od(), fitting, self.port(), &run.name, self.unit);
        found.map(|finding| finding.at(self.end.place).run(&run.name).port(self.port()))
    }
}

/// Whether two decimals show more than nothing.
fn shows(mm: f64) -> bool {
    mm >= 0.005
}
