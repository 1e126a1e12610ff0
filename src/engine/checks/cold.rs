//! Lithium charged in the cold: what prevents it, and from how many degrees.

mod stored;

use crate::engine::Work;
use crate::engine::compile::{HEATER_ABOVE_K, bank};
use crate::engine::finding::{Check, Finding, Level};
use crate::engine::gather::{Gathered, Outcome};
use crate::engine::sites::coldest_month;
use crate::engine::starting::{StartBattery, start_batteries};
use crate::physics::warmth::{heated, loss_w_k, outside_c};
use crate::plan::lists::MONTH_NAMES;
use crate::plan::{Device, FieldPath, Figure, Known, Missing, YesNo};
use crate::standards::chemistry::ChemistryRow;
use crate::standards::source::{Source, Standing};
use crate::units::{Celsius, Watts};

use super::digits;
use super::profile::profiles;

static LFP_COLD: Source = Source::new("LFP", "no charge below 0 C", Standing::FromMemory);

static COLD: Check = Check {
    id: "lithium-charged-cold",
    safety: true,
    say: |f| {
        let (bank_c, least_c, air_c) = (f.n(0), f.n(1), f.n(2));
        let who = if f.name(3).is_empty() { "BK" } else { f.name(3) };
        let down = |c: f64| match f.name(2) {
            "" => format!("air down to {c:.0} C"),
            month => format!("{} C in it on the mean of {month}", digits::apart(c, least_c, 1).0),
        };
        if f.name(0) == "low" {
            let (stops, most) = digits::apart(f.n(2), least_c, 0);
            let lets = format!("its cut-off lets charge in down to {stops} C");
            let how =
                format!("under {most} C lithium plates, unless the maker's sheet allows it (rule lfp-charge-least-c)");
            let colder = match f.name(1) {
                "" => down(bank_c),
                _ => format!("in the coldest air its heater holds it at {bank_c:.0} C"),
            };
            return format!("{who}: {colder}, and {lets}; {how}");
        }
        if f.numbers.len() < 5 {
            return format!("{who}: {} and nothing stops charging below {least_c:.0} C", down(bank_c));
        }
        let (held, cut_off) = digits::apart(bank_c, least_c, 0);
        format!(
            "{who}: {}, where its heater of {:.0} W against {:.1} W lost per kelvin holds it at {held} C, \
             and nothing stops charging below {cut_off} C",
            down(air_c),
            f.n(3),
            f.n(4)
        )
    },
};

/// What is charged: the bank or a start battery, and what keeps charge from it in the cold.
struct Charged<'a> {
    /// None: the bank.
    start: Option<(usize, &'a Device)>,
    row: Figure<&'static ChemistryRow>,
    cutoff_c: Option<&'a Known<Celsius>>,
    heater_w: Option<&'a Known<Watts>>,
    heated: Known<YesNo>,
    is_insulated: bool,
}

impl<'a> Charged<'a> {
    fn bank(w: &Work<'a>) -> Self {
        let bank = &w.context.plan.bank;
        Self {
            start: None,
            row: w.context.chemistry(),
            cutoff_c: bank.charge_cutoff_c.as_ref(),
            heater_w: bank.heater_w.as_ref(),
            heated: bank.heated,
            is_insulated: bank.insulated == YesNo::Yes,
        }
    }

    fn start(w: &Work<'a>, index: usize, device: &'a Device) -> Self {
        Self {
            start: Some((index, device)),
            row: StartBattery::of(w.context, index).map(|own| own.row),
            cutoff_c: device.charge_cutoff_c.as_ref(),
            heater_w: device.heater_w.as_ref(),
            heated: device.heated.unwrap_or(Known::Is(YesNo::No)),
            is_insulated: false,
        }
    }

    fn path(&self) -> FieldPath {
        self.start.map_or_else(|| "bank".into(), |(_, device)| FieldPath::of(&["devices", device.id.as_str()]))
    }

    fn field(&self, name: &str) -> FieldPath {
        self.path().join(name)
    }

    /// What a start battery is called in the sentence; nothing for the bank.
    fn name(&self) -> &str {
        self.start.map_or("", |(_, device)| device.id.as_str())
    }

    fn found(&self, level: Level, numbers: &[f64], names: [&str; 3]) -> Finding {
        let [how, heated, month] = names;
        let found = Finding::new(&COLD, level, self.path(), numbers, &LFP_COLD);
        found.named([how, heated, month, self.name()]).smaller_is_worse()
    }

    /// Heat that it loses for each kelvin. Source: [`loss_w_k`], by label volts and Ah of a start battery.
    fn loss_w_k(&self, w: &Work<'_>) -> Figure<f64> {
        let Some((index, device)) = self.start else {
            let batteries = w.context.series()? * w.context.parallel()?;
            return Ok(loss_w_k(bank(w.context)?.energy_wh(1.0) / batteries.max(1.0), batteries));
        };
        let field = || self.field("unit_ah");
        let ah = device.unit_ah.as_ref().ok_or_else(|| Missing(field()))?.at(field)?.0;
        let own = StartBattery::of(w.context, index)?;
        Ok(loss_w_k(own.row.nominal_v * own.twelves * ah, 1.0))
    }
}

/// How cold a battery outside gets on the mean of the coldest month that has a stay, and that month.
/// Source: as in the year, `outside_c` of a month that is as warm as its mean on every day.
fn coldest_in(w: &Work<'_>, of: &Charged<'_>) -> Option<(f64, usize)> {
    coldest_month(w.context.plan, w.spots).map(|(air_c, month)| (outside_c(air_c, of.is_insulated), month))
}
/// Every battery that something charges: the bank, where a source is its own, and each start battery whose kind is entered, which its
/// engine charges whether that is drawn or not.
fn charged<'a>(w: &'a Work<'_>) -> impl Iterator<Item = Charged<'a>> {
    let plan = w.context.plan;
    let of_bank = plan.bank.state.stays() && profiles(w).iter().any(|p| p.start.is_none());
    let starts = start_batteries(plan).filter(|(_, d)| d.chemistry.is_some());
    of_bank.then(|| Charged::bank(w)).into_iter().chain(starts.map(|(i, device)| Charged::start(w, i, device)))
}

pub(super) fn all(w: &Work<'_>, out: &mut Gathered) {
    for of in charged(w) {
        out.take(&COLD, || of.path(), cold(w, &of));
        out.take(&stored::STORED, || of.path(), stored::stored(w, &of));
    }
}

/// The batteries that would be charged too cold in such air and are not in that of the plan, and how grave that is.
pub(super) fn charged_at(w: &Work<'_>, colder_c: f64) -> Vec<(String, Level)> {
    let changes = |of: Charged<'_>| {
        let there = lithium_at(w, &of, (colder_c, None)).ok().flatten()?;
        let name = if of.name().is_empty() { "BK" } else { of.name() };
        matches!(cold(w, &of), Ok(None)).then(|| (name.to_string(), there.level))
    };
    charged(w).filter_map(changes).collect()
}

/// Lithium charged where it is colder than it stands with nothing to prevent it: no cut-off of its own, no heated space, no
/// heater that is strong enough. A cut-off that is set lower than lithium is charged at is as none, however cold the air gets: on
/// its way down that passes through all that the cut-off lets charge in at. Where the year itself has the bank colder than what is
/// entered as the coldest air, that counts.
fn cold(w: &Work<'_>, of: &Charged<'_>) -> Outcome {
    let by_month = coldest_in(w, of);
    match (w.weather.coldest_c.clone(), by_month) {
        (Ok(entered), Some((c, month))) if c < entered => lithium_at(w, of, (c, Some(month))),
        (Ok(entered), _) => lithium_at(w, of, (entered, None)),
        (Err(waits), by_month) => {
            // What does not hang on it is not asked for it.
            let found = by_month.map_or(Ok(None), |(c, month)| lithium_at(w, of, (c, Some(month))))?;
            let hangs = found.is_none() && !matches!(lithium_at(w, of, (COLDEST_C, None)), Ok(None));
            if hangs { Err(waits) } else { Ok(found) }
        }
    }
}

/// No air is colder that a coach is used in, C. Source: the field's own bound.
const COLDEST_C: f64 = -60.0;

/// The same in such cold; of the mean of a month its number.
fn lithium_at(w: &Work<'_>, of: &Charged<'_>, (coldest, month): (f64, Option<usize>)) -> Outcome {
    if !of.row.clone()?.chemistry.is_lithium() {
        return Ok(None);
    }
    let least = w.context.rules.lfp_charge_least_c;
    let stops_c = of.cutoff_c.and_then(|k| k.known()).map(|c| c.0);
    // A heated space is as cold as its rule says, whatever the air outside.
    let inside_c = (of.heated == Known::Is(YesNo::Yes)).then_some(w.context.rules.interior_least_c);
    if stops_c.is_some_and(|c| c >= least - 1e-9) || inside_c.is_some_and(|c| c >= least) {
        return Ok(None);
    }
    let month = month.filter(|_| inside_c.is_none_or(|c| c < coldest));
    let month = month.and_then(|m| MONTH_NAMES.get(m).copied()).unwrap_or("");
    let coldest = coldest.max(inside_c.unwrap_or(f64::MIN));
    if coldest >= least {
        return Ok(None);
    }
    if let Some(Known::Is(watts)) = of.heater_w {
        return under_heater(w, of, (coldest, month), watts.0);
    }
    // One that nobody has read off yet prevents nothing.
    for (asked, field) in [
        (of.cutoff_c.is_some() && stops_c.is_none(), "charge_cutoff_c"),
        (of.heated == Known::Unknown && w.context.rules.interior_least_c >= least, "heated"),
        (of.heater_w.is_some(), "heater_w"),
    ] {
        if asked {
            return Err(Missing(of.field(field)));
        }
    }
    if let Some(stops_c) = stops_c {
        return Ok(Some(set_low(of, (coldest, month), least, stops_c, "")));
    }
    Ok(Some(of.found(Level::Stop, &[coldest, least], ["", "", month])))
}

/// A cut-off below what lithium is charged at.
fn set_low(of: &Charged<'_>, (coldest, month): (f64, &str), least: f64, stops_c: f64, heated: &str) -> Finding {
    of.found(Level::Stop, &[coldest, least, stops_c], ["low", heated, month])
}

/// A heater prevents it only where it holds the battery above its cut-off in the coldest air.
///
/// Source: steady state of a heated body; what the batteries lose is from memory, and their maker's sheet governs.
fn under_heater(w: &Work<'_>, of: &Charged<'_>, (coldest, month): (f64, &str), watts: f64) -> Outcome {
    let least = w.context.rules.lfp_charge_least_c;
    let loss_w_k = of.loss_w_k(w)?;
    let (held, _) = heated(coldest, least + HEATER_ABOVE_K, watts / loss_w_k.max(1e-9));
    if held >= least {
        return Ok(None);
    }
    match of.cutoff_c.and_then(|k| k.known()) {
        Some(stops_c) => Ok(Some(set_low(of, (held, month), least, stops_c.0, "heated"))),
        None => Ok(Some(of.found(Level::Stop, &[held, least, coldest, watts, loss_w_k], ["", "", month]))),
    }
}
