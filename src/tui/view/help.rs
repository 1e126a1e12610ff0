//! The help: the focused field, then every key of the table.

use crate::plan::{Kind, Meta, entry};
use crate::standards::cited::of_field;
use crate::standards::fuse::trade_words;
use crate::tui::keymap::{self, Context};
use crate::tui::model::{Model, Overlay, Pane};
use crate::tui::theme::Role;
use crate::tui::words;

use super::paint::wrap;
use super::{detail, explained};

/// Columns the help is written for.
pub(super) const WIDTH: usize = 70;

/// The help's lines.
pub(super) fn lines(model: &Model) -> Vec<(String, Role)> {
    let mut lines = Vec::new();
    if let Some(shop) = &model.shop {
        let about = crate::tui::update::shop::about(shop);
        lines.extend(wrap(&about, WIDTH).into_iter().map(|l| (l, Role::Text)));
        lines.push((String::new(), Role::Text));
    } else if model.is_on_findings() && model.entry().is_some() && is_plain(model) {
        lines.extend(explained::finding(model));
        lines.push((String::new(), Role::Text));
    } else if model.is_on_bench() && model.bench.pane == Pane::Results && is_plain(model) {
        lines.extend(explained::result(model));
        lines.push((String::new(), Role::Text));
    } else if let Some((at, plan)) = model.focus().zip(model.whole_plan()) {
        let plan = &*plan;
        let label = words::path(plan, &at);
        if let Some(meta) = plan.meta(&at) {
            lines.push((format!("{label}  ({at})"), Role::Heading));
            lines.extend(wrap(meta.help, WIDTH).into_iter().map(|l| (l, Role::Text)));
            lines.extend(wrap(&accepted(plan, meta), WIDTH).into_iter().map(|l| (l, Role::Text)));
            let source = format!("source: {}", of_field(meta.source, plan.job.basis));
            lines.extend(wrap(&source, WIDTH).into_iter().map(|l| (l, Role::Text)));
        } else {
            lines.push((label, Role::Heading));
            if at.segments().next() == Some("loads") {
                explained::loads(&mut lines);
            }
        }
        if model.is_on_bench() && is_plain(model) {
            let (title, detail) = detail::lines(model, WIDTH);
            lines.push((title, Role::Heading));
            lines.extend(detail);
        }
        lines.push((String::new(), Role::Text));
    }
    let contexts: &[(Context, &str)] = match model.document {
        _ if model.shop.is_some() => &[
            (Context::Shop, "KEYS OF THE TRUCK STOCK"),
            (Context::Field, "KEYS WHILE A FIELD IS OPEN (every printable key is text)"),
        ],
        Some(_) if matches!(model.overlay, Some(Overlay::Help { over: Some(_), .. })) => &[
            (Context::Year, "KEYS OF THE OPENED YEAR"),
            (Context::Field, "KEYS WHILE A FIELD IS OPEN (every printable key is text)"),
        ],
        Some(_) => &[
            (
                Context::Browsing,
                "KEYS (on a form's row a digit begins typing, on an empty text a letter too; where a text stands a capital does, or Enter or Backspace, and after Esc none)",
            ),
            (Context::Field, "KEYS WHILE A FIELD IS OPEN (every printable key is text)"),
            (Context::Overlay, "KEYS IN A BOX"),
            (Context::Year, "KEYS OF THE OPENED YEAR"),
        ],
        None => &[(Context::Start, "KEYS")],
    };
    for (context, title) in contexts {
        lines.extend(wrap(title, WIDTH).into_iter().map(|l| (l, Role::Heading)));
        lines.extend(keys(*context));
    }
    lines
}

/// Every key of a context, with its sentence.
pub(super) fn keys(context: Context) -> Vec<(String, Role)> {
    let mut lines = Vec::new();
    for binding in keymap::rows(context) {
        let keys = keymap::key_names(binding);
        for (i, part) in wrap(binding.help, WIDTH - 18).into_iter().enumerate() {
            let keys = if i == 0 { keys.as_str() } else { "" };
            lines.push((format!("{keys:<16}  {part}"), Role::Text));
        }
    }
    lines
}

/// Whether the help was asked for from a screen, not from the opened year.
fn is_plain(model: &Model) -> bool {
    !matches!(model.overlay, Some(Overlay::Help { over: Some(_), .. }))
}

fn accepted(plan: &crate::plan::Plan, meta: &Meta) -> String {
    let units = entry::Units::of(plan);
    let mut said = match meta.kind {
        Kind::Number { least, most, .. } => {
            let show = |x: f64| entry::seen(units, meta, &crate::plan::Value::Number(x));
            format!("Accepted: {} to {}", show(least), show(most))
        }
        Kind::Words(words) => {
            let each = words.iter().map(|word| match trade_words(word) {
                [] => (*word).to_string(),
                names => format!("{word} ({})", names.join(", ")),
            });
            format!("Accepted: {}", each.collect::<Vec<_>>().join("; "))
        }
        Kind::Gauge => "Accepted: 8awg, 2/0 awg, 16mm2; a bare number follows the plan's gauge system".into(),
        Kind::Ref(lists) => format!("Accepted: a name from {}", lists.join(", ")),
        Kind::Months => "Accepted: Nov-Mar, 6 7 8, all, none".into(),
        Kind::Monthly { .. } => "Accepted: twelve numbers, January first".into(),
        Kind::Strings => "Accepted: 3S2P P1 (series, parallel, panel), or P1+P1 | P1+P2".into(),
        Kind::Text => "Accepted: text on one line".into(),
        Kind::Lines if meta.key == "edits" => {
            "Accepted: edits that the plan takes, each on a line of its own or after \\n: runs.W2.gauge = 6 AWG, remove runs.W5, \
             rename runs.W5 W9, move runs.W5 after W2, insert loads after L3 (...)"
                .into()
        }
        Kind::Lines => "Accepted: lines of text, \\n between them".into(),
    };
    if meta.unknown {
        said.push_str("; ? where it is not known");
    }
    if meta.absent {
        said.push_str("; empty where there is none");
    }
    said.push('.');
    said
}
