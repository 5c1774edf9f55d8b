//! Times of cut plans: 20 runs that all differ, on enough stock, on too little and with leftovers; and
//! 300 runs.

#![allow(
    missing_docs,
    clippy::expect_used,
    reason = "criterion writes an undocumented main; a benchmark may stop"
)]

use std::fmt::Write;

use criterion::{Criterion, criterion_group, criterion_main};
use tubewright::build::Project;
use tubewright::fit::FitReport;
use tubewright::plan;

/// A spec of `count` straight runs between 150 and 1049 mm, spread by the golden ratio.
fn spec(count: u32, stock: &str) -> String {
    let mut text = format!(
        "format: 1\ntube: {{standard: EN 1057, size: 15 x 1.0, temper: hard}}\nbender: {{clr: 55}}\nstock: {stock}\nruns:\n"
    );
    for index in 0..count {
        let length = 150.0 + 899.0 * (f64::from(index) * 0.618_034).fract();
        writeln!(text, "  r{index}: {{bends: [], end_length: {length:.1}}}").expect("fits memory");
    }
    text
}

fn cutting(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("cut plan");
    group.sample_size(10);
    for (name, count, stock) in [
        ("20 runs", 20, "{length: 3 m, kerf: 1}"),
        ("20 runs, too little stock", 20, "{length: 3 m, kerf: 1, count: 2}"),
        ("20 runs, 4 leftovers", 20, "{length: 3 m, kerf: 1, leftovers: [820, 1200, 640, 450]}"),
        ("300 runs", 300, "{length: 3 m, kerf: 1, leftovers: [820, 1200, 640, 450]}"),
    ] {
        let project = Project::read(&spec(count, stock), "bench.yaml").expect("is sound");
        group.bench_function(name, |b| {
            b.iter(|| plan::plan(project.layout(), &FitReport::default()));
        });
    }
    group.finish();
}

criterion_group!(benches, cutting);
criterion_main!(benches);
