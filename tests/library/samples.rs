//! The README's pictures in `out/sample/` are made by the program. This test says when they are stale.
//!
//! To renew them: `TUBEWRIGHT_RENEW=1 cargo test --test library samples`.

use crate::port_picture;
use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::sync::Mutex;

use tubewright::build::{Format, Options, Project, Unrouted};
use tubewright::drawing::overview::ways;
use tubewright::drawing::{form, jig, worksheet};
use tubewright::export::{Artifact, Meta, svg};
use tubewright::route::EFFORT;

/// Picture in `out/sample/` ← file of the reading-room build.
const PICTURES: &[(&str, &str)] = &[
    ("overview.svg", "overview.svg"),
    ("template.svg", "runs/side-to-tank/template.svg"),
    ("strip.svg", "runs/processor-to-top/strip.svg"),
    ("worksheet.svg", WORKSHEET),
    ("jig.svg", JIG),
    ("form.svg", FORM),
    ("port.svg", PORT),
    ("found.svg", FOUND),
    ("ways.svg", WAYS),
];

/// Stand for the overview of the shelf server, and for the ways of one of its runs side by side.
const FOUND: &str = "overview of shelf-server";
const WAYS: &str = "ways of shelf-server";

/// Stand for the first pages of one run's worksheet, of its jig and of the form, which are pages of PDFs in a
/// build.
const WORKSHEET: &str = "worksheet of side-to-tank";
const JIG: &str = "jig of pump-to-processor";
const FORM: &str = "form";
/// Stands for a picture that explains a port; no build has it.
const PORT: &str = "a port";

#[test]
fn pictures_of_the_readme_are_up_to_date() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let text = fs::read_to_string(root.join("specs/reading-room.yaml")).unwrap();
    let project = Project::read(&text, "reading-room.yaml").unwrap();
    let options = Options { formats: vec![Format::Svg], ..Options::default() };
    let mut files = pictures(&project, &options);
    let mut sheets =
        worksheet::worksheet(project.layout(), project.plan(), project.findings(), &options.print.paper);
    let page = sheets.find(|sheet| sheet.name.starts_with("side-to-tank")).unwrap();
    let (layout, tooling, paper) = (project.layout(), project.tooling(), &options.print.paper);
    let made = tooling.jigs.iter().find(|jig| jig.run == "pump-to-processor").unwrap();
    let pages = [
        (WORKSHEET, "Worksheet", page.clone()),
        (JIG, "Checking jig", jig::sheets(made, layout, paper).remove(0)),
        (FORM, "Bending form", form::sheets(&tooling.forms[0], layout, paper).remove(0)),
    ];
    for (name, title, page) in pages {
        let meta = Meta { title: title.into(), mark: "BCDFGH".into(), timestamp: 0 };
        files.insert(name.into(), svg::render(&page.drawing, &meta));
    }
    let meta = Meta { title: "A port".into(), mark: "BCDFGH".into(), timestamp: 0 };
    files.insert(PORT.into(), svg::render(&port_picture::port_picture(), &meta));
    files.extend(of_the_shelf_server(root));
    for (picture, source) in PICTURES {
        let path = root.join("out/sample").join(picture);
        if std::env::var_os("TUBEWRIGHT_RENEW").is_some() {
            fs::write(&path, &files[*source]).unwrap();
        }
        let stored = fs::read(&path).unwrap_or_default();
        assert!(
            stored == files[*source],
            "out/sample/{picture} is stale; run TUBEWRIGHT_RENEW=1 cargo test --test library samples"
        );
        let readme = fs::read_to_string(root.join("README.md")).unwrap();
        assert!(readme.contains(&format!("out/sample/{picture}")), "the README does not show {picture}");
    }
}

/// The files of a build by their paths. Their mark follows the spec's words, too, which pictures do not show: it is
/// always the same here.
fn pictures(project: &Project, options: &Options) -> BTreeMap<String, Vec<u8>> {
    let files = Mutex::new(BTreeMap::new());
    let sink = |artifact: &Artifact| {
        let text = String::from_utf8(artifact.bytes.clone()).unwrap().replace(project.mark(), "BCDFGH");
        files.lock().unwrap().insert(artifact.path.clone(), text.into_bytes());
        Ok::<(), std::convert::Infallible>(())
    };
    project.render(options, &sink, &|| ()).unwrap();
    files.into_inner().unwrap()
}

/// The pictures of runs that have only ends.
fn of_the_shelf_server(root: &Path) -> [(String, Vec<u8>); 2] {
    let text = fs::read_to_string(root.join("specs/shelf-server.yaml")).unwrap();
    let resolver = |name: &str| fs::read(root.join("specs").join(name)).map_err(|error| error.to_string());
    let unrouted = Unrouted::read_with(&text, "shelf-server.yaml", &resolver);
    let routed = unrouted.ways(3, EFFORT);
    let whole = unrouted.checked(routed.clone()).plan().unwrap();
    let options = Options { formats: vec![Format::Svg], ..Options::default() };
    let overview = pictures(&whole, &options).remove("overview.svg").unwrap();
    let run = "suction";
    let found = routed.found.iter().find(|found| found.name == run).unwrap();
    let project = |way: usize| unrouted.checked_in_place(routed.with_way(run, way).unwrap()).plan().unwrap();
    let projects: Vec<Project> = (0..3).map(project).collect();
    let shown: Vec<ways::ShownWay<'_>> = (1..)
        .zip(&projects)
        .zip(&found.answer.ways)
        .map(|((number, project), way)| {
            let plan = project.plan().run(run).unwrap();
            let more = ways::facts(plan, way.planes);
            ways::ShownWay { layout: project.layout(), run, label: format!("{run} {number}"), more }
        })
        .collect();
    let meta = Meta { title: "Ways of shelf-server".into(), mark: "BCDFGH".into(), timestamp: 0 };
    [(FOUND.into(), overview), (WAYS.into(), svg::render(&ways::side_by_side(&shown), &meta))]
}
