//! Behaviour of the engine on whole plans.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod ahead;
mod all_at_once;
mod all_fuses;
mod alternator_lead;
mod alternators;
mod asides;
mod bad_input;
mod bad_joint;
mod bare;
mod battery_links;
mod behind_converters;
mod below_cut_off;
mod beside;
mod beyond;
mod bond_sizes;
mod bonds_carry;
mod bought_anew;
mod breakers;
mod by_hand;
mod cheapest_any;
mod circuit_volts;
mod cold_banks;
mod coldest;
mod comes_back;
mod common_minus;
mod compensated;
mod contradicted;
mod converted;
mod converter_out;
mod crossed_leads;
mod cure_kinds;
mod cures;
mod cures_battery;
mod cures_clean;
mod cures_deeds;
mod cures_fit;
mod cures_least;
mod cures_left;
mod cures_nearest;
mod cures_neighbours;
mod cures_new;
mod cures_order;
mod cures_usual;
mod cures_ways;
mod cures_whole;
mod drawn_otherwise;
mod drawn_twice;
mod entered;
mod explained;
mod explained_raised;
mod false_stops;
mod faults;
mod feeders;
mod findings;
mod fuse_place;
mod fuses_weighed;
mod generated;
mod goal;
mod guarded;
mod hot_places;
mod isolation;
mod joined_faults;
mod labels;
mod ladder_paths;
mod ladder_rows;
mod ladders;
mod larger_fuses;
mod lean;
mod lines;
mod loads;
mod looped;
mod main_minus;
mod making_up;
mod misdrawn;
mod mistakes;
mod near_the_book;
mod negatives;
mod nodal;
mod not_joined;
mod one_key;
mod one_unknown;
mod onward;
mod other_sources;
mod over_frame;
mod own_batteries;
mod panel_fuses;
mod parts;
mod plurals;
mod poles;
pub(crate) mod properties;
mod relief;
mod remembered;
mod rewired;
mod roof;
mod rule_changes;
mod rules_read;
mod said_of_fuses;
mod said_plainly;
mod said_right;
mod samples;
mod scenarios;
mod set_lower;
mod set_volts;
mod several;
mod shared_lines;
mod side_by_side;
mod singles;
mod sizing;
mod sizing_any;
mod sizing_edges;
mod sizing_kept;
mod sizing_said;
mod sizing_unknown;
mod sizing_whole;
mod sizing_worse;
mod spells;
mod spools;
mod start_batteries;
mod start_returns;
mod starts;
mod stays;
mod stock_prices;
mod stored_cold;
mod string_leads;
mod string_place;
mod stubs;
mod surges;
mod ten_planted;
mod terminals;
mod told_apart;
mod truck;
mod twins;
mod two_inverters;
mod two_packs;
mod two_ways;
mod uncapped;
mod unconnected;
mod unrated;
mod unreturned;
mod usable;
mod vehicle_lines;
mod volts_and_profiles;
mod waiting;
mod what_can_be_had;
mod worth;
mod wrong;
mod year_findings;
mod year_partly;
mod year_words;

use coachwire::engine::{Engine, Finding, Report};
use coachwire::plan::{Figure, Plan};
use coachwire::stock::Stock;

/// A plan from its text.
fn plan(ron: &str) -> Plan {
    coachwire::plan::format::options().from_str(ron).unwrap_or_else(|e| panic!("{e}\n{ron}"))
}

fn evaluate(plan: &Plan) -> Report {
    Engine::default().evaluate(plan, &Stock::default())
}

/// Findings of a check, as `subject level`.
fn found<'a>(report: &'a Report, check: &str) -> Vec<&'a Finding> {
    report.findings.iter().filter(|f| f.check.id == check).collect()
}

/// Whether a check found anything about a subject.
fn says(report: &Report, check: &str, subject: &str) -> bool {
    report.findings.iter().any(|f| f.check.id == check && f.subject.as_str() == subject)
}

/// Whether nothing is found but that the panels are larger than their controller's output.
fn only_more_panel_than_output(report: &Report) -> bool {
    let note = |f: &Finding| f.check.id == "clipping" && f.level == coachwire::engine::Level::Note;
    report.findings.len() <= 1 && report.findings.iter().all(note)
}

fn texts(report: &Report) -> String {
    report.findings.iter().map(|f| format!("{} {} {}: {}\n", f.level, f.check.id, f.subject, f.text())).collect()
}

fn near(what: &str, got: Figure<f64>, want: f64, share: f64) {
    let got = got.unwrap_or_else(|m| panic!("{what} waits for {}", m.0));
    assert!((got - want).abs() <= share * want.abs(), "{what}: {got} is not within {share} of {want}");
}
