//! The text of a spec becomes a STEP file and a bend table.
//!
//! ```sh
//! cargo run --example step_and_bends > corner.step
//! ```

#![allow(
    clippy::print_stderr,
    clippy::panic,
    reason = "an example shows its table, and its test fails by panic"
)]

use std::error::Error;
use std::fmt::Write as _;
use std::io::Write as _;

use tubewright::{Diagnostics, Format, Options, Project};

const SPEC: &str = "
format: 1
tube: {standard: EN 1057, size: 15 x 1.0, temper: soft}
bender: {clr: 55}
runs:
  corner:
    from: [0, 0, 0]
    corners: [[0, 0, 120], [150, 0, 120]]
    to: [150, 200, 120]
";

fn main() -> Result<(), Box<dyn Error>> {
    let (step, bends) = step_and_bends(SPEC).map_err(|findings| as_text(&findings))?;
    eprint!("{bends}");
    std::io::stdout().write_all(&step)?;
    Ok(())
}

/// The STEP file of the run `corner`, and its bends in the order in which they are made.
fn step_and_bends(spec: &str) -> Result<(Vec<u8>, String), Diagnostics> {
    let project = Project::read(spec, "corner.yaml")?;
    let mut bends = String::from("bend  mark mm  turn the tube  pull to\n");
    for run in &project.plan().runs {
        for made in &run.from_datum_end {
            let (turn, pull) = (made.turn.of_tube().to_degrees(), made.pull.angle.to_degrees());
            // Writing to memory does not fail.
            let _ = writeln!(bends, "{:4}  {:7.1}  {turn:12.1}°  {pull:6.1}°", made.bend, made.feed.mark);
        }
    }
    let built = project.files(&Options { formats: vec![Format::Step], ..Options::default() })?;
    let step = built.files.into_iter().find(|file| file.path == "runs/corner/tube.step");
    Ok((step.map(|file| file.bytes).unwrap_or_default(), bends))
}

fn as_text(findings: &Diagnostics) -> String {
    findings.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n")
}

#[test]
fn the_example_gives_a_step_file_and_two_bends() {
    let (step, bends) = step_and_bends(SPEC).unwrap_or_else(|findings| panic!("{}", as_text(&findings)));
    assert!(step.starts_with(b"ISO-10303-21;"));
    // Two bends of 90°: the first begins 120 - 55 mm from the end, the second a quarter of 55 mm and 150 - 110 mm on.
    let marks: Vec<&str> = bends.lines().skip(1).filter_map(|line| line.split_whitespace().nth(1)).collect();
    assert_eq!(marks, ["65.0", "191.4"]);
}
