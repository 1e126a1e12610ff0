//! The lines of DC-DC chargers: what each draws at its input, and what the others on the same line leave it.

use crate::arrange::Arrange;
use crate::physics::supply::{Ask, Feed, falling, feeds};
use crate::plan::power::ChargerKind;
use crate::plan::{Charger, Device, DeviceKind, Figure, Id, Known, Missing, Run};

use super::circuit::{Node, PathKind, Role, device_kind};
use super::context::{Context, at, finite, need};
use super::currents::{Pair, RunCurrents, Terminals, both};
use super::resistance::run_loop_from;
use super::solve::Line;
use super::vehicle;

const HOW: &str = "constant power at the end of its line, alternator at low volts";
const OVER_LEAD: &str =
    "constant power at the end of its line, behind the alternator's own run, alternator at low volts";
const AT_BATTERY: &str = "constant power at the end of its line, alternator's low volts taken at the start battery";
const WITH_LOADS: &str = "the DC-DC chargers on it at constant power, and the loads that hang on it, at low volts";
const TOGETHER: &str = "all DC-DC chargers on it together, constant power each, alternator at low volts";

/// A DC-DC charger's input as constant power at the end of its loop and the alternator's low volts, while all that share some
/// of that loop draw, too; the loop at 60 C, or at what flows in it where that is warmer.
///
/// Source: V^2 - V E + P R = 0, upper root (Kirchhoff with P = V I).
pub(super) fn input(c: &Context<'_>, index: usize) -> Pair {
    let Some(ch) = c.plan.chargers.get(index) else { return both(Ok(0.0), "") };
    if !is_dc_dc(ch) {
        return both(Ok(0.0), "no DC input");
    }
    if c.circuit.is_fed_by_bank(Node::Charger(index)) {
        return from_bank(c, ch);
    }
    both(dc_feed(c, index).and_then(|f| f.map(|f| f.1).ok_or_else(|| drop_out(c, index))), how(c, index))
}

/// Where a charger's line is taken to begin, in how its current came about.
fn how(c: &Context<'_>, index: usize) -> &'static str {
    let way = c.circuit.way_of(PathKind::ChargerInput, Node::Charger(index));
    let source = way.and_then(|w| w.runs.first()).and_then(|run| c.circuit.links.get(*run)?.near());
    let at_battery = source.and_then(|n| device_kind(c.plan, n)) == Some(DeviceKind::StartBattery);
    match (ahead(c, index), at_battery) {
        ([_, ..], _) => OVER_LEAD,
        ([], true) => AT_BATTERY,
        ([], false) => HOW,
    }
}

/// Where the current of a line is not known, or its chargers find no point to work at: what flows at least.
pub(super) fn at_least(c: &Context<'_>, run: usize, found: RunCurrents) -> RunCurrents {
    let sure = found.pair.design_a.is_err().then(|| at_least_a(c, run)).flatten();
    RunCurrents { sure: sure.map(|amps| [amps, amps]), ..found }
}

/// What the chargers behind a run draw at least, whatever their lines lose; none where one of them tells nothing.
/// Source: P = V I at the alternator's low volts; with less at its input each draws more.
fn at_least_a(c: &Context<'_>, run: usize) -> Option<f64> {
    let mut sum = 0.0;
    for node in &c.circuit.links.get(run)?.away {
        let Node::Charger(i) = node else { continue };
        let ch = c.plan.chargers.get(*i).filter(|ch| is_dc_dc(ch))?;
        let watts = ch.out_a.known()?.0 * ch.absorb_v.known()?.0 / (ch.efficiency_pct.known()?.0 / 100.0);
        sum += watts / source_v(c, *i, ch).ok()?;
    }
    (sum.is_finite() && sum > 0.0).then_some(sum)
}

/// A charger that the bank feeds draws constant power at the bank's volts.
///
/// Source: conservation of energy, P = V I on both sides.
fn from_bank(c: &Context<'_>, ch: &Charger) -> Pair {
    let over = |volts: Figure<f64>| {
        let field = |name: &str| at("chargers", &ch.id, name);
        let efficiency = need(&ch.efficiency_pct, "chargers", &ch.id, "efficiency_pct")?.0 / 100.0;
        let watts =
            need(&ch.out_a, "chargers", &ch.id, "out_a")?.0 * need(&ch.absorb_v, "chargers", &ch.id, "absorb_v")?.0;
        finite(watts / (efficiency * volts?), || field("efficiency_pct"))
    };
    Pair {
        design_a: over(c.low_v()),
        drop_a: over(c.bank_v()),
        how: "what it gives at its absorption / (low bank volts x efficiency)",
        drop_how: "what it gives at its absorption / (bank volts x efficiency)",
    }
}

/// The chargers that the bank feeds, each with what it draws at low volts.
pub(super) fn fed_chargers<'a>(
    c: &'a Context<'_>,
    t: &'a Terminals,
) -> impl Iterator<Item = (&'a Charger, Figure<f64>)> + 'a {
    let all = c.plan.chargers.iter().zip(&t.inputs).enumerate();
    let fed = all.filter(|(i, _)| c.circuit.is_fed_by_bank(Node::Charger(*i)));
    fed.map(|(_, (charger, input))| (charger, input.design_a.clone()))
}

/// What the chargers behind a line draw through it.
pub(super) fn together<'a>(inputs: impl Iterator<Item = &'a Pair>) -> Pair {
    let all: Vec<&Pair> = inputs.collect();
    match all.as_slice() {
        [] => both(Ok(0.0), "no DC input"),
        [one] => (*one).clone(),
        _ => both(all.iter().map(|pair| pair.design_a.clone()).sum(), TOGETHER),
    }
}

/// The same with the loads that hang on the line.
pub(super) fn with_loads(c: &Context<'_>, run: usize, chargers: Pair) -> Pair {
    if !has_loads(c, run) {
        return chargers;
    }
    let loads = vehicle::loads_a(c, run);
    let plus = |a: Figure<f64>, b: Figure<f64>| Ok::<f64, Missing>(a? + b?);
    Pair {
        design_a: plus(chargers.design_a, loads.clone().map(|a| a.0)),
        drop_a: plus(chargers.drop_a, loads.map(|a| a.1)),
        how: WITH_LOADS,
        drop_how: WITH_LOADS,
    }
}

fn has_loads(c: &Context<'_>, run: usize) -> bool {
    c.circuit.links.get(run).is_some_and(|l| l.away.iter().any(|n| matches!(n, Node::Load(_))))
}

fn is_dc_dc(ch: &Charger) -> bool {
    ch.kind.known() == Some(&ChargerKind::DcDc)
}

/// What a line that cannot carry its charger waits for: less resistance of the run that loses most, by its gauge or as it
/// was measured.
fn drop_out(c: &Context<'_>, index: usize) -> Missing {
    let all = whole_line(c, index).into_iter().filter_map(|i| Some((ohm(c, i, 0.0).ok()?, c.plan.runs.get(i)?)));
    let most = all.reduce(|most, next| if next.0 > most.0 { next } else { most });
    let key = |run: &Run| if run.measured_ohm.is_some() { "measured_ohm" } else { "gauge" };
    Missing(most.map_or_else(|| "runs".into(), |(_, run)| at("runs", &run.id, key(run))))
}

/// A run of the lines of some chargers.
struct OnLine {
    run: usize,
    /// The chargers that draw over it, by their places.
    by: Vec<usize>,
    /// Amps of the loads that hang on it.
    loads_a: f64,
    /// Ohms at the temperature that all of them bring it to.
    ohm: f64,
}

/// The chargers that draw over some of the same line, one charger among them, and what each asks of it.
#[derive(Default)]
pub(super) struct Shared {
    pub(super) chargers: Vec<usize>,
    asks: Vec<Ask>,
    /// Volts of each one's source before the loads on its line draw.
    sources_v: Vec<f64>,
    line: Vec<OnLine>,
    /// Inputs at the warmest that the line is known to bring them all.
    found: Vec<Feed>,
}

/// Rounds in which ohms and currents settle; what has not settled by then is as warm as it has become.
/// Source: our own choice; each round brings them nearer by some hundredfold.
const MOST_ROUNDS: usize = 20;

impl Shared {
    /// The line of a charger and of all that share some of it; a cut-out that nobody knows is taken as none.
    pub(super) fn of(c: &Context<'_>, index: usize) -> Figure<Self> {
        let of = |(i, ch): (usize, &Charger)| {
            if ch.state.stays() && is_dc_dc(ch) || i == index { whole_line(c, i) } else { Vec::new() }
        };
        let lines: Vec<Vec<usize>> = c.plan.chargers.iter().enumerate().map(of).collect();
        let mut chargers = vec![index];
        let mut next = 0;
        while let Some(own) = chargers.get(next).and_then(|i| lines.get(*i)) {
            let beside: Vec<usize> = (0..lines.len())
                .filter(|j| !chargers.contains(j) && lines.get(*j).is_some_and(|l| l.iter().any(|r| own.contains(r))))
                .collect();
            chargers.extend(beside);
            next += 1;
        }
        chargers.arrange_by(Ord::cmp);
        let mut shared = Self { chargers, ..Self::default() };
        for (place, i) in shared.chargers.iter().enumerate() {
            let ask = asks_of(c, *i)?;
            shared.sources_v.push(ask.source_v);
            shared.asks.push(ask);
            for run in lines.get(*i).into_iter().flatten() {
                let loads_a = loads_on(c, *i, *run)?;
                match shared.line.iter_mut().find(|on| on.run == *run) {
                    Some(on) => {
                        on.by.push(place);
                        on.loads_a = on.loads_a.max(loads_a);
                    }
                    None => shared.line.push(OnLine { run: *run, by: vec![place], loads_a, ohm: 0.0 }),
                }
            }
        }
        shared.warmed(c)
    }

    /// The same at the temperature that all it carries brings each run to, which goes with what it carries; the rule's where
    /// that is warmer.
    ///
    /// Source: as [`LegWire::conductor_c`](super::resistance); currents and ohms only rise from round to round, so that the
    /// first that suit each other are the ones that it settles at.
    fn warmed(mut self, c: &Context<'_>) -> Figure<Self> {
        self.found.clear();
        for _ in 0..MOST_ROUNDS {
            let mut grew = false;
            for on in &mut self.line {
                let feeds = on.by.iter().filter_map(|place| self.found.get(*place));
                let drawn_a: f64 = feeds.map(|feed| feed.input_a).sum();
                let ohm = ohm(c, on.run, on.loads_a + drawn_a)?;
                grew |= (ohm - on.ohm).abs() > 1e-9 * ohm;
                on.ohm = ohm;
            }
            if !grew {
                break;
            }
            for (place, (ask, source_v)) in self.asks.iter_mut().zip(&self.sources_v).enumerate() {
                let own = self.line.iter().filter(|on| on.by.contains(&place));
                ask.source_v = source_v - own.map(|on| on.ohm * on.loads_a).sum::<f64>();
            }
            match self.feeds() {
                Some(feeds) => self.found = feeds,
                None => break,
            }
        }
        Ok(self)
    }

    /// Ohms that two of them share, or one's whole line.
    fn ohm(&self, i: usize, j: usize) -> f64 {
        let both = self.line.iter().filter(|on| on.by.contains(&i) && on.by.contains(&j));
        both.map(|on| on.ohm).sum()
    }

    /// The same of chargers by their places in the plan; none where one of them is not on it.
    pub(super) fn ohm_of(&self, charger: usize, other: usize) -> f64 {
        let place = |charger: usize| self.chargers.iter().position(|i| *i == charger);
        place(charger).zip(place(other)).map_or(0.0, |(i, j)| self.ohm(i, j))
    }

    /// Ohms of some of its runs.
    pub(super) fn ohm_in(&self, runs: &[usize]) -> f64 {
        self.line.iter().filter(|on| runs.contains(&on.run)).map(|on| on.ohm).sum()
    }

    /// Inputs while all of them draw; none where the line does not carry what they ask.
    fn feeds(&self) -> Option<Vec<Feed>> {
        feeds(&self.asks, |i, j| self.ohm(i, j)).ok()
    }

    fn place(&self, charger: usize) -> usize {
        self.chargers.iter().position(|i| *i == charger).unwrap_or(0)
    }

    /// The same without one that dropped out.
    fn without(mut self, c: &Context<'_>, gone: usize) -> Figure<Self> {
        self.chargers.remove(gone);
        self.asks.remove(gone);
        self.sources_v.remove(gone);
        for on in &mut self.line {
            on.by.retain(|place| *place != gone);
            on.by.iter_mut().filter(|place| **place > gone).for_each(|place| *place -= 1);
        }
        self.line.retain(|on| !on.by.is_empty());
        self.warmed(c)
    }

    /// All that draw still when a charger drops out, that one among them; none where it keeps running.
    pub(super) fn when_it_drops(mut self, c: &Context<'_>, charger: usize) -> Figure<Result<Self, Self>> {
        while let Some(gone) = falling(&self.asks, |i, j| self.ohm(i, j)) {
            if self.chargers.get(gone) == Some(&charger) {
                return Ok(Ok(self));
            }
            self = self.without(c, gone)?;
        }
        Ok(Err(self))
    }

    /// Volts and amps at a charger's input while all of them draw.
    pub(super) fn at(&self, charger: usize) -> Option<(f64, f64)> {
        let found = self.feeds()?;
        found.get(self.place(charger)).map(|f| (f.input_v, f.input_a))
    }

    /// Amps at a charger's input while all of them ask for a part of what they do; none where one of them drops out then.
    fn drawn_a(&self, charger: usize, part: f64) -> Option<f64> {
        let asks: Vec<Ask> = self.asks.iter().map(|a| Ask { power_w: a.power_w * part, ..*a }).collect();
        let found = feeds(&asks, |i, j| self.ohm(i, j)).ok()?;
        let runs = found.iter().zip(&asks).all(|(feed, ask)| feed.input_v >= ask.cutout_v);
        found.get(self.place(charger)).filter(|_| runs).map(|feed| feed.input_a)
    }

    /// The same, or while the line was cool enough where it does not bring what they ask once it is warm: what flows until then.
    fn until_warm(&self, charger: usize) -> Option<(f64, f64)> {
        self.found.get(self.place(charger)).map(|f| (f.input_v, f.input_a))
    }

    /// Watts that all of them ask for, and the most that the line brings them in the same parts.
    pub(super) fn watts(&self) -> (f64, f64) {
        let asked_w: f64 = self.asks.iter().map(|ask| ask.power_w).sum();
        if let ([ask], ohm) = (self.asks.as_slice(), self.ohm(0, 0)) {
            // At half its volts a line brings the most that it can.
            return (asked_w, ask.source_v * ask.source_v / (4.0 * ohm.max(1e-9)));
        }
        let (mut brings, mut not) = (0.0, 1.0);
        for _ in 0..40 {
            let middle = f64::midpoint(brings, not);
            let part: Vec<Ask> = self.asks.iter().map(|a| Ask { power_w: a.power_w * middle, ..*a }).collect();
            match feeds(&part, |i, j| self.ohm(i, j)) {
                Ok(_) => brings = middle,
                Err(_) => not = middle,
            }
        }
        (asked_w, asked_w * brings)
    }

    /// The other chargers on the line of one, by name.
    pub(super) fn beside(&self, c: &Context<'_>, charger: usize) -> String {
        let others = self.chargers.iter().filter(|i| **i != charger).filter_map(|i| c.plan.chargers.get(*i));
        others.map(|ch| ch.id.as_str()).collect::<Vec<_>>().join(" and ")
    }
}

/// Volts and amps at a DC-DC charger's input while all on its line draw; none where no such point exists, however cool it is.
pub(super) fn dc_feed(c: &Context<'_>, index: usize) -> Figure<Option<(f64, f64)>> {
    if c.plan.chargers.get(index).is_none() {
        return Ok(None);
    }
    Ok(Shared::of(c, index)?.until_warm(index))
}

/// What a DC-DC charger asks of its line; a cut-out that nobody knows is none.
fn asks_of(c: &Context<'_>, index: usize) -> Figure<Ask> {
    let ch = c.plan.chargers.get(index).ok_or_else(|| Missing("chargers".into()))?;
    let efficiency = need(&ch.efficiency_pct, "chargers", &ch.id, "efficiency_pct")?.0 / 100.0;
    let source_v = source_v(c, index, ch)?;
    let out_a = need(&ch.out_a, "chargers", &ch.id, "out_a")?.0;
    let out_v = need(&ch.absorb_v, "chargers", &ch.id, "absorb_v")?.0;
    let cutout_v = ch.input_cutout_v.as_ref().and_then(Known::known).map_or(0.0, |v| v.0);
    Ok(Ask { source_v, power_w: out_a * out_v / efficiency, cutout_v })
}

/// Amps of the loads that hang on a run of a charger's line; on those ahead of it, of what hangs on the start battery as well,
/// which the alternator feeds.
fn loads_on(c: &Context<'_>, charger: usize, run: usize) -> Figure<f64> {
    let own = if has_loads(c, run) { vehicle::loads_a(c, run)?.0 } else { 0.0 };
    match vehicle::on_batteries_a(c).filter(|_| ahead(c, charger).contains(&run)) {
        Some(amps) => Ok(own + amps?),
        None => Ok(own),
    }
}

/// Runs of a DC-DC charger's line: those from an alternator or start battery, else those that are drawn to its input.
pub(super) fn line_runs(c: &Context<'_>, index: usize) -> Vec<usize> {
    match c.circuit.way_of(PathKind::ChargerInput, Node::Charger(index)) {
        Some(way) => way.runs.clone(),
        // A line whose source end is not drawn still counts with its own ohms.
        None => (0..c.plan.runs.len())
            .filter(|i| {
                c.circuit
                    .links
                    .get(*i)
                    .is_some_and(|l| l.role == Role::ChargerInput && l.away.contains(&Node::Charger(index)))
            })
            .collect(),
    }
}

/// The runs from the alternator to where a charger's own line begins, source first.
pub(super) fn ahead<'a>(c: &'a Context<'_>, index: usize) -> &'a [usize] {
    c.circuit.ahead.get(index).map_or(&[], Vec::as_slice)
}

/// All that is drawn between a charger and the alternator, source first.
pub(super) fn whole_line(c: &Context<'_>, index: usize) -> Vec<usize> {
    let mut all = line_runs(c, index);
    let more: Vec<usize> = ahead(c, index).iter().copied().filter(|run| !all.contains(run)).collect();
    all.splice(0..0, more);
    all
}

/// A run's ohms at a current: at the rule's temperature, or what the current brings it to where that is warmer.
fn ohm(c: &Context<'_>, run: usize, amps: f64) -> Figure<f64> {
    let Some(drawn) = c.plan.runs.get(run) else { return Ok(0.0) };
    Ok(run_loop_from(c, run, drawn, amps, c.rules.alternator_loop_c)?.ohm)
}

/// The line of a DC-DC charger: the alternator's low volts behind its loop, as warm as all on it make it.
pub(super) fn dc_line(c: &Context<'_>, index: usize) -> Figure<Line> {
    let ch = c.plan.chargers.get(index).ok_or_else(|| Missing("chargers".into()))?;
    let efficiency = need(&ch.efficiency_pct, "chargers", &ch.id, "efficiency_pct")?.0 / 100.0;
    let ask = asks_of(c, index)?;
    // Where nobody knows what else draws on it, as warm as the rule has it.
    let cool = |_| whole_line(c, index).into_iter().map(|run| ohm(c, run, 0.0)).sum::<Figure<f64>>();
    let ohm = Shared::of(c, index).map(|line| line.ohm_of(index, index)).or_else(cool)?;
    Ok(Line { source_v: ask.source_v, ohm, efficiency, cutout_v: ask.cutout_v, part: 1.0 })
}

/// Low volts of the alternator behind a line: as entered, else the rule's for each 12 V of the vehicle's battery.
fn source_v(c: &Context<'_>, index: usize, ch: &Charger) -> Figure<f64> {
    match &ch.alternator_low_v {
        Some(v) => v.at(|| at("chargers", &ch.id, "alternator_low_v")).map(|v| v.0),
        None => Ok(c.rules.alternator_low_v * twelves(c, index)),
    }
}

/// Batteries of 12 V in series in the vehicle behind a charger's line, by its battery's label or the alternator's low volts.
pub(super) fn twelves(c: &Context<'_>, index: usize) -> f64 {
    let first = line_runs(c, index).first().copied();
    first.map_or_else(|| if vehicle::is_24_v(c, index) { 2.0 } else { 1.0 }, |run| vehicle::twelves(c, run))
}

/// A name that stands for no alternator, and why not.
pub(super) type NoAlternator<'a> = (&'a Id, &'static str);

/// The alternator that a DC-DC charger draws on: the one it names, else the one its line comes from; and a name that leads
/// to none, with why not.
pub(super) fn alternator_of<'a>(
    c: &'a Context<'_>,
    i: usize,
) -> Figure<(Option<&'a Device>, Option<NoAlternator<'a>>)> {
    let plan = c.plan;
    let Some(ch) = plan.chargers.get(i).filter(|ch| is_dc_dc(ch)) else { return Ok((None, None)) };
    let derived = c.circuit.alternator_behind(plan, i).and_then(|d| plan.devices.get(d));
    let id = match &ch.alternator {
        // A line from the vehicle has an alternator behind it, which nobody has named.
        None if derived.is_none() && c.circuit.way_of(PathKind::ChargerInput, Node::Charger(i)).is_some() => {
            return Err(Missing(at("chargers", &ch.id, "alternator")));
        }
        None => return Ok((derived, None)),
        Some(Known::Unknown) if derived.is_some() => return Ok((derived, None)),
        Some(known) => match known.known() {
            Some(id) => id,
            None => return Err(Missing(at("chargers", &ch.id, "alternator"))),
        },
    };
    let why = match plan.devices.iter().find(|d| d.id == *id) {
        None => "not in the plan",
        Some(device) if !device.state.stays() => "removed or dead",
        // What nobody has named yet is taken at the charger's word.
        Some(device) if device.kind.known().is_none_or(|k| *k == DeviceKind::Alternator) => {
            return Ok((Some(device), None));
        }
        Some(_) => "no alternator",
    };
    Ok((derived, Some((id, why))))
}

/// The chargers that stay and draw on an alternator.
pub(super) fn on_alternator(c: &Context<'_>, device: &Device) -> Vec<usize> {
    let is_its = |j: &usize| alternator_of(c, *j).is_ok_and(|(other, _)| other.is_some_and(|d| d.id == device.id));
    let stays = |j: &usize| c.plan.chargers.get(*j).is_some_and(|ch| ch.state.stays());
    (0..c.plan.chargers.len()).filter(stays).filter(is_its).collect()
}

/// Part of its current that a charger gets, while it stays on, from an alternator that all on it together ask for more than it is
/// rated for: so much that they draw just that, those that lower volts of the bank let run as well; all of it where something
/// about that is not known. What drops out before that draws nothing.
/// Source: energy of an hour is no more than its source's rating brings; the start battery only lends.
pub(super) fn rated_share(c: &Context<'_>, index: usize) -> f64 {
    let share = || {
        let device = alternator_of(c, index).ok()?.0?;
        let rating = device.ratings.amps_a.as_ref()?.known()?.0;
        let on = on_alternator(c, device);
        let lines: Vec<_> = on.iter().map(|i| Some((*i, Shared::of(c, *i).ok()?))).collect::<Option<_>>()?;
        if let Some(part) = part_within(&lines, rating) {
            return Some(part);
        }
        let mut running = Vec::new();
        for (i, line) in lines {
            running.extend(line.when_it_drops(c, i).ok()?.err().map(|line| (i, line)));
        }
        part_within(&running, rating)
    };
    share().unwrap_or(1.0)
}

/// The part of what chargers ask at which they draw just a rating together; none where one of them drops out before that.
fn part_within(lines: &[(usize, Shared)], rating: f64) -> Option<f64> {
    let drawn_a = |part: f64| lines.iter().map(|(i, line)| line.drawn_a(*i, part)).sum::<Option<f64>>();
    if drawn_a(1.0).is_some_and(|amps| amps <= rating) {
        return Some(1.0);
    }
    let (mut within, mut beyond) = (0.0, 1.0);
    for _ in 0..40 {
        let middle = f64::midpoint(within, beyond);
        *(if drawn_a(middle).is_some_and(|amps| amps <= rating) { &mut within } else { &mut beyond }) = middle;
    }
    drawn_a(within).filter(|amps| *amps >= rating * (1.0 - 1e-6)).map(|_| within)
}
