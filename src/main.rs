//! The command line, and nothing else.

fn main() {}
