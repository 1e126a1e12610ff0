//! Steps that set a value which is known or usual: a clock, cut-offs and restarts, days on shore power, a name of its own
//! for what shares one, the string that a place belongs to.

use crate::arrange::Arrange;
use crate::engine::finding::Finding;
use crate::engine::roof::string_of;
use crate::engine::rule::Rules;
use crate::plan::field::Record;
use crate::plan::job::YesNo;
use crate::plan::{ENDS, Edit, FieldPath, Id, Known, ListPath, Plan, Step, Value};
use crate::standards::chemistry::chemistry;

/// Steps by which an inverter's cut-off is lowered, V for each 12 V of the bank. Source: common practice, what they are set in.
const CUT_OFF_STEP_V: f64 = 0.2;
/// Most steps that are tried. Source: our own choice; each is a whole year.
const MOST_STEPS: u32 = 8;
/// Lowest cut-off of an inverter on lead that is offered, V for each 12 V. Source: common practice, 1.75 V a cell; from
/// memory.
const LEAST_LEAD_V: f64 = 10.5;
/// Volts for each 12 V at which an inverter usually starts again. Source: common practice; from memory.
const RESTART_V: f64 = 12.6;
/// A clock and its longitude are no further apart than this where the sign of one was the slip, h.
/// Source: legal zones as they are.
const CLOCK_H: f64 = 4.0;

/// The steps for a finding; none where this file knows none.
pub(super) fn steps(plan: &Plan, list: &str, id: &str, finding: &Finding) -> Option<Vec<Step>> {
    let set = |field: &str, to: Value, name: String| {
        Step::one(name, Edit::Set { at: FieldPath::new(format!("{list}.{id}.{field}")), to })
    };
    Some(match finding.check.id {
        "coldest-above-stays" => {
            let edit = Edit::Set { at: finding.subject.clone(), to: Value::Nothing };
            vec![Step::one("job coldest: left out, as its stays have it", edit)]
        }
        // What it comes to is the shop's own; until that is entered the total waits for it.
        "small-parts-not-priced" => {
            let edit = Edit::Set { at: finding.subject.clone(), to: Value::Unknown };
            vec![Step::one("money consumables: ?, the total waits for what they cost", edit)]
        }
        "clock-off-longitude" => {
            let (clock_h, own_h) = (finding.n(1), finding.n(2));
            let exchanged = (-clock_h - own_h).abs() <= CLOCK_H;
            let sign =
                set("clock_h", Value::Number(-clock_h), format!("{id} clock: {:+.1} h, the other sign", -clock_h));
            let own = set("clock_h", Value::Nothing, format!("{id} clock of its longitude: {:+.0} h", own_h.round()));
            exchanged.then_some(sign).into_iter().chain([own]).collect()
        }
        "compensation-not-at-bank" => {
            vec![set("temp_sense", Value::Word(YesNo::Yes.word()), format!("{id}: a temperature sensor at the bank"))]
        }
        "compensation-none" | "compensation-unusual" => usual_compensation(plan, list, id)?,
        "inverter-cuts-off" => lower_cut_offs(plan, id, finding.n(0)).unwrap_or_default(),
        "inverter-restart-volts" => {
            let twelves = twelves(plan).unwrap_or(1.0);
            // Above the cut-off, and within what a charger brings.
            let (cut_v, most_v) = (finding.n(1), if finding.n(2) > 0.0 { finding.n(2) } else { f64::MAX });
            let usual_v = RESTART_V * twelves;
            let to = Some(usual_v).filter(|v| *v > cut_v && *v <= most_v);
            let usual =
                to.map(|v| set("restart_v", Value::Number(v), format!("{id}: starts again at {v} V, as is usual")));
            let none = set("restart_v", Value::Nothing, format!("{id}: starts again as soon as it may"));
            usual.into_iter().chain([none]).collect()
        }
        "shore-without-charger" => {
            vec![set("shore_days_month", Value::Nothing, format!("{id}: no days on shore power, as nothing takes it"))]
        }
        "place-string-not-there" => own_string(plan, id, finding),
        "duplicate-name" => another_name(plan, finding).into_iter().collect(),
        _ => return None,
    })
}

/// Compensation as is usual for the bank, with a sensor at it.
fn usual_compensation(plan: &Plan, list: &str, id: &str) -> Option<Vec<Step>> {
    let window = chemistry(*plan.bank.chemistry.known()?).compensation_mv_per_k;
    let mv = (f64::midpoint(window.least, window.most) * twelves(plan)?).round();
    let at = |field: &str| FieldPath::new(format!("{list}.{id}.{field}"));
    let edits = vec![
        Edit::Set { at: at("temp_comp_mv_k"), to: Value::Number(mv) },
        Edit::Set { at: at("temp_sense"), to: Value::Word(YesNo::Yes.word()) },
    ];
    Some(vec![Step { name: format!("{id}: compensation {mv} mV/K, as is usual, with a sensor at the bank"), edits }])
}

fn twelves(plan: &Plan) -> Option<f64> {
    let unit = chemistry(*plan.bank.chemistry.known()?).twelves(plan.bank.unit_v.known()?.0);
    Some(unit * plan.bank.series.known()?.0)
}

/// Cut-offs in steps lower, down to the least that is usual for the bank, above what its management unit does.
pub(super) fn lower_cut_offs(plan: &Plan, id: &str, now_v: f64) -> Option<Vec<Step>> {
    let twelves = twelves(plan)?;
    let series = plan.bank.series.known()?.0;
    let unit_v = plan.bank.discharge_cutoff_v.as_ref().and_then(Known::known).map(|v| v.0 * series);
    let usual_v = twelves
        * match plan.bank.chemistry.known()?.is_lithium() {
            true => Rules::of(plan).cutoff_lfp_v,
            false => LEAST_LEAD_V,
        };
    let least_v = unit_v.map_or(usual_v, |v| v + CUT_OFF_STEP_V * twelves);
    let all = (1..=MOST_STEPS).map(|n| now_v - f64::from(n) * CUT_OFF_STEP_V * twelves);
    let step = |volts: f64| {
        let at = FieldPath::new(format!("inverters.{id}.cutoff_v"));
        let volts = (volts * 100.0).round() / 100.0;
        Step::one(format!("{id}: off at {volts} V"), Edit::Set { at, to: Value::Number(volts) })
    };
    Some(all.filter(|v| *v >= least_v - 1e-9).map(step).collect())
}

/// A place given to a string of its array, one that lacks a panel's place first.
fn own_string(plan: &Plan, array: &str, finding: &Finding) -> Vec<Step> {
    let Some(a) = plan.arrays.iter().find(|a| a.id.as_str() == array) else { return Vec::new() };
    let placed = |n: usize| (0..a.places.len()).filter(|i| string_of(a, *i) == Some(n - 1)).count();
    let mut all: Vec<(bool, usize)> =
        a.strings.0.iter().enumerate().map(|(i, s)| (placed(i + 1) >= s.len(), i + 1)).collect();
    all.arrange_by(Ord::cmp);
    let step = |(_, n): (bool, usize)| {
        let edit = Edit::Set { at: finding.subject.join("string"), to: Value::Number(n as f64) };
        Step::one(format!("{} in string {n}", finding.name(1)), edit)
    };
    // Where all strings have their panels, one is placed that the array does not have.
    let full = all.iter().all(|(full, _)| *full);
    let out = full.then(|| {
        Step::one(
            format!("{} without {}", finding.name(0), finding.name(1)),
            Edit::Remove { at: finding.subject.clone() },
        )
    });
    all.into_iter().map(step).chain(out).collect()
}

/// Another name for one of two that share it. In one list that is the first, and what names it goes along, as it means the
/// first; of two lists it is the later one, and the ends of runs keep to the first.
fn another_name(plan: &Plan, finding: &Finding) -> Option<Step> {
    let (list, id) = finding.subject.split_last();
    let old: Id = id.parse().ok()?;
    let list = ListPath::new(list.as_str());
    let to = plan.free_id(&list);
    let mut edits = vec![Edit::Rename { at: finding.subject.clone(), to: to.clone() }];
    let earlier = ENDS.iter().take_while(|l| **l != list.as_str()).filter_map(|l| plan.list(l));
    let elsewhere = ENDS.contains(&list.as_str()) && earlier.into_iter().any(|l| l.position(id).is_some());
    for run in plan.runs.iter().filter(|_| elsewhere) {
        let is = |end: Option<&Known<Id>>| end.and_then(Known::known) == Some(&old);
        let ends = [
            (is(Some(&run.from)), "from"),
            (is(Some(&run.to)), "to"),
            (is(run.negative_from.as_ref()), "negative_from"),
            (is(run.negative_to.as_ref()), "negative_to"),
        ];
        edits.extend(ends.into_iter().filter(|(is, _)| *is).map(|(_, field)| Edit::Set {
            at: FieldPath::of(&["runs", run.id.as_str(), field]),
            to: Value::Id(old.clone()),
        }));
    }
    let which = if elsewhere { format!("{id} of {list}") } else { format!("the first {id} of {list}") };
    Some(Step { name: format!("{which} named {to}"), edits })
}
