//! `figures`.

use serde_json::Value;

use super::program::{Home, sample};

fn keys(value: &Value) -> Vec<&str> {
    value.as_object().unwrap().keys().map(String::as_str).collect()
}

#[test]
fn the_shape_is_an_interface() {
    let ran = Home::new().run(&["figures", &sample("larkspur")]);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    let json = ran.json();
    assert_eq!(
        keys(&json),
        [
            "plan",
            "basis",
            "arrays",
            "bank",
            "runs",
            "months",
            "loads",
            "year",
            "roof",
            "price",
            "unknown",
            "not_checked",
            "waiting",
            "findings"
        ]
    );
    assert_eq!(json["basis"], "US RV");
    assert_eq!(keys(&json["bank"]), ["volts", "amp_hours", "usable_wh", "fault_a", "links"]);
    assert_eq!(keys(&json["price"]), ["parts", "labour", "tax", "total", "lugs", "lugs_not_counted"]);
    assert_eq!(keys(&json["roof"]), ["panels", "holes", "uplift_factor"]);
    let run = json["runs"].as_array().unwrap().iter().find(|r| r["id"] == "W2").unwrap();
    assert_eq!(
        keys(run),
        [
            "id",
            "from",
            "to",
            "length_m",
            "gauge",
            "design_a",
            "drop_at_a",
            "drop_v",
            "drop_pct",
            "path_drop_pct",
            "path_target_pct",
            "path_end",
            "path",
            "resistance_ohm",
            "wire_c",
            "ampacity_a",
            "governs",
            "fuse_min_a",
            "fuse_max_a",
            "fuse_a",
            "fuses",
            "loss_wh_day"
        ]
    );
    assert_eq!((&run["from"], &run["to"], &run["gauge"]), (&"C1".into(), &"BUS".into(), &"2 AWG".into()));
    assert_eq!(keys(&run["fuses"][0]), ["at", "type", "amps"]);
    let panels = json["roof"]["panels"].as_array().unwrap();
    assert_eq!(panels.len(), 8);
    assert_eq!(keys(&panels[0]), ["id", "x_m", "y_m", "shade_wh_day", "shaded_pct", "shaded_most_in", "shaded_by"]);
}

/// The same of loads, months and year, and what each total may really be.
#[test]
fn the_shape_of_the_year_is_an_interface() {
    let json = Home::new().run(&["figures", &sample("larkspur")]).json();
    assert_eq!(
        keys(&json["year"]),
        [
            "harvest_kwh",
            "harvest_months",
            "load_kwh",
            "load_is_audit_alone",
            "shortfall_days",
            "unmet_pct",
            "least_soc",
            "stored_kwh",
            "lost",
            "other_cold_kwh",
            "charging_unknown",
            "lived",
            "dull_spell",
            "hardest_spell",
            "would_serve"
        ]
    );
    assert_eq!(
        keys(&json["year"]["lost"]),
        ["array_kwh", "wire_pct", "volts_pct", "controller_pct", "bank_pct", "warmth_pct"]
    );
    let months = json["months"].as_array().unwrap();
    assert_eq!(months.len(), 12);
    let horizon = |m: usize| (months[m]["horizon_deg"].as_f64().unwrap(), months[m]["horizon_basis"].as_str());
    let trees = Some("light trees taken as 15 degrees high all round, our own assumption");
    assert_eq!((horizon(0), horizon(5)), ((0.0, None), (15.0, trees)), "open in January, trees in June");
    assert_eq!(
        keys(&months[0]),
        [
            "month",
            "place",
            "horizon_deg",
            "horizon_basis",
            "ghi_kwh_m2_day",
            "array_wh_day",
            "harvest_wh_day",
            "load_wh_day",
            "deficit_wh_day",
            "shortfall_wh_day",
            "beyond_inverter_wh_day",
            "unused_wh_day",
            "days_without_sun",
            "other_wh_day",
            "shore_wh_day",
            "other_cold_wh_day",
            "least_soc",
            "losses_wh_day",
            "limited_by",
            "spread",
            "cut_off_wh_day",
            "discharge_limit_wh_day",
            "roof_shade_wh_day",
            "stored_wh_day",
            "generator_h_day",
            "drive_h_day",
            "made_up_but_for_first_days",
            "made_up_in_h_day",
            "helps_most"
        ]
    );
    let losses = months[0]["losses_wh_day"].as_object().unwrap();
    assert_eq!(losses.len(), 8, "{losses:?}");
    assert_eq!(keys(&months[0]["limited_by"]), ["what", "wh_day"]);
}

#[test]
fn the_shape_of_the_loads_is_an_interface() {
    let json = Home::new().run(&["figures", &sample("larkspur")]).json();
    assert_eq!(
        keys(&json["loads"]),
        [
            "spread_pct",
            "summer_wh_day",
            "winter_wh_day",
            "between_wh_day",
            "year_kwh",
            "worst_day",
            "on_start_battery",
            "dc_simultaneous_w",
            "together",
            "surge"
        ]
    );
    assert_eq!(keys(&json["loads"]["winter_wh_day"]), ["usual", "least", "most"]);
    assert_eq!(keys(&json["loads"]["worst_day"]), ["month", "wh_day"]);
    assert_eq!(keys(&json["loads"]["together"]), ["month", "watts", "amps", "dc_w", "ac_w", "over_inverter"]);
    assert_eq!(keys(&json["loads"]["surge"]), ["month", "watts", "amps", "load", "over_inverter"]);
    let winter = &json["loads"]["winter_wh_day"];
    let (usual, least) = (winter["usual"].as_f64().unwrap(), winter["least"].as_f64().unwrap());
    assert!(least > 0.0 && least < usual, "{winter}");
}

/// Energy into the bank, spells, sums of the months lived in, and what would serve the load that goes short.
#[test]
fn the_year_tells_what_the_screen_does() {
    let json = Home::new().run(&["figures", &sample("larkspur")]).json();
    let months = json["months"].as_array().unwrap();
    let of_days = [31.0, 28.0, 31.0, 30.0, 31.0, 30.0, 31.0, 31.0, 30.0, 31.0, 30.0, 31.0];
    let stored = months.iter().zip(of_days).map(|(m, days)| m["stored_wh_day"].as_f64().unwrap() * days / 1000.0);
    let of_year = json["year"]["stored_kwh"].as_f64().unwrap();
    assert!((stored.sum::<f64>() - of_year).abs() < 1e-9 * of_year, "months add up to the year's {of_year} kWh");
    let spell = ["first_day", "days", "harvest_wh_day", "other_wh_day", "load_wh_day", "shortfall_wh", "least_soc"];
    assert_eq!(keys(&json["year"]["hardest_spell"]), spell);
    let lived = ["months", "days", "harvest_kwh", "load_kwh", "stored_kwh", "shortfall_days", "unmet_pct"];
    assert_eq!(keys(&json["year"]["lived"]), lived);
    assert_eq!(json["year"]["lived"]["harvest_kwh"], json["year"]["harvest_kwh"], "every month has a stay");
    let tried = json["year"]["would_serve"].as_array().unwrap();
    assert!(tried.len() >= 3 && tried.iter().all(|t| keys(t) == ["with", "kwh", "wh_day"]), "{tried:?}");
    // By hand: no fewer hours than what goes short over the amps of its DC-DC charger at 4 % over the bank's nominal volts.
    let marram = Home::new().run(&["figures", &sample("marram")]).json();
    let plan = coachwire::plan::Plan::from_text(coachwire::plan::samples::sample("marram").unwrap().text).unwrap();
    let amps = plan.chargers[0].out_a.known().unwrap().0;
    let volts = marram["bank"]["volts"].as_f64().unwrap();
    let mut seen = 0;
    for month in marram["months"].as_array().unwrap() {
        let short = month["shortfall_wh_day"].as_f64().unwrap();
        let hours = month["drive_h_day"].as_f64().unwrap();
        assert!(hours >= 0.99 * short / (amps * volts * 1.04) && (hours > 0.0) == (short >= 0.5), "{month}");
        assert!(month["generator_h_day"].is_null(), "{month}");
        assert_eq!(month["made_up_in_h_day"], "least that was tried, so many more in every month");
        seen += usize::from(short > 1.0);
    }
    assert!(seen > 0);
}

#[test]
fn set_understands_what_a_person_types_and_the_later_one_wins() {
    let home = Home::new();
    let plan = sample("larkspur");
    let gauge = |sets: &[&str]| {
        let mut arguments = vec!["figures", plan.as_str()];
        arguments.extend(sets.iter().flat_map(|s| ["--set", s]));
        let ran = home.run(&arguments);
        assert_eq!(ran.code, 0, "{}", ran.err);
        ran.json()["runs"][1]["gauge"].clone()
    };
    assert_eq!(gauge(&["runs.W2.gauge=6 AWG"]), "6 AWG");
    assert_eq!(gauge(&["runs.W2.gauge=16mm2"]), "16 mm2");
    assert_eq!(gauge(&["runs.W2.gauge=?"]), Value::Null);
    assert_eq!(gauge(&["runs.W2.gauge=8awg", "runs.W2.gauge=2/0 awg"]), "2/0 AWG");
    // A bare figure is in the unit that a change before it chose: 50 F are 10 C.
    let year = |sets: [&str; 2]| home.run(&["figures", &sample("marram"), "--set", sets[0], "--set", sets[1]]);
    let (f, c) = (["50"; 12].join(" "), ["10"; 12].join(" "));
    let bare = year(["job.temperature_unit=F", &format!("stays.ST1.mean_c={f}")]);
    assert_eq!(bare.code, 0, "{}", bare.err);
    assert_eq!(
        bare.json()["months"],
        year(["job.temperature_unit=C", &format!("stays.ST1.mean_c={c}")]).json()["months"]
    );
    year(["job.temperature_unit=F", &format!("stays.ST1.mean_c={}", f.replacen("50", "160", 1))])
        .refused(2, &["160 F is outside what is accepted: -76 F to 140 F"]);
}

#[test]
fn set_says_what_is_wrong_and_what_is_accepted() {
    let home = Home::new();
    let plan = sample("larkspur");
    let set = |set: &str| home.run(&["figures", &plan, "--set", set]);
    set("runs.W2.gauge").refused(2, &["PATH=VALUE"]);
    set("runs.W2.colour=red").refused(2, &["runs.W2.colour", "gauge"]);
    set("runs.W99.gauge=6awg").refused(2, &["runs.W99.gauge"]);
    set("runs.W2.gauge=7awg").refused(2, &["runs.W2.gauge", "sizes"]);
    set("bank.unit_ah=lots").refused(2, &["bank.unit_ah"]);
    set("bank.unit_ah=999999").refused(2, &["bank.unit_ah", "5000"]);
    set("job.basis=lunar").refused(2, &["job.basis", "US RV", "marine", "metric"]);
}

#[test]
fn standard_input_gives_the_same_figures() {
    let home = Home::new();
    let text = std::fs::read(sample("bramble")).unwrap();
    let piped = home.run_with(&["figures", "-", "--set", "runs.W2.gauge=8 AWG"], &text);
    let read = home.run(&["figures", &sample("bramble"), "--set", "runs.W2.gauge=8 AWG"]);
    assert_eq!(piped.code, 0, "{}", piped.err);
    assert_eq!(piped.out, read.out);
}

#[test]
fn a_blank_plan_has_figures_of_null() {
    let home = Home::new();
    let blank = home.file("blank.ron", b"(version: 1)");
    let ran = home.run(&["figures", &blank]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    let json = ran.json();
    assert_eq!(json["bank"]["amp_hours"], Value::Null);
    assert_eq!(json["months"][11]["harvest_wh_day"], Value::Null);
    assert_eq!(json["runs"], Value::Array(Vec::new()));
}

#[test]
fn an_unreadable_plan_is_2() {
    let home = Home::new();
    home.run(&["figures", "nowhere.ron"]).refused(2, &["nowhere.ron"]);
    home.run_with(&["figures", "-"], b"\xff\xfe").refused(2, &["standard input", "not UTF-8", "byte 1"]);
}

/// One `--set` is at once another drop, another fuse range and another harvest.
#[test]
fn a_thinner_wire_moves_drop_fuse_and_harvest() {
    let home = Home::new();
    let figures = |set: &[&str]| home.run(&[&["figures", &sample("larkspur")], set].concat()).json();
    let (thick, thin) = (figures(&[]), figures(&["--set", "runs.W2.gauge=6 AWG"]));
    let run = |json: &Value, key: &str| {
        json["runs"].as_array().unwrap().iter().find(|r| r["id"] == "W2").unwrap()[key].as_f64().unwrap()
    };
    assert!(run(&thin, "drop_v") > 1.2 * run(&thick, "drop_v"));
    assert!(run(&thin, "fuse_max_a") < run(&thick, "fuse_max_a"));
    assert!(run(&thin, "loss_wh_day") > run(&thick, "loss_wh_day"));
    assert!(thin["year"]["harvest_kwh"].as_f64() < thick["year"]["harvest_kwh"].as_f64());
}

/// In a month in which load goes short the limit is what serves most of it, as the year's page has it.
#[test]
fn what_limits_a_month_is_what_helps_it_most() {
    let mut seen = std::collections::BTreeSet::new();
    for ah in ["bank.unit_ah=25", "bank.unit_ah=400"] {
        let json = Home::new().run(&["figures", &sample("larkspur"), "--set", ah, "--set", "bank.parallel=1"]).json();
        let months = json["months"].as_array().unwrap();
        for (m, month) in months.iter().enumerate().filter(|(_, month)| !month["helps_most"].is_null()) {
            let (helps, limit) = (&month["helps_most"], &month["limited_by"]);
            let serves =
                json["year"]["would_serve"].as_array().unwrap().iter().map(|r| r["wh_day"][m].as_f64().unwrap());
            assert_eq!(serves.fold(0.0, f64::max), limit["wh_day"].as_f64().unwrap(), "{month}");
            let what = match helps["with"].as_str().unwrap() {
                "twice the batteries" if month["unused_wh_day"].as_f64() < month["shortfall_wh_day"].as_f64() => {
                    "batteries"
                }
                "twice the batteries" => "bank full",
                with if with.starts_with("one string more") => "sun",
                _ => continue,
            };
            assert_eq!(limit["what"], what, "{helps}");
            seen.insert(what);
        }
    }
    assert!(seen.contains("bank full") && seen.contains("sun"), "both are among them: {seen:?}");
    // Twice the batteries serve what a string more does, and the full bank turns away more than that.
    let json = Home::new().run(&["figures", &sample("larkspur")]).json();
    for m in [5, 7, 8] {
        let (month, served) = (&json["months"][m], &json["year"]["would_serve"]);
        assert_eq!(served[0]["wh_day"][m], served[2]["wh_day"][m], "{served}");
        let said = (&month["limited_by"]["what"], &month["helps_most"]["with"]);
        assert_eq!((said.0.as_str(), said.1.as_str()), (Some("bank full"), Some("twice the batteries")), "{month}");
        let string = month["helps_most"]["as_much"][0].as_str().unwrap();
        assert!(string.starts_with("one string more on"), "{month}");
        assert!(month["unused_wh_day"].as_f64() > month["shortfall_wh_day"].as_f64(), "{month}");
    }
}
