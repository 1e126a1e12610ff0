//! The roof as rectangles: what stands on it, where the panels lie, and what holds them.

pub mod access;
pub mod shadow;

use crate::climate::year::MONTH_DAYS;
use crate::physics::hold::{lag_withdrawal_n, screw_diameter_m, uplift_n, withdrawal_n};
use crate::physics::shadow::Rect;
use crate::plan::arrays::Lie;
use crate::plan::roof::{Deck, Fastener, ObstacleKind, Rafter, Skin};
use crate::plan::{Array, FieldPath, Figure, Missing, Obstacle, Panel, PanelPlace, Plan, YesNo};
use crate::standards::kinds::Mount;

use super::context::{Context, at, missing};
use super::harvest::{Lit, Stages};
use super::report::{PlaceAccess, PlaceShade, Report, RoofFigures, Taken};
use super::rule::Rules;
use access::{Access, AccessInput, access};
use shadow::{Shaded, ShadowInput, shadow};

/// A panel on the roof.
pub(super) struct Placed<'a> {
    /// Of its array and its place, in the plan.
    pub(super) at: (usize, usize),
    pub(super) array: &'a Array,
    pub(super) place: &'a PanelPlace,
    pub(super) panel: &'a Panel,
    pub(super) rect: Rect,
}

/// Something that stands on the roof.
pub(super) struct Thing<'a> {
    /// Its place in the plan.
    pub(super) at: usize,
    pub(super) obstacle: &'a Obstacle,
    pub(super) kind: ObstacleKind,
    pub(super) rect: Rect,
    pub(super) height_m: f64,
    /// Reach of its lid or arm beyond its own edges.
    pub(super) swing_m: f64,
}

impl Placed<'_> {
    /// As it is called: `A1 PP2`.
    pub(super) fn label(&self) -> String {
        format!("{} {}", self.array.id, self.place.id)
    }
}

/// The place of a panel as a path.
pub(super) fn place_path(array: &Array, place: &PanelPlace) -> FieldPath {
    FieldPath::of(&["arrays", array.id.as_str(), "places", place.id.as_str()])
}

fn place_field(array: &Array, place: &PanelPlace, field: &str) -> Missing {
    Missing(place_path(array, place).join(field))
}

/// Every panel that lies on the roof; the field that a place waits for.
pub(super) fn placed(plan: &Plan, number: usize) -> Figure<Vec<Placed<'_>>> {
    let Some(array) = plan.arrays.get(number) else { return Ok(Vec::new()) };
    if array.places.len() < array.strings.panels() {
        return Err(missing(at("arrays", &array.id, "places")));
    }
    let mut all = Vec::with_capacity(array.places.len());
    for (i, place) in array.places.iter().enumerate() {
        let panel = panel_of(plan, array, i)?;
        all.push(Placed { at: (number, i), array, place, panel, rect: rect(array, place, panel)? });
    }
    Ok(all)
}

/// What a panel covers at a place.
fn rect(array: &Array, place: &PanelPlace, panel: &Panel) -> Figure<Rect> {
    let size = |known: &crate::plan::Known<crate::units::Metres>, field: &str| {
        known.at(|| at("panels", &panel.id, field)).map(|m| m.0)
    };
    let (length_m, width_m) = (size(&panel.length_m, "length_m")?, size(&panel.width_m, "width_m")?);
    let (l_m, w_m) = match place.lie {
        Lie::Along => (length_m, width_m),
        Lie::Across => (width_m, length_m),
    };
    let x_m = place.x_m.known().ok_or_else(|| place_field(array, place, "x_m"))?.0;
    let y_m = place.y_m.known().ok_or_else(|| place_field(array, place, "y_m"))?.0;
    Ok(Rect { x_m, y_m, l_m, w_m })
}

/// Where the panels of each string lie, with the height of their faces; none where nobody said.
pub(super) fn lies(plan: &Plan, array: &Array) -> Vec<Vec<Option<(Rect, f64)>>> {
    let strings = &array.strings.0;
    let mut all: Vec<Vec<_>> = strings.iter().map(|string| Vec::with_capacity(string.len())).collect();
    for (i, place) in array.places.iter().enumerate() {
        let Some(k) = string_of(array, i) else { continue };
        let (Some(here), Some(ids)) = (all.get_mut(k), strings.get(k)) else { continue };
        // Places beyond a string's panels are none of it.
        let Some(id) = ids.get(here.len()) else { continue };
        let lying = plan
            .panels
            .iter()
            .find(|p| p.id == *id)
            .and_then(|panel| Some((rect(array, place, panel).ok()?, face_m(plan, array, panel).ok()?)));
        here.push(lying);
    }
    all.iter_mut().zip(strings).for_each(|(here, string)| here.resize(string.len(), None));
    all
}

/// The panel at the array's `i`-th place: of like panels any, else the next one of the string that the place names.
fn panel_of<'a>(plan: &'a Plan, array: &'a Array, i: usize) -> Figure<&'a Panel> {
    let waits = || missing(at("arrays", &array.id, "strings"));
    let id = match array.strings.alike() {
        Some(id) => id,
        None => {
            let place = array.places.get(i).ok_or_else(waits)?;
            let string = string_of(array, i).ok_or_else(|| place_field(array, place, "string"))?;
            let before = array.places.iter().take(i).enumerate().filter(|(j, _)| string_of(array, *j) == Some(string));
            let nth = before.count();
            array.strings.0.get(string).and_then(|s| s.get(nth)).ok_or_else(waits)?
        }
    };
    plan.panels.iter().find(|p| p.id == *id).ok_or_else(waits)
}

/// The string that a place belongs to, counted from none: as it says, else by its turn.
pub(in crate::engine) fn string_of(array: &Array, i: usize) -> Option<usize> {
    let place = array.places.get(i)?;
    match &place.string {
        Some(known) => (known.known()?.0 as usize).checked_sub(1),
        None => {
            let mut left = i;
            for (k, string) in array.strings.0.iter().enumerate() {
                match left.checked_sub(string.len()) {
                    Some(rest) => left = rest,
                    None => return Some(k),
                }
            }
            None
        }
    }
}

/// What stands on the roof.
pub(super) fn things(plan: &Plan) -> Figure<Vec<Thing<'_>>> {
    let mut all = Vec::with_capacity(plan.roof.obstacles.len());
    for (at, o) in plan.roof.obstacles.iter().enumerate() {
        let path = |field: &str| crate::plan::FieldPath::of(&["roof", "obstacles", o.id.as_str(), field]);
        macro_rules! metres {
            ($($field:ident),*) => { ($(o.$field.at(|| path(stringify!($field)))?.0),*) };
        }
        let (x_m, y_m, l_m, w_m, height_m) = metres!(x_m, y_m, l_m, w_m, h_m);
        let swing_m = match &o.lid_swing_m {
            Some(known) => known.at(|| path("lid_swing_m"))?.0,
            None => 0.0,
        };
        let kind = *o.kind.known().ok_or_else(|| Missing(path("kind")))?;
        all.push(Thing { at, obstacle: o, kind, rect: Rect { x_m, y_m, l_m, w_m }, height_m, swing_m });
    }
    Ok(all)
}

/// The roof itself, and the strip along its edges.
pub(super) fn outline(plan: &Plan) -> Figure<(Rect, f64)> {
    let roof = &plan.roof;
    let (l_m, w_m) = (roof.length_m.at(|| "roof.length_m".into())?.0, roof.width_m.at(|| "roof.width_m".into())?.0);
    Ok((Rect { x_m: 0.0, y_m: 0.0, l_m, w_m }, roof.edge_m.at(|| "roof.edge_m".into())?.0))
}

/// Underside of a panel's frame and its face above the skin.
pub(super) fn heights_m(plan: &Plan, panel: &Panel) -> Figure<(f64, f64)> {
    let foot_m = plan.roof.foot_height_m.at(|| "roof.foot_height_m".into())?.0;
    Ok((foot_m, foot_m + panel.thickness_m.at(|| at("panels", &panel.id, "thickness_m"))?.0))
}

/// Height of a panel's face over the skin: glued flat it has no feet.
fn face_m(plan: &Plan, array: &Array, panel: &Panel) -> Figure<f64> {
    match array.mount {
        Mount::Glued => Ok(panel.thickness_m.at(|| at("panels", &panel.id, "thickness_m"))?.0),
        Mount::Feet | Mount::Tilted => Ok(heights_m(plan, panel)?.1),
    }
}

/// What the sentences about panels go by that have no feet.
pub(super) const GLUED_FLAT: &str = "glued flat";

/// What a foot holds.
pub(super) enum Hold {
    /// Newtons, by a test or by the thread in wood.
    Newtons(f64),
    /// Nothing that counts until it is tested.
    NotCredited,
}

/// Thread of a lag screw that counts at all, in diameters.
/// Source: NDS 2018 12.1.4, least penetration of lag screws, from memory; it is written for pulls across the screw.
const LAG_LEAST_DIAMETERS: f64 = 4.0;

/// What one foot holds against a pull, its screws taken to go into rafters where the roof has some.
pub(super) fn hold(plan: &Plan, rules: &Rules) -> Figure<Hold> {
    hold_by(plan, rules, true)
}

/// Thread of each screw that is taken to be in a rafter, m, where the deck by itself holds less than by it.
pub(super) fn in_rafter_m(plan: &Plan, rules: &Rules) -> Option<f64> {
    let Hold::Newtons(with) = hold(plan, rules).ok()? else { return None };
    let beyond_m = plan.roof.screw_grip_m.known()?.0 - plan.roof.deck_m.known()?.0;
    (with > hold_in_deck_n(plan, rules) + 1e-9).then_some(beyond_m)
}

/// What one foot holds in the deck alone, N.
pub(super) fn hold_in_deck_n(plan: &Plan, rules: &Rules) -> f64 {
    if let Ok(Hold::Newtons(n)) = hold_by(plan, rules, false) { n } else { 0.0 }
}

fn hold_by(plan: &Plan, rules: &Rules, into_rafters: bool) -> Figure<Hold> {
    let roof = &plan.roof;
    if let Some(tested) = &roof.tested_n {
        return Ok(Hold::Newtons(tested.at(|| "roof.tested_n".into())?.0));
    }
    let fastener = *roof.fastener.known().ok_or_else(|| missing("roof.fastener"))?;
    let deck = *roof.deck.known().ok_or_else(|| missing("roof.deck"))?;
    let gravity = match deck {
        Deck::Plywood => rules.plywood_gravity,
        Deck::Osb => rules.osb_gravity,
        Deck::Luan | Deck::Foam | Deck::Metal => 0.0,
    };
    match fastener {
        Fastener::Toggles | Fastener::Bolts => Err(missing("roof.tested_n")),
        Fastener::Adhesive => Ok(Hold::NotCredited),
        Fastener::Screws | Fastener::LagScrews | Fastener::ScrewsAndAdhesive => {
            let deck_m = roof.deck_m.at(|| "roof.deck_m".into())?.0;
            let counts = gravity > 0.0 && deck_m >= rules.deck_least_m;
            // Past the deck a thread holds in a rafter, where there are rafters, of wood.
            let has_rafters = into_rafters
                && matches!(&roof.rafter_spacing_m, Some(known) if known.known().is_some())
                && is_wood(plan, deck)?;
            if !counts && !has_rafters {
                return Ok(Hold::NotCredited);
            }
            let screws = roof.screws_per_foot.at(|| "roof.screws_per_foot".into())?.0;
            let thread_m = roof.screw_grip_m.at(|| "roof.screw_grip_m".into())?.0;
            let beyond_m = if has_rafters { (thread_m - deck_m).max(0.0) } else { 0.0 };
            let (in_deck_m, gravity) =
                if counts { (thread_m.min(deck_m), gravity) } else { (0.0, rules.plywood_gravity) };
            let held_m = in_deck_m + beyond_m;
            if held_m <= 0.0 {
                return Ok(Hold::NotCredited);
            }
            if fastener == Fastener::LagScrews {
                let lag = roof.lag_diameter_m.as_ref().ok_or_else(|| missing("roof.lag_diameter_m"))?;
                let lag_m = lag.at(|| "roof.lag_diameter_m".into())?.0;
                if held_m < LAG_LEAST_DIAMETERS * lag_m {
                    return Ok(Hold::NotCredited);
                }
                return Ok(Hold::Newtons(screws * lag_withdrawal_n(gravity, lag_m, held_m)));
            }
            let number = roof.screw_number.at(|| "roof.screw_number".into())?.0;
            Ok(Hold::Newtons(screws * withdrawal_n(gravity, screw_diameter_m(number), held_m)))
        }
    }
}

/// Whether the rafters are of wood, as withdrawal from wood is all that is reckoned: under a deck of thin metal they are taken
/// to be of the same unless said.
fn is_wood(plan: &Plan, deck: Deck) -> Figure<bool> {
    match &plan.roof.rafter_of {
        Some(made) => Ok(*made.known().ok_or_else(|| missing("roof.rafter_of"))? == Rafter::Wood),
        None => Ok(deck != Deck::Metal),
    }
}

/// Whether screws past the deck find wood, as far as is known.
pub(super) fn rafters_are_wood(plan: &Plan) -> bool {
    plan.roof.deck.known().is_none_or(|deck| is_wood(plan, *deck) != Ok(false))
}

/// What holds a whole panel that is glued flat, N: its adhesive as it was tested on that skin, whatever holds the feet of others.
pub(super) fn glue_n(plan: &Plan) -> Figure<f64> {
    let tested = plan.roof.adhesive_n.as_ref().ok_or_else(|| missing("roof.adhesive_n"))?;
    Ok(tested.at(|| "roof.adhesive_n".into())?.0)
}

/// Pull on a whole panel, N.
pub(super) fn panel_pull_n(rules: &Rules, panel: &Panel) -> Figure<f64> {
    let length_m = panel.length_m.at(|| at("panels", &panel.id, "length_m"))?.0;
    let width_m = panel.width_m.at(|| at("panels", &panel.id, "width_m"))?.0;
    Ok(uplift_n(rules.uplift_air, rules.uplift_speed_ms, length_m * width_m, rules.uplift_cp))
}

/// Pull on the worst foot of a panel, and on all of it, N.
pub(super) fn pull_n(plan: &Plan, rules: &Rules, panel: &Panel) -> Figure<(f64, f64)> {
    let feet = plan.roof.feet_per_panel.at(|| "roof.feet_per_panel".into())?.0;
    let all_n = panel_pull_n(rules, panel)?;
    // The front pair carries its share however many stand behind it; with fewer than four feet there may be no pair.
    let worst = if feet >= 4.0 { 0.5 * rules.uplift_front_pct / 100.0 } else { 1.0 / feet.max(1.0) };
    let prying = if plan.roof.one_sided == YesNo::Yes { rules.uplift_prying } else { 1.0 };
    Ok((all_n * worst * prying, all_n))
}

/// Whether adhesive is all that holds an array: glued flat, whatever holds the feet of others, or on feet held by it.
pub(super) fn only_adhesive(plan: &Plan, array: &Array) -> Figure<bool> {
    if array.mount == Mount::Glued {
        return Ok(true);
    }
    Ok(*plan.roof.fastener.known().ok_or_else(|| missing("roof.fastener"))? == Fastener::Adhesive)
}

/// Whether adhesive is all that holds some panels, on a skin that itself is only laid on.
pub(super) fn glued_to_membrane(plan: &Plan) -> Figure<bool> {
    let mut glued = false;
    for array in plan.arrays.iter().filter(|a| a.state.stays() && a.strings.panels() > 0) {
        glued |= only_adhesive(plan, array)?;
    }
    Ok(glued && *plan.roof.skin.known().ok_or_else(|| missing("roof.skin"))? == Skin::Membrane)
}

/// The roof's figures.
pub(super) fn figures(plan: &Plan, rules: &Rules) -> RoofFigures {
    let arrays = || plan.arrays.iter().filter(|a| a.state.stays());
    let factor = || -> Figure<f64> {
        let on_membrane = plan.roof.skin.known() == Some(&Skin::Membrane);
        let mut least = f64::INFINITY;
        for array in arrays().filter(|a| a.strings.panels() > 0) {
            let glued = array.mount == Mount::Glued;
            let hold_n = match glued {
                true if on_membrane => 0.0,
                true => glue_n(plan)?,
                false => match hold(plan, rules)? {
                    Hold::Newtons(n) => n,
                    Hold::NotCredited => 0.0,
                },
            };
            for id in array.strings.0.iter().flatten() {
                let panel = plan.panels.iter().find(|p| p.id == *id);
                let panel = panel.ok_or_else(|| missing(at("arrays", &array.id, "strings")))?;
                let pull = if glued { panel_pull_n(rules, panel)? } else { pull_n(plan, rules, panel)?.0 };
                least = least.min(hold_n / pull.max(1e-9));
            }
        }
        if least.is_finite() { Ok(least) } else { Err(missing("arrays")) }
    };
    let holes = || -> Figure<f64> {
        let screws = match *plan.roof.fastener.known().ok_or_else(|| missing("roof.fastener"))? {
            Fastener::Adhesive => 0.0,
            _ => plan.roof.screws_per_foot.at(|| "roof.screws_per_foot".into())?.0,
        };
        let panels: usize = arrays().filter(|a| a.mount != Mount::Glued).map(|a| a.strings.panels()).sum();
        Ok(panels as f64 * plan.roof.feet_per_panel.at(|| "roof.feet_per_panel".into())?.0 * screws)
    };
    RoofFigures { uplift_factor: factor(), holes: holes(), ..RoofFigures::default() }
}

/// Puts into a report what the roof's things do to the panels, and these to them. What is not known is left out.
pub(super) fn on_roof(stages: &mut Stages, context: &Context<'_>, lit: &[Lit], report: &mut Report) {
    let (plan, rules) = (context.plan, &context.rules);
    for (m, (slot, days)) in report.roof.shade_taken.iter_mut().zip(MONTH_DAYS).enumerate() {
        let (left, taken) = lit.iter().find_map(|here| here.month_wh(m)).unwrap_or_default();
        if taken > 0.0 {
            *slot = Taken { wh_day: taken / days as f64, share: taken / (left + taken) };
        }
    }
    let Ok(things) = things(plan) else { return };
    let mut places = Vec::new();
    for number in 0..plan.arrays.len() {
        if plan.arrays.get(number).is_some_and(|a| a.state.stays()) {
            let Ok(placed) = placed(plan, number) else { return };
            places.extend(placed);
        }
    }
    if things.is_empty() || places.is_empty() {
        return;
    }
    let faces: Figure<Vec<_>> = places.iter().map(|p| Ok((p.rect, face_m(plan, p.array, p.panel)?))).collect();
    if let Ok(panels) = faces {
        report.roof.shade = shaded(stages, lit, &places, &things, &panels);
    }
    if let Ok((roof, _)) = outline(plan) {
        report.roof.access = accessible(stages, rules, roof, &places, &things);
    }
}

/// For how much of its worst month's direct sun each panel is shaded, of all stays.
fn shaded(
    stages: &mut Stages,
    lit: &[Lit],
    places: &[Placed<'_>],
    things: &[Thing<'_>],
    panels: &[(Rect, f64)],
) -> Vec<PlaceShade> {
    let boxes: Vec<(Rect, f64)> = things.iter().map(|t| (t.rect, t.height_m)).collect();
    let strings = string_numbers(places);
    let mut worst = vec![Shaded::default(); places.len()];
    for (sky, _) in lit.iter().filter_map(|here| here.offers.as_ref().ok()) {
        let is = |kept: &ShadowInput| {
            let ShadowInput { sky: light, things, panels: faces, strings: numbers } = kept;
            light == sky && *things == boxes && faces == panels && *numbers == strings
        };
        let kept = stages.shadow.seek(is);
        let input = || ShadowInput {
            sky: sky.clone(),
            things: boxes.clone(),
            panels: panels.to_vec(),
            strings: strings.clone(),
        };
        let found = kept.unwrap_or_else(|| stages.shadow.keep(input(), shadow));
        for (slot, found) in worst.iter_mut().zip(found.iter()) {
            if found.share > slot.share {
                *slot = *found;
            }
        }
    }
    let of = |(p, s): (&Placed<'_>, &Shaded)| {
        let (thing, (array, place)) = (things.get(s.thing)?.at, p.at);
        Some(PlaceShade { array, place, month: s.month, share: s.share, alone: s.alone, thing })
    };
    places.iter().zip(&worst).filter_map(of).collect()
}

/// The strings of all arrays, numbered as they come.
fn string_numbers(places: &[Placed<'_>]) -> Vec<usize> {
    let mut known: Vec<(usize, Option<usize>)> = Vec::new();
    let mut numbers = Vec::with_capacity(places.len());
    for p in places {
        let string = (p.at.0, string_of(p.array, p.at.1));
        let number = known.iter().position(|k| *k == string).unwrap_or(known.len());
        if number == known.len() {
            known.push(string);
        }
        numbers.push(number);
    }
    numbers
}

fn accessible(
    stages: &mut Stages,
    rules: &Rules,
    roof: Rect,
    places: &[Placed<'_>],
    things: &[Thing<'_>],
) -> Vec<PlaceAccess> {
    let serviced: Vec<&Thing<'_>> = things.iter().filter(|t| t.obstacle.serviced == YesNo::Yes).collect();
    let input = AccessInput {
        roof,
        things: serviced.iter().map(|t| t.rect).collect(),
        panels: places.iter().map(|p| p.rect).collect(),
        way_m: rules.access_way_m,
    };
    let of = |(thing, access): (&&Thing<'_>, &Access)| {
        let (nearest, gap_m) = access.nearest?;
        let nearest = places.get(nearest)?.at;
        Some(PlaceAccess { thing: thing.at, nearest, gap_m, has_way: access.has_way })
    };
    serviced.iter().zip(stages.access.get(input, access).iter()).filter_map(of).collect()
}
