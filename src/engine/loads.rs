//! What the loads ask of the bank on a mean day of each month, and what can run together.

use crate::climate::year::MONTH_DAYS;
use crate::plan::wiring::Supply;
use crate::plan::{Figure, Id, Inverter, Load, Missing, Plan};
use crate::units::{Amps, WattHours, Watts};

use super::context::{Context, at, missing, need};
use super::converted::Shares;
use super::report::{ApartFigures, LoadFigures, LoadRow, SeasonFigures, SurgeFigures, TogetherFigures};
use super::sites::stay_of_months;

/// Whether a month (0 = January) is winter or summer where the coach is then; in a month without a stay, where the first
/// one is.
///
/// Source: common practice: December to February and June to August north of the equator.
fn season(c: &Context<'_>, month: usize) -> Figure<(bool, bool)> {
    let there = stay_of_months(c.plan).get(month).copied().flatten();
    let stay = there.and_then(|i| c.plan.stays.get(i)).or(c.plan.stays.first());
    let Some(stay) = stay else { return Err(missing("stays")) };
    let north = need(&stay.latitude_deg, "stays", &stay.id, "latitude_deg")?.0 >= 0.0;
    let (december, june) = (matches!(month, 11 | 0 | 1), matches!(month, 5..=7));
    Ok(if north { (december, june) } else { (june, december) })
}

/// Wh a day of one load at its own terminals, in a month.
pub(super) fn own_wh(c: &Context<'_>, load: &Load, month: usize) -> Figure<f64> {
    if !load.months.has(month) {
        return Ok(0.0);
    }
    let f = |field: &str| at("loads", &load.id, field);
    let watts = load.watts_w.at(|| f("watts_w"))?.0 * load.quantity.at(|| f("quantity"))?.0;
    let hours = load.hours_day.at(|| f("hours_day"))?.0 * load.duty_pct.at(|| f("duty_pct"))?.0 / 100.0;
    Ok(watts * hours * factor(c, load, month)?.0)
}

/// Whether a load is used in a month: not out of its months, nor in a season that leaves it no hours.
pub(super) fn is_used(c: &Context<'_>, load: &Load, month: usize) -> bool {
    let never = [&load.winter_factor, &load.summer_factor].iter().any(|f| f.known().is_some_and(|f| f.0 == 0.0));
    load.months.has(month) && !(never && factor(c, load, month).is_ok_and(|(factor, _)| factor == 0.0))
}

/// What a month's season makes of the hours of a load, and its name.
fn factor(c: &Context<'_>, load: &Load, month: usize) -> Figure<(f64, &'static str)> {
    let f = |field: &str| at("loads", &load.id, field);
    let (winter, summer) =
        (load.winter_factor.at(|| f("winter_factor"))?.0, load.summer_factor.at(|| f("summer_factor"))?.0);
    if winter == 1.0 && summer == 1.0 {
        return Ok((1.0, "any month"));
    }
    Ok(match season(c, month)? {
        (true, _) => (winter, "winter"),
        (_, true) => (summer, "summer"),
        _ => (1.0, "spring and autumn"),
    })
}

/// The most that a season makes of the hours of a load, and its name, of the months in which it is used and somebody is there;
/// none where there are no such months.
pub(super) fn most_factor(c: &Context<'_>, load: &Load) -> Figure<Option<(f64, &'static str)>> {
    let mut most: Option<(f64, &'static str)> = None;
    for (month, _) in lived(c).iter().enumerate().filter(|(m, lived)| **lived && load.months.has(*m)) {
        let own = factor(c, load, month)?;
        if most.is_none_or(|most| own.0 > most.0) {
            most = Some(own);
        }
    }
    Ok(most)
}

/// Inverters that stay.
fn staying<'a>(c: &'a Context<'_>) -> impl Iterator<Item = (usize, &'a Inverter)> {
    c.plan.inverters.iter().enumerate().filter(|(_, i)| i.state.stays())
}

fn efficiency(inv: &Inverter) -> Figure<f64> {
    Ok((need(&inv.efficiency_pct, "inverters", &inv.id, "efficiency_pct")?.0 / 100.0).max(0.01))
}

/// The inverter that carries an AC load: the only one, or of several the one it has a run from; none where no run tells.
pub(super) fn own_inverter(c: &Context<'_>, shares: &Shares, load: usize) -> Figure<Option<usize>> {
    if let Some(inverter) = shares.inverter(load) {
        return Ok(Some(inverter));
    }
    let mut all = staying(c).map(|(i, _)| i);
    let first = all.next().ok_or_else(|| missing("inverters"))?;
    Ok(all.next().is_none().then_some(first))
}

/// Of several inverters the one that loses most, the first of those: what a load is taken to hang on where no run tells.
pub(super) fn lossiest(c: &Context<'_>) -> Figure<usize> {
    let mut least: Option<(usize, f64)> = None;
    for (i, inv) in staying(c) {
        let share = efficiency(inv)?;
        if least.is_none_or(|(_, least)| share < least) {
            least = Some((i, share));
        }
    }
    least.map(|(i, _)| i).ok_or_else(|| missing("inverters"))
}

/// Whether surely no load hangs on an inverter.
pub(super) fn is_idle(c: &Context<'_>, inverter: usize) -> bool {
    let shares = Shares::of(c);
    let mut ac = c.plan.loads.iter().enumerate().filter(|(_, l)| l.state.stays() && l.supply == Supply::Inverter);
    ac.all(|(i, _)| matches!(own_inverter(c, &shares, i), Ok(Some(by)) if by != inverter))
}

/// The inverter that an AC load counts behind.
fn carrier(c: &Context<'_>, shares: &Shares, load: usize) -> Figure<usize> {
    own_inverter(c, shares, load)?.map_or_else(|| lossiest(c), Ok)
}

/// What of an inverter's draw on the bank reaches its loads.
pub(super) fn share_of(c: &Context<'_>, inverter: usize) -> Figure<f64> {
    efficiency(c.plan.inverters.get(inverter).ok_or_else(|| missing("inverters"))?)
}

/// The same of the inverter that carries an AC load, and which one that is.
pub(super) fn carried_by(c: &Context<'_>, shares: &Shares, load: usize) -> Figure<(usize, f64)> {
    let inverter = carrier(c, shares, load)?;
    Ok((inverter, share_of(c, inverter)?))
}

/// Loads that stay and hang on the bank: what a start battery feeds is not asked of it.
pub(super) fn of_bank<'a>(c: &'a Context<'_>, shares: &'a Shares) -> impl Iterator<Item = (usize, &'a Load)> {
    let stay = c.plan.loads.iter().enumerate().filter(|(_, l)| l.state.stays());
    stay.filter(|(i, _)| !shares.is_apart(c, *i))
}

/// What start batteries feed: the names of those loads, and their own Wh on a mean day of each month.
fn apart(c: &Context<'_>, shares: &Shares) -> Option<ApartFigures> {
    let all = || c.plan.loads.iter().enumerate().filter(|(i, l)| l.state.stays() && shares.is_apart(c, *i));
    all().next()?;
    let month = |m: usize| all().map(|(_, load)| own_wh(c, load, m)).sum::<Figure<f64>>();
    let months: [Figure<f64>; 12] = std::array::from_fn(month);
    Some(ApartFigures { loads: all().map(|(_, load)| load.id.clone()).collect(), seasons: seasons(c, &months) })
}

/// The figures of all loads together.
pub(super) fn figures(c: &Context<'_>, shares: &Shares) -> LoadFigures {
    let mut idle: Figure<f64> = Ok(0.0);
    for (_, inv) in staying(c).filter(|(i, _)| !shares.is_inverter_apart(*i)) {
        idle = idle.and_then(|sum| {
            let watts = need(&inv.idle_w, "inverters", &inv.id, "idle_w")?.0;
            Ok(sum + watts * need(&inv.idle_h_day, "inverters", &inv.id, "idle_h_day")?.0)
        });
    }
    // All at the bank, and what of it the inverters lose and draw unloaded, and what converters lose.
    let month_wh = |month: usize| -> Figure<(f64, f64, f64)> {
        let (mut dc, mut converted) = (0.0, 0.0);
        let mut ac = vec![0.0; c.plan.inverters.len()];
        for (i, load) in of_bank(c, shares) {
            let wh = own_wh(c, load, month)?;
            match load.supply {
                Supply::Dc if wh > 0.0 => {
                    let at_bank = wh / shares.get(i)?;
                    dc += at_bank;
                    converted += at_bank - wh;
                }
                Supply::Dc => {}
                Supply::Inverter if wh > 0.0 => {
                    let inverter = carrier(c, shares, i)?;
                    ac.get_mut(inverter).into_iter().for_each(|sum| *sum += wh);
                }
                Supply::Inverter => {}
            }
        }
        let (mut through, mut out) = (0.0, 0.0);
        for (i, wh) in ac.into_iter().enumerate().filter(|(_, wh)| *wh > 0.0) {
            through += wh / share_of(c, i)?;
            out += wh;
        }
        let idle = idle.clone()?;
        Ok((dc + through + idle, through - out + idle, converted))
    };
    let parts: [Figure<(f64, f64, f64)>; 12] = std::array::from_fn(month_wh);
    let months: [Figure<f64>; 12] = parts.clone().map(|month| month.map(|(all, ..)| all));
    let inverter = parts.clone().map(|month| month.map(|(_, lost, _)| lost));
    let converter = parts.map(|month| month.map(|(.., lost)| lost));
    let lived = lived(c);
    let of_lived = months.iter().zip(MONTH_DAYS).zip(lived).filter(|(_, lived)| *lived);
    let year_wh = of_lived.map(|((wh, days), _)| wh.clone().map(|wh| wh * days as f64)).sum();
    let (together, surge) = match peaks(c, shares) {
        Ok((together, surge)) => (Ok(together), surge),
        Err(waits) => (Err(waits.clone()), Err(waits)),
    };
    LoadFigures {
        dc_simultaneous_w: simultaneous_w(c, shares).map(Watts),
        seasons: seasons(c, &months),
        inverter: seasons(c, &inverter),
        converter: seasons(c, &converter),
        year_kwh: Figure::<f64>::map(year_wh, |wh| wh / 1000.0),
        worst_day: worst_day(&months, &lived),
        together,
        surge,
        spread_share: AUDIT_SHARE,
        each: c.plan.loads.iter().map(|load| row(c, load)).collect(),
        apart: apart(c, shares),
        wh_day: months.map(|wh| wh.map(WattHours)),
    }
}

/// One load's seasons; nothing where it does not stay.
fn row(c: &Context<'_>, load: &Load) -> LoadRow {
    let months = std::array::from_fn(|m| if load.state.stays() { own_wh(c, load, m) } else { Ok(0.0) });
    LoadRow { id: load.id.clone(), seasons: seasons(c, &months) }
}

fn simultaneous_w(c: &Context<'_>, shares: &Shares) -> Figure<f64> {
    let mut months = [0.0; 12];
    for (i, load) in of_bank(c, shares).filter(|(_, l)| l.supply == Supply::Dc) {
        let watts = need(&load.watts_w, "loads", &load.id, "watts_w")?.0;
        let all = watts * need(&load.quantity, "loads", &load.id, "quantity")?.0 / shares.get(i)?;
        for (m, sum) in months.iter_mut().enumerate() {
            if is_used(c, load, m) {
                *sum += all;
            }
        }
    }
    Ok::<f64, Missing>(months.into_iter().fold(0.0, f64::max))
}

/// Share either way that totals of an energy audit are off by.
/// Source: common practice; use asked for and read off labels, not measured over days, is known to a quarter.
const AUDIT_SHARE: f64 = 0.25;

/// A part of the year.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Season {
    Summer,
    Winter,
    Between,
}

/// The season of a month (0 = January).
fn season_of(c: &Context<'_>, month: usize) -> Figure<Season> {
    Ok(match season(c, month)? {
        (true, _) => Season::Winter,
        (_, true) => Season::Summer,
        _ => Season::Between,
    })
}

/// Mean days of the seasons. What is the same all year needs no season.
fn seasons(c: &Context<'_>, months: &[Figure<f64>; 12]) -> SeasonFigures {
    let mean = |wanted: Season| -> Figure<WattHours> {
        if let Some(Ok(first)) = months.first()
            && months.iter().all(|m| m.as_ref() == Ok(first))
        {
            return Ok(WattHours(*first));
        }
        let (mut wh, mut days) = (0.0, 0.0);
        for (m, (figure, length)) in months.iter().zip(MONTH_DAYS).enumerate() {
            if season_of(c, m)? == wanted {
                wh += figure.clone()? * length as f64;
                days += length as f64;
            }
        }
        // Where the coach has no such season there is no figure of it.
        if days > 0.0 { Ok(WattHours(wh / days)) } else { Err(missing("")) }
    };
    SeasonFigures {
        summer_wh_day: mean(Season::Summer),
        winter_wh_day: mean(Season::Winter),
        between_wh_day: mean(Season::Between),
    }
}

/// Months in which somebody is there: those that have a stay; all of them where none has.
fn lived(c: &Context<'_>) -> [bool; 12] {
    let stays = stay_of_months(c.plan).map(|stay| stay.is_some());
    if stays.contains(&true) { stays } else { [true; 12] }
}

/// The month whose usual day takes the most, of those in which somebody is there; the first of several.
fn worst_day(months: &[Figure<f64>; 12], lived: &[bool; 12]) -> Figure<(usize, WattHours)> {
    let mut worst = (lived.iter().position(|lived| *lived).unwrap_or(0), WattHours(0.0));
    for (m, figure) in months.iter().enumerate().filter(|(m, _)| lived[*m]) {
        let wh = figure.clone()?;
        if wh > worst.1.0 {
            worst = (m, WattHours(wh));
        }
    }
    Ok(worst)
}

/// What an inverter can carry: watts all the time and for a start, and what it draws unloaded.
struct Carries {
    index: usize,
    rated_w: f64,
    surge_w: Figure<Option<f64>>,
    idle_w: f64,
}

/// The inverters that stay, and what hangs on them.
struct Inverters<'a> {
    c: &'a Context<'a>,
    all: Vec<Carries>,
}

impl<'a> Inverters<'a> {
    fn of(c: &'a Context<'a>, shares: &Shares) -> Figure<Self> {
        let mut all = Vec::new();
        for (index, inv) in staying(c).filter(|(i, _)| !shares.is_inverter_apart(*i)) {
            all.push(Carries {
                index,
                rated_w: need(&inv.watts_w, "inverters", &inv.id, "watts_w")?.0,
                idle_w: need(&inv.idle_w, "inverters", &inv.id, "idle_w")?.0,
                surge_w: inv
                    .surge_w
                    .as_ref()
                    .map(|w| w.at(|| at("inverters", &inv.id, "surge_w")).map(|w| w.0))
                    .transpose(),
            });
        }
        Ok(Self { c, all })
    }

    /// Watts at the bank for AC watts on each inverter, by its place, and last for those that no run leads to, which all of
    /// them have room for; and whether that is less than is asked. `start`: the place where so many watts more start.
    fn at_bank(&self, ac_w: &[f64], start: Option<(usize, f64)>) -> Figure<(f64, bool)> {
        let asked = |place: usize| ac_w.get(place).copied().unwrap_or(0.0);
        let free = self.all.len();
        let (mut watts, mut is_capped, mut carried_w) = (0.0, false, 0.0);
        for (place, inv) in self.all.iter().enumerate() {
            let mut own_w = asked(place);
            if own_w <= 0.0 {
                continue;
            }
            let starts_w = start.filter(|(at, _)| *at == place).map(|(_, w)| w);
            let mut most_w = Some(inv.rated_w);
            if let Some(starts_w) = starts_w {
                // What runs beside it is within its rating: what is asked beyond that is cut.
                is_capped |= own_w > inv.rated_w;
                (own_w, most_w) = (own_w.min(inv.rated_w) + starts_w, inv.surge_w.clone()?);
            }
            let carries_w = most_w.map_or(own_w, |most| own_w.min(most));
            is_capped |= carries_w < own_w;
            watts += carries_w / share_of(self.c, inv.index)?;
            carried_w += carries_w;
        }
        let mut own_w = asked(free);
        if own_w > 0.0 {
            let rated_w: f64 = self.all.iter().map(|inv| inv.rated_w).sum();
            let mut most_w = Some(rated_w - carried_w);
            if let Some((_, starts_w)) = start.filter(|(at, _)| *at == free) {
                is_capped |= own_w > (rated_w - carried_w).max(0.0);
                own_w = own_w.min((rated_w - carried_w).max(0.0)) + starts_w;
                // None where one of them has none.
                let mut surge_w = Some(0.0);
                for inv in &self.all {
                    surge_w = surge_w.zip(inv.surge_w.clone()?).map(|(sum, own)| sum + own);
                }
                most_w = surge_w.map(|surge_w| surge_w - carried_w);
            }
            let carries_w = most_w.map_or(own_w, |most| own_w.min(most.max(0.0)));
            is_capped |= carries_w < own_w;
            watts += carries_w / share_of(self.c, lossiest(self.c)?)?;
        } else {
            let unloaded = self.all.iter().enumerate().filter(|(place, _)| asked(*place) <= 0.0);
            watts += unloaded.map(|(_, inv)| inv.idle_w).sum::<f64>();
        }
        Ok((watts, is_capped))
    }

    /// The place of the inverter that carries a load; that of what no run leads to.
    fn place(&self, shares: &Shares, load: usize) -> Figure<usize> {
        let own = own_inverter(self.c, shares, load)?;
        Ok(self.all.iter().position(|inv| Some(inv.index) == own).unwrap_or(self.all.len()))
    }
}

/// Watts that one of a load takes to start beyond what it takes running.
/// Source: common practice: of several motors one starts at a time.
pub(super) fn start_more_w(one_w: f64, surge_w: f64) -> f64 {
    (surge_w - one_w).max(0.0)
}

/// A load that runs: all of it, and what one more watt-hungry start adds to one that runs. DC at the bank, AC at outlets.
struct Running<'a> {
    index: usize,
    load: &'a Load,
    all_w: f64,
    start_w: Figure<f64>,
}

fn running<'a>(c: &Context<'a>, shares: &Shares) -> Figure<Vec<Running<'a>>> {
    let plan: &'a Plan = c.plan;
    let mut all = Vec::new();
    let stay = plan.loads.iter().enumerate().filter(|(_, l)| l.state.stays());
    for (i, load) in stay.filter(|(i, _)| !shares.is_apart(c, *i)) {
        let one = need(&load.watts_w, "loads", &load.id, "watts_w")?.0;
        let quantity = need(&load.quantity, "loads", &load.id, "quantity")?.0;
        let share = if load.supply == Supply::Dc { shares.get(i)? } else { 1.0 };
        let start_w = match &load.surge_w {
            Some(surge) if quantity > 0.0 => {
                surge.at(|| at("loads", &load.id, "surge_w")).map(|w| start_more_w(one, w.0) / share)
            }
            _ => Ok(0.0),
        };
        all.push(Running { index: i, load, all_w: one * quantity / share, start_w });
    }
    Ok(all)
}

/// What may run at once in a month: through one inverter, AC at its outlets and no more than it is rated for, and beside it.
#[derive(Clone, Copy, Default)]
pub(super) struct AtOnce {
    /// All its loads, W.
    pub(super) all_w: f64,
    /// The one that takes most: its place among the plan's loads, W.
    pub(super) largest: Option<(usize, f64)>,
    /// DC loads and other inverters, W at the bank.
    pub(super) beside_w: f64,
}

/// The same of every month.
/// Source: common practice; every load of a month runs at once.
pub(super) fn at_once(c: &Context<'_>, shares: &Shares, inverter: usize) -> Figure<[AtOnce; 12]> {
    let rated_w = |i: usize| {
        let inv = c.plan.inverters.get(i).ok_or_else(|| missing("inverters"))?;
        Ok::<f64, Missing>(need(&inv.watts_w, "inverters", &inv.id, "watts_w")?.0)
    };
    let own_w = rated_w(inverter)?;
    let mut by = Vec::new();
    for r in running(c, shares)? {
        let carrier = (r.load.supply == Supply::Inverter).then(|| carrier(c, shares, r.index)).transpose()?;
        by.push((r, carrier));
    }
    let mut months = [AtOnce::default(); 12];
    for (month, at) in months.iter_mut().enumerate() {
        let mut others = vec![0.0; c.plan.inverters.len()];
        for (r, carrier) in by.iter().filter(|(r, _)| is_used(c, r.load, month)) {
            match carrier {
                None => at.beside_w += r.all_w,
                Some(i) if *i == inverter => {
                    at.all_w += r.all_w;
                    if r.all_w > at.largest.map_or(0.0, |(_, w)| w) {
                        at.largest = Some((r.index, r.all_w));
                    }
                }
                Some(i) => others.get_mut(*i).into_iter().for_each(|sum| *sum += r.all_w),
            }
        }
        at.all_w = at.all_w.min(own_w);
        at.largest = at.largest.map(|(load, watts)| (load, watts.min(own_w)));
        for (i, watts) in others.into_iter().enumerate().filter(|(_, watts)| *watts > 0.0) {
            at.beside_w += watts.min(rated_w(i)?) / share_of(c, i)?;
        }
    }
    Ok(months)
}

/// What can run together, and the largest start beside it, in the month with most of each. Every load of a month runs
/// at once; what hangs on an inverter counts up to its rating, through its own efficiency. What a start takes is no matter
/// of what runs.
/// Source: common practice; the largest running set plus the largest start.
fn peaks(c: &Context<'_>, shares: &Shares) -> Figure<(TogetherFigures, Figure<SurgeFigures>)> {
    let all = running(c, shares)?;
    let has_ac = all.iter().any(|r| r.load.supply == Supply::Inverter && r.all_w > 0.0);
    let inverters = Inverters::of(c, shares)?;
    if has_ac && inverters.all.is_empty() {
        return Err(missing("inverters"));
    }
    let amps = |watts: f64| c.low_v().ok().filter(|v| *v > 0.0).map(|v| Amps(watts / v));
    let in_month = |month: usize| -> Figure<(f64, Vec<f64>)> {
        let (mut dc_w, mut ac_w) = (0.0, vec![0.0; inverters.all.len() + 1]);
        for r in all.iter().filter(|r| is_used(c, r.load, month)) {
            match r.load.supply {
                Supply::Dc => dc_w += r.all_w,
                Supply::Inverter if r.all_w > 0.0 => {
                    let place = inverters.place(shares, r.index)?;
                    ac_w.get_mut(place).into_iter().for_each(|sum| *sum += r.all_w);
                }
                Supply::Inverter => {}
            }
        }
        Ok((dc_w, ac_w))
    };
    let mut together: Option<TogetherFigures> = None;
    let lived = lived(c);
    for month in (0..12).filter(|m| lived[*m]) {
        let (dc_w, ac_w) = in_month(month)?;
        let (through_w, is_capped) = inverters.at_bank(&ac_w, None)?;
        let (watts, ac_w) = (dc_w + through_w, ac_w.iter().sum());
        // Of months that draw as much, as what an inverter may not carry does not, the one that asks for most.
        let is_more = |t: TogetherFigures| watts > t.watts.0 || watts == t.watts.0 && dc_w + ac_w > t.dc_w + t.ac_w;
        if together.is_none_or(is_more) {
            together = Some(TogetherFigures { month, dc_w, ac_w, watts: Watts(watts), amps: amps(watts), is_capped });
        }
    }
    let largest = || {
        let mut surge: Option<SurgeFigures> = None;
        for month in (0..12).filter(|m| lived[*m]) {
            let (dc_w, ac_w) = in_month(month)?;
            let (through_w, is_capped) = inverters.at_bank(&ac_w, None)?;
            let watts = dc_w + through_w;
            let mut consider = |load: Option<&Id>, watts: f64, is_capped: bool| {
                if surge.as_ref().is_none_or(|s| watts > s.watts.0) {
                    let load = load.cloned();
                    surge = Some(SurgeFigures { load, month, watts: Watts(watts), amps: amps(watts), is_capped });
                }
            };
            consider(None, watts, is_capped);
            for r in all.iter().filter(|r| is_used(c, r.load, month)) {
                let start_w = r.start_w.clone()?;
                let (watts, is_capped) = match r.load.supply {
                    _ if start_w <= 0.0 => continue,
                    Supply::Dc => (watts + start_w, is_capped),
                    Supply::Inverter => {
                        let start = (inverters.place(shares, r.index)?, start_w);
                        let (through_w, is_capped) = inverters.at_bank(&ac_w, Some(start))?;
                        (dc_w + through_w, is_capped)
                    }
                };
                consider(Some(&r.load.id), watts, is_capped);
            }
        }
        surge.ok_or_else(|| missing("loads"))
    };
    let together = together.ok_or_else(|| missing("loads"))?;
    Ok((together, largest()))
}
