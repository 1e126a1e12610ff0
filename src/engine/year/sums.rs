//! What hours and days come to.

/// Sums of one month, Wh.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct MonthSums {
    /// What could arrive at the posts.
    pub harvest_wh: f64,
    /// What of it did.
    pub solar_wh: f64,
    /// What other chargers brought to the posts.
    pub other_wh: f64,
    /// What of that came from shore power.
    pub shore_wh: f64,
    pub load_wh: f64,
    pub served_wh: f64,
    /// Change of what rests in the cells.
    pub stored_wh: f64,
    /// Lost in the cells.
    pub lost_wh: f64,
    /// Into the posts of the bank.
    pub charged_wh: f64,
    /// Not taken because the bank was full or its volts held.
    pub full_wh: f64,
    /// Not taken because of the bank's charge limit.
    pub limited_wh: f64,
    /// Not taken because the bank was too cold.
    pub cold_wh: f64,
    /// The same of what other chargers could have given.
    pub other_cold_wh: f64,
    /// Lost in the PV loops.
    pub pv_wire_wh: f64,
    /// Lost between controllers and posts.
    pub out_wire_wh: f64,
    /// Lost to the controllers' current limits.
    pub clipped_wh: f64,
    /// Lost because the array did not work at its best volts.
    pub mismatch_wh: f64,
    /// Lost in conversion and own use of the controllers.
    pub convert_wh: f64,
    /// Days on which some load was not served.
    pub short_days: f64,
    /// Of the medical loads, not served.
    pub medical_short_wh: f64,
    /// Not served because the inverter's own cut-off had it off.
    pub cut_off_wh: f64,
    /// Not served because the bank's discharge limit kept it back.
    pub held_back_wh: f64,
    /// Of the load, what no inverter carries: asked for and not served.
    pub beyond_wh: f64,
    /// Of the load, what depends on how the bank fares: its heater, and controllers that wait for it to be lower.
    pub by_bank_wh: f64,
    /// Least state of charge.
    pub least_soc: f64,
}

impl MonthSums {
    /// Of no time at all.
    pub(super) const NONE: Self = Self {
        harvest_wh: 0.0,
        solar_wh: 0.0,
        other_wh: 0.0,
        shore_wh: 0.0,
        load_wh: 0.0,
        served_wh: 0.0,
        stored_wh: 0.0,
        lost_wh: 0.0,
        charged_wh: 0.0,
        full_wh: 0.0,
        limited_wh: 0.0,
        cold_wh: 0.0,
        other_cold_wh: 0.0,
        pv_wire_wh: 0.0,
        out_wire_wh: 0.0,
        clipped_wh: 0.0,
        mismatch_wh: 0.0,
        convert_wh: 0.0,
        short_days: 0.0,
        medical_short_wh: 0.0,
        cut_off_wh: 0.0,
        held_back_wh: 0.0,
        beyond_wh: 0.0,
        by_bank_wh: 0.0,
        least_soc: 1.0,
    };

    /// With the sums of the days that follow.
    pub(super) fn and(&self, more: &Self) -> Self {
        Self {
            harvest_wh: self.harvest_wh + more.harvest_wh,
            solar_wh: self.solar_wh + more.solar_wh,
            other_wh: self.other_wh + more.other_wh,
            shore_wh: self.shore_wh + more.shore_wh,
            load_wh: self.load_wh + more.load_wh,
            served_wh: self.served_wh + more.served_wh,
            stored_wh: self.stored_wh + more.stored_wh,
            lost_wh: self.lost_wh + more.lost_wh,
            charged_wh: self.charged_wh + more.charged_wh,
            full_wh: self.full_wh + more.full_wh,
            limited_wh: self.limited_wh + more.limited_wh,
            cold_wh: self.cold_wh + more.cold_wh,
            other_cold_wh: self.other_cold_wh + more.other_cold_wh,
            pv_wire_wh: self.pv_wire_wh + more.pv_wire_wh,
            out_wire_wh: self.out_wire_wh + more.out_wire_wh,
            clipped_wh: self.clipped_wh + more.clipped_wh,
            mismatch_wh: self.mismatch_wh + more.mismatch_wh,
            convert_wh: self.convert_wh + more.convert_wh,
            short_days: self.short_days + more.short_days,
            medical_short_wh: self.medical_short_wh + more.medical_short_wh,
            cut_off_wh: self.cut_off_wh + more.cut_off_wh,
            held_back_wh: self.held_back_wh + more.held_back_wh,
            beyond_wh: self.beyond_wh + more.beyond_wh,
            by_bank_wh: self.by_bank_wh + more.by_bank_wh,
            least_soc: self.least_soc.min(more.least_soc),
        }
    }

    /// Load not served.
    #[must_use]
    pub fn shortfall_wh(&self) -> f64 {
        (self.load_wh - self.served_wh).max(0.0)
    }

    /// How far the energy at the posts fails to close.
    #[must_use]
    pub fn gap_wh(&self) -> f64 {
        self.solar_wh + self.other_wh - self.served_wh - self.stored_wh - self.lost_wh
    }
}

/// One day.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct DaySums {
    pub harvest_wh: f64,
    /// What other chargers brought to the posts.
    pub other_wh: f64,
    pub load_wh: f64,
    pub shortfall_wh: f64,
    pub least_soc: f64,
}
