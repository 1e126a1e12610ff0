//! What is known of the selected thing: its working, its legs, its fuses, what is found about it.

use ratatui::layout::Rect;

use crate::engine::Report;
use crate::engine::report::RunFigures;
use crate::plan::{FieldPath, Plan, Run, entry};
use crate::tui::bench;
use crate::tui::form;
use crate::tui::model::{Model, Pane};
use crate::tui::theme::Role;
use crate::tui::words::{self, amps, figure, fixed, num};
use crate::wording::links::links;
use crate::wording::run::{by_rule, ends, fuse_end, fuse_fault, path_pct, path_place, wants_none};

use super::bench::run_figures;
use super::paint::{Paint, wrap};

pub(super) fn draw(model: &Model, paint: &mut Paint, area: Rect) {
    let (title, lines) = lines(model, usize::from(area.width.saturating_sub(2)));
    paint.title(area, &title, false);
    let height = usize::from(area.height.saturating_sub(1));
    for (i, (text, role)) in lines.iter().take(height).enumerate() {
        let y = area.y + 1 + u16::try_from(i).unwrap_or(0);
        paint.text(area.x + 1, y, area.width.saturating_sub(2), text, *role);
    }
    let left = lines.len().saturating_sub(height);
    if left > 0 {
        let said = format!(" {left} more: ? ");
        let width = u16::try_from(said.len()).unwrap_or(0).min(area.width);
        paint.text(area.right() - width, area.y, width, &said, Role::Heading);
    }
}

/// Title and lines about the selected thing of the Bench; the help has all of them.
pub(super) fn lines(model: &Model, width: usize) -> (String, Lines) {
    let Some(document) = &model.document else { return (String::new(), Vec::new()) };
    let shown = document.shown();
    let (plan, report) = (&*shown.plan, &*shown.report);
    let (title, lines) = match model.bench.pane {
        Pane::Equipment => equipment(model, plan, report),
        _ => match plan.runs.get(model.bench.run) {
            Some(run) => (format!("DETAIL {}", run.id), run_lines(plan, report, run)),
            None => ("DETAIL".into(), Vec::new()),
        },
    };
    let wrapped = |(text, role): (String, Role)| wrap(&text, width).into_iter().map(move |l| (l, role));
    (title, lines.into_iter().flat_map(wrapped).collect())
}

type Lines = Vec<(String, Role)>;

fn equipment(model: &Model, plan: &Plan, report: &Report) -> (String, Lines) {
    let all = bench::equipment(plan);
    let Some(line) = all.get(model.bench.equipment) else { return ("DETAIL".into(), Vec::new()) };
    let mut lines = vec![(line.text.clone(), Role::Text)];
    if let Some(record) = plan.record(&line.at) {
        lines.push((form::record_text(plan, record), Role::Text));
    }
    lines.extend(working_of(plan, report, &line.at));
    let mine: Vec<String> = plan
        .runs
        .iter()
        .filter(|r| [&r.from, &r.to].iter().any(|e| e.known().is_some_and(|id| id.as_str() == line.id)))
        .map(|r| format!("{} {} > {}", r.id, ends(r).0, ends(r).1))
        .collect();
    if !mine.is_empty() {
        lines.push((format!("runs: {}", mine.join("; ")), Role::Text));
    }
    findings(plan, report, &line.at, &mut lines);
    (format!("DETAIL {}", line.id), lines)
}

/// The figures that what stands at a path rests on.
pub(super) fn working_of(plan: &Plan, report: &Report, at: &FieldPath) -> Lines {
    let is = |list: &str, id: &crate::plan::Id| *at == FieldPath::from(list).join(id);
    let mut lines = Vec::new();
    if let Some(a) = report.arrays.iter().find(|a| is("arrays", &a.id)) {
        lines.push((
            format!(
                "{} W, cold Voc {}{}, hot Vmp {}, Isc {}, Imp {}",
                figure(&a.watts, |w| num(w.0)),
                figure(&a.voc_cold_v, |v| format!("{} V", fixed(v.0, 1))),
                if a.voc_by_table { " (by the code's table)" } else { "" },
                figure(&a.vmp_hot_v, |v| format!("{} V", fixed(v.0, 1))),
                figure(&a.isc_a, |i| format!("{} A", amps(i.0))),
                figure(&a.imp_a, |i| format!("{} A", amps(i.0))),
            ),
            Role::Text,
        ));
    }
    if let Some(c) = report.controllers.iter().find(|c| is("controllers", &c.id)) {
        lines.push((
            format!(
                "cold Voc {}, Isc {}, output up to {}; clipped {} kWh {}",
                figure(&c.voc_cold_v, |v| format!("{} V", fixed(v.0, 1))),
                figure(&c.isc_a, |i| format!("{} A", amps(i.0))),
                figure(&c.design_a, |i| format!("{} A", amps(i.0))),
                figure(&c.clipped_kwh, |k| num(*k)),
                report.year.lived.when(),
            ),
            Role::Text,
        ));
    }
    let a = |x: &crate::plan::Figure<crate::units::Amps>| figure(x, |i| format!("{} A", amps(i.0)));
    if at.segments().next() == Some("bank") {
        let b = &report.bank;
        let text = format!(
            "{} {}, low {}; fault at its posts {} ({}); charge limit {}, discharge limit {}",
            figure(&b.volts, |v| format!("{} V", num(v.0))),
            figure(&b.amp_hours, |x| format!("{} Ah", num(x.0))),
            figure(&b.low_v, |v| format!("{} V", fixed(v.0, 1))),
            a(&b.fault_a),
            if b.fault_how.is_empty() { "not known" } else { b.fault_how },
            a(&b.charge_limit_a),
            a(&b.discharge_limit_a)
        );
        lines.push((text, Role::Text));
        lines.extend(links(plan, report).into_iter().map(|text| (text, Role::Text)));
    }
    if let Some(i) = report.inverters.iter().find(|i| is("inverters", &i.id)) {
        let cutoff = i.cutoff_a.as_ref().map(|x| format!(", at its cut-off volts {}", a(x))).unwrap_or_default();
        lines.push((format!("at rated watts and low bank volts {}{cutoff}", a(&i.design_a)), Role::Text));
    }
    if let Some(f) = report.runs.iter().find(|r| is("runs", &r.id)) {
        working(plan, report, f, &mut lines);
    }
    lines
}

fn findings(plan: &Plan, report: &Report, at: &FieldPath, lines: &mut Lines) {
    for f in report.findings.iter().filter(|f| f.subject.is_within(at)) {
        let accepted = if f.accepted.is_some() { " (accepted)" } else { "" };
        let text = format!(
            "{}{accepted}: {} [{}]",
            words::level(f.level),
            crate::wording::findings::sentence(plan, f),
            f.source_said()
        );
        lines.push((text, Role::Mark(f.level)));
    }
}

fn run_lines(plan: &Plan, report: &Report, run: &Run) -> Lines {
    let mut lines = Vec::new();
    let item = FieldPath::from("runs").join(&run.id);
    if let Some(f) = run_figures(report, run) {
        working(plan, report, f, &mut lines);
    }
    let units = entry::Units::of(plan);
    let each = |list: &str, lines: &mut Lines| {
        let at = item.join(list);
        let Some(items) = plan.list_at(&at) else { return };
        for i in 0..items.len() {
            if let (Some(id), Some(record)) = (items.id_at(i), items.at(i)) {
                let said: Vec<String> = record
                    .metas()
                    .iter()
                    .filter(|m| m.key != "note" && m.key != "state")
                    .filter_map(|m| Some((m, record.get(m.key)?)))
                    .filter(|(_, v)| !matches!(v, crate::plan::Value::Nothing))
                    .map(|(m, v)| format!("{} {}", m.label, entry::seen(units, m, &v)))
                    .collect();
                lines.push((format!("{} {id}: {}", words::one_of(list), said.join(", ")), Role::Text));
            }
        }
    };
    findings(plan, report, &item, &mut lines);
    each("legs", &mut lines);
    each("protection", &mut lines);
    lines
}

fn working(plan: &Plan, report: &Report, f: &RunFigures, lines: &mut Lines) {
    let how = |text: &str| if text.is_empty() { String::new() } else { format!(" ({text})") };
    let a = |x: &crate::plan::Figure<crate::units::Amps>| figure(x, |i| format!("{} A", amps(i.0)));
    lines.push((
        format!("working {}{}; design {}{}", a(&f.drop_at_a), how(f.drop_how), a(&f.design_a), how(f.design_how)),
        Role::Text,
    ));
    let leg = f.weakest_leg.as_ref().map(|l| format!(" in leg {l}")).unwrap_or_default();
    let other = f.other_basis_a.map(|x| format!("; other basis {} A", amps(x))).unwrap_or_default();
    lines.push((
        format!(
            "ampacity {}{leg}{}{}{other}; wire at {}",
            a(&f.ampacity_a),
            by_rule(&f.changed.ampacity),
            how(f.governs),
            figure(&f.wire_c, |c| words::temperature(entry::Units::of(plan), c.0))
        ),
        Role::Text,
    ));
    let rounded = if f.rounded_up { " (next rating up)" } else { "" };
    let proposed = f
        .proposed
        .as_ref()
        .map(|p| {
            let end = fuse_end(plan, f.id.as_str(), p.at_from);
            format!("; {} {} A {} {end}: {}", f.would_fit(), num(p.amps.0), p.family, p.why)
        })
        .unwrap_or_default();
    let mark = by_rule(&f.changed.fuse);
    let range = match (&f.fuse_min_a, &f.fuse_max_a) {
        (Ok(least), Ok(most)) if least.0 > most.0 && wants_none(report, f) => "no fuse of its own is wanted".into(),
        (Ok(least), Ok(most)) if least.0 > most.0 => {
            format!("no fuse fits: at least {}, at most {}", a(&f.fuse_min_a), a(&f.fuse_max_a))
        }
        _ => format!("fuse {} to {}", a(&f.fuse_min_a), a(&f.fuse_max_a)),
    };
    lines.push((format!("{range}{rounded}{mark}{proposed}"), Role::Text));
    let path: Vec<&str> = f.path.iter().map(crate::plan::Id::as_str).collect();
    if path.is_empty() {
        lines.push((
            format!("path not known; {} ohm", figure(&f.resistance_ohm, |r| words::significant(r.0, 3))),
            Role::Text,
        ));
        lines.extend(f.fuses.iter().map(|fuse| (fuse_fault(plan, f.id.as_str(), fuse), Role::Text)));
        return;
    }
    let mark = by_rule(&f.changed.target);
    let target = f.target_pct.map(|t| format!(", target {} %{mark}", num(t))).unwrap_or_default();
    lines.push((
        format!(
            "path{}{}: {} V, {} % of {}{target}; {} ohm",
            path_place(plan, f).map_or_else(|| " ".into(), |place| format!(" {place}, ")),
            path.join(" > "),
            figure(&f.path_drop_v, |v| fixed(v.0, 2)),
            path_pct(f),
            figure(&f.base_v, |v| format!("{} V", num(v.0))),
            figure(&f.resistance_ohm, |r| words::significant(r.0, 3)),
        ),
        Role::Text,
    ));
    for fuse in &f.fuses {
        lines.push((fuse_fault(plan, f.id.as_str(), fuse), Role::Text));
    }
}
