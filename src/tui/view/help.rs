//! The help: the focused field, then every key of the table.

use crate::plan::{Kind, Meta, Quantity, entry};
use crate::standards::cited::of_field;
use crate::standards::fuse::trade_words;
use crate::tui::keymap::{self, Context};
use crate::tui::model::{Model, Overlay, Pane};
use crate::tui::seasons::SeasonsView;
use crate::tui::theme::Role;
use crate::tui::words;

use super::overlay::text_width;
use super::paint::{wrap, wrapped};
use super::seasons::columns;
use super::{detail, explained};

type Lines = Vec<(String, Role)>;

/// Columns the help is written for.
pub(super) const WIDTH: usize = 70;
/// What begins typing in a form.
const TYPING: &str = "On a form's row a digit begins typing; on an empty text and among choices, names and months a letter too; where a text stands a capital, Enter or Backspace. After Esc letters are commands; Space lists every command.";
/// Columns in which keys stand beside their sentences; on fewer before them.
const LEAST_BESIDE: usize = 56;

/// Columns of the help on a screen so wide.
pub(super) fn width(columns: u16) -> usize {
    WIDTH.min(text_width(columns))
}

/// The help's lines.
pub(super) fn lines(model: &Model) -> Lines {
    let width = width(model.size.0);
    let mut lines = Vec::new();
    if let Some(Overlay::Help { over: Some(view), .. }) = &model.overlay {
        lines.extend(of_year(view, width));
    }
    if let Some(shop) = &model.shop {
        let about = crate::tui::update::shop::about(shop);
        lines.push((about, Role::Text));
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
            lines.push((meta.help.into(), Role::Text));
            lines.push((accepted(plan, meta), Role::Text));
            lines.push((format!("source: {}", of_field(meta.source, plan.job.basis)), Role::Text));
        } else {
            lines.push((label, Role::Heading));
            if at.segments().next() == Some("loads") {
                explained::loads(&mut lines);
            }
        }
        if model.is_on_bench() && is_plain(model) {
            let (title, detail) = detail::lines(model, width);
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
            (Context::Browsing, "KEYS"),
            (Context::Field, "KEYS WHILE A FIELD IS OPEN (every printable key is text)"),
            (Context::Overlay, "KEYS IN A BOX"),
            (Context::Year, "KEYS OF THE OPENED YEAR"),
        ],
        None => &[(Context::Start, "KEYS")],
    };
    for (context, title) in contexts {
        lines.push(((*title).into(), Role::Heading));
        if *context == Context::Browsing {
            lines.extend(beside("typing", TYPING, width));
        }
        lines.extend(keys(*context, width));
    }
    wrapped(lines, width)
}

/// Every key of a context, with its sentence.
pub(super) fn keys(context: Context, width: usize) -> Lines {
    let each = keymap::rows(context).map(|binding| (keymap::key_names(binding), binding.help));
    each.flat_map(|(keys, help)| beside(&keys, help, width)).collect()
}

/// A key or a word with what is said of it: beside it where there is room, else after it.
fn beside(name: &str, says: &str, width: usize) -> Lines {
    let is_beside = width >= LEAST_BESIDE;
    let parts = match is_beside {
        true => wrap(says, width - 18),
        false => wrap(&format!("{name}  {says}"), width.saturating_sub(2)),
    };
    let line = |(i, part): (usize, String)| match (is_beside, i) {
        (true, 0) => format!("{name:<16}  {part}"),
        (true, _) => format!("{:18}{part}", ""),
        (false, 0) => part,
        (false, _) => format!("  {part}"),
    };
    parts.into_iter().enumerate().map(|numbered| (line(numbered), Role::Text)).collect()
}

/// What the page of the opened year shows, column by column.
fn of_year(view: &SeasonsView, width: usize) -> Lines {
    let (page, pages) = view.page.place();
    let mut lines = vec![(format!("YEAR {page} of {pages}: {}", view.page.name()), Role::Heading)];
    lines.extend(columns::of(view.page).iter().flat_map(|(name, means)| beside(name, means, width)));
    lines.push((String::new(), Role::Text));
    lines
}

/// Whether the help was asked for from a screen, not from the opened year.
fn is_plain(model: &Model) -> bool {
    !matches!(model.overlay, Some(Overlay::Help { over: Some(_), .. }))
}

fn accepted(plan: &crate::plan::Plan, meta: &Meta) -> String {
    let units = entry::Units::of(plan);
    let mut said = match meta.kind {
        Kind::Number { quantity, least, most } => {
            format!("Accepted: {}", entry::bounds(units, meta.key, quantity, least, most))
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
        Kind::Monthly { quantity: Quantity::Temperature, .. } => {
            "Accepted: twelve temperatures, January first, in the plan's unit, or with C or F behind the last".into()
        }
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
