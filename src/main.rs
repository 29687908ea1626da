//! The `teleassay` command.

fn main() {}
