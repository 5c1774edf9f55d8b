//! A bench on which a virtual tube is bent by what a plan says, and by nothing else.
//!
//! The tube lies along +x; its reference line crosses the tube at x = 0; the tool always bends towards +y
//! about an axis along +z, and stays where it is. Whoever bends looks along +x from the end they began at.
//! The tool alone decides how much tube a bend takes and what comes out of it.

use std::f64::consts::PI;

use serde_json::Value;
use tubewright::geometry::{InnerSpace, Vector3};

/// What a tool makes of a tube, besides the bends that are made over another form.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Tool {
    /// Distance from its reference line to the point the line stands for, mm.
    pub(crate) datum: f64,
    /// That point as a part of the tube a bend takes: 0 its start, 0.5 its middle, 1 its end.
    pub(crate) point: f64,
}

/// What one bend becomes on a tool: constants of the tool for that bend.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Form {
    /// Centreline radius of the finished bend, mm.
    pub(crate) clr: f64,
    /// What the arc gains in length, as a part of the finished arc.
    pub(crate) stretch: f64,
    /// Springback at an angle of 0, rad.
    pub(crate) fixed: f64,
    /// Springback per angle pulled.
    pub(crate) rate: f64,
}

impl Form {
    /// What comes out of a pull: the angle after letting go, rad.
    pub(crate) fn got(&self, pulled: f64) -> f64 {
        pulled - (self.fixed + self.rate * pulled)
    }

    /// Straight tube that an arc of `angle` is made of, mm.
    pub(crate) fn takes(&self, angle: f64) -> f64 {
        self.clr * angle * (1.0 - self.stretch)
    }
}

/// How the marks are set and the turns are read off.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(crate) struct Way {
    /// From the other end instead of the datum end.
    pub(crate) other_end: bool,
    /// Each mark from where the last bend really ended, instead of all from the tube's end.
    pub(crate) from_last_end: bool,
    /// The clock line of each bend brought to the tool's side, instead of a turn from the last bend.
    pub(crate) by_clock: bool,
}

impl Way {
    /// All there are.
    pub(crate) fn all() -> Vec<Way> {
        let flags = [false, true];
        flags
            .into_iter()
            .flat_map(|other_end| flags.map(|from_last_end| (other_end, from_last_end)))
            .flat_map(|(other_end, from_last_end)| {
                flags.map(|by_clock| Way { other_end, from_last_end, by_clock })
            })
            .collect()
    }
}

/// One end of a tube: where it is and the unit direction into the tube.
#[derive(Debug, Clone, Copy)]
pub(crate) struct TubeEnd {
    pub(crate) at: Vector3,
    pub(crate) into: Vector3,
}

/// A tube in space: both ends, and the axis its first bend turns about, right-handed when walked from the
/// first end; none without bends.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Shape {
    pub(crate) first: TubeEnd,
    pub(crate) last: TubeEnd,
    pub(crate) axis: Option<Vector3>,
}

/// How far the last end is from where it should be.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Miss {
    pub(crate) mm: f64,
    pub(crate) deg: f64,
}

impl Miss {
    /// Within 0.05 mm and 0.05°.
    pub(crate) fn fits(self) -> bool {
        self.mm <= 0.05 && self.deg <= 0.05
    }

    /// Nothing but the rounding of the plan's numbers: within 0.001 mm and 0.001°.
    pub(crate) fn is_rounding(self) -> bool {
        self.mm <= 1e-3 && self.deg <= 1e-3
    }
}

fn turned(v: Vector3, axis: Vector3, angle: f64) -> Vector3 {
    // Rodrigues' formula.
    v * angle.cos() + axis.cross(v) * angle.sin() + axis * (axis.dot(v) * (1.0 - angle.cos()))
}

/// The tube on the bench.
struct Bench {
    /// Length of tube from its first end to where it is still straight, mm.
    straight_from: f64,
    /// Bench x of a place on the straight tube less its distance along the tube.
    shift: f64,
    /// The first end as it lies now.
    first: TubeEnd,
    /// Axis of the first bend as it lies now.
    axis: Option<Vector3>,
    /// How far the tube has been turned about itself in all, right-handed about +x, rad.
    turned: f64,
    length: f64,
}

impl Bench {
    fn new(length: f64) -> Self {
        let first = TubeEnd { at: Vector3::new(0.0, 0.0, 0.0), into: Vector3::unit_x() };
        Bench { straight_from: 0.0, shift: 0.0, first, axis: None, turned: 0.0, length }
    }

    /// Slides the tube until the place `mark` mm along it is on the reference line.
    fn feed(&mut self, mark: f64) {
        let by = -mark - self.shift;
        self.shift += by;
        self.first.at.x += by;
    }

    /// Turns the whole tube about itself, right-handed about +x.
    fn turn(&mut self, angle: f64) {
        let x = Vector3::unit_x();
        self.first = TubeEnd { at: turned(self.first.at, x, angle), into: turned(self.first.into, x, angle) };
        self.axis = self.axis.map(|axis| turned(axis, x, angle));
        self.turned += angle;
    }

    /// Pulls the tool to an angle and lets go; then lays the tube so that what is still straight lies along
    /// +x again.
    fn pull(&mut self, tool: Tool, form: Form, pulled: f64) -> Result<(), String> {
        let got = form.got(pulled);
        let takes = form.takes(got);
        let x = tool.datum - tool.point * takes;
        let start = x - self.shift;
        if start < self.straight_from - 1e-5 {
            return Err(format!("a bend begins {:.4} mm inside the last one", self.straight_from - start));
        }
        if start + takes > self.length + 1e-5 {
            return Err("a bend ends beyond the tube".to_owned());
        }
        let centre = Vector3::new(x, form.clr, 0.0);
        let z = Vector3::unit_z();
        self.first = TubeEnd {
            at: centre + turned(self.first.at - centre, z, -got),
            into: turned(self.first.into, z, -got),
        };
        self.axis = Some(self.axis.map_or(z, |axis| turned(axis, z, -got)));
        self.straight_from = start + takes;
        self.shift = x - self.straight_from;
        Ok(())
    }

    /// The tube with its ends trimmed.
    fn trimmed(self, first: f64, last: f64, first_bend_at: f64) -> Result<Shape, String> {
        if first > first_bend_at + 1e-5 || last > self.length - self.straight_from + 1e-5 {
            return Err("trimmed into a bend".to_owned());
        }
        let at = Vector3::new(self.length - last + self.shift, 0.0, 0.0);
        Ok(Shape {
            first: TubeEnd { at: self.first.at + self.first.into * first, into: self.first.into },
            last: TubeEnd { at, into: -Vector3::unit_x() },
            axis: self.axis,
        })
    }
}

fn number(value: &Value, key: &str) -> f64 {
    value[key].as_f64().unwrap_or_else(|| panic!("{key} of {value}"))
}

/// Bends a run by its plan, which is one of the `runs` of `plan.json`. `forms` say what the tool makes of each
/// of its bends, datum end first.
pub(crate) fn bend(run: &Value, tool: Tool, forms: &[Form], way: Way) -> Result<Shape, String> {
    let bends = run["bends"].as_array().expect("bends");
    let rows = if way.other_end { run["from_other_end"].as_array().expect("bends") } else { bends };
    assert_eq!(rows.len(), bends.len(), "as many bends from either end");
    let mut bench = Bench::new(number(run, "cut_length_mm"));
    let mut first_bend_at = bench.length;
    for (index, row) in rows.iter().enumerate() {
        let mark = if way.from_last_end {
            bench.straight_from + number(row, "from_last_end_mm")
        } else {
            number(row, "mark_mm")
        };
        bench.feed(mark);
        // The tool stays: to bring a side of the tube that lies clockwise to the tool, the tube is turned
        // anticlockwise. The first bend may be made on any side.
        if way.by_clock {
            bench.turn(-number(row, "inside_clock_deg").to_radians() - bench.turned);
        } else if index > 0 {
            bench.turn(-number(row, "rotation_deg").to_radians());
        }
        let which = row["number"].as_u64().expect("a number") as usize;
        let pulled = number(&bends[which - 1], "pull_to_deg").to_radians();
        let form = forms[which - 1];
        bench.pull(tool, form, pulled)?;
        if index == 0 {
            first_bend_at = bench.straight_from - form.takes(form.got(pulled));
        }
    }
    let (start, end) = (number(run, "allowance_start_mm"), number(run, "allowance_end_mm"));
    let (first, last) = if way.other_end { (end, start) } else { (start, end) };
    bench.trimmed(first, last, first_bend_at)
}

impl Shape {
    /// The same tube, walked from its other end. `axis` is that of the bend which comes first from there.
    pub(crate) fn reversed(self, axis: Option<Vector3>) -> Shape {
        Shape { first: self.last, last: self.first, axis }
    }

    /// A place in the tube's own axes: along its first straight, across it towards the inside of the first
    /// bend, and along that bend's axis.
    fn own(&self, v: Vector3) -> Vector3 {
        let into = self.first.into;
        let axis = self.axis.unwrap_or_else(|| any_across(into));
        Vector3::new(v.dot(into), v.dot(axis.cross(into)), v.dot(axis))
    }

    /// How far the last end is from where `wanted` has it, once the first end and the plane of the first bend
    /// are laid on those of `wanted`.
    pub(crate) fn miss(&self, wanted: &Shape) -> Miss {
        let end = |shape: &Shape| {
            (shape.own(shape.last.at - shape.first.at), shape.own(shape.last.into).normalize())
        };
        let ((at, into), (wanted_at, wanted_into)) = (end(self), end(wanted));
        let angle = into.cross(wanted_into).magnitude().atan2(into.dot(wanted_into));
        Miss { mm: (at - wanted_at).magnitude(), deg: angle * 180.0 / PI }
    }
}

fn any_across(direction: Vector3) -> Vector3 {
    let helper = if direction.x.abs() < 0.5 { Vector3::unit_x() } else { Vector3::unit_y() };
    direction.cross(helper).normalize()
}
