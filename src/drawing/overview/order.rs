//! The painting order: of two bodies that overlap on the page, the farther one first.

use std::collections::{BTreeMap, BTreeSet};

use super::body::{Body, Depth, Look};
use super::convex::shared_middle;
use super::view::View;

/// Two outlines that share less than this on the page, mm², do not hide each other.
const LEAST_SHARED: f64 = 1e-3;

/// A nearness that differs by less than this, page mm, is the same.
const SAME: f64 = 1e-6;

/// Which of two bodies is painted first: −1 the first, 1 the second, 0 either. `near` and `far` are
/// taken on one line of sight through both.
fn first_of(a: &Body, b: &Body, view: &View) -> i8 {
    let Some(at) = shared_middle(&a.outline, &b.outline, LEAST_SHARED) else { return 0 };
    let (near_a, far_a) = a.nearness(view, at);
    let (near_b, far_b) = b.nearness(view, at);
    let (middle_a, middle_b) = ((near_a + far_a) / 2.0, (near_b + far_b) / 2.0);
    // A body inside a component is hidden by it; one on its near side is not.
    let above = |middle: f64, near: f64| if middle >= near - SAME { 1 } else { -1 };
    match (a.is_solid(), b.is_solid()) {
        (false, true) => above(middle_a, near_b),
        (true, false) => -above(middle_b, near_a),
        _ if (middle_a - middle_b).abs() > SAME => {
            if middle_a < middle_b {
                -1
            } else {
                1
            }
        }
        // A port's face or a tube's end lies under the tube that starts there.
        _ => match (&a.depth, &b.depth) {
            (Depth::Plane { .. }, Depth::Axis { .. }) => -1,
            (Depth::Axis { .. }, Depth::Plane { .. }) => 1,
            _ => 0,
        },
    }
}

/// Pairs of bodies, the first to be painted before the second.
pub(super) struct Order {
    /// For each body, those that must wait for it.
    after: Vec<Vec<usize>>,
    /// For each body, how many it still waits for; `None` once it is painted.
    waits: Vec<Option<usize>>,
    /// Those not painted, by how many they wait for, then by position.
    queue: BTreeSet<(usize, usize)>,
    exact: bool,
}

impl Order {
    /// The order of these bodies; `known` are pairs that touch, with the first to be painted first. Where more than
    /// [`MOST_PAIRS`] overlap, they are painted by the nearness of their middles, which is not always right.
    pub(super) fn new(bodies: &[Body], known: &[(usize, usize)], view: &View) -> Self {
        match overlapping(bodies, MOST_PAIRS) {
            Some(pairs) => Order::by_pairs(bodies, known, &pairs, view),
            None => Order::by_middles(bodies, view),
        }
    }

    /// Whether every pair of bodies was compared.
    pub(super) fn is_exact(&self) -> bool {
        self.exact
    }

    fn by_middles(bodies: &[Body], view: &View) -> Self {
        let middle = |body: &Body| {
            let (near, far) = body.nearness(view, body.bounds.centre());
            (near + far) / 2.0
        };
        let nearness: Vec<f64> = bodies.iter().map(middle).collect();
        let mut sorted: Vec<usize> = (0..bodies.len()).collect();
        sorted.sort_by(|&a, &b| nearness[a].total_cmp(&nearness[b]));
        // Each waits for the one before.
        let mut after = vec![Vec::new(); bodies.len()];
        let mut waits = vec![1; bodies.len()];
        sorted.windows(2).for_each(|pair| after[pair[0]].push(pair[1]));
        sorted.first().into_iter().for_each(|&first| waits[first] = 0);
        Order::waiting(after, waits, false)
    }

    fn by_pairs(bodies: &[Body], known: &[(usize, usize)], pairs: &[(usize, usize)], view: &View) -> Self {
        let touching: BTreeSet<(usize, usize)> = known.iter().map(|&(a, b)| (a.min(b), a.max(b))).collect();
        let mut after = vec![Vec::new(); bodies.len()];
        let mut waits = vec![0; bodies.len()];
        let mut put = |first: usize, second: usize| {
            after[first].push(second);
            waits[second] += 1;
        };
        known.iter().for_each(|&(first, second)| put(first, second));
        for &(a, b) in pairs {
            let goes_on = matches!(bodies[a].look, Look::Piece(p) if p.goes_on && b == a + 1);
            if goes_on || touching.contains(&(a, b)) {
                continue;
            }
            match first_of(&bodies[a], &bodies[b], view) {
                -1 => put(a, b),
                1 => put(b, a),
                _ => {}
            }
        }
        Order::waiting(after, waits, true)
    }

    fn waiting(after: Vec<Vec<usize>>, waits: Vec<usize>, exact: bool) -> Self {
        let queue = waits.iter().enumerate().map(|(index, &waits)| (waits, index)).collect();
        Order { after, waits: waits.into_iter().map(Some).collect(), queue, exact }
    }

    /// Whether a body has not been painted and waits for nothing.
    pub(super) fn is_ready(&self, index: usize) -> bool {
        self.waits[index] == Some(0)
    }

    /// Whether a body has been painted.
    pub(super) fn is_done(&self, index: usize) -> bool {
        self.waits[index].is_none()
    }

    /// The next body to paint. Where bodies hide each other in a ring, the one that waits for the
    /// fewest others goes first.
    pub(super) fn next(&mut self) -> Option<usize> {
        let &(_, index) = self.queue.first()?;
        self.take(index);
        Some(index)
    }

    /// Marks a body as painted.
    pub(super) fn take(&mut self, index: usize) {
        if let Some(waits) = self.waits[index].take() {
            self.queue.remove(&(waits, index));
        }
        for &other in &self.after[index] {
            if let Some(waits) = &mut self.waits[other] {
                self.queue.remove(&(*waits, other));
                *waits = waits.saturating_sub(1);
                self.queue.insert((*waits, other));
            }
        }
    }
}

/// Side of the squares into which the page is divided to find neighbours, mm.
const SQUARE_MM: f64 = 5.0;

/// Pairs of overlapping bodies that are put in order one by one, at most. Hundreds of tubes that lie across each
/// other have more; nobody could tell them apart in a picture.
const MOST_PAIRS: usize = 1_000_000;

/// Pairs (a < b) whose boxes overlap; `None` if there are more than `most`. Each pair is found once: in the square
/// that holds the lower left corner of what the boxes share.
fn overlapping(bodies: &[Body], most: usize) -> Option<Vec<(usize, usize)>> {
    let square = |v: f64| (v / SQUARE_MM).floor() as i64;
    let mut squares: BTreeMap<(i64, i64), Vec<usize>> = BTreeMap::new();
    for (index, body) in bodies.iter().enumerate() {
        let (min, max) = (body.bounds.min, body.bounds.max);
        for x in square(min.x)..=square(max.x) {
            for y in square(min.y)..=square(max.y) {
                squares.entry((x, y)).or_default().push(index);
            }
        }
    }
    let mut pairs = Vec::new();
    for (place, members) in squares {
        for (position, &b) in members.iter().enumerate() {
            let second = &bodies[b].bounds;
            pairs.extend(members[..position].iter().copied().map(|a| (a, b)).filter(|&(a, _)| {
                let first = &bodies[a].bounds;
                let corner = (first.min.x.max(second.min.x), first.min.y.max(second.min.y));
                first.overlaps(second) && (square(corner.0), square(corner.1)) == place
            }));
            if pairs.len() > most {
                return None;
            }
        }
    }
    Some(pairs)
}

#[cfg(test)]
mod tests {
    use super::super::body::{self, Owner};
    use super::super::convex::holds;
    use super::super::view::Aspect;
    use super::*;
    use crate::drawing::item::Point;
    use crate::geometry::{EuclideanSpace, Point3};
    use crate::spec::model::Shape;

    /// Boxes and bars of several sizes on a lattice, none of which touch.
    fn lattice() -> Vec<Shape> {
        (0..27)
            .map(|n| {
                let at = |i: i32| f64::from(i) * 30.0;
                let (x, y, z) = (at(n % 3), at(n / 3 % 3), at(n / 9));
                let size = 14.0 + f64::from(n * 7 % 11);
                if n % 4 == 0 {
                    let (from, to) = (Point3::new(x, y, z), Point3::new(x + 12.0, y + 4.0, z + size / 2.0));
                    Shape::Cylinder { from, to, diameter: 9.0 }
                } else {
                    Shape::square(Point3::new(x, y, z), Point3::new(x + size, y + 16.0, z + 13.0))
                }
            })
            .collect()
    }

    #[test]
    fn of_components_on_one_line_of_sight_the_nearest_is_painted_last() {
        for aspect in [Aspect::front(), Aspect::top(), Aspect::left(), Aspect::isometric()] {
            let view = View { aspect, centre: Point3::origin(), at: Point::new(0.0, 0.0), scale: 1.0 };
            let bodies: Vec<Body> = lattice()
                .iter()
                .enumerate()
                .flat_map(|(n, shape)| body::shape(&view, Owner::Component(n), shape))
                .collect();
            let mut order = Order::new(&bodies, &[], &view);
            let painted: Vec<usize> = std::iter::from_fn(|| order.next()).collect();
            assert_eq!(painted.len(), 27);
            let mut stacked = 0;
            for n in 0..10_000 {
                let at = Point::new(f64::from(n % 100) * 2.3 - 110.0, f64::from(n / 100) * 2.3 - 110.0);
                let hit: Vec<usize> =
                    painted.iter().copied().filter(|&i| holds(&bodies[i].outline, at)).collect();
                let near = |i: usize| bodies[i].nearness(&view, at).0;
                let nearest = hit.iter().copied().max_by(|&a, &b| near(a).total_cmp(&near(b)));
                assert_eq!(hit.last().copied(), nearest, "{} view at {at:?}", aspect.name);
                stacked += usize::from(hit.len() > 1);
            }
            assert!(stacked > 200, "only {stacked} points with one behind another");
        }
    }
}
