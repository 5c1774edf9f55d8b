//! The library through its public types: what it computes, draws and writes. One program, so that the linker works
//! once.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that cannot go on has failed"
)]

mod accepted_values;
mod assembly;
mod bench_sheet;
mod bending_order;
mod blocks;
mod calibration;
mod copies;
mod corners;
mod correct_estimate;
mod dxf;
mod far_end;
mod forms;
mod grooved;
mod impossible;
mod jigs;
mod layering;
mod loops;
mod never_beaten;
mod port_picture;
mod ports;
mod properties;
mod rework;
mod samples;
mod solids;
mod support;
mod units;
mod upright;
mod wishes;
