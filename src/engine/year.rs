//! The year stage: the charging circuit solved hour by hour.

use crate::physics::array::Array;

use super::lit::{Offer, OfferHour};
use super::memo::Stage;
use super::solve::{Charging, Flow, Lit, Solar, solve};

/// What the year stage depends on: per controller the offers of its array at each stay.
#[derive(Clone, Debug, PartialEq)]
pub struct YearInput {
    pub circuit: Charging,
    /// One list a stay, one offer a controller.
    pub stays: Vec<Vec<Stage<Offer>>>,
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
    for offers in &input.stays {
        run_stay(circuit, offers, &mut out);
    }
    out
}

fn run_stay(circuit: &Charging, offers: &[Stage<Offer>], out: &mut Year) {
    let all_even = offers.iter().all(|o| o.hours.iter().all(|h| h.even.is_some()));
    let mut at = vec![0_usize; offers.len()];
    let mut arrays: Vec<Array> = offers.iter().map(|_| Array::default()).collect();
    let mut flow = Flow::default();
    let mut even: Vec<Lit<'_>> = Vec::with_capacity(offers.len());
    // Every array of a stay sees the same sky, so their hours run in step unless a horizon darkens one.
    while let Some((hour, month)) =
        offers.iter().zip(&at).filter_map(|(o, i)| o.hours.get(*i)).map(|h| (h.hour, h.month)).min()
    {
        if all_even {
            even.clear();
            even.extend(offers.iter().zip(&at).map(|(offer, i)| lit_even(now(offer, *i, hour))));
            solve(circuit, &even, &mut flow);
        } else {
            for ((offer, i), array) in offers.iter().zip(&at).zip(&mut arrays) {
                if let Some(h) = now(offer, *i, hour)
                    && h.even.is_none()
                {
                    offer.fill(h, array);
                }
            }
            let lit: Vec<Lit<'_>> = offers
                .iter()
                .zip(&at)
                .zip(&arrays)
                .map(|((offer, i), array)| match now(offer, *i, hour) {
                    Some(OfferHour { even: None, .. }) => Lit::Mixed(array),
                    other => lit_even(other),
                })
                .collect();
            solve(circuit, &lit, &mut flow);
        }
        account(circuit, usize::from(month), &flow, out);
        for (k, (offer, i)) in offers.iter().zip(&mut at).enumerate() {
            if let Some(h) = now(offer, *i, hour) {
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

fn now(offer: &Stage<Offer>, at: usize, hour: u16) -> Option<&OfferHour> {
    offer.hours.get(at).filter(|h| h.hour == hour)
}

fn lit_even(hour: Option<&OfferHour>) -> Lit<'_> {
    match hour {
        Some(OfferHour { even: Some(cell), junction_v, .. }) => Lit::Even { cell, junction_v: *junction_v },
        _ => Lit::None,
    }
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
