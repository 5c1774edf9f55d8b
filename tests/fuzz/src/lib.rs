//! Specs made from random numbers.

use std::fmt::Write;

use arbitrary::Arbitrary;

/// A spec in numbers; any of them gives a text that can be read.
#[derive(Debug, Arbitrary)]
pub struct Numbers {
    od: u8,
    wall: u8,
    clr: u8,
    bender: (u8, u8, u8, u8),
    temper: u8,
    inches: bool,
    allowance: (u8, u8),
    component: Option<[i8; 6]>,
    runs: Vec<Run>,
}

#[derive(Debug, Arbitrary)]
struct Run {
    from: Option<([i8; 3], [i8; 3])>,
    to: Option<[i8; 3]>,
    corners: Option<Vec<[i8; 3]>>,
    rows: Vec<Row>,
    end_length: u16,
    own_tube: Option<(u8, u8)>,
}

#[derive(Debug, Arbitrary)]
struct Row {
    length: u16,
    rotation: i16,
    angle: u16,
    clr: Option<u8>,
}

/// A share of the way from `low` to `high`, to two decimals.
fn share(of: u16, all: u16, low: f64, high: f64) -> f64 {
    ((low + (high - low) * f64::from(of) / f64::from(all)) * 100.0).round() / 100.0
}

fn byte(of: u8, low: f64, high: f64) -> f64 {
    share(u16::from(of), 255, low, high)
}

fn point([x, y, z]: [i8; 3], by: f64) -> String {
    let at = |v: i8| f64::from(v) * by;
    format!("[{}, {}, {}]", at(x), at(y), at(z))
}

impl Numbers {
    /// The spec's text, with at most `runs` runs of `bends` bends and straights up to `longest` mm.
    pub fn text(&self, runs: usize, bends: usize, longest: f64) -> String {
        let mut text = String::from("format: 1\n");
        let unit = if self.inches { "in" } else { "mm" };
        let od = byte(self.od, 3.0, 54.0);
        let wall = byte(self.wall, 0.02, 0.45) * od;
        let temper = ["soft", "half-hard", "hard"][usize::from(self.temper % 3)];
        // Lengths of the spec carry their unit, so that a spec in inches has no larger tubes.
        let _ = writeln!(text, "units: {unit}");
        let _ =
            writeln!(text, "tube: {{od: {od} mm, wall: {wall:.3} mm, material: copper, temper: {temper}}}");
        let clr = od * byte(self.clr, 0.6, 8.0);
        let (grip, lead, mark, datum) = self.bender;
        let mark = ["start", "middle", "end"][usize::from(mark % 3)];
        let _ = writeln!(
            text,
            "bender: {{clr: {clr:.2} mm, grip: {} mm, lead_out: {} mm, mark: {mark}, datum: {} mm}}",
            byte(grip, 0.0, 80.0),
            byte(lead, 0.0, 80.0),
            byte(datum, -60.0, 60.0)
        );
        if let Some([x, y, z, w, h, d]) = self.component {
            let far = |from: i8, size: i8| (i16::from(from) + i16::from(size.unsigned_abs()) + 1) * 8;
            let _ = writeln!(
                text,
                "components:\n  part: {{box: {{from: {}, to: [{}, {}, {}]}}}}",
                point([x, y, z], 8.0),
                far(x, w),
                far(y, h),
                far(z, d)
            );
        }
        text.push_str("runs:\n");
        for (index, run) in self.runs.iter().take(runs).enumerate() {
            self.run(&mut text, index, run, bends, longest);
        }
        text
    }

    fn run(&self, text: &mut String, index: usize, run: &Run, bends: usize, longest: f64) {
        let _ = writeln!(text, "  run-{index}:");
        if let Some((od, wall)) = run.own_tube {
            let od = byte(od, 3.0, 54.0);
            let _ = writeln!(text, "    tube: {{od: {od} mm, wall: {:.3} mm}}", byte(wall, 0.02, 0.45) * od);
        }
        let (start, end) = self.allowance;
        let _ = writeln!(text, "    allowance: {{start: {} mm, end: {} mm}}", start / 4, end / 4);
        if let Some((at, facing)) = run.from {
            let _ = writeln!(text, "    from: {{at: {}, facing: {}}}", point(at, 4.0), point(facing, 1.0));
        }
        if let Some(to) = run.to {
            let _ = writeln!(text, "    to: {}", point(to, 4.0));
        }
        if let Some(corners) = &run.corners {
            let all: Vec<String> = corners.iter().take(bends).map(|&at| point(at, 4.0)).collect();
            let _ = writeln!(text, "    corners: [{}]", all.join(", "));
            return;
        }
        let row = |row: &Row| {
            let clr = row.clr.map_or(String::new(), |clr| format!(", clr: {} mm", byte(clr, 2.0, 250.0)));
            format!(
                "{{length: {} mm, rotation: {}, angle: {}{clr}}}",
                share(row.length, u16::MAX, 0.0, longest),
                row.rotation % 181,
                share(row.angle, u16::MAX, 0.05, 180.0)
            )
        };
        let all: Vec<String> = run.rows.iter().take(bends).map(row).collect();
        let _ = writeln!(text, "    bends: [{}]", all.join(", "));
        let _ = writeln!(text, "    end_length: {} mm", share(run.end_length, u16::MAX, 0.0, longest));
    }
}
