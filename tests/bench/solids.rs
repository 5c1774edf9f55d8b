//! Times of exact solids, STEP text, meshes and STL bytes of the reference run and of a bending form, in memory.

#![allow(
    missing_docs,
    clippy::expect_used,
    reason = "criterion writes an undocumented main; a benchmark may stop"
)]

mod reference;

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use tubewright::build::Project;
use tubewright::export::{step, stl};
use tubewright::solid::{self, Tubes, mesh};

fn solids(criterion: &mut Criterion) {
    let (laid, meta) = (reference::run(), reference::meta());
    let tube = &laid.run.tube;
    let mut group = criterion.benchmark_group("reference run");
    group.bench_function("solid", |b| b.iter(|| solid::tube(black_box(&laid.centreline), tube)));
    group.bench_function("solid and STEP", |b| {
        b.iter(|| step::tube_file(black_box(&laid), &Tubes::default(), &meta));
    });
    group.bench_function("mesh", |b| b.iter(|| mesh::tube(black_box(&laid.centreline), tube, 0.05)));
    group.bench_function("mesh and STL", |b| {
        b.iter(|| {
            mesh::tube(black_box(&laid.centreline), tube, 0.05)
                .map(|m| stl::render(&m, None, "reference", "BCDFGH"))
        });
    });
    group.finish();
}

fn forms(criterion: &mut Criterion) {
    let text = include_str!("../../specs/lamp-arm.yaml");
    let project = Project::read(text, "lamp-arm.yaml").expect("a demo is sound");
    let form = project.tooling().forms.first().expect("a demo has a form");
    let (block, meta) = (form.blocks.first().expect("a form has a block"), reference::meta());
    let solid = solid::block(block).expect("a form is sound");
    let mut group = criterion.benchmark_group("bending form");
    group.bench_function("solid", |b| b.iter(|| solid::block(black_box(block))));
    group.bench_function("solids and STEP", |b| b.iter(|| step::form_file(black_box(form), &meta)));
    group.bench_function("mesh", |b| b.iter(|| mesh::of_solid(black_box(&solid), 0.05)));
    group.bench_function("mesh and STL", |b| {
        b.iter(|| mesh::of_solid(black_box(&solid), 0.05).map(|m| stl::render(&m, None, "form", "BCDFGH")));
    });
    group.finish();
}

criterion_group!(benches, solids, forms);
criterion_main!(benches);
