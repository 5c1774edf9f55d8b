//! Grooved blocks in few numbers, for tests.

use std::f64::consts::FRAC_PI_2;

use tubewright::flat::{Arc, Edge, Line, Path, Point};
use tubewright::tooling::{Block, Groove, Purpose, SideHole};

/// A form in few numbers: its rim is a lead, an arc and a lead; its back two sides as deep as `deep` and the
/// straight between them.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Shape {
    pub(crate) od: f64,
    pub(crate) clearance: f64,
    /// Depth of the groove over the OD.
    pub(crate) depth: f64,
    /// Radius of the tube's centreline on the form.
    pub(crate) clr: f64,
    pub(crate) arc: f64,
    pub(crate) lead: f64,
    pub(crate) deep: f64,
    pub(crate) openings: bool,
}

pub(crate) const PLAIN: Shape = Shape {
    od: 15.0,
    clearance: 0.1,
    depth: 0.5,
    clr: 53.0,
    arc: FRAC_PI_2,
    lead: 30.0,
    deep: 30.0,
    openings: true,
};

pub(crate) fn line(from: Point, to: Point) -> Edge {
    Edge::Line(Line { from, to })
}

pub(crate) fn polygon(corners: &[Point]) -> Path {
    let edges = (0..corners.len()).map(|i| line(corners[i], corners[(i + 1) % corners.len()])).collect();
    Path { edges, closed: true }
}

pub(crate) fn rectangle(centre: Point, width: f64, height: f64, angle: f64) -> Path {
    let corner = |x: f64, y: f64| centre.polar(x * width, angle).polar(y * height, angle + FRAC_PI_2);
    polygon(&[corner(-0.5, -0.5), corner(0.5, -0.5), corner(0.5, 0.5), corner(-0.5, 0.5)])
}

impl Shape {
    pub(crate) fn groove(&self) -> Groove {
        let radius = self.od / 2.0 + self.clearance;
        Groove { radius, offset: radius - self.depth * self.od }
    }

    pub(crate) fn block(&self) -> Block {
        let groove = self.groove();
        // The groove's centre runs at clr.
        let rim = self.clr - groove.offset;
        let at = Point::new;
        let middle = at(0.0, 0.0);
        let arc = Arc { centre: middle, radius: rim, start: FRAC_PI_2, sweep: -self.arc };
        let heading = -self.arc;
        let end = arc.to().polar(self.lead, heading);
        let start = at(-self.lead, rim);
        let back =
            vec![end, end.polar(self.deep, heading - FRAC_PI_2), start.polar(self.deep, -FRAC_PI_2), start];
        let mut block = Block {
            name: "form".to_owned(),
            height: 2.0 * groove.radius + 6.0,
            rim: vec![line(start, arc.from()), Edge::Arc(arc), line(arc.to(), end)],
            groove,
            back,
            holes: vec![],
            slots: vec![],
            sunk: vec![],
            sunk_depth: 0.6,
            side_holes: vec![],
        };
        if self.openings {
            self.open(&mut block, rim);
        }
        block
    }

    fn open(&self, block: &mut Block, rim: f64) {
        let depth = block.groove.depth();
        let half = self.arc / 2.0;
        let inner = (rim - self.deep) * half.cos() - self.lead * half.sin();
        let room = rim - depth - inner;
        let centre = Point::new(0.0, 0.0).polar((rim - depth + inner) / 2.0, FRAC_PI_2 - half);
        block.holes.push((centre, room.min(rim) / 4.0, Purpose::Bolt));
        let web = self.deep - depth;
        let slot = Point::new(-self.lead / 2.0, rim - (self.deep + depth) / 2.0);
        block.slots.push(rectangle(slot, self.lead * 0.4, web * 0.4, 0.0));
        let Edge::Line(out) = block.rim[2] else { unreachable!("a lead") };
        for share in [0.5, 0.7, 0.9] {
            let on = out.from.polar(self.lead * share, -self.arc).polar(depth / 2.0, -self.arc - FRAC_PI_2);
            block.sunk.push(rectangle(on, self.lead * 0.1, depth * 0.6, -self.arc));
        }
        block.side_holes.push(SideHole {
            side: 0,
            along: (self.deep + depth) / 2.0,
            diameter: (web * 0.4).min(block.height * 0.5),
            depth: self.lead * 0.3,
        });
    }
}
