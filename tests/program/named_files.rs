//! Files that a spec names.

use std::fs;

use proptest::prelude::*;
use tubewright::build::{Options, Project};

use crate::run::{stderr, stdout, tubewright};

const SPEC: &str = "\
format: 1
tube: {standard: EN 1057, size: 15 x 1.0, temper: soft}
bender: {clr: 55}
components:
  lid: {mesh: parts/lid.stl}
runs:
  a: {from: [-50, 0, 20], to: [80, 0, 20], corners: []}
";

/// An ASCII STL file of a pyramid with three faces on a floor, its tip so high over the origin.
fn pyramid(tip: u32) -> String {
    let corners = [[0, 0, 0], [10, 0, 0], [0, 10, 0], [0, 0, tip]];
    let faces = [[0, 2, 1], [0, 1, 3], [1, 2, 3], [2, 0, 3]];
    let corner = |index: usize| {
        let [x, y, z] = corners[index];
        format!("vertex {x} {y} {z}\n")
    };
    let face = |face: [usize; 3]| {
        let all: String = face.map(corner).concat();
        format!("facet normal 0 0 0\nouter loop\n{all}endloop\nendfacet\n")
    };
    format!("solid lid\n{}endsolid lid\n", faces.map(face).concat())
}

/// Files that a spec names are looked for where the spec is, whatever the current folder, and count for the mark.
#[test]
fn a_mesh_is_read_from_the_folder_of_the_spec() {
    let (home, elsewhere) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    let parts = home.path().join("parts");
    fs::create_dir(&parts).unwrap();
    let path = home.path().join("loop.yaml");
    fs::write(&path, SPEC).unwrap();
    let spec = path.to_str().unwrap();
    let check = || tubewright(&elsewhere, &["check", spec]);

    let lid = parts.join("lid.stl");
    let missing = format!("error[mesh-file]: could not read `parts/lid.stl`: there is no {}", lid.display());
    let said = stderr(&check().code(1));
    assert!(said.contains(&missing), "{said}");

    // The tube's middle runs 10 mm over the tip, and its radius is 7.5 mm.
    fs::write(&lid, pyramid(10)).unwrap();
    let said = stdout(&check().success());
    assert!(said.lines().any(|line| line.starts_with(" a ") && line.contains(" 2.5 ")), "{said}");

    let mark = |name: &str| {
        tubewright(&elsewhere, &["build", spec, "--out", name, "--only", "json"]).success();
        let plan = fs::read_to_string(elsewhere.path().join(name).join("plan.json")).unwrap();
        plan.split("\"mark\": \"").nth(1).unwrap()[..6].to_owned()
    };
    let before = mark("before");
    assert_eq!(mark("again"), before);
    fs::write(&lid, pyramid(9)).unwrap();
    assert_ne!(mark("after"), before);

    fs::remove_file(&lid).unwrap();
    fs::create_dir(&lid).unwrap();
    let said = stderr(&check().code(1));
    assert!(said.contains("could not read `parts/lid.stl`: it is a folder"), "{said}");
}

/// A binary STL file of triangles.
fn binary(triangles: &[[[f32; 3]; 3]]) -> Vec<u8> {
    let mut bytes = vec![0; 80];
    bytes.extend((triangles.len() as u32).to_le_bytes());
    for triangle in triangles {
        bytes.extend([0; 12]);
        bytes.extend(triangle.iter().flatten().flat_map(|number| number.to_le_bytes()));
        bytes.extend([0; 2]);
    }
    bytes
}

/// Numbers that coincide often, and some at which arithmetic ends.
fn number() -> impl Strategy<Value = f32> {
    prop_oneof![
        20 => (-3..12i8).prop_map(|n| f32::from(n) * 5.0),
        4 => -100.0..100.0f32,
        1 => prop::sample::select(vec![f32::NAN, f32::INFINITY, 3e38, -3e38, 1e-40, -0.0, 1e6]),
    ]
}

proptest! {
    /// Triangles in any disorder, and any bytes, are read or refused; what is read is built.
    #[test]
    fn no_file_of_a_mesh_can_make_it_panic(
        soup in prop::collection::vec([[number(), number(), number()], [number(), number(), number()], [number(), number(), number()]], 0..40),
        edits in prop::collection::vec((any::<usize>(), any::<u8>()), 0..6),
        as_text in any::<bool>(),
    ) {
        let mut bytes = if as_text { pyramid(10).into_bytes() } else { binary(&soup) };
        for (place, byte) in edits {
            let place = place % bytes.len();
            bytes[place] = byte;
        }
        let named = |_: &str| Ok(bytes.clone());
        match Project::read_with(SPEC, "spec.yaml", &named) {
            Ok(project) => {
                let files = project.files(&Options::default());
                prop_assert!(files.is_ok_and(|built| built.files.len() > 5));
            }
            Err(findings) => prop_assert!(findings.has_errors()),
        }
    }
}
