//! A charger's settings and where it is in its day.

use super::battery::{Bank, Flow, Limit};

/// What a charger is set to, whole bank, at 25 C.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ChargeSettings {
    /// Volts it holds until the bank is full.
    pub absorb_v: f64,
    /// Longest time at these, h; none: until the current has tapered off.
    pub absorb_h: Option<f64>,
    /// Volts it holds afterwards; none: it stops, and starts again the next day.
    pub float_v: Option<f64>,
    /// Change of both with battery temperature, V per K, negative for lead, 0 for lithium.
    pub compensation_v_per_k: f64,
}

/// Where a charger is in its day.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Stage {
    /// Giving all it can until the held volts, then holding them; hours so far at those.
    Absorb(f64),
    /// Full: holding the lower volts, or nothing.
    Float,
}

impl Stage {
    /// A new day's stage. Source: common practice, chargers begin again each morning.
    pub const DAWN: Self = Self::Absorb(0.0);
}

/// Current over rated capacity at which absorption ends by itself. Source: 1 to 2 % of C20, common practice.
pub const TAIL_SHARE: f64 = 0.02;

impl ChargeSettings {
    /// Volts held at the posts in a stage at a battery temperature; 0 where the charger is off.
    /// Source: linear compensation about 25 C, as makers' sheets give it.
    #[must_use]
    pub fn held_v(&self, stage: Stage, battery_c: f64) -> f64 {
        let at_25_v = match (stage, self.float_v) {
            (Stage::Absorb(_), _) => self.absorb_v,
            (Stage::Float, Some(float_v)) => float_v,
            (Stage::Float, None) => return 0.0,
        };
        (at_25_v + self.compensation_v_per_k * (battery_c.clamp(-40.0, 60.0) - 25.0)).max(0.0)
    }

    /// The stage after `hours` of a flow under the volts of the present one. Float lasts until the bank must give.
    /// Source: common practice: absorption ends by time or by tail current.
    #[must_use]
    pub fn after(&self, stage: Stage, bank: &Bank, taken: &Flow, hours: f64) -> Stage {
        match stage {
            Stage::Float => Stage::Float,
            Stage::Absorb(so_far_h) if taken.limit == Limit::Held => {
                let so_far_h = so_far_h + hours.max(0.0);
                let tapered = taken.current_a <= TAIL_SHARE * bank.rated_ah;
                let timed = self.absorb_h.is_some_and(|longest_h| so_far_h >= longest_h);
                if tapered || timed { Stage::Float } else { Stage::Absorb(so_far_h) }
            }
            Stage::Absorb(so_far_h) => Stage::Absorb(so_far_h),
        }
    }
}
