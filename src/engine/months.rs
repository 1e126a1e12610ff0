//! The year's answer: what each month brings, takes, wastes and lacks.

use crate::climate::year::MONTH_DAYS;
use crate::plan::power::{AcSource, ChargerKind};
use crate::plan::wiring::DeviceKind;
use crate::plan::{Figure, Missing};
use crate::units::{Hours, WattHours};

use super::circuit::{Node, PathKind};
use super::compile::{bank, waiting};
use super::context::{Context, missing, need};
use super::currents::carries;
use super::harvest::{Lit, unlit};
use super::report::{DullSpell, Limit, Losses, MonthFigures, Remedies, Report, SpellDay, Spread, YearFigures};
use super::sites::stay_of_months;
use super::year::{DaySums, MonthSums, Year};

/// All figures of the year. `waits`: what the bank's figures wait for where it was not simulated.
pub(super) fn figures(
    context: &Context<'_>,
    lit: &[Lit],
    done: Result<&Told, &Missing>,
    waits: Option<&Missing>,
    report: &Report,
) -> YearFigures {
    let mut total = YearFigures::default();
    let of_months = stay_of_months(context.plan);
    let told = done;
    let done = told.map(|t| &t.year);
    let simulated = done.map_err(Clone::clone).and_then(|y| if y.with_bank { Ok(y) } else { Err(waiting(waits)) });
    let made_up = MadeUp::of(context);
    for m in 0..12 {
        let days = MONTH_DAYS[m];
        let figures = &mut total.months[m];
        figures.stay = of_months[m];
        let here = of_months[m].and_then(|s| lit.iter().find(|lit| lit.stay == s)).ok_or_else(|| missing("stays"));
        figures.ghi_kwh_m2_day =
            here.clone().and_then(|lit| lit.site.as_ref().map(|s| s.ghi_kwh_m2_day[m]).map_err(Clone::clone));
        let offers = here.and_then(|lit| lit.offers.as_ref().map_err(Clone::clone));
        figures.array_wh_day = offers.clone().map(|(_, offers)| {
            WattHours(offers.iter().map(|o| o.month_wh[m]).fold(0.0, |sum, wh| sum + wh) / days as f64)
        });
        let of_sun = offers.clone().and_then(|_| told.map_err(Clone::clone));
        let of_bank = offers.and_then(|_| simulated.clone());
        harvested(figures, of_sun, m, days);
        // The bank's year knows controllers' own use, the heater, and what shore power carries.
        let audited = report.loads.wh_day[m].clone();
        figures.load_wh_day = of_bank.clone().map_or(audited, |y| Ok(a_day(y.months[m].load_wh, days)));
        banked(figures, of_bank, m, days);
        balance(figures, &report.bank.usable_wh);
        figures.limited_by = limit(figures);
        made_up.fill(figures);
    }
    let yearly = |of: &dyn Fn(&MonthFigures) -> Figure<f64>| -> Figure<f64> {
        let mut sum = 0.0;
        for (month, days) in total.months.iter().zip(&MONTH_DAYS) {
            sum += of(month)? * *days as f64;
        }
        Ok(sum)
    };
    total.harvest_kwh = yearly(&|m| m.harvest_wh_day.clone().map(|w| w.0 / 1000.0));
    total.stored_kwh = yearly(&|m| m.charged_wh_day.clone().map(|w| w.0 / 1000.0));
    total.load_kwh = yearly(&|m| m.load_wh_day.clone().map(|w| w.0 / 1000.0));
    total.shortfall_days = yearly(&|m| m.short_days_share.clone());
    total.remedies = remedies(&total.months);
    // A month without a stay leaves the year without sums, and so does one whose sun is not known.
    let lived = of_months.iter().all(Option::is_some);
    let sunny = unlit(lit).map_or(Ok(()), Err);
    let whole = sunny.and(if lived { Ok(()) } else { Err(missing("stays")) });
    total.unmet_pct = simulated.clone().and_then(|year| whole.clone().map(|()| year.unmet_pct()));
    if !lived && total.unmet_pct.is_err() && !context.plan.stays.is_empty() {
        total.load_kwh = Err(missing("stays"));
    }
    let seen = simulated.and_then(|year| whole.map(|()| year));
    let least = seen.clone().map(|year| least_soc(&year.days, &of_months));
    total.least_soc = least.and_then(|least| least.ok_or_else(|| missing("stays")));
    total.dull_spell = match &total.least_soc {
        Ok(_) => seen.and_then(|_| told.map_err(Clone::clone)).map(|told| told.dull_spell.clone()),
        Err(waits) => Err(waits.clone()),
    };
    total
}

/// A year, and what is told of its days: worked out once with it.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Told {
    pub(super) year: Year,
    spreads: [Spread; 12],
    dull_spell: Option<DullSpell>,
}

impl Told {
    pub(super) fn of(year: Year) -> Self {
        let mut first = 0;
        let spreads = MONTH_DAYS.map(|days| {
            let of_month = spread(year.days.get(first..first + days).unwrap_or_default(), first);
            first += days;
            of_month
        });
        Self { spreads, dull_spell: dull_spell(&year.days), year }
    }
}

fn a_day(wh: f64, days: usize) -> WattHours {
    WattHours(wh / days.max(1) as f64)
}

fn harvested(figures: &mut MonthFigures, told: Figure<&Told>, m: usize, days: usize) {
    let sums = told.clone().map(|t| t.year.months[m]);
    figures.harvest_wh_day = sums.clone().map(|s| a_day(s.harvest_wh, days));
    figures.spread_wh_day = told.map(|t| t.spreads[m]);
    figures.losses = sums.map(|s| Losses {
        mismatch: a_day(s.mismatch_wh, days),
        array_wire: a_day(s.pv_wire_wh, days),
        conversion: a_day(s.convert_wh, days),
        clipped: a_day(s.clipped_wh, days),
        bank_wire: a_day(s.out_wire_wh, days),
        full: a_day(s.full_wh, days),
        limited: a_day(s.limited_wh, days),
        cold: a_day(s.cold_wh, days),
    });
}

fn banked(figures: &mut MonthFigures, year: Figure<&Year>, m: usize, days: usize) {
    let sums = year.map(|y| y.months[m]);
    let wh = |of: fn(&MonthSums) -> f64| sums.clone().map(|s| a_day(of(&s), days));
    figures.solar_wh_day = wh(|s| s.solar_wh);
    figures.other_wh_day = wh(|s| s.other_wh);
    figures.shore_wh_day = wh(|s| s.shore_wh);
    figures.other_cold_wh_day = wh(|s| s.other_cold_wh);
    figures.charged_wh_day = wh(|s| s.charged_wh);
    figures.shortfall_wh_day = wh(MonthSums::shortfall_wh);
    figures.unused_wh_day = wh(|s| s.full_wh + s.limited_wh + s.cold_wh);
    figures.medical_short_wh_day = wh(|s| s.medical_short_wh);
    figures.short_days_share = sums.clone().map(|s| s.short_days / days.max(1) as f64);
    figures.least_soc = sums.map(|s| s.least_soc);
}

/// Dull, typical and bright: the days of a month that a tenth, a half and nine tenths of them stay under.
/// Source: common practice, deciles by nearest rank.
fn spread(days: &[DaySums], first: usize) -> Spread {
    let mut all: Vec<(f64, usize)> = days.iter().enumerate().map(|(i, d)| (d.harvest_wh, first + i)).collect();
    all.sort_by(|a, b| a.0.total_cmp(&b.0));
    let at = |share: f64| {
        let rank = (share * all.len() as f64).ceil() as usize;
        all.get(rank.max(1) - 1).copied().unwrap_or((0.0, first))
    };
    let ((dull, dull_day), (typical, typical_day), (bright, bright_day)) = (at(0.1), at(0.5), at(0.9));
    let (dull, typical, bright) = (WattHours(dull), WattHours(typical), WattHours(bright));
    Spread { dull, typical, bright, dull_day, typical_day, bright_day }
}

fn balance(figures: &mut MonthFigures, usable: &Figure<WattHours>) {
    let load = figures.load_wh_day.clone();
    // Other charging is known with the bank only; without it the sun stands alone.
    let other = figures.other_wh_day.clone().unwrap_or(WattHours(0.0));
    let harvest = figures.harvest_wh_day.clone();
    figures.deficit_wh_day = load.clone().and_then(|load| Ok((load - harvest? - other).max(WattHours(0.0))));
    figures.days_without_sun = load.and_then(|load| {
        let usable = usable.clone()?;
        if load.0 > 0.0 { Ok(usable / load) } else { Err(missing("")) }
    });
}

/// Less than this is no limit, Wh a mean day. Source: our own choice; it shows as 0.
const LIMIT_WH: f64 = 0.5;

/// What limits a month: the sun, where the loads lack more than any loss would give back (by the bank where it is
/// simulated, else by the month's sums); else the largest loss. What
/// conversion takes no other part would save, so it limits nothing.
/// Source: our own choice of words for the figures beside it.
fn limit(figures: &MonthFigures) -> Figure<Option<(Limit, WattHours)>> {
    let lacking = figures.shortfall_wh_day.clone().or_else(|_| figures.deficit_wh_day.clone())?;
    let losses = figures.losses.clone()?.named().into_iter().filter(|(limit, _)| *limit != Limit::Conversion);
    let largest = losses.fold((Limit::Sun, lacking), |most, loss| if loss.1.0 > most.1.0 { loss } else { most });
    Ok((largest.1.0 >= LIMIT_WH).then_some(largest))
}

/// What each remedy could bring at most over the year.
fn remedies(months: &[MonthFigures; 12]) -> Figure<Remedies> {
    let (mut array, mut sums) = (0.0, [0.0; 8]);
    for (month, days) in months.iter().zip(MONTH_DAYS) {
        array += month.array_wh_day.clone()?.0 * days as f64;
        for (sum, (_, loss)) in sums.iter_mut().zip(month.losses.clone()?.named()) {
            *sum += loss.0 * days as f64;
        }
    }
    let pct = |wh: f64| if array > 0.0 { 100.0 * wh / array } else { 0.0 };
    let [volts, array_wire, _, clipped, bank_wire, full, limited, cold] = sums;
    Ok(Remedies {
        array_kwh: array / 1000.0,
        wire_pct: pct(array_wire + bank_wire),
        volts_pct: pct(volts),
        controller_pct: pct(clipped),
        bank_pct: pct(full + limited),
        warmth_pct: pct(cold),
    })
}

/// The longest run of days on which the sun brought less than the loads took, over the turn of the year too; of equally
/// long ones that which lacked most.
fn dull_spell(days: &[DaySums]) -> Option<DullSpell> {
    let n = days.len();
    let dull = |i: usize| days.get(i % n).is_some_and(|d| d.harvest_wh < d.load_wh);
    let lack_wh = |first: usize, length: usize| -> f64 {
        (first..first + length).filter_map(|i| days.get(i % n)).map(|d| d.load_wh - d.harvest_wh).sum()
    };
    let mut longest: Option<(usize, usize)> = None;
    let mut first = (0..n).find(|i| !dull(*i)).unwrap_or(0);
    let end = first + n;
    while first < end {
        let length = (first..end).take_while(|i| dull(*i)).count();
        let beats = longest.is_none_or(|(f, l)| length > l || length == l && lack_wh(first, length) > lack_wh(f, l));
        if length > 0 && beats {
            longest = Some((first, length));
        }
        first += length.max(1);
    }
    let (first, length) = longest?;
    let spell = || (first..first + length).filter_map(|i| days.get(i % n));
    Some(DullSpell {
        first_day: first % n,
        days: length,
        harvest: WattHours(spell().map(|d| d.harvest_wh).sum::<f64>() / length as f64),
        load: WattHours(spell().map(|d| d.load_wh).sum::<f64>() / length as f64),
        shortfall: WattHours(spell().map(|d| d.shortfall_wh).sum()),
        least_soc: spell().map(|d| d.least_soc).fold(1.0, f64::min),
        each: spell().map(spell_day).collect(),
    })
}

/// The least state of charge in the months that have a stay, and its day.
fn least_soc(days: &[DaySums], stays: &[Option<usize>; 12]) -> Option<(f64, usize)> {
    let months = MONTH_DAYS.iter().zip(stays).flat_map(|(length, stay)| std::iter::repeat_n(stay.is_some(), *length));
    let lived = days.iter().enumerate().zip(months).filter(|(_, counted)| *counted).map(|((i, d), _)| (d.least_soc, i));
    lived.min_by(|a, b| a.0.total_cmp(&b.0))
}

fn spell_day(day: &DaySums) -> SpellDay {
    SpellDay {
        harvest: WattHours(day.harvest_wh),
        load: WattHours(day.load_wh),
        shortfall: WattHours(day.shortfall_wh),
        least_soc: day.least_soc,
    }
}

/// What an hour of the engine or the generator brings to the posts, W.
struct MadeUp {
    driving_w: Option<Figure<f64>>,
    generator_w: Option<Figure<f64>>,
}

impl MadeUp {
    /// Of the chargers that are drawn to the bank, are not fed by its own inverter, and whose line, if they have one,
    /// carries them: their amps, within the bank's charge limit, at its nominal volts. Taper and cold are not counted.
    fn of(context: &Context<'_>) -> Self {
        let plan = context.plan;
        let most_a = bank(context).ok().and_then(|b| b.most_charge_a).unwrap_or(f64::INFINITY);
        let of = |kinds: &[ChargerKind]| {
            let works = |i: usize| {
                let driven = plan.chargers.get(i).is_some_and(|c| c.kind.known() == Some(&ChargerKind::DcDc));
                let circles =
                    plan.chargers.get(i).and_then(|c| c.ac_source.as_ref()?.known()) == Some(&AcSource::Inverter);
                !circles
                    && context.circuit.way_of(PathKind::Charger, Node::Charger(i)).is_some()
                    && (!driven || carries(context, i) == Ok(true))
            };
            let all = plan.chargers.iter().enumerate().filter(|(i, c)| c.state.stays() && works(*i));
            let amps = all
                .filter(|(_, c)| c.kind.known().is_some_and(|k| kinds.contains(k)))
                .map(|(_, c)| need(&c.out_a, "chargers", &c.id, "out_a").map(|a| a.0))
                .try_fold(0.0, |sum, one| Ok::<f64, Missing>(sum + one?));
            let watts = amps.and_then(|amps| Ok(context.bank_v()? * amps.min(most_a)));
            Some(watts).filter(|watts| *watts != Ok(0.0))
        };
        // A shore charger runs from a generator too, if there is one.
        let has_generator =
            plan.devices.iter().any(|d| d.state.stays() && d.kind.known() == Some(&DeviceKind::Generator));
        let from_generator = [ChargerKind::Generator, ChargerKind::Shore];
        let generator = if has_generator { &from_generator[..] } else { &from_generator[..1] };
        Self { driving_w: of(&[ChargerKind::DcDc]), generator_w: of(generator) }
    }

    fn fill(&self, figures: &mut MonthFigures) {
        let hours = |watts: &Option<Figure<f64>>| {
            let hours = |w: Figure<f64>| Ok(Hours(figures.shortfall_wh_day.clone()?.0 / w?));
            watts.clone().map(hours)
        };
        (figures.drive_h_day, figures.generator_h_day) = (hours(&self.driving_w), hours(&self.generator_w));
    }
}
