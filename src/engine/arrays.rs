//! Strings by their labels: volts cold and hot, currents, what unlike panels do.

use crate::physics::module::{Label, Module, SILICON_EV};
use crate::plan::{Array, FieldPath, Figure, Id, Missing, Panel, Plan};
use crate::standards::cold::voc_factor;
use crate::standards::kinds::Mount;
use crate::units::{Amps, Volts, Watts};

use super::circuit::{Circuit, Node, Role};
use super::context::{Context, at, finite, need};
use super::memo::Memo;
use super::report::{ArrayFigures, none_yet};
use super::sites::{self, Spot};

/// The coldest air and the mean daily maximum of the hottest month.
#[derive(Clone, Debug)]
pub struct Weather {
    pub coldest_c: Figure<f64>,
    pub hottest_c: Figure<f64>,
}

impl Weather {
    /// The coldest as entered, or by the climate of the stays with the rules' margin; the hottest by that climate.
    #[must_use]
    pub fn of(plan: &Plan, spots: &[Figure<Spot>], cold_margin_k: f64) -> Self {
        Self {
            coldest_c: sites::coldest_c(plan, spots, cold_margin_k).map(|c| c.0),
            hottest_c: sites::hottest_mean_max_c(plan, spots).map(|c| c.0),
        }
    }
}

/// Modules made from labels: extraction costs more than all wires of a plan together.
#[derive(Clone)]
pub(super) struct Labels(Memo<Label, Option<(Module, [f64; 2])>>);

impl Default for Labels {
    fn default() -> Self {
        Self(Memo::with_room(32))
    }
}

impl Labels {
    /// The module of a label; none where no curve has such points.
    pub(super) fn module(&mut self, label: &Label) -> Option<Module> {
        self.made(label).map(|(module, _)| module)
    }

    /// How its volts without load and its power follow heat, %/K.
    fn coefficients(&mut self, label: &Label) -> Option<[f64; 2]> {
        self.made(label).map(|(_, by_k)| by_k)
    }

    fn made(&mut self, label: &Label) -> Option<(Module, [f64; 2])> {
        let make = |label: &Label| Module::from_label(label).ok().map(|module| (module, module.coefficients_pct_k()));
        *self.0.get(*label, make)
    }
}

/// One string's sums.
#[derive(Clone, Copy, Debug)]
pub(super) struct StringSums {
    pub(super) voc_v: f64,
    pub(super) vmp_v: f64,
    /// Smallest of its panels.
    pub(super) isc_a: f64,
    pub(super) imp_a: f64,
    /// Largest and smallest Imp of its panels.
    pub(super) imp_span: (f64, f64),
}

pub(super) fn panel<'a>(plan: &'a Plan, array: &Array, id: &Id) -> Figure<&'a Panel> {
    plan.panels.iter().find(|p| p.id == *id).ok_or_else(|| Missing(at("arrays", &array.id, "strings")))
}

/// Volts and currents of a string at 1000 W/m2 and 25 C.
pub(super) fn string_sums(plan: &Plan, array: &Array, string: &[Id]) -> Figure<StringSums> {
    let mut sums = StringSums { voc_v: 0.0, vmp_v: 0.0, isc_a: f64::MAX, imp_a: f64::MAX, imp_span: (0.0, f64::MAX) };
    for id in string {
        let p = panel(plan, array, id)?;
        sums.voc_v += open_circuit_v(p)?;
        sums.vmp_v += need(&p.vmp_v, "panels", &p.id, "vmp_v")?.0;
        sums.isc_a = sums.isc_a.min(short_circuit_a(p)?);
        let imp = need(&p.imp_a, "panels", &p.id, "imp_a")?.0;
        sums.imp_a = sums.imp_a.min(imp);
        sums.imp_span = (sums.imp_span.0.max(imp), sums.imp_span.1.min(imp));
    }
    if string.is_empty() { Err(Missing(at("arrays", &array.id, "strings"))) } else { Ok(sums) }
}

/// A label's open-circuit volts. Not above those at maximum power they are no panel's, and no limit is judged by them.
/// Source: the diode equation: at maximum power current flows, and volts are less than open.
fn open_circuit_v(p: &Panel) -> Figure<f64> {
    let volts = need(&p.voc_v, "panels", &p.id, "voc_v")?.0;
    let is_one = p.vmp_v.known().is_none_or(|vmp| vmp.0 < volts);
    if is_one { Ok(volts) } else { Err(Missing(at("panels", &p.id, "voc_v"))) }
}

/// A label's short-circuit current, as [`open_circuit_v`].
fn short_circuit_a(p: &Panel) -> Figure<f64> {
    let amps = need(&p.isc_a, "panels", &p.id, "isc_a")?.0;
    let is_one = p.imp_a.known().is_none_or(|imp| imp.0 < amps);
    if is_one { Ok(amps) } else { Err(Missing(at("panels", &p.id, "isc_a"))) }
}

/// The array of which a run carries one string, and nothing else.
pub(super) fn alone_on<'a>(plan: &'a Plan, circuit: &Circuit, run: usize) -> Option<&'a Array> {
    let link = circuit.links.get(run).filter(|l| l.role == Role::Array)?;
    let mut on = link.away.iter().filter_map(|n| match n {
        Node::Array(i) => plan.arrays.get(*i),
        _ => None,
    });
    let array = on.next().filter(|_| on.next().is_none())?;
    let one = circuit.string_leads_of(plan, run).map_or(array.strings.0.len() == 1, |leads| leads.each == Some(1));
    one.then_some(array)
}

/// The smallest maximum series fuse of an array's panels; none where one is not known.
pub(super) fn series_fuse_a(plan: &Plan, array: &Array) -> Option<f64> {
    let each = array.strings.0.iter().flatten().map(|id| panel(plan, array, id).ok()?.series_fuse_a.known());
    each.map(|a| a.map(|a| a.0)).try_fold(f64::MAX, |least, a| Some(least.min(a?))).filter(|a| *a < f64::MAX)
}

/// What the fuse of one string is at least, so many times its current.
/// Source: NEC 690.8 and 690.9(B).
pub(super) fn string_fuse_least_a(plan: &Plan, array: &Array, factor: f64) -> f64 {
    let of = |string: &Vec<Id>| string_sums(plan, array, string).map_or(0.0, |sums| sums.isc_a);
    array.strings.0.iter().map(of).fold(0.0, f64::max) * factor
}

/// Short-circuit current of all strings. Unlike panels in series: the largest, for protection.
pub(super) fn isc_a(plan: &Plan, array: &Array) -> Figure<f64> {
    let mut total = 0.0;
    for string in &array.strings.0 {
        let mut most = 0.0_f64;
        for id in string {
            let p = panel(plan, array, id)?;
            most = most.max(short_circuit_a(p)?);
        }
        total += most;
    }
    if array.strings.0.is_empty() { Err(Missing(at("arrays", &array.id, "strings"))) } else { Ok(total) }
}

/// Working current of all strings.
pub(super) fn imp_a(plan: &Plan, array: &Array) -> Figure<f64> {
    let mut total = 0.0;
    for string in &array.strings.0 {
        let mut least = f64::MAX;
        for id in string {
            let p = panel(plan, array, id)?;
            least = least.min(need(&p.imp_a, "panels", &p.id, "imp_a")?.0);
        }
        total += if string.is_empty() { 0.0 } else { least };
    }
    if array.strings.panels() == 0 { Err(Missing(at("arrays", &array.id, "strings"))) } else { Ok(total) }
}

/// By how much of itself a label's power may differ from its volts times amps at maximum power.
/// Source: common practice: what a label's three figures lose by rounding.
pub(super) const LABEL_ROUNDING: f64 = 0.03;

/// Rated watts of one panel: what its label says, or its volts times amps at maximum power where these are clearly more. One of
/// the three is misread then, and no wire is sized by the less.
/// Source: P = V I at the label's point of maximum power (IEC 61215, standard test conditions).
fn rated_w(p: &Panel) -> Figure<f64> {
    let pmax_w = need(&p.pmax_w, "panels", &p.id, "pmax_w")?.0;
    let of_point = p.vmp_v.known().zip(p.imp_a.known()).map_or(0.0, |(v, a)| v.0 * a.0);
    Ok(if of_point > pmax_w * (1.0 + LABEL_ROUNDING) { of_point } else { pmax_w })
}

/// Rated watts of all panels.
pub(super) fn watts(plan: &Plan, array: &Array) -> Figure<f64> {
    let mut total = 0.0;
    for id in array.strings.0.iter().flatten() {
        total += rated_w(panel(plan, array, id)?)?;
    }
    if array.strings.panels() == 0 { Err(Missing(at("arrays", &array.id, "strings"))) } else { Ok(total) }
}

/// Each array's part of all of them by rated watts, or by their panels where some watts are not known.
/// Source: our own choice; what reaches alike panels goes by their watts.
pub(super) fn parts(plan: &Plan, all: &[usize]) -> Vec<f64> {
    let arrays = || all.iter().filter_map(|i| plan.arrays.get(*i));
    let each: Figure<Vec<f64>> = arrays().map(|a| watts(plan, a)).collect();
    let each = each.unwrap_or_else(|_| arrays().map(|a| a.strings.panels() as f64).collect());
    let sum = each.iter().sum::<f64>().max(f64::MIN_POSITIVE);
    each.into_iter().map(|own| own / sum).collect()
}

/// The power coefficient of all panels of an array together, %/K: the mean by their rated watts.
pub(super) fn gamma_pct_k(plan: &Plan, array: &Array) -> Figure<f64> {
    let own = |p: &Panel| need(&p.gamma_pct_k, "panels", &p.id, "gamma_pct_k").map(|g| g.0);
    let mut ids = array.strings.0.iter().flatten();
    let first = ids.next().ok_or_else(|| Missing(at("arrays", &array.id, "strings")))?;
    if ids.all(|id| id == first) {
        return own(panel(plan, array, first)?);
    }
    let (mut sum, mut watts) = (0.0, 0.0);
    for id in array.strings.0.iter().flatten() {
        let p = panel(plan, array, id)?;
        let pmax_w = need(&p.pmax_w, "panels", &p.id, "pmax_w")?.0;
        (sum, watts) = (sum + own(p)? * pmax_w, watts + pmax_w);
    }
    Ok(sum / watts.max(f64::MIN_POSITIVE))
}

/// Smallest string Vmp: the base of the array side's percentages.
pub(super) fn string_vmp_v(plan: &Plan, array: &Array) -> Figure<f64> {
    let mut least = f64::MAX;
    for string in &array.strings.0 {
        least = least.min(string_sums(plan, array, string)?.vmp_v);
    }
    if array.strings.panels() == 0 { Err(Missing(at("arrays", &array.id, "strings"))) } else { Ok(least) }
}

/// The string of an array that stands highest, open, in the cold.
#[derive(Clone, Copy)]
pub(super) struct Coldest {
    /// Its place among the array's strings.
    pub(super) place: usize,
    pub(super) volts: f64,
    /// Whether the code table stood in for a coefficient of it.
    pub(super) by_table: bool,
}

/// Highest open-circuit volts of a string at an air temperature; the first of several as high.
///
/// Source: NEC 690.7(A): the label's coefficient, or Table 690.7(A).
pub(super) fn voc_cold(plan: &Plan, array: &Array, coldest_c: f64) -> Figure<Coldest> {
    let mut most = Coldest { place: 0, volts: 0.0, by_table: false };
    for (place, string) in array.strings.0.iter().enumerate() {
        let (mut volts, mut by_table) = (0.0, false);
        for id in string {
            let p = panel(plan, array, id)?;
            let voc = open_circuit_v(p)?;
            volts += match p.beta_pct_k.known() {
                Some(beta) => voc * (1.0 + beta.0 / 100.0 * (coldest_c - 25.0)),
                None => {
                    by_table = true;
                    voc * voc_factor(coldest_c).ok_or_else(|| Missing(at("panels", &p.id, "beta_pct_k")))?
                }
            };
        }
        let volts = finite(volts, || at("arrays", &array.id, "strings"))?;
        if volts > most.volts {
            most = Coldest { place, volts, by_table };
        }
    }
    if array.strings.panels() == 0 { Err(Missing(at("arrays", &array.id, "strings"))) } else { Ok(most) }
}

/// Air temperature at which the first of an array's strings reaches open-circuit volts, by its labels; none where one
/// gives no coefficient.
///
/// Source: the label's coefficient, as in NEC 690.7(A), solved for the temperature.
pub(super) fn reaches_at_c(plan: &Plan, array: &Array, volts: f64) -> Option<f64> {
    let mut first: Option<f64> = None;
    for string in &array.strings.0 {
        let (mut voc, mut slope) = (0.0, 0.0);
        for id in string {
            let p = panel(plan, array, id).ok()?;
            let own = p.voc_v.known()?.0;
            voc += own;
            slope += own * p.beta_pct_k.known()?.0 / 100.0;
        }
        let at_c = 25.0 + (volts - voc) / slope;
        if at_c.is_finite() {
            first = Some(first.map_or(at_c, |f: f64| f.max(at_c)));
        }
    }
    first
}

/// Current coefficient where the label gives none, %/K. Source: common practice for crystalline silicon.
const USUAL_ALPHA_PCT_K: f64 = 0.05;

/// A panel's label for the module model, with the voltage coefficient taken where the label gives none. Limits do not
/// use that one: they use the code's table.
pub(super) fn label(p: &Panel, usual_beta_pct_k: f64) -> Figure<Label> {
    Ok(Label {
        vmp_v: need(&p.vmp_v, "panels", &p.id, "vmp_v")?.0,
        imp_a: need(&p.imp_a, "panels", &p.id, "imp_a")?.0,
        voc_v: need(&p.voc_v, "panels", &p.id, "voc_v")?.0,
        isc_a: need(&p.isc_a, "panels", &p.id, "isc_a")?.0,
        alpha_pct_k: p.alpha_pct_k.known().map_or(USUAL_ALPHA_PCT_K, |a| a.0),
        beta_pct_k: p.beta_pct_k.known().map_or(usual_beta_pct_k, |b| b.0),
        band_gap_ev: SILICON_EV,
    })
}

/// The module of a panel's label.
///
/// Fails with the field it waits for; a label that no module can have waits for the one that is out of bounds.
pub(super) fn module(labels: &mut Labels, p: &Panel, usual_beta_pct_k: f64) -> Figure<Module> {
    let label = label(p, usual_beta_pct_k)?;
    let wrong = if label.imp_a >= label.isc_a { "imp_a" } else { "vmp_v" };
    labels.module(&label).ok_or_else(|| Missing(at("panels", &p.id, wrong)))
}

/// Volts of the lowest string with hot cells: at maximum power in full sun, and open in little sun.
fn hot(c: &Context<'_>, labels: &mut Labels, array: &Array, hottest_c: f64) -> Figure<(f64, f64)> {
    let rise = if array.mount == Mount::Glued { c.rules.hot_rise_glued_k } else { c.rules.hot_rise_feet_k };
    let start_rise = rise * c.rules.start_sun / 1000.0;
    let mut least = (f64::MAX, f64::MAX);
    let mut last: Option<(&Id, (f64, f64))> = None;
    for string in &array.strings.0 {
        let mut sums = (0.0, 0.0);
        for id in string {
            let each = match last {
                Some((same, each)) if same == id => each,
                _ => {
                    let p = panel(c.plan, array, id)?;
                    let module = module(labels, p, c.rules.beta_fallback)?;
                    let vmp = module.at(1000.0, hottest_c + rise).max_power(0.0).v;
                    (vmp, module.at(c.rules.start_sun, hottest_c + start_rise).open_circuit_v())
                }
            };
            last = Some((id, each));
            sums = (sums.0 + each.0, sums.1 + each.1);
        }
        least = (least.0.min(sums.0), least.1.min(sums.1));
    }
    let path = || at("arrays", &array.id, "strings");
    if array.strings.panels() == 0 {
        Err(Missing(path()))
    } else {
        Ok((finite(least.0, path)?, finite(least.1, path)?))
    }
}

/// Each panel of an array with the coefficients that its curve has: of volts without load and of power.
fn coefficients(c: &Context<'_>, labels: &mut Labels, array: &Array) -> Vec<(Id, [f64; 2])> {
    let mut all: Vec<(Id, [f64; 2])> = Vec::new();
    for id in array.strings.0.iter().flatten() {
        if all.iter().any(|(known, _)| known == id) {
            continue;
        }
        let label = panel(c.plan, array, id).and_then(|p| label(p, c.rules.beta_fallback));
        all.extend(label.ok().and_then(|label| Some((id.clone(), labels.coefficients(&label)?))));
    }
    all
}

/// The figures of every array.
pub(super) fn figures(c: &Context<'_>, labels: &mut Labels, weather: &Weather) -> Vec<ArrayFigures> {
    let mut all = Vec::with_capacity(c.plan.arrays.len());
    for (i, array) in c.plan.arrays.iter().enumerate() {
        let cold = weather.coldest_c.clone().and_then(|t| voc_cold(c.plan, array, t));
        let hot = weather.hottest_c.clone().and_then(|t| hot(c, labels, array, t));
        let feeds = c.circuit.feeds.get(i).copied().flatten();
        all.push(ArrayFigures {
            id: array.id.clone(),
            panels: array.strings.panels(),
            watts: watts(c.plan, array).map(Watts),
            voc_by_table: cold.as_ref().is_ok_and(|cold| cold.by_table),
            voc_cold_v: cold.map(|cold| Volts(cold.volts)),
            vmp_hot_v: hot.clone().map(|(v, _)| Volts(v)),
            voc_start_v: hot.map(|(_, v)| Volts(v)),
            isc_a: isc_a(c.plan, array).map(Amps),
            imp_a: imp_a(c.plan, array).map(Amps),
            controller: feeds.and_then(|k| c.plan.controllers.get(k)).map(|k| k.id.clone()),
            weight_kg: weight_kg(c.plan, array),
            unlike_wh_day: none_yet(),
            coefficients: coefficients(c, labels, array),
        });
    }
    all
}

fn weight_kg(plan: &Plan, array: &Array) -> Figure<f64> {
    let mut total = 0.0;
    for id in array.strings.0.iter().flatten() {
        let p = panel(plan, array, id)?;
        total += need(&p.weight_kg, "panels", &p.id, "weight_kg")?.0;
    }
    Ok(total)
}

/// The path of an array.
pub(super) fn path_of(array: &Array) -> FieldPath {
    FieldPath::new(format!("arrays.{}", array.id))
}
