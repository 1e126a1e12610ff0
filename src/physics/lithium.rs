//! Lithium iron phosphate cells: volts at rest from the published electrodes, sag from one resistance.

use std::sync::LazyLock;

/// Steps of the table of rest volts.
const STEPS: usize = 500;

/// Where each electrode stands at empty (2.0 V) and full (3.6 V): graphite from, to; iron phosphate from, to.
///
/// Source: balance of the cell of Prada et al. 2013, recovered by least squares from its published curve of 41 points
/// (returned within 5 uV).
const GRAPHITE: (f64, f64) = (0.017_617_94, 0.810_043);
const PHOSPHATE: (f64, f64) = (0.703_506_27, 0.003_761_6);

/// Volts of a resting cell from its electrodes.
///
/// Source: iron phosphate: Afshar et al. 2017, arXiv:1709.03970; graphite: Chen et al. 2020, J. Electrochem. Soc.
/// 167:080534; as combined for the cell of Prada et al. 2013, J. Electrochem. Soc. 160:A616.
fn electrodes_v(soc: f64) -> f64 {
    let x = GRAPHITE.0 + soc * (GRAPHITE.1 - GRAPHITE.0);
    let y = PHOSPHATE.0 + soc * (PHOSPHATE.1 - PHOSPHATE.0);
    let phosphate = 3.4077 - 0.020_269 * y + 0.5 * (-150.0 * y).exp() - 0.9 * (-30.0 * (1.0 - y)).exp();
    let graphite = 1.9793 * (-39.3631 * x).exp() + 0.2482
        - 0.0909 * (29.8538 * (x - 0.1234)).tanh()
        - 0.044_78 * (14.9159 * (x - 0.2769)).tanh()
        - 0.0205 * (30.4444 * (x - 0.6103)).tanh();
    phosphate - graphite
}

/// One node of the table.
#[derive(Clone, Copy)]
struct Node {
    /// Rest volts.
    volts: f64,
    /// How far those of the next node lie above them.
    rise_v: f64,
    /// Energy per ampere-hour of capacity from empty to here, Wh.
    below_wh: f64,
    /// One over the volts.
    over_v: f64,
}

const EMPTY: Node = Node { volts: 0.0, rise_v: 0.0, below_wh: 0.0, over_v: 0.0 };

/// Rest volts straight between nodes, so their integral is exact and so is their inverse.
static REST: LazyLock<[Node; STEPS + 1]> = LazyLock::new(|| {
    let step = 1.0 / STEPS as f64;
    let volts = |i: usize| electrodes_v(i as f64 * step);
    let mut below_wh = 0.0;
    std::array::from_fn(|i| {
        let (here, next) = (volts(i), volts(i + 1));
        let node = Node { volts: here, rise_v: next - here, below_wh, over_v: here.recip() };
        below_wh += f64::midpoint(here, next) * step;
        node
    })
});

/// The node below a state of charge, and how far from there to the next one it lies.
#[inline]
fn below(soc: f64) -> (Node, f64) {
    let place = soc.clamp(0.0, 1.0) * STEPS as f64;
    let first = (place as u32 as usize).min(STEPS - 1);
    let node = REST.get(first).copied().unwrap_or(EMPTY);
    (node, place - first as f64)
}

/// Volts of a resting cell at 25 C, 2.0 V empty to 3.6 V full. Real packs differ by tens of mV and stop inside this
/// range; never a charge gauge. Straight between 501 points: within 2 mV of the published electrodes.
/// Source: Prada et al. 2013, J. Electrochem. Soc. 160:A616, electrode functions and balance.
#[must_use]
#[inline]
pub fn rest_cell_v(soc: f64) -> f64 {
    let (low, share) = below(soc);
    low.volts + share * low.rise_v
}

/// Energy of a cell from empty to a state of charge, Wh per Ah of capacity: the integral of [`rest_cell_v`].
/// Source: Prada et al. 2013, J. Electrochem. Soc. 160:A616, integrated.
#[must_use]
#[inline]
pub fn energy_wh_per_ah(soc: f64) -> f64 {
    rest_v_and_energy(soc).1
}

/// [`rest_cell_v`] and [`energy_wh_per_ah`] for one search of the table.
/// Source: as these two.
#[must_use]
#[inline]
pub fn rest_v_and_energy(soc: f64) -> (f64, f64) {
    let (low, share) = below(soc);
    let rise_v = share * low.rise_v;
    (low.volts + rise_v, low.below_wh + share * (low.volts + 0.5 * rise_v) * (1.0 / STEPS as f64))
}

/// State of charge at which a cell holds so many Wh per Ah of capacity: the inverse of [`energy_wh_per_ah`]; below 0 and
/// above 1 for what it cannot hold. `near`: about where; the search begins there.
/// Source: Prada et al. 2013, J. Electrochem. Soc. 160:A616, integrated and inverted.
#[must_use]
pub fn soc_at_energy(wh_per_ah: f64, near: f64) -> f64 {
    let rest = &*REST;
    let mut first = ((near.clamp(0.0, 1.0) * STEPS as f64) as u32 as usize).min(STEPS - 1);
    let below_wh = |i: usize| rest.get(i).map_or(f64::MAX, |node| node.below_wh);
    while first > 0 && wh_per_ah < below_wh(first) {
        first -= 1;
    }
    while first < STEPS - 1 && wh_per_ah >= below_wh(first + 1) {
        first += 1;
    }
    let Node { rise_v, below_wh, over_v, .. } = rest.get(first).copied().unwrap_or(EMPTY);
    // Within a step its volts rise straight: a quadratic.
    let level = (wh_per_ah - below_wh) * STEPS as f64 * over_v;
    let bend = rise_v * level * over_v;
    let share = if bend.abs() < FLAT {
        level * (1.0 - bend * (0.5 - bend * (0.5 - bend * 0.625)))
    } else {
        2.0 * level / (1.0 + (1.0 + 2.0 * bend).max(0.0).sqrt())
    };
    (first as f64 + share) * (1.0 / STEPS as f64)
}

/// Below this the root's series to its third power is exact to the last bit or so: what is left out is 7/8 of the
/// fourth power.
/// Source: binomial series.
const FLAT: f64 = 1e-4;

/// State of charge at which a resting cell has these volts: the inverse of [`rest_cell_v`], 0 to 1.
/// Source: Prada et al. 2013, J. Electrochem. Soc. 160:A616, inverted.
#[must_use]
pub fn soc_at_rest_v(cell_v: f64) -> f64 {
    let rest = &*REST;
    // A charger's held volts lie in the last few steps: from the top down there.
    let (low, last) = rest.split_at(STEPS - 16);
    let above = if last.first().is_some_and(|node| node.volts <= cell_v) {
        rest.len() - last.iter().rev().take_while(|node| node.volts > cell_v).count()
    } else {
        low.partition_point(|node| node.volts <= cell_v)
    };
    let (Some(first), Some(high)) = (above.checked_sub(1), rest.get(above)) else {
        return if above == 0 { 0.0 } else { 1.0 };
    };
    let low_v = rest.get(first).map_or(0.0, |node| node.volts);
    (first as f64 + (cell_v - low_v) / (high.volts - low_v)) / STEPS as f64
}

/// Resistance under load of one cell of a capacity, ohms, its share of the management unit included. Grows in the
/// cold: twofold in 23 K below 25 C, held above 40 C.
/// Source: 10 mohm for a 12.8 V 100 Ah battery, common practice; the growth with cold from memory.
#[must_use]
pub fn sag_cell_ohm(rated_ah: f64, battery_c: f64) -> f64 {
    sag_cell_ohm_25(rated_ah) * cold_growth(battery_c)
}

/// The same at 25 C. Source: as [`sag_cell_ohm`].
#[must_use]
pub fn sag_cell_ohm_25(rated_ah: f64) -> f64 {
    0.0025 * 100.0 / rated_ah.clamp(1e-3, 1e9)
}

/// Resistance over that at 25 C. Source: twofold in 23 K, from memory.
#[must_use]
pub fn cold_growth(battery_c: f64) -> f64 {
    (0.03 * (25.0 - battery_c.clamp(-40.0, 40.0))).exp()
}

/// Share of a charge current that is stored. Source: 0.995, common practice.
pub const COULOMBIC: f64 = 0.995;
