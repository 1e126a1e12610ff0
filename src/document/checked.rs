//! What a check looks at and what it leaves out, in words: one text for those that look at the same thing.

/// Checks that look at the same thing.
#[derive(Debug)]
pub struct Looks {
    /// Their ids.
    pub checks: &'static [&'static str],
    /// What is compared with what.
    pub at: &'static str,
    /// What is not looked at, though it may matter.
    pub not_at: &'static str,
}

/// What a check looks at.
#[must_use]
pub fn looks(check: &str) -> Option<&'static Looks> {
    ALL.iter().find(|looks| looks.checks.contains(&check))
}

const fn of(checks: &'static [&'static str], at: &'static str, not_at: &'static str) -> Looks {
    Looks { checks, at, not_at }
}

/// Every check once.
#[rustfmt::skip]
pub static ALL: &[Looks] = &[
    of(&["conductor-below-current", "makers-lead", "other-basis-ampacity", "terminals-not-counted", "ambient-over-insulation", "ampacity-without-column", "parallel-too-thin", "copper-clad"],
        "What each leg's conductors may carry - table value, then warmth of its zone, bundle, terminals, how many lie in parallel - against the run's design current.",
        "The wire as it lies: damage, crimps, warmth other than the zone's, bundles other than entered."),
    of(&["drop-over-target"],
        "Volts lost from source to load over the whole path, each run at what flows in it then, fuses, switches and lugs included, against the target of such a path.",
        "Joints that have aged, unless a resistance measured on the run is entered."),
    of(&["dc-dc-drops-out"],
        "Volts at the charger's input with the alternator at its low figure and all on that line drawing, its wire as warm as that makes it, against the volts it stops at.",
        "The vehicle's own wiring behind the point where its line begins."),
    of(&["dc-dc-input-low", "line-ahead-of-tow"],
        "Volts at a DC-DC charger's input with the line as drawn, where nobody has entered what it stops at or what stands at the connector.",
        "The vehicle's own wiring ahead of where the line begins."),
    of(&["charges-start-battery", "loads-on-start-battery"],
        "What charges or hangs on a start battery alone, by the runs that are drawn.",
        "How long the start battery lasts with it: no year is reckoned for it."),
    of(&["terminal-does-not-take", "lug-not-usual"],
        "Each end's wire and stud against what the terminal is entered to take and against lugs that are usually made.",
        "Torque, bend radius and room for the tool."),
    of(&["cold-voc-over-limit", "shock-volts", "hot-vmp-low", "start-volts-low", "pwm-panel-volts-high", "isc-over-input", "unlike-panels"],
        "Each string's volts at the coldest and the hottest it is taken to be, and its currents, by the panels' labels, against what the controller takes and needs.",
        "Panels that differ from their label, and cold below that of the plan."),
    of(&["clipping", "array-below-bank", "unlike-panels-loss"],
        "What the hours of the typical year lose to a controller's amps, to volts below the bank's, and to unlike panels together.",
        "Shade of what has no place on the roof, of panels on one another, and of what stands round the coach but as the stay says."),
    of(&["string-fuse-missing", "string-fuse-rating", "string-leads-unshared", "series-fuse-unknown", "string-fuse-wrong-end"],
        "What the other strings can push into one that fails, against what its panels and its lead stand, and where its fuse sits.",
        "Fuses within the panels' own connectors that nobody has entered."),
    of(&["source-end-unfused", "fuse-far-from-source", "charger-end-unfused", "battery-lead-fed-by-others"],
        "For every run: which ends can feed a fault, whether a fuse sits there, and how far along the wire from it.",
        "Wire that is not drawn, and how the first inches before the fuse are sheathed and held."),
    of(&["fuse-above-conductor", "next-rating-up", "fuse-below-design", "battery-own-fuse"],
        "Each fuse's rating against the weakest wire behind it and against 1.25 times the design current.",
        "How long a fuse takes at an overload, which of two in line opens first, and what is really in the holder."),
    of(&["feeder-fuse-below-branches"],
        "A feeder's fuse against the largest fuse of the branches behind it, and against what they may draw together.",
        "How fast either of two in line opens: a larger one ahead may be the first as well."),
    of(&["interrupt-below-fault", "interrupt-below-frame-fault", "fault-current-assumed"],
        "What flows into a dead short at the fuse, from the batteries' own figures and the cold cable, against what the fuse is able to open at its volts.",
        "Arcs, and what else can feed the fault than is drawn."),
    of(&["device-volts-low", "fuse-volts-low", "device-volts-unfit"],
        "DC volts that devices and fuses are rated for against the most of their circuit.",
        "Spikes when an inductive load is switched off."),
    of(&["device-below-current", "device-below-fuse", "panel-below-fuse", "converter-over-limit"],
        "What flows through a switch, breaker, bus, shunt or converter against its own rating; and what fuses let through it, or through a fuse panel.",
        "Starting current of motors, and how often a switch may be opened under load."),
    of(&["poles-joined", "polarity-assumed", "panels-on-bank", "array-controller-differs", "array-feeds-two-controllers", "posts-joined", "rails-joined", "converter-two-feeds", "run-on-ac"],
        "What the runs as drawn join: plus and minus, panels and bank, two posts, two rails, two feeds.",
        "How the wires are really landed: measure polarity before anything is connected."),
    of(&["dangling-end", "end-on-removed", "run-to-itself", "duplicate-name", "loop", "no-such-name", "place-string-not-there", "label-impossible", "label-power-apart", "label-cells-unlikely", "label-power-over-area", "label-beta-not-met", "label-gamma-not-used", "place-without-climate"],
        "Whether names, ends and labels of the plan stand for something.",
        "What the plan says rightly of the wrong thing."),
    of(&["bank-without-run", "bank-not-joined", "array-without-run", "controller-without-run", "inverter-unconnected", "panel-without-run", "load-without-supply", "loads-without-run", "load-on-controller", "shunt-without-run", "meets-at-terminals", "load-drawn-on-dc", "loads-on-first-panel", "life-safety-without-run", "load-without-run", "charger-without-run", "charger-without-input", "inverter-without-run", "inverter-of-load-unknown"],
        "Whether what stays in the plan hangs on a run, and by the kind of run that it needs.",
        "Everything about its wire, until it is drawn."),
    of(&["return-not-drawn", "negative-leads-nowhere", "shunt-bypass", "bond-missing", "bond-small"],
        "Where the current comes back: every negative to the bank, round the shunt or through it, and the bond to the chassis by its size.",
        "Paths through the vehicle's body that nobody has drawn, and how good a chassis joint is."),
    of(&["life-safety-behind-switch", "life-safety-negative-switched", "life-safety-behind-cut-off", "life-safety-through-plug", "breakaway-on-cut-off"],
        "Each life-safety load with every switch, plug and cut-off opened in turn: whether something still feeds it.",
        "Whether it works: pull the pin and see the wheels hold; press the test button of every detector."),
    of(&["no-array-disconnect", "no-bank-disconnect"],
        "Whether something drawn between array and controller, and between bank and loads, can be opened.",
        "Whether it can be reached, and is marked."),
    of(&["adhesive-on-membrane", "uplift-factor-low", "feet-on-rafters"],
        "Wind that lifts each panel against what its worst foot holds, by skin, deck, screw and the speed of the plan.",
        "The roof itself: rot, delamination, what a deck is bonded to. A bound, not a certificate."),
    of(&["panel-over-opening", "panel-on-obstacle", "panel-off-roof", "panel-in-shadow", "panel-gap-small", "glued-runs-warm", "service-way-blocked"],
        "The panels as laid out against the roof's edges and what stands on it: lids, exits, vents, shadow, a way to what is serviced.",
        "What was not measured on the roof; trees and buildings beside the coach."),
    of(&["charge-volts-high", "equalise-not-allowed", "compensation-on-lithium", "profiles-disagree", "float-above-absorption", "charge-volts-outside-window", "charge-volts-impossible", "compensation-not-at-bank", "compensation-none", "compensation-unusual", "cells-by-label", "label-volts-unlikely"],
        "Every charger's settings against the chemistry's limits, the batteries' own and one another.",
        "What is really set in the device: read it off its display."),
    of(&["inverter-over-discharge-limit", "discharge-rate-unknown", "charge-over-limit", "charge-limit-unknown", "series-over-limit", "inverter-surge-over-peak", "discharge-over-limit", "inverter-cut-off-low", "inverter-large-for-12v", "auto-reset-breaker", "batteries-unlike-volts", "start-batteries-unlike", "start-batteries-unlike-volts", "start-battery-volts-unlikely", "vehicle-volts-differ", "array-small-for-lead", "uneven-battery-leads"],
        "What flows into and out of the batteries, all that can run together, against the limits of their labels, and how packs share it by their leads.",
        "Packs of unlike age or charge: before paralleling each is charged full and rested, then within 0.05 V."),
    of(&["uneven-battery-links", "battery-link-below-current", "batteries-joined-twice"],
        "Batteries in parallel that links join, as entered at the bank: what each gives by the ohms of links and batteries, and what the link beside a lead carries against its ampacity.",
        "Links of unlike length or gauge, jumpers in series within a string, a loose lug, batteries of unlike age; a pack that cuts itself off, whose part the others and the links take; whether the posts take the links' lugs. What links lose is in no path's drop."),
    of(&["inverter-feeds-charger", "alternator-overdrawn", "alternator-not-found", "alternator-on-lithium"],
        "What feeds the chargers: an inverter on its own bank, and an alternator's rating against all that they draw of it.",
        "How warm the alternator gets at idle, and what the vehicle itself draws."),
    of(&["cold-bank-gives-less", "bank-age-not-counted"],
        "How old the batteries are, as entered. Days without sun in the coldest month lived in: by the label, by what the year takes off for cold, and by what the trade plans by.",
        "Nights colder than the month, and what age has taken of the batteries: a test tells."),
    of(&["lithium-charged-cold", "lithium-stored-cold", "cold-days-not-in-year"],
        "The bank's own temperature month by month at its place, and a lithium start battery's, against the least its cells may be charged at, and what prevents it.",
        "Single nights colder than the month; the sensor within the pack."),
    of(&["sparks-by-battery", "sparks-by-gas", "bank-by-gas", "vents-small", "flooded-unvented", "device-too-hot", "battery-does-not-fit", "weight-over-margin"],
        "Where batteries and devices stand: what sparks beside gas, vents by their area, warmth, room and the coach's weight margin.",
        "How tight a box is toward the living space, and the weight of each axle and wheel."),
    of(&["start-over-inverter", "surge-below-watts", "loads-over-inverter", "load-past-day", "load-outlasts-inverter"],
        "What the loads through an inverter take, together and at starting, against what it gives.",
        "Two motors that start at once."),
    of(&["inverter-cut-off-high", "inverter-cuts-off", "inverter-restart-volts", "bank-cut-off-high", "inverter-cut-off-left-out", "loads-below-cut-off"],
        "Volts at which loads are cut off, against those of the bank at its floor and under load: of a mean hour, and of what runs at once.",
        "Delays that a device has before it cuts off, unless they are entered."),
    of(&["driving-unknown", "shore-days-unknown", "shore-without-charger", "driving-without-charger", "sun-above-air", "clock-off-longitude", "tilt-not-counted", "feet-tilted", "months-in-two-stays", "months-without-stay", "coldest-above-stays"],
        "What the stays say against one another and against the equipment: months, hours of driving, shore days, clock, tilt, coldest air.",
        "Where the coach really goes."),
    of(&["medical-not-served", "charge-lost-to-cold", "shortfall", "month-without-sun"],
        "The hours of a typical year of these stays, by the same plan: which load is not served, and what is lost.",
        "Years duller than the typical one (the Year's last page has ten of them), and shade of what has no place on the roof. Loads count as \
         going without from the floor down that the bank is planned with; what nothing in the plan cuts off there, a gas detector among \
         them, runs on below it."),
    of(&["rule-changed", "rule-changed-without-reason", "rule-out-of-bounds", "rule-not-known", "rule-changed-twice", "current-overridden", "current-overridden-without-reason"],
        "What the plan puts in the place of standard rule values and of computed currents, and whether a reason is written.",
        "Whether the reason is a good one."),
];
