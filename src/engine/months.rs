//! The year's answer: what each month brings, takes, wastes and lacks.

use crate::climate::year::MONTH_DAYS;
use crate::plan::{Figure, Missing};
use crate::units::WattHours;

use super::compile::waiting;
use super::context::{Context, missing};
use super::day::on_shore;
use super::harvest::{Lit, unlit};
use super::memo::Stage;
use super::report::{CutOffFigures, Limit, Lived, Losses, LostShares, MonthFigures, Report, Spread, YearFigures};
use super::sites::stay_of_months;
use super::solve::Posts;
use super::spells;
use super::year::{DaySums, MonthSums, Year, YearInput};

/// What the year's figures are made of.
#[derive(Clone, PartialEq)]
pub(super) struct MonthsInput {
    pub(super) lit: Vec<Lit>,
    told: Figure<Stage<Told>>,
    /// What the bank's figures wait for where it was not simulated.
    waits: Option<Missing>,
    of_months: [Option<usize>; 12],
    has_stays: bool,
    /// Whether something else than the sun may charge in each month.
    others: [bool; 12],
    audited: [Figure<WattHours>; 12],
    usable_wh: Figure<WattHours>,
}

impl MonthsInput {
    /// Of a report whose bank and loads are there already.
    pub(super) fn of(
        context: &Context<'_>,
        lit: Vec<Lit>,
        told: Figure<Stage<Told>>,
        waits: Option<Missing>,
        report: &Report,
    ) -> Self {
        let of_months = stay_of_months(context.plan);
        Self {
            lit,
            told,
            waits,
            of_months,
            has_stays: !context.plan.stays.is_empty(),
            others: of_months.map(|stay| others(context, stay)),
            audited: report.loads.wh_day.clone(),
            usable_wh: report.bank.usable_wh.clone(),
        }
    }
}

/// All figures of the year.
pub(super) fn figures(input: &MonthsInput) -> YearFigures {
    let MonthsInput { lit, waits, of_months, .. } = input;
    let mut total = YearFigures::default();
    let told = input.told.as_ref().map(|told| &**told);
    let simulated =
        told.map_err(Clone::clone).and_then(|t| if t.year.with_bank { Ok(t) } else { Err(waiting(waits.as_ref())) });
    for m in 0..12 {
        let days = MONTH_DAYS[m];
        let figures = &mut total.months[m];
        figures.stay = of_months[m];
        let here = of_months[m].and_then(|s| lit.iter().find(|lit| lit.stay == s)).ok_or_else(|| missing("stays"));
        figures.ghi_kwh_m2_day = here.clone().and_then(|lit| lit.sun.as_ref().map(|sun| sun[m]).map_err(Clone::clone));
        let offers = here.and_then(|lit| lit.offers.as_ref().map_err(Clone::clone));
        figures.array_wh_day = offers.clone().map(|(_, offers)| {
            WattHours(offers.iter().map(|o| o.month_wh[m]).fold(0.0, |sum, wh| sum + wh) / days as f64)
        });
        figures.shade_wh_day = offers.clone().map(|(_, offers)| {
            WattHours(offers.iter().map(|o| o.shade_wh[m]).fold(0.0, |sum, wh| sum + wh) / days as f64)
        });
        let of_sun = offers.clone().and_then(|_| told.map_err(Clone::clone));
        let of_bank = offers.and_then(|_| simulated.clone());
        harvested(figures, of_sun, &of_bank, m, days);
        // The bank's year knows controllers' own use and the heater.
        let audited = input.audited[m].clone();
        figures.load_wh_day = of_bank.clone().map_or(audited.clone(), |t| Ok(a_day(t.load_wh(m), days)));
        let lasting = of_bank.clone().map_or(audited, |t| Ok(a_day(t.lasting_wh(m), days)));
        let part = of_bank.as_ref().map_or(1.0, |t| t.usable_part[m]);
        banked(figures, of_bank, m, days);
        balance(figures, input.others[m]);
        // Nobody is there in a month without a stay, where others have one.
        let is_empty = of_months[m].is_none() && of_months.iter().any(Option::is_some);
        let lasting = if is_empty { Err(missing("stays")) } else { lasting };
        figures.days_without_sun = lasts(&input.usable_wh, part, lasting);
        figures.limited_by = limit(figures);
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
    total.lost = lost_shares(&total.months);
    // A month without a stay leaves the year without sums, and so does one whose sun is not known.
    let lived = of_months.iter().all(Option::is_some);
    let sunny = unlit(lit).map_or(Ok(()), Err);
    let whole = sunny.clone().and(if lived { Ok(()) } else { Err(missing("stays")) });
    total.unmet_pct = simulated.clone().and_then(|told| whole.clone().map(|()| told.unmet_pct()));
    if !lived && total.unmet_pct.is_err() && input.has_stays {
        total.load_kwh = Err(missing("stays"));
    }
    let there = if of_months.iter().any(Option::is_some) { Ok(()) } else { Err(missing("stays")) };
    let seen = simulated.and_then(|told| sunny.and(there).map(|()| told));
    total.lived = of_lived(&total.months, seen.clone().map(Told::unmet_pct));
    let least = seen.clone().map(|told| least_soc(&told.year.days, of_months));
    total.least_soc = least.and_then(|least| least.ok_or_else(|| missing("stays")));
    let clearness = clearness(lit, of_months);
    total.dull_spell = seen.clone().map(|told| spells::of_sky(&told.year.days, &clearness));
    let lived: Vec<bool> = clearness.iter().map(Option::is_some).collect();
    total.hardest = seen.map(|told| spells::hardest(&told.year.days, &lived));
    total.cut_offs = told.map_or_else(|_| Vec::new(), |told| cut_offs(&told.year, &total.months));
    total
}

/// Less than this is the rounding of sums, Wh a day and percent of a year: 8760 additions of numbers of 16 digits.
/// Source: IEEE 754 double precision, 2.2e-16 of each sum.
const NOTHING: f64 = 1e-9;

/// What each inverter's own cut-off keeps from its loads.
fn cut_offs(year: &Year, months: &[MonthFigures; 12]) -> Vec<CutOffFigures> {
    let of = |(inverter, wh): &(usize, [f64; 12])| CutOffFigures {
        inverter: *inverter,
        wh_day: std::array::from_fn(|m| {
            // Known where that of all of them is.
            let all = months[m].cut_off_wh_day.clone().unwrap_or_else(|| Err(missing("stays")));
            all.map(|_| a_day(wh[m], MONTH_DAYS[m]))
        }),
    };
    year.cut_offs.iter().map(of).collect()
}

/// The sums of the months that have a stay.
fn of_lived(months: &[MonthFigures; 12], unmet_pct: Figure<f64>) -> Lived {
    let all = || months.iter().zip(MONTH_DAYS).filter(|(month, _)| month.stay.is_some());
    let sum = |of: &dyn Fn(&MonthFigures) -> Figure<f64>| -> Figure<f64> {
        let each = all().map(|(month, days)| of(month).map(|x| x * days as f64));
        let sum = each.reduce(|sum, one| Ok(sum? + one?));
        sum.unwrap_or_else(|| Err(missing("stays")))
    };
    Lived {
        months: all().count(),
        days: all().map(|(_, days)| days).sum(),
        harvest_kwh: sum(&|m| m.harvest_wh_day.clone().map(|w| w.0 / 1000.0)),
        load_kwh: sum(&|m| m.load_wh_day.clone().map(|w| w.0 / 1000.0)),
        other_kwh: sum(&|m| m.other_wh_day.clone().map(|w| w.0 / 1000.0)),
        stored_kwh: sum(&|m| m.charged_wh_day.clone().map(|w| w.0 / 1000.0)),
        short_days: sum(&|m| m.short_days_share.clone()),
        unmet_pct,
    }
}

/// The clearness of each day's sky; none where nobody is there.
fn clearness(lit: &[Lit], of_months: &[Option<usize>; 12]) -> Vec<Option<f64>> {
    let mut all = Vec::with_capacity(MONTH_DAYS.iter().sum());
    for (days, stay) in MONTH_DAYS.iter().zip(of_months) {
        let here = stay.and_then(|s| lit.iter().find(|lit| lit.stay == s));
        let sky = here.and_then(|lit| lit.offers.as_ref().ok()).map(|(sky, _)| sky);
        for _ in 0..*days {
            all.push(sky.map(|sky| sky.clearness.get(all.len()).copied().unwrap_or(0.0)));
        }
    }
    all
}

/// A year, and what is told of its days: worked out once with it.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Told {
    pub(super) year: Year,
    spreads: [Spread; 12],
    /// Of the loads, what shore power carries past the bank, Wh in each month.
    carried_wh: [f64; 12],
    /// What a heater draws of a bank that always has charge for it, Wh in each month.
    heater_wh: [f64; 12],
    /// Part of its usable charge that a bank as cold as in each month gives.
    usable_part: [f64; 12],
}

impl Told {
    /// The year that came of an input.
    pub(super) fn of(input: &YearInput, year: Year) -> Self {
        let on_shore = on_shore(&input.stays);
        let mut first = 0;
        let spreads = MONTH_DAYS.map(|days| {
            let here = first..first + days;
            let shore = on_shore.get(here.clone()).unwrap_or_default();
            let of_month = spread(year.days.get(here).unwrap_or_default(), shore, first);
            first += days;
            of_month
        });
        let mut days = on_shore.iter();
        let carried_wh = std::array::from_fn(|m| {
            let shore_days = days.by_ref().take(MONTH_DAYS[m]).filter(|is_one| **is_one).count();
            if shore_days == 0 {
                return 0.0;
            }
            let carried_w = |h| input.usage.at(m, h, false).ac_w + input.usage.beyond(m, h).all_w;
            let day_wh: f64 = (0..24).map(carried_w).sum();
            day_wh * shore_days as f64
        });
        let heater_wh = std::array::from_fn(|m| {
            let stay = input.stays.iter().find(|stay| stay.months & 1 << m != 0);
            stay.and_then(|stay| stay.warm.as_ref()).map_or(0.0, |warm| warm.held_wh.get(m).copied().unwrap_or(0.0))
        });
        let usable_part = std::array::from_fn(|m| usable_part(input, m));
        Self { spreads, carried_wh, heater_wh, usable_part, year }
    }

    /// All that a month's loads take, whether of the bank or past it.
    fn load_wh(&self, month: usize) -> f64 {
        let of_bank = self.year.months.get(month).map_or(0.0, |m| m.load_wh);
        of_bank + self.carried_wh.get(month).unwrap_or(&0.0)
    }

    /// What a month's loads take of a bank that lasts: it has charge for all that its heater asks, whatever becomes of the
    /// bank in the year itself.
    fn lasting_wh(&self, month: usize) -> f64 {
        let by_bank = self.year.months.get(month).map_or(0.0, |m| m.by_bank_wh);
        self.load_wh(month) - by_bank + self.heater_wh.get(month).unwrap_or(&0.0)
    }

    /// Load that was not served, percent of all there is, that on shore power too.
    pub(super) fn unmet_pct(&self) -> f64 {
        let load: f64 = (0..12).map(|m| self.load_wh(m)).sum();
        let short: f64 = self.year.months.iter().map(MonthSums::shortfall_wh).sum();
        let pct = if load > 0.0 { 100.0 * short / load } else { 0.0 };
        // What rounding leaves in a sum of hours is nothing that a load lacks.
        if pct < NOTHING { 0.0 } else { pct }
    }
}

/// So much a mean day; what rounding leaves of a difference is nothing.
fn a_day(wh: f64, days: usize) -> WattHours {
    let day_wh = wh / days.max(1) as f64;
    WattHours(if day_wh.abs() < NOTHING { 0.0 } else { day_wh })
}

fn harvested(figures: &mut MonthFigures, told: Figure<&Told>, of_bank: &Figure<&Told>, m: usize, days: usize) {
    // Without a bank there is nothing that would not take it.
    let at_bank = |of: fn(&MonthSums) -> f64| of_bank.clone().map(|t| a_day(of(&t.year.months[m]), days));
    let (full, limited, cold) = (at_bank(|s| s.full_wh), at_bank(|s| s.limited_wh), at_bank(|s| s.cold_wh));
    let sums = told.clone().map(|t| t.year.months[m]);
    figures.harvest_wh_day = sums.clone().map(|s| a_day(s.harvest_wh, days));
    figures.spread_wh_day = told.map(|t| t.spreads[m]);
    figures.losses = sums.map(|s| Losses {
        mismatch: a_day(s.mismatch_wh.max(0.0), days),
        array_wire: a_day(s.pv_wire_wh, days),
        conversion: a_day(s.convert_wh.max(0.0), days),
        clipped: a_day(s.clipped_wh, days),
        bank_wire: a_day(s.out_wire_wh, days),
        full,
        limited,
        cold,
    });
}

fn banked(figures: &mut MonthFigures, told: Figure<&Told>, m: usize, days: usize) {
    // Loads that shore power carries past the bank are energy that it brings.
    let sums_of = told.clone();
    let sums = told.map(|t| MonthSums {
        other_wh: t.year.months[m].other_wh + t.carried_wh[m],
        shore_wh: t.year.months[m].shore_wh + t.carried_wh[m],
        ..t.year.months[m]
    });
    let wh = |of: fn(&MonthSums) -> f64| sums.clone().map(|s| a_day(of(&s), days));
    figures.solar_wh_day = wh(|s| s.solar_wh);
    figures.other_wh_day = wh(|s| s.other_wh);
    figures.shore_wh_day = wh(|s| s.shore_wh);
    figures.other_cold_wh_day = wh(|s| s.other_cold_wh);
    figures.charged_wh_day = wh(|s| s.charged_wh);
    figures.shortfall_wh_day = wh(MonthSums::shortfall_wh);
    figures.unused_wh_day = wh(|s| s.full_wh + s.limited_wh + s.cold_wh);
    figures.beyond_wh_day = wh(|s| s.beyond_wh);
    figures.medical_short_wh_day = wh(|s| s.medical_short_wh);
    let is_in = sums_of.as_ref().is_ok_and(|t| !t.year.cut_offs.is_empty());
    figures.held_back_wh_day = wh(|s| s.held_back_wh);
    figures.cut_off_wh_day = is_in.then(|| wh(|s| s.cut_off_wh));
    figures.short_days_share = sums.clone().map(|s| s.short_days / days.max(1) as f64);
    figures.least_soc = sums.map(|s| s.least_soc);
}

/// Dull, typical and bright: the days of a month that a tenth, a half and nine tenths of them stay under.
/// The day shown for each of them is the nearest in rank that is spent as most days of the month are, on shore power or
/// away from it. Source: common practice, deciles by nearest rank.
fn spread(days: &[DaySums], on_shore: &[bool], first: usize) -> Spread {
    let mut all: Vec<(f64, usize)> = Vec::with_capacity(days.len());
    for (i, day) in days.iter().enumerate() {
        // With every edit's year: put in place at once, a list sorted later takes six times as long.
        let place = all.partition_point(|(wh, _)| *wh <= day.harvest_wh);
        all.insert(place, (day.harvest_wh, first + i));
    }
    let most = 2 * on_shore.iter().filter(|is_one| **is_one).count() > on_shore.len();
    let is_usual = |day: usize| day.checked_sub(first).and_then(|i| on_shore.get(i)).is_none_or(|shore| *shore == most);
    let at = |share: f64| {
        let rank = ((share * all.len() as f64).ceil() as usize).max(1) - 1;
        let near = all.iter().enumerate().filter(|(_, (_, day))| is_usual(*day));
        let day = near.min_by_key(|(i, _)| i.abs_diff(rank)).map_or(first, |(_, (_, day))| *day);
        (all.get(rank).map_or(0.0, |(wh, _)| *wh), day)
    };
    let ((dull, dull_day), (typical, typical_day), (bright, bright_day)) = (at(0.1), at(0.5), at(0.9));
    let (dull, typical, bright) = (WattHours(dull), WattHours(typical), WattHours(bright));
    Spread { dull, typical, bright, dull_day, typical_day, bright_day }
}

/// Whether something else than the sun may charge at a stay.
fn others(context: &Context<'_>, stay: Option<usize>) -> bool {
    let plan = context.plan;
    let stay = stay.and_then(|s| plan.stays.get(s));
    // What is not known may be some.
    let shore = stay.and_then(|s| s.shore_days_month.as_ref()).is_some_and(|d| d.known().is_none_or(|d| d.0 > 0.0));
    let driving = stay.and_then(|s| s.drive_h_day.as_ref()).is_some_and(|h| h.known().is_none_or(|h| h.0 > 0.0));
    (shore || driving) && plan.chargers.iter().any(|c| c.state.stays())
}

/// `others`: whether there may be other charging.
fn balance(figures: &mut MonthFigures, others: bool) {
    let load = figures.load_wh_day.clone();
    // Other charging is known with the bank only.
    let other =
        if others { figures.other_wh_day.clone() } else { Ok(figures.other_wh_day.clone().unwrap_or_default()) };
    let harvest = figures.harvest_wh_day.clone();
    figures.deficit_wh_day = load.and_then(|load| Ok((load - harvest? - other?).max(WattHours(0.0))));
}

fn lasts(usable: &Figure<WattHours>, part: f64, load: Figure<WattHours>) -> Figure<f64> {
    let (load, usable) = (load?, usable.clone()?);
    if load.0 > 0.0 { Ok(usable / load * part) } else { Err(missing("")) }
}

/// Part of its usable charge that a bank with a month's mean temperature gives, as in the year. A heater has always had its
/// charge.
fn usable_part(input: &YearInput, month: usize) -> f64 {
    let Posts::Bank(bank) = &input.circuit.posts else { return 1.0 };
    let stay = input.stays.iter().find(|stay| stay.months & 1 << month != 0);
    let warm = stay.and_then(|stay| stay.warm.as_ref());
    let usable = 1.0 - bank.least_soc.clamp(0.0, 1.0);
    match warm.and_then(|warm| warm.held_c.get(month)) {
        Some(mean_c) if usable > 0.0 => (1.0 - bank.floor_soc(*mean_c, 0.0)) / usable,
        _ => 1.0,
    }
}

/// Less than this is no limit, Wh a mean day. Source: our own choice; it shows as 0.
const LIMIT_WH: f64 = 0.5;

/// What limits a month. Where no load goes short: the largest loss. Where some does: the largest of the losses that keep
/// energy from the bank, or the inverter's cut-off or the bank's discharge limit, or the sun, with what goes short less those, but no less than what
/// the month's sums lack. A full bank limits no such month, and what it turns away takes from the other losses, but for
/// cold: the bright days lose most to wire and controllers, and a full bank would have no use for it. Cold keeps out what
/// alternator and shore would bring as well as the sun's. What would serve the load only a year with it can tell
/// (`relief.rs`). What conversion takes no other part would save.
/// Source: our own choice of words for the figures beside it.
fn limit(figures: &MonthFigures) -> Figure<Option<(Limit, WattHours)>> {
    // What no inverter carries nothing here would serve.
    let beyond = figures.beyond_wh_day.clone()?;
    let less = |wh: WattHours| WattHours((wh.0 - beyond.0).max(0.0));
    let (short, lacking) = (less(figures.shortfall_wh_day.clone()?), less(figures.deficit_wh_day.clone()?));
    let losses = figures.losses.clone()?;
    let is_short = short.0 >= LIMIT_WH;
    let spare = if is_short { losses.full.clone()? } else { WattHours(0.0) };
    // What other chargers had to spare is nothing lost where no load wants it.
    let of_others = if is_short { figures.other_cold_wh_day.clone()? } else { WattHours(0.0) };
    let (mut largest, mut all) = ((Limit::Sun, WattHours(0.0)), 0.0);
    for (limit, wh) in losses.named() {
        let wh = match limit {
            Limit::Conversion => continue,
            Limit::Full if is_short => continue,
            Limit::Full => wh?,
            Limit::Cold => wh? + of_others,
            _ => (wh? - spare).max(WattHours(0.0)),
        };
        all += wh.0;
        if wh > largest.1 {
            largest = (limit, wh);
        }
    }
    let shade = (figures.shade_wh_day.clone()? - spare).max(WattHours(0.0));
    all += shade.0;
    if shade > largest.1 {
        largest = (Limit::Shade, shade);
    }
    let off = figures.cut_off_wh_day.clone().unwrap_or(Ok(WattHours(0.0)))?;
    all += off.0;
    if off > largest.1 {
        largest = (Limit::CutOff, off);
    }
    let held_back = figures.held_back_wh_day.clone()?;
    all += held_back.0;
    if held_back > largest.1 {
        largest = (Limit::DischargeLimit, held_back);
    }
    let sun = WattHours((short.0 - all).max(lacking.0.min(short.0)));
    if is_short && sun.0 >= largest.1.0 {
        largest = (Limit::Sun, sun);
    }
    Ok((largest.1.0 >= LIMIT_WH).then_some(largest))
}

/// What is lost to each over the year.
fn lost_shares(months: &[MonthFigures; 12]) -> Figure<LostShares> {
    let (mut array, mut shade, mut sums) = (0.0, 0.0, [0.0; 8]);
    for (month, days) in months.iter().zip(MONTH_DAYS) {
        array += month.array_wh_day.clone()?.0 * days as f64;
        shade += month.shade_wh_day.clone()?.0 * days as f64;
        for (sum, (_, loss)) in sums.iter_mut().zip(month.losses.clone()?.named()) {
            *sum += loss?.0 * days as f64;
        }
    }
    let pct = |wh: f64| if array > 0.0 { 100.0 * wh / array } else { 0.0 };
    let [volts, array_wire, _, clipped, bank_wire, full, limited, cold] = sums;
    Ok(LostShares {
        array_kwh: array / 1000.0,
        shade_kwh: shade / 1000.0,
        wire_pct: pct(array_wire + bank_wire),
        volts_pct: pct(volts),
        controller_pct: pct(clipped),
        bank_pct: pct(full + limited),
        warmth_pct: pct(cold),
    })
}

/// The least state of charge in the months that have a stay, and its day.
fn least_soc(days: &[DaySums], stays: &[Option<usize>; 12]) -> Option<(f64, usize)> {
    let months = MONTH_DAYS.iter().zip(stays).flat_map(|(length, stay)| std::iter::repeat_n(stay.is_some(), *length));
    let lived = days.iter().enumerate().zip(months).filter(|(_, counted)| *counted).map(|((i, d), _)| (d.least_soc, i));
    lived.min_by(|a, b| a.0.total_cmp(&b.0))
}
