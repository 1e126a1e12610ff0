//! What pulls panels off a roof and what holds them.

use super::{Explain, n};
use crate::engine::arrays::gamma_pct_k;
use crate::engine::roof::{GLUED_FLAT, Hold, hold, in_rafter_m, panel_pull_n, pull_n};
use crate::physics::hold::dynamic_pressure_pa;
use crate::plan::{Panel, YesNo};
use crate::standards::kinds::Mount;

pub(super) fn say(e: &mut Explain<'_>) -> Option<()> {
    match e.finding.check.id {
        "uplift-factor-low" | "adhesive-on-membrane" | "feet-on-rafters" => uplift(e),
        "glued-runs-warm" => warm(e),
        "tilt-not-counted" => tilt(e, "glued down, the year takes 0"),
        "feet-tilted" => tilt(e, "the year takes it, with the warmth of the close mount"),
        "panel-gap-small" => {
            let f = e.finding.clone();
            e.say(format!(
                "cells at 800 W/m2, 20 C air and 1 m/s of wind run {} K warmer glued flat than on feet",
                n(f.n(2))
            ));
            if f.n(3) > 0.0 {
                e.say(format!("at its gamma that is {} % less", n(f.n(3))));
            }
            e.say(format!("feet of {} mm, {} mm at least", n(f.n(0)), n(f.n(1))));
            Some(())
        }
        _ => None,
    }
}

/// The panel with the hardest pull: of the finding's array, or of all.
fn worst<'a>(e: &Explain<'a>) -> Option<&'a Panel> {
    let own = e.item("arrays");
    let arrays = e.c.plan.arrays.iter().filter(|a| a.state.stays() && own.is_none_or(|id| a.id.as_str() == id));
    let panels = arrays.flat_map(|a| a.strings.0.iter().flatten());
    let panels = panels.filter_map(|id| e.c.plan.panels.iter().find(|p| p.id == *id));
    let pulled = panels.filter_map(|p| Some((panel_pull_n(&e.c.rules, p).ok()?, p)));
    pulled.max_by(|a, b| a.0.total_cmp(&b.0)).map(|(_, p)| p)
}

/// Whether the array of the finding is glued flat.
fn is_glued(e: &Explain<'_>) -> bool {
    let id = e.item("arrays");
    e.c.plan.arrays.iter().any(|a| Some(a.id.as_str()) == id && a.mount == Mount::Glued)
}

/// Source: q = 1/2 rho v2, F = q A Cp; the worst foot's share.
fn uplift(e: &mut Explain<'_>) -> Option<()> {
    let panel = worst(e)?;
    let (plan, r) = (e.c.plan, &e.c.rules);
    let all_n = panel_pull_n(r, panel).ok()?;
    let q = dynamic_pressure_pa(r.uplift_air, r.uplift_speed_ms);
    e.say(format!("q = 0.5 x {} kg/m3 x ({} m/s)^2 = {} Pa", n(r.uplift_air), n(r.uplift_speed_ms), n(q)));
    // In square metres and metres: a label's own sizes.
    let (l_m, w_m) = (panel.length_m.known()?.0, panel.width_m.known()?.0);
    let area = l_m * w_m;
    e.say(format!(
        "F = q A Cp = {} Pa x {} m2 x {} = {all_n:.0} N on panel {}",
        n(q),
        n(area),
        n(r.uplift_cp),
        panel.id
    ));
    let on_membrane = e.is("adhesive-on-membrane") && e.finding.name(0) == GLUED_FLAT;
    if on_membrane || (e.is("uplift-factor-low") && is_glued(e)) {
        let (held, by) = if on_membrane { (0.0, "on a membrane") } else { (e.finding.n(2), "by its test") };
        e.say(format!("glued flat: its adhesive holds all of it, {held:.0} N {by}"));
        e.say(format!("{held:.0} N / {all_n:.0} N = {:.2}, {} wanted", held / all_n.max(1e-9), n(r.uplift_factor)));
        return Some(());
    }
    let (foot_n, _) = pull_n(plan, r, panel).ok()?;
    let feet = plan.roof.feet_per_panel.known()?.0;
    let share = match feet >= 4.0 {
        true => format!("{} % on the front pair, half of that each", n(r.uplift_front_pct)),
        false => format!("one of {} feet", n(feet)),
    };
    let pry =
        if plan.roof.one_sided == YesNo::Yes { format!(" x {} for prying", n(r.uplift_prying)) } else { String::new() };
    e.say(format!("worst foot: {share}{pry} = {foot_n:.0} N"));
    let held = match hold(plan, r) {
        Ok(Hold::Newtons(held)) if (e.finding.n(2) > 0.0 && e.is("uplift-factor-low")) || e.is("feet-on-rafters") => {
            held
        }
        _ => 0.0,
    };
    if held > 0.0 {
        let what = if plan.roof.tested_n.is_some() { "by its test" } else { "by its thread in wood, NDS withdrawal" };
        e.say(format!("a foot holds {held:.0} N {what}"));
    } else {
        e.say("a foot is credited 0 N: nothing but thread in wood, a rafter or a tested pull counts");
    }
    if let Some(metres) = in_rafter_m(plan, r).filter(|_| held > 0.0) {
        e.say(format!("{:.1} mm of every screw's thread taken to be in a rafter", metres * 1000.0));
    }
    e.say(format!("{held:.0} N / {foot_n:.0} N = {:.2}, {} wanted", held / foot_n.max(1e-9), n(r.uplift_factor)));
    Some(())
}

fn tilt(e: &mut Explain<'_>, taken: &str) -> Option<()> {
    e.say(format!("tilt in use at {}: {} degrees at most; {taken}", e.finding.name(1), n(e.finding.n(0))));
    Some(())
}

fn warm(e: &mut Explain<'_>) -> Option<()> {
    let id = e.item("arrays")?;
    let array = e.c.plan.arrays.iter().find(|a| a.id.as_str() == id)?;
    let gamma = gamma_pct_k(e.c.plan, array).ok()?.abs();
    let (less, rise) = (e.finding.n(0), e.finding.n(1));
    e.say("cells at 800 W/m2, 20 C air and 1 m/s of wind, glued flat against on feet");
    if e.finding.n(2) > 0.0 {
        e.say(format!("of its part of what its controller is offered on a mean day that is {} Wh", n(e.finding.n(2))));
    }
    e.say(format!("{} K warmer x {} %/K = {} % less", n(rise), n(gamma), n(less)));
    Some(())
}
