//! Lead-acid cells: volts both ways, what a held voltage lets in, capacity by rate, charge efficiency.
//!
//! Source of the model: Copetti, Lorenzo & Chenlo 1993, "A general battery model for PV system simulation", Progress
//! in Photovoltaics 1:283. Everything is per 2 V cell; currents are those of a whole parallel group, positive both ways.
//! State of charge is held within [`SOC_LOW`] and [`SOC_HIGH`] inside the powers, temperature within -40 and 60 C.

use super::bracket::Bracket;

/// Least state of charge the power terms see. Source: our own choice; the published terms grow without bound there.
pub const SOC_LOW: f64 = 0.02;
/// Greatest state of charge the power terms see. Source: our own choice; the published terms grow without bound there.
pub const SOC_HIGH: f64 = 0.995;
/// Coldest and hottest battery the formulas see, C. Source: our own choice, wider than any battery's sheet.
const TEMPERATURE_C: (f64, f64) = (-40.0, 60.0);
/// Greatest current the formulas see, A. Source: our own choice; keeps products finite.
const CURRENT_A: f64 = 1e6;

/// How a lead battery is built.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Plates {
    /// Free acid.
    #[default]
    Flooded,
    /// Acid in glass mat.
    Agm,
    /// Acid in gel.
    Gel,
}

impl Plates {
    /// Coefficient of the charge resistance that grows towards full. Source: 0.48 Copetti 1993 (flooded); half of it
    /// for glass mat, which takes about twice the current at the same volts, and between for gel: from memory, not
    /// published with the model.
    #[must_use]
    pub fn charge_rise(self) -> f64 {
        match self {
            Self::Flooded => 0.48,
            Self::Agm => 0.24,
            Self::Gel => 0.36,
        }
    }
}

/// A point on a curve of volts over current, with the resistance seen there.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Local {
    /// Volts at the posts.
    pub volts: f64,
    /// Change of volts per ampere, never negative: up in charge, down in discharge.
    pub ohm: f64,
}

/// One cell at one state of charge and temperature: what does not depend on the current, worked out once.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cell {
    c10_ah: f64,
    soc: f64,
    charge_rise: f64,
    charge_rest_v: f64,
    /// None until it is asked for.
    charge_fixed: Option<f64>,
    charge_scale: f64,
    discharge_rest_v: f64,
    discharge_fixed: f64,
    discharge_scale: f64,
}

/// The term a / (1 + I^m) of the published resistances, times the current.
struct Bend {
    a: f64,
    m: f64,
}

const CHARGE: Bend = Bend { a: 6.0, m: 0.86 };
const DISCHARGE: Bend = Bend { a: 4.0, m: 1.3 };

impl Bend {
    /// a / (1 + I^m); first and second derivative of its product with I.
    fn at(&self, current_a: f64) -> (f64, f64, f64) {
        let power = power(current_a, self.m);
        let over = 1.0 / (1.0 + power);
        let once = self.a * over * over;
        let below = self.m * power / current_a.max(1e-9);
        let twice = -once * over * below * (1.0 + self.m + (1.0 - self.m) * power);
        (self.a * over, once * (1.0 + (1.0 - self.m) * power), twice)
    }

    /// a / (1 + I^m) within 10 %, for the price of a product: the power is taken on the bits of the number, whose upper
    /// end is its logarithm's whole part and whose rest is nearly the fraction.
    fn roughly(&self, current_a: f64) -> f64 {
        let one = 1.0_f64.to_bits() as f64;
        let power = f64::from_bits((one + self.m * (current_a.to_bits() as f64 - one)).max(0.0) as u64);
        self.a / (1.0 + power)
    }
}

/// A power of a number not below 0, within 4 ulp: cheaper than the library's half of one.
fn power(x: f64, exponent: f64) -> f64 {
    (exponent * x.ln()).exp()
}

fn above_25(battery_c: f64) -> f64 {
    battery_c.clamp(TEMPERATURE_C.0, TEMPERATURE_C.1) - 25.0
}

fn held_a(current_a: f64) -> f64 {
    current_a.clamp(0.0, CURRENT_A)
}

fn held_ah(c10_ah: f64) -> f64 {
    c10_ah.clamp(1e-3, 1e9)
}

impl Cell {
    /// A cell of `c10_ah` (10 h rate) as it stands.
    /// Source: Copetti, Lorenzo & Chenlo 1993, charge and discharge equations; 0.27/SOC^1.5 as published.
    #[must_use]
    pub fn at(plates: Plates, c10_ah: f64, soc: f64, battery_c: f64) -> Self {
        let mut cell = Self::giving(plates, c10_ah, soc, battery_c);
        cell.charge_fixed = Some(cell.charge_fixed());
        cell
    }

    /// The same, with what only a charge needs worked out when it is asked for: cheaper where it just gives.
    /// Source: as [`Cell::at`].
    #[must_use]
    pub fn giving(plates: Plates, c10_ah: f64, soc: f64, battery_c: f64) -> Self {
        let soc = soc.clamp(SOC_LOW, SOC_HIGH);
        let c10_ah = held_ah(c10_ah);
        let dt = above_25(battery_c);
        Self {
            c10_ah,
            soc,
            charge_rise: plates.charge_rise(),
            charge_rest_v: 2.0 + 0.16 * soc,
            charge_fixed: None,
            charge_scale: (1.0 - 0.025 * dt) / c10_ah,
            discharge_rest_v: 2.085 - 0.12 * (1.0 - soc),
            discharge_fixed: 0.27 / (soc * soc.sqrt()) + 0.02,
            discharge_scale: (1.0 - 0.007 * dt) / c10_ah,
        }
    }

    /// What of the charge resistance does not depend on the current.
    fn charge_fixed(&self) -> f64 {
        self.charge_fixed.unwrap_or_else(|| self.charge_rise / power(1.0 - self.soc, 1.2) + 0.036)
    }

    /// Volts and resistance while it takes `current_a`.
    /// Source: Copetti, Lorenzo & Chenlo 1993, charge equation and its derivative.
    #[must_use]
    #[inline]
    pub fn charging(&self, current_a: f64) -> Local {
        let current_a = held_a(current_a);
        let ((below, slope, _), fixed) = (CHARGE.at(current_a), self.charge_fixed());
        Local {
            volts: self.charge_rest_v + current_a * (below + fixed) * self.charge_scale,
            ohm: (slope + fixed) * self.charge_scale,
        }
    }

    /// Volts and resistance while it gives `current_a`. The volts fall below zero past what a real cell can give.
    /// Source: Copetti, Lorenzo & Chenlo 1993, discharge equation and its derivative.
    #[must_use]
    pub fn discharging(&self, current_a: f64) -> Local {
        let current_a = held_a(current_a);
        let (below, slope, _) = DISCHARGE.at(current_a);
        Local {
            volts: self.discharge_rest_v - current_a * (below + self.discharge_fixed) * self.discharge_scale,
            ohm: (slope + self.discharge_fixed) * self.discharge_scale,
        }
    }

    /// Volts at rest: midway between the ends of the charge and the discharge curve, which do not meet.
    /// Source: Copetti, Lorenzo & Chenlo 1993 at zero current; the mean is our own choice.
    #[must_use]
    pub fn rest_v(&self) -> f64 {
        f64::midpoint(self.charge_rest_v, self.discharge_rest_v)
    }

    /// Current it takes while held at `held_v`, A; 0 where its own volts are as high.
    /// Source: Copetti, Lorenzo & Chenlo 1993, charge equation solved for the current.
    #[must_use]
    pub fn accepted_a(&self, held_v: f64) -> f64 {
        let reach = ((held_v - self.charge_rest_v) / self.charge_scale).min(CURRENT_A);
        if reach <= 0.0 {
            return 0.0;
        }
        reached(&CHARGE, self.charge_fixed(), reach)
    }

    /// Near the current it takes from `emf_v` behind `ohm`: where a search may begin.
    /// Source: Copetti, Lorenzo & Chenlo 1993, charge equation, its power taken roughly.
    #[must_use]
    pub fn nearly_taken_a(&self, emf_v: f64, ohm: f64) -> f64 {
        let reach = ((emf_v - self.charge_rest_v) / self.charge_scale).min(CURRENT_A);
        if reach <= 0.0 { 0.0 } else { nearly(&CHARGE, self.charge_fixed() + ohm / self.charge_scale, reach) }
    }

    /// Current at which its volts have sunk to `least_v`, A; 0 where they are as low at rest.
    /// Source: Copetti, Lorenzo & Chenlo 1993, discharge equation solved for the current.
    #[must_use]
    pub fn deliverable_a(&self, least_v: f64) -> f64 {
        let reach = ((self.discharge_rest_v - least_v) / self.discharge_scale).min(CURRENT_A);
        if reach <= 0.0 {
            return 0.0;
        }
        reached(&DISCHARGE, self.discharge_fixed, reach)
    }

    /// Current that brings in `cell_w`, A, no held volts in the way.
    /// Source: Copetti, Lorenzo & Chenlo 1993, charge equation times the current, solved for the current.
    #[must_use]
    pub fn current_in_a(&self, cell_w: f64) -> f64 {
        if cell_w <= 0.0 {
            return 0.0;
        }
        let (emf_v, fixed, scale) = (self.charge_rest_v, self.charge_fixed(), self.charge_scale);
        let most_a = cell_w / emf_v;
        let ohm = (CHARGE.roughly(most_a) + fixed) * scale;
        let start = 2.0 * cell_w / (emf_v + (emf_v * emf_v + 4.0 * ohm * cell_w).sqrt());
        root(0.0, most_a, start, |current_a| {
            let (below, slope, bend) = CHARGE.at(current_a);
            let volts = emf_v + current_a * scale * (below + fixed);
            let ohm = scale * (slope + fixed);
            (current_a * volts - cell_w, volts + current_a * ohm, 2.0 * ohm + current_a * scale * bend)
        })
        .unwrap_or(0.0)
    }

    /// Whether the cell at another state of charge certainly takes more than `current_a` at `held_v`, told without a power.
    /// Source: Copetti, Lorenzo & Chenlo 1993, charge equation, with (1 - SOC)^1.2 not below its power of 1.5.
    #[must_use]
    pub fn surely_takes_at(&self, soc: f64, current_a: f64, held_v: f64) -> bool {
        let soc = soc.clamp(SOC_LOW, SOC_HIGH);
        let current_a = held_a(current_a);
        let left = 1.0 - soc;
        let most_fixed = self.charge_rise / (left * left.sqrt()) + 0.036;
        let rise = current_a * self.charge_scale * (most_fixed + 1.15 * CHARGE.roughly(current_a));
        2.0 + 0.16 * soc + rise <= held_v
    }

    /// State of charge between two others at which `current_a` needs just `held_v`: the lower one where it needs more
    /// already there.
    /// Source: Copetti, Lorenzo & Chenlo 1993, charge equation solved for the state of charge.
    #[must_use]
    pub fn soc_taken_at(&self, low: f64, high: f64, current_a: f64, held_v: f64) -> f64 {
        let current_a = held_a(current_a);
        let rise = current_a * self.charge_scale;
        let room_v = held_v - 2.16 - rise * (CHARGE.at(current_a).0 + 0.036);
        let rise = rise * self.charge_rise;
        // By what is left to full, with which what remains of the held volts grows.
        let (least, most) = (1.0 - high.clamp(SOC_LOW, SOC_HIGH), 1.0 - low.clamp(SOC_LOW, SOC_HIGH));
        let over_v = |left: f64| {
            let held_back_v = rise / power(left, 1.2);
            let slope = 1.2 * held_back_v / left;
            (room_v + 0.16 * left - held_back_v, 0.16 + slope, -2.2 * slope / left)
        };
        if over_v(most).0 <= 0.0 {
            return low;
        }
        let near_v = (room_v + 0.16 * least).max(1e-6);
        let start = power(rise / near_v, 1.0 / 1.2).clamp(least, most);
        root(least, most, start, over_v).map_or(low, |left| 1.0 - left)
    }

    /// Whether `current_a` needs more than `held_v`. Mostly told without a power being taken.
    /// Source: Copetti, Lorenzo & Chenlo 1993, charge equation.
    #[must_use]
    pub fn needs_more(&self, current_a: f64, held_v: f64) -> bool {
        let current_a = held_a(current_a);
        let rise = current_a * self.charge_scale;
        let (sure_v, rough_v) = (self.charge_rest_v + rise * self.charge_fixed(), rise * CHARGE.roughly(current_a));
        if sure_v + 0.85 * rough_v > held_v {
            return true;
        }
        sure_v + 1.15 * rough_v > held_v && self.charging(current_a).volts > held_v
    }

    /// Current that brings out `cell_w` at no less than `least_v`, A; none where no current does. `least_v` must lie
    /// above half of the rest volts: below, more current brings less power.
    /// Source: Copetti, Lorenzo & Chenlo 1993, discharge equation times the current, solved for the current.
    #[must_use]
    pub fn current_out_a(&self, cell_w: f64, least_v: f64) -> Option<f64> {
        if cell_w <= 0.0 {
            return Some(0.0);
        }
        let (emf_v, fixed, scale) = (self.discharge_rest_v, self.discharge_fixed, self.discharge_scale);
        let most_a = cell_w / least_v.max(1e-3);
        let ohm = (DISCHARGE.roughly(cell_w / emf_v) + fixed) * scale;
        let linear = (emf_v * emf_v - 4.0 * ohm * cell_w).max(0.0).sqrt();
        let start = (2.0 * cell_w / (emf_v + linear)).min(most_a);
        let current_a = root(cell_w / emf_v, most_a, start, |current_a| {
            let (below, slope, bend) = DISCHARGE.at(current_a);
            let volts = emf_v - current_a * scale * (below + fixed);
            let ohm = scale * (slope + fixed);
            (current_a * volts - cell_w, volts - current_a * ohm, -2.0 * ohm - current_a * scale * bend)
        })?;
        // Where the power is out of reach the search ends at its upper bound.
        (current_a < most_a * (1.0 - 1e-9)).then_some(current_a)
    }

    /// Share of a charge current that is stored; the rest gasses.
    /// Source: Copetti, Lorenzo & Chenlo 1993, charge efficiency, for flooded; sealed cells take more current at the same
    /// volts, but gas no more of it: their exponent grows as their charge resistance falls, from memory.
    #[must_use]
    pub fn charge_efficiency(&self, current_a: f64) -> f64 {
        let rate = held_a(current_a) / (self.c10_ah / 10.0);
        let sealed = Plates::Flooded.charge_rise() / self.charge_rise;
        1.0 - (20.73 * sealed / (rate + 0.55) * (self.soc - 1.0)).exp()
    }
}

/// Near where `bend + fixed` times the current comes to `reach`.
fn nearly(bend: &Bend, fixed: f64, reach: f64) -> f64 {
    let first = reach / (bend.a * 0.1 + fixed);
    let second = reach / (bend.roughly(first) + fixed);
    reach / (bend.roughly(second) + fixed)
}

/// Current at which `bend + fixed` times the current comes to `reach`.
fn reached(bend: &Bend, fixed: f64, reach: f64) -> f64 {
    let start = nearly(bend, fixed, reach);
    root(reach / (bend.a + fixed), reach / fixed, start, |current_a| {
        let (below, slope, twice) = bend.at(current_a);
        (current_a * (below + fixed) - reach, slope + fixed, twice)
    })
    .unwrap_or(0.0)
}

/// Root of a rising function between two bounds, to the last digits, by Halley's steps within a bracket; none where
/// the search finds no end. The function gives its value and two derivatives.
fn root(low: f64, high: f64, start: f64, f: impl Fn(f64) -> (f64, f64, f64)) -> Option<f64> {
    let mut bracket = Bracket::new(low, high);
    let mut x = start;
    for _ in 0..90 {
        let (value, slope, twice) = f(x);
        if value == 0.0 {
            return Some(x);
        }
        let step = value / slope;
        let halley = x - step / (1.0 - 0.5 * step * twice / slope);
        let next = bracket.after(x, value < 0.0, halley);
        // A step of Halley's leaves about a hundredth of the cube of the error, halving half of it.
        let near = if next == halley { 1e-3 } else { 1e-13 };
        // At the top of a hill that stays below zero his steps are small, but they do not lead to it.
        let leads = next != halley || value.abs() <= 4.0 * (slope * (next - x)).abs();
        if leads && (next - x).abs() <= near * next.abs() {
            return Some(next);
        }
        x = next;
    }
    None
}

/// Energy of a cell from empty to a state of charge, Wh per Ah of capacity: the integral of its volts at rest, midway
/// between 2 + 0.16 SOC and 1.965 + 0.12 SOC.
/// Source: Copetti, Lorenzo & Chenlo 1993 at zero current, integrated.
#[must_use]
pub fn energy_wh_per_ah(soc: f64) -> f64 {
    soc * (1.9825 + 0.07 * soc)
}

/// Volts at which a cell begins to gas at a charge current.
/// Source: Copetti, Lorenzo & Chenlo 1993, gassing voltage.
#[must_use]
pub fn gassing_v(c10_ah: f64, battery_c: f64, current_a: f64) -> f64 {
    (2.24 + 1.97 * (held_a(current_a) / held_ah(c10_ah)).ln_1p()) * (1.0 - 0.002 * above_25(battery_c))
}

/// Volts a cell ends at when charged on at a current.
/// Source: Copetti, Lorenzo & Chenlo 1993, final charge voltage.
#[must_use]
pub fn final_v(c10_ah: f64, battery_c: f64, current_a: f64) -> f64 {
    (2.45 + 2.011 * (held_a(current_a) / held_ah(c10_ah)).ln_1p()) * (1.0 - 0.002 * above_25(battery_c))
}

/// Capacity at a discharge current over that of the 10 h rate at 25 C.
/// Source: Copetti, Lorenzo & Chenlo 1993, capacity; takes Peukert's place.
#[must_use]
pub fn capacity_ratio(c10_ah: f64, battery_c: f64, current_a: f64) -> f64 {
    let rate = held_a(current_a) / (held_ah(c10_ah) / 10.0);
    1.67 / (1.0 + 0.67 * rate.powf(0.9)) * (1.0 + 0.005 * above_25(battery_c))
}

/// Capacity of the 10 h rate over the 20 h rate that labels name.
/// Source: Copetti, Lorenzo & Chenlo 1993, capacity at C20/20 solved for C20: C20 = 1.179 C10.
pub const C10_OF_C20: f64 = 0.848_14;

/// Capacity of the 10 h rate of a battery whose label names another: the ampere-hours it gives in so many hours.
/// Source: Copetti, Lorenzo & Chenlo 1993, capacity, solved for C10 by rounds.
#[must_use]
pub fn c10_of(label_ah: f64, rate_h: f64) -> f64 {
    let label_ah = held_ah(label_ah);
    let current_a = label_ah / rate_h.clamp(0.1, 1000.0);
    let mut c10_ah = label_ah;
    for _ in 0..200 {
        let next_ah = label_ah / capacity_ratio(c10_ah, 25.0, current_a);
        let settled = (next_ah - c10_ah).abs() <= 1e-12 * next_ah;
        c10_ah = next_ah;
        if settled {
            break;
        }
    }
    c10_ah
}
