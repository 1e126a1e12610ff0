//! Batteries in parallel that links join from post to post: what each gives, what a link carries, what hangs on it.

use super::cure_kinds::mended;
use super::cures::{apply_all, cures, is_curable};
use super::mistakes::{Edits, insert, sound, with, word};
use super::{evaluate, found, near, says, texts};
use coachwire::engine::{Engine, Level, Report};
use coachwire::physics::links::{TakeOff, most_in_link, shares};
use coachwire::plan::field::Item;
use coachwire::plan::{Figure, Known, Plan, Value};
use coachwire::stock::{Lug, Spool, Stock};
use coachwire::units::{Celsius, Kilograms, Number};

fn n(x: f64) -> Value {
    Value::Number(x)
}

fn gauge(text: &str) -> Value {
    Value::Gauge(text.parse().expect("gauge"))
}

/// Parts of the whole current by nodal elimination: 2 n nodes, batteries of 1 ohm and 1 V between each pair, links of the ratio
/// between neighbours, 1 A taken off. No use is made of what the bank looks like.
fn by_nodes(take_off: TakeOff, count: usize, ratio: f64) -> Vec<f64> {
    let size = 2 * count;
    let mut a = vec![vec![0.0; size + 1]; size];
    let mut branch = |p: usize, q: usize, g: f64, emf: f64| {
        for (x, y, sign) in [(p, q, 1.0), (q, p, -1.0)] {
            a[x][x] += g;
            a[x][y] -= g;
            a[x][size] += sign * g * emf;
        }
    };
    for k in 0..count {
        branch(k, count + k, 1.0, 1.0);
    }
    for k in 1..count {
        branch(k - 1, k, 1.0 / ratio, 0.0);
        branch(count + k - 1, count + k, 1.0 / ratio, 0.0);
    }
    let minus = count + if take_off == TakeOff::OneEnd { 0 } else { count - 1 };
    a[0][size] -= 1.0;
    a[minus][size] += 1.0;
    // One node is the reference.
    a[size - 1] = (0..=size).map(|j| if j == size - 1 { 1.0 } else { 0.0 }).collect();
    for i in 0..size {
        let best = (i..size).max_by(|x, y| a[*x][i].abs().total_cmp(&a[*y][i].abs())).expect("some");
        a.swap(i, best);
        for j in 0..size {
            if j != i {
                let f = a[j][i] / a[i][i];
                let row = a[i].clone();
                a[j].iter_mut().zip(row).for_each(|(x, y)| *x -= f * y);
            }
        }
    }
    let volts = |i: usize| a[i][size] / a[i][i];
    (0..count).map(|k| 1.0 - (volts(k) - volts(count + k))).collect()
}

/// Source: Kirchhoff's laws by hand, four batteries, links of a twentieth of a battery's ohms. Both leads at one end: from the
/// far end 1, 1 + 0.1 x 1 = 1.1, 1.1 + 0.1 x 2.1 = 1.31, 1.31 + 0.1 x 3.41 = 1.651, of 5.061 together. At opposite corners the
/// inner two 1, the outer 1 + 0.05 x 2 = 1.1, of 4.2. And an often printed example, from memory: batteries of 20 mohm, links of
/// 1.5 mohm, at 100 A both leads at one end 35.9, 26.2, 20.4 and 17.8 A; at opposite corners 26.7, 23.2, 23.2 and 26.7 A.
#[test]
fn four_batteries_as_by_hand() {
    let close = |got: Vec<f64>, want: [f64; 4], within: f64| {
        assert!(got.iter().zip(want).all(|(x, y)| (x - y).abs() <= within), "{got:?} {want:?}");
    };
    close(shares(TakeOff::OneEnd, 4, 0.05), [1.651, 1.31, 1.1, 1.0].map(|x| x / 5.061), 1e-12);
    close(shares(TakeOff::Corners, 4, 0.05), [1.1, 1.0, 1.0, 1.1].map(|x| x / 4.2), 1e-12);
    close(shares(TakeOff::OneEnd, 4, 0.075), [0.359, 0.262, 0.204, 0.178], 2e-3);
    close(shares(TakeOff::Corners, 4, 0.075), [0.267, 0.232, 0.232, 0.267], 2e-3);
    // The link at the lead carries what the other three give.
    assert!((most_in_link(&shares(TakeOff::OneEnd, 4, 0.05)) - 3.41 / 5.061).abs() < 1e-12);
}

/// Source: Kirchhoff's laws, each node's sum solved by elimination. Two at opposite corners are even whatever the links are, and
/// so is any bank with links of no ohms; a link can only take from those beyond it.
#[test]
fn any_bank_is_as_its_nodes_say() {
    for take_off in [TakeOff::OneEnd, TakeOff::Corners] {
        for count in 2..=12 {
            for ratio in [1e-4, 0.02, 0.3, 2.0] {
                let (own, nodal) = (shares(take_off, count, ratio), by_nodes(take_off, count, ratio));
                let same = own.iter().zip(&nodal).all(|(x, y)| (x - y).abs() < 1e-8);
                assert!(same, "{take_off:?} {count} {ratio}: {own:?} {nodal:?}");
                assert!((own.iter().sum::<f64>() - 1.0).abs() < 1e-12);
            }
            assert!(shares(take_off, count, 0.0).iter().all(|x| (x * count as f64 - 1.0).abs() < 1e-12));
            assert!(shares(take_off, count, f64::MAX).iter().all(|x| x.is_finite()));
        }
    }
    assert_eq!(shares(TakeOff::Corners, 2, 5.0), [0.5, 0.5]);
    assert_eq!(shares(TakeOff::OneEnd, 1, 5.0), [1.0]);
}

/// The sound coach's bank as four of 3 mohm in a battery box, on links.
pub(super) fn linked(joined: &'static str, size: &str, metres: f64) -> Plan {
    with(
        &sound(),
        &[
            ("bank.parallel", n(4.0)),
            ("bank.joined", word(joined)),
            ("bank.link_gauge", gauge(size)),
            ("bank.link_length_m", n(metres)),
            ("bank.link_insulation_c", n(105.0)),
            ("bank.zone", word("battery box")),
        ],
    )
}

fn links(r: &Report) -> &coachwire::engine::report::LinkFigures {
    r.bank.links.as_ref().expect("links")
}

/// 2/0 AWG stranded by NEC Ch. 9 Table 8: 0.0967 ohm/1000 ft at 75 C, at 20 C x (234.5 + 20) / (234.5 + 75), a lug of 0.05 mohm
/// at each end; 1000 W of 12.0 V at 88 % are 94.7 A, a light of 60 W beside it.
#[test]
fn one_end_is_a_caution_with_its_split_and_corners_cure_it() {
    let p = linked("links with leads at one end", "2/0 AWG", 0.3);
    let r = evaluate(&p);
    let ohm = 0.0967 / 304.8 * (234.5 + 20.0) / (234.5 + 75.0) * 0.3 + 0.0001;
    let want = by_nodes(TakeOff::OneEnd, 4, ohm / 0.003);
    let got = links(&r).shares.clone().expect("known");
    assert!(got.iter().zip(&want).all(|(x, y)| (x - y).abs() < 0.01 * y), "{got:?} {want:?}");
    let f = found(&r, "uneven-battery-links");
    assert!(f.len() == 1 && f[0].level == Level::Caution, "{}", texts(&r));
    near("most", Ok(f[0].n(1)), want[0] * 100.0, 0.01);
    near("least", Ok(f[0].n(2)), want[3] * 100.0, 0.01);
    let bank_a = links(&r).bank_a.clone().expect("known").0;
    near("over", Ok(f[0].n(6)), (got[0] - 0.25) * bank_a, 1e-9);
    let inverter = r.inverters[0].design_a.clone().expect("known").0;
    assert!(bank_a > inverter && bank_a < inverter + 20.0, "{bank_a}");
    let steps = cures(&p, "uneven-battery-links", "bank");
    assert!(steps[0].name.starts_with("bank leads at opposite corners"), "{steps:?}");
    // Where the leads need only be moved nobody is told to buy links beside that.
    assert!(steps.iter().all(|s| !s.name.contains("corners and")), "{steps:?}");
    is_curable(&p, "uneven-battery-links", "bank");
    apply_all(&p);
    let right = evaluate(&linked("links with leads at corners", "2/0 AWG", 0.3));
    assert!(found(&right, "uneven-battery-links").is_empty(), "{}", texts(&right));
    assert!(right.not_checked.is_empty(), "{:?}", right.not_checked);
    // Of two on a short thick link the lugs alone leave the farther one 4 % less.
    let two = with(&linked("links with leads at one end", "4/0 AWG", 0.1), &[("bank.parallel", n(2.0))]);
    assert!(found(&evaluate(&two), "uneven-battery-links").is_empty(), "{}", texts(&evaluate(&two)));
}

/// Where corners do not do, thicker links or both; nothing thicker than the posts are entered to take.
#[test]
fn thicker_links_are_tried() {
    let thin = linked("links with leads at one end", "6 AWG", 0.25);
    let names = |p: &Plan| cures(p, "uneven-battery-links", "bank").into_iter().map(|s| s.name).collect::<Vec<_>>();
    let all = names(&thin);
    assert!(all.iter().any(|s| s.starts_with("bank leads at opposite corners and bank links thicker: ")), "{all:?}");
    let small = with(&thin, &[("bank.ratings.largest_wire", gauge("6 AWG"))]);
    assert!(names(&small).iter().all(|s| !s.contains("thicker")), "{:?}", names(&small));
    let corners = linked("links with leads at corners", "6 AWG", 0.25);
    assert!(names(&corners)[0].starts_with("bank links thicker: "), "{:?}", names(&corners));
}

/// NEC 310.17, 90 C column: 8 AWG 80 A, in the 45 C of a battery box x 0.87, under the 70 A of 75 C terminals; the link at a lead
/// carries what three of four give.
#[test]
fn the_link_at_the_lead_is_held_to_its_ampacity() {
    let p = linked("links with leads at corners", "8 AWG", 0.2);
    let r = evaluate(&p);
    let (link_a, bank_a) = (links(&r).link_a.clone().expect("known").0, links(&r).bank_a.clone().expect("known").0);
    let first = links(&r).shares.clone().expect("known")[0];
    near("link", Ok(link_a), (1.0 - first) * bank_a, 1e-12);
    near("ampacity", links(&r).ampacity_a.clone().map(|a| a.0), 80.0 * 0.87, 1e-9);
    let f = found(&r, "battery-link-below-current");
    assert!(link_a > 70.0 && f.len() == 1 && f[0].level == Level::Stop, "{link_a} {}", texts(&r));
    near("asked", Ok(f[0].n(0)), link_a, 1e-12);
    mended("battery-link-below-current", &p);
    assert!(
        found(&evaluate(&linked("links with leads at corners", "2 AWG", 0.2)), "battery-link-below-current").is_empty()
    );
    // Two of them count as one: too thin to share (NEC 310.10, 1/0 AWG and larger).
    let two = with(&p, &[("bank.links_each", n(2.0))]);
    assert!(says(&evaluate(&two), "battery-link-below-current", "bank"));
}

/// NEC 310.10: conductors in parallel are 1/0 AWG (53.5 mm2) and larger, as of a run's leg. Two of 2 AWG, 33.6 mm2, are told, carry what
/// one does and share as one does; two of 1/0 AWG halve a link's ohms.
#[test]
fn cables_too_thin_to_share_count_as_one_everywhere() {
    let of = |size: &str, each: f64| {
        with(&linked("links with leads at one end", size, 0.3), &[("bank.links_each", n(each))])
    };
    let (one, two) = (evaluate(&of("2 AWG", 1.0)), evaluate(&of("2 AWG", 2.0)));
    let f = found(&two, "parallel-too-thin");
    assert!(f.len() == 1 && f[0].level == Level::Caution && f[0].subject.as_str() == "bank", "{}", texts(&two));
    near("area", Ok(f[0].n(0)), 33.62, 1e-3);
    assert!(f[0].text().starts_with("links between the batteries: conductors of 33.6 mm2"), "{}", f[0].text());
    assert_eq!(links(&two).shares, links(&one).shares);
    // 310.17, 90 C column: 2 AWG 190 A in 45 C; four of both poles in one bundle carry less than two.
    let amps = |r: &Report| links(r).ampacity_a.clone().expect("known").0;
    assert!(amps(&two) <= amps(&one), "{} {}", amps(&two), amps(&one));
    for right in [of("2 AWG", 1.0), of("1/0 AWG", 2.0)] {
        assert!(found(&evaluate(&right), "parallel-too-thin").is_empty());
    }
    let first = |p: &Plan| links(&evaluate(p)).shares.clone().expect("known")[0];
    assert!(first(&of("1/0 AWG", 2.0)) < first(&of("1/0 AWG", 1.0)) - 0.01);
    mended("parallel-too-thin", &of("2 AWG", 2.0));
    let names: Vec<String> =
        cures(&of("2 AWG", 2.0), "parallel-too-thin", "bank").into_iter().map(|s| s.name).collect();
    assert!(names.iter().any(|s| s.starts_with("bank links of one cable: ")), "{names:?}");
    super::explained::all_worked(&of("2 AWG", 2.0));
}

/// With the battery beside it off a link carries all that the bank gives, and nothing but the 150 A at the posts stops more (NEC 240.4).
/// NEC 310.17, 90 C column, in the 45 C of a battery box x 0.87: 6 AWG 105 A are 91 A, below the bank's own current; 4 AWG 140 A are
/// 121.8 A, above that and below the fuse; 3 AWG 165 A are 143.6 A, which the next rating up protects (NEC 240.4(B)).
#[test]
fn a_link_left_alone_carries_what_the_main_fuse_lets_through() {
    let of = |size: &str| linked("links with leads at corners", size, 0.2);
    let alone = |p: &Plan| {
        let r = evaluate(p);
        found(&r, "battery-link-below-fuse").first().map(|f| (f.level, f.n(0), f.n(1), f.n(2), f.n(3)))
    };
    let (level, asked, carries, bank_a, fuse_a) = alone(&of("6 AWG")).expect("found");
    assert_eq!((level, asked, fuse_a), (Level::Stop, 150.0, 150.0));
    near("carries", Ok(carries), 105.0 * 0.87, 1e-9);
    assert!(bank_a > carries && bank_a < 150.0, "{bank_a}");
    let (level, _, carries, ..) = alone(&of("4 AWG")).expect("found");
    assert_eq!(level, Level::Caution);
    near("carries", Ok(carries), 140.0 * 0.87, 1e-9);
    assert_eq!(alone(&of("3 AWG")), None);
    let mut strict = of("3 AWG");
    strict.rules.push(coachwire::plan::RuleChange {
        id: "next-rating-up".parse().expect("id"),
        value: Known::Is(Number(0.0)),
        reason: "agreed".into(),
    });
    assert_eq!(alone(&strict).map(|x| x.0), Some(Level::Caution));
    assert!(
        texts(&evaluate(&of("4 AWG"))).contains("150 A that F1 of W3 lets through"),
        "{}",
        texts(&evaluate(&of("4 AWG")))
    );
    for size in ["6 AWG", "4 AWG"] {
        mended("battery-link-below-fuse", &of(size));
    }
    // A fuse at each battery protects its own where its rating does, which nobody enters; a smaller one at the posts asks for less.
    let each = with(&of("6 AWG"), &[("bank.fused_each", word("yes"))]);
    assert_eq!(alone(&each).map(|x| x.0), Some(Level::Note));
    assert!(
        texts(&evaluate(&each)).contains("the batteries' own fuses alone protect it"),
        "{}",
        texts(&evaluate(&each))
    );
    let small = with(&of("4 AWG"), &[("runs.W3.protection.F1.amps_a", n(125.0))]);
    assert_eq!(alone(&small), None);
    let open = evaluate(&with(&of("4 AWG"), &[("runs.W3.protection.F1.amps_a", Value::Unknown)]));
    assert!(open.not_checked.iter().any(|w| w.check == "battery-link-below-fuse"), "{:?}", open.not_checked);
    // Sizing all takes thick links no thinner than that.
    let thick = of("4/0 AWG");
    let step = Engine::default().size_all(&thick, &Stock::default(), false);
    let sized = thick.with(&step).expect("applies");
    assert_eq!(alone(&sized), None, "{step:?}");
    let amps = links(&evaluate(&sized)).ampacity_a.clone().expect("known").0;
    let main_a = sized.runs.iter().find(|r| r.id.as_str() == "W3").expect("main").protection[0].amps_a;
    let up = coachwire::standards::small_wire::next_standard_rating_a(amps).expect("a rating");
    assert!(main_a.known().is_some_and(|a| up >= a.0 - 1e-9), "{amps} {up} {main_a:?}");
}

/// Two fuses at the posts that loads hang on let their sum through (Kirchhoff's current law), though neither alone is above the link
/// (NEC 240.4): a note. What charges goes the other way, and adds nothing.
#[test]
fn a_link_that_only_the_sum_of_the_fuses_is_above_is_noted() {
    let of = |size: &str, other: &str, amps: f64| {
        let p = insert(&linked("links with leads at corners", size, 0.2), "loads", r#"(id: "L9", watts_w: 60.0)"#);
        let charger = r#"(id: "CH9", kind: "shore", out_a: 10.0, efficiency_pct: 90.0, absorb_v: 14.2)"#;
        let run = format!(
            r#"(id: "W90", from: "BK", to: "{other}", gauge: "6 AWG", legs: [(id: "L1", length_m: 0.5, insulation_c: 105.0)],
            protection: [(id: "F1", at: "from", family: "UL 248-15 T", amps_a: {amps:?}, distance_m: 0.1)])"#
        );
        let r = evaluate(&insert(&insert(&p, "chargers", charger), "runs", &run));
        let f = found(&r, "battery-link-below-fuse");
        f.first().map(|f| (f.level, f.n(3), f.text()))
    };
    let (level, fuse_a, text) = of("3 AWG", "L9", 60.0).expect("noted");
    assert_eq!((level, fuse_a), (Level::Note, 210.0));
    assert!(text.contains("210 A that F1 of W3, F1 of W90 together let through"), "{text}");
    assert_eq!(of("2/0 AWG", "L9", 60.0), None);
    assert_eq!(of("3 AWG", "CH9", 60.0), None);
    assert_eq!(of("4 AWG", "L9", 60.0).map(|x| (x.0, x.1)), Some((Level::Caution, 150.0)));
}

fn priced() -> Stock {
    let mut stock = Stock::default();
    stock.truck.spools.clear();
    stock.truck.lugs.clear();
    for (k, size) in ["2 AWG", "2/0 AWG"].into_iter().enumerate() {
        let mut spool = Spool {
            gauge: Known::Is(size.parse().expect("gauge")),
            insulation_c: Known::Is(Celsius(105.0)),
            price_per_metre: Some(Known::Is(Number(10.0))),
            kg_per_metre: Some(Known::Is(Number(0.7))),
            ..Spool::default()
        };
        spool.set_id(format!("SP{k}").parse().expect("id"));
        stock.truck.spools.push(spool);
    }
    let mut lug = Lug {
        gauge: Known::Is("2/0 AWG".parse().expect("gauge")),
        stud: "M8".into(),
        price: Some(Known::Is(Number(4.0))),
        weight_kg: Some(Known::Is(Kilograms(0.05))),
        ..Lug::default()
    };
    lug.set_id("LG1".parse().expect("id"));
    stock.truck.lugs.push(lug);
    stock
}

/// By hand: of four batteries three links in each pole, six of 0.3 m are 1.8 m at 10 a metre, and a lug of 4 at both ends of each are
/// 48, all with 25 %; 1.8 m at 0.7 kg and 12 lugs of 50 g. A bank that is there has its links.
#[test]
fn links_are_bought_with_the_batteries_that_they_join() {
    let stock = priced();
    let p = with(&linked("links with leads at one end", "2/0 AWG", 0.3), &[("money.markup_pct", n(25.0))]);
    let stud = |p: &Plan| with(p, &[("bank.ratings.stud", Value::Text("M8".into()))]);
    let even = with(&p, &[("bank.joined", word("equal leads")), ("bank.link_gauge", Value::Nothing)]);
    let price = |p: &Plan| Engine::default().evaluate(p, &stock).price;
    // Lugs of other gauges on the same studs stand in both.
    let (with_links, without) = (price(&stud(&p)), price(&stud(&even)));
    near("parts", Ok(with_links.known_parts.0 - without.known_parts.0), (1.8 * 10.0 + 12.0 * 4.0) * 1.25, 1e-9);
    assert_eq!((with_links.lugs - without.lugs, with_links.unpriced), (12, without.unpriced));
    let kg = |p: &Plan| {
        let report = Engine::default().evaluate(p, &stock);
        coachwire::engine::sizing::Totals::of(p, &stock, &report).wire_kg.expect("known")
    };
    near("weight", Ok(kg(&stud(&p)) - kg(&stud(&even))), 1.8 * 0.7 + 12.0 * 0.05, 1e-9);
    // Without a stud lugs are not counted, two cables are twice the wire, and what no spool is of has no price.
    near("no stud", Ok(price(&p).known_parts.0 - price(&even).known_parts.0), 18.0 * 1.25, 1e-9);
    let two = with(&p, &[("bank.links_each", n(2.0))]);
    near("two", Ok(price(&two).known_parts.0 - price(&even).known_parts.0), 36.0 * 1.25, 1e-9);
    for open in [
        ("bank.link_gauge", gauge("4/0 AWG")),
        ("bank.link_length_m", Value::Unknown),
        ("bank.link_gauge", Value::Unknown),
    ] {
        assert_eq!(price(&with(&p, &[open])).unpriced, price(&even).unpriced + 1);
    }
    let there = |p: &Plan| price(&with(p, &[("bank.state", word("existing"))]));
    assert_eq!(there(&stud(&p)).known_parts, there(&stud(&even)).known_parts);
    let said = |p: &Plan| coachwire::wording::links::links(p, &evaluate(p)).join("; ");
    let bought = said(&stud(&p));
    assert!(bought.contains("6 cables") && bought.contains("12 lugs"), "{bought}");
    assert!(said(&with(&p, &[("bank.state", word("existing"))])).contains("there already"));
}

/// The thinnest that carries its current and leaves batteries even enough is what the program proposes: one gauge thinner does not
/// do, and sizing all takes it, from no gauge, from a thinner and from a thicker one; what it leads to it leaves as it is.
#[test]
fn the_thinnest_link_that_does_is_proposed() {
    let p = linked("links with leads at corners", "18 AWG", 0.25);
    let least = links(&evaluate(&p)).least.clone().expect("known").expect("some gauge does");
    let of = |g: &str| evaluate(&with(&p, &[("bank.link_gauge", gauge(g))]));
    let wrong = |r: &Report| {
        let ids = ["battery-link-below-current", "battery-link-below-fuse", "uneven-battery-links"];
        ids.iter().any(|id| says(r, id, "bank"))
    };
    assert!(!wrong(&of(&least.to_string())), "{least}");
    let thinner = least.ladder().take_while(|g| *g < least).last().expect("one");
    assert!(wrong(&of(&thinner.to_string())), "{thinner}");
    for had in [Value::Unknown, gauge("18 AWG"), gauge("4/0 AWG")] {
        let q = with(&p, &[("bank.link_gauge", had.clone())]);
        let proposal = Engine::default().propose_sizes(&q, &Stock::default(), false);
        let sized = q.with(&proposal.step).expect("applies");
        let own = links(&evaluate(&sized)).least.clone().expect("known");
        assert_eq!(sized.bank.link_gauge.and_then(|g| g.known().copied()), own, "{had:?}");
        assert!(proposal.rows.iter().any(|r| r.run.as_str() == "BK" && r.changes()), "{had:?}");
        assert!(!wrong(&evaluate(&sized)), "{}", texts(&evaluate(&sized)));
        let again = Engine::default().size_all(&sized, &Stock::default(), false);
        assert_eq!(again.edits, [], "{had:?}");
    }
    // What is there stays, and what posts do not take is not proposed.
    let there = with(&p, &[("bank.state", word("existing"))]);
    let step = Engine::default().size_all(&there, &Stock::default(), false);
    assert!(step.edits.iter().all(|e| !format!("{e:?}").contains("link_gauge")), "{step:?}");
    let small = with(&p, &[("bank.ratings.largest_wire", gauge(&thinner.to_string()))]);
    assert_eq!(links(&evaluate(&small)).least, Ok(None));
}

/// Leads of their own that are unlike: the battery on the one that loses least comes to its limit first, as by links. Three of
/// 3 mohm behind 0.6 m of 4/0 AWG, one of them behind 3 m. Kirchhoff: parts by conductance.
#[test]
fn unlike_leads_lower_the_limits_as_links_do() {
    let of = |metres: f64| {
        let edits = [("bank.parallel", n(3.0)), ("bank.peak_a", n(150.0))];
        with(&super::explained_raised::three_leads(metres), &edits)
    };
    let limits = |r: &Report| {
        let amps = |x: &Figure<coachwire::units::Amps>| x.clone().expect("known").0;
        (amps(&r.bank.discharge_limit_a), amps(&r.bank.charge_limit_a))
    };
    let (even, uneven) = (evaluate(&of(0.6)), evaluate(&of(3.0)));
    near("even", Ok(limits(&even).0), 3.0 * 90.0, 1e-9);
    let f = found(&uneven, "uneven-battery-leads");
    let most = f[0].n(1) / 100.0;
    assert!(most > 0.35, "{most}");
    near("discharge", Ok(limits(&uneven).0), 90.0 / most, 1e-9);
    near("charge", Ok(limits(&uneven).1), 50.0 / most, 1e-9);
    // 50 A x 3 even ones take what these do not; the first cure makes the leads alike.
    let much = |metres: f64| with(&of(metres), &[("controllers.C1.out_a", n(60.0)), ("bank.max_charge_a", n(4.0))]);
    let over = |p: &Plan| found(&evaluate(p), "charge-over-limit").first().map(|f| f.n(1));
    near("even", Ok(over(&much(0.6)).expect("over")), 12.0, 1e-9);
    near("uneven", Ok(over(&much(3.0)).expect("over")), 4.0 / most, 1e-9);
    super::explained::all_worked(&much(3.0));
    let lead = with(&of(3.0), &[("runs.X3.legs.L1.length_m", Value::Unknown)]);
    let waits = evaluate(&lead).bank.discharge_limit_a.clone().expect_err("not known");
    assert_eq!(waits.0.as_str(), "runs.X3.legs.L1.length_m");
}

/// The battery at the leads comes to its own limit before the others do: 100 A x 0.9 of it, and its part of the whole.
#[test]
fn limits_go_by_the_battery_that_gives_most() {
    let even = evaluate(&with(&sound(), &[("bank.parallel", n(4.0)), ("bank.peak_a", n(150.0))]));
    near("even", even.bank.discharge_limit_a.clone().map(|a| a.0), 4.0 * 90.0, 1e-12);
    let p = with(&linked("links with leads at one end", "2/0 AWG", 1.0), &[("bank.peak_a", n(150.0))]);
    let r = evaluate(&p);
    let most = links(&r).shares.clone().expect("known")[0];
    assert!(most > 0.35, "{most}");
    near("discharge", r.bank.discharge_limit_a.clone().map(|a| a.0), 90.0 / most, 1e-12);
    near("charge", r.bank.charge_limit_a.clone().map(|a| a.0), 50.0 / most, 1e-12);
    // 3000 W / (12.0 V x 0.88) = 284 A: four even packs give 360 A, these less.
    let more: Edits<'_> = &[("inverters.INV.watts_w", n(3000.0)), ("inverters.INV.surge_w", n(5000.0))];
    let (even, uneven) = (with(&p, &[("bank.joined", word("equal leads"))]), with(&p, more));
    let even = evaluate(&with(&even, more));
    for check in ["inverter-over-discharge-limit", "inverter-surge-over-peak"] {
        assert!(says(&evaluate(&uneven), check, "inverters.INV"), "{check}: {}", texts(&evaluate(&uneven)));
        assert!(!says(&even, check, "inverters.INV"), "{check}: {}", texts(&even));
        let first = cures(&uneven, check, "inverters.INV").into_iter().next().expect("offered").name;
        assert!(first.starts_with("bank leads at opposite corners"), "{check}: {first}");
    }
    super::explained::all_worked(&uneven);
}

/// What is not known is asked and not taken as even; a bank that says nothing of links is as it was.
#[test]
fn what_nobody_knows_is_not_checked() {
    let waits = |edits: Edits<'_>, field: &str| {
        let r = evaluate(&with(&linked("links with leads at one end", "2/0 AWG", 0.3), edits));
        let on = |w: &&coachwire::engine::report::NotChecked| w.check == "battery-link-below-current";
        assert!(r.not_checked.iter().filter(on).any(|w| w.waits_for.as_str() == field), "{field} {:?}", r.not_checked);
        assert!(r.unknown.iter().any(|at| at.as_str() == field), "{field} {:?}", r.unknown);
        r
    };
    let r = waits(&[("bank.joined", Value::Unknown)], "bank.joined");
    assert!(r.bank.discharge_limit_a.is_err() && r.year.harvest_kwh.is_ok());
    waits(&[("bank.link_gauge", Value::Unknown)], "bank.link_gauge");
    waits(&[("bank.link_gauge", Value::Nothing)], "bank.link_gauge");
    waits(&[("bank.link_length_m", Value::Unknown)], "bank.link_length_m");
    waits(&[("bank.link_insulation_c", Value::Nothing)], "bank.link_insulation_c");
    waits(&[("bank.zone", Value::Nothing)], "bank.zone");
    waits(&[("bank.joined", Value::Nothing)], "bank.joined");
    // Two at opposite corners are even, whatever joins them; only the link's own ampacity waits.
    let two = with(&sound(), &[("bank.parallel", n(2.0)), ("bank.joined", word("links with leads at corners"))]);
    let r = evaluate(&two);
    near("limit", r.bank.discharge_limit_a.clone().map(|a| a.0), 180.0, 1e-12);
    assert_eq!(links(&r).shares, Ok(vec![0.5, 0.5]));
    assert!(evaluate(&sound()).bank.links.is_none());
    let one = with(&linked("links with leads at one end", "18 AWG", 1.0), &[("bank.parallel", n(1.0))]);
    assert!(evaluate(&one).bank.links.is_none());
}

/// Drawn leads of their own and links at once: the leads count, and it is said.
#[test]
fn links_beside_leads_are_said() {
    let p = with(&super::explained_raised::three_leads(0.6), &[("bank.joined", word("links with leads at one end"))]);
    assert!(says(&evaluate(&p), "batteries-joined-twice", "bank"));
    mended("batteries-joined-twice", &p);
    assert!(found(&evaluate(&super::explained_raised::three_leads(0.6)), "batteries-joined-twice").is_empty());
}

fn jumper(p: &Plan) -> Plan {
    let run = r#"(id: "W94", from: "BK", to: "BK", gauge: "1/0 AWG", legs: [(id: "L1", length_m: 0.3, zone: "basement",
        insulation_c: 105.0)])"#;
    insert(p, "runs", run)
}

/// A link that is drawn as a run is told where it belongs, taken there by one key, and waits for nothing but that.
#[test]
fn a_link_drawn_as_a_run_is_taken_into_the_bank() {
    let p = jumper(&sound());
    let r = evaluate(&p);
    let f = found(&r, "run-to-itself");
    assert!(f[0].level == Level::Note && f[0].text().contains("entered at the bank itself"), "{}", texts(&r));
    let own = |r: &Report| {
        let of = r.not_checked.iter().chain(&r.waiting).filter(|w| w.subject.as_str() == "runs.W94");
        of.map(|w| w.waits_for.to_string()).collect::<Vec<_>>()
    };
    assert!(own(&r).iter().all(|at| at == "bank.joined") && !own(&r).is_empty(), "{:?}", own(&r));
    let step = cures(&p, "run-to-itself", "runs.W94").into_iter().next().expect("offered");
    let after = p.with(&step).expect("applies");
    assert!(after.runs.iter().all(|r| r.id.as_str() != "W94"));
    assert_eq!(after.bank.link_gauge, Some(coachwire::plan::Known::Is("1/0 AWG".parse().expect("gauge"))));
    let after = with(&after, &[("bank.joined", word("links with leads at corners")), ("bank.zone", word("basement"))]);
    let r = evaluate(&after);
    assert!(r.not_checked.is_empty(), "{:?}", r.not_checked);
    // NEC 310.17, 90 C column: 1/0 AWG 260 A, in 45 C x 0.87.
    near("1/0 AWG", links(&r).ampacity_a.clone().map(|a| a.0), 260.0 * 0.87, 1e-9);
    // Entered at the bank as well, the run waits for nothing, and only goes.
    let both = with(&p, &[("bank.joined", word("links with leads at corners")), ("bank.link_gauge", gauge("1/0 AWG"))]);
    assert!(own(&evaluate(&both)).is_empty(), "{:?}", evaluate(&both).not_checked);
    let name = cures(&both, "run-to-itself", "runs.W94").into_iter().next().expect("offered").name;
    assert_eq!(name, "W94 removed: the bank's own links are entered");
}

/// In series alone a jumper carries all that the bank does, as its main lead.
#[test]
fn a_jumper_in_series_is_held_to_the_banks_current() {
    let series =
        [("bank.parallel", n(1.0)), ("bank.series", n(2.0)), ("bank.max_series", n(4.0)), ("bank.unit_v", n(6.4))];
    let p = jumper(&with(&sound(), &series));
    let r = evaluate(&p);
    let of = |id: &str| r.runs.iter().find(|x| x.id.as_str() == id).expect("drawn").design_a.clone().map(|a| a.0);
    near("jumper", of("W94"), of("W3").expect("known"), 1e-12);
    assert!(cures(&p, "run-to-itself", "runs.W94").is_empty());
    assert!(!r.not_checked.iter().any(|w| w.subject.as_str() == "runs.W94"), "{:?}", r.not_checked);
}

/// The year's bank takes and gives no more than the battery at the leads lets it.
#[test]
fn the_year_keeps_to_the_battery_that_gives_most() {
    let tight: Edits<'_> = &[("bank.max_charge_a", n(5.0))];
    let (one, even) = (linked("links with leads at one end", "2 AWG", 0.4), linked("equal leads", "2 AWG", 0.4));
    let stored = |p: &Plan| Engine::default().evaluate(&with(p, tight), &Stock::default()).year.stored_kwh.clone();
    assert!(stored(&one).expect("known") < stored(&even).expect("known"));
}

/// The same on screen, on the wire schedule and in the figures; nothing of a bank without links.
#[test]
fn they_are_said_wherever_figures_are() {
    let p = linked("links with leads at one end", "2/0 AWG", 0.3);
    let r = evaluate(&p);
    let said = coachwire::wording::links::links(&p, &r).join("; ");
    let first = links(&r).shares.clone().expect("known")[0];
    for part in ["3 links in each pole", "2/0 AWG", &format!("{:.1} %", first * 100.0), "in no path's drop"] {
        assert!(said.contains(part), "{part}: {said}");
    }
    let json = |p: &Plan| coachwire::figures::json(p, &evaluate(p))["bank"]["links"].clone();
    assert_eq!(json(&p)["shares"][0].as_f64(), Some(first));
    assert!(json(&p)["link_a"].as_f64() < json(&p)["bank_a"].as_f64());
    // 2/0 AWG stranded, NEC Ch. 9 Table 8: 0.0967 ohm/1000 ft at 75 C, at 105 C x (234.5 + 105) / (234.5 + 75); two lugs of 0.05 mohm.
    let ohm = 0.0967 / 304.8 * 0.3 * (234.5 + 105.0) / (234.5 + 75.0) + 2.0 * 0.00005;
    let lost = links(&r).link_a.clone().expect("known").0 * ohm;
    near("lost in a link", links(&r).link_v.clone().map(|v| v.0), lost, 2e-3 * lost);
    assert_eq!(json(&p)["link_v"].as_f64(), links(&r).link_v.clone().ok().map(|v| v.0));
    assert!(said.contains(&format!("loses {lost:.3} V in each pole at most")), "{said}");
    let unknown = with(&p, &[("bank.link_gauge", Value::Unknown)]);
    assert!(json(&unknown)["shares"].is_null() && json(&unknown)["ampacity_a"].is_null());
    assert!(
        coachwire::wording::links::links(&unknown, &evaluate(&unknown))
            .join("; ")
            .contains("what each battery gives: ?")
    );
    assert!(json(&sound()).is_null() && coachwire::wording::links::links(&sound(), &evaluate(&sound())).is_empty());
}
