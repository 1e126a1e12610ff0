//! Batteries in parallel that links join: what each gives, and what the link beside a take-off carries.

use super::{Explain, n};
use crate::engine::capacity::derating;
use crate::engine::links::{Links, case, is_too_thin, made_of, most_given};
use crate::engine::worked::unused;
use crate::physics::links::TakeOff;
use crate::standards::ampacity::ampacity_with;
use crate::units::Metres;

pub(super) fn say(e: &mut Explain<'_>) -> Option<()> {
    match e.finding.check.id {
        "uneven-battery-links" => uneven(e),
        "battery-link-below-current" => below(e),
        "battery-link-below-fuse" => alone(e),
        _ => None,
    }
}

/// One link and one battery, and what each battery gives by them.
fn split(e: &mut Explain<'_>) -> Option<Links> {
    let links = Links::of(e.c)?.ok()?;
    if let Some((link_ohm, battery_ohm)) = links.ohms {
        let (gauge, each) = made_of(e.c).ok()?;
        let Metres(long) = *e.c.plan.bank.link_length_m.as_ref()?.known()?;
        let made = match each {
            each if is_too_thin(e.c, gauge, each) => {
                format!("{} x {gauge}, of which one counts as they are too thin to share,", n(each))
            }
            each if each > 1.0 => format!("{} x {gauge}", n(each)),
            _ => gauge.to_string(),
        };
        e.say(format!(
            "one link, {made} of {} m at {} C with a lug at each end: {} mohm; one battery {} mohm",
            n(long),
            n(e.c.rules.fault_cable_c),
            n(link_ohm * 1000.0),
            n(battery_ohm * 1000.0)
        ));
        let by = match links.take_off {
            TakeOff::OneEnd => {
                "each battery gives more than the next one out by 2 links / battery of all that the batteries beyond it give"
            }
            TakeOff::Corners => {
                "each battery gives more than the next one inward by link / battery of all that lie between it and its like at \
                 the other end"
            }
        };
        e.say(format!("{by}; link / battery = {}", n(link_ohm / battery_ohm.max(1e-9))));
    }
    let parts: Vec<String> = links.shares.iter().map(|part| format!("{:.1} %", part * 100.0)).collect();
    e.say(format!("from the plus lead on they give {}", parts.join(", ")));
    Some(links)
}

/// Source: Kirchhoff's laws.
fn uneven(e: &mut Explain<'_>) -> Option<()> {
    let links = split(e)?;
    let f = e.finding;
    let (apart, most, least, even, count, limit) = (f.n(0), f.n(1), f.n(2), f.n(3), f.n(4), f.n(5));
    if let (Some(over_a), Some(bank_a)) = (f.numbers.get(6), f.numbers.get(7)) {
        let most_a = links.most() * bank_a;
        e.say(format!(
            "of {:.1} A, the most that the bank gives or takes for long, {most_a:.1} A flow in it, {over_a:.1} A over an even part",
            bank_a
        ));
    }
    e.say("what links lose within the bank is in no path's drop: paths are reckoned from the posts where the leads are taken off");
    e.say(format!(
        "{} in parallel, even parts {even:.1} %, the most {most:.1} %, the least {least:.1} %: the worst is {} % of an even part \
         off, {} % at most",
        n(count),
        n(apart),
        n(limit)
    ));
    Some(())
}

fn below(e: &mut Explain<'_>) -> Option<()> {
    let links = split(e)?;
    let factor = e.c.rules.conductor_factor;
    ampacity(e)?;
    e.say(format!(
        "the link carries what all but the battery at the lead give: {:.1} % of {} A{} = {} A",
        links.in_link() * 100.0,
        n(e.finding.n(2)),
        if factor == 1.0 { String::new() } else { format!(" x {}", n(factor)) },
        n(e.finding.n(0))
    ));
    Some(())
}

/// What a link is left with where the battery beside it is off.
fn alone(e: &mut Explain<'_>) -> Option<()> {
    ampacity(e)?;
    let (bank_a, fuse_a) = (e.finding.n(2), e.finding.n(3));
    let which = if e.finding.name(1).contains(", ") {
        "the fuses at the posts together"
    } else {
        "the largest fuse at the posts"
    };
    let fuse = if fuse_a > 0.0 { format!(", {which} {} A", n(fuse_a)) } else { String::new() };
    e.say(format!(
        "the bank gives or takes {} A for long{fuse}; with the battery beside it off the link carries all of that, as only the fuse \
         would stop more",
        n(bank_a)
    ));
    Some(())
}

/// What a link may carry.
fn ampacity(e: &mut Explain<'_>) -> Option<()> {
    let case = case(e.c, e.c.rules.basis).ok()?;
    e.say(format!(
        "{} in the open where the batteries stand, air {} C, insulation {} C, terminals {} C{}",
        case.gauge,
        n(case.ambient_c),
        n(case.insulation_c),
        n(case.terminal_c),
        unused(case.basis)
    ));
    match ampacity_with(&case, &derating(e.c)) {
        Ok(w) => {
            let steps: Vec<String> = w.steps().into_iter().map(|(label, x, _)| format!("{label} {}", n(x))).collect();
            e.say(steps.join("; "));
        }
        Err(why) => e.say(why.to_string()),
    }
    Some(())
}

impl Explain<'_> {
    /// By how many batteries a limit of one is multiplied, in words.
    pub(super) fn in_parallel(&self) -> Option<String> {
        let parallel = self.c.parallel().ok()?;
        let by = if Links::of(self.c).is_some() { "links" } else { "leads" };
        Some(match most_given(self.c).and_then(Result::ok) {
            Some(most) if most * parallel > 1.0 + 1e-8 => {
                let (as_many, most) = (most.recip(), most * 100.0);
                format!("{} ({} in parallel, of which one gives {most:.1} % by the {by})", n(as_many), n(parallel))
            }
            _ => format!("{} in parallel", n(parallel)),
        })
    }
}
