//! Money, options, milestones, visits, changed rules and accepted findings.

use crate::plan::field::{Kind, Quantity};
use crate::plan::job::YesNo;
use crate::plan::known::Known;
use crate::plan::lists::Lines;
use crate::plan::sources::{CHOICE, PRACTICE, SURVEY};
use crate::units::{Celsius, Hours, Number};
use crate::{record, word_leaves, words};

words! { /// What a tax is laid on.
Taxed { Parts = "parts", Labour = "labour", Both = "both" } }
words! { /// What a milestone records.
MilestoneKind { Quoted = "quoted", Accepted = "accepted", Ordered = "ordered", AsBuilt = "as built", AsLeft = "as left" } }
words! { /// Readings before or after the work of a visit.
VisitKind { AsFound = "as found", AsLeft = "as left" } }
word_leaves!(Taxed, MilestoneKind, VisitKind);

record! {
    /// The shop's rates for this job.
    Money "money" {
        labour_rate: Known<Number> => "labour an hour", Kind::Number { quantity: Quantity::Money, least: 0.0, most: 10_000.0 }, "Your hourly rate.", &CHOICE;
        travel: Option<Known<Number>> => "travel", Kind::Number { quantity: Quantity::Money, least: 0.0, most: 100_000.0 }, "Trip charge.", &CHOICE;
        markup_pct: Option<Known<Number>> => "markup", Kind::Number { quantity: Quantity::Percent, least: 0.0, most: 1000.0 }, "Added to costs from the truck stock.", &CHOICE;
        consumables: Option<Known<Number>> => "consumables", Kind::Number { quantity: Quantity::Money, least: 0.0, most: 100_000.0 }, "Sealant, ties, heat-shrink, labels.", &PRACTICE;
        deposit_pct: Option<Known<Number>> => "deposit", Kind::Number { quantity: Quantity::Percent, least: 0.0, most: 100.0 }, "Due before parts are ordered.", &CHOICE;
        note: String => "note", Kind::Text, "Anything worth keeping.", &CHOICE;
    }
    lists { taxes: Tax, tasks: Task }
}

record! {
    /// A tax line.
    Tax "tax" item "TX" {
        name: String => "name", Kind::Text, "As printed.", &CHOICE;
        rate_pct: Known<Number> => "rate", Kind::Number { quantity: Quantity::Percent, least: 0.0, most: 100.0 }, "Rate at the job site.", &CHOICE;
        on: Taxed = Taxed::Parts => "on", Kind::Words(Taxed::WORDS), "What it is laid on.", &CHOICE;
        note: String => "note", Kind::Text, "Anything worth keeping.", &CHOICE;
    }
}

record! {
    /// A labour line.
    Task "task" item "T" {
        name: String => "task", Kind::Text, "What is done.", &CHOICE;
        hours_h: Known<Hours> => "hours", Kind::Number { quantity: Quantity::Hours, least: 0.0, most: 1000.0 }, "Hours it takes.", &PRACTICE;
        note: String => "note", Kind::Text, "Anything worth keeping.", &CHOICE;
    }
}

record! {
    /// An alternative quoted beside the first, as edits on the plan.
    Choice "option" item "OPT" {
        name: String => "name", Kind::Text, "As the customer reads it.", &CHOICE;
        edits: Lines => "edits", Kind::Lines, "Edits on the plan, one a line.", &CHOICE;
        note: String => "note", Kind::Text, "Anything worth keeping.", &CHOICE;
    }
}

record! {
    /// The plan as it stood at a moment of the job. Append-only.
    Milestone "milestone" item "MS" {
        kind: MilestoneKind = MilestoneKind::Quoted => "kind", Kind::Words(MilestoneKind::WORDS), "What it records.", &CHOICE;
        date: String => "date", Kind::Text, "Date and UTC offset.", &CHOICE;
        totals: Lines => "totals", Kind::Lines, "Totals as printed.", &CHOICE;
        plan: Lines => "plan", Kind::Lines, "The plan as it stood, as text.", &CHOICE;
        note: String => "note", Kind::Text, "Anything worth keeping.", &CHOICE;
    }
}

record! {
    /// A dated set of readings.
    Visit "visit" item "V" {
        kind: VisitKind = VisitKind::AsLeft => "kind", Kind::Words(VisitKind::WORDS), "Before or after the work.", &SURVEY;
        date: String => "date", Kind::Text, "Date, time and UTC offset.", &SURVEY;
        closed: YesNo = YesNo::No => "closed", Kind::Words(YesNo::WORDS), "A closed visit is a record: nothing in it is edited until this is set to no.", &CHOICE;
        sun_w_m2: Option<Known<Number>> => "sun", Kind::Number { quantity: Quantity::Irradiance, least: 0.0, most: 1500.0 }, "Measured irradiance on the panels' plane.", &SURVEY;
        air_c: Option<Known<Celsius>> => "air", Kind::Number { quantity: Quantity::Temperature, least: -60.0, most: 60.0 }, "Air temperature.", &SURVEY;
        cell_c: Option<Known<Celsius>> => "cell", Kind::Number { quantity: Quantity::Temperature, least: -60.0, most: 120.0 }, "Back-of-panel temperature.", &SURVEY;
        instrument: String => "instrument", Kind::Text, "Which meter.", &SURVEY;
        note: String => "note", Kind::Text, "Anything worth keeping.", &CHOICE;
    }
    lists { readings: Reading }
}

record! {
    /// One reading.
    Reading "reading" item "R" {
        what: String => "what", Kind::Text, "What was read: A1.voc_v, C1.out_a, BK.rest_v, W2.drop_v.", &SURVEY;
        value: Known<Number> => "value", Kind::Number { quantity: Quantity::Plain, least: -1e6, most: 1e6 }, "In the unit its name says.", &SURVEY;
        note: String => "note", Kind::Text, "Anything worth keeping.", &CHOICE;
    }
}

record! {
    /// A rule value changed for this plan, with the reason. Its id is the rule's.
    RuleChange "rule" item "rule-" {
        value: Known<Number> => "value", Kind::Number { quantity: Quantity::Plain, least: -1e6, most: 1e6 }, "Value used instead of the rule's own.", &CHOICE;
        reason: String => "reason", Kind::Text, "Why.", &CHOICE;
    }
}

record! {
    /// A finding accepted with a reason. It lapses when it grows graver, or a number of it worsens by more than 1 %.
    Accepted "accepted finding" item "AC" {
        finding: String => "finding", Kind::Text, "Which finding.", &CHOICE;
        subject: String => "about", Kind::Text, "What it is about.", &CHOICE;
        reason: String => "reason", Kind::Text, "Why it is accepted.", &CHOICE;
        date: String => "date", Kind::Text, "When.", &CHOICE;
        value: Option<Known<Number>> => "number", Kind::Number { quantity: Quantity::Plain, least: -1e9, most: 1e9 }, "Its first number when accepted.", &CHOICE;
        numbers: String => "all numbers", Kind::Text, "All its numbers when accepted, with a blank between.", &CHOICE;
        level: String => "level", Kind::Text, "Its level when accepted: stop, caution or note.", &CHOICE;
        said: String => "said", Kind::Text, "What it said when accepted.", &CHOICE;
    }
}
