//! Labels, the single diode, controllers. Source of the reference numbers: pvlib 0.16.1 (an independent library):
//! De Soto parameters fitted by its own root finder, points by Lambert's W and Brent's method.

use coachwire::physics::controller::{STATIC_TRACKING, Tracker, Tracking, pwm_point, tracking_point};
use coachwire::physics::module::{Cell, Label, Module, SILICON_EV};
use proptest::prelude::*;

use crate::support::{Row, near_abs, near_rel, rows};

fn label(row: &Row) -> Label {
    Label {
        vmp_v: row.num("vmp"),
        imp_a: row.num("imp"),
        voc_v: row.num("voc"),
        isc_a: row.num("isc"),
        alpha_pct_k: row.num("alpha_pct_K"),
        beta_pct_k: row.num("beta_pct_K"),
        band_gap_ev: row.num("EgRef"),
    }
}

pub(super) fn extracted(label: &Label) -> Module {
    Module::from_label(label).unwrap_or_else(|e| panic!("{label:?}: {e}"))
}

/// A reference module from its reference parameters, not our own fit.
pub(super) fn reference_module(name: &str) -> Module {
    let rows = rows("physics/modules_desoto.csv");
    let row = rows.iter().find(|row| row.text("module") == name).unwrap_or_else(|| panic!("no module {name}"));
    Module {
        il_a: row.num("IL_ref"),
        i0_a: row.num("I0_ref"),
        a_v: row.num("a_ref"),
        rs_ohm: row.num("Rs"),
        gsh_s: 1.0 / row.num("Rsh_ref"),
        alpha_a_k: row.num("alpha_pct_K") / 100.0 * row.num("isc"),
        band_gap_ev: row.num("EgRef"),
    }
}

#[test]
fn labels_give_the_parameters_of_a_full_solution() {
    for row in rows("physics/modules_desoto.csv") {
        let label = label(&row);
        let got = extracted(&label);
        let name = row.text("module");
        near_rel(&format!("{name} ideality"), got.a_v, row.num("a_ref"), 1e-6);
        near_rel(&format!("{name} light current"), got.il_a, row.num("IL_ref"), 1e-6);
        near_rel(&format!("{name} saturation"), got.i0_a, row.num("I0_ref"), 5e-5);
        near_rel(&format!("{name} series"), got.rs_ohm, row.num("Rs"), 1e-5);
        near_rel(&format!("{name} shunt"), 1.0 / got.gsh_s, row.num("Rsh_ref"), 1e-4);
        let top = got.at(1000.0, 25.0).max_power(0.0);
        near_rel(&format!("{name} power"), top.power_w(), label.vmp_v * label.imp_a, 1e-6);
        near_rel(&format!("{name} volts"), top.v, label.vmp_v, 1e-6);
    }
}

#[test]
fn single_diode_points_agree() {
    for row in rows("physics/single_diode.csv") {
        let name = row.text("module");
        let cell = reference_module(name).at(row.num("G"), row.num("Tc"));
        let what = |quantity: &str| format!("{name} line {} {quantity}", row.line);
        near_rel(&what("light current"), cell.il_a, row.num("IL"), 1e-6);
        near_rel(&what("saturation"), cell.i0_a, row.num("I0"), 2e-6);
        near_rel(&what("ideality"), cell.a_v, row.num("a"), 1e-6);
        near_rel(&what("shunt"), 1.0 / cell.gsh_s, row.num("Rsh"), 1e-6);
        near_rel(&what("short circuit"), cell.short_circuit_a(), row.num("Isc"), 1e-6);
        near_rel(&what("open circuit"), cell.open_circuit_v(), row.num("Voc"), 1e-6);
        let top = cell.max_power(0.0);
        near_rel(&what("power"), top.power_w(), row.num("Pmp"), 1e-6);
        near_rel(&what("volts"), top.v, row.num("Vmp"), 1e-4);
        near_rel(&what("current"), top.i, row.num("Imp"), 1e-4);
        for k in 1..=3 {
            let got_a = cell.current_at(row.num(&format!("V{k}")), 0.0);
            near_rel(&what("current at volts"), got_a, row.num(&format!("I{k}")), 1e-6);
        }
    }
}

#[test]
fn direct_coupling_agrees() {
    for row in rows("physics/pwm_points.csv") {
        let cell = reference_module(row.text("module")).at(row.num("G"), row.num("Tc"));
        let got = pwm_point(&cell, row.num("Vbat"), row.num("Vblock"), row.num("R"));
        let what = format!("line {}", row.line);
        near_abs(&what, got.current_a, row.num("I"), 1e-6);
        near_abs(&what, got.bank_w, row.num("P_bat"), 2e-5);
        near_abs(&what, got.array_v, row.num("V_mod"), 1e-6);
    }
}

#[test]
fn tracking_agrees() {
    for row in rows("physics/mppt_points.csv") {
        let cell = reference_module(row.text("module")).at(row.num("G"), row.num("Tc"));
        let tracker = Tracker {
            tracking: row.num("eta_t"),
            conversion: row.num("eta_c"),
            self_w: row.num("P_self"),
            headroom_v: row.num("dV"),
            most_a: row.num("Imax"),
        };
        assert_eq!(tracker.tracking, STATIC_TRACKING);
        let got = tracking_point(&cell, &tracker, row.num("Vbat"), row.num("R"));
        let what = format!("line {}", row.line);
        near_rel(&what, got.input.power_w(), row.num("P_in"), 1e-6);
        near_rel(&what, got.input.v, row.num("V_ctl"), 1e-4);
        near_abs(&what, got.bank_a, row.num("I_bat"), 1e-6);
        near_abs(&what, got.bank_w, row.num("P_bat"), 2e-5);
        assert_eq!(got.limited, row.text("mode").contains("limit"), "{what}");
        assert_eq!(got.tracking == Tracking::Maximum, row.text("mode").contains("mpp"), "{what}");
    }
}

/// Source: definition of the step-down converter: below the headroom the array is held above the bank, and what the
/// curve gives there is all there is.
#[test]
fn a_tracker_holds_an_array_too_low_for_its_bank() {
    let cell = reference_module("rigid100").at(800.0, 65.0);
    let tracker = Tracker { tracking: 0.99, conversion: 0.97, self_w: 0.5, headroom_v: 2.0, most_a: 30.0 };
    let got = tracking_point(&cell, &tracker, 14.4, 0.05);
    assert_eq!(got.tracking, Tracking::Held);
    near_abs("volts", got.input.v, 16.4, 1e-12);
    let direct = pwm_point(&cell, 16.4, 0.0, 0.05);
    near_abs("current", got.input.i, direct.current_a, 1e-12);
    near_rel("power", got.bank_w, 0.97 * direct.bank_w - 0.5, 1e-12);
    let dead = tracking_point(&cell, &tracker, 30.0, 0.05);
    assert_eq!((dead.bank_a, dead.bank_w), (0.0, 0.0));
}

/// Source: Kirchhoff. Equal modules behave as one, whichever way joined.
#[test]
fn equal_modules_scale() {
    let cell = reference_module("perc200").at(730.0, 48.0);
    let four = cell.scaled(1.0, 4.0).max_power(0.0);
    let two_by_two = cell.scaled(2.0, 2.0).max_power(0.0);
    near_rel("power", two_by_two.power_w(), four.power_w(), 1e-12);
    near_rel("power of one", four.power_w(), 4.0 * cell.max_power(0.0).power_w(), 1e-12);
    near_rel("volts", two_by_two.v, 2.0 * four.v, 1e-9);
    near_rel("shared wire", cell.scaled(1.0, 4.0).current_at(13.2, 0.05), 4.0 * cell.current_at(13.2, 0.2), 1e-12);
}

#[test]
fn impossible_labels_are_refused_with_the_reason() {
    let good = Label {
        vmp_v: 18.2,
        imp_a: 5.5,
        voc_v: 22.1,
        isc_a: 5.86,
        alpha_pct_k: 0.05,
        beta_pct_k: -0.31,
        band_gap_ev: SILICON_EV,
    };
    assert!(Module::from_label(&good).is_ok());
    for (bad, word) in [
        (Label { voc_v: 18.0, ..good }, "Voc"),
        (Label { isc_a: 5.5, ..good }, "Isc"),
        (Label { imp_a: 0.0, ..good }, "above zero"),
        (Label { voc_v: 40.0, ..good }, "half"),
        (Label { beta_pct_k: f64::NAN, ..good }, "finite"),
    ] {
        let message = Module::from_label(&bad).expect_err("must be refused");
        assert!(message.contains(word), "{message}");
    }
}

fn any_label() -> impl Strategy<Value = Label> {
    (
        prop_oneof![Just(32.0), Just(36.0), Just(54.0), Just(60.0), Just(72.0)],
        0.58..0.75_f64,
        0.78..0.86_f64,
        1.0..18.0_f64,
        0.90..0.965_f64,
        0.01..0.07_f64,
        -0.36..-0.23_f64,
        1..4_i32,
    )
        .prop_map(|(cells, cell_v, v_share, isc, i_share, alpha_pct_k, beta_pct_k, digits)| {
            // Labels are rounded, coarsely at times.
            let scale = 10_f64.powi(digits);
            let round = |x: f64| (x * scale).round() / scale;
            let voc_v = round(cells * cell_v);
            Label {
                vmp_v: round(voc_v * v_share),
                imp_a: (isc * i_share * 100.0).round() / 100.0,
                voc_v,
                isc_a: (isc * 100.0).round() / 100.0,
                alpha_pct_k,
                beta_pct_k,
                band_gap_ev: SILICON_EV,
            }
        })
}

fn any_cell() -> impl Strategy<Value = Cell> {
    (any_label(), prop_oneof![Just(0.0), 0.0..1e-3_f64, 0.0..20.0_f64, 0.0..1400.0_f64], -60.0..120.0_f64)
        .prop_map(|(label, light, cell_c)| extracted(&label).at(light, cell_c))
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 600, ..ProptestConfig::default() })]

    /// Source: the label itself.
    #[test]
    fn every_real_label_gives_a_model_that_reproduces_it(label in any_label()) {
        let module = extracted(&label);
        prop_assert!(module.il_a > 0.0 && module.i0_a > 0.0 && module.a_v > 0.0, "{:?}", module);
        prop_assert!(module.rs_ohm >= 0.0 && module.gsh_s >= 0.0, "{:?}", module);
        let cell = module.at(1000.0, 25.0);
        let top = cell.max_power(0.0);
        let label_w = label.vmp_v * label.imp_a;
        prop_assert!((top.power_w() / label_w - 1.0).abs() < 1e-8, "{} of {label_w}", top.power_w());
        prop_assert!((top.v / label.vmp_v - 1.0).abs() < 1e-5);
        prop_assert!((cell.open_circuit_v() / label.voc_v - 1.0).abs() < 1e-8);
        prop_assert!((cell.short_circuit_a() / label.isc_a - 1.0).abs() < 1e-8);
    }

    /// Source: definition of the maximum, and of the curve it lies on.
    #[test]
    fn nothing_on_the_curve_beats_its_maximum(cell in any_cell(), extra_ohm in 0.0..2.0_f64) {
        let top = cell.max_power(extra_ohm);
        prop_assert!((cell.current_at(top.v, extra_ohm) - top.i).abs() <= 1e-9 * (1.0 + top.i));
        let open_v = cell.open_circuit_v();
        for k in 0..=40 {
            let v = open_v * f64::from(k) / 40.0;
            prop_assert!(v * cell.current_at(v, extra_ohm) <= top.power_w() + 1e-12 + 1e-11 * top.power_w());
        }
        prop_assert!(cell.current_at(open_v, extra_ohm).abs() < 1e-9);
    }

    #[test]
    fn warm_starts_change_nothing(cell in any_cell(), start_v in -10.0..200.0_f64, extra_ohm in 0.0..2.0_f64) {
        let cold = cell.max_power(extra_ohm);
        let warm = cell.max_power_from(start_v, extra_ohm);
        prop_assert!((cold.power_w() - warm.power_w()).abs() <= 1e-12 * (1.0 + cold.power_w()));
        let behind = cell.max_power_behind(cell.max_power(0.0), extra_ohm);
        prop_assert!((cold.power_w() - behind.power_w()).abs() <= 1e-12 * (1.0 + cold.power_w()));
    }

    #[test]
    fn slopes_are_those_of_the_curve(cell in any_cell(), share in 0.0..1.0_f64, extra_ohm in 0.01..0.5_f64) {
        let v = cell.open_circuit_v() * share;
        let [i, first, second] = cell.current_and_slopes(v, extra_ohm);
        prop_assert_eq!(i, cell.current_at(v, extra_ohm));
        let h = 1e-4;
        let (below, above) = (cell.current_at(v - h, extra_ohm), cell.current_at(v + h, extra_ohm));
        prop_assert!(((above - below) / (2.0 * h) - first).abs() < 1e-5 * (1.0 + first.abs()));
        prop_assert!(((above - 2.0 * i + below) / (h * h) - second).abs() < 1e-3 * (1.0 + second.abs()));
    }

    #[test]
    fn nothing_overflows(
        cell in any_cell(),
        v in prop_oneof![Just(0.0), -1e3..1e3_f64, -1e300..1e300_f64, Just(f64::MAX), Just(f64::MIN)],
        extra_ohm in prop_oneof![Just(0.0), 0.0..1.0_f64, 0.0..1e9_f64],
    ) {
        prop_assert!(cell.current_at(v, extra_ohm).is_finite());
        prop_assert!(cell.current_and_slopes(v, extra_ohm).iter().all(|x| x.is_finite()));
        let top = cell.max_power(extra_ohm);
        prop_assert!(top.v.is_finite() && top.i.is_finite() && top.v >= 0.0 && top.i >= 0.0);
        let direct = pwm_point(&cell, v, 0.0, extra_ohm);
        prop_assert!(direct.current_a >= 0.0 && direct.current_a.is_finite());
        let ideal = Tracker { tracking: 1.0, conversion: 1.0, self_w: 0.0, headroom_v: 0.0, most_a: 1e9 };
        let tracked = tracking_point(&cell, &ideal, 13.2, extra_ohm);
        prop_assert!(tracked.bank_w.is_finite());
        // Behind a megohm the powers are lost in the rounding of the volts.
        prop_assert!(extra_ohm > 1e3 || tracked.bank_w <= top.power_w() * (1.0 + 1e-9) + 1e-12);
    }

    #[test]
    fn a_higher_bank_never_draws_more(cell in any_cell(), v in 10.0..60.0_f64, more in 0.0..5.0_f64) {
        prop_assert!(pwm_point(&cell, v + more, 0.0, 0.1).current_a <= pwm_point(&cell, v, 0.0, 0.1).current_a + 1e-12);
    }
}
