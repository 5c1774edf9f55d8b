//! The run that benchmarks measure: four bends in space, 15.875 x 1.2446, R 38.

use tubewright::centreline::{CornerPoint, LaidRun, from_corners};
use tubewright::diagnostic::Place;
use tubewright::export::Meta;
use tubewright::geometry::Point3;
use tubewright::spec::model::{Bender, MarkPoint, Path, Run, Temper, Tube};

const RADIUS: f64 = 38.0;

/// The run laid out through its corners.
pub(crate) fn run() -> LaidRun {
    let corners = [[120.0, 0.0, 0.0], [120.0, 90.0, 0.0], [120.0, 90.0, 110.0], [220.0, 90.0, 110.0]]
        .map(|at| CornerPoint { at: Point3::from(at), radius: RADIUS });
    let centreline = from_corners(Point3::new(0.0, 0.0, 0.0), &corners, Point3::new(220.0, 200.0, 110.0))
        .expect("the corners leave room for the bends");
    let tube = Tube::new(15.875, 1.2446, "copper", Some(8940.0), Temper::Hard, "reference")
        .expect("the wall leaves a bore");
    let bender = Bender {
        name: "bench".into(),
        clr: RADIUS,
        grip: 0.0,
        lead_out: 0.0,
        mark: MarkPoint::Start,
        datum: 0.0,
        max_angle: std::f64::consts::PI,
        test_bends: Vec::new(),
    };
    let run = Run {
        name: "reference".into(),
        tube,
        bender,
        from: None,
        to: None,
        path: Path::Corners(Vec::new()),
        allowance_start: 0.0,
        allowance_end: 0.0,
        place: Place::default(),
    };
    LaidRun { index: 0, run, centreline }
}

/// What the files say beside the geometry.
pub(crate) fn meta() -> Meta {
    Meta { title: "Benchmark".into(), timestamp: 0 }
}
