//! The commonest moments of a year with arrays joined to their bank by a switch: one or two even ones give all
//! they can or hold their volts. Their junctions' volts and those of the posts are found together by Newton's method.
//!
//! Whatever else a moment is goes to [`super::joint`], which finds the same here.

use std::array::from_fn;

use crate::physics::battery::{BankHour, Limit};
use crate::physics::module::Cell;

use super::holding::{Holding, share_out};
use super::joint::{NEAR, NEAR_JUNCTION, SMALL};
use super::meet::LEAST_SHARE;
use super::source::{is_dark, joined_at};
use super::straight::{Met, solved};
use super::{Charging, Flow, Lit, Makes, Moment, held_v};

/// Steps at most; three do.
const STEPS: usize = 12;

/// An array that gives.
#[derive(Clone, Copy)]
struct Given<'a> {
    k: usize,
    cell: &'a Cell,
    /// Of cells, loop and way together.
    ohm: f64,
    block_v: f64,
    most_a: f64,
}

impl<'a> Given<'a> {
    /// An even one.
    #[inline]
    fn of(circuit: &Charging, moment: &Moment<'a>, k: usize) -> Option<Self> {
        let solar = circuit.solars.get(k)?;
        match (&solar.makes, moment.lit.get(k)?) {
            (Makes::Pwm { block_v, most_a }, Lit::Even { cell, .. }) => {
                let ohm = cell.rs_ohm + solar.pv_ohm + circuit.own_ohm(k);
                Some(Given { k, cell, ohm, block_v: *block_v, most_a: *most_a })
            }
            _ => None,
        }
    }
}

/// Solves the moment if it is one of these; `false`: it is not, and nothing is changed.
#[inline(never)]
pub(super) fn met(circuit: &Charging, now: &BankHour<'_>, moment: &Moment<'_>, flow: &mut Flow) -> bool {
    if moment.feeding.iter().any(|share| *share > 0.0) {
        return false;
    }
    let mut lit = (0..circuit.solars.len()).filter(|k| !is_dark(circuit, moment, *k));
    match (lit.next(), lit.next(), lit.next()) {
        (Some(a), None, _) => met_by(circuit, now, moment, [a]).is_some_and(|met| met.put(circuit, flow)),
        (Some(a), Some(b), None) => met_by(circuit, now, moment, [a, b]).is_some_and(|met| met.put(circuit, flow)),
        _ => false,
    }
}

/// The same of the arrays of a circuit, so many, all lit where nothing else gives.
#[inline]
pub(in crate::engine) fn by_sun<const N: usize>(
    circuit: &Charging,
    now: &BankHour<'_>,
    moment: &Moment<'_>,
) -> Option<Met<N>> {
    met_by(circuit, now, moment, from_fn(|k| k))
}

#[inline(never)]
fn met_by<const N: usize>(
    circuit: &Charging,
    now: &BankHour<'_>,
    moment: &Moment<'_>,
    lit: [usize; N],
) -> Option<Met<N>> {
    let mut all = [Given::of(circuit, moment, *lit.first()?)?; N];
    for (slot, k) in all.iter_mut().zip(lit).skip(1) {
        *slot = Given::of(circuit, moment, k)?;
    }
    met_of(circuit, now, moment, all)
}

#[inline]
fn met_of<const N: usize>(
    circuit: &Charging,
    now: &BankHour<'_>,
    moment: &Moment<'_>,
    given: [Given<'_>; N],
) -> Option<Met<N>> {
    let absorb_v = circuit.absorb_v(moment.battery_c);
    let (mut holds, mut sensed) = ([(0.0, false); N], [false; N]);
    for (i, one) in given.iter().enumerate() {
        let setting = circuit.setting(one.k)?;
        holds[i] = held_v(setting, now, moment, moment.held_h.get(one.k).copied().unwrap_or(0.0));
        sensed[i] = setting.sensed;
    }
    let ohm = given.map(|one| given.map(|other| circuit.shared_ohm(one.k, other.k)));
    let all = Joined { given, ohm, holds };
    let is_past = holds.iter().any(|(_, floating)| *floating);
    if is_past && let Some(met) = above(circuit, now, moment, &all, absorb_v) {
        return Some(met);
    }
    let (amps, posts_v) = match currents(now, moment.load_w, &given, &ohm, absorb_v) {
        Near::At(amps, posts_v) => (amps, posts_v),
        Near::Above if is_past => return None,
        Near::Above => return above(circuit, now, moment, &all, absorb_v),
        Near::Not => return None,
    };
    let net_a = amps.iter().sum::<f64>() - moment.load_w / posts_v;
    let flows = match net_a > 0.0 {
        true => posts_v <= absorb_v && now.may_charge() && net_a <= now.most_charge_a(),
        false => now.hinders(-net_a, posts_v) == Limit::None,
    };
    let out_v = ohm.map(|row| posts_v + row.iter().zip(&amps).map(|(ohm, a)| ohm * a).sum::<f64>());
    let is_above = |i: usize| (if sensed[i] { posts_v } else { out_v[i] }) > holds[i].0;
    if !flows || (0..N).any(|i| amps[i] < 0.0 || amps[i] > given[i].most_a) {
        return None;
    }
    if (0..N).any(is_above) {
        return held(circuit, now, moment, &all, (&amps, posts_v));
    }
    let shares = from_fn(|i| joined_at(given[i].block_v, amps[i], out_v[i]));
    Some(Met { net_a, ..Met::of_suns(given.map(|one| one.k), amps, shares, holds, posts_v) })
}

/// Arrays that give, the ohms that they share, and what each holds.
struct Joined<'a, const N: usize> {
    given: [Given<'a>; N],
    ohm: [[f64; N]; N],
    /// Volts, and whether it is past absorption.
    holds: [(f64, bool); N],
}

/// The same where what they would give into absorption brings the bank as high.
#[inline]
fn above<const N: usize>(
    circuit: &Charging,
    now: &BankHour<'_>,
    moment: &Moment<'_>,
    all: &Joined<'_, N>,
    absorb_v: f64,
) -> Option<Met<N>> {
    let offers = currents_into(absorb_v, &all.given, &all.ohm)?;
    let net_a = offers.iter().sum::<f64>() - moment.load_w / absorb_v;
    let binds = net_a > 0.0 && now.needs_more(net_a, absorb_v);
    if binds { held(circuit, now, moment, all, (&offers, absorb_v)) } else { None }
}

/// All of them holding their volts and able to give more than that, as they offer, while the bank charges; none where it
/// takes another way. Source: as [`Holding`].
fn held<const N: usize>(
    circuit: &Charging,
    now: &BankHour<'_>,
    moment: &Moment<'_>,
    Joined { given, ohm, holds }: &Joined<'_, N>,
    (offers, offered_v): (&[f64; N], f64),
) -> Option<Met<N>> {
    if !now.may_charge() || (0..N).any(|i| offers[i] <= 0.0 || offers[i] > given[i].most_a) {
        return None;
    }
    let holding = Holding::among(circuit, given.map(|one| one.k), holds.map(|(held_v, _)| held_v))?;
    let (net_a, volts) = holding.charging(now, moment.load_w)?;
    let amps: [f64; N] = from_fn(|i| holding.pull[i] - volts * holding.conductance[i]);
    let could_more = (0..N).all(|i| (0.0..offers[i]).contains(&amps[i]));
    if net_a >= now.most_charge_a() || volts > offered_v || !could_more {
        return None;
    }
    let out_v = |i: usize| offered_v + ohm[i].iter().zip(offers).map(|(ohm, a)| ohm * a).sum::<f64>();
    let shares = from_fn(|i| joined_at(given[i].block_v, offers[i], out_v(i)));
    let mut met = Met::of_suns(given.map(|one| one.k), *offers, shares, *holds, offered_v);
    met.amps = amps;
    share_out(net_a + moment.load_w / volts, &mut met.amps);
    Some(Met { posts_v: volts, net_a, limit: Limit::Held, ..met })
}

/// What the arrays give into posts at some volts; none where it takes another way.
/// Source: single-diode equation, Kirchhoff's laws; Newton's method in all of them.
#[inline]
fn currents_into<const N: usize>(posts_v: f64, given: &[Given<'_>; N], ohm: &[[f64; N]; N]) -> Option<[f64; N]> {
    let mut junction_v = junctions(posts_v, given, ohm);
    let (mut amps, mut conductance) = ([0.0; N], [0.0; N]);
    for _ in 0..STEPS {
        for i in 0..N {
            (amps[i], conductance[i]) = given[i].cell.junction_line(junction_v[i]);
        }
        let Lines { off_v, stretch, slope, rows } = lines((&junction_v, &amps, &conductance), posts_v, given, ohm);
        let [change] = solved(rows, [from_fn(|i| slope[i] * off_v[i])]);
        let mut near = true;
        for i in 0..N {
            let others: f64 = (0..N).filter(|j| *j != i).map(|j| ohm[i][j] * change[j]).sum();
            amps[i] += change[i];
            let junction_step_v = (others - off_v[i]) * stretch[i];
            junction_v[i] += junction_step_v;
            near &= junction_step_v.abs() <= NEAR_JUNCTION * given[i].cell.a_v;
        }
        if near {
            return Some(amps);
        }
    }
    None
}

/// How far every junction is off, how fast that is mended, the slope of its current, and what the others do to it.
struct Lines<const N: usize> {
    off_v: [f64; N],
    stretch: [f64; N],
    slope: [f64; N],
    rows: [[f64; N]; N],
}

/// The straight lines of Newton's method at junction volts, their currents and conductances.
#[inline(always)]
fn lines<const N: usize>(
    (junction_v, amps, conductance): (&[f64; N], &[f64; N], &[f64; N]),
    posts_v: f64,
    given: &[Given<'_>; N],
    ohm: &[[f64; N]; N],
) -> Lines<N> {
    let (mut stretch, mut slope, mut off_v) = ([0.0; N], [0.0; N], [0.0; N]);
    let mut rows = [[0.0; N]; N];
    for i in 0..N {
        let others: f64 = (0..N).filter(|j| *j != i).map(|j| ohm[i][j] * amps[j]).sum();
        off_v[i] = junction_v[i] - given[i].ohm * amps[i] - posts_v - others - given[i].block_v;
        stretch[i] = (1.0 + given[i].ohm * conductance[i]).recip();
        slope[i] = conductance[i] * stretch[i];
        rows[i] = ohm[i].map(|ohm| ohm * slope[i]);
        rows[i][i] = 1.0;
    }
    Lines { off_v, stretch, slope, rows }
}

/// Where the junctions stand at most, were the others to give as much as each does.
#[inline]
fn junctions<const N: usize>(posts_v: f64, given: &[Given<'_>; N], ohm: &[[f64; N]; N]) -> [f64; N] {
    from_fn(|i| {
        let others: f64 = (0..N).filter(|j| *j != i).map(|j| ohm[i][j]).sum();
        let Given { cell, ohm, block_v, .. } = given[i];
        cell.junction_bound_v(posts_v + block_v, ohm + others - cell.rs_ohm)
    })
}

/// Where they stand with nothing held.
enum Near<const N: usize> {
    /// What the arrays give, and the volts of the posts.
    At([f64; N], f64),
    /// Above what they absorb at.
    Above,
    /// It takes another way.
    Not,
}

/// What the arrays give with nothing held, and the volts of the posts.
/// Source: single-diode equation, Kirchhoff's laws, the bank's curve; Newton's method in all of them.
#[inline]
fn currents<const N: usize>(
    now: &BankHour<'_>,
    load_w: f64,
    given: &[Given<'_>; N],
    ohm: &[[f64; N]; N],
    absorb_v: f64,
) -> Near<N> {
    let rest_v = now.rest_v();
    let mut junction_v = junctions(rest_v, given, ohm);
    let (mut amps, mut conductance) = ([0.0; N], [0.0; N]);
    for i in 0..N {
        (amps[i], conductance[i]) = given[i].cell.junction_line(junction_v[i]);
    }
    let mut seen_a = amps.iter().sum::<f64>() - load_w / rest_v;
    let (charging, either) = (seen_a > 0.0, now.is_one_line());
    let mut bank = now.curve(seen_a);
    let mut posts_v = bank.volts;
    if posts_v > absorb_v {
        return Near::Above;
    }
    let least_v = LEAST_SHARE * now.discharge_rest_v();
    for _ in 0..STEPS {
        let load_a = load_w / posts_v;
        let net_a = amps.iter().sum::<f64>() - load_a;
        let Lines { off_v, stretch, slope, rows } = lines((&junction_v, &amps, &conductance), posts_v, given, ohm);
        // Every current's change with those of the others in it, over that of the posts' volts alone.
        let [change, fall] = solved(rows, [from_fn(|i| slope[i] * off_v[i]), slope]);
        let rise = 1.0 + bank.ohm * (fall.iter().sum::<f64>() - load_a / posts_v);
        if rise < 0.05 {
            return Near::Not;
        }
        let off = bank.volts - posts_v + bank.ohm * (net_a - seen_a + change.iter().sum::<f64>());
        let step_v = off / rise;
        let steps: [f64; N] = from_fn(|i| change[i] - fall[i] * step_v);
        let mut near = step_v.abs() <= NEAR * posts_v;
        posts_v += step_v;
        if posts_v.is_nan() || posts_v <= least_v {
            return Near::Not;
        }
        for i in 0..N {
            let others: f64 = (0..N).filter(|j| *j != i).map(|j| ohm[i][j] * steps[j]).sum();
            amps[i] += steps[i];
            let junction_step_v = (step_v + others - off_v[i]) * stretch[i];
            junction_v[i] += junction_step_v;
            near &= junction_step_v.abs() <= NEAR_JUNCTION * given[i].cell.a_v;
        }
        if near {
            let net_a = amps.iter().sum::<f64>() - load_w / posts_v;
            let fits = either || (net_a > 0.0) == charging && (net_a - seen_a).abs() <= SMALL * net_a.abs();
            return if fits { Near::At(amps, posts_v) } else { Near::Not };
        }
        for i in 0..N {
            (amps[i], conductance[i]) = given[i].cell.junction_line(junction_v[i]);
        }
        let net_a = amps.iter().sum::<f64>() - load_w / posts_v;
        // Beyond zero its own side's curve goes on straight until all agree.
        seen_a = match charging {
            _ if either => net_a,
            true => net_a.max(0.0),
            false => net_a.min(-f64::MIN_POSITIVE),
        };
        bank = now.curve(seen_a);
    }
    Near::Not
}
