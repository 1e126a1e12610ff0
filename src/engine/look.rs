//! A closer look at the year: its hours, and the same plan under other skies.

use crate::climate::year::MONTH_DAYS;
use crate::plan::{Figure, Plan};
use crate::stock::Stock;

use super::circuit::Circuit;
use super::context::{Context, missing};
use super::day::on_shore;
use super::months::Told;
use super::report::{HourFigures, Range, Repeats};
use super::sites::{self, SHOWN_SEED};
use super::year::{Lighting, StayInput, YearInput, run, year};
use super::{Engine, harvest};

/// Seeds of the years that reliability is taken over. Source: our own choice; ten, each begun by a whole year.
pub const SEEDS: std::ops::RangeInclusive<u64> = 1..=10;

/// Light on the panels in an hour, the mean of all arrays by their rated watts; none at night.
fn sun_w_m2(input: &YearInput, hour: u16) -> f64 {
    let of_stay = |stay: &StayInput| {
        let (mut sum, mut rated_w, mut found) = (0.0, 0.0, None);
        for Lighting { offer, .. } in &stay.lights {
            let at = offer.hours.binary_search_by_key(&hour, |h| h.hour).ok();
            let light = at.and_then(|at| offer.hours.get(at)).map(|h| h.light_w_m2);
            sum += light.unwrap_or(0.0) * offer.rated_w;
            rated_w += offer.rated_w;
            found = found.or(light);
        }
        // One alone is what it is, to the last digit.
        if stay.lights.len() == 1 { found } else { found.map(|_| sum / rated_w.max(f64::MIN_POSITIVE)) }
    };
    input.stays.iter().find_map(of_stay).unwrap_or(0.0)
}

/// The month of a day, both counted from 0.
fn month_of(day: usize) -> u8 {
    let mut end = 0;
    let whole = MONTH_DAYS.iter().take_while(|days| {
        end += **days;
        end <= day
    });
    u8::try_from(whole.count()).unwrap_or(11)
}

impl Engine {
    /// What the year of a plan is computed from.
    ///
    /// # Errors
    /// The field that the year waits for.
    pub fn year_input(&mut self, plan: &Plan, stock: &Stock) -> Figure<YearInput> {
        self.year_input_of(plan, stock, SHOWN_SEED, None).map(|setup| setup.input)
    }

    pub(super) fn year_input_of(
        &mut self,
        plan: &Plan,
        stock: &Stock,
        seed: u64,
        generator_h: Option<u8>,
    ) -> Figure<harvest::Setup> {
        let spots = sites::spots(plan, &mut self.stages.looked);
        let report = self.evaluate_wires(plan, stock);
        let (circuit, _) = Circuit::of(plan);
        let context = Context::of(plan, circuit, &stock.truck.fuses);
        harvest::input(&mut self.stages, &context, &spots, &report, seed, generator_h)
    }

    /// The hours of some days of the year, 0 = the first of January.
    ///
    /// # Errors
    /// The field that the year or its bank waits for.
    pub fn trace(&mut self, plan: &Plan, stock: &Stock, first_day: usize, days: usize) -> Figure<Vec<HourFigures>> {
        let harvest::Setup { input, waits, skies, .. } = self.year_input_of(plan, stock, SHOWN_SEED, None)?;
        // Posts that are held in the bank's place have no hours of their own.
        if let Some(waits) = waits {
            return Err(waits);
        }
        let on_shore = on_shore(&input.stays);
        let heading_deg = |month: u8, day: usize| {
            let stay = input.stays.iter().position(|s| s.months & 1 << month != 0)?;
            skies.get(stay)?.heading_deg.as_ref()?.get(day).copied()
        };
        let (begin, end) = (first_day * 24, (first_day + days) * 24);
        let mut hours: Vec<HourFigures> = Vec::new();
        run(&input, &mut |hour, moment, flow, step| {
            let number = usize::from(hour);
            let on_shore = on_shore.get(number / 24).copied().unwrap_or(false);
            let beyond = input.usage.beyond(usize::from(month_of(number / 24)), number % 24).all_w * step.hours;
            let beyond_w = if on_shore { 0.0 } else { beyond };
            // A spell may run over the turn of the year.
            if (begin..end).contains(&number) || (begin..end).contains(&(number + 8760)) {
                let stretch = HourFigures {
                    hour,
                    sun_w_m2: sun_w_m2(&input, hour),
                    array_w: step.array_wh,
                    harvest_w: step.harvest_wh,
                    solar_w: step.solar_wh,
                    other_w: step.other_wh,
                    load_w: step.load_wh + beyond_w,
                    shortfall_w: step.shortfall_wh() + beyond_w,
                    cut_off_w: step.cut_off_wh,
                    bank_a: (step.balance.in_wh - step.balance.out_wh) / flow.posts_v.max(0.1),
                    posts_v: flow.posts_v * step.hours,
                    soc: step.after.soc,
                    battery_c: moment.battery_c,
                    on_shore,
                    heading_deg: heading_deg(month_of(number / 24), number / 24),
                };
                match hours.last_mut().filter(|begun| begun.hour == hour) {
                    Some(begun) => begun.go_on(&stretch),
                    None => hours.push(stretch),
                }
            }
        });
        let first = u16::try_from(begin % 8760).unwrap_or(0);
        let at = hours.iter().position(|h| h.hour == first).unwrap_or(0);
        hours.rotate_left(at);
        Ok(hours)
    }

    /// One year under the sky of a seed, begun by a whole one: load not served in percent, days with any, least state
    /// of charge.
    ///
    /// # Errors
    /// The field that the year or its bank waits for.
    pub fn repeat(&mut self, plan: &Plan, stock: &Stock, seed: u64) -> Figure<(f64, f64, f64)> {
        let setup = self.year_input_of(plan, stock, seed, None)?;
        if let Some(waits) = setup.unlit.or(setup.waits) {
            return Err(waits);
        }
        let input = YearInput { passes: 1, ..setup.input };
        let told = Told::of(&input, year(&input));
        let months = || told.year.months.iter();
        let days = months().map(|m| m.short_days).sum();
        Ok((told.unmet_pct(), days, months().map(|m| m.least_soc).fold(1.0, f64::min)))
    }

    /// All repeats together.
    ///
    /// # Errors
    /// The field that the year or its bank waits for.
    pub fn repeats(&mut self, plan: &Plan, stock: &Stock) -> Figure<Repeats> {
        self.repeats_while(plan, stock, || true).unwrap_or_else(|| Err(missing("")))
    }

    /// All repeats together, for as long as they are wanted: given up between two years, none then.
    pub fn repeats_while(
        &mut self,
        plan: &Plan,
        stock: &Stock,
        is_wanted: impl Fn() -> bool,
    ) -> Option<Figure<Repeats>> {
        let mut all = Vec::new();
        for seed in SEEDS {
            if !is_wanted() {
                return None;
            }
            // Skies of other seeds are wanted once: each is dropped with its year.
            match self.fork().repeat(plan, stock, seed) {
                Ok(year) => all.push(year),
                Err(waits) => return Some(Err(waits)),
            }
        }
        let column = |of: fn(&(f64, f64, f64)) -> f64| Range::of(&all.iter().map(of).collect::<Vec<_>>());
        Some(Ok(Repeats {
            years: all.len(),
            unmet_pct: column(|r| r.0),
            short_days: column(|r| r.1),
            least_soc: column(|r| r.2),
        }))
    }
}
