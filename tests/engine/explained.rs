//! Each finding opened tells how its number comes about: plans right and wrong, spoilt in every field, are gone through,
//! and the working of each kind of finding that turns up is held against the number that its sentence tells.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;

use super::samples::SOUND;
use super::{near, plan};
use coachwire::engine::{Engine, Finding, Report};
use coachwire::plan::{Edit, FieldPath, Kind, Known, Plan, Record, RuleChange, Step, Value};
use coachwire::stock::Stock;
use coachwire::units::Number;

fn explained(p: &Plan, check: &str) -> String {
    let (mut engine, stock) = (Engine::default(), Stock::default());
    let report = engine.evaluate(p, &stock);
    let finding = report.findings.iter().find(|f| f.check.id == check);
    let finding = finding.unwrap_or_else(|| panic!("no {check}:\n{}", super::texts(&report)));
    engine.explain(p, &report, finding).join("\n")
}

fn sample(name: &str) -> Plan {
    Plan::from_text(coachwire::plan::samples::sample(name).unwrap().text).unwrap()
}

fn with(p: &Plan, edits: &[(&str, Value)]) -> Plan {
    super::mistakes::with(p, edits)
}

/// Source: by hand, from the plan's own label: NEC 690.7(A), 4 x 24.9 V x (1 + 0.0028 x 37 K) = 109.9 V; lead settings
/// 15.8 V + 25 K x 0.030 V/K = 16.55 V.
#[test]
fn worked_as_by_hand() {
    let thistle = sample("thistle");
    let cold = explained(&thistle, "cold-voc-over-limit");
    for part in ["4 in series x Voc 24.9 V x (1 + 0.0028 /K x 37 K) = 109.9 V", "109.9 V / "] {
        assert!(cold.contains(part), "{part}\n{cold}");
    }
    let compensated = explained(&thistle, "compensation-on-lithium");
    assert!(compensated.contains("15.8 V + 25 K x 0.03 V/K = 16.55 V"), "{compensated}");
    // 75 mph; the trade's 186 lbf are 827 N for 1.0 m2 at Cp 1.2, 30 % of it on the worst foot.
    let pulled = explained(&thistle, "adhesive-on-membrane");
    assert!(pulled.contains("q = 0.5 x 1.225 kg/m3") && pulled.contains("827 N on panel"), "{pulled}");
    assert!(pulled.contains("60 % on the front pair") && pulled.contains("248 N"), "{pulled}");
}

/// Of unlike strings the working shows the one that stands highest in the cold, not the one with most panels; each panel by its
/// own coefficient, or by the table.
/// Source: by hand, NEC 690.7(A), thistle's cold of 37 K below 25 C: 2 x 60.0 V x (1 + 0.0028 x 37) = 132.4 V of two panels stand
/// above 4 x 24.9 V x (1 + 0.0028 x 37) = 109.9 V of four; with one of unknown coefficient 60.0 x 1.1036 + 60.0 x the table's.
#[test]
fn the_string_that_stands_highest_is_shown() {
    let high = r#"(id: "P9", pmax_w: 400.0, vmp_v: 50.0, imp_a: 8.0, voc_v: 60.0, isc_a: 8.6, cells: 96.0, beta_pct_k: -0.28)"#;
    let open = r#"(id: "P8", pmax_w: 400.0, vmp_v: 50.0, imp_a: 8.0, voc_v: 60.0, isc_a: 8.6, cells: 96.0)"#;
    let p = super::mistakes::insert(&super::mistakes::insert(&sample("thistle"), "panels", high), "panels", open);
    let of = |strings: &str| {
        explained(&with(&p, &[("arrays.A1.strings", Value::Text(strings.into()))]), "cold-voc-over-limit")
    };
    let two = of("P1+P1+P1+P1 | P9+P9");
    let step = "string 2 stands highest: 2 in series x Voc 60 V x (1 + 0.0028 /K x 37 K) = 132.4 V";
    assert!(two.contains(step) && two.contains("132.4 V / "), "{two}");
    let mixed = of("P1+P1+P1+P1 | P9+P8");
    let factor = coachwire::standards::cold::voc_factor(-12.0).expect("in the table");
    let volts = 60.0 * (1.0 + 0.0028 * 37.0) + 60.0 * factor;
    let step = format!("1 in series x Voc 60 V x {factor} by the table = {volts:.1} V");
    assert!(mixed.contains("string 2 stands highest: 1 in series x Voc 60 V x (1 + 0.0028 /K x 37 K) + "), "{mixed}");
    assert!(mixed.contains(&step), "{step}\n{mixed}");
}

/// Source: watts over volts and efficiency; amps in parallel add.
#[test]
fn surge_and_charge_are_summed_as_by_hand() {
    let surged =
        with(&plan(SOUND), &[("bank.peak_a", Value::Number(100.0)), ("inverters.INV.surge_w", Value::Number(4000.0))]);
    let text = explained(&surged, "inverter-surge-over-peak");
    let inverter = &surged.inverters[0];
    let share = inverter.efficiency_pct.known().unwrap().0 / 100.0;
    // 12.0 V is a lithium bank when low (common practice).
    let amps = 4000.0 / (12.0 * share);
    let said = numbers(&text);
    assert!(said.iter().any(|x| (x - amps).abs() < 0.1), "{amps}: {text}");
    let over = with(&plan(SOUND), &[("bank.max_charge_a", Value::Number(15.0))]);
    let text = explained(&over, "charge-over-limit");
    let report = Engine::default().evaluate(&over, &Stock::default());
    near("limit", report.bank.charge_limit_a.map(|a| a.0), 15.0 * over.bank.parallel.known().unwrap().0, 1e-9);
    assert!(text.contains("C1 ") && text.contains("the bank's limit"), "{text}");
}

/// Every number in a text.
fn numbers(text: &str) -> Vec<f64> {
    let body = |c: char| c.is_ascii_digit() || c == '.';
    text.split(|c: char| !body(c) && c != '-').filter_map(|t| t.trim_matches(['.', '-']).parse().ok()).collect()
}

fn is_in(x: f64, all: &[f64]) -> bool {
    all.iter().any(|y| (x.abs() - y.abs()).abs() <= 0.006 * x.abs() + 0.051)
}

/// A finding's numbers that its sentence tells, its own first, then what it is held against.
fn told(f: &Finding) -> Vec<f64> {
    let said = numbers(&f.text());
    f.numbers.iter().copied().filter(|x| *x != 0.0 && is_in(*x, &said)).collect()
}

/// The last step: what stands behind it is the rules' own values and what is entered.
fn last_step(lines: &[String]) -> Option<&str> {
    let step = |l: &&String| !l.starts_with("rule ") && !l.starts_with("as entered");
    lines.iter().rev().find(step).map(String::as_str)
}

/// Kinds without arithmetic: their number is the one that was entered, and it stands among what was; nothing is worked from it.
const ENTERED: &[&str] =
    &["driving-without-charger", "label-impossible", "place-without-climate", "shore-without-charger"];

/// Kinds of finding that the spoilt plans have brought up, each with what is wrong with its working.
#[derive(Default)]
struct Seen {
    times: BTreeMap<&'static str, usize>,
    wrong: BTreeMap<&'static str, String>,
}

impl Seen {
    fn look(&mut self, engine: &mut Engine, p: &Plan, report: &Report) {
        for f in &report.findings {
            let times = self.times.entry(f.check.id).or_default();
            *times += 1;
            if *times > 3 {
                continue;
            }
            let lines = engine.explain(p, report, f);
            let all = lines.join("\n");
            if lines.iter().all(|l| l.trim().is_empty()) {
                self.wrong.insert(f.check.id, "nothing is worked".into());
            }
            let (all_told, last) = (told(f), last_step(&lines));
            if last.is_none() && !all_told.is_empty() && !ENTERED.contains(&f.check.id) {
                self.wrong.insert(f.check.id, format!("no steps, but {}\n{all}", f.text()));
            }
            let last = last.unwrap_or(all.as_str());
            if let Some(x) = all_told.iter().find(|x| !is_in(**x, &numbers(&all))) {
                self.wrong.insert(f.check.id, format!("{x} of {:?} is not in\n{all}", f.text()));
            } else if let Some(x) = all_told.first().filter(|x| !is_in(**x, &numbers(last))) {
                self.wrong.insert(f.check.id, format!("{x} of {:?} is not in the last step of\n{all}", f.text()));
            }
        }
    }
}

/// Whatever is found in a plan, each finding's working holds its number.
#[track_caller]
pub(super) fn all_worked(p: &Plan) {
    let (mut engine, mut seen) = (Engine::default(), Seen::default());
    let report = engine.evaluate(p, &Stock::default());
    seen.look(&mut engine, p, &report);
    let wrong: Vec<String> = seen.wrong.iter().map(|(id, why)| format!("{id}: {why}")).collect();
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

fn fields(record: &dyn Record, at: &FieldPath, out: &mut Vec<(FieldPath, Vec<Value>)>) {
    for meta in record.metas() {
        let mut values = Vec::new();
        match (meta.kind, record.get(meta.key)) {
            (Kind::Number { least, most, .. }, Some(Value::Number(x))) => {
                values.extend([x * 3.0, x / 3.0, x * 20.0, least, most].map(|x| Value::Number(x.clamp(least, most))));
            }
            (Kind::Words(words), _) => values.extend(words.iter().map(|w| Value::Word(w))),
            _ => {}
        }
        if meta.unknown {
            values.push(Value::Unknown);
        }
        out.push((at.join(meta.key), values));
    }
    for name in record.part_names() {
        fields(record.part(name).unwrap(), &at.join(name), out);
    }
    for name in record.list_names() {
        let list = record.list(name).unwrap();
        for i in 0..list.len() {
            fields(list.at(i).unwrap(), &at.join(name).join(list.id_at(i).unwrap()), out);
        }
    }
}

fn items(p: &Plan) -> Vec<FieldPath> {
    let lists = ["arrays", "controllers", "inverters", "chargers", "loads", "devices", "runs"];
    let of = |name: &str| {
        let list = p.list(name).unwrap();
        (0..list.len()).map(|i| FieldPath::from(name).join(list.id_at(i).unwrap())).collect::<Vec<_>>()
    };
    lists.into_iter().flat_map(of).collect()
}

/// Every id in the source of the engine.
fn ids() -> BTreeSet<String> {
    fn walk(at: &Path, out: &mut BTreeSet<String>) {
        for entry in fs::read_dir(at).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                walk(&path, out);
            } else {
                let text = fs::read_to_string(&path).unwrap();
                let found = text.split("id: \"").skip(1).filter_map(|rest| rest.split('"').next());
                out.extend(found.filter(|id| id.contains('-') && !id.contains('{')).map(String::from));
            }
        }
    }
    let mut all = BTreeSet::new();
    walk(&Path::new(env!("CARGO_MANIFEST_DIR")).join("src/engine/checks"), &mut all);
    all
}

#[test]
fn every_kind_of_finding_opens_its_working() {
    let mut seen = Seen::default();
    let stock = Stock::default();
    for sample in coachwire::plan::samples::SAMPLES {
        let p = Plan::from_text(sample.text).unwrap();
        let mut engine = Engine::default();
        let report = engine.evaluate(&p, &stock);
        seen.look(&mut engine, &p, &report);
    }
    let mut changed = plan(SOUND);
    for (id, value, reason) in
        [("drop-array", 4.0, "agreed"), ("drop-other", 5.0, ""), ("drop-charger", 900.0, "x"), ("no-such", 1.0, "x")]
    {
        changed.rules.push(RuleChange {
            id: id.parse().unwrap(),
            value: Known::Is(Number(value)),
            reason: reason.into(),
        });
    }
    let report = Engine::default().evaluate(&changed, &stock);
    seen.look(&mut Engine::default(), &changed, &report);
    for base in [plan(SOUND), sample("thistle"), sample("larkspur")] {
        let mut engine = Engine::default();
        let mut all = Vec::new();
        fields(&base, &FieldPath::new(""), &mut all);
        let sets =
            all.into_iter().flat_map(|(at, values)| values.into_iter().map(move |to| Edit::Set { at: at.clone(), to }));
        let removed = items(&base).into_iter().map(|at| Edit::Remove { at });
        for edit in sets.chain(removed) {
            let Ok(p) = base.with(&Step::one("spoilt", edit)) else { continue };
            let report = engine.evaluate_wires(&p, &stock);
            seen.look(&mut engine, &p, &report);
        }
    }
    for (check, p) in super::explained_raised::raised() {
        let mut engine = Engine::default();
        let report = engine.evaluate(&p, &stock);
        if super::found(&report, check).is_empty() {
            seen.wrong.insert(check, format!("not raised:\n{}", super::texts(&report)));
        }
        let mut own = Seen::default();
        own.look(&mut engine, &p, &report);
        seen.times.extend(own.times);
        seen.wrong.extend(own.wrong);
    }
    let missing: Vec<String> = ids().into_iter().filter(|id| !seen.times.contains_key(id.as_str())).collect();
    let wrong: Vec<String> = seen.wrong.iter().map(|(id, why)| format!("{id}: {why}")).collect();
    assert!(wrong.is_empty() && missing.is_empty(), "{}\nnot raised: {missing:?}", wrong.join("\n"));
}

/// What a year's sum is made of adds up to it: days times the mean day of each month.
#[test]
fn a_years_sum_is_that_of_its_months() {
    for check in ["shortfall", "medical-not-served", "charge-lost-to-cold", "inverter-cuts-off"] {
        let (_, p) = super::explained_raised::raised().into_iter().find(|(id, _)| *id == check).unwrap();
        let report = super::evaluate(&p);
        let f = super::found(&report, check)[0];
        let lines = Engine::default().explain(&p, &report, f);
        let line = lines.iter().find(|l| l.starts_with("days x Wh")).unwrap_or_else(|| panic!("{check}: {lines:?}"));
        let terms = line.split(", ").map(numbers);
        let sum: f64 = terms.map(|x| x[x.len() - 2] * x[x.len() - 1]).sum();
        let said = f.numbers[if check == "inverter-cuts-off" { 1 } else { 0 }];
        // Mean days are printed to a tenth of a watt-hour.
        assert!((sum - said).abs() <= 0.05 * 365.0 && said > 0.0, "{check}: {sum} {said}\n{line}");
    }
}
