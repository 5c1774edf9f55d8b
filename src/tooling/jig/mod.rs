//! Checking jigs: a base board with uprights that a rightly bent tube drops into.

mod marks;
mod parts;
mod place;
mod pose;
mod quad;
mod region;
mod sense;
mod stand;
#[cfg(test)]
mod tests;
mod tube;

use rayon::prelude::*;

use self::place::{Effort, Placed};
use self::tube::TubeInJig;
use super::SheetWork;
use crate::centreline::{LaidRun, Layout};
use crate::diagnostic::{Diagnostic, Diagnostics};
use crate::geometry::{Placement, Point3, Vector3};
use crate::quantity::{Unit, decimals};
use crate::spec::model::Workshop;

/// Purposes of uprights.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Duty {
    /// Holds the tube in a saddle open at the top.
    Cradle,
    /// Stands against the datum end.
    Stop,
    /// Stands just beyond the other end: a tube that is too long does not drop in. Taken out for trimming.
    Gate,
    /// Stands just beyond a bend, where nothing else feels that the straight before it is too long: the
    /// straight after it runs back alongside.
    Guard,
}

/// An upright on the base board.
#[derive(Debug, Clone, PartialEq)]
pub struct Upright {
    /// Its part in the jig's work.
    pub part: usize,
    /// Its purpose.
    pub duty: Duty,
    /// Where along the finished tube, mm from the datum end.
    pub station: f64,
    /// The tube's centreline there, in the jig's space.
    pub at: Point3,
    /// Unit direction of the tube there, in the jig's space.
    pub direction: Vector3,
}

/// How small an error of one bend's angle a jig shows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sense {
    /// Bend number from the datum end, from 1.
    pub bend: usize,
    /// Smallest error of its angle at which the tube no longer drops in, rad, with the tube held true before
    /// the bend; none where no cradle or gate feels it.
    pub least_error: Option<f64>,
}

/// The checking jig of one run. Jig space: x and y along the base board, z up, z = 0 on its upper face.
#[derive(Debug, Clone, PartialEq)]
pub struct Jig {
    /// The run.
    pub run: String,
    /// Where the run's space lies in the jig's: its origin, its z axis and its x axis.
    pub tube: Placement,
    /// Base board and uprights, put together in the jig's space. The base is part 0.
    pub work: SheetWork,
    /// The uprights, datum end first.
    pub uprights: Vec<Upright>,
    /// The least error that it shows of each bend.
    pub senses: Vec<Sense>,
}

/// Most bends of a run that has a jig.
const MOST_BENDS: usize = 100;

/// Longest run that has a jig, mm.
const MOST_LENGTH_MM: f64 = 50_000.0;

/// Most bends of all runs of a spec together that have jigs: beyond some dozens of boards nobody cuts them in one go,
/// and they are most of the work of a build.
const MOST_BENDS_IN_ALL: usize = 4_000;

/// A jig for every run that one can be made for; findings say for which not, and what a jig does not show.
pub fn jigs(layout: &Layout, findings: &mut Diagnostics) -> Vec<Jig> {
    let made = |(laid, in_all): (&LaidRun, usize)| {
        if let Some(beyond) = beyond(laid, in_all, layout.units) {
            return Err(beyond);
        }
        let design = design(laid, &layout.workshop).map_err(|why| none(laid, why))?;
        Ok((design.unshown(laid, layout.units), design.jig(&laid.run.name, &layout.workshop)))
    };
    let mut in_all = 0;
    let counted = layout.runs.iter().map(|laid| {
        in_all += laid.centreline.bends().len();
        (laid, in_all)
    });
    let counted: Vec<(&LaidRun, usize)> = counted.collect();
    let designs: Vec<Result<_, Box<Diagnostic>>> = counted.into_par_iter().map(made).collect();
    let mut jigs = Vec::with_capacity(designs.len());
    for design in designs {
        match design {
            Ok((unshown, jig)) => {
                findings.extend(unshown);
                jigs.push(jig);
            }
            Err(why) => findings.push(*why),
        }
    }
    jigs
}

/// Says that a run has no jig, and why.
fn none(laid: &LaidRun, why: &str) -> Box<Diagnostic> {
    let name = &laid.run.name;
    let message = format!("run {name} has no checking jig: {why}");
    let hint = "check it against its template, or lengthen the straights";
    Box::new(Diagnostic::warning("no-jig", message).hint(hint).at(laid.run.place).run(name))
}

/// Says that a run is beyond what a jig is made for, by how much, if it is. `in_all` bends are in the runs up to and
/// with this one.
fn beyond(laid: &LaidRun, in_all: usize, unit: Unit) -> Option<Box<Diagnostic>> {
    let name = &laid.run.name;
    let (bends, length) = (laid.centreline.bends().len(), laid.centreline.length());
    let why = match bends {
        _ if bends > MOST_BENDS => format!("{bends} bends; a jig is made for {MOST_BENDS} at most"),
        _ if length > MOST_LENGTH_MM => {
            let [own, most] = [length, MOST_LENGTH_MM].map(|mm| match unit {
                Unit::Inch => unit.length_to(mm, 0),
                _ => format!("{} m", decimals(mm / 1000.0, 1)),
            });
            format!("{own} of tube; a jig is made for {most} at most")
        }
        _ if in_all > MOST_BENDS_IN_ALL => {
            let message = format!(
                "run {name} has no checking jig: jigs are made for the first {MOST_BENDS_IN_ALL} bends of a spec, and the runs up to it have {in_all}"
            );
            let hint = format!("build it by itself: --run {name}");
            let warning = Diagnostic::warning("jig-limit", message).hint(hint);
            return Some(Box::new(warning.at(laid.run.place).run(name)));
        }
        _ => return None,
    };
    let message = format!("run {name} has no checking jig: it has {why}");
    let hint = "check it against its template, divide it into runs that are joined, or look for a slip in its lengths";
    Some(Box::new(Diagnostic::warning("jig-limit", message).hint(hint).at(laid.run.place).run(name)))
}

/// Ways up times the square of straights that are worked out in full for one run, until one is without fault: the
/// work grows as this does.
const MOST_LAID: usize = 3_400;

/// A jig worked out for one way up.
struct Design {
    to: Placement,
    tube: TubeInJig,
    placed: Placed,
    senses: Vec<Sense>,
    blind_straights: Vec<usize>,
}

/// The first jig without fault among the ways up, or the one with the least.
fn design(laid: &LaidRun, shop: &Workshop) -> Result<Design, &'static str> {
    let radius = laid.run.tube.od() / 2.0;
    let mut best: Option<(f64, Design)> = None;
    let mut why = None;
    let tube = TubeInJig::new(&laid.centreline, radius);
    let effort = Effort::default();
    let ways = (MOST_LAID / (tube.bends.len() + 1).pow(2)).max(1);
    for up in pose::ups(&laid.centreline, &tube, &shop.jig, shop.sheet.thickness).into_iter().take(ways) {
        if effort.is_spent() {
            break;
        }
        let to = pose::placed(&laid.centreline, &tube, up, place::lift(shop));
        match worked_out(laid, to, radius, shop, &effort) {
            Ok(design) => {
                let faults = design.faults();
                if faults == 0.0 {
                    return Ok(design);
                }
                if best.as_ref().is_none_or(|(least, _)| faults < *least) {
                    best = Some((faults, design));
                }
            }
            Err(reason) => why = why.or(Some(reason)),
        }
    }
    best.map(|(_, design)| design).ok_or(why.unwrap_or("there is no way to lay it"))
}

fn worked_out(
    laid: &LaidRun,
    to: Placement,
    radius: f64,
    shop: &Workshop,
    effort: &Effort,
) -> Result<Design, &'static str> {
    let tube = TubeInJig::new(&laid.centreline.moved(&to), radius);
    let mut placed = place::place(&tube, shop, effort)?;
    let blind = sense::unfelt_straights(&tube, &placed.stands);
    place::guard(&tube, shop, effort, &mut placed, &blind);
    let errors = sense::least_errors(&tube, &placed.stands);
    let senses = tube.bends.iter().zip(errors);
    let senses = senses.map(|(bend, least_error)| Sense { bend: bend.number, least_error }).collect();
    let blind_straights = sense::unfelt_straights(&tube, &placed.stands);
    Ok(Design { to, tube, placed, senses, blind_straights })
}

/// Weight of a cradle saved against an error that is not shown.
const DROPPED: f64 = 0.3;

impl Design {
    /// Bends of which an error of 2° is not shown.
    fn blind_bends(&self) -> impl Iterator<Item = usize> + '_ {
        let shown = sense::SHOWN_DEG.to_radians();
        let blind = move |s: &&Sense| s.least_error.is_none_or(|least| least > shown);
        self.senses.iter().filter(blind).map(|s| s.bend)
    }

    fn faults(&self) -> f64 {
        let blind = self.blind_bends().count() + self.blind_straights.len();
        blind as f64 + DROPPED * self.placed.dropped as f64
    }

    /// Warnings of what the jig does not show.
    fn unshown(&self, laid: &LaidRun, unit: Unit) -> Vec<Diagnostic> {
        let name = &laid.run.name;
        let warning = |what: String| {
            Diagnostic::warning("jig-blind", format!("the jig of run {name} does not show {what}"))
                .hint("check that against the template, or with a rule and an angle gauge")
                .at(laid.run.place)
                .run(name)
        };
        let degrees = sense::SHOWN_DEG;
        let bends = self
            .blind_bends()
            .map(|bend| warning(format!("an error of {degrees}° of bend {bend}")).bend(bend));
        let straights = self.blind_straights.iter().map(|&number| {
            let which = match number {
                n if n > self.tube.bends.len() => "the last straight".to_owned(),
                n => format!("the straight before bend {n}"),
            };
            warning(format!("that {which} is {} too long", unit.length(sense::SHOWN_MM)))
        });
        bends.chain(straights).collect()
    }

    fn jig(self, run: &str, shop: &Workshop) -> Jig {
        let stands = &self.placed.stands;
        let uprights = stands.iter().enumerate().map(|(index, stand)| Upright {
            part: index + 1,
            duty: stand.duty,
            station: stand.station,
            at: stand.at,
            direction: stand.direction,
        });
        Jig {
            run: run.to_owned(),
            tube: self.to,
            work: parts::work(run, stands, &self.tube, &shop.sheet),
            uprights: uprights.collect(),
            senses: self.senses,
        }
    }
}
