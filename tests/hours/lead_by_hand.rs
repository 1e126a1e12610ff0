//! A year of a lead bank beside one reckoned plainly: the published curves, found by halving, in four parts of each hour.

use coachwire::climate::year::MONTH_DAYS;
use coachwire::engine::solve::Posts;
use coachwire::engine::year::YearInput;
use coachwire::plan::Value;
use coachwire::units::Hours;

use super::{hours, input, n, plan, with};

/// Of an hour of the year, what does not hang on the bank.
struct Given {
    load_w: f64,
    battery_c: f64,
    /// What the controller has at its output.
    offered_w: f64,
}

/// A year of the program: its hours, and harvest and solar power taken, Wh a month.
fn of_program(input: &YearInput) -> (Vec<Given>, [f64; 12], [f64; 12], f64) {
    let month = |hour: u16| {
        let day = usize::from(hour) / 24;
        (0..12).find(|m| day < MONTH_DAYS.iter().take(m + 1).sum()).expect("a month")
    };
    let (mut harvest, mut taken, mut first) = ([0.0; 12], [0.0; 12], None);
    let mut all: Vec<Given> = Vec::new();
    hours(input, |hour, moment, flow, step| {
        first.get_or_insert(moment.store.soc);
        let offered_w = flow.shares.first().map_or(0.0, |share| share.out_a * share.out_v);
        if all.len() <= usize::from(hour) {
            all.push(Given { load_w: moment.load_w, battery_c: moment.battery_c, offered_w });
        }
        harvest[month(hour)] += step.harvest_wh;
        taken[month(hour)] += step.solar_wh;
    });
    (all, harvest, taken, first.expect("hours"))
}

fn halved(mut low: f64, mut high: f64, is_below: impl Fn(f64) -> bool) -> f64 {
    for _ in 0..40 {
        let middle = f64::midpoint(low, high);
        if is_below(middle) { low = middle } else { high = middle }
    }
    f64::midpoint(low, high)
}

/// How the plates differ: Copetti's 0.48 and half of it, what is lost to gas, and charge lost in a month.
struct Plain {
    rise: f64,
    sealed: f64,
    month_lost: f64,
    ohm: f64,
    absorb_v: f64,
    float_v: f64,
    v_per_k: f64,
    absorb_h: f64,
    rated_ah: f64,
    least_soc: f64,
}

impl Plain {
    /// Solar power taken, Wh a month.
    fn year(&self, given: &[Given], mut soc: f64) -> [f64; 12] {
        const PARTS: usize = 4;
        let c10_ah = self.rated_ah * 0.848_14;
        let (mut taken, mut held_h) = ([0.0; 12], 0.0_f64);
        let months = MONTH_DAYS.iter().enumerate().flat_map(|(m, days)| std::iter::repeat_n(m, days * 24));
        for (hour, (month, given)) in months.zip(given).enumerate() {
            let over_k = given.battery_c - 25.0;
            if hour % 24 == 0 {
                held_h = 0.0;
                soc *= 1.0 - self.month_lost / 730.0 * 24.0 * (over_k / 10.0).exp2();
            }
            let floor = 1.0 - (1.0 - self.least_soc) * (1.0 + 0.005 * over_k).min(1.0);
            let (absorb_v, float_v) = (self.absorb_v + self.v_per_k * over_k, self.float_v + self.v_per_k * over_k);
            for _ in 0..PARTS {
                let x = soc.clamp(0.02, 0.995);
                let fixed = self.rise / (1.0 - x).powf(1.2) + 0.036;
                let charge_v = |a: f64| {
                    6.0 * (2.0 + 0.16 * x + a / c10_ah * (6.0 / (1.0 + a.powf(0.86)) + fixed) * (1.0 - 0.025 * over_k))
                };
                let drawn = |a: f64| 4.0 / (1.0 + a.powf(1.3)) + 0.27 / x.powf(1.5) + 0.02;
                let giving_v =
                    |a: f64| 6.0 * (2.085 - 0.12 * (1.0 - x) - a / c10_ah * drawn(a) * (1.0 - 0.007 * over_k));
                let bank_v = |a: f64| if a >= 0.0 { charge_v(a) } else { giving_v(-a) };
                let posts_v = |amps: f64| halved(6.0, 40.0, |v| bank_v(amps - given.load_w / v) > v);
                // All there is, at the volts that makes; then no more than what is held lets in.
                let mut amps = given.offered_w / 13.0;
                let mut volts = posts_v(amps);
                for _ in 0..6 {
                    amps = given.offered_w / (volts + self.ohm * amps);
                    volts = posts_v(amps);
                }
                let floats = held_h >= self.absorb_h || charge_v(0.02 * self.rated_ah * 1.000_01) > absorb_v;
                let held_v = if floats { float_v } else { absorb_v };
                let is_held = given.offered_w > 0.0 && volts + self.ohm * amps > held_v;
                if is_held {
                    amps = halved(0.0, amps, |a| {
                        bank_v(a - given.load_w / (held_v - self.ohm * a)) < held_v - self.ohm * a
                    });
                    volts = held_v - self.ohm * amps;
                    held_h = if floats { f64::INFINITY } else { held_h + 1.0 / PARTS as f64 };
                }
                taken[month] += volts * amps / PARTS as f64;
                let net_a = amps - given.load_w / volts;
                let kept = 1.0 - (20.73 * self.sealed / (net_a.max(0.0) / (c10_ah / 10.0) + 0.55) * (x - 1.0)).exp();
                let moved = net_a * if net_a > 0.0 { kept } else { 1.0 } / PARTS as f64 / self.rated_ah;
                soc = if net_a > 0.0 { (soc + moved).min(1.0) } else { (soc + moved).max(floor.min(soc)) };
            }
        }
        taken
    }
}

/// Glass mat and free acid in Tucson, one panel of 160 W and one of 500 W on thin wire: what the bank takes of the sun in each month,
/// and with it what is turned away. An hour is one step here and four there, and what is left of an hour after the current has
/// tapered off is the loads' alone: measured, 1 % of a month and 0.4 % of a year at most.
/// Source: Copetti, Lorenzo & Chenlo 1993, written out again from the paper's equations; held volts as on the charger's sheet.
#[test]
fn a_lead_bank_takes_what_a_plain_reckoning_takes() {
    let place = [
        ("stays.ST1.latitude_deg", n(32.2)),
        ("stays.ST1.longitude_deg", n(-110.9)),
        ("stays.ST1.shore_days_month", n(0.0)),
        ("controllers.C1.kind", Value::Word("tracking")),
        ("controllers.C1.efficiency_pct", n(97.0)),
        ("controllers.C1.out_a", n(80.0)),
        ("bank.max_charge_a", n(200.0)),
    ];
    let large = [("panels.P1.pmax_w", n(500.0)), ("panels.P1.isc_a", n(28.6)), ("panels.P1.imp_a", n(27.0))];
    let small = [("loads.L6.watts_w", n(30.0))];
    for (word, rise, sealed, month_lost) in [("AGM", 0.24, 2.0, 0.02), ("flooded", 0.48, 1.0, 0.03)] {
        for more in [&small[..], &large[..]] {
            for absorb_h in if word == "AGM" { [2.0, 24.0].iter() } else { [2.0].iter() } {
                let absorb_h = *absorb_h;
                let mut coach =
                    with(&plan("sorrel"), &[&place[..], more, &[("bank.chemistry", Value::Word(word))]].concat());
                coach.controllers[0].absorb_h = Some(coachwire::plan::Known::Is(Hours(absorb_h)));
                let input = input(word, &coach);
                let Posts::Bank(bank) = input.circuit.posts else { panic!("a bank") };
                let (given, harvest, taken, first) = of_program(&input);
                let charge = input.circuit.solars[0].setting.charge;
                let plain = Plain {
                    rise,
                    sealed,
                    month_lost,
                    ohm: input.circuit.segments_ohm.iter().sum(),
                    absorb_v: charge.absorb_v,
                    float_v: charge.float_v.expect("a float"),
                    v_per_k: charge.compensation_v_per_k,
                    absorb_h,
                    rated_ah: bank.rated_ah,
                    least_soc: bank.least_soc,
                };
                let by_hand = plain.year(&given, first);
                let what = format!("{word}, {} panel, {absorb_h} h", if more.len() > 1 { "large" } else { "small" });
                for m in 0..12 {
                    let (is, want) = (taken[m], by_hand[m]);
                    assert!((is - want).abs() < 0.015 * want, "{what}, month {m}: takes {is} of {want}");
                }
                let sum = |of: [f64; 12]| of.iter().sum::<f64>();
                let (is, want, all) = (sum(taken), sum(by_hand), sum(harvest));
                let (turned, plainly) = (all - is, all - want);
                assert!((turned - plainly).abs() < 0.03 * plainly, "{what}: turns away {turned} of {plainly}");
                assert!((is - want).abs() < 0.006 * want, "{what}: takes {is} of {want}");
            }
        }
    }
}
