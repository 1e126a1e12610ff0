//! Hours of a day.

use super::{Explain, n};

/// Source: the load's own fields, multiplied; hours times watts.
pub(super) fn say(e: &mut Explain<'_>) -> Option<()> {
    match e.finding.check.id {
        "load-past-day" => {
            let id = e.item("loads")?;
            let load = e.c.plan.loads.iter().find(|l| l.id.as_str() == id)?;
            let (hours, duty) = (load.hours_day.known()?.0, load.duty_pct.known()?.0);
            let counted = e.finding.n(0);
            let factor = n(counted / (hours * duty / 100.0));
            e.say(format!("{} h a day x duty {} % x {factor} = {} h, over 24 h", n(hours), n(duty), n(counted)));
        }
        "load-outlasts-inverter" => {
            let (runs, on, wh) = (e.finding.n(0), e.finding.n(1), e.finding.n(2));
            let idle = n(wh / (runs - on));
            e.say(format!(
                "({} h - {} h) x {idle} W that the inverter draws itself = {} Wh a day",
                n(runs),
                n(on),
                n(wh)
            ));
        }
        _ => return None,
    }
    Some(())
}
