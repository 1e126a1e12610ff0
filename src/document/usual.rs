//! What usually comes with a device: its runs, and the fuse at the end where it belongs. Lengths stay unknown.

use crate::plan::format::item_text;
use crate::plan::power::ChargerKind;
use crate::plan::wiring::{DeviceKind, FuseAt, Supply};
use crate::plan::{
    Array, BANK_ID, Charger, Controller, Device, Edit, FieldPath, Id, Inverter, Known, Leg, Load, Panel, Plan,
    Protection, Run, State, Stay, Step, Value,
};
use crate::standards::kinds::{Chemistry, FuseFamily, Zone};

/// What can be added to a plan in one step.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Addition {
    Stay,
    Panel,
    Array,
    Controller,
    Inverter,
    Charger(ChargerKind),
    Load,
    Device(DeviceKind),
    Run,
}

impl Addition {
    /// Everything that can be added, in the order of the walk-round.
    #[must_use]
    pub fn all() -> Vec<Self> {
        let mut all = vec![Self::Panel, Self::Array, Self::Controller, Self::Inverter];
        all.extend(ChargerKind::ALL.iter().map(|k| Self::Charger(*k)));
        all.push(Self::Load);
        all.extend(DeviceKind::ALL.iter().map(|k| Self::Device(*k)));
        all.extend([Self::Run, Self::Stay]);
        all
    }

    /// The words it is found by.
    #[must_use]
    pub fn words(self) -> String {
        match self {
            Self::Stay => "stay: a place and the months spent there".into(),
            Self::Panel => "panel type, from its label".into(),
            Self::Array => "array, with its run to a controller".into(),
            Self::Controller => "controller, with its run to the bank".into(),
            Self::Inverter => "inverter, with its run from the bank".into(),
            Self::Charger(kind) => format!("{kind} charger, with its run to the bank"),
            Self::Load => "load, with its fused run".into(),
            Self::Device(kind) => kind.word().into(),
            Self::Run => "wiring run: wire between two things".into(),
        }
    }

    /// The list it goes into.
    #[must_use]
    pub fn list(self) -> &'static str {
        match self {
            Self::Stay => "stays",
            Self::Panel => "panels",
            Self::Array => "arrays",
            Self::Controller => "controllers",
            Self::Inverter => "inverters",
            Self::Charger(_) => "chargers",
            Self::Load => "loads",
            Self::Device(_) => "devices",
            Self::Run => "runs",
        }
    }

    /// The addition that a list takes when nothing more is said.
    #[must_use]
    pub fn of_list(list: &str) -> Option<Self> {
        match list {
            "stays" => Some(Self::Stay),
            "panels" => Some(Self::Panel),
            "arrays" => Some(Self::Array),
            "controllers" => Some(Self::Controller),
            "inverters" => Some(Self::Inverter),
            "loads" => Some(Self::Load),
            "runs" => Some(Self::Run),
            _ => None,
        }
    }

    /// Whether runs usually come with it.
    #[must_use]
    pub fn has_runs(self) -> bool {
        matches!(self, Self::Array | Self::Controller | Self::Inverter | Self::Charger(_) | Self::Load)
    }
}

/// Collects edits, each applied to a copy of the plan so that the next one sees its names.
struct Collected {
    plan: Plan,
    edits: Vec<Edit>,
}

impl Collected {
    fn new(plan: &Plan) -> Self {
        Self { plan: plan.clone(), edits: Vec::new() }
    }

    /// Takes an edit unless the plan refuses it.
    fn push(&mut self, edit: Edit) {
        if let Ok(plan) = self.plan.with(&Step::one("", edit.clone())) {
            self.plan = plan;
            self.edits.push(edit);
        }
    }

    fn last(&self, list: &str) -> Option<Id> {
        let items = self.plan.list_at(&FieldPath::from(list))?;
        items.id_at(items.len().checked_sub(1)?).cloned()
    }

    fn append(&mut self, list: &str, item: String) {
        let after = self.last(list);
        self.push(Edit::Insert { list: list.into(), after, item });
    }

    fn run(&mut self, from: &Known<Id>, to: &Known<Id>, fuse: Option<(FuseAt, Option<FuseFamily>)>) {
        self.run_in(Known::Unknown, from, to, fuse);
    }

    fn run_in(
        &mut self,
        zone: Known<Zone>,
        from: &Known<Id>,
        to: &Known<Id>,
        fuse: Option<(FuseAt, Option<FuseFamily>)>,
    ) {
        let protection = fuse
            .map(|(at, family)| Protection {
                at,
                family: family.map_or(Known::Unknown, Known::Is),
                ..Protection::default()
            })
            .into_iter()
            .collect();
        let run = Run {
            id: self.plan.free_id(&"runs".into()),
            from: from.clone(),
            to: to.clone(),
            legs: vec![Leg { zone, laid: Known::Unknown, ..Leg::default() }],
            protection,
            ..Run::default()
        };
        self.append("runs", item_text(&run));
    }

    fn device(&self, kind: DeviceKind) -> Option<Id> {
        let mut found = self.plan.devices.iter().filter(|d| d.kind == Known::Is(kind) && d.state.stays());
        found.next().map(|d| d.id.clone())
    }

    /// Where sources end: a bus if there is one, else the bank.
    fn bus(&self) -> Known<Id> {
        self.device(DeviceKind::Bus).or_else(bank).map_or(Known::Unknown, Known::Is)
    }

    /// Where a large load is fed from: the bus that the bank feeds, straight or through what lies between them (the main
    /// switch, a breaker); the bank where no bus is fed.
    fn main_feed(&self) -> Known<Id> {
        let mut reached: Vec<Id> = bank().into_iter().collect();
        let mut next = 0;
        while let Some(here) = reached.get(next).cloned() {
            next += 1;
            let leads = self.plan.runs.iter().filter(|run| run.from == Known::Is(here.clone()));
            for end in leads.filter_map(|run| run.to.known()) {
                let Some(device) = self.plan.devices.iter().find(|d| d.id == *end && d.state.stays()) else { continue };
                if device.kind == Known::Is(DeviceKind::Bus) {
                    return Known::Is(device.id.clone());
                }
                let between = [DeviceKind::Switch, DeviceKind::Breaker, DeviceKind::Splice];
                if device.kind.known().is_some_and(|kind| between.contains(kind)) && !reached.contains(end) {
                    reached.push(end.clone());
                }
            }
        }
        bank().map_or(Known::Unknown, Known::Is)
    }
}

/// The ends of the runs that a step adds, in words: `W5 from PANEL to L3`.
#[must_use]
pub fn run_ends(plan: &Plan, step: &Step) -> String {
    let Ok(after) = plan.with(step) else { return String::new() };
    let is_new = |run: &&Run| !plan.runs.iter().any(|old| old.id == run.id);
    let end = |end: &Known<Id>| end.known().map_or("?".to_string(), ToString::to_string);
    let each =
        after.runs.iter().filter(is_new).map(|run| format!("{} from {} to {}", run.id, end(&run.from), end(&run.to)));
    each.collect::<Vec<_>>().join(", ")
}

fn bank() -> Option<Id> {
    BANK_ID.parse().ok()
}

/// A step that adds something at the end of its list, and the path of what is added.
#[must_use]
pub fn add(plan: &Plan, what: Addition) -> (Step, FieldPath) {
    let list = FieldPath::from(what.list());
    let id = plan.free_id(&list);
    let mut to = Collected::new(plan);
    let item = match what {
        Addition::Stay => item_text(&Stay { id: id.clone(), ..Stay::default() }),
        Addition::Panel => item_text(&Panel { id: id.clone(), ..Panel::default() }),
        Addition::Array => {
            let free =
                plan.controllers.iter().find(|c| !plan.arrays.iter().any(|a| a.controller == Known::Is(c.id.clone())));
            let controller = free.or(plan.controllers.last()).map_or(Known::Unknown, |c| Known::Is(c.id.clone()));
            item_text(&Array { id: id.clone(), controller, ..Array::default() })
        }
        Addition::Controller => item_text(&Controller { id: id.clone(), ..Controller::default() }),
        Addition::Inverter => item_text(&Inverter { id: id.clone(), ..Inverter::default() }),
        Addition::Charger(kind) => item_text(&Charger { id: id.clone(), kind: Known::Is(kind), ..Charger::default() }),
        Addition::Load => item_text(&Load { id: id.clone(), ..Load::default() }),
        Addition::Device(kind) => item_text(&Device { id: id.clone(), kind: Known::Is(kind), ..Device::default() }),
        Addition::Run => {
            let leg = Leg { zone: Known::Unknown, laid: Known::Unknown, ..Leg::default() };
            item_text(&Run { id: id.clone(), legs: vec![leg], ..Run::default() })
        }
    };
    to.append(what.list(), item);
    (Step { name: format!("add {id}"), edits: to.edits }, list.join(&id))
}

/// [`add`], with the runs that usually come with it.
#[must_use]
pub fn add_with_runs(plan: &Plan, what: Addition) -> (Step, FieldPath) {
    let (step, at) = add(plan, what);
    let mut to = Collected::new(plan);
    step.edits.into_iter().for_each(|edit| to.push(edit));
    let (_, id) = at.split_last();
    if let Ok(id) = id.parse::<Id>() {
        usual_runs(&mut to, what, &id);
    }
    let runs = to.plan.runs.len() - plan.runs.len().min(to.plan.runs.len());
    let name = match runs {
        0 => step.name,
        1 => format!("{} and its run", step.name),
        n => format!("{} and its {n} runs", step.name),
    };
    (Step { name, edits: to.edits }, at)
}

/// A step that adds something from the shelf, with the runs that usually come with it; nothing where none do.
#[must_use]
pub fn with_usual_runs(plan: &Plan, step: &Step) -> Option<Step> {
    let list = step.edits.iter().find_map(|edit| match edit {
        Edit::Insert { list, .. } => Some(list),
        _ => None,
    })?;
    let id = plan.free_id(list);
    let mut to = Collected::new(plan);
    step.edits.iter().for_each(|edit| to.push(edit.clone()));
    let what = match list.as_str() {
        "chargers" => {
            let kind = to.plan.chargers.iter().find(|c| c.id == id).and_then(|c| c.kind.known().copied());
            Addition::Charger(kind.unwrap_or(ChargerKind::Shore))
        }
        list => Addition::of_list(list)?,
    };
    // What a load draws through the inverter comes by no DC run of its own.
    let is_ac = to.plan.loads.iter().any(|l| l.id == id && l.supply != Supply::Dc);
    let before = to.plan.runs.len();
    if what.has_runs() && !is_ac {
        usual_runs(&mut to, what, &id);
    }
    let runs = to.plan.runs.len() - before;
    let name = format!("{} and its {}", step.name, if runs == 1 { "run" } else { "runs" });
    (runs > 0).then_some(Step { name, edits: to.edits })
}

/// Whether a DC-DC charger of the plan has nothing to draw on: no start battery, no alternator, no tow connector.
#[must_use]
pub fn lacks_engine(plan: &Plan) -> bool {
    let is_engine = |d: &Device| {
        let kinds = [DeviceKind::StartBattery, DeviceKind::Alternator, DeviceKind::Tow];
        d.state.stays() && d.kind.known().is_some_and(|kind| kinds.contains(kind))
    };
    let is_dc_dc = |c: &Charger| c.state.stays() && c.kind == Known::Is(ChargerKind::DcDc);
    plan.chargers.iter().any(is_dc_dc) && !plan.devices.iter().any(is_engine)
}

/// The step that adds the engine's side, as it stands in a vehicle: start battery and alternator, both existing. Inputs
/// of DC-DC chargers that come from nowhere yet come from the start battery.
#[must_use]
pub fn engine_side(plan: &Plan) -> Step {
    let mut to = Collected::new(plan);
    add_engine_side(&mut to);
    Step { name: "add start battery and alternator".into(), edits: to.edits }
}

fn add_engine_side(to: &mut Collected) {
    add_sources(to, &[DeviceKind::StartBattery, DeviceKind::Alternator]);
}

/// A step that puts a DC-DC charger into the plan, with what it draws on as it stands in the vehicle; nothing where the
/// plan has that already, or where it is another thing.
#[must_use]
pub fn with_source(plan: &Plan, step: &Step, kinds: &[DeviceKind]) -> Option<Step> {
    let after = plan.with(step).ok()?;
    if !lacks_engine(&after) || lacks_engine(plan) {
        return None;
    }
    let mut to = Collected::new(plan);
    step.edits.iter().for_each(|edit| to.push(edit.clone()));
    add_sources(&mut to, kinds);
    Some(Step { name: step.name.clone(), edits: to.edits })
}

/// Existing devices, the first of which feeds the DC-DC chargers that come from nowhere yet.
fn add_sources(to: &mut Collected, kinds: &[DeviceKind]) {
    let devices = FieldPath::from("devices");
    for kind in kinds.iter().copied() {
        let id = to.plan.free_id(&devices);
        let state = State::Existing;
        to.append("devices", item_text(&Device { id, kind: Known::Is(kind), state, ..Device::default() }));
    }
    let Some(battery) = kinds.first().and_then(|kind| to.device(*kind)) else { return };
    let feeds = |run: &&Run| {
        let end = run.to.known();
        let mut chargers = to.plan.chargers.iter().filter(|c| c.kind == Known::Is(ChargerKind::DcDc));
        run.from == Known::Unknown && chargers.any(|c| Some(&c.id) == end)
    };
    let open: Vec<Id> = to.plan.runs.iter().filter(feeds).map(|run| run.id.clone()).collect();
    for run in open {
        let at = FieldPath::from("runs").join(&run).join("from");
        to.push(Edit::Set { at, to: Value::Id(battery.clone()) });
    }
}

/// [`add_with_runs`] of a DC-DC charger, with the engine's side that it draws on.
#[must_use]
pub fn add_with_engine(plan: &Plan, what: Addition) -> (Step, FieldPath) {
    let (step, at) = add_with_runs(plan, what);
    let mut to = Collected::new(plan);
    step.edits.into_iter().for_each(|edit| to.push(edit));
    add_engine_side(&mut to);
    (Step { name: format!("{}, start battery and alternator", step.name), edits: to.edits }, at)
}

/// The battery end is fused, an array's home run is not (its own current cannot hurt its wire).
fn usual_runs(to: &mut Collected, what: Addition, id: &Id) {
    let me = Known::Is(id.clone());
    let bus = to.bus();
    match what {
        Addition::Array => {
            let controller =
                to.plan.arrays.iter().find(|a| a.id == *id).map_or(Known::Unknown, |a| a.controller.clone());
            // Its hottest place until someone says where it runs: what that wire carries it carries anywhere.
            to.run_in(Known::Is(Zone::Roof), &me, &controller, None);
        }
        Addition::Controller => to.run(&me, &bus, Some((FuseAt::To, None))),
        Addition::Inverter => {
            let feed = to.main_feed();
            to.run(&feed, &me, Some((FuseAt::From, Some(FuseFamily::ClassT))));
        }
        Addition::Charger(kind) => {
            if kind == ChargerKind::DcDc {
                let kinds = [DeviceKind::StartBattery, DeviceKind::Alternator, DeviceKind::Tow];
                let source = kinds.into_iter().find_map(|kind| to.device(kind));
                to.run(&source.map_or(Known::Unknown, Known::Is), &me, Some((FuseAt::From, None)));
            }
            to.run(&me, &bus, Some((FuseAt::To, None)));
        }
        Addition::Load => {
            let panel = to.device(DeviceKind::FusePanel).map_or(bus, Known::Is);
            to.run(&panel, &me, Some((FuseAt::From, None)));
        }
        Addition::Stay | Addition::Panel | Addition::Device(_) | Addition::Run => {}
    }
}

/// A step with the question that it raises: where it makes the bank or a start battery a lithium one and nothing is entered of its
/// cold cut-off, that is not known, rather than none.
#[must_use]
pub fn with_cold_cut_off(plan: &Plan, mut step: Step) -> Step {
    let is_lithium = |to: &Value| match to {
        Value::Word(word) => Chemistry::ALL.iter().any(|c| c.word() == *word && c.is_lithium()),
        _ => false,
    };
    let made: Vec<FieldPath> = step
        .edits
        .iter()
        .filter_map(|edit| match edit {
            Edit::Set { at, to } if is_lithium(to) => {
                let (of, field) = at.split_last();
                (field == "chemistry").then_some(of)
            }
            _ => None,
        })
        .collect();
    for of in made {
        let device = plan.devices.iter().find(|d| of.as_str() == format!("devices.{}", d.id));
        let blank = match device {
            Some(device) => {
                let is_lithium = device.chemistry.and_then(|c| c.known().copied()).is_some_and(|c| c.is_lithium());
                !is_lithium && device.charge_cutoff_c.is_none()
            }
            None => plan.bank.chemistry == Known::Unknown && plan.bank.charge_cutoff_c.is_none(),
        };
        let field = of.join("charge_cutoff_c");
        let said = |e: &Edit| matches!(e, Edit::Set { at, to } if *at == field && *to != Value::Nothing);
        if blank && !step.edits.iter().any(said) {
            step.edits.push(Edit::Set { at: field, to: Value::Unknown });
        }
    }
    step
}

/// The runs that what stands in the plan still lacks, as one step; no edits where none is missing.
#[must_use]
pub fn missing_runs(plan: &Plan) -> Step {
    let mut to = Collected::new(plan);
    let joined = |plan: &Plan, id: &Id| {
        plan.runs.iter().any(|r| r.from == Known::Is(id.clone()) || r.to == Known::Is(id.clone()))
    };
    for array in &plan.arrays {
        // A controller's run does not make an array's; an array's makes none for its controller.
        if !plan.runs.iter().any(|r| r.from == Known::Is(array.id.clone())) {
            usual_runs(&mut to, Addition::Array, &array.id);
        }
    }
    for controller in &plan.controllers {
        if !plan.runs.iter().any(|r| r.from == Known::Is(controller.id.clone())) {
            usual_runs(&mut to, Addition::Controller, &controller.id);
        }
    }
    for inverter in plan.inverters.iter().filter(|i| !joined(plan, &i.id)) {
        usual_runs(&mut to, Addition::Inverter, &inverter.id);
    }
    for charger in plan.chargers.iter().filter(|c| !joined(plan, &c.id)) {
        let kind = charger.kind.known().copied().unwrap_or(ChargerKind::Shore);
        usual_runs(&mut to, Addition::Charger(kind), &charger.id);
    }
    Step { name: "add the usual runs".into(), edits: to.edits }
}

/// DC loads that stay and that no run ends on.
#[must_use]
pub fn loads_without_runs(plan: &Plan) -> Vec<&str> {
    let joined = |id: &Id| plan.runs.iter().any(|r| [&r.from, &r.to].iter().any(|end| end.known() == Some(id)));
    let open = plan.loads.iter().filter(|l| l.supply == Supply::Dc && l.state.stays() && !joined(&l.id));
    open.map(|l| l.id.as_str()).collect()
}

/// The runs of all DC loads that have none, as one step; no edits where none is missing.
#[must_use]
pub fn missing_load_runs(plan: &Plan) -> Step {
    let mut to = Collected::new(plan);
    let open = loads_without_runs(plan);
    for load in plan.loads.iter().filter(|l| open.contains(&l.id.as_str())) {
        usual_runs(&mut to, Addition::Load, &load.id);
    }
    let which = if open.len() == 1 { "load".to_string() } else { format!("{} loads", open.len()) };
    Step { name: format!("add the usual runs of the {which} without one"), edits: to.edits }
}
