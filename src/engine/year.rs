//! The year stage: the charging circuit solved hour by hour.

use crate::physics::array::Array;
use crate::physics::module::Point;

use super::lit::{Offer, OfferHour};
use super::memo::Stage;
use super::solve::{Charging, Flow, Lit, Solar, solve_at_best, solve_from};

/// A controller's array at one stay.
#[derive(Clone, Debug, PartialEq)]
pub struct Lighting {
    pub offer: Stage<Offer>,
    /// Its best points behind the PV loop; none where the controller does not look for them.
    pub best: Option<Stage<Vec<Point>>>,
}

/// What the year stage depends on: per controller the offers of its array at each stay.
#[derive(Clone, Debug, PartialEq)]
pub struct YearInput {
    pub circuit: Charging,
    /// One list a stay, one a controller.
    pub stays: Vec<Vec<Lighting>>,
}

/// The year stage's result: whole months, January first, and whole-year losses.
#[derive(Clone, Debug, PartialEq)]
pub struct Year {
    /// Arriving at the posts.
    pub harvest_wh: [f64; 12],
    /// Lost in each controller's PV loop, a year.
    pub pv_loss_wh: Vec<f64>,
    /// Lost in each segment, a year.
    pub segment_loss_wh: Vec<f64>,
    /// Lost to each controller's current limit, a year.
    pub clipped_wh: Vec<f64>,
    /// Lost by each controller whose array's best volts lay below the bank's, a year.
    pub held_wh: Vec<f64>,
}

/// Runs the year.
#[must_use]
pub fn year(input: &YearInput) -> Year {
    let circuit = &input.circuit;
    let mut out = Year {
        harvest_wh: [0.0; 12],
        pv_loss_wh: vec![0.0; circuit.solars.len()],
        segment_loss_wh: vec![0.0; circuit.segments_ohm.len()],
        clipped_wh: vec![0.0; circuit.solars.len()],
        held_wh: vec![0.0; circuit.solars.len()],
    };
    for lights in &input.stays {
        run_stay(circuit, lights, &mut out);
    }
    out
}

fn run_stay(circuit: &Charging, lights: &[Lighting], out: &mut Year) {
    let mut at = vec![0_usize; lights.len()];
    let mut arrays: Vec<Array> = lights.iter().map(|_| Array::default()).collect();
    let mut flow = Flow::of(circuit);
    let mut best: Vec<Point> = Vec::with_capacity(lights.len());
    // Every array of a stay sees the same sky, so their hours run in step unless a horizon darkens one.
    while let Some((hour, month)) =
        lights.iter().zip(&at).filter_map(|(l, i)| l.offer.hours.get(*i)).map(|h| (h.hour, h.month)).min()
    {
        best.clear();
        best.extend(lights.iter().zip(&at).map(|(light, i)| best_now(light, *i, hour)));
        if !solve_at_best(circuit, &best, &mut flow) {
            general(circuit, lights, &at, hour, &best, &mut arrays, &mut flow);
        }
        account(circuit, usize::from(month), &flow, out);
        for (k, (light, i)) in lights.iter().zip(&mut at).enumerate() {
            if let Some(h) = now(&light.offer, *i, hour) {
                if let (Some(share), Some(slot)) = (flow.shares.get(k), out.held_wh.get_mut(k))
                    && share.held
                {
                    *slot += (h.best.power_w() - share.pv_v * share.pv_a).max(0.0);
                }
                *i += 1;
            }
        }
    }
}

/// A moment that needs the arrays' whole curves.
fn general(
    circuit: &Charging,
    lights: &[Lighting],
    at: &[usize],
    hour: u16,
    best: &[Point],
    arrays: &mut [Array],
    flow: &mut Flow,
) {
    for ((light, i), array) in lights.iter().zip(at).zip(arrays.iter_mut()) {
        if let Some(h) = now(&light.offer, *i, hour)
            && h.even.is_none()
        {
            light.offer.fill(h, array);
        }
    }
    let lit: Vec<Lit<'_>> = lights
        .iter()
        .zip(at)
        .zip(arrays.iter())
        .map(|((light, i), array)| match now(&light.offer, *i, hour) {
            None => Lit::None,
            Some(OfferHour { even: Some(cell), junction_v, .. }) => Lit::Even { cell, junction_v: *junction_v },
            Some(_) => Lit::Mixed(array),
        })
        .collect();
    solve_from(circuit, &lit, best, flow);
}

fn now(offer: &Stage<Offer>, at: usize, hour: u16) -> Option<&OfferHour> {
    offer.hours.get(at).filter(|h| h.hour == hour)
}

fn best_now(light: &Lighting, at: usize, hour: u16) -> Point {
    let best = light.best.as_ref().and_then(|b| b.get(at)).copied().unwrap_or_default();
    if now(&light.offer, at, hour).is_some() { best } else { Point::default() }
}

fn account(circuit: &Charging, month: usize, flow: &Flow, out: &mut Year) {
    let mut posts_a = 0.0;
    for (k, share) in flow.shares.iter().enumerate() {
        posts_a += share.out_a;
        if let Some(solar) = circuit.solars.get(k) {
            add(&mut out.pv_loss_wh, k, share.pv_a * share.pv_a * solar.pv_ohm);
        }
        add(&mut out.clipped_wh, k, share.clipped_w);
    }
    for (s, (ohm, a)) in circuit.segments_ohm.iter().zip(&flow.segments_a).enumerate() {
        add(&mut out.segment_loss_wh, s, a * a * ohm);
    }
    add(&mut out.harvest_wh, month, posts_a * circuit.bank_v);
}

fn add(list: &mut [f64], at: usize, value: f64) {
    if let Some(slot) = list.get_mut(at) {
        *slot += value;
    }
}

/// Whether a circuit can be solved at all: a sane bank and no negative resistance.
#[must_use]
pub fn is_sound(circuit: &Charging) -> bool {
    let solid = |solar: &Solar| solar.pv_ohm.is_finite() && solar.pv_ohm >= 0.0;
    circuit.bank_v.is_finite() && circuit.bank_v > 0.0 && circuit.solars.iter().all(solid)
}
