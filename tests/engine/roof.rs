//! The roof: mistakes 15 to 18 of the usual ones, each beside a right twin, and what waits for a survey.

use super::mistakes::{caught, insert, sound, with, word};
use super::{evaluate, found, near, says, texts};
use coachwire::engine::Level;
use coachwire::engine::roof::access::{AccessInput, access};
use coachwire::physics::shadow::Rect;
use coachwire::plan::{Plan, Value};

fn n(x: f64) -> Value {
    Value::Number(x)
}

/// The sound plan with a thing on its roof.
fn beside(item: &str) -> Plan {
    insert(&sound(), "roof.obstacles", item)
}

/// Mistake 15. An air conditioner 0.36 m high 5 cm from a panel in series with one in the open; the same 3 m away.
#[test]
fn m15_a_panel_in_shadow_in_series() {
    let unit = |x: f64| {
        beside(&format!(
            r#"(kind: "air conditioner", x_m: {x}, y_m: 0.2, l_m: 0.7, w_m: 0.68, h_m: 0.36, serviced: "no")"#
        ))
    };
    let r = caught("shadow", &unit(3.36), &unit(5.2), Level::Caution, "panel-in-shadow", "arrays.A1.places.PP2");
    let f = found(&r, "panel-in-shadow");
    assert!(f.iter().all(|other| other.n(0) <= f[0].n(0)), "{}", texts(&r));
    assert!(f[0].text().contains("PP1 in series with it") && f[0].n(0) > 15.0, "{}", f[0].text());
    // One alone has nobody to drag down: a note.
    let alone = with(&unit(3.36), &[("arrays.A1.strings", Value::Text("1S4P P1".into()))]);
    let r = evaluate(&alone);
    assert_eq!(found(&r, "panel-in-shadow")[0].level, Level::Note, "{}", texts(&r));
    // One on either side of it: each is shaded for as long, but not at the same time.
    let between = with(&unit(1.70), &[("arrays.A1.places.PP2.x_m", n(2.42)), ("arrays.A1.places.PP1.x_m", n(0.2))]);
    let r = evaluate(&between);
    let f = found(&r, "panel-in-shadow");
    let levels: Vec<_> = f.iter().map(|f| (f.subject.as_str(), f.level)).take(2).collect();
    let both = [("arrays.A1.places.PP1", Level::Caution), ("arrays.A1.places.PP2", Level::Caution)];
    assert_eq!(levels, both, "{}", texts(&r));
    assert!(f.iter().all(|f| f.n(1) <= f.n(0)), "{}", texts(&r));
    // A low thing throws none onto a panel that stands above it.
    let low = beside(r#"(kind: "other", x_m: 3.36, y_m: 0.2, l_m: 0.7, w_m: 0.68, h_m: 0.08, serviced: "no")"#);
    assert!(found(&evaluate(&low), "panel-in-shadow").is_empty());
}

/// What shade takes is missing from array and harvest, and both together are the array without the thing; where a panel has no
/// place, or the thing no height, or it stands no higher than the panels, every figure of the year is as without it.
#[test]
fn shade_is_taken_off_where_places_and_heights_are_known() {
    let unit = |h: f64| {
        beside(&format!(
            r#"(kind: "air conditioner", x_m: 3.36, y_m: 0.2, l_m: 0.7, w_m: 0.68, h_m: {h}, serviced: "no")"#
        ))
    };
    let (bare, r) = (evaluate(&sound()), evaluate(&unit(0.36)));
    assert!(bare.roof.shade_taken.iter().all(|taken| taken.wh_day == 0.0 && taken.share == 0.0));
    for (m, (without, month)) in bare.year.months.iter().zip(&r.year.months).enumerate() {
        let [all, left, taken] =
            [&without.array_wh_day, &month.array_wh_day, &month.shade_wh_day].map(|f| f.as_ref().expect("a figure").0);
        near("what is left and what is taken", Ok(left + taken), all, 1e-9);
        assert!(taken > 0.005 * all && taken < 0.3 * all, "month {m}: {taken} of {all}");
        near("said", Ok(r.roof.shade_taken[m].wh_day), taken, 1e-9);
        near("of all", Ok(r.roof.shade_taken[m].share), taken / all, 1e-9);
        let harvest = [without, month].map(|month| month.harvest_wh_day.as_ref().expect("a figure").0);
        assert!(harvest[1] < harvest[0] - 0.8 * taken * 0.9, "month {m}: {harvest:?}");
    }
    let f = found(&r, "panel-in-shadow")[0];
    near("said by the finding", Ok(f.n(2)), r.roof.shade_taken[r.roof.shade[1].month].wh_day, 1e-9);
    let lost = r.year.lost.as_ref().expect("a year");
    let kwh: f64 = r
        .year
        .months
        .iter()
        .zip([31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])
        .map(|(m, days)| m.shade_wh_day.as_ref().expect("a figure").0 * f64::from(days) / 1000.0)
        .sum();
    near("of the year", Ok(lost.shade_kwh), kwh, 1e-9);

    let places = ["PP1", "PP2", "PP3", "PP4"].map(|id| format!("arrays.A1.places.{id}.x_m"));
    let unplaced: Vec<_> = places.iter().map(|at| (at.as_str(), Value::Unknown)).collect();
    for (what, plan) in [
        ("no place", with(&unit(0.36), &unplaced)),
        ("no height", with(&unit(0.36), &[("roof.obstacles.O1.h_m", Value::Unknown)])),
        ("no higher than the panels", unit(0.05)),
    ] {
        assert!(evaluate(&plan).year == bare.year, "{what}: every figure of the year, to the last digit");
    }
    // Glued flat a panel has no feet to stand over it.
    let glued = evaluate(&with(&unit(0.05), &[("arrays.A1.mount", Value::Word("glued"))]));
    assert!(glued.roof.shade_taken[0].wh_day > 0.0, "{:?}", glued.roof.shade_taken);
    // Of a string with one panel placed, that one's shade is taken off.
    let some = evaluate(&with(&unit(0.36), &unplaced[2..]));
    assert!(some.roof.shade_taken[0].wh_day > 0.0, "{:?}", some.roof.shade_taken);
}

/// Mistake 16. Glued flat against on feet: King, Boyson and Kratochvil 2004 (SAND2004-3535), Table 1: an insulated back
/// against a close roof mount.
#[test]
fn m16_glued_flat() {
    let glued = with(&sound(), &[("arrays.A1.mount", word("glued")), ("panels.P1.gamma_pct_k", n(-0.4))]);
    let r = caught("glued", &glued, &sound(), Level::Caution, "glued-runs-warm", "arrays.A1");
    let f = &found(&r, "glued-runs-warm")[0];
    let cell = |a: f64, b: f64, dt: f64| 800.0 * (a + b * 1.0).exp() + 20.0 + dt * 0.8;
    let rise = cell(-2.81, -0.0455, 0.0) - cell(-2.98, -0.0471, 1.0);
    near("kelvin", Ok(f.n(1)), rise, 1e-6);
    near("percent", Ok(f.n(0)), rise * 0.4, 1e-6);
    assert!(f.n(2) > 0.0, "{}", f.text());
    let bends = with(&glued, &[("panels.P1.build", word("flexible"))]);
    assert_eq!(found(&evaluate(&bends), "glued-runs-warm")[0].level, Level::Note);
}

/// Mistake 17. By hand, 75 mph, Cp 1.2, 1.48 x 0.68 m: 831 N, of which one of the front pair takes 30 %: 249 N. Three
/// #12 screws with 9.5 mm of thread in plywood (NDS 2018 eq. 12.2-2, G 0.42): 3 x 2850 x 0.42^2 x 0.216 x 0.374 lbf = 542 N.
#[test]
fn m17_feet_and_screws() {
    near("factor", evaluate(&sound()).roof.uplift_factor, 542.0 / 249.3, 0.002);
    near("holes", evaluate(&sound()).roof.holes, 48.0, 1e-9);
    let two = with(&sound(), &[("roof.screws_per_foot", n(2.0))]);
    let r = caught("two screws", &two, &sound(), Level::Caution, "uplift-factor-low", "arrays.A1");
    near("factor of two", Ok(found(&r, "uplift-factor-low")[0].n(0)), 2.0 / 3.0 * 542.0 / 249.3, 0.002);
    let pried = with(&sound(), &[("roof.one_sided", word("yes"))]);
    near("pried", evaluate(&pried).roof.uplift_factor, 542.0 / 249.3 / 1.5, 0.002);

    let membrane = [("roof.skin", word("membrane")), ("roof.fastener", word("adhesive"))];
    caught("adhesive", &with(&sound(), &membrane), &sound(), Level::Stop, "adhesive-on-membrane", "roof.fastener");
    // On another skin it is no stop, but counts as nothing until it is tested.
    let gelcoat = evaluate(&with(&sound(), &membrane[1..]));
    assert!(found(&gelcoat, "adhesive-on-membrane").is_empty(), "{}", texts(&gelcoat));
    assert_eq!(found(&gelcoat, "uplift-factor-low")[0].n(2), 0.0);

    for deck in ["luan", "foam laminate", "thin metal"] {
        let soft = with(&sound(), &[("roof.deck", word(deck))]);
        let r = caught(deck, &soft, &sound(), Level::Caution, "uplift-factor-low", "arrays.A1");
        assert!(found(&r, "uplift-factor-low")[0].text().contains("0 N are counted for screws in"), "{}", texts(&r));
        let tested = with(&soft, &[("roof.tested_n", n(600.0))]);
        assert!(found(&evaluate(&tested), "uplift-factor-low").is_empty(), "{deck} tested");
    }
    let thin = evaluate(&with(&sound(), &[("roof.deck_m", n(0.005))]));
    assert!(says(&thin, "uplift-factor-low", "arrays.A1"), "{}", texts(&thin));
    // Thread past the deck holds in rafters, where there are some: 12.7 mm of 17.7 mm through luan, by the same formula.
    let long = [("roof.deck", word("luan")), ("roof.deck_m", n(0.005)), ("roof.screw_grip_m", n(0.0177))];
    let through = with(&sound(), &long);
    assert_eq!(evaluate(&through).roof.uplift_factor, Ok(0.0));
    let rafters = with(&through, &[("roof.rafter_spacing_m", n(0.4))]);
    near("in rafters", evaluate(&rafters).roof.uplift_factor, 542.0 * 0.0127 / 0.0095 / 249.3, 0.002);
    // And past a plywood deck with none it holds nothing.
    let past = with(&sound(), &[("roof.screw_grip_m", n(0.03))]);
    near("past the deck", evaluate(&past).roof.uplift_factor, 542.0 / 249.3, 0.002);
    // Lag screws of 1/4 in want a rafter: one inch of thread in G 0.42 holds 173 lbf (NDS 2018 Table 12.2A), one and a half
    // inches in two of them 519 lbf, 2309 N.
    let lag = [
        ("roof.fastener", word("lag screws")),
        ("roof.lag_diameter_m", n(0.00635)),
        ("roof.screws_per_foot", n(2.0)),
        ("roof.screw_grip_m", n(0.0381)),
        ("roof.rafter_spacing_m", n(0.4)),
    ];
    let lags = evaluate(&with(&sound(), &lag));
    near("lags", lags.roof.uplift_factor.clone(), 2.0 * 173.0 * 1.5 * 4.448_22 / 249.3, 0.004);
    let short = with(&sound(), &[&lag[..3], &[("roof.rafter_spacing_m", n(0.4))][..]].concat());
    let r = caught("short lags", &short, &with(&sound(), &lag), Level::Caution, "uplift-factor-low", "arrays.A1");
    assert!(found(&r, "uplift-factor-low")[0].source_said().contains("lag screws"), "{}", texts(&r));
    let unsaid = evaluate(&with(&sound(), &[lag[0].clone(), lag[3].clone(), lag[4].clone()]));
    assert!(unsaid.not_checked.iter().any(|c| c.waits_for.as_str() == "roof.lag_diameter_m"));
    // Toggles hold what a test says: until then the check waits.
    let toggles = evaluate(&with(&sound(), &[("roof.fastener", word("toggles"))]));
    assert!(toggles.not_checked.iter().any(|c| c.check == "uplift-factor-low"), "{:?}", toggles.not_checked);
}

/// Mistake 18. Over a lid's swing, an exit, a gas vent; beside each the same thing a hand's breadth off.
#[test]
fn m18_lids_exits_and_vents() {
    for (kind, swing) in
        [("vent", "0.2"), ("exit hatch", "0.2"), ("refrigerator vent", "0.0"), ("plumbing pipe", "0.0")]
    {
        let thing = |x: f64| {
            beside(&format!(
                r#"(kind: "{kind}", x_m: {x}, y_m: 0.4, l_m: 0.3, w_m: 0.3, h_m: 0.1, lid_swing_m: {swing}, serviced: "no")"#
            ))
        };
        // The panel ends at 3.28 m.
        let (near_m, far_m) = if swing == "0.0" { (3.2, 3.4) } else { (3.45, 3.6) };
        let r = caught(kind, &thing(near_m), &thing(far_m), Level::Stop, "panel-over-opening", "arrays.A1.places.PP2");
        let depth = if swing == "0.0" { 0.08 } else { 0.03 };
        near("depth", Ok(found(&r, "panel-over-opening")[0].n(0)), depth, 1e-6);
    }
    let skylight = beside(r#"(kind: "skylight", x_m: 1.0, y_m: 0.3, l_m: 0.4, w_m: 0.4, h_m: 0.2, serviced: "no")"#);
    assert!(says(&evaluate(&skylight), "panel-on-obstacle", "arrays.A1.places.PP1"));
    let other = with(&sound(), &[("arrays.A1.places.PP2.x_m", n(1.5))]);
    caught("two in one place", &other, &sound(), Level::Caution, "panel-on-obstacle", "arrays.A1.places.PP2");
    let off = with(&sound(), &[("arrays.A1.places.PP1.x_m", n(-0.1))]);
    let r = caught("over the edge", &off, &sound(), Level::Caution, "panel-off-roof", "arrays.A1.places.PP1");
    near("by", Ok(found(&r, "panel-off-roof")[0].n(0)), 0.18, 1e-6);
}

/// Mistake 18, the way: 12 in to one long side, 2 in on the others.
#[test]
fn m18_ways_to_what_is_serviced() {
    let unit = |x: f64, y: f64| {
        beside(&format!(
            r#"(kind: "air conditioner", x_m: {x}, y_m: {y}, l_m: 0.7, w_m: 0.6, h_m: 0.09, serviced: "yes")"#
        ))
    };
    let tight = unit(3.30, 0.2);
    let r = caught("2 cm", &tight, &unit(3.4, 0.2), Level::Caution, "service-way-blocked", "roof.obstacles.O1");
    near("gap", Ok(found(&r, "service-way-blocked")[0].n(0)), 0.02, 1e-6);
    assert!(found(&r, "service-way-blocked")[0].text().contains("A1 PP2 must come off"), "{}", texts(&r));
}

/// A thing walled in by panels cannot be come to, however far they stand off; a gap of a way's width lets one in.
#[test]
fn a_ring_of_panels_keeps_out() {
    let roof = Rect { x_m: 0.0, y_m: 0.0, l_m: 6.0, w_m: 3.0 };
    let thing = Rect { x_m: 2.7, y_m: 1.2, l_m: 0.7, w_m: 0.5 };
    let bar = |x_m, y_m, l_m, w_m| Rect { x_m, y_m, l_m, w_m };
    let mut ring =
        vec![bar(1.5, 0.0, 0.3, 3.0), bar(4.5, 0.0, 0.3, 3.0), bar(1.5, 0.0, 3.3, 0.2), bar(1.5, 2.8, 3.3, 0.2)];
    let of =
        |panels: &[Rect]| access(&AccessInput { roof, things: vec![thing], panels: panels.to_vec(), way_m: 0.3 })[0];
    let closed = of(&ring);
    assert!(!closed.has_way, "{closed:?}");
    near("nearest", Ok(closed.nearest.expect("one").1), 0.9, 1e-9);
    ring[0] = bar(1.5, 0.6, 0.3, 2.4);
    ring[2] = bar(2.2, 0.0, 2.6, 0.2);
    assert!(of(&ring).has_way);
    assert!(of(&[]).has_way);
    // Where no way led before the panels came, they are not to blame.
    let wide = access(&AccessInput { roof, things: vec![thing], panels: ring, way_m: 4.0 })[0];
    assert!(wide.has_way);
}

/// What nobody surveyed is not checked, and says what it waits for.
#[test]
fn a_roof_not_surveyed_is_not_checked() {
    let waits = |edits: &[(&str, Value)]| -> Vec<(&'static str, String)> {
        let r = evaluate(&with(&sound(), edits));
        assert!(super::only_more_panel_than_output(&r), "{}", texts(&r));
        r.not_checked.iter().map(|c| (c.check, c.waits_for.to_string())).collect()
    };
    for (field, check) in [
        ("roof.skin", "adhesive-on-membrane"),
        ("roof.fastener", "uplift-factor-low"),
        ("roof.deck", "uplift-factor-low"),
        ("roof.screw_grip_m", "uplift-factor-low"),
        ("panels.P1.length_m", "panel-over-opening"),
        ("arrays.A1.places.PP2.x_m", "panel-over-opening"),
    ] {
        let edits: &[(&str, Value)] = &[(field, Value::Unknown), ("roof.fastener", word("adhesive"))];
        // Only adhesive asks what it is glued to.
        let edits = if field == "roof.skin" { edits } else { &edits[..1] };
        let r = evaluate(&with(&sound(), edits));
        let here = r.not_checked.iter().any(|c| c.check == check && c.waits_for.as_str() == field);
        assert!(here, "{field}: {:?}", r.not_checked);
    }
    assert!(waits(&[]).is_empty());
    let more = waits(&[("arrays.A1.strings", Value::Text("2S2P P1".into()))]);
    assert!(more.is_empty(), "{more:?}");
}

/// A sheet glued down hangs on its adhesive, whatever screws hold the feet of others; on feet it is held as they are.
#[test]
fn m17_glued_flat_on_a_membrane_hangs_on_the_membrane() {
    let right = with(&sound(), &[("roof.skin", word("membrane"))]);
    let wrong = with(&right, &[("arrays.A1.mount", word("glued"))]);
    let r = caught("glued on a membrane", &wrong, &right, Level::Stop, "adhesive-on-membrane", "roof.fastener");
    let stop = found(&r, "adhesive-on-membrane")[0];
    let cures = coachwire::engine::Engine::default().cures(&wrong, &coachwire::stock::Stock::default(), stop);
    assert_eq!(cures.iter().map(|s| s.name.as_str()).collect::<Vec<_>>(), ["on feet"]);
    assert!(found(&r, "uplift-factor-low").is_empty(), "said once: {}", texts(&r));
    assert!(!stop.text().contains("foot"), "it has no feet: {}", stop.text());
}

/// On a skin that is part of the roof a panel glued flat hangs on its adhesive as it was tested, all of it: 831 N at 75 mph and Cp 1.2 on
/// 1.48 x 0.68 m by hand, twice that is wanted. Neither feet nor screws are spoken of, and what a foot was tested at is not its own.
#[test]
fn m17_glued_flat_is_judged_by_its_own_test() {
    let glued = with(&sound(), &[("arrays.A1.mount", word("glued")), ("roof.tested_n", n(3000.0))]);
    let r = evaluate(&glued);
    assert!(found(&r, "uplift-factor-low").is_empty() && found(&r, "adhesive-on-membrane").is_empty(), "{}", texts(&r));
    let waits = |c: &&coachwire::engine::report::NotChecked| c.waits_for.as_str() == "roof.adhesive_n";
    assert_eq!(r.not_checked.iter().filter(waits).map(|c| c.check).collect::<Vec<_>>(), ["uplift-factor-low"]);
    let tested = |newtons: f64| with(&glued, &[("roof.adhesive_n", n(newtons))]);
    let weak = evaluate(&tested(831.0 * 1.9));
    let f = found(&weak, "uplift-factor-low");
    assert!(f.len() == 1 && f[0].level == Level::Caution, "{}", texts(&weak));
    near("factor", Ok(f[0].n(0)), 1.9, 0.002);
    near("the roof's", weak.roof.uplift_factor.clone(), 1.9, 0.002);
    let text = f[0].text() + &f[0].source_said();
    assert!(["foot", "feet", "screw", "NDS", "plywood"].iter().all(|word| !text.contains(word)), "{text}");
    super::cures::is_curable(&tested(831.0 * 1.9), "uplift-factor-low", "arrays.A1");
    super::explained::all_worked(&tested(831.0 * 1.9));
    assert!(found(&evaluate(&tested(831.0 * 2.1)), "uplift-factor-low").is_empty());
    assert_eq!(weak.roof.holes, Ok(0.0), "nothing is screwed down");
    // Feet that are glued on say what they are glued to.
    let feet = evaluate(&with(&sound(), &[("roof.fastener", word("adhesive"))]));
    let text = found(&feet, "uplift-factor-low")[0].text() + &found(&feet, "uplift-factor-low")[0].source_said();
    assert!(text.contains("adhesive on fibreglass") && !text.contains("NDS"), "{text}");
}

/// Withdrawal of wood screws (NDS 2018 12.2) is of wood: under a deck of thin metal the ribs are metal unless said to be wood, and a screw
/// in them counts for nothing until it is tested.
#[test]
fn m17_screws_find_no_wood_in_a_steel_van() {
    let van = [
        ("roof.skin", word("steel")),
        ("roof.deck", word("thin metal")),
        ("roof.deck_m", n(0.0008)),
        ("roof.screw_grip_m", n(0.012)),
        ("roof.rafter_spacing_m", n(0.4064)),
    ];
    let van = with(&sound(), &van);
    let r = evaluate(&van);
    assert!(found(&r, "feet-on-rafters").is_empty(), "{}", texts(&r));
    let f = found(&r, "uplift-factor-low");
    assert!(
        f.len() == 1 && f[0].n(2) == 0.0 && f[0].text().contains("0 N are counted for screws in thin metal until"),
        "{}",
        texts(&r)
    );
    assert_eq!(r.roof.uplift_factor, Ok(0.0));
    let tested = with(&van, &[("roof.tested_n", n(600.0))]);
    assert!(found(&evaluate(&tested), "uplift-factor-low").is_empty());
    let wood = with(&van, &[("roof.rafter_of", word("wood"))]);
    assert!(says(&evaluate(&wood), "feet-on-rafters", "arrays.A1"), "{}", texts(&evaluate(&wood)));
    // Metal bows under another deck hold no wood screw either, and what nobody has looked at is asked for.
    let luan = [("roof.deck", word("luan")), ("roof.deck_m", n(0.005)), ("roof.screw_grip_m", n(0.0177))];
    let luan = with(&with(&sound(), &luan), &[("roof.rafter_spacing_m", n(0.4))]);
    assert!(says(&evaluate(&luan), "feet-on-rafters", "arrays.A1"));
    let metal = evaluate(&with(&luan, &[("roof.rafter_of", word("metal"))]));
    assert!(says(&metal, "uplift-factor-low", "arrays.A1"), "{}", texts(&metal));
    let unknown = evaluate(&with(&luan, &[("roof.rafter_of", Value::Unknown)]));
    assert!(unknown.not_checked.iter().any(|c| c.waits_for.as_str() == "roof.rafter_of"), "{:?}", unknown.not_checked);
}

/// Feet of 5 mm let no air pass (common practice, an inch at least): a caution with what it may cost, and feet that are high
/// enough. Panels glued flat are told by their own finding.
#[test]
fn feet_too_low_for_air_are_said() {
    let of = |m: f64| with(&sound(), &[("roof.foot_height_m", Value::Number(m))]);
    let r = caught("16, no gap", &of(0.005), &of(0.025), Level::Caution, "panel-gap-small", "arrays.A1");
    let f = found(&r, "panel-gap-small")[0];
    assert!(f.n(0) == 5.0 && f.n(2) > 3.0 && f.n(3) == 0.0, "{f:?}");
    let glued = with(&of(0.005), &[("arrays.A1.mount", word("glued"))]);
    assert!(found(&evaluate(&glued), "panel-gap-small").is_empty());
}
