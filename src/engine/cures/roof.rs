//! Steps for the roof: what holds the panels, and where they lie.

use crate::arrange::Arrange;
use crate::engine::finding::Finding;
use crate::engine::roof::{self, Hold, hold, outline, place_path, placed, pull_n, things};
use crate::engine::rule::Rules;
use crate::physics::shadow::Rect;
use crate::plan::PanelPlace;
use crate::plan::entry::{self, Units};
use crate::plan::roof::{Deck, Fastener};
use crate::plan::{Edit, FieldPath, Id, Plan, Step, Value, YesNo};
use crate::standards::kinds::Mount;

/// Places are looked for in steps of this, m. Source: our own choice, an inch.
const STEP_M: f64 = 0.0254;

/// How places are gone through: how many at most, and how far from each other at least, in steps.
struct Search {
    most: usize,
    apart: f64,
}

/// The nearest ones: what lies over something needs to go no further. Source: our own choice; each is a whole answer.
const NEAR: Search = Search { most: 24, apart: 4.0 };
/// All over the roof, a foot apart: a shadow reaches far. Source: our own choice.
const ANYWHERE: Search = Search { most: 64, apart: 12.0 };
/// Most screws in a foot. Source: common practice, two to four, with room.
const MOST_SCREWS: usize = 6;
/// Wood-screw numbers in use. Source: common practice, #10 to #14.
const NUMBERS: [f64; 3] = [10.0, 12.0, 14.0];

/// The steps for a finding about the roof; none where it is about something else.
pub(super) fn steps(plan: &Plan, finding: &Finding) -> Option<Vec<Step>> {
    Some(match finding.check.id {
        "adhesive-on-membrane" => vec![unglued(plan)],
        "uplift-factor-low" if is_glued(plan, finding) => vec![unglued(plan)],
        "uplift-factor-low" => screwed(plan).into_iter().chain(Some(toggles())).collect(),
        "glued-runs-warm" => {
            let to = Value::Word(Mount::Feet.word());
            let at = finding.subject.join("mount");
            vec![Step::one("on feet", Edit::Set { at, to })]
        }
        "panel-gap-small" => {
            let least_m = finding.n(1) / 1000.0;
            let name = format!("feet: {:.0} mm high", finding.n(1));
            let name = entry::said(Units::of(plan), &name, &[finding.n(1)]);
            vec![Step::one(name, set("foot_height_m", Value::Number(least_m)))]
        }
        "panel-over-opening" | "panel-on-obstacle" | "panel-off-roof" => moved(plan, &finding.subject, &NEAR),
        "panel-in-shadow" => {
            let near = moved(plan, &finding.subject, &NEAR);
            let far = moved(plan, &finding.subject, &ANYWHERE);
            near.into_iter().chain(far).chain(swapped(plan, &finding.subject)).collect()
        }
        "service-way-blocked" => {
            let mut words = finding.name(0).split(' ');
            let (array, place) = (words.next().unwrap_or_default(), words.next().unwrap_or_default());
            moved(plan, &FieldPath::new(format!("arrays.{array}.places.{place}")), &NEAR)
        }
        _ => return None,
    })
}

/// Whether a finding is about an array that is glued flat.
fn is_glued(plan: &Plan, finding: &Finding) -> bool {
    let (_, id) = finding.subject.split_last();
    plan.arrays.iter().any(|a| a.id.as_str() == id && a.mount == Mount::Glued)
}

fn set(field: &str, to: Value) -> Edit {
    Edit::Set { at: FieldPath::of(&["roof", field]), to }
}

/// What the deck can take in place of adhesive; panels glued flat go on feet.
fn unglued(plan: &Plan) -> Step {
    let feet_hold = plan.roof.fastener.known().is_some_and(|f| *f != Fastener::Adhesive);
    let on_feet = || Step { name: "on feet".into(), edits: Vec::new() };
    let mut step = if feet_hold { on_feet() } else { screwed(plan).unwrap_or_else(toggles) };
    let glued = plan.arrays.iter().filter(|a| a.state.stays() && a.mount == Mount::Glued);
    step.edits.extend(glued.map(|a| Edit::Set {
        at: FieldPath::of(&["arrays", a.id.as_str(), "mount"]),
        to: Value::Word(Mount::Feet.word()),
    }));
    step
}

/// The fewest and thinnest screws with which every panel is held as wanted, in a deck whose wood counts.
fn screwed(plan: &Plan) -> Option<Step> {
    let rules = Rules::of(plan);
    let deck_m = plan.roof.deck_m.known()?.0;
    let wood = matches!(plan.roof.deck.known()?, Deck::Plywood | Deck::Osb) && deck_m >= rules.deck_least_m;
    if !wood || plan.roof.tested_n.is_some() {
        return None;
    }
    let grip_m = plan.roof.screw_grip_m.known().map_or(0.0, |m| m.0);
    let grip_m = if grip_m > 0.0 { grip_m } else { deck_m };
    let fastener = match plan.roof.fastener.known()? {
        Fastener::Adhesive | Fastener::ScrewsAndAdhesive => Fastener::ScrewsAndAdhesive,
        Fastener::Screws | Fastener::LagScrews | Fastener::Toggles | Fastener::Bolts => Fastener::Screws,
    };
    let tries = (2..=MOST_SCREWS).flat_map(|n| NUMBERS.map(|number| (n, number)));
    tries
        .map(|(n, number)| Step {
            name: format!("{fastener}: {n} of #{number} in a foot"),
            edits: vec![
                set("fastener", Value::Word(fastener.word())),
                set("screws_per_foot", Value::Number(n as f64)),
                set("screw_number", Value::Number(number)),
                set("screw_grip_m", Value::Number(grip_m)),
            ],
        })
        .find(|step| plan.with(step).is_ok_and(|with| holds(&with)))
}

fn holds(plan: &Plan) -> bool {
    let rules = Rules::of(plan);
    let Ok(Hold::Newtons(hold_n)) = hold(plan, &rules) else { return false };
    let ids = plan.arrays.iter().filter(|a| a.state.stays()).flat_map(|a| a.strings.0.iter().flatten());
    let mut panels = ids.filter_map(|id| plan.panels.iter().find(|p| p.id == *id));
    panels.all(|p| pull_n(plan, &rules, p).is_ok_and(|(foot_n, _)| hold_n >= rules.uplift_factor * foot_n))
}

/// Toggles through the deck, whose pull is to be tested.
fn toggles() -> Step {
    Step {
        name: "toggles: their tested pull to be entered".into(),
        edits: vec![set("fastener", Value::Word(Fastener::Toggles.word())), set("tested_n", Value::Unknown)],
    }
}

/// The panel at the nearest places where it lies over nothing.
fn moved(plan: &Plan, place: &FieldPath, search: &Search) -> Vec<Step> {
    let free = || -> Option<Vec<Step>> {
        let (roof, edge_m) = outline(plan).ok()?;
        let things = things(plan).ok()?;
        let mut own: Option<(Id, Rect)> = None;
        let mut taken: Vec<Rect> = Vec::new();
        let stays = |i: &usize| plan.arrays.get(*i).is_some_and(|a| a.state.stays());
        for number in (0..plan.arrays.len()).filter(stays) {
            for p in placed(plan, number).ok()? {
                if place_path(p.array, p.place) == *place {
                    own = Some((p.place.id.clone(), p.rect));
                } else {
                    taken.push(p.rect);
                }
            }
        }
        let gap_m = |t: &roof::Thing<'_>| {
            if t.obstacle.serviced == YesNo::Yes { Rules::of(plan).access_gap_m.max(t.swing_m) } else { t.swing_m }
        };
        taken.extend(things.iter().map(|t| t.rect.wider(gap_m(t))));
        let (id, rect) = own?;
        let mut places = grid(&roof, edge_m, &rect, &taken);
        places.arrange_by(|a, b| apart_m(a, &rect).total_cmp(&apart_m(b, &rect)));
        let mut steps: Vec<(Rect, Step)> = Vec::new();
        for at in places {
            // Neighbours of one that was tried tell nothing new.
            let is_new = |(tried, _): &(Rect, Step)| apart_m(tried, &at) > search.apart * STEP_M;
            if steps.len() < search.most && steps.iter().all(is_new) {
                let edit = |field: &str, m: f64| Edit::Set { at: place.join(field), to: Value::Number(m) };
                let name = format!("{id} moved: {}", way(Units::of(plan), &rect, &at));
                steps.push((at, Step { name, edits: vec![edit("x_m", at.x_m), edit("y_m", at.y_m)] }));
            }
        }
        Some(steps.into_iter().map(|(_, step)| step).collect())
    };
    free().unwrap_or_default()
}

/// How far and where to something is moved on the roof: `254 mm back, 51 mm to the driver's side`.
fn way(units: Units, from: &Rect, to: &Rect) -> String {
    let along =
        [(to.x_m - from.x_m, "back", "forward"), (to.y_m - from.y_m, "to the passenger side", "to the driver's side")];
    let said = along.into_iter().filter(|(m, ..)| m.abs() * 1000.0 >= 0.5).map(|(m, more, less)| {
        let mm = m.abs() * 1000.0;
        entry::said(units, &format!("{mm:.0} mm {}", if m > 0.0 { more } else { less }), &[mm])
    });
    said.collect::<Vec<_>>().join(", ")
}

/// A shaded panel in another string of its array, in turn with each panel there: those that lie in shade at the same time
/// hold back none that stand in the sun.
fn swapped(plan: &Plan, place: &FieldPath) -> Vec<Step> {
    let array = plan.arrays.iter().find(|a| a.places.iter().any(|p| place_path(a, p) == *place));
    let Some(array) = array.filter(|a| a.strings.alike().is_some()) else { return Vec::new() };
    let Some(here) = array.places.iter().position(|p| place_path(array, p) == *place) else { return Vec::new() };
    let of = |i: usize| Some((array.places.get(i)?, roof::string_of(array, i)?));
    let Some((own, string)) = of(here) else { return Vec::new() };
    let others = (0..array.places.len()).filter_map(of).filter(|(_, other)| *other != string);
    let set = |p: &PanelPlace, string: usize| Edit::Set {
        at: place_path(array, p).join("string"),
        to: Value::Number(string as f64 + 1.0),
    };
    let step = |(p, other): (&PanelPlace, usize)| Step {
        name: format!("{} and {}: each in the other's string", own.id, p.id),
        edits: vec![set(own, other), set(p, string)],
    };
    others.map(step).collect()
}

fn apart_m(a: &Rect, b: &Rect) -> f64 {
    (a.x_m - b.x_m).hypot(a.y_m - b.y_m)
}

/// Every free place on the roof, in steps from where the panel lies.
fn grid(roof: &Rect, edge_m: f64, rect: &Rect, taken: &[Rect]) -> Vec<Rect> {
    let line = |from: f64, least: f64, most: f64| {
        let back = ((from - least) / STEP_M).floor().clamp(-2000.0, 2000.0) as i32;
        let on = ((most - from) / STEP_M).floor().clamp(-2000.0, 2000.0) as i32;
        let between = (-back..=on).map(move |k| from + f64::from(k) * STEP_M);
        // The ends themselves, where the panel does not lie a whole number of steps from them.
        between.chain([least, most]).filter(move |m| *m >= least - 1e-9 && *m <= most + 1e-9)
    };
    let (most_x, most_y) = (roof.l_m - edge_m - rect.l_m, roof.w_m - edge_m - rect.w_m);
    let mut all = Vec::new();
    for x_m in line(rect.x_m, edge_m, most_x) {
        for y_m in line(rect.y_m, edge_m, most_y) {
            let at = Rect { x_m: millimetres(x_m), y_m: millimetres(y_m), ..*rect };
            if taken.iter().all(|t| t.depth_m(&at) <= 5e-4) {
                all.push(at);
            }
        }
    }
    all
}

fn millimetres(m: f64) -> f64 {
    (m * 1000.0).round() / 1000.0
}
