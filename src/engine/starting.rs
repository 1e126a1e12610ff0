//! A start battery by itself: its chemistry and volts, which the bank's do not touch, and what charges it.

use crate::plan::{Device, DeviceKind, FieldPath, Figure, Known, Missing, Plan, YesNo};
use crate::standards::chemistry::{ChemistryRow, LEAD_OF_ANY_KIND, chemistry};

use super::circuit::{Node, Role, device_kind};
use super::context::{Context, at};
use super::finding::Finding;
use super::vehicle;

/// A start battery as what charges it finds it.
pub(super) struct StartBattery<'a> {
    pub(super) device: &'a Device,
    pub(super) row: &'static ChemistryRow,
    /// Times 12 V by its cells.
    pub(super) twelves: f64,
    /// Whether its volts are entered, or an alternator tells them; else 12 V are taken.
    pub(super) is_told: bool,
}

impl<'a> StartBattery<'a> {
    /// A device as a start battery: lead of some kind unless entered; 12 V unless entered, by its label or its rating, or an alternator says 24.
    ///
    /// Source: common practice: starters are cranked by lead.
    pub(super) fn of(c: &Context<'a>, device: usize) -> Figure<Self> {
        let device = c.plan.devices.get(device).ok_or_else(|| Missing("devices".into()))?;
        let field = |name: &str| at("devices", &device.id, name);
        let row = match &device.chemistry {
            Some(kind) => chemistry(kind.at(|| field("chemistry"))?),
            None => &LEAD_OF_ANY_KIND,
        };
        let by_alternator = vehicle::vehicle_twelves(c);
        let (twelves, is_told) = match (&device.unit_v, &device.ratings.volts_dc_v) {
            (Some(volts), _) => (row.twelves(volts.at(|| field("unit_v"))?.0), true),
            // What its label allows tells the system alone.
            (None, Some(Known::Is(rated))) if rated.0 >= 12.0 => (vehicle::system_of(rated.0), true),
            // None of 12 V may be charged at less: it is the battery's own volts.
            (None, Some(Known::Is(rated))) => (row.twelves(rated.0), true),
            (None, _) => (by_alternator, by_alternator > 1.0),
        };
        Ok(Self { device, row, twelves, is_told })
    }

    pub(super) fn field(&self, name: &str) -> FieldPath {
        at("devices", &self.device.id, name)
    }

    /// What it is called in a sentence: its chemistry, or lead where that is not entered.
    pub(super) fn kind(&self) -> &'static str {
        if self.device.chemistry.is_some() { self.row.chemistry.word() } else { "lead" }
    }
}

/// The start batteries that stay, each with its place among the devices.
pub(super) fn start_batteries(plan: &Plan) -> impl Iterator<Item = (usize, &Device)> {
    let is_one = |d: &Device| d.state.stays() && d.kind.known() == Some(&DeviceKind::StartBattery);
    plan.devices.iter().enumerate().filter(move |(_, d)| is_one(d))
}

/// The controller or charger of a name.
pub(super) fn source_of(plan: &Plan, id: &str) -> Option<Node> {
    let controller = plan.controllers.iter().position(|k| k.id.as_str() == id).map(Node::Controller);
    controller.or_else(|| plan.chargers.iter().position(|k| k.id.as_str() == id).map(Node::Charger))
}

/// The start battery that a controller or a charger of a name charges, and not the bank.
pub(super) fn charged_by(c: &Context<'_>, id: &str) -> Option<usize> {
    c.circuit.charges_start(source_of(c.plan, id)?)
}

/// The start battery that a finding about charge settings is about, where it is not the bank.
pub(super) fn charged_in(c: &Context<'_>, finding: &Finding) -> Option<usize> {
    let at = match finding.check.id {
        "equalise-not-allowed" | "compensation-on-lithium" => 2,
        "charge-volts-high" | "profiles-disagree" => 3,
        "charge-volts-outside-window" => 4,
        _ => return None,
    };
    let id = finding.name(at);
    start_batteries(c.plan).find(|(_, d)| d.id.as_str() == id).map(|(i, _)| i)
}

/// What runs join a battery to, and what each of them is for.
fn joined_to<'a>(c: &'a Context<'_>, battery: Node) -> impl Iterator<Item = (Node, Role)> + 'a {
    c.circuit.links.iter().filter_map(move |link| match (link.from, link.to) {
        (Some(a), Some(b)) if a == battery => Some((b, link.role)),
        (Some(a), Some(b)) if b == battery => Some((a, link.role)),
        _ => None,
    })
}

/// Whether anything on a battery tells that it cranks an engine: an alternator, an isolator, a DC-DC charger's line or a starter.
fn cranks(c: &Context<'_>, battery: Node) -> bool {
    joined_to(c, battery).any(|(other, role)| match other {
        Node::Load(i) => is_starter(c.plan, i),
        _ => {
            role == Role::ChargerInput
                || matches!(device_kind(c.plan, other), Some(DeviceKind::Alternator | DeviceKind::Isolator))
        }
    })
}

/// Whether life safety hangs straight on a battery that is no engine's: a trailer's own, as for breakaway brakes.
pub(super) fn is_of_life_safety(c: &Context<'_>, battery: Node) -> bool {
    let is_safety = |i: usize| c.plan.loads.get(i).is_some_and(|l| l.life_safety == YesNo::Yes);
    !cranks(c, battery) && joined_to(c, battery).any(|(other, _)| matches!(other, Node::Load(i) if is_safety(i)))
}

/// Whether a battery drawn as a start battery is a second one of the house: nothing on it tells of an engine, and of another one
/// something does, so that the alternator is that one's.
pub(super) fn is_of_house(c: &Context<'_>, device: usize) -> bool {
    let battery = |i: usize| device_kind(c.plan, Node::Device(i)) == Some(DeviceKind::StartBattery);
    let stays = |i: &usize| c.plan.devices.get(*i).is_some_and(|d| d.state.stays());
    let mut others = (0..c.plan.devices.len()).filter(stays).filter(|i| *i != device && battery(*i));
    battery(device) && !cranks(c, Node::Device(device)) && others.any(|i| cranks(c, Node::Device(i)))
}

/// Whether a load is the engine's own starter, by what it is called.
/// Source: our own choice: a load has no kind.
pub(super) fn is_starter(plan: &Plan, load: usize) -> bool {
    let Some(load) = plan.loads.get(load) else { return false };
    // Most names are told apart by their first letter.
    if !load.name.trim_start_matches(|c: char| !c.is_alphanumeric()).starts_with(['s', 'S', 'e', 'E']) {
        return false;
    }
    let name = load.name.to_lowercase();
    let words: Vec<&str> = name.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty()).collect();
    // The whole name: a fridge has a starter, too, and of "no starter" it is none.
    matches!(words.strip_prefix(&["engine"]).unwrap_or(&words), ["starter"] | ["starter", "motor" | "cable"])
}

/// The known value of a field that may be left out.
pub(super) fn known<T: Copy>(field: Option<&Known<T>>) -> Option<T> {
    field.and_then(|k| k.known()).copied()
}
