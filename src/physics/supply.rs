//! Constant-power converters at the end of resistive wires.

/// Where such a converter settles.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Feed {
    /// Volts at its input.
    pub input_v: f64,
    /// Current it draws.
    pub input_a: f64,
}

/// Input of a converter that draws `power_w` through `loop_ohm` from a source of `source_v`: the upper root of
/// V^2 - V E + P R = 0. `None` where the wire cannot carry that power at all: the converter will drop out.
/// Source: Kirchhoff's voltage law with P = V I.
#[must_use]
pub fn feed(source_v: f64, loop_ohm: f64, power_w: f64) -> Option<Feed> {
    let discriminant = source_v * source_v - 4.0 * power_w * loop_ohm;
    if source_v <= 0.0 || discriminant < 0.0 || !discriminant.is_finite() {
        return None;
    }
    let input_v = f64::midpoint(source_v, discriminant.sqrt());
    Some(Feed { input_v, input_a: power_w / input_v })
}

/// What one of several converters asks of the wires that bring it its power.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ask {
    pub source_v: f64,
    pub power_w: f64,
    /// Volts at its input below which it stops.
    pub cutout_v: f64,
}

/// Rounds of the mutual search. Near the most that a wire brings each gains little: what has not settled by then is taken
/// as not carried. Source: our own choice.
const ROUNDS: usize = 400;
/// Where two rounds agree to this share the search ends.
const SAME: f64 = 1e-13;

/// Inputs of several converters on wires of which `ohm` gives what two of them share, and one's whole. Each sees its source
/// less what the others' currents drop in the shared ohms, and settles as [`feed`] has it; currents only rise from round to
/// round, so that the first that is found is the upper root. Else the one whose wires do not carry what they ask together.
/// Source: Kirchhoff's voltage law with P = V I, for all of them at once.
pub fn feeds(asks: &[Ask], ohm: impl Fn(usize, usize) -> f64) -> Result<Vec<Feed>, usize> {
    let at_source = |ask: &Ask| Feed { input_v: ask.source_v, input_a: ask.power_w / ask.source_v };
    let mut all: Vec<Feed> = asks.iter().map(at_source).collect();
    let mut moved = None;
    for _ in 0..ROUNDS {
        moved = None;
        for (i, ask) in asks.iter().enumerate() {
            let dropped_v = |j: usize| all.get(j).map_or(0.0, |other| ohm(i, j) * other.input_a);
            let others_v: f64 = (0..asks.len()).filter(|j| *j != i).map(dropped_v).sum();
            let found = feed(ask.source_v - others_v, ohm(i, i), ask.power_w).ok_or(i)?;
            let Some(slot) = all.get_mut(i) else { continue };
            if (found.input_a - slot.input_a).abs() > SAME * found.input_a {
                moved = Some(i);
            }
            *slot = found;
        }
        if moved.is_none() || asks.len() == 1 {
            return Ok(all);
        }
    }
    Err(moved.unwrap_or(0))
}

/// The one of several converters that drops out first: whose input stands lowest against its own cut-out; where the wires
/// do not carry what they ask together, by what their currents drop at the source's volts. None where all keep running.
/// Source: [`feeds`], and each one's own cut-out.
pub fn falling(asks: &[Ask], ohm: impl Fn(usize, usize) -> f64) -> Option<usize> {
    // Of those that stand alike the last.
    let lowest = |over_v: &mut dyn Iterator<Item = (usize, f64)>| over_v.max_by(|a, b| b.1.total_cmp(&a.1));
    match feeds(asks, &ohm) {
        Ok(found) => {
            let mut all = asks.iter().zip(&found).map(|(ask, f)| f.input_v - ask.cutout_v).enumerate();
            lowest(&mut all).filter(|(_, over_v)| *over_v < 0.0).map(|(i, _)| i)
        }
        Err(at) => {
            let sag_v = |i: usize| -> f64 {
                asks.iter().enumerate().map(|(j, other)| ohm(i, j) * other.power_w / other.source_v).sum()
            };
            let on_it = asks.iter().enumerate().filter(|(i, _)| *i == at || ohm(at, *i) > 0.0);
            let mut over = on_it.map(|(i, ask)| (i, ask.source_v - sag_v(i) - ask.cutout_v));
            lowest(&mut over).map(|(i, _)| i)
        }
    }
}
