//! Newton's method that cannot run away.

/// Bounds of a root, narrowed as a search goes on.
pub(super) struct Bracket {
    low: f64,
    high: f64,
    last_step: f64,
}

impl Bracket {
    pub(super) fn new(low: f64, high: f64) -> Self {
        Self { low, high, last_step: f64::INFINITY }
    }

    /// The next place to look after `x`, given on which side of it the root lies and where Newton would go: his
    /// place if it lies inside and the steps shrink, the middle otherwise.
    pub(super) fn after(&mut self, x: f64, root_above: bool, newton: f64) -> f64 {
        if root_above {
            self.low = x;
        } else {
            self.high = x;
        }
        let step = (newton - x).abs();
        let shrinks = step <= 0.7 * self.last_step;
        let next = if newton >= self.low && newton <= self.high && shrinks {
            newton
        } else {
            f64::midpoint(self.low, self.high)
        };
        self.last_step = (next - x).abs();
        next
    }
}
