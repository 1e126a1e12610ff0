//! Controllers, the bank, inverters and chargers.

use crate::plan::field::{Kind, Quantity};
use crate::plan::job::YesNo;
use crate::plan::known::Known;
use crate::plan::path::Id;
use crate::plan::ratings::{Ratings, State};
use crate::plan::sources::{ASKED, CHOICE, LABEL, NEC_310_15, PRACTICE, SHEET, SURVEY};
use crate::standards::conductor::Gauge;
use crate::standards::kinds::{Chemistry, ControllerKind, Zone};
use crate::units::{AmpHours, Amps, Celsius, Hours, Kilograms, Metres, Number, Volts, Watts};
use crate::{record, word_leaves, words};

words! { /// What a charger draws on.
ChargerKind { DcDc = "DC-DC", Shore = "shore", Generator = "generator", Converter = "converter" } }
words! { /// Where an AC charger's input comes from.
AcSource { Shore = "shore", Generator = "generator", Inverter = "inverter", Either = "shore or inverter" } }
words! { /// How parallel batteries are joined, and where what leaves the bank is taken off.
Joined { Leads = "equal leads", OneEnd = "links with leads at one end", Corners = "links with leads at corners" } }
word_leaves!(ChargerKind, AcSource, Joined, Chemistry, ControllerKind, Zone);

record! {
    /// A charge controller.
    Controller "controller" item "C" {
        name: String => "name", Kind::Text, "What you call it.", &CHOICE;
        kind: Known<ControllerKind> => "kind", Kind::Words(ControllerKind::WORDS), "PWM joins the array to the bank; tracking converts.", &LABEL;
        max_pv_v: Known<Volts> => "max PV volts", Kind::Number { quantity: Quantity::Volts, least: 5.0, most: 1000.0 }, "Highest open-circuit volts it may ever see, cold.", &LABEL;
        max_pv_a: Known<Amps> => "max PV amps", Kind::Number { quantity: Quantity::Amps, least: 0.5, most: 500.0 }, "Highest array short-circuit current it may see.", &SHEET;
        out_a: Known<Amps> => "amps out", Kind::Number { quantity: Quantity::Amps, least: 0.5, most: 500.0 }, "Rated output current.", &LABEL;
        efficiency_pct: Known<Number> = Known::Is(Number(97.0)) => "efficiency", Kind::Number { quantity: Quantity::Percent, least: 50.0, most: 100.0 }, "Conversion efficiency of a tracking controller; 95 to 98 % is usual.", &SHEET;
        self_use_w: Known<Watts> = Known::Is(Watts(1.0)) => "self use", Kind::Number { quantity: Quantity::Watts, least: 0.0, most: 50.0 }, "What it draws itself; 0.3 to 1.5 W is usual.", &SHEET;
        run_headroom_v: Known<Volts> => "run headroom", Kind::Number { quantity: Quantity::Volts, least: 0.0, most: 30.0 }, "PV volts above the bank that it needs to keep running.", &SHEET;
        start_headroom_v: Known<Volts> => "start headroom", Kind::Number { quantity: Quantity::Volts, least: 0.0, most: 60.0 }, "PV volts above the bank that it needs to start.", &SHEET;
        absorb_v: Known<Volts> => "absorb", Kind::Number { quantity: Quantity::Volts, least: 5.0, most: 120.0 }, "Absorption volts it is set to.", &CHOICE;
        absorb_h: Option<Known<Hours>> => "absorb time", Kind::Number { quantity: Quantity::Hours, least: 0.0, most: 24.0 }, "Longest absorption, in the year by whole hours; without a float it counts once the bank is nearly full. Then a current of 2 % of its Ah ends it sooner.", &CHOICE;
        float_v: Option<Known<Volts>> => "float", Kind::Number { quantity: Quantity::Volts, least: 5.0, most: 120.0 }, "Float volts it is set to; none: off.", &CHOICE;
        equalise_v: Option<Known<Volts>> => "equalise", Kind::Number { quantity: Quantity::Volts, least: 5.0, most: 120.0 }, "Equalise volts it is set to; none: off.", &CHOICE;
        temp_comp_mv_k: Known<Number> = Known::Is(Number(0.0)) => "temp comp", Kind::Number { quantity: Quantity::MillivoltsPerK, least: -200.0, most: 0.0 }, "Temperature compensation of the whole bank, mV per kelvin; 0: off.", &CHOICE;
        temp_sense: YesNo = YesNo::No => "temp sensor", Kind::Words(YesNo::WORDS), "A temperature sensor at the bank. Without one it compensates by its own warmth, which the year does not count where it stands apart from the bank.", &SURVEY;
        volt_sense: YesNo = YesNo::No => "volt sense", Kind::Words(YesNo::WORDS), "Voltage sensed at the bank's posts.", &SURVEY;
        zone: Option<Zone> => "stands in", Kind::Words(Zone::WORDS), "Where it is mounted.", &SURVEY;
        state: State = State::New => "state", Kind::Words(State::WORDS), "Bought new, existing, removed, or left in place dead.", &SURVEY;
        weight_kg: Option<Known<Kilograms>> => "weight", Kind::Number { quantity: Quantity::Mass, least: 0.0, most: 100.0 }, "Weight.", &LABEL;
        price: Option<Known<Number>> => "price", Kind::Number { quantity: Quantity::Money, least: 0.0, most: 1_000_000.0 }, "Selling price.", &CHOICE;
        note: String => "note", Kind::Text, "Anything worth keeping.", &CHOICE;
    }
    parts { ratings: Ratings }
}

record! {
    /// The battery bank: equal batteries in series and parallel. Its device name is `BK`.
    Bank "bank" {
        name: String => "name", Kind::Text, "What you call the battery.", &CHOICE;
        chemistry: Known<Chemistry> => "chemistry", Kind::Words(Chemistry::WORDS), "Flooded, AGM, gel, or LFP (lithium iron phosphate).", &LABEL;
        unit_v: Known<Volts> => "battery volts", Kind::Number { quantity: Quantity::Volts, least: 2.0, most: 60.0 }, "Nominal volts of one battery: 6, 12, 12.8, 25.6.", &LABEL;
        unit_ah: Known<AmpHours> => "battery Ah", Kind::Number { quantity: Quantity::AmpHours, least: 1.0, most: 5000.0 }, "Rated capacity of one battery.", &LABEL;
        rate_h: Option<Known<Hours>> => "at rate", Kind::Number { quantity: Quantity::Hours, least: 0.5, most: 240.0 }, "Discharge time the capacity is rated at; lead: usually 20 h.", &LABEL;
        series: Known<Number> => "in series", Kind::Number { quantity: Quantity::Count, least: 1.0, most: 30.0 }, "Batteries in series.", &SURVEY;
        parallel: Known<Number> => "in parallel", Kind::Number { quantity: Quantity::Count, least: 1.0, most: 40.0 }, "Strings of batteries in parallel.", &SURVEY;
        max_series: Option<Known<Number>> => "max in series", Kind::Number { quantity: Quantity::Count, least: 1.0, most: 30.0 }, "How many the maker allows in series.", &SHEET;
        age_years: Option<Known<Number>> => "age", Kind::Number { quantity: Quantity::Years, least: 0.0, most: 40.0 }, "Age of the batteries. No figure takes capacity off for it: what a test finds is entered as their Ah.", &SURVEY;
        usable_pct: Option<Known<Number>> => "usable", Kind::Number { quantity: Quantity::Percent, least: 1.0, most: 100.0 }, "Share of the capacity to count on. Left out: 50 % lead, 90 % LFP.", &PRACTICE;
        sag_mohm: Option<Known<Number>> => "sag", Kind::Number { quantity: Quantity::Milliohms, least: 0.01, most: 500.0 }, "Resistance of one battery under load, high side: for voltage, never for fault current.", &SHEET;
        short_circuit_a: Option<Known<Amps>> => "short circuit", Kind::Number { quantity: Quantity::Amps, least: 10.0, most: 200_000.0 }, "Short-circuit current of one battery, from its maker.", &SHEET;
        ohmic_mohm: Option<Known<Number>> => "ohmic", Kind::Number { quantity: Quantity::Milliohms, least: 0.01, most: 500.0 }, "Ohmic resistance of one battery, low side: for fault current.", &SHEET;
        cca_a: Option<Known<Amps>> => "CCA", Kind::Number { quantity: Quantity::Amps, least: 10.0, most: 5000.0 }, "Cold cranking amps of one lead battery.", &LABEL;
        max_charge_a: Option<Known<Amps>> => "max charge", Kind::Number { quantity: Quantity::Amps, least: 0.1, most: 5000.0 }, "Highest charge current of one battery.", &LABEL;
        max_discharge_a: Option<Known<Amps>> => "max discharge", Kind::Number { quantity: Quantity::Amps, least: 0.1, most: 10_000.0 }, "Highest continuous discharge current of one battery.", &LABEL;
        peak_a: Option<Known<Amps>> => "peak", Kind::Number { quantity: Quantity::Amps, least: 0.1, most: 50_000.0 }, "Highest short discharge current of one battery.", &LABEL;
        max_charge_v: Option<Known<Volts>> => "max charge volts", Kind::Number { quantity: Quantity::Volts, least: 2.0, most: 120.0 }, "Highest charge volts of one battery.", &LABEL;
        charge_cutoff_c: Option<Known<Celsius>> => "cold cut-off", Kind::Number { quantity: Quantity::Temperature, least: -40.0, most: 30.0 }, "Its own management unit stops charging below this. None: nothing stops it, which is a stop where it gets so cold; the year counts on no charge below 0 C then, since it harms the cells.", &LABEL;
        discharge_cutoff_v: Option<Known<Volts>> => "low cut-off", Kind::Number { quantity: Quantity::Volts, least: 1.0, most: 60.0 }, "Its own management unit stops discharge at this, one battery.", &LABEL;
        heater_w: Option<Known<Watts>> => "heater", Kind::Number { quantity: Quantity::Watts, least: 0.0, most: 1000.0 }, "Heater of all batteries together.", &LABEL;
        joined: Option<Known<Joined>> => "joined by", Kind::Words(Joined::WORDS), "Batteries in parallel: each by a lead of its own to one place, or by links from post to post, with both main leads taken off the battery at one end, or at opposite corners (plus at the first battery, minus at the last). Left out: equal leads.", &SURVEY;
        link_gauge: Option<Known<Gauge>> => "link gauge", Kind::Gauge, "Copper of one link from post to post.", &SURVEY;
        link_length_m: Option<Known<Metres>> => "link length", Kind::Number { quantity: Quantity::Size, least: 0.01, most: 10.0 }, "One link, from lug to lug; all are taken as equal, in both poles.", &SURVEY;
        links_each: Option<Known<Number>> => "cables per link", Kind::Number { quantity: Quantity::Count, least: 1.0, most: 4.0 }, "Equal cables side by side in each link. Left out: one.", &SURVEY;
        link_insulation_c: Option<Known<Celsius>> => "link insulation", Kind::Number { quantity: Quantity::Temperature, least: 40.0, most: 250.0 }, "Insulation temperature on the links' jacket: 60, 75, 90, 105, 125 C.", &NEC_310_15;
        fused_each: YesNo = YesNo::No => "each fused", Kind::Words(YesNo::WORDS), "Each parallel battery has its own fuse.", &SURVEY;
        zone: Option<Zone> => "stands in", Kind::Words(Zone::WORDS), "Where the batteries stand.", &SURVEY;
        heated: Known<YesNo> = Known::Is(YesNo::No) => "heated space", Kind::Words(YesNo::WORDS), "Whether it stands inside the heated living space.", &SURVEY;
        insulated: YesNo = YesNo::No => "insulated box", Kind::Words(YesNo::WORDS), "Whether its box outside the heated space is insulated: the year takes it 3 K over the air's mean of a day then. What its heater has to make up is that of a bare one: at most so much.", &SURVEY;
        vented: Known<YesNo> => "vented outside", Kind::Words(YesNo::WORDS), "Its space is vapour-tight to the inside and vented to the outside.", &SURVEY;
        vent_area_cm2: Option<Known<Number>> => "vent area, cm2", Kind::Number { quantity: Quantity::Plain, least: 0.0, most: 10_000.0 }, "Free area of the smaller of its two vents, one high, one low. Flooded: 11 cm2 at least.", &SURVEY;
        space_l_m: Option<Known<Metres>> => "space length", Kind::Number { quantity: Quantity::Size, least: 0.05, most: 5.0 }, "Room for the bank.", &SURVEY;
        space_w_m: Option<Known<Metres>> => "space width", Kind::Number { quantity: Quantity::Size, least: 0.05, most: 5.0 }, "Room for the bank.", &SURVEY;
        space_h_m: Option<Known<Metres>> => "space height", Kind::Number { quantity: Quantity::Size, least: 0.05, most: 3.0 }, "Room for the bank.", &SURVEY;
        unit_l_m: Option<Known<Metres>> => "battery length", Kind::Number { quantity: Quantity::Size, least: 0.02, most: 2.0 }, "One battery.", &LABEL;
        unit_w_m: Option<Known<Metres>> => "battery width", Kind::Number { quantity: Quantity::Size, least: 0.02, most: 2.0 }, "One battery.", &LABEL;
        unit_h_m: Option<Known<Metres>> => "battery height", Kind::Number { quantity: Quantity::Size, least: 0.02, most: 2.0 }, "One battery, over its terminals.", &LABEL;
        weight_kg: Option<Known<Kilograms>> => "weight each", Kind::Number { quantity: Quantity::Mass, least: 0.1, most: 500.0 }, "One battery.", &LABEL;
        price: Option<Known<Number>> => "price each", Kind::Number { quantity: Quantity::Money, least: 0.0, most: 1_000_000.0 }, "Selling price of one.", &CHOICE;
        state: State = State::New => "state", Kind::Words(State::WORDS), "Bought new, existing, removed, or left in place dead.", &SURVEY;
        note: String => "note", Kind::Text, "Anything worth keeping.", &CHOICE;
    }
    parts { ratings: Ratings }
}

record! {
    /// An inverter.
    Inverter "inverter" item "INV" {
        name: String => "name", Kind::Text, "What you call it.", &CHOICE;
        watts_w: Known<Watts> => "watts", Kind::Number { quantity: Quantity::Watts, least: 10.0, most: 30_000.0 }, "Continuous rating.", &LABEL;
        surge_w: Option<Known<Watts>> => "surge", Kind::Number { quantity: Quantity::Watts, least: 10.0, most: 60_000.0 }, "Short rating.", &LABEL;
        efficiency_pct: Known<Number> = Known::Is(Number(88.0)) => "efficiency", Kind::Number { quantity: Quantity::Percent, least: 50.0, most: 100.0 }, "At full load; 85 to 92 % is usual.", &SHEET;
        idle_w: Known<Watts> => "idle", Kind::Number { quantity: Quantity::Watts, least: 0.0, most: 200.0 }, "What it draws on and unloaded.", &SHEET;
        idle_h_day: Known<Hours> = Known::Is(Hours(24.0)) => "hours on", Kind::Number { quantity: Quantity::Hours, least: 0.0, most: 24.0 }, "Hours a day it is left on.", &ASKED;
        cutoff_v: Option<Known<Volts>> => "cut-off", Kind::Number { quantity: Quantity::Volts, least: 5.0, most: 60.0 }, "Volts at which it switches off.", &SHEET;
        restart_v: Option<Known<Volts>> => "starts again", Kind::Number { quantity: Quantity::Volts, least: 5.0, most: 60.0 }, "Volts at which it switches on again after its cut-off. Left out: as soon as it would not be cut off at once.", &SHEET;
        zone: Option<Zone> => "stands in", Kind::Words(Zone::WORDS), "Where it is mounted.", &SURVEY;
        state: State = State::New => "state", Kind::Words(State::WORDS), "Bought new, existing, removed, or left in place dead.", &SURVEY;
        weight_kg: Option<Known<Kilograms>> => "weight", Kind::Number { quantity: Quantity::Mass, least: 0.0, most: 200.0 }, "Weight.", &LABEL;
        price: Option<Known<Number>> => "price", Kind::Number { quantity: Quantity::Money, least: 0.0, most: 1_000_000.0 }, "Selling price.", &CHOICE;
        note: String => "note", Kind::Text, "Anything worth keeping.", &CHOICE;
    }
    parts { ratings: Ratings }
}

record! {
    /// Any charger but solar.
    Charger "charger" item "CH" {
        name: String => "name", Kind::Text, "What you call it.", &CHOICE;
        kind: Known<ChargerKind> => "kind", Kind::Words(ChargerKind::WORDS), "DC-DC (from the alternator), shore, generator, or the coach's converter.", &LABEL;
        out_a: Known<Amps> => "amps out", Kind::Number { quantity: Quantity::Amps, least: 0.5, most: 1000.0 }, "Rated output current.", &LABEL;
        efficiency_pct: Known<Number> => "efficiency", Kind::Number { quantity: Quantity::Percent, least: 40.0, most: 100.0 }, "Output over input power.", &SHEET;
        alternator: Option<Known<Id>> => "alternator", Kind::Ref(&["devices"]), "The alternator a DC-DC charger draws on.", &SURVEY;
        alternator_low_v: Option<Known<Volts>> => "alternator low", Kind::Number { quantity: Quantity::Volts, least: 10.0, most: 32.0 }, "Lowest alternator volts at warm idle. Left out: 13.2 V per 12 V.", &SURVEY;
        input_cutout_v: Option<Known<Volts>> => "input cut-out", Kind::Number { quantity: Quantity::Volts, least: 5.0, most: 60.0 }, "Input volts below which it stops.", &SHEET;
        ac_source: Option<Known<AcSource>> => "AC from", Kind::Words(AcSource::WORDS), "What its AC input is wired to.", &SURVEY;
        locked_out: Option<Known<YesNo>> => "locked out", Kind::Words(YesNo::WORDS), "A relay or transfer switch keeps it off while the inverter runs.", &SURVEY;
        absorb_v: Known<Volts> => "absorb", Kind::Number { quantity: Quantity::Volts, least: 5.0, most: 120.0 }, "Absorption volts it is set to.", &CHOICE;
        float_v: Option<Known<Volts>> => "float", Kind::Number { quantity: Quantity::Volts, least: 5.0, most: 120.0 }, "Float volts; none: off.", &CHOICE;
        equalise_v: Option<Known<Volts>> => "equalise", Kind::Number { quantity: Quantity::Volts, least: 5.0, most: 120.0 }, "Equalise volts; none: off.", &CHOICE;
        temp_comp_mv_k: Known<Number> = Known::Is(Number(0.0)) => "temp comp", Kind::Number { quantity: Quantity::MillivoltsPerK, least: -200.0, most: 0.0 }, "Temperature compensation of the whole bank, mV per kelvin; 0: off.", &CHOICE;
        temp_sense: YesNo = YesNo::No => "temp sensor", Kind::Words(YesNo::WORDS), "A temperature sensor at the bank. Without one it compensates by its own warmth, which the year does not count where it stands apart from the bank.", &SURVEY;
        zone: Option<Zone> => "stands in", Kind::Words(Zone::WORDS), "Where it is mounted.", &SURVEY;
        state: State = State::New => "state", Kind::Words(State::WORDS), "Bought new, existing, removed, or left in place dead.", &SURVEY;
        weight_kg: Option<Known<Kilograms>> => "weight", Kind::Number { quantity: Quantity::Mass, least: 0.0, most: 100.0 }, "Weight.", &LABEL;
        price: Option<Known<Number>> => "price", Kind::Number { quantity: Quantity::Money, least: 0.0, most: 1_000_000.0 }, "Selling price.", &CHOICE;
        note: String => "note", Kind::Text, "Anything worth keeping.", &CHOICE;
    }
    parts { ratings: Ratings }
}
