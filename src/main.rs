//! The program: the window, or one command without it.

fn main() {}
