//! Runs built by hand, for integration tests and benchmarks that bring centrelines of their own.

#![allow(dead_code, reason = "each test crate takes what it needs")]
#![allow(clippy::expect_used, reason = "a test that cannot go on must stop")]

use tubewright::centreline::{Centreline, LaidRun, Layout};
use tubewright::diagnostic::Place;
use tubewright::geometry::Point3;
use tubewright::spec::model::{Anneal, Bender, End, MarkPoint, Path, Run, Temper, Tube};

/// A copper tube, mm.
pub(crate) fn copper(od: f64, wall: f64) -> Tube {
    Tube::new(od, wall, "copper", Some(8940.0), Temper::Soft, "test").expect("the wall leaves a bore")
}

/// A bender of this radius (mm) that asks for nothing.
pub(crate) fn bender(clr: f64) -> Bender {
    Bender {
        name: "test".into(),
        clr,
        clr_place: Place::default(),
        grip: 0.0,
        lead_out: 0.0,
        mark: MarkPoint::Start,
        datum: 0.0,
        max_angle: std::f64::consts::PI,
        test_bends: Vec::new(),
    }
}

/// A run along `centreline`, which takes the place of its path; its bender asks for nothing.
pub(crate) fn laid(index: usize, name: &str, centreline: Centreline, tube: Tube) -> LaidRun {
    let run = Run {
        name: name.into(),
        tube,
        bender: bender(50.0),
        from: Some(end(centreline.start())),
        to: Some(end(centreline.end())),
        path: Path::Corners(Vec::new()),
        copy: None,
        anneal: Anneal::Auto,
        allowance_start: 0.0,
        allowance_end: 0.0,
        place: Place::default(),
    };
    LaidRun { index, run, formed: None, centreline }
}

fn end(at: Point3) -> End {
    End {
        at,
        face: at,
        facing: None,
        port: None,
        image_of: None,
        fitting: None,
        slip: None,
        place: Place::default(),
    }
}

/// A layout of runs alone.
pub(crate) fn layout(runs: Vec<LaidRun>) -> Layout {
    Layout {
        name: "test".into(),
        file_name: "test.yaml".into(),
        title: "Test".into(),
        units: tubewright::quantity::Unit::Millimetre,
        stock: Vec::new(),
        workshop: Default::default(),
        components: Vec::new(),
        runs,
    }
}
