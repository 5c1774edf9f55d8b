//! A bench that follows a plan's operations: where the tube is in space after each of them, on a tool whose true
//! constants need not be those that the plan reckons with.
//!
//! # The tool's axes
//!
//! The straight tube lies along x, the end that bending begins at towards −x. The tool's reference line crosses it at
//! x = 0. The tool stays where it is, and bends always towards +y, about an axis along +z. Once a bend is let go, it
//! ends where it began, and the part of the tube that is still straight lies along +x again. Whoever bends looks along
//! +x: clockwise is right-handed about x.
//!
//! # The run's axes
//!
//! The same tube, laid with its first end and the plane of its first bend on those of the run: see [`run_frame`].
//!
//! ```
//! use tubewright::Project;
//! use tubewright::bench::{Tool, follow, run_frame};
//! use tubewright::geometry::MetricSpace;
//!
//! let spec = "
//! format: 1
//! tube: {standard: EN 1057, size: 15 x 1.0, temper: soft}
//! bender: {clr: 55}
//! runs:
//!   corner: {from: [0, 0, 0], corners: [[120, 0, 0]], to: [120, 90, 0]}
//! ";
//! let project = Project::read(spec, "corner.yaml").expect("a sound spec");
//! let (laid, run) = (&project.layout().runs[0], &project.plan().runs[0]);
//! let (from, tool) = (run.begins_at(), Tool::as_planned(run));
//! let steps: Vec<_> = follow(run.operations(from), run.cut_length, &tool).collect::<Result<_, _>>().expect("bends");
//! let bent = &steps.last().expect("a bend").tube;
//! let line = bent.laid_at(run_frame(&laid.centreline, from, run.allowances(from)[0]));
//! assert!(line.end().distance(laid.centreline.end()) < 1e-9);
//!
//! // On a tool of a radius 1 mm larger the same pull takes more tube: the leg behind the bend is too short.
//! let mut other = tool;
//! other.forms[0].clr += 1.0;
//! let steps: Vec<_> = follow(run.operations(from), run.cut_length, &other).collect::<Result<_, _>>().expect("bends");
//! let bent = &steps.last().expect("a bend").tube;
//! let line = bent.laid_at(run_frame(&laid.centreline, from, run.allowances(from)[0]));
//! // 1 mm further along x; along y 1 mm more of radius less π/2 mm more of arc.
//! assert!((line.end().x - 121.0).abs() < 1e-9 && (line.end().y - 89.429).abs() < 1e-3);
//! ```

use std::f64::consts::PI;

use crate::calibration::Formed;
use crate::centreline::{Centreline, TableRow, lay};
use crate::formula::bend::arc_length;
use crate::formula::calibration::springback;
use crate::geometry::{Frame, Point3, Vector3, turned};
use crate::plan::{BendPlan, FromEnd, Operation, RunPlan, SpringbackSource};
use crate::spec::model::MarkPoint;
use crate::tolerance::{COINCIDENT_MM, HALF_TURN_ROUNDING, SMALLEST_BEND};

#[cfg(test)]
mod tests;

/// A tool's true constants.
#[derive(Debug, Clone, PartialEq)]
pub struct Tool {
    /// The point of a bend that its reference line stands for.
    pub mark: MarkPoint,
    /// Distance from the reference line to that point, mm.
    pub datum: f64,
    /// Its constants for each bend, by the bends' numbers: `forms[0]` is for bend 1. They differ where bends are made
    /// over other formers or of softened tube.
    pub forms: Vec<Formed>,
}

impl Tool {
    /// The tool that a run's plan reckons with: on it, the plan's operations make the run.
    pub fn as_planned(run: &RunPlan) -> Self {
        let forms = run.in_order(FromEnd::Datum).map(|(bend, made)| form_as_planned(run, bend, made));
        Tool { mark: run.bender.mark, datum: run.bender.datum, forms: forms.collect() }
    }
}

fn form_as_planned(run: &RunPlan, bend: &BendPlan, made: &Operation) -> Formed {
    // Test bends in another state tell nothing of springback, but their stretch is used for this bend as well.
    let stretch = 1.0 - made.arc.length / arc_length(bend.clr, bend.angle);
    let of_metal = |rate| Formed { springback_fixed: 0.0, springback_rate: rate, clr: bend.clr, stretch };
    match bend.springback_source {
        SpringbackSource::TestBends => Formed {
            springback_fixed: run.bender.springback_fixed.unwrap_or(0.0),
            springback_rate: run.bender.springback_rate.unwrap_or(0.0),
            clr: bend.clr,
            stretch: run.bender.stretch,
        },
        // The arc keeps its length, so the angle opens as the radius does.
        SpringbackSource::Predicted => of_metal(1.0 - made.pull.radius / bend.clr),
        SpringbackSource::Unknown => of_metal(0.0),
    }
}

/// Why a bend cannot be made.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum BenchFault {
    /// It would begin on tube that is bent already.
    #[error("bend {bend} begins {by:.1} mm inside the bend made before it, or in front of the tube")]
    Overlap {
        /// Its number.
        bend: usize,
        /// By how much, mm.
        by: f64,
    },
    /// There is not enough tube left.
    #[error("bend {bend} ends {by:.1} mm beyond the tube")]
    BeyondTube {
        /// Its number.
        bend: usize,
        /// By how much, mm.
        by: f64,
    },
    /// No bend is left when it is let go, or more than half a turn.
    #[error("bend {bend} comes out at {:.2}°; a bend turns by 0.05° to 180°", .got.to_degrees())]
    Angle {
        /// Its number.
        bend: usize,
        /// The angle after letting go, rad.
        got: f64,
    },
    /// The tool has no constants for it.
    #[error("the tool has no constants for bend {bend}")]
    NoForm {
        /// Its number.
        bend: usize,
    },
}

/// A tube as it lies on the bench.
#[derive(Debug, Clone, PartialEq)]
pub struct Workpiece {
    /// Length of the cut tube, mm.
    length: f64,
    /// Its bends in the order they were made; the first has no rotation.
    rows: Vec<TableRow>,
    /// Length of tube from its first end to where it is still straight, mm.
    straight_from: f64,
    /// The tool's x of a place on the straight tube less its distance from the first end, mm.
    shift: f64,
    /// Turn of the tube since the last bend was made, right-handed about x, rad.
    turned: f64,
}

impl Workpiece {
    /// A straight tube of a cut length, mm, its first end on the reference line.
    pub fn new(length: f64) -> Self {
        Workpiece { length, rows: Vec::new(), straight_from: 0.0, shift: 0.0, turned: 0.0 }
    }

    /// Slides the tube until the place `mark` is on the reference line: mm from the first end, along the tube as it
    /// was before it was bent.
    pub fn feed(&mut self, mark: f64) {
        self.shift = -mark;
    }

    /// Turns the tube about itself by an angle, rad, clockwise.
    pub fn turn(&mut self, clockwise: f64) {
        self.turned += clockwise;
    }

    /// Bends the tube to an angle under load, rad, and lets go. `bend` is the bend's number from the datum end, by
    /// which the tool's constants are found.
    ///
    /// # Errors
    /// Where the bend cannot be made; the tube is as it was then.
    pub fn pull(&mut self, tool: &Tool, bend: usize, angle: f64) -> Result<(), BenchFault> {
        let form =
            bend.checked_sub(1).and_then(|index| tool.forms.get(index)).ok_or(BenchFault::NoForm { bend })?;
        let got = angle - springback(angle, form.springback_fixed, form.springback_rate);
        if !(SMALLEST_BEND..=PI + HALF_TURN_ROUNDING).contains(&got) {
            return Err(BenchFault::Angle { bend, got });
        }
        let takes = (1.0 - form.stretch) * arc_length(form.clr, got);
        let begins = tool.datum - tool.mark.behind_start(takes);
        let start = begins - self.shift;
        let straight = start - self.straight_from;
        if straight < -COINCIDENT_MM {
            return Err(BenchFault::Overlap { bend, by: -straight });
        }
        let beyond = start + takes - self.length;
        if beyond > COINCIDENT_MM {
            return Err(BenchFault::BeyondTube { bend, by: beyond });
        }
        // A plane that was turned clockwise lies so much clockwise of the tool's: back is anticlockwise.
        let rotation = if self.rows.is_empty() { 0.0 } else { -self.turned };
        self.rows.push(TableRow { length: straight.max(0.0), rotation, angle: got, radius: form.clr });
        self.straight_from = start + takes;
        self.shift = begins - self.straight_from;
        self.turned = 0.0;
        Ok(())
    }

    /// Length of tube that is still straight behind the last bend, mm.
    pub fn rest(&self) -> f64 {
        (self.length - self.straight_from).max(0.0)
    }

    /// The bends made so far, first made first: the straight before each, mm, the turn of its plane from that of the
    /// bend made before, rad, its angle after letting go, rad, and its finished radius, mm.
    pub fn rows(&self) -> &[TableRow] {
        &self.rows
    }

    /// Its centreline in the tool's axes, from its first end on, with the tube that is trimmed later.
    pub fn in_tool(&self) -> Centreline {
        let (x, z) = (Vector3::unit_x(), Vector3::unit_z());
        if self.rows.is_empty() {
            return lay(Frame::new(Point3::new(self.shift, 0.0, 0.0), x), &[], self.length);
        }
        // Walked from the free end, whose place is known, every bend turns the other way about.
        let end = Point3::new(self.length + self.shift, 0.0, 0.0);
        let frame = Frame { origin: end, direction: -x, normal: -turned(z, x, self.turned) };
        let rotations = std::iter::once(0.0).chain(self.rows.iter().skip(1).rev().map(|row| row.rotation));
        let mut straight = self.rest();
        let rows: Vec<TableRow> = (self.rows.iter().rev().zip(rotations))
            .map(|(row, rotation)| {
                let length = std::mem::replace(&mut straight, row.length);
                TableRow { length, rotation, ..*row }
            })
            .collect();
        lay(frame, &rows, straight).reversed()
    }

    /// The same centreline with its first end at a frame's origin, along its direction, the first bend turning about
    /// its normal.
    pub fn laid_at(&self, frame: Frame) -> Centreline {
        lay(frame, &self.rows, self.rest())
    }
}

/// The frame of a run's cut tube: its first end, the way the tube goes from there, and the axis that its first bend
/// turns about. It lies at the end that bending begins at, where `waste`, mm, is trimmed away later.
pub fn run_frame(line: &Centreline, from: FromEnd, waste: f64) -> Frame {
    let (bends, frame) = (line.bends(), line.frame());
    let (end, direction, axis) = match from {
        FromEnd::Datum => (line.start(), line.start_direction(), bends.first().map(|bend| bend.axis)),
        FromEnd::Other => (line.end(), -line.end_direction(), bends.last().map(|bend| -bend.axis)),
    };
    Frame { origin: end - direction * waste, direction, normal: axis.unwrap_or(frame.normal) }
}

/// One part of an operation.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Action {
    /// It is slid along the tool.
    Feed,
    /// It is turned about itself.
    Turn,
    /// It is bent, and let go.
    Pull,
}

/// The tube after one part of an operation.
#[derive(Debug, Clone, PartialEq)]
pub struct Step {
    /// The bend that the operation is for, by its number from the datum end.
    pub bend: usize,
    /// The part.
    pub action: Action,
    /// The tube after it.
    pub tube: Workpiece,
}

/// Follows operations on a tool with a tube of a cut length, mm: three steps for each (feed, turn, pull). It ends
/// with the first bend that cannot be made.
pub fn follow<'a>(
    operations: &'a [Operation],
    length: f64,
    tool: &'a Tool,
) -> impl Iterator<Item = Result<Step, BenchFault>> + 'a {
    let parts = operations
        .iter()
        .flat_map(|made| [Action::Feed, Action::Turn, Action::Pull].map(|part| (made, part)));
    let mut tube = Workpiece::new(length);
    let mut broken = false;
    parts.map_while(move |(made, action)| {
        if broken {
            return None;
        }
        let done = match action {
            Action::Feed => {
                tube.feed(made.feed.mark);
                Ok(())
            }
            Action::Turn => {
                tube.turn(made.turn.of_tube());
                Ok(())
            }
            Action::Pull => tube.pull(tool, made.bend, made.pull.angle),
        };
        broken = done.is_err();
        Some(done.map(|()| Step { bend: made.bend, action, tube: tube.clone() }))
    })
}
