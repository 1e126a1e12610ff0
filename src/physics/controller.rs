//! Where a charge controller lets its array work.

use super::module::Point;

/// Anything with a current-voltage curve: one cell string, an even array, a mixed array.
pub trait Source {
    /// Current into a source of `v` volts through extra series resistance.
    fn current_at(&self, v: f64, extra_ohm: f64) -> f64;
    /// Point of greatest power at the far end of extra series resistance.
    fn max_power(&self, extra_ohm: f64) -> Point;
    /// Volts without load.
    fn open_circuit_v(&self) -> f64;
}

/// Array and bank joined by a closed switch.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Direct {
    /// Volts at the module end of the wire.
    pub array_v: f64,
    /// Current, never from bank to array.
    pub current_a: f64,
    /// Power that reaches the bank.
    pub bank_w: f64,
}

/// A switching controller that joins array and bank directly: the bank's volts and the blocking drop hold the
/// array through the whole loop's resistance (both wires and the switch).
/// Source: Kirchhoff's voltage law with the single-diode equation.
#[must_use]
pub fn pwm_point<S: Source + ?Sized>(source: &S, bank_v: f64, block_v: f64, loop_ohm: f64) -> Direct {
    let current_a = source.current_at(bank_v + block_v, loop_ohm).max(0.0);
    let array_v = if current_a > 0.0 { bank_v + block_v + current_a * loop_ohm } else { source.open_circuit_v() };
    Direct { array_v, current_a, bank_w: bank_v * current_a }
}

/// A tracking controller as its data sheet describes it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tracker {
    /// Share of the array's power that the tracking finds, about 0.99.
    pub tracking: f64,
    /// Efficiency of conversion.
    pub conversion: f64,
    /// Own consumption, W.
    pub self_w: f64,
    /// Volts the array must keep above the bank; 0 for an ideal step-down converter.
    pub headroom_v: f64,
    /// Most output current, A.
    pub most_a: f64,
}

/// Share of the maximum power that static tracking finds. Source: EN 50530 gives 0.99 and better as typical;
/// common practice.
pub const STATIC_TRACKING: f64 = 0.99;

/// How a tracker works at an instant.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Tracking {
    /// At the maximum of power.
    Maximum,
    /// Held at bank volts plus headroom because the maximum lies below.
    Held,
}

/// What a tracker makes of its array.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tracked {
    /// Volts and current the array offers at the controller's input.
    pub input: Point,
    /// Current at the output.
    pub bank_a: f64,
    /// Power at the output.
    pub bank_w: f64,
    /// Which rule set the input.
    pub tracking: Tracking,
    /// Whether the output's current limit clipped it.
    pub limited: bool,
}

/// Input and output of a tracking controller behind a wire of `loop_ohm`, into a bank of `bank_v`.
/// Source: power balance of a step-down converter; efficiency terms in the style of EN 50530.
#[must_use]
pub fn tracking_point<S: Source + ?Sized>(source: &S, tracker: &Tracker, bank_v: f64, loop_ohm: f64) -> Tracked {
    let mut input = source.max_power(loop_ohm);
    let mut found = tracker.tracking;
    let mut tracking = Tracking::Maximum;
    let least_v = bank_v + tracker.headroom_v;
    if input.v < least_v {
        input = Point { v: least_v, i: source.current_at(least_v, loop_ohm).max(0.0) };
        found = 1.0;
        tracking = Tracking::Held;
    }
    let bank_w = (tracker.conversion * found * input.power_w() - tracker.self_w).max(0.0);
    let bank_a = if bank_v > 0.0 { bank_w / bank_v } else { 0.0 };
    let most_a = tracker.most_a.max(0.0);
    if bank_a > most_a {
        return Tracked { input, bank_a: most_a, bank_w: most_a * bank_v, tracking, limited: true };
    }
    Tracked { input, bank_a, bank_w: bank_a * bank_v, tracking, limited: false }
}
