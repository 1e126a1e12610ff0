//! What a controller or a charger is set to, and the battery that it is set for: the bank, or a start battery.

use crate::engine::Work;
use crate::engine::circuit::Node;
use crate::engine::context::at;
use crate::engine::starting::StartBattery;
use crate::engine::vehicle::OVER_12_V;
use crate::plan::{FieldPath, Figure, Id, Known, Missing, YesNo};
use crate::standards::chemistry::ChemistryRow;
use crate::standards::kinds::Zone;
use crate::units::{Number, Volts};

/// One source's charge settings for one battery that it charges.
#[derive(Clone)]
pub(super) struct Profile<'a> {
    pub(super) node: Node,
    pub(super) list: &'static str,
    pub(super) id: &'a Id,
    pub(super) absorb_v: &'a Known<Volts>,
    pub(super) float_v: Option<&'a Known<Volts>>,
    pub(super) equalise_v: Option<&'a Known<Volts>>,
    pub(super) temp_comp_mv_k: &'a Known<Number>,
    pub(super) temp_sense: YesNo,
    pub(super) zone: Option<Zone>,
    /// The start battery, if not the bank.
    pub(super) start: Option<usize>,
    /// That one is joined to the bank and charged with it: what harms it counts, not what suits it.
    pub(super) joined: bool,
}

impl Profile<'_> {
    /// The start battery that it charges, if not the bank; its volts wait where nobody has entered them and the source is set as
    /// for one of more than 12 V.
    fn start<'a>(&self, w: &Work<'a>) -> Figure<Option<StartBattery<'a>>> {
        let Some(device) = self.start else { return Ok(None) };
        let own = StartBattery::of(w.context, device)?;
        let set = [Some(self.absorb_v), self.float_v].into_iter().flatten();
        let is_high = set.filter_map(|v| v.known()).any(|v| v.0 > OVER_12_V);
        if is_high && !own.is_told { Err(Missing(own.field("unit_v"))) } else { Ok(Some(own)) }
    }

    pub(super) fn chemistry(&self, w: &Work<'_>) -> Figure<&'static ChemistryRow> {
        self.start(w)?.map_or_else(|| w.context.chemistry(), |own| Ok(own.row))
    }

    pub(super) fn by_cells(&self, w: &Work<'_>) -> Figure<f64> {
        self.start(w)?.map_or_else(|| w.context.by_cells(), |own| Ok(own.twelves))
    }

    /// Highest volts of its battery's chemistry.
    pub(super) fn high_v(&self, w: &Work<'_>) -> Figure<f64> {
        self.start(w)?.map_or_else(|| w.context.high_v(), |own| Ok(own.row.charge_most_v * own.twelves))
    }

    /// Highest charge volts its battery stands: its label's, and the chemistry's. A label that nobody knows allows no more than
    /// the chemistry: `volts` above that wait for nothing.
    pub(super) fn most_v(&self, w: &Work<'_>, volts: f64) -> Figure<f64> {
        if self.start.is_some() { self.high_v(w) } else { most_v(w, volts) }
    }

    pub(super) fn nominal_v(&self, w: &Work<'_>) -> Figure<f64> {
        self.start(w)?.map_or_else(|| w.context.bank_v(), |own| Ok(own.row.nominal_v * own.twelves))
    }

    /// What a start battery is called; nothing for the bank.
    pub(super) fn whose(&self, w: &Work<'_>) -> String {
        let own = self.start(w).ok().flatten();
        own.map_or_else(String::new, |own| format!("the start battery {} ({})", own.device.id, own.kind()))
    }

    /// The name of the start battery; none for the bank.
    pub(super) fn battery(&self, w: &Work<'_>) -> String {
        let device = self.start.and_then(|i| w.context.plan.devices.get(i));
        device.map_or_else(String::new, |d| d.id.to_string())
    }

    pub(super) fn path(&self) -> FieldPath {
        FieldPath::of(&[self.list, self.id.as_str()])
    }

    pub(super) fn field(&self, field: &str) -> FieldPath {
        at(self.list, self.id, field)
    }

    pub(super) fn set(&self, what: &str) -> Option<&Known<Volts>> {
        if what == "float" { self.float_v } else { Some(self.absorb_v) }
    }
}

/// The settings of every controller and charger that stays, for each battery that it charges: the bank, unless it charges start
/// batteries alone, and those. One that is joined to a bank of other volts is a stop of its own.
pub(super) fn profiles<'a>(w: &'a Work<'_>) -> Vec<Profile<'a>> {
    let plan = w.context.plan;
    let controllers = plan.controllers.iter().enumerate().filter(|(_, k)| k.state.stays()).map(|(i, k)| Profile {
        start: None,
        joined: false,
        node: Node::Controller(i),
        list: "controllers",
        id: &k.id,
        absorb_v: &k.absorb_v,
        float_v: k.float_v.as_ref(),
        equalise_v: k.equalise_v.as_ref(),
        temp_comp_mv_k: &k.temp_comp_mv_k,
        temp_sense: k.temp_sense,
        zone: k.zone,
    });
    let chargers = plan.chargers.iter().enumerate().filter(|(_, k)| k.state.stays()).map(|(i, k)| Profile {
        start: None,
        joined: false,
        node: Node::Charger(i),
        list: "chargers",
        id: &k.id,
        absorb_v: &k.absorb_v,
        float_v: k.float_v.as_ref(),
        equalise_v: k.equalise_v.as_ref(),
        temp_comp_mv_k: &k.temp_comp_mv_k,
        temp_sense: k.temp_sense,
        zone: k.zone,
    });
    let circuit = &w.context.circuit;
    let of_battery = |own: Profile<'a>| {
        let node = own.node;
        let is_of_bank = circuit.charges_start(node).is_none() && circuit.beyond(node).is_none();
        let is_like = |battery: usize| {
            let bank = w.context.by_cells();
            StartBattery::of(w.context, battery)
                .is_ok_and(|own| bank.is_ok_and(|bank| own.twelves.round() == bank.round()))
        };
        let counts = move |(battery, joined): &(usize, bool)| !joined || is_like(*battery);
        let starts = circuit.start_batteries_of(node).filter(counts).map(|(battery, joined)| (Some(battery), joined));
        let all = is_of_bank.then_some((None, false)).into_iter().chain(starts);
        all.map(move |(start, joined)| Profile { start, joined, ..own.clone() })
    };
    controllers.chain(chargers).flat_map(of_battery).collect()
}

/// The same of the bank.
fn most_v(w: &Work<'_>, volts: f64) -> Figure<f64> {
    let chemistry = w.context.high_v()?;
    match &w.context.plan.bank.max_charge_v {
        None => Ok(chemistry),
        Some(Known::Unknown) if volts > chemistry + 1e-6 => Ok(chemistry),
        Some(own) => {
            let label = own.at(|| "bank.max_charge_v".into())?.0 * w.context.series()?;
            Ok(chemistry.min(label))
        }
    }
}
