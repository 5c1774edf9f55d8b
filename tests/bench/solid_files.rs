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
use tubewright::solid::{Tubes, mesh};

const CHORD_MM: f64 = 0.05;

/// Rounds before those that count.
const WARM_UP: usize = 40;

fn main() {
    let arguments: Vec<String> = std::env::args().collect();
    let [_, folder, rounds] = arguments.as_slice() else { panic!("usage: solid_files FOLDER ROUNDS") };
    let rounds: usize = rounds.parse().expect("a number of rounds");
    let folder = Path::new(folder);
    let meta = reference::meta();
    // A new file each round: some file systems flush a file that is emptied and written again.
    let time = |write: &dyn Fn(usize)| -> Vec<f64> {
        // Not counted: a process that has just started still fetches its code and memory.
        (rounds..rounds + WARM_UP).for_each(write);
        (0..rounds)
            .map(|round| {
                let start = Instant::now();
                write(round);
                start.elapsed().as_secs_f64() * 1e3
            })
            .collect()
    };
    let step = time(&|round| {
        let bytes = step::tube_file(&black_box(reference::run()), &Tubes::default(), &meta).expect("a solid");
        std::fs::write(folder.join(format!("ours-{round}.step")), bytes).expect("a file");
    });
    let stl = time(&|round| {
        let laid = black_box(reference::run());
        let mesh = mesh::tube(&laid.centreline, &laid.run.tube, CHORD_MM).expect("a mesh");
        std::fs::write(
            folder.join(format!("ours-{round}.stl")),
            stl::render(&mesh, None, &laid.run.name, "BCDFGH"),
        )
        .expect("a file");
    });
    println!("{}", serde_json::json!({"step_ms": step, "stl_ms": stl}));
}
