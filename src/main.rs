//! coachwire: arguments, full screen or headless.
fn main() {}
