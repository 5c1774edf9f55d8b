//! Writes the reference run's STEP and STL files again and again and prints what each time took:
//! `solid_files FOLDER ROUNDS` prints JSON with the milliseconds of every round, files written.

#![allow(
    clippy::print_stdout,
    clippy::expect_used,
    clippy::panic,
    reason = "a benchmark that prints its result"
)]

mod reference;

use std::hint::black_box;
use std::path::Path;
use std::time::Instant;

use tubewright::export::{step, stl};
use tubewright::solid::mesh;

const CHORD_MM: f64 = 0.05;

fn main() {
    let arguments: Vec<String> = std::env::args().collect();
    let [_, folder, rounds] = arguments.as_slice() else { panic!("usage: solid_files FOLDER ROUNDS") };
    let rounds: usize = rounds.parse().expect("a number of rounds");
    let folder = Path::new(folder);
    let (laid, meta) = (reference::run(), reference::meta());
    let time = |write: &dyn Fn()| -> Vec<f64> {
        (0..rounds)
            .map(|_| {
                let start = Instant::now();
                write();
                start.elapsed().as_secs_f64() * 1e3
            })
            .collect()
    };
    let step = time(&|| {
        let bytes = step::tube_file(black_box(&laid), &meta).expect("a solid");
        std::fs::write(folder.join("tube.step"), bytes).expect("a file");
    });
    let stl = time(&|| {
        let mesh = mesh::tube(black_box(&laid.centreline), &laid.run.tube, CHORD_MM).expect("a mesh");
        std::fs::write(folder.join("tube.stl"), stl::render(&mesh, &laid.run.name)).expect("a file");
    });
    println!("{}", serde_json::json!({"step_ms": step, "stl_ms": stl}));
}
