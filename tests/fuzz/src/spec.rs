//! A spec's text from random numbers, most of which can be made.

use std::fmt::Write;

use crate::Dice;

/// How large specs are.
#[derive(Clone, Copy)]
pub struct Size {
    /// Most runs.
    pub runs: usize,
    /// Most bends of a run.
    pub bends: usize,
    /// Longest straight, mm.
    pub longest: f64,
    /// Whether numbers also lie where nobody wants them.
    pub wild: bool,
}

impl Size {
    /// The small size three times of four: many more specs are tried in the same time.
    pub fn drawn(dice: &mut Dice<'_>, small: Size, large: Size) -> Size {
        if dice.once_in(4) { large } else { small }
    }
}

/// Sizes of tube that standards have, with their outside diameters, mm.
const STANDARD: [(&str, f64); 9] = [
    ("standard: EN 1057, size: 6 x 0.6", 6.0),
    ("standard: EN 1057, size: 8 x 1.0", 8.0),
    ("standard: EN 1057, size: 15 x 1.0", 15.0),
    ("standard: EN 1057, size: 22 x 1.0", 22.0),
    ("standard: EN 1057, size: 28 x 1.2", 28.0),
    ("standard: ASTM B88, size: 1/4, type: L", 9.525),
    ("standard: ASTM B88, size: 1, type: K", 28.575),
    ("standard: ASTM B280, size: 3/8", 9.525),
    ("standard: ASTM B88M, size: 12, type: B", 12.0),
];

const METALS: [&str; 6] = [
    "copper",
    "brass",
    "stainless steel",
    "steel",
    "aluminium",
    "own, density: 8000, modulus: 100, yield_strength: 200, elongation: 20, hardening: {strength: 600, exponent: 0.3}",
];

const TITLES: [&str; 4] = [
    "Loop",
    "Leitung für Öl & Wasser",
    "x",
    "A title that is longer than any title block of any page has room for, and then some",
];

/// A spec's text.
pub fn spec(dice: &mut Dice<'_>, size: &Size) -> String {
    let mut maker = Maker { od: 0.0, clr: 0.0, insert: 0.0, text: "format: 1\n".to_owned(), dice, size };
    maker.head();
    maker.shop();
    maker.surroundings();
    maker.text.push_str("runs:\n");
    for index in 0..1 + maker.dice.count(size.runs - 1) {
        maker.run(index);
    }
    maker.text
}

struct Maker<'d, 'b> {
    /// Outside diameter of the spec's tube, mm.
    od: f64,
    /// Its bender's radius, mm.
    clr: f64,
    /// How far a tube goes into the port, mm.
    insert: f64,
    text: String,
    dice: &'d mut Dice<'b>,
    size: &'d Size,
}

impl Maker<'_, '_> {
    fn line(&mut self, line: &str) {
        self.text.push_str(line);
        self.text.push('\n');
    }

    /// Title, units, tube, bender.
    fn head(&mut self) {
        let (title, units) = (self.dice.one_of(&TITLES), self.dice.one_of(&["mm", "in", "cm"]));
        self.line(&format!("title: {title}\nunits: {units}"));
        let (tube, od) = self.tube();
        self.od = od;
        self.line(&format!("tube: {tube}"));
        let bender = self.bender();
        self.line(&format!("bender: {bender}"));
        if self.dice.once_in(3) {
            let anneal = self.dice.one_of(&["auto", "always", "never"]);
            self.line(&format!("anneal: {anneal}"));
        }
    }

    fn tube(&mut self) -> (String, f64) {
        let temper = self.dice.one_of(&["soft", "half-hard", "hard"]);
        if self.dice.once_in(2) {
            let (size, od) = self.dice.one_of(&STANDARD);
            return (format!("{{{size}, temper: {temper}}}"), od);
        }
        let od = self.dice.small(3.0, 54.0);
        let wall = (od * self.dice.between(0.03, 0.4)).max(0.1);
        let metal = self.dice.one_of(&METALS);
        (format!("{{od: {od} mm, wall: {wall:.3} mm, temper: {temper}, material: {metal}}}"), od)
    }

    fn bender(&mut self) -> String {
        let least = if self.size.wild { 0.51 } else { 1.0 };
        self.clr = (self.od * (least + self.dice.small(0.0, 9.0)) * 10.0).ceil() / 10.0;
        let mut bender = format!("{{clr: {:.1} mm", self.clr);
        if self.dice.once_in(2) {
            let (grip, lead) = (self.dice.small(0.0, 80.0), self.dice.small(0.0, 80.0));
            let _ = write!(bender, ", grip: {grip} mm, lead_out: {lead} mm");
        }
        if self.dice.once_in(2) {
            let (mark, datum) =
                (self.dice.one_of(&["start", "middle", "end"]), self.dice.between(-60.0, 60.0));
            let _ = write!(bender, ", mark: {mark}, datum: {datum} mm");
        }
        if self.dice.once_in(4) {
            let _ = write!(bender, ", max_angle: {}", self.dice.between(100.0, 180.0));
        }
        if self.dice.once_in(4) {
            let opens = 1.0 - self.dice.between(0.0, 0.1);
            let each =
                [45.0, 90.0, 120.0].map(|pulled| format!("{{pulled: {pulled}, got: {:.1}}}", pulled * opens));
            let _ = write!(bender, ", test_bends: [{}]", each[..1 + self.dice.count(2)].join(", "));
        }
        bender + "}"
    }

    /// Stock and workshop.
    fn shop(&mut self) {
        if self.dice.once_in(3) {
            let (length, kerf) = (self.dice.between(0.2, 6.0), self.dice.small(0.0, 5.0));
            let form = self.dice.one_of(&["stick", "coil"]);
            let left = self.dice.between(50.0, 900.0);
            self.line(&format!(
                "stock: {{length: {length} m, kerf: {kerf} mm, form: {form}, leftovers: [{left} mm, 40 cm]}}"
            ));
        }
        if self.dice.once_in(3) {
            let (thickness, fit) = (self.dice.small(2.0, 25.0), self.dice.between(-0.2, 0.5));
            let (kerf, side) = (self.dice.small(0.0, 6.0), self.dice.between(100.0, 1500.0));
            let (depth, over) = (self.dice.between(0.3, 0.7), self.dice.between(0.0, 30.0));
            let strap = self.dice.one_of(&[
                "none",
                "{width: 12 mm, thickness: 3 mm}",
                "{width: 50 mm, thickness: 10 mm}",
            ]);
            let (lift, gate) = (self.dice.between(5.0, 90.0), self.dice.between(0.0, 5.0));
            let bed = self.dice.between(50.0, 400.0);
            self.line(&format!(
                "workshop:\n  sheet: {{thickness: {thickness} mm, slot_fit: {fit} mm, kerf: {kerf} mm, size: [{side} mm, 400 mm]}}\n  \
                 form: {{depth: {depth}, over_bend: {over}, strap: {strap}}}\n  \
                 jig: {{lift: {lift} mm, gate: {gate} mm}}\n  printer: {{bed: [{bed} mm, 200 mm, 200 mm]}}"
            ));
        }
    }

    /// A component with a port that faces +x at the origin, and perhaps a box in the way.
    fn surroundings(&mut self) {
        let fitted = self.dice.once_in(2);
        if fitted {
            self.insert = self.dice.small(0.0, 30.0);
            let straight = self.dice.small(0.0, 60.0);
            let od = self.od;
            self.line(&format!(
                "fittings:\n  collar: {{tube_od: {od} mm, insert: {} mm, straight: {straight} mm}}",
                self.insert
            ));
        }
        let fitting = if fitted { ", fitting: collar" } else { "" };
        self.line(&format!(
            "components:\n  pump: {{cylinder: {{from: [-90 mm, 0, 0], to: [0, 0, 0], diameter: 80 mm}}, \
             ports: {{out: {{at: [0, 0, 0], facing: [1, 0, 0]{fitting}}}}}}}"
        ));
        if self.dice.once_in(3) {
            let [x, y, z] = self.point(400.0);
            let [w, h, d] = [0; 3].map(|_| self.dice.between(0.5, 300.0));
            self.line(&format!(
                "  tank: {{box: {{from: [{x} mm, {y} mm, {z} mm], to: [{} mm, {} mm, {} mm]}}}}",
                x + w,
                y + h,
                z + d
            ));
        }
    }

    fn point(&mut self, far: f64) -> [f64; 3] {
        [0; 3].map(|_| self.dice.between(-far, far))
    }

    fn run(&mut self, index: usize) {
        let name = self.dice.one_of(&["run", "R", "from-the-tank-on-the-left-to-the-pump-below-the-floor"]);
        // Copies name the first run.
        let name = if index == 0 { "first".to_owned() } else { format!("{name}-{index}") };
        self.line(&format!("  {name}:"));
        if self.dice.once_in(3) {
            let (start, end) = (self.dice.small(0.0, 60.0), self.dice.small(0.0, 60.0));
            self.line(&format!("    allowance: {{start: {start} mm, end: {end} mm}}"));
        }
        if index > 0 && self.dice.once_in(3) {
            let (tube, _) = self.tube();
            self.line(&format!("    tube: {tube}"));
        }
        if index > 0 && self.dice.once_in(3) {
            let clr = self.clr;
            let bender = self.bender();
            self.clr = clr;
            self.line(&format!("    bender: {bender}"));
        }
        match self.dice.count(7) {
            6 if index > 0 => {
                let (plane, at) = (self.dice.one_of(&["x", "y", "z"]), self.dice.between(-300.0, 300.0));
                self.line(&format!("    mirror: {{run: first, plane: {plane}, at: {at} mm}}"));
            }
            7 if index > 0 => {
                self.line("    same_as: first");
                let [x, y, z] = self.point(300.0);
                if self.dice.once_in(2) {
                    self.line(&format!("    from: {{at: [{x} mm, {y} mm, {z} mm], facing: [0, 0, 1]}}"));
                }
            }
            4 | 5 => self.corners(),
            3 => {
                self.line("    from: pump.out");
                self.rows();
            }
            2 => {
                let ([x, y, z], facing) = (self.point(300.0), self.facing());
                self.line(&format!("    from: {{at: [{x} mm, {y} mm, {z} mm], facing: {facing:?}}}"));
                self.rows();
            }
            _ => self.rows(),
        }
    }

    /// A direction that is one.
    fn facing(&mut self) -> [f64; 3] {
        let facing = [0; 3].map(|_| self.dice.one_of(&[0.0, 0.0, 1.0, -1.0, 0.3]));
        if facing == [0.0; 3] { [1.0, 0.0, 0.0] } else { facing }
    }

    /// A bend table.
    fn rows(&mut self) {
        let mut rows = Vec::new();
        for index in 0..self.dice.count(self.size.bends) {
            let least = if index == 0 { self.insert } else { 0.0 };
            let length = least + self.dice.small(0.0, self.size.longest);
            let rotation = self.dice.one_of(&[0.0, 90.0, -90.0, 180.0, f64::NAN]);
            let rotation = if rotation.is_nan() { self.dice.between(-179.9, 180.0) } else { rotation };
            let angle = self.dice.one_of(&[90.0, 45.0, 30.0, 180.0, f64::NAN, f64::NAN]);
            let least = if self.size.wild { 0.01 } else { 2.0 };
            let angle = if angle.is_nan() { self.dice.between(least, 180.0) } else { angle };
            let mut row = format!("{{length: {length:.2} mm, rotation: {rotation}, angle: {angle}");
            if self.dice.once_in(6) {
                let _ = write!(row, ", clr: {:.1} mm", self.od * self.dice.between(1.0, 6.0));
            }
            rows.push(row + "}");
        }
        let end = self.dice.small(0.0, self.size.longest);
        self.line(&format!("    bends: [{}]\n    end_length: {end} mm", rows.join(", ")));
    }

    /// Corners, each a step from the one before that has room for its bends.
    fn corners(&mut self) {
        let mut at = self.point(200.0);
        let mut direction = self.facing();
        self.line(&format!("    from: {{at: {}, facing: {direction:?}}}", millimetres(at)));
        let mut corners = Vec::new();
        let count = 1 + self.dice.count(self.size.bends.saturating_sub(1));
        for _ in 0..=count {
            let room = if self.size.wild && self.dice.once_in(8) { 0.0 } else { 2.1 * self.clr };
            let step = room + self.dice.small(0.1, self.size.longest);
            at = [0, 1, 2].map(|axis| at[axis] + step * direction[axis]);
            corners.push(millimetres(at));
            direction = self.facing();
        }
        let to = corners.pop().unwrap_or_default();
        self.line(&format!("    to: {to}\n    corners: [{}]", corners.join(", ")));
    }
}

fn millimetres([x, y, z]: [f64; 3]) -> String {
    format!("[{x:.4} mm, {y:.4} mm, {z:.4} mm]")
}
