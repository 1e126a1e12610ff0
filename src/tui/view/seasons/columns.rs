//! What the columns and marks of the year's pages mean, for the help.

use crate::engine::DULL_CLEARNESS;
use crate::engine::year::BEGINS;
use crate::tui::seasons::YearPage;
use crate::tui::words::fixed;

/// A column or a mark, and what it means.
pub(in crate::tui::view) type Meaning = (&'static str, String);

/// The meanings of a page, in the order of its columns.
pub(in crate::tui::view) fn of(page: YearPage) -> Vec<Meaning> {
    let fixed_words: &[(&'static str, &str)] = match page {
        YearPage::Table => TABLE,
        YearPage::Picture => PICTURE,
        YearPage::Limits => LIMITS,
        YearPage::TypicalDay | YearPage::DarkDay => DAY,
        YearPage::DullSpell => SPELL,
    };
    let mut all: Vec<Meaning> = fixed_words.iter().map(|(name, means)| (*name, (*means).to_string())).collect();
    match page {
        YearPage::Table => all.push((
            "gen",
            format!(
                "Hours a day of generator that make up the shortfall of the month, all but a hundredth: the least of those tried, \
                 each in a year of its own with so many every day from {BEGINS}:00 on. d before it: of driving more than now. -: no \
                 charger for it, or none of those tried does. After a month that has none the first days \
                 may go short by what that leaves of the bank: the page says of which."
            ),
        )),
        YearPage::DullSpell => all.push((
            "dull spell",
            format!(
                "The longest run of days that let through less than {} % of the light above the air.",
                fixed(DULL_CLEARNESS * 100.0, 0)
            ),
        )),
        _ => {}
    }
    all
}

const TABLE: &[(&str, &str)] = &[
    ("> and *", "The month that is looked at, and the others of its stay."),
    ("sun", "Sunlight on a level roof, kWh on each m2, a mean day. All else is Wh a mean day."),
    ("array", "What the panels give at their best point, soiling and trees taken off; what stands on the roof is not."),
    (
        "harv",
        "What would arrive at the bank's posts, after the controller and every ohm on the way, each hour with the bank as full as it \
         is at its start, before absorption, charge limits and cut-offs.",
    ),
    ("dull-bright", "A tenth of the month's days bring less than the first, a tenth more than the second."),
    (
        "load",
        "All that is drawn: the audit, the equipment's own use, a bank's heater (at most: insulation of its box is not counted), whether bank or shore power carries it.",
    ),
    (
        "alt, shore",
        "What the alternator or shore power brings to the posts, and shore carries past them; other: both. A charger \
     at the edge of its own cut-out is on or off for a whole hour.",
    ),
    ("bank", "What goes into the bank."),
    ("unused", "On offer at the posts and not taken: the bank is full, at its charge limit or too cold."),
    ("short", "Shortfall: load that is not served in the hours of the year."),
    (
        "lasts",
        "Days without sun: how long the charged bank alone carries that month's day of load, as cold as it is then; no sun, no \
         driving, no shore power.",
    ),
];

const PICTURE: &[(&str, &str)] = &[
    ("=", "What a dull day brings to the posts: a tenth of the month's days bring less."),
    ("#", "From there to the mean day."),
    ("-", "From there to a bright day: a tenth of the days bring more."),
    ("|", "The load of a mean day."),
    ("of", "Harvest of a mean day, and the load that it is to carry, Wh."),
];

const LIMITS: &[(&str, &str)] = &[
    (
        "array",
        "What the panels give at their best point, Wh a mean day; the columns after it are what of that never reaches the bank.",
    ),
    ("volts", "The panels cannot work at their best volts: PWM, or a tracker held at the bank's volts."),
    ("wire1", "Lost in the wire from panels to controller."),
    ("conv", "Lost in conversion, and the controller's own use."),
    ("clip", "Over the controller's amps."),
    ("wire2", "Lost in the wire from controller to bank."),
    ("full", "Turned away by a bank that is full or held at the chargers' volts."),
    ("limit", "Over the bank's charge limit."),
    ("cold", "Turned away by a bank below its charge cut-off; the sun's part alone."),
    (
        "helps most",
        "Of what was tried, each alone in a year of its own, what serves most of the load that goes short. +1: another one serves as much.",
    ),
];

const DAY: &[(&str, &str)] = &[
    ("hour", "By the clock that the page names, standard time; 0 is midnight to 1:00."),
    ("sun", "Light that the panels use, W on each m2, after glass, dirt and trees."),
    ("array", "What the panels give at their best point, W."),
    ("harv", "What could arrive at the bank's posts, W, before absorption, charge limits and cut-offs."),
    ("other", "What alternator and shore power bring, W."),
    ("load", "What is asked for, W."),
    ("bank A", "Into the bank; with a minus out of it."),
    (
        "volts",
        "At the bank's posts as the hour begins, by the charge of the row before: what is drawn of a bank that has just been full \
         begins higher than what charges one that has not.",
    ),
    ("temp", "Of the bank."),
    ("charge", "State of charge as the hour ends; # an eighth of it."),
    ("short", "Some load is not served in that hour."),
    ("inv off", "The inverter's own cut-off keeps it from its loads."),
];

const SPELL: &[(&str, &str)] = &[
    ("harvest", "What could arrive at the bank's posts that day, Wh."),
    ("other", "What alternator and shore power bring, Wh."),
    ("load", "What is asked of the bank, Wh."),
    ("short", "Shortfall: of that not served, Wh."),
    ("charge at least", "The least state of charge of the day; # an eighth of it."),
    (
        "hardest",
        "The run of days on each of which load goes short that lacks most, else the way down to the least charge.",
    ),
    (
        "least, most",
        "Of ten years with the same months, their days in another order: the mean of them, and the ends of the range.",
    ),
];
