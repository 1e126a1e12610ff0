//! A rule value that a plan changes is read: with every rule there is some plan whose answer changes with it.

use super::alternators::dc_dc;
use super::mistakes::{Edits, insert, sound, with, word};
use super::plan;
use super::samples::{FIFTH_WHEEL, SOUND, WRONG};
use coachwire::engine::ladder::Goal;
use coachwire::engine::{Engine, LadderOf, Report};
use coachwire::plan::samples::SAMPLES;
use coachwire::plan::{Known, Plan, RuleChange, Value};
use coachwire::standards::rules::{Rule, all};
use coachwire::stock::Stock;
use coachwire::units::Number;

/// The report, but for what says that the rule was changed.
fn answer(plan: &Plan) -> Report {
    let mut report = Engine::default().evaluate(plan, &Stock::default());
    report.findings.retain(|f| !f.check.id.starts_with("rule-"));
    report
}

fn changed(plan: &Plan, rule: &Rule, value: f64) -> Plan {
    let mut plan = plan.clone();
    let change =
        RuleChange { id: rule.id.parse().expect("id"), value: Known::Is(Number(value)), reason: "test".into() };
    plan.rules.push(change);
    plan
}

/// Values to try: the bounds, and what lies between them and the standard value.
fn values(rule: &Rule, standard: f64) -> Vec<f64> {
    let between = |a: f64, share: f64| a + (standard - a) * share;
    let all = [rule.least, rule.most, between(rule.least, 0.5), between(rule.most, 0.5), between(rule.most, 0.95)];
    all.into_iter().filter(|v| (v - standard).abs() > 1e-12).collect()
}

/// Three batteries whose leads have more ahead where they meet than they carry.
fn leads_as_taps() -> Plan {
    let thin = ["X1", "X2", "X3"].map(|id| format!("runs.{id}.gauge"));
    let size = || Value::Gauge("1 AWG".parse().expect("gauge"));
    let edits: Vec<(&str, Value)> = thin.iter().map(|at| (at.as_str(), size())).collect();
    with(&super::explained_raised::three_leads(0.6), &edits)
}

/// Plans in which a rule decides that decides nothing in the others.
fn special(id: &str) -> Option<Plan> {
    let n = Value::Number;
    let text = |s: &str| Value::Text(s.into());
    let of = |edits: Edits<'_>| Some(with(&sound(), edits));
    match id {
        "pv-conductor-factor" => of(&[
            ("arrays.A1.strings", text("1S2P P1")),
            ("panels.P1.isc_a", n(13.9)),
            ("runs.W1.gauge", Value::Gauge("10 AWG".parse().expect("gauge"))),
            ("runs.W1.legs.L1.laid", word("enclosed")),
            ("runs.W1.legs.L1.ambient_c", n(30.0)),
        ]),
        "string-fuse-factor" => of(&[("arrays.A1.strings", text("1S4P P1"))]),
        "unfused-strings" => of(&[("arrays.A1.strings", text("1S3P P1"))]),
        "headroom-scan-v" => {
            of(&[("arrays.A1.strings", text("1S4P P1")), ("controllers.C1.run_headroom_v", Value::Unknown)])
        }
        "tap-times" | "tap-length-m" => Some(leads_as_taps()),
        "beta-fallback" => of(&[("panels.P1.beta_pct_k", Value::Unknown)]),
        "unlike-pct" => {
            let other = r#"(id: "P2", pmax_w: 180.0, vmp_v: 20.8, imp_a: 8.7, voc_v: 24.9, isc_a: 9.2, cells: 36.0,
                alpha_pct_k: 0.05, beta_pct_k: -0.28, series_fuse_a: 20.0)"#;
            let two = insert(&sound(), "panels", other);
            Some(with(&two, &[("arrays.A1.strings", text("P1+P2 | P1+P2"))]))
        }
        "cold-margin-k" => of(&[("job.coldest_c", Value::Nothing)]),
        "hot-rise-glued-k" => of(&[("arrays.A1.mount", word("glued"))]),
        "interior-least-c" => of(&[("bank.heated", word("yes"))]),
        "uneven-battery-pct" => {
            let p = with(&sound(), &[("bank.parallel", n(2.0)), ("runs.W3.legs.L1.length_m", n(1.0))]);
            let lead = r#"(id: "X2", from: "BK", to: "SW", gauge: "4/0 AWG", legs: [(id: "L1", length_m: 1.3,
                insulation_c: 105.0)])"#;
            Some(insert(&p, "runs", lead))
        }
        "alternator-low-v" | "alternator-line-factor" => Some(dc_dc(120.0)),
        "shunt-sense-fuse-a" => {
            let p = insert(&sound(), "devices", r#"(id: "SHN", kind: "shunt")"#);
            let lead = r#"(id: "X2", from: "BK", to: "SHN", gauge: "16 AWG", legs: [(id: "L1", length_m: 1.0,
                insulation_c: 105.0)])"#;
            Some(insert(&p, "runs", lead))
        }
        "accepted-worsening-pct" => {
            let accepted =
                r#"(id: "AC1", finding: "drop-over-target", subject: "runs.W1", reason: "short", value: 5.0)"#;
            let far = with(&sound(), &[("runs.W1.legs.L1.length_m", n(20.0))]);
            let now = answer(&far).findings.iter().find(|f| f.check.id == "drop-over-target").expect("drop").n(0);
            let p = insert(&far, "accepted", accepted);
            Some(with(&p, &[("accepted.AC1.value", n(now / 1.1))]))
        }
        _ => special_wiring(id),
    }
}

/// The same of what runs and their surroundings decide.
fn special_wiring(id: &str) -> Option<Plan> {
    let n = Value::Number;
    let of = |edits: Edits<'_>| Some(with(&sound(), edits));
    let in_zone = |zone: &'static str| of(&[("runs.W6.legs.L1.zone", word(zone))]);
    let basis =
        |basis: &'static str, edits: Edits<'_>| Some(with(&with(&sound(), &[("job.basis", word(basis))]), edits));
    let lead = [
        ("bank.chemistry", word("flooded")),
        ("bank.ohmic_mohm", Value::Nothing),
        ("bank.vented", word("yes")),
        ("bank.vent_area_cm2", n(2.0)),
    ];
    match id {
        "ambient-refrigerator" => in_zone("refrigerator"),
        "ambient-exhaust" => in_zone("exhaust"),
        "ambient-gas-locker" => in_zone("gas locker"),
        "bundle-marine" => basis("marine", &[("runs.W6.legs.L1.bundled", n(6.0))]),
        "fuse-distance-sheathed-m" => {
            basis("marine", &[("runs.W6.legs.L1.laid", word("enclosed")), ("runs.W6.protection.F1.distance_m", n(0.9))])
        }
        "fuse-distance-post-m" => {
            basis("marine", &[("runs.W3.legs.L1.laid", word("enclosed")), ("runs.W3.protection.F1.distance_m", n(0.5))])
        }
        "parallel-least-mm2" => of(&[
            ("runs.W5.gauge", Value::Gauge("2 AWG".parse().expect("gauge"))),
            ("runs.W5.legs.L1.per_pole", n(2.0)),
        ]),
        "copper-clad-resistance" | "copper-clad-ampacity" => of(&[("runs.W6.legs.L1.metal", word("copper-clad"))]),
        "lfp-unknown-fault-a" => of(&[("bank.ohmic_mohm", Value::Nothing)]),
        "lead-ohmic-mohm" | "lead-fault-volts" | "usable-depth-lead" | "vent-area-mm2" => of(&lead),
        "vent-slope-cm2" | "vent-air-factor" | "vent-gas-flooded-ma" => {
            Some(with(&with(&sound(), &lead), &[("bank.unit_ah", n(400.0))]))
        }
        "uplift-prying" => of(&[("roof.one_sided", word("yes"))]),
        "osb-gravity" => of(&[("roof.deck", word("OSB"))]),
        "access-way-m" => {
            let unit =
                r#"(kind: "air conditioner", x_m: 3.4, y_m: 0.8, l_m: 0.7, w_m: 0.6, h_m: 0.09, serviced: "yes")"#;
            Some(with(&insert(&sound(), "roof.obstacles", unit), &[("roof.length_m", n(4.3))]))
        }
        _ => None,
    }
}

/// What a rule decides that the report does not hold: gauges proposed, rows of sizing help, cures.
fn beyond_the_report(id: &str) -> Option<fn(&Plan) -> String> {
    match id {
        "least-array-mm2" | "least-feed-mm2" | "least-branch-mm2" => {
            Some(|plan| format!("{:?}", Engine::default().size_all(plan, &Stock::default(), false)))
        }
        "dull-days" => Some(|plan| {
            let (mut engine, stock) = (Engine::default(), Stock::default());
            let before = engine.evaluate(plan, &stock);
            let rows = engine.ladder(plan, &stock, &LadderOf::Goal(Goal::default())).into_iter().take(2);
            let finished = rows.map(|mut row| {
                engine.finish(plan, &stock, &before, &mut row);
                format!("{:?}", row.fit)
            });
            finished.collect()
        }),
        "cutoff-lfp-v" => Some(|plan| {
            let (mut engine, stock) = (Engine::default(), Stock::default());
            let report = engine.evaluate(plan, &stock);
            let low = report.findings.iter().find(|f| f.check.id == "inverter-cut-off-low").expect("found");
            format!("{:?}", engine.cures(plan, &stock, low))
        }),
        _ => None,
    }
}

/// Plans for what is beyond the report: loads on a thin branch, a low cut-off, panels enough.
fn plan_beyond(id: &str) -> Plan {
    match id {
        "dull-days" => sound(),
        // A home run that is thicker than its current, its fuse and its drop ask for: what is right gets no thicker.
        "least-array-mm2" => {
            let n = Value::Number;
            with(&sound(), &[("runs.W1.legs.L1.length_m", n(0.5)), ("runs.W1.protection.F1.amps_a", n(20.0))])
        }
        "cutoff-lfp-v" => {
            let n = Value::Number;
            with(&sound(), &[("inverters.INV.cutoff_v", n(10.5)), ("bank.discharge_cutoff_v", n(10.8))])
        }
        _ => {
            let branch = r#"(id: "X2", from: "FP", to: "L1", gauge: "10 AWG", legs: [(id: "L1", length_m: 1.0,
                insulation_c: 105.0)], protection: [(id: "F1", at: "from", family: "ISO 8820-3 C", amps_a: 10.0,
                distance_m: 0.05)])"#;
            insert(&sound(), "runs", branch)
        }
    }
}

fn is_read(rule: &Rule, plans: &[(Plan, Report)]) -> bool {
    let tried = |plan: &Plan, differs: &dyn Fn(&Plan) -> bool| {
        values(rule, rule.value(plan.job.basis)).into_iter().any(|v| differs(&changed(plan, rule, v)))
    };
    if let Some(of) = beyond_the_report(rule.id) {
        let plan = plan_beyond(rule.id);
        let before = of(&plan);
        return tried(&plan, &|p| of(p) != before);
    }
    if let Some(plan) = special(rule.id) {
        let before = answer(&plan);
        return tried(&plan, &|p| answer(p) != before);
    }
    plans.iter().any(|(plan, before)| tried(plan, &|p| answer(p) != *before))
}

/// None may be changed to no effect: a plan would believe that it is judged by another value.
#[test]
fn every_rule_changes_some_answer() {
    let mut plans: Vec<Plan> = [SOUND, FIFTH_WHEEL, WRONG].map(plan).into();
    plans.extend(SAMPLES.iter().map(|s| Plan::from_text(s.text).expect("reads")));
    let plans: Vec<(Plan, Report)> = plans.into_iter().map(|p| (p.clone(), answer(&p))).collect();
    let unread: Vec<&str> = all().filter(|rule| !is_read(rule, &plans)).map(|rule| rule.id).collect();
    assert_eq!(unread, [""; 0]);
}

/// A plan that names a rule of an earlier program still opens, and is told that it changes nothing.
#[test]
fn a_rule_that_is_gone_is_said() {
    let text = SOUND.replace("stays: [", r#"rules: [(id: "pack-match-v", value: 0.1, reason: "old")], stays: ["#);
    let report = Engine::default().evaluate(&plan(&text), &Stock::default());
    let said = report.findings.iter().find(|f| f.check.id == "rule-not-known").expect("said");
    let kept = "pack-match-v is no rule of this program; it changes nothing, and is kept as it is; the nearest are ";
    assert!(said.text().starts_with(kept), "{}", said.text());
    assert!(plan(&text).to_text().contains("pack-match-v"));
    // What a person makes anew is refused with what is accepted.
    let item = r#"(id: "drop-aray", value: 4.0, reason: "x")"#.to_string();
    let insert = coachwire::plan::Edit::Insert { list: "rules".into(), after: None, item };
    let refused = plan(SOUND).with(&coachwire::plan::Step::one("typed", insert)).expect_err("no such rule");
    assert!(refused.to_string().contains("the nearest are drop-array"), "{refused}");
}

/// An inverter that a higher bank voltage would suit better is said, by either of two rules.
#[test]
fn a_large_inverter_at_12_v_is_said() {
    let said = |edits: Edits<'_>| -> Vec<String> {
        let report = answer(&with(&sound(), edits));
        let of = report.findings.iter().filter(|f| f.check.id == "inverter-large-for-12v");
        of.map(|f| format!("{} {}", f.level, f.text())).collect()
    };
    let watts = |w: f64| ("inverters.INV.watts_w", Value::Number(w));
    assert_eq!(said(&[watts(3000.0)]), Vec::<String>::new());
    // 3500 W / (12 V x 0.88) = 331 A.
    assert_eq!(
        said(&[watts(3500.0)]),
        ["note INV: 3500 W draw 331 A at 12 V, over 3000 W or 300 A; at 24 V or 48 V cable, fuses and losses shrink"]
    );
    // 2900 W at 75 % are 322 A.
    assert_eq!(said(&[watts(2900.0), ("inverters.INV.efficiency_pct", Value::Number(75.0))]).len(), 1);
    let high = [watts(3500.0), ("bank.series", Value::Number(2.0)), ("bank.max_series", Value::Number(4.0))];
    assert_eq!(said(&high), Vec::<String>::new());
}
