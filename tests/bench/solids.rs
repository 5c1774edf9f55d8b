//! Times of exact solids, STEP text, meshes and STL bytes of the reference run, in memory.

#![allow(
    missing_docs,
    clippy::expect_used,
    reason = "criterion writes an undocumented main; a benchmark may stop"
)]

mod reference;

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use tubewright::export::{step, stl};
use tubewright::solid::{self, mesh};

fn solids(criterion: &mut Criterion) {
    let (laid, meta) = (reference::run(), reference::meta());
    let tube = &laid.run.tube;
    let mut group = criterion.benchmark_group("reference run");
    group.bench_function("solid", |b| b.iter(|| solid::tube(black_box(&laid.centreline), tube)));
    group.bench_function("solid and STEP", |b| b.iter(|| step::tube_file(black_box(&laid), &meta)));
    group.bench_function("mesh", |b| b.iter(|| mesh::tube(black_box(&laid.centreline), tube, 0.05)));
    group.bench_function("mesh and STL", |b| {
        b.iter(|| mesh::tube(black_box(&laid.centreline), tube, 0.05).map(|m| stl::render(&m, "reference")));
    });
    group.finish();
}

criterion_group!(benches, solids);
criterion_main!(benches);
