//! Batteries in parallel whose leads are drawn, or that links join: what each one carries.

use crate::engine::Work;
use crate::engine::finding::{Check, Finding, Level};
use crate::engine::gather::{Gathered, Outcome};
use crate::engine::leads::Leads;
use crate::engine::let_through::Through;
use crate::engine::links::{Links, drawn_besides, fuse_ahead, fuse_most_a, fuses_together, is_too_thin, made_of};
use crate::engine::report::LinkFigures;
use crate::physics::links::TakeOff;
use crate::plan::{FieldPath, Missing, YesNo};
use crate::standards::cited::{AMPACITY, PARALLEL};
use crate::standards::conductor::area_mm2;
use crate::standards::source::COMMON_PRACTICE;

use super::digits::apart;
use super::rule_value;
use super::wires::SHARED;

static UNEVEN: Check = Check {
    id: "uneven-battery-leads",
    safety: false,
    say: |f| {
        format!(
            "of {:.0} batteries in parallel the one on {} carries {:.0} % and the one on {} {:.0} %; equal leads would \
             give each {:.0} %, and {:.0} % of it off is the most",
            f.n(4),
            f.name(0),
            f.n(1),
            f.name(1),
            f.n(2),
            f.n(3),
            f.n(5)
        )
    },
};

static LINKS: Check = Check {
    id: "uneven-battery-links",
    safety: false,
    say: |f| {
        let all = match (f.numbers.get(6), f.numbers.get(7)) {
            (Some(over_a), Some(bank_a)) => {
                format!("; at the bank's {bank_a:.0} A that is {over_a:.1} A over its even part")
            }
            _ => String::new(),
        };
        format!(
            "of {:.0} batteries in parallel joined by links, {}, {} gives {:.1} % and {} {:.1} %; even parts are {:.1} %, and \
             {:.0} % of it off is the most{all}",
            f.n(4),
            f.name(0),
            f.name(1),
            f.n(1),
            f.name(2),
            f.n(2),
            f.n(3),
            f.n(5)
        )
    },
};
static LINK_BELOW: Check = Check {
    id: "battery-link-below-current",
    safety: true,
    say: |f| {
        let (flows, carries) = apart(f.n(0), f.n(1), 1);
        format!(
            "the link beside a take-off of the batteries in parallel: {flows} A may flow of the bank's {:.0} A, {} carries \
             {carries} A",
            f.n(2),
            f.name(0)
        )
    },
};
static LINK_ALONE: Check = Check {
    id: "battery-link-below-fuse",
    safety: true,
    say: |f| {
        let fuse = match f.name(1) {
            "" => String::new(),
            fuse if fuse.contains(", ") => format!(", and up to the {:.0} A that {fuse} together let through", f.n(3)),
            fuse => format!(", and up to the {:.0} A that {fuse} lets through", f.n(3)),
        };
        let (_, carries) = apart(f.n(0), f.n(1), 1);
        format!(
            "the links of the batteries in parallel: where one of those is off, its management unit open or a post loose, the link \
             beside it carries all of the bank's {:.0} A{fuse}; {} carries {carries} A, and {}",
            f.n(2),
            f.name(0),
            if f.n(4) > 0.0 {
                "the batteries' own fuses alone protect it, where they let no more through"
            } else {
                "no fuse of its own protects it"
            }
        )
    },
};
static TWICE: Check = Check {
    id: "batteries-joined-twice",
    safety: false,
    say: |f| {
        format!(
            "the batteries are entered as joined by links, and {} are drawn as a lead of each: the leads count, the links do not",
            f.name(0)
        )
    },
};

/// Batteries in parallel whose own ways to one place are drawn, or that links join.
pub(super) fn all(w: &Work<'_>, out: &mut Gathered) {
    let bank = || FieldPath::new("bank");
    if let Some(figures) = &w.report.bank.links {
        out.take(&LINKS, bank, by_links(w, figures));
        out.take(&LINK_BELOW, bank, link_below(w, figures));
        out.take(&LINK_ALONE, bank, link_alone(w, figures));
        // What nobody knows of them waits at their ampacity.
        out.take(&SHARED, bank, Ok(too_thin(w)));
    }
    if drawn_besides(w.context) {
        let first = |own: &Vec<usize>| w.context.plan.runs.get(*own.first()?).map(|r| r.id.to_string());
        let leads: Vec<String> = w.context.circuit.own_loops().iter().filter_map(first).collect();
        let found = Finding::new(&TWICE, Level::Caution, "bank".into(), &[], &COMMON_PRACTICE);
        out.take(&TWICE, bank, Ok(Some(found.named([leads.join(" and ")]))));
    }
    if let Some(first) = w.context.circuit.own_loops().first().and_then(|own| own.first()) {
        out.take(&UNEVEN, || FieldPath::new("bank"), uneven(w, *first));
    }
}

/// The split of the bank's current by conductance: each battery behind its own lead, cold.
/// Source: Kirchhoff's laws for parallel branches of equal open-circuit volts.
fn uneven(w: &Work<'_>, lead: usize) -> Outcome {
    let Some(leads) = Leads::cold(w.context, lead) else { return Ok(None) };
    let leads = leads?;
    let shares = leads.shares();
    let named = || shares.iter().zip(leads.firsts().filter_map(|i| w.context.plan.runs.get(i)));
    let (Some(most), Some(least)) =
        (named().max_by(|a, b| a.0.total_cmp(b.0)), named().min_by(|a, b| a.0.total_cmp(b.0)))
    else {
        return Ok(None);
    };
    let equal = 100.0 / shares.len() as f64;
    let (most_pct, least_pct) = (most.0 * 100.0, least.0 * 100.0);
    let apart = ((most_pct - equal).max(equal - least_pct)) / equal * 100.0;
    let limit = rule_value(w, "uneven-battery-pct");
    Ok((apart > limit + 1e-9).then(|| {
        let numbers = [apart, most_pct, least_pct, equal, shares.len() as f64, limit];
        Finding::new(&UNEVEN, Level::Caution, "bank".into(), &numbers, &COMMON_PRACTICE)
            .named([&most.1.id, &least.1.id])
    }))
}

/// The same of links from post to post, cold.
fn by_links(w: &Work<'_>, figures: &LinkFigures) -> Outcome {
    let Some(links) = Links::of(w.context) else { return Ok(None) };
    let links = links?;
    let (apart, limit) = (links.apart_pct(), rule_value(w, "uneven-battery-pct"));
    if apart <= limit + 1e-9 {
        return Ok(None);
    }
    let count = links.shares.len() as f64;
    let mut numbers = vec![apart, links.most() * 100.0, links.least() * 100.0, links.even() * 100.0, count, limit];
    if let Ok(bank_a) = &figures.bank_a {
        numbers.extend([(links.most() - links.even()) * bank_a.0, bank_a.0]);
    }
    let names = match links.take_off {
        TakeOff::OneEnd => ["both leads taken off at one end", "the one at the leads", "the farthest"],
        TakeOff::Corners => ["leads taken off at opposite corners", "each one at a lead", "the innermost"],
    };
    Ok(Some(Finding::new(&LINKS, Level::Caution, "bank".into(), &numbers, &COMMON_PRACTICE).named(names)))
}

/// Links of several cables that are too thin to share.
fn too_thin(w: &Work<'_>) -> Option<Finding> {
    let (c, (gauge, each)) = (w.context, made_of(w.context).ok()?);
    is_too_thin(c, gauge, each).then(|| {
        let numbers = [area_mm2(gauge), c.rules.parallel_least_mm2];
        let found = Finding::new(&SHARED, Level::Caution, "bank".into(), &numbers, PARALLEL.of(c.rules.basis));
        found.named(["links between the batteries", ""])
    })
}

/// The link that carries most against its ampacity.
fn link_below(w: &Work<'_>, figures: &LinkFigures) -> Outcome {
    let rules = &w.context.rules;
    let needs = figures.link_a.clone()?.0 * rules.conductor_factor;
    let carries = figures.ampacity_a.clone()?.0;
    if carries >= needs - 1e-9 {
        return Ok(None);
    }
    let made = link_name(w)?;
    let numbers = [needs, carries, figures.bank_a.clone()?.0];
    let found = Finding::new(&LINK_BELOW, Level::Stop, "bank".into(), &numbers, AMPACITY.of(rules.basis));
    Ok(Some(found.named([made])))
}

/// What a link is made of, in words.
fn link_name(w: &Work<'_>) -> Result<String, Missing> {
    let (gauge, each) = made_of(w.context)?;
    Ok(if each > 1.0 { format!("{each} x {gauge}") } else { gauge.to_string() })
}

/// A link that is left with all of the bank's current against its ampacity, and against the largest fuse that could stop more. A stop
/// where the bank's own current is above it already.
fn link_alone(w: &Work<'_>, figures: &LinkFigures) -> Outcome {
    let (c, carries, bank_a) = (w.context, figures.ampacity_a.clone()?.0, figures.bank_a.clone()?.0);
    let factor = c.rules.conductor_factor;
    // What is too thin with all batteries on is said as that.
    if carries < figures.link_a.clone()?.0 * factor - 1e-9 {
        return Ok(None);
    }
    // Whether the batteries' own fuses protect it is a matter of their rating, which has no field.
    let fused = c.plan.bank.fused_each == YesNo::Yes;
    let is_over = carries < bank_a * factor - 1e-9;
    let fuse = match fuse_ahead(c) {
        Err(missing) if !is_over => return Err(missing),
        fuse => fuse.ok().flatten(),
    };
    let holds = |fuse: &Option<Through>| {
        let fuse_a = fuse.as_ref().map_or(0.0, |f| f.amps);
        Ok::<bool, Missing>(fuse_most_a(c, made_of(c)?.0, carries) >= fuse_a - 1e-9)
    };
    let is_above = is_over || !holds(&fuse)?;
    let fuse = if is_above || fused { fuse } else { fuses_together(c).or(fuse) };
    if !is_above && holds(&fuse)? {
        return Ok(None);
    }
    let fuse_a = fuse.as_ref().map_or(0.0, |f| f.amps);
    let asked = (bank_a * factor).max(fuse_a);
    let level = match (fused, is_over, is_above) {
        (false, true, _) => Level::Stop,
        (false, false, true) => Level::Caution,
        // All of them near their ratings at once is no usual day.
        _ => Level::Note,
    };
    let numbers = [asked, carries, bank_a, fuse_a, f64::from(u8::from(fused))];
    let by = fuse.filter(|f| f.amps > bank_a).map_or_else(String::new, |f| f.by.join(", "));
    let found = Finding::new(&LINK_ALONE, level, "bank".into(), &numbers, AMPACITY.of(c.rules.basis));
    Ok(Some(found.named([link_name(w)?, by])))
}
