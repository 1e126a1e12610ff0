//! An array's hours of light, one after another.

use crate::engine::lit::{Offer, OfferHour};
use crate::physics::array::Array;
use crate::physics::module::Point;

use super::{Lighting, Lost};

/// An array on its way through a part of the year.
#[derive(Clone, Default)]
pub(super) struct Beam<'a> {
    /// The hour it is in; none where it is dark.
    pub(super) lit: Option<&'a OfferHour>,
    /// Its hours of light from here on.
    pub(super) left: &'a [OfferHour],
    /// The best points of these, as far as the month goes; empty where the controller does not look for them.
    pub(super) points: &'a [Point],
    /// Where it is not even: what it is made of in this hour, and what says so.
    pub(super) array: Array,
    pub(super) offer: Option<&'a Offer>,
    /// What its controller loses in the part that runs.
    pub(super) lost: Lost,
    /// What its controller draws from the bank while it is lit, and in the dark.
    pub(super) lit_w: f64,
    pub(super) dark_w: f64,
    /// Loop resistance to its controller, and whether that is a tracker.
    pub(super) pv_ohm: f64,
    pub(super) tracks: bool,
}

impl<'a> Beam<'a> {
    /// To where a part of a month begins.
    pub(super) fn go_to(&mut self, light: &'a Lighting, month: usize, begin: u16) {
        let hours = &light.offer.hours;
        self.offer = Some(&light.offer);
        let first = hours.partition_point(|h| h.hour < begin);
        let (points, before) = light.best.as_ref().map_or((&[][..], 0), |best| best.month(month));
        self.left = hours.get(first..).unwrap_or_default();
        self.points = first.checked_sub(before).and_then(|i| points.get(i..)).unwrap_or_default();
    }

    /// The next hour in which it is lit.
    pub(super) fn next(&self) -> u16 {
        self.left.first().map_or(u16::MAX, |hour| hour.hour)
    }
}
