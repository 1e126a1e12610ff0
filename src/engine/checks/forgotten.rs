//! Small parts that the drawing wants and the price has nothing for.

use crate::engine::Work;
use crate::engine::finding::{Check, Finding, Level};
use crate::engine::gather::Gathered;
use crate::engine::parts::SmallParts;
use crate::plan::Known;
use crate::plan::ledger::Money;
use crate::standards::source::COMMON_PRACTICE;
use crate::words::counted;

static FORGOTTEN: Check = Check {
    id: "small-parts-not-priced",
    safety: false,
    say: |f| format!("the price has no consumables, and the drawing wants {}: the wire schedule lists them", f.name(0)),
};

/// Whether anybody has begun to make a price.
fn is_priced(money: &Money) -> bool {
    matches!(money.labour_rate, Known::Is(_))
        || money.travel.is_some()
        || money.markup_pct.is_some()
        || money.deposit_pct.is_some()
        || !money.tasks.is_empty()
        || !money.taxes.is_empty()
}

/// Counted only where the price has nothing for them: an amount, and one that is still to be found, is an answer.
pub(super) fn all(w: &Work<'_>, out: &mut Gathered) {
    let money = &w.context.plan.money;
    if money.consumables.is_some() || !is_priced(money) {
        return;
    }
    let parts = SmallParts::drawn(w.context);
    let tubes = parts.tubes().unwrap_or(0);
    let numbers = [parts.lugs(), parts.open_ends(), parts.glands(), tubes, parts.spare_fuses()];
    let words = ["lug", "end of unknown stud", "roof gland", "tube of sealant", "spare fuse"];
    let said = |(n, what): (&usize, &str)| match (n, what.split_once(' ')) {
        (0, _) => None,
        (n, Some((head, rest))) if head != "roof" && head != "spare" => Some(format!("{} {rest}", counted(n, head))),
        (n, _) => Some(counted(n, what)),
    };
    let named: Vec<String> = numbers.iter().zip(words).filter_map(said).collect();
    if named.is_empty() {
        return;
    }
    let numbers = numbers.map(|n| n as f64);
    let found = Finding::new(&FORGOTTEN, Level::Note, "money.consumables".into(), &numbers, &COMMON_PRACTICE);
    out.take(&FORGOTTEN, || "money.consumables".into(), Ok(Some(found.named([named.join(", ")]))));
}
