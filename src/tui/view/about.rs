//! What a box over the screen is about: its words, its columns, its keys.

use crate::engine::LadderOf;
use crate::engine::ladder::Goal;
use crate::tui::keymap::Context;
use crate::tui::model::Overlay;
use crate::tui::theme::Role;

use super::help::keys;
use super::paint::wrapped;

/// The lines about a box, of so many columns.
pub(super) fn lines(over: &Overlay, width: usize) -> Vec<(String, Role)> {
    let (title, says) = said(over);
    let mut lines = vec![(title.to_string(), Role::Heading)];
    for part in says {
        lines.push(((*part).into(), Role::Text));
    }
    if let Overlay::Ladder(ladder) = over {
        if matches!(ladder.of, LadderOf::Goal(_)) {
            let most = format!(
                "No more than {0} batteries in parallel and {0} strings are looked at, or as many as the plan has.",
                Goal::MOST
            );
            lines.push((most, Role::Text));
        }
        lines.push((YEAR.into(), Role::Text));
    }
    if let Overlay::Finding(view) = over {
        super::explained::looked_at(view.finding.check.id, &mut lines);
    }
    lines.push((String::new(), Role::Text));
    lines.push(("KEYS IN A BOX".into(), Role::Heading));
    lines.extend(keys(Context::Overlay, width));
    wrapped(lines, width)
}

const YEAR: &str = "Wh/day: harvest, mean of the year, beside it a mean day of its worst and of its best month, the shade of what stands on \
                    the roof taken off; .. is still being computed, \
                    ? waits for a value. chg: against the row of the plan. Enter takes the marked row as one step, u takes it \
                    back.";

/// Title and paragraphs.
fn said(over: &Overlay) -> (&'static str, &'static [&'static str]) {
    match over {
        Overlay::Ladder(ladder) => match &ladder.of {
            LadderOf::Gauge(_) => (
                "GAUGES OF A RUN",
                &[
                    "gauge: of each conductor, 2x: two in each pole. dropV, drop%: volts lost in this run at what flows in it. \
                     path%: lost on the whole path it is judged on, ! over its target. A: what the wire may carry after corrections; spare: that \
                     over the design current. fuse: of the run with this gauge, * where it comes with the row; may have: the \
                     ratings that fit. truck: how much of it is on the spools.",
                    FIT,
                ],
            ),
            LadderOf::Fuse(..) => (
                "FUSE OF A RUN",
                &[
                    "spare A: what it protects carries more than its rating. x design: rating over design current. dropV: lost \
                     across it at what flows. opens: the most it interrupts, kA; flt kA: what flows there at a fault.",
                    FIT,
                ],
            ),
            LadderOf::Strings(_) => (
                "WIRINGS OF AN ARRAY",
                &[
                    "cold V: open volts at the coldest; takes: the controller's limit. hot V: best volts when hottest. A, Isc A: \
                     of all strings. drop%: from the panels to the controller. spare: of the wire on the way. fuses: that \
                     every string needs. shade%: power left with one panel in shade.",
                    FIT,
                ],
            ),
            LadderOf::Controller(_) => (
                "CONTROLLERS OF THE SHELF",
                &[
                    "out A: what it gives at most. takes V: its limit; spareV: that over the array's cold volts. clip: kWh a year \
                     that its limit cuts off.",
                    FIT,
                ],
            ),
            LadderOf::Goal(_) => (
                "SIZING HELP",
                &[
                    "Every number of batteries in parallel, each with the least watts of panels with which no load goes short at the stays \
                     of the goal, in the typical year, one array grown alone, whichever does it; the first row is the plan as it stands.",
                    "batt: in parallel, x how many in series each; usable Wh: label volts x Ah above the floor. strings: of the array that is grown. panels, watts: of all arrays. short d, short Wh: days in a \
                     year with some load not served at those stays, and how much. lasts d: days without sun that the bank \
                     lasts in the worst month, as cold as it is then. price, weight: of batteries and panels over those of the \
                     plan, +? where some are not known, or where a controller, wire or fuse is wanted with them. meets: the goal; \
                     stop, caut: new stops and cautions that it brings; also: what has a new stop, a fuse, a wire, a controller.",
                    "Panels that are added have no place yet: no shade is taken off them, and room on roof and in bay is not looked at.",
                ],
            ),
        },
        Overlay::Sizing(_) => (
            "SIZING ALL",
            &[
                "What sizing would change, run by run, and what that comes to; nothing is changed before Enter, which applies all of it.",
            ],
        ),
        Overlay::Finding(_) => (
            "A FINDING",
            &[
                "What was checked, with which numbers and by what; under it the steps that mend it, each with what it does.",
            ],
        ),
        Overlay::Working(_) => {
            ("WORKING OF A RUN", &["How its ampacity, drop and fuse come about, leg by leg, with sources."])
        }
        Overlay::Isolation(_) => (
            "ISOLATION",
            &[
                "For every switch, breaker and line fuse, opened alone: what goes dead, what stays live, and from where.",
            ],
        ),
        Overlay::History { .. } => {
            ("HISTORY", &["Every step by its name, newest first; Enter goes back, or forth, to the marked one."])
        }
        Overlay::Messages { .. } => ("MESSAGES", &["What was said so far, newest last."]),
        _ => ("THIS BOX", &["Enter takes the marked row, Esc closes."]),
    }
}

const FIT: &str = "price: of wire and fuse that are new. new, cur: findings that come with the row, and that it ends. fit: yes; over: may be built, its path over its drop target; no; ? waits \
                   for a value; but: may be built, while a stop stays that no row mends.";
