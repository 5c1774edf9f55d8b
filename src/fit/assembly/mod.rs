//! Whether the tubes can be put in, and in which order.
//!
//! A rigid tube slides in its port along the port's axis only. It comes out straight where all ports that hold it face
//! one way; or one port takes it deeper, until the other lets it go, and it is turned about its axis and drawn out; or
//! components are set back from their tubes along the axes of their ports, others going deeper meanwhile, or left out for
//! the time. Nothing else is tried: no component is turned, and none takes a tube along that sits in another of its ports. A tube is followed
//! until both its ends are free; from there it is carried by hand. Bodies of fittings are loose parts that are drawn
//! back along the tubes, and in nobody's way.

mod motion;
mod open;
mod parts;
mod search;
mod ways;

use std::collections::BTreeSet;

use self::parts::{Held, Parts};
use self::search::{Apart, Found, Search};
use self::ways::Drawn;
use crate::centreline::Layout;
use crate::diagnostic::Diagnostic;
use crate::geometry::{Point3, Vector3};

/// Most tubes for which an order is looked for.
const MOST_TUBES: usize = 60;

/// How a loop is put together.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Assembly {
    /// The steps in their order; none where no tube goes into a port, or where there is no order.
    pub steps: Vec<AssemblyStep>,
    /// Names of the runs that hold each other, so that none of them can be put in.
    pub stuck: Vec<String>,
    /// Whether there was too much to look at.
    pub is_cut_short: bool,
}

/// A step of putting a loop together. Directions are unit vectors, the ways of travel.
#[derive(Debug, Clone, PartialEq)]
pub enum AssemblyStep {
    /// A tube is laid in its place, where nothing holds it yet.
    Laid {
        /// Its run.
        run: String,
    },
    /// A tube slides straight into its ports.
    Straight {
        /// Its run.
        run: String,
        /// The way it goes.
        along: Vector3,
        /// How far, mm.
        travel: f64,
        /// The ports it goes into.
        into: Vec<Joint>,
    },
    /// A tube slides deeper into one port, turned out of line; is turned into line; and is drawn back into the other.
    Turned {
        /// Its run.
        run: String,
        /// The way it goes into the first port.
        along: Vector3,
        /// How far, mm.
        travel: f64,
        /// A point of the line it is turned about, which goes `along`.
        about: Point3,
        /// Its turn into line, rad, right-handed about `along`.
        turn: f64,
        /// Its way back, mm.
        back: f64,
        /// The port it goes into first, and the other one if it goes into two.
        into: Vec<Joint>,
    },
    /// A component is set back from its tubes; without a travel it is left out.
    Away {
        /// The component.
        component: String,
        /// The way it goes.
        along: Vector3,
        /// How far, mm.
        travel: Option<f64>,
    },
    /// A component comes back to its place.
    Home {
        /// The component.
        component: String,
        /// The way it goes.
        along: Vector3,
        /// How far, mm; `None` for one that was left out.
        travel: Option<f64>,
        /// The tubes that slide into it.
        onto: Vec<Joint>,
    },
}

/// A tube in a port.
#[derive(Debug, Clone, PartialEq)]
pub struct Joint {
    /// The tube's run.
    pub run: String,
    /// The port's full name.
    pub port: String,
    /// How deep the tube goes, mm.
    pub insert: f64,
}

/// Looks for an order of assembly of a whole layout. The finding tells the runs that cannot be put in.
pub(super) fn assembly(layout: &Layout) -> (Assembly, Option<Diagnostic>) {
    let parts = Parts::of(layout);
    let tubes: Vec<usize> = (0..parts.tubes.len()).filter(|index| parts.tubes[*index].has_place).collect();
    let is_held = |end: &Held| end.hold > 0.0;
    if !tubes.iter().any(|index| parts.tubes[*index].ends.iter().flatten().any(is_held)) {
        return (Assembly::default(), None);
    }
    if tubes.len() > MOST_TUBES {
        return (Assembly { is_cut_short: true, ..Assembly::default() }, None);
    }
    let found = Search::of(&parts).take_apart(&tubes);
    if found.is_cut_short {
        return (Assembly { is_cut_short: true, ..Assembly::default() }, None);
    }
    if found.stuck.is_empty() {
        return (Assembly { steps: read_backwards(&parts, &found), ..Assembly::default() }, None);
    }
    let names = found.stuck.iter().map(|index| parts.tubes[*index].name.clone()).collect();
    let finding = open::cannot_be_put_in(layout, &parts, &found.stuck);
    (Assembly { stuck: names, ..Assembly::default() }, Some(finding))
}

/// The steps of taking apart as those of putting together.
fn read_backwards(parts: &Parts, found: &Found) -> Vec<AssemblyStep> {
    let mut fitted: BTreeSet<usize> = BTreeSet::new();
    let mut steps = Vec::with_capacity(found.steps.len());
    for step in found.steps.iter().rev() {
        match step {
            Apart::Tube(tube, drawn) => {
                fitted.insert(*tube);
                steps.extend(put_in(parts, *tube, drawn));
            }
            Apart::Home { body, way, travel } => steps.extend(parts.bodies.get(*body).map(|body| {
                AssemblyStep::Away { component: body.name.clone(), along: *way, travel: *travel }
            })),
            Apart::Away { body, way, travel } => {
                steps.extend(parts.bodies.get(*body).map(|own| AssemblyStep::Home {
                    component: own.name.clone(),
                    along: -*way,
                    travel: *travel,
                    onto: onto(parts, &fitted, *body, -*way),
                }));
            }
        }
    }
    steps
}

/// The ends of these tubes that slide into a component that moves along a unit vector.
fn onto(parts: &Parts, fitted: &BTreeSet<usize>, body: usize, along: Vector3) -> Vec<Joint> {
    let slides = |end: &&Held| end.component == body && end.hold > 0.0 && end.lets_go(along, end.hold);
    let tubes = fitted.iter().filter_map(|index| parts.tubes.get(*index));
    tubes
        .flat_map(|tube| tube.ends.iter().flatten().filter(slides).map(|end| joint(&tube.name, end)))
        .collect()
}

fn joint(run: &str, end: &Held) -> Joint {
    Joint { run: run.to_owned(), port: end.port.clone(), insert: end.insert }
}

fn put_in(parts: &Parts, index: usize, drawn: &Drawn) -> Option<AssemblyStep> {
    let tube = parts.tubes.get(index)?;
    let run = tube.name.clone();
    Some(match *drawn {
        Drawn::Lifted => AssemblyStep::Laid { run },
        Drawn::Straight { way, travel, ends } => {
            let into = [0, 1].into_iter().filter(|end| ends[*end]).filter_map(|end| tube.ends[end].as_ref());
            let into = into.map(|end| joint(&run, end)).collect();
            AssemblyStep::Straight { along: -way, travel, into, run }
        }
        Drawn::Turned { end, deeper, turn, travel } => {
            let held = tube.ends[end].as_ref()?;
            let other = tube.ends[1 - end].as_ref().filter(|_| deeper > 0.0);
            AssemblyStep::Turned {
                along: -held.facing,
                travel,
                about: held.face,
                // Back again, and about the line the other way round.
                turn: turn.angle,
                back: deeper,
                into: [Some(held), other].into_iter().flatten().map(|end| joint(&run, end)).collect(),
                run,
            }
        }
    })
}
