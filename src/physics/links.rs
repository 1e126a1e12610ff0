//! Equal batteries in parallel, joined from post to post by equal links in both poles: what each of them gives.

/// Where the two leads of a bank are taken off.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TakeOff {
    /// Both at the first battery.
    OneEnd,
    /// The positive at the first battery, the negative at the last.
    Corners,
}

/// A link of so many times a battery's ohms leaves the batteries behind it nothing that could be told.
const MOST_RATIO: f64 = 1e6;

/// Part of the bank's current that each battery gives, the first first; `ratio`: ohms of one link over those of one battery.
///
/// Batteries of equal open-circuit volts differ in what they give by the volts that links lose between them, over their ohms.
/// With both leads at one end a link carries in each pole what all behind it give. With leads at opposite corners the bank is
/// the same seen from either end, and between a battery and the next one inward the poles lose unlike volts: by what those
/// give that lie between it and its like at the other end. So each follows from those behind or inside it, all of one sign.
/// Source: Kirchhoff's laws.
#[must_use]
pub fn shares(take_off: TakeOff, count: usize, ratio: f64) -> Vec<f64> {
    let ratio = ratio.clamp(0.0, MOST_RATIO);
    let mut given = vec![1.0; count];
    match take_off {
        TakeOff::OneEnd => {
            let mut behind = 0.0;
            let mut last = 1.0;
            for own in given.iter_mut().rev() {
                *own = if behind > 0.0 { last + 2.0 * ratio * behind } else { 1.0 };
                (last, behind) = (*own, behind + *own);
            }
        }
        TakeOff::Corners => {
            let (mut inside, mut last) = (if count % 2 == 1 { 1.0 } else { 2.0 }, 1.0);
            for near in (0..count.saturating_sub(1) / 2).rev() {
                let own = last + ratio * inside;
                for place in [near, count - 1 - near] {
                    given.get_mut(place).into_iter().for_each(|x| *x = own);
                }
                (last, inside) = (own, inside + 2.0 * own);
            }
        }
    }
    let total: f64 = given.iter().sum();
    given.iter_mut().for_each(|x| *x /= total.max(1e-300));
    given
}

/// Part of the bank's current in the link that carries most: the one beside a take-off, which carries what all batteries but
/// that one give.
/// Source: Kirchhoff's laws.
#[must_use]
pub fn most_in_link(shares: &[f64]) -> f64 {
    shares.iter().skip(1).sum()
}
