//! Runs T1 to T11: computed from elementary geometry.

use tubewright::geometry::{MetricSpace, Point3};
use tubewright::solid::mesh;

use super::program::{self, Planned, Unit, corners, one};
use super::{EXACT, near};

/// A run computed from elementary geometry.
struct Reference<'a> {
    name: &'a str,
    radius: f64,
    points: &'a [[f64; 3]],
    straights: &'a [f64],
    angles: &'a [f64],
    /// Between bends, degrees, right-handed about the direction of travel.
    rotations: &'a [f64],
    length: f64,
    /// Start and end of each bend along the tube.
    stations: &'a [(f64, f64)],
}

impl Reference<'_> {
    fn check(&self) -> Planned {
        let name = self.name;
        let run = one(Unit::Mm, 12.0, self.radius, corners(self.points));
        assert_eq!(run.plan.straights.len(), self.straights.len(), "{name}");
        for (index, wanted) in self.straights.iter().enumerate() {
            near(run.straight(index), *wanted, EXACT, &format!("{name}: straight"));
        }
        assert_eq!(run.plan.bends.len(), self.angles.len(), "{name}");
        for (index, wanted) in self.angles.iter().enumerate() {
            near(run.angle(index), *wanted, EXACT, &format!("{name}: angle"));
        }
        assert_eq!(run.plan.bends.len() - 1, self.rotations.len(), "{name}");
        for (index, wanted) in self.rotations.iter().enumerate() {
            near(run.rotation(index + 1), *wanted, EXACT, &format!("{name}: rotation"));
        }
        near(run.length(), self.length, EXACT, &format!("{name}: length"));
        assert_eq!(run.plan.bends.len(), self.stations.len(), "{name}");
        for (index, wanted) in self.stations.iter().enumerate() {
            near(run.start(index), wanted.0, EXACT, &format!("{name}: start of bend"));
            near(run.end(index), wanted.1, EXACT, &format!("{name}: end of bend"));
        }
        let end = Point3::from(self.points[self.points.len() - 1]);
        let found = run.plan.ends[1].at;
        assert!(found.distance(end) < 1e-9, "{name}: ends where it was told to");
        run
    }
}

#[test]
fn t1_one_right_angle() {
    Reference {
        name: "T1",
        radius: 60.0,
        points: &[[0.0, 0.0, 0.0], [150.0, 0.0, 0.0], [150.0, 125.0, 0.0]],
        straights: &[90.0, 65.0],
        angles: &[90.0],
        rotations: &[],
        length: 249.248,
        stations: &[(90.0, 184.248)],
    }
    .check();
}

#[test]
fn t2_a_u_of_two_bends() {
    Reference {
        name: "T2",
        radius: 38.1,
        points: &[[0.0, 0.0, 0.0], [100.0, 0.0, 0.0], [100.0, 120.0, 0.0], [0.0, 120.0, 0.0]],
        straights: &[61.9, 43.8, 61.9],
        angles: &[90.0, 90.0],
        rotations: &[0.0],
        length: 287.295,
        stations: &[(61.9, 121.747), (165.547, 225.395)],
    }
    .check();
}

#[test]
fn t3_out_of_plane_either_way() {
    for (z, rotation) in [(60.0, 90.0), (-60.0, -90.0)] {
        Reference {
            name: if z > 0.0 { "T3" } else { "T3m" },
            radius: 38.1,
            points: &[[0.0, 0.0, 0.0], [100.0, 0.0, 0.0], [100.0, 80.0, 0.0], [100.0, 80.0, z]],
            straights: &[61.9, 3.8, 21.9],
            angles: &[90.0, 90.0],
            rotations: &[rotation],
            length: 207.295,
            stations: &[(61.9, 121.747), (125.547, 185.395)],
        }
        .check();
    }
}

#[test]
fn t4_an_offset_of_45_degrees() {
    Reference {
        name: "T4",
        radius: 50.0,
        points: &[[0.0, 0.0, 0.0], [100.0, 0.0, 0.0], [150.0, 50.0, 0.0], [250.0, 50.0, 0.0]],
        straights: &[79.289, 29.289, 79.289],
        angles: &[45.0, 45.0],
        rotations: &[180.0],
        length: 266.408,
        stations: &[(79.289, 118.559), (147.849, 187.118)],
    }
    .check();
}

#[test]
fn t5_an_offset_of_30_degrees() {
    Reference {
        name: "T5",
        radius: 50.0,
        points: &[
            [0.0, 0.0, 0.0],
            [100.0, 0.0, 0.0],
            [100.0 + 40.0 * 3f64.sqrt(), 40.0, 0.0],
            [300.0, 40.0, 0.0],
        ],
        straights: &[86.603, 53.205, 117.321],
        angles: &[30.0, 30.0],
        rotations: &[180.0],
        length: 309.488,
        stations: &[(86.603, 112.782), (165.988, 192.167)],
    }
    .check();
}

#[test]
fn t6_a_rolled_offset() {
    let points = [[0.0, 0.0, 0.0], [100.0, 0.0, 0.0], [150.0, 30.0, 40.0], [250.0, 30.0, 40.0]];
    let run = Reference {
        name: "T6",
        radius: 50.0,
        points: &points,
        straights: &[79.289, 29.289, 79.289],
        angles: &[45.0, 45.0],
        rotations: &[180.0],
        length: 266.408,
        stations: &[(79.289, 118.559), (147.849, 187.118)],
    }
    .check();
    // The first rotation is the roll of the offset's plane: atan2(40, 30).
    near(run.rotation(0), 53.130, EXACT, "roll of the plane");
}

#[test]
fn t7_a_three_bend_saddle() {
    let run = 60.0 / 22.5f64.to_radians().tan();
    Reference {
        name: "T7",
        radius: 50.0,
        points: &[
            [0.0, 0.0, 0.0],
            [200.0 - run, 0.0, 0.0],
            [200.0, 60.0, 0.0],
            [200.0 + run, 0.0, 0.0],
            [400.0, 0.0, 0.0],
        ],
        straights: &[45.202, 126.131, 126.131, 45.202],
        angles: &[22.5, 45.0, 22.5],
        rotations: &[180.0, 180.0],
        length: 421.205,
        stations: &[(45.202, 64.837), (190.968, 230.238), (356.369, 376.004)],
    }
    .check();
}

#[test]
fn t8_a_four_bend_saddle() {
    let run = 40.0 * 3f64.sqrt();
    Reference {
        name: "T8",
        radius: 38.1,
        points: &[
            [0.0, 0.0, 0.0],
            [100.0, 0.0, 0.0],
            [100.0 + run, 40.0, 0.0],
            [180.0 + run, 40.0, 0.0],
            [180.0 + 2.0 * run, 0.0, 0.0],
            [420.0, 0.0, 0.0],
        ],
        straights: &[89.791, 59.582, 59.582, 59.582, 91.227],
        angles: &[30.0, 30.0, 30.0, 30.0],
        rotations: &[180.0, 0.0, 180.0],
        length: 439.561,
        stations: &[(89.791, 109.740), (169.323, 189.272), (248.854, 268.803), (328.385, 348.334)],
    }
    .check();
}

#[test]
fn t9_a_run_in_space() {
    Reference {
        name: "T9",
        radius: 38.1,
        points: &[
            [0.0, 0.0, 0.0],
            [120.0, 0.0, 0.0],
            [120.0, 90.0, 0.0],
            [200.0, 150.0, 60.0],
            [200.0, 150.0, 160.0],
        ],
        straights: &[81.9, 30.328, 73.475, 78.428],
        angles: &[90.0, 59.0362, 59.0362],
        rotations: &[143.1301, -68.8998],
        length: 402.494,
        stations: &[(81.9, 141.747), (172.075, 211.333), (284.808, 324.066)],
    }
    .check();
}

/// Smallest and largest coordinate along an axis.
type Extent = (f64, f64);

/// Box of a run's skin, as its mesh has it.
fn skin_box(run: &Planned) -> [Extent; 3] {
    // A mesh is within its chord height of the skin.
    let skin = mesh::tube(&run.laid.centreline, &run.laid.run.tube, EXACT / 2.0).expect("a mesh");
    let along = |pick: fn(&Point3) -> f64| {
        skin.vertices.iter().map(pick).fold((f64::MAX, f64::MIN), |(low, high), v| (low.min(v), high.max(v)))
    };
    [along(|p| p.x), along(|p| p.y), along(|p| p.z)]
}

#[test]
fn t10_one_bend_from_outside_legs() {
    // Legs of 150 and 125 over the backs: OD/2 beyond the corner.
    let (a, b) = (150.0 - 7.9375, 125.0 - 7.9375);
    let run = one(Unit::Mm, 15.875, 50.0, corners(&[[0.0; 3], [a, 0.0, 0.0], [a, b, 0.0]]));
    near(run.length(), 237.665, EXACT, "T10");
    let [x, y, _] = skin_box(&run);
    near(x.1, 150.0, EXACT, "T10: back of the second leg");
    near(b - y.0, 125.0, EXACT, "T10: back of the first leg");
}

#[test]
fn t11_back_to_back() {
    // 150 over the backs of the two legs, 134.125 between their centres.
    let u = [[0.0, 80.0, 0.0], [0.0; 3], [134.125, 0.0, 0.0], [134.125, 80.0, 0.0]];
    let run = one(Unit::Mm, 15.875, 50.0, corners(&u));
    near(run.straight(1), 34.125, EXACT, "T11: middle straight");
    near(run.rotation(1), 0.0, EXACT, "T11: same plane");
    let [x, ..] = skin_box(&run);
    near(x.1 - x.0, 150.0, EXACT, "T11: over the backs");
}

#[test]
fn t2_volumes_and_box() {
    let u = corners(&[[0.0; 3], [100.0, 0.0, 0.0], [100.0, 120.0, 0.0], [0.0, 120.0, 0.0]]);
    let run = program::all(Unit::Mm, 15.875, 1.245, 38.1, &[u]).remove(0);
    let plan = &run.plan;
    near(plan.metal_volume, 16_439.6, 0.05, "metal (Pappus)");
    near(plan.metal_volume + plan.bore_volume * 1000.0, 56_865.0, 0.05, "outer solid");
    near(plan.outer_area, 14_328.2, 0.05, "outer skin");
    near(plan.mass.expect("copper has a density"), 146.97, 0.01, "mass");
    near(plan.bore_volume, 40.43, 0.005, "bore");
    let quarter = plan.metal_volume * run.arc(0) / run.length();
    near(quarter, 3_424.59, 0.01, "one 90° bend");

    let wanted = [(0.0, 107.9375), (-7.9375, 127.9375), (-7.9375, 7.9375)];
    for (found, wanted) in skin_box(&run).into_iter().zip(wanted) {
        near(found.0, wanted.0, EXACT, "box");
        near(found.1, wanted.1, EXACT, "box");
    }
}
