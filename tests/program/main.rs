//! The program as it is run: arguments, messages, exit codes, files on the disk.

mod bad_specs;
mod cli;
mod few_threads;
mod findings;
mod marks;
mod out_of_bounds;
mod terminal;
