//! The program as it is run: arguments, messages, exit codes, files on the disk.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that cannot go on has failed"
)]

mod bad_readings;
mod bad_specs;
mod cli;
mod correct;
mod few_threads;
mod findings;
mod marks;
mod named_files;
mod out_of_bounds;
mod route;
mod run;
mod terminal;
