//! The `tubewright` command.

fn main() {}
