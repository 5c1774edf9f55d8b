//! A small isometric picture of one run alone.

use super::view::{Aspect, View};
use super::{extents, paint, scene};
use crate::centreline::{LaidRun, Layout};
use crate::drawing::item::{Drawing, Point};
use crate::geometry::{EuclideanSpace, Point3};
use crate::palette::Rgb;

/// A run's picture and where things are on it.
pub(crate) struct Picture {
    /// The tube, in a box from the origin to the size asked for.
    pub(crate) drawing: Drawing,
    /// Its datum end and its other end.
    pub(crate) ends: [Point; 2],
    /// The middle of each bend, with its number.
    pub(crate) bends: Vec<(usize, Point)>,
}

/// The picture of a run that fills a box of `wide` × `high` mm, its lower left corner at the origin.
pub(crate) fn picture(laid: &LaidRun, wide: f64, high: f64, tint: Rgb) -> Picture {
    let layout = Layout {
        name: String::new(),
        file_name: String::new(),
        title: String::new(),
        units: crate::quantity::Unit::Millimetre,
        carries: None,
        stock: Vec::new(),
        workshop: Default::default(),
        uncertainty: Default::default(),
        components: Vec::new(),
        runs: vec![laid.clone()],
    };
    let aspect = Aspect::isometric();
    let seen = extents(&layout, aspect);
    let scale = (wide / seen.width().max(1e-6)).min(high / seen.height().max(1e-6));
    let middle = seen.centre();
    let at = Point::new(wide / 2.0 - middle.x * scale, high / 2.0 - middle.y * scale);
    let view = View { aspect, centre: Point3::origin(), at, scale };
    let (bodies, known) = scene(&layout, &view);
    let painted = paint::paint(&bodies, &known, &view, &|_| tint);
    let centreline = &laid.centreline;
    let see = |point: Point3| view.see(point).0;
    let bends = centreline
        .bends()
        .iter()
        .map(|bend| (bend.number, see(centreline.point_at(bend.middle()))))
        .collect();
    Picture { drawing: painted.drawing, ends: [see(centreline.start()), see(centreline.end())], bends }
}
