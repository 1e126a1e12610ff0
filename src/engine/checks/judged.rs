//! Which rule values a finding rests on: where a plan changes one of them, that is said beside the finding's source.

use crate::engine::finding::{Finding, Level};
use crate::engine::rule::{Changed, Rules};
use crate::plan::{Known, Plan, YesNo};

/// What a lead may have ahead where batteries in parallel meet.
pub(super) static TAP: &[&str] = &["tap-times", "tap-length-m"];

/// The rules whose value a check compares with or computes by. A path's drop names its own target itself.
fn of_check(check: &str) -> &'static [&'static str] {
    match check {
        "battery-lead-fed-by-others" => TAP,
        "alternator-overdrawn" => &["alternator-share-pct"],
        "conductor-below-current" => &["conductor-factor", "pv-conductor-factor"],
        "fuse-below-design" => &["fuse-factor", "fuse-least-factor"],
        "fuse-above-conductor" => &["next-rating-up", "small-wire-limits"],
        "other-basis-ampacity" => &["other-basis-pct"],
        "fuse-far-from-source" => {
            &["fuse-distance-note-m", "fuse-distance-m", "fuse-distance-sheathed-m", "fuse-distance-post-m"]
        }
        "interrupt-below-fault" | "battery-own-fuse" => &["interrupt-margin"],
        "fault-current-assumed" => &["lfp-unknown-fault-a"],
        "cold-voc-over-limit" => &["voc-stop-pct", "voc-caution-pct", "cold-margin-k"],
        "hot-vmp-low" => &["headroom-scan-v", "pwm-margin-v"],
        "pwm-panel-volts-high" => &["pwm-far-above"],
        "shock-volts" => &["shock-v"],
        "unlike-panels" => &["unlike-pct"],
        "string-fuse-missing" => &["unfused-strings", "array-current-factor"],
        "string-fuse-rating" => &["string-fuse-factor"],
        "array-small-for-lead" => &["lead-finish-pct"],
        "parallel-too-thin" => &["parallel-least-mm2"],
        "copper-clad" => &["copper-clad-resistance", "copper-clad-ampacity"],
        "profiles-disagree" => &["profile-apart-v"],
        "compensation-none" | "compensation-not-at-bank" => &["profile-apart-v", "interior-least-c"],
        "lithium-charged-cold" | "lithium-stored-cold" => &["lfp-charge-least-c", "interior-least-c"],
        "coldest-above-stays" => {
            &["cold-margin-k", "voc-stop-pct", "voc-caution-pct", "lfp-charge-least-c", "interior-least-c"]
        }
        "charge-lost-to-cold" => &["lfp-charge-least-c", "interior-least-c"],
        "cold-bank-gives-less" => &["interior-least-c"],
        "shortfall" | "medical-not-served" => &["usable-depth-lfp", "usable-depth-lead"],
        "discharge-rate-unknown" => &["discharge-rate-unknown"],
        "bond-missing" | "bond-small" => &["bond-least-mm2"],
        "uneven-battery-leads" | "uneven-battery-links" => &["uneven-battery-pct"],
        "battery-link-below-current" => &["conductor-factor"],
        "battery-link-below-fuse" => &["conductor-factor", "next-rating-up"],
        "inverter-large-for-12v" => &["inverter-large-watts", "inverter-large-amps"],
        "uplift-factor-low" => {
            &["uplift-factor", "uplift-speed-ms", "uplift-cp", "uplift-air", "uplift-front-pct", "uplift-prying"]
        }
        "panel-in-shadow" => &["shadow-share-pct"],
        "dc-dc-drops-out" | "dc-dc-input-sags" => &["alternator-low-v", "alternator-loop-c"],
        "breakaway-on-cut-off" => &["life-safety-hold-min"],
        "vents-small" => &["vent-gas-flooded-ma", "vent-air-factor", "vent-area-mm2", "vent-slope-cm2"],
        "battery-does-not-fit" => &["terminal-room-m"],
        _ => &[],
    }
}

/// The rules whose value a finding was judged or computed by.
#[must_use]
pub fn rules_of(finding: &Finding) -> Vec<&'static str> {
    let mut all = of_check(finding.check.id).to_vec();
    all.extend(finding.rules.iter().filter(|id| !all.contains(id)).copied().collect::<Vec<_>>());
    all
}

/// Marks a finding that rests on a changed rule value.
pub(super) fn mark(plan: &Plan, finding: &mut Finding) {
    let changed = Rules::changed(plan);
    let all = changed.iter().filter(|c| rests_on(plan, finding, c));
    let said: Vec<&str> = all.map(Changed::said).collect();
    finding.changed = said.join("; ");
}

/// Whether a finding was judged by a changed value itself.
pub(in crate::engine) fn rests_on(plan: &Plan, finding: &Finding, c: &Changed<'_>) -> bool {
    let named = of_check(finding.check.id).contains(&c.rule.id) || finding.rules.contains(&c.rule.id);
    named && is_the_one(plan, finding, c)
}

/// Whether it is the changed value that a finding was judged by, where its check has several for different cases.
fn is_the_one(plan: &Plan, finding: &Finding, changed: &Changed<'_>) -> bool {
    let bank = &plan.bank;
    let lithium = bank.chemistry.known().is_some_and(|c| c.is_lithium());
    // A start battery, where it is about one.
    let device = plan.devices.iter().find(|d| finding.subject.as_str() == format!("devices.{}", d.id));
    match changed.rule.id {
        // What is entered stands before the rule.
        "lfp-charge-least-c" => {
            let own = device.map_or(bank.charge_cutoff_c.as_ref(), |d| d.charge_cutoff_c.as_ref());
            own.is_none_or(|k| k.known().is_none())
        }
        "interior-least-c" => {
            let heated = device.map_or(Some(bank.heated), |d| d.heated);
            heated == Some(Known::Is(YesNo::Yes))
        }
        "usable-depth-lfp" => bank.usable_pct.is_none() && lithium,
        "usable-depth-lead" => bank.usable_pct.is_none() && !lithium,
        "voc-stop-pct" => finding.level == Level::Stop,
        "voc-caution-pct" => finding.level != Level::Stop,
        // A PV conductor's own factor stands among the numbers of its sentence.
        "pv-conductor-factor" => finding.numbers.len() > 2,
        "conductor-factor" => finding.numbers.len() <= 2,
        id if id.starts_with("fuse-distance") => finding.numbers.iter().any(|n| (n - changed.value).abs() < 1e-9),
        _ => true,
    }
}
