//! Values that the reader accepts are built, or refused before anything is made: never a fault of the program.

use std::collections::BTreeMap;
use std::sync::Mutex;

use tubewright::build::{BuildError, Format, Options, Project};
use tubewright::diagnostic::Diagnostics;

/// Builds a spec with these kinds of file; what was found on the way and the files.
fn built(text: &str, formats: &[Format], chord_mm: f64) -> (Diagnostics, BTreeMap<String, Vec<u8>>) {
    let project =
        Project::read(text, "values.yaml").unwrap_or_else(|findings| panic!("{findings:?}\n{text}"));
    let options = Options { formats: formats.to_vec(), chord_mm, ..Options::default() };
    let files = Mutex::new(BTreeMap::new());
    let keep = |artifact: &tubewright::export::Artifact| -> Result<(), ()> {
        files.lock().unwrap().insert(artifact.path.clone(), artifact.bytes.clone());
        Ok(())
    };
    let notes = project.render(&options, &keep, &|| {}).unwrap_or_else(|error| match error {
        BuildError::Findings(findings) => panic!("{findings:?}\n{text}"),
        BuildError::Sink(()) => panic!("the sink takes everything"),
    });
    (notes, files.into_inner().unwrap())
}

fn codes(findings: &Diagnostics) -> Vec<&'static str> {
    findings.iter().map(|finding| finding.code).collect()
}

fn tube(od: f64, wall: f64, clr: f64) -> String {
    format!(
        "format: 1
tube: {{od: {od}, wall: {wall}, material: copper, temper: soft}}
bender: {{clr: {clr}}}
runs:
  a: {{bends: [{{length: {}, angle: 90}}, {{length: {}, rotation: 30, angle: 45}}], end_length: {}}}
",
        4.0 * od,
        3.0 * od,
        4.0 * od
    )
}

/// The largest chord heights that the command takes, for tubes from 3 to 54 mm. Meshes of forms are made finer
/// than asked where coarse facets would cross their thin walls, and those of tubes where they would not look
/// like tubes; each is said once.
#[test]
fn coarse_chord_heights_make_meshes() {
    for (od, wall, clr) in [
        (3.0, 0.5, 10.0),
        (10.0, 1.0, 100.0),
        (15.0, 1.0, 100.0),
        (28.0, 1.2, 84.0),
        (35.0, 1.5, 105.0),
        (54.0, 2.0, 162.0),
    ] {
        for chord in [0.5, 2.5, 5.0] {
            let (notes, files) = built(&tube(od, wall, clr), &[Format::Stl], chord);
            // A tube, a form in one or two pieces, its follower and a gauge.
            assert!(files.len() >= 4 && files.values().all(|stl| stl.len() > 84), "{:?}", files.keys());
            assert_eq!(codes(&notes), if chord > 0.5 { vec!["chord"; 2] } else { vec![] });
            for words in [
                "of forms and test pieces are made with a chord height of 0.5 mm, not of",
                "made with 12, nearer",
            ] {
                let said = notes.iter().filter(|note| note.message.contains(words)).count();
                assert_eq!(said, usize::from(chord > 0.5), "{notes:?}");
            }
        }
    }
}

/// A chord height that would take more triangles than are made is doubled until it does not, and that is said.
#[test]
fn fine_chord_heights_of_large_tubes_are_made_coarser() {
    let (notes, files) = built(&tube(108.0, 2.0, 2000.0), &[Format::Stl], 0.001);
    assert!(files.contains_key("runs/a/tube.stl"));
    assert!(
        notes.iter().any(|note| note.code == "chord" && note.message.contains("made with a chord height of")),
        "{notes:?}"
    );
}

/// A straight from one end of the space to the other: no board is as long, so there is no jig, and everything
/// that has numbers and solids is made.
#[test]
fn a_straight_of_two_kilometres_is_made() {
    let text = "format: 1
tube: {od: 12, wall: 1, material: copper, temper: soft}
bender: {clr: 40}
runs:
  a: {from: [-999000, 0, 0], to: [999000, 0, 0], corners: []}
";
    let formats = [Format::Step, Format::Stl, Format::Dxf, Format::Csv, Format::Json];
    let (_, files) = built(text, &formats, 0.05);
    assert!(files.contains_key("runs/a/tube.step") && !files.contains_key("jigs/a.step"));
    let project = Project::read(text, "values.yaml").unwrap();
    assert!(codes(&project.findings_of(&Options::default())).contains(&"jig-limit"));
}

/// Enclosed volume of a binary STL by the divergence theorem, mm³, and how many facets it has.
fn volume(stl: &[u8]) -> (f64, usize) {
    let facets = stl[84..].chunks_exact(50);
    let count = facets.len();
    let number = |facet: &[u8], at: usize| {
        f64::from(f32::from_le_bytes([facet[at], facet[at + 1], facet[at + 2], facet[at + 3]]))
    };
    let corner = |facet: &[u8], n: usize| [0, 4, 8].map(|axis| number(facet, 12 + 12 * n + axis));
    let about = stl.get(84..134).map_or([0.0; 3], |facet| corner(facet, 0));
    let sixfold: f64 = facets
        .map(|facet| {
            let [a, b, c] = [0, 1, 2].map(|n| {
                let p = corner(facet, n);
                [p[0] - about[0], p[1] - about[1], p[2] - about[2]]
            });
            a[0] * (b[1] * c[2] - b[2] * c[1]) - a[1] * (b[0] * c[2] - b[2] * c[0])
                + a[2] * (b[0] * c[1] - b[1] * c[0])
        })
        .sum();
    (sixfold / 6.0, count)
}

/// The same tiny tube at the origin and a kilometre out: the same mesh, moved, and the finding says by how much.
#[test]
fn a_tiny_tube_far_out_has_the_mesh_of_one_at_the_origin() {
    let at = |x: f64| {
        format!(
            "format: 1
tube: {{od: 0.3 mm, wall: 0.05 mm, material: copper, temper: soft}}
bender: {{clr: 2}}
runs:
  tiny: {{from: {{at: [{x}, 0, 0], facing: [0, 1, 0]}}, bends: [{{length: 5, angle: 90}}], end_length: 4}}
"
        )
    };
    let [near, far] = [0.0, 999_000.0].map(|x| built(&at(x), &[Format::Stl], 0.05));
    let [here, there] = [&near, &far].map(|(_, files)| volume(&files["runs/tiny/tube.stl"]));
    assert_eq!(here.1, there.1, "facets");
    assert!((there.0 / here.0 - 1.0).abs() < 1e-3, "{here:?} {there:?}");
    assert_eq!(codes(&near.0), [""; 0]);
    assert_eq!(codes(&far.0), ["stl-origin"]);
    let header = String::from_utf8_lossy(&far.1["runs/tiny/tube.stl"][..80]);
    assert!(header.starts_with("tubewright STL in mm, plan mark "), "{header}");
    assert!(header.contains(", moved by -998997,-4,0, tiny"), "{header}");
}
