//! Sentences in the plan's units.

use coachwire::plan::entry::{Units, said};
use coachwire::plan::job::{GaugeSystem, LengthUnit, TemperatureUnit};

const US: Units = Units { gauge: GaugeSystem::Awg, length: LengthUnit::Feet, temperature: TemperatureUnit::Fahrenheit };

/// The inch is 25.4 mm, the pound 0.45359237 kg, its force 4.4482216 N (NIST SP 811); F = 1.8 C + 32.
#[test]
fn american_plans_read_feet_inches_pounds_and_fahrenheit() {
    for (text, exact, read) in [
        ("air down to -12 C", &[][..], "air down to 10 F"),
        ("air down to -12 C", &[-12.4], "air down to 10 F"),
        (
            "its fuse sits 4.57 m of wire from BK, at most 0.46 m",
            &[4.572, 0.4572],
            "its fuse sits 15' of wire from BK, at most 18\"",
        ),
        ("at most 0.18 m", &[0.1778], "at most 7\""),
        ("BK: 305 mm high, the space has 279 mm", &[304.8, 279.4], "BK: 12\" high, the space has 11\""),
        ("the job adds 100 kg", &[], "the job adds 220 lb"),
        // 1.0 m2 at 75 mph, Cp 1.2, 30 % of it at the worst foot: 186 and 55.8 lbf.
        (
            "the stream pulls 827 N at a panel and 248 N at its worst foot",
            &[0.0, 248.1, 827.0],
            "the stream pulls 186 lbf at a panel and 55.8 lbf at its worst foot",
        ),
        ("works from 40 to 50 C", &[], "works from 104 to 122 F"),
        ("0.5 to 1.5 m", &[], "19.7\" to 4.92'"),
    ] {
        let got = said(US, text, exact);
        assert_eq!(got, read, "{text}");
    }
}

#[test]
fn what_is_printed_on_the_jacket_stays_in_celsius() {
    for text in ["insulation of 90 C", "terminals 75 C", "the 105 C column"] {
        assert_eq!(said(US, text, &[]), text);
    }
}

#[test]
fn names_sections_and_ratios_are_left_alone() {
    for text in [
        "33 CFR 183.425 Table 5",
        "W12: fuse F1 of 400 A",
        "knows nothing at 78.2N, 15.6E",
        "L1 mm",
        "NEC 690.7(A)",
        "ISO 8820-5 SF30",
        "2000 W at C/20",
        "-30 mV per K of temperature compensation",
        "67.4 mm2",
        "3/8 m",
        "10 AWG",
        "",
    ] {
        assert_eq!(said(US, text, &[]), text);
    }
}

#[test]
fn metric_plans_keep_theirs_and_nothing_has_more_than_four_digits() {
    for (text, read) in [
        ("at most 0.46 m at -12 C", "at most 0.46 m at -12 C"),
        ("draws 12667 A", "draws 12670 A"),
        ("20000 A is assumed", "20000 A is assumed"),
        ("189.437 A may flow", "189.4 A may flow"),
        ("1234.56 Wh", "1235 Wh"),
    ] {
        assert_eq!(said(Units::STORED, text, &[]), read);
    }
}
