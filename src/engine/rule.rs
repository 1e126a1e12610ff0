//! The rule values in force: the standard ones of the basis, with those the plan changes.

use std::sync::LazyLock;

use crate::plan::Plan;
use crate::plan::ledger::RuleChange;
use crate::standards::kinds::{Basis, Zone};
use crate::standards::rules::{Rule, ambient_rule_id, rule};

macro_rules! in_force {
    ($($name:ident = $id:literal),* $(,)?) => {
        /// Rule values by name; each is described where the rules stand as data.
        #[derive(Clone, Debug, PartialEq)]
        pub struct Rules {
            /// Rule basis.
            pub basis: Basis,
            /// Ambient of each zone, in the order of the zones, C.
            pub ambient_c: [f64; 9],
            $(#[doc = concat!("Rule `", $id, "`.")] pub $name: f64,)*
        }

        impl Rules {
            fn standard(basis: Basis) -> Self {
                let value = |id: &str| rule(id).map_or(0.0, |r| r.value(basis));
                let mut ambient_c = [0.0; 9];
                for (slot, zone) in ambient_c.iter_mut().zip(Zone::ALL) {
                    *slot = value(ambient_rule_id(*zone));
                }
                Self { basis, ambient_c, $($name: value($id),)* }
            }

            fn change(&mut self, id: &str, value: f64) {
                match id {
                    $($id => self.$name = value,)*
                    _ => {
                        for (slot, zone) in self.ambient_c.iter_mut().zip(Zone::ALL) {
                            if ambient_rule_id(*zone) == id {
                                *slot = value;
                            }
                        }
                    }
                }
            }

            /// Names of the rules the engine reads (besides those of the zones).
            pub const IDS: &'static [&'static str] = &[$($id),*];
        }
    };
}

in_force! {
    array_current_factor = "array-current-factor",
    pv_conductor_factor = "pv-conductor-factor",
    string_fuse_factor = "string-fuse-factor",
    tracking_efficiency = "tracking-efficiency",
    beta_fallback = "beta-fallback",
    cutoff_lfp_v = "cutoff-lfp-v",
    interior_least_c = "interior-least-c",
    alternator_line_factor = "alternator-line-factor",
    shunt_sense_fuse_a = "shunt-sense-fuse-a",
    inverter_volts_lfp = "inverter-volts-lfp",
    inverter_volts_lead = "inverter-volts-lead",
    voc_stop_pct = "voc-stop-pct",
    voc_caution_pct = "voc-caution-pct",
    shock_v = "shock-v",
    cold_margin_k = "cold-margin-k",
    headroom_scan_v = "headroom-scan-v",
    hot_rise_feet_k = "hot-rise-feet-k",
    hot_rise_glued_k = "hot-rise-glued-k",
    start_sun = "start-sun",
    pwm_margin_v = "pwm-margin-v",
    pwm_far_above = "pwm-far-above",
    unlike_pct = "unlike-pct",
    alternator_share_pct = "alternator-share-pct",
    alternator_low_v = "alternator-low-v",
    alternator_loop_c = "alternator-loop-c",
    accepted_worsening_pct = "accepted-worsening-pct",
    discharge_share = "discharge-share",
    lfp_charge_least_c = "lfp-charge-least-c",
    dull_days = "dull-days",
    usable_depth_lfp = "usable-depth-lfp",
    usable_depth_lead = "usable-depth-lead",
    profile_apart_v = "profile-apart-v",
    fuse_factor = "fuse-factor",
    fuse_least_factor = "fuse-least-factor",
    conductor_factor = "conductor-factor",
    next_rating_up = "next-rating-up",
    small_wire_limits = "small-wire-limits",
    fuse_distance_note_m = "fuse-distance-note-m",
    fuse_distance_m = "fuse-distance-m",
    fuse_distance_sheathed_m = "fuse-distance-sheathed-m",
    fuse_distance_post_m = "fuse-distance-post-m",
    tap_times = "tap-times",
    tap_length_m = "tap-length-m",
    unfused_strings = "unfused-strings",
    interrupt_margin = "interrupt-margin",
    fault_volts_lfp = "fault-volts-lfp",
    fault_volts_lead = "fault-volts-lead",
    fault_cable_c = "fault-cable-c",
    lfp_unknown_fault_a = "lfp-unknown-fault-a",
    start_battery_cca_a = "start-battery-cca-a",
    lead_ohmic_mohm = "lead-ohmic-mohm",
    lead_fault_volts = "lead-fault-volts",
    drop_array = "drop-array",
    drop_controller_bank = "drop-controller-bank",
    drop_inverter = "drop-inverter",
    drop_charger = "drop-charger",
    drop_charger_input = "drop-charger-input",
    drop_critical = "drop-critical",
    drop_other = "drop-other",
    battery_switch_mohm = "battery-switch-mohm",
    lugged_joint_mohm = "lugged-joint-mohm",
    pv_connector_mohm = "pv-connector-mohm",
    fuse_drop_v = "fuse-drop-v",
    class_t_drop_v = "class-t-drop-v",
    breaker_drop_v = "breaker-drop-v",
    shunt_drop_v = "shunt-drop-v",
    least_array_mm2 = "least-array-mm2",
    least_feed_mm2 = "least-feed-mm2",
    least_branch_mm2 = "least-branch-mm2",
    terminal_c = "terminal-c",
    other_basis_pct = "other-basis-pct",
    bundle_marine = "bundle-marine",
    parallel_least_mm2 = "parallel-least-mm2",
    copper_clad_resistance = "copper-clad-resistance",
    copper_clad_ampacity = "copper-clad-ampacity",
    uplift_factor = "uplift-factor",
    uplift_speed_ms = "uplift-speed-ms",
    uplift_cp = "uplift-cp",
    uplift_air = "uplift-air",
    uplift_front_pct = "uplift-front-pct",
    uplift_prying = "uplift-prying",
    deck_least_m = "deck-least-m",
    osb_gravity = "osb-gravity",
    plywood_gravity = "plywood-gravity",
    access_way_m = "access-way-m",
    access_gap_m = "access-gap-m",
    shadow_share_pct = "shadow-share-pct",
}

/// A rule whose value a plan changes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Changed<'a> {
    pub rule: &'static Rule,
    /// Its value on the plan's basis.
    pub standard: f64,
    /// The value in force, within the rule's bounds.
    pub value: f64,
    /// As written; empty where none is given.
    pub reason: &'a str,
}

impl<'a> Changed<'a> {
    /// Why, in words.
    #[must_use]
    pub fn said(&self) -> &'a str {
        if self.reason.is_empty() { "no reason given" } else { self.reason }
    }
}

static STANDARD: LazyLock<[Rules; 3]> =
    LazyLock::new(|| [Basis::UsRv, Basis::Marine, Basis::Metric].map(Rules::standard));

impl Rules {
    /// The values a plan is judged by. A changed value is held within the bounds its rule states.
    #[must_use]
    pub fn of(plan: &Plan) -> Self {
        let [us_rv, marine, metric] = &*STANDARD;
        let mut rules = match plan.job.basis {
            Basis::UsRv => us_rv,
            Basis::Marine => marine,
            Basis::Metric => metric,
        }
        .clone();
        for change in &plan.rules {
            if let (Some(value), Some(row)) = (change.value.known(), rule(change.id.as_str())) {
                rules.change(row.id, value.0.clamp(row.least, row.most));
            }
        }
        rules
    }

    /// The rules a plan changes, each with its standard value and the one in force, in the plan's order. A change of an
    /// unknown value, to the standard value, or of a rule that does not exist, changes nothing and is left out.
    #[must_use]
    pub fn changed(plan: &Plan) -> Vec<Changed<'_>> {
        let of = |change: &'_ RuleChange| Some((rule(change.id.as_str())?, change.value.known()?.0));
        let all = plan.rules.iter().enumerate().filter_map(|(i, change)| of(change).map(|found| (i, change, found)));
        // Of several changes of one rule the last holds.
        let holds = |i: usize, change: &RuleChange| {
            !plan.rules.iter().skip(i + 1).any(|later| later.id == change.id && later.value.known().is_some())
        };
        let all = all.filter(|(i, change, _)| holds(*i, change)).map(|(_, change, found)| (change, found));
        all.map(|(change, (rule, value))| Changed {
            rule,
            standard: rule.value(plan.job.basis),
            value: value.clamp(rule.least, rule.most),
            reason: change.reason.trim(),
        })
        .filter(|changed| changed.value != changed.standard)
        .collect()
    }

    /// Ambient of a zone, C.
    #[must_use]
    pub fn ambient(&self, zone: Zone) -> f64 {
        let [roof, cavity, refrigerator, cabinet, basement, battery, engine, exhaust, gas] = self.ambient_c;
        match zone {
            Zone::Roof => roof,
            Zone::RoofCavity => cavity,
            Zone::Refrigerator => refrigerator,
            Zone::Cabinet => cabinet,
            Zone::Basement => basement,
            Zone::BatteryBox => battery,
            Zone::EngineBay => engine,
            Zone::Exhaust => exhaust,
            Zone::GasLocker => gas,
        }
    }
}
