//! What each rule basis cites for one and the same question.

use super::ampacity::CFR_183_425;
use super::kinds::Basis;
use super::source::{COMMON_PRACTICE, Source, Standing};

/// One question's document in each body of rules.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Cited {
    us_rv: &'static Source,
    marine: &'static Source,
    metric: &'static Source,
}

impl Cited {
    /// The document that answers under a basis.
    #[must_use]
    pub fn of(&self, basis: Basis) -> &'static Source {
        match basis {
            Basis::UsRv => self.us_rv,
            Basis::Marine => self.marine,
            Basis::Metric => self.metric,
        }
    }
}

/// Source: what careful technicians do.
static PRACTICE: Source = COMMON_PRACTICE;
/// Source: the sheet that comes with the device.
static SHEET: Source = Source::new("the equipment's instructions", "", Standing::Verified);

/// What a field's help cites under a basis: a field that a rule of coaches stands behind has the rule of its own basis;
/// whatever else is cited is the same everywhere.
///
/// Source: as the documents named.
#[must_use]
pub fn of_field(source: &'static Source, basis: Basis) -> &'static Source {
    match (source.document, source.place) {
        ("NEC", "310.15") => AMPACITY.of(basis),
        ("NEC", "552.10(E)") => FUSE_PLACE.of(basis),
        ("NEC", "690.7(A)") => PV_VOLTS.of(basis),
        _ => source,
    }
}

/// How much a conductor carries where it lies.
/// Source: NEC 310.15; 33 CFR 183.425 Table 5, for metric sizes between its rows.
pub static AMPACITY: Cited = Cited { us_rv: &NEC_310_15, marine: &CFR_183_425, metric: &CFR_BETWEEN };
static NEC_310_15: Source = Source::new("NEC", "310.15", Standing::Verified);
static CFR_BETWEEN: Source = Source::new("33 CFR 183.425", "Table 5 by copper area", Standing::Computed);

/// Conductors that share a current.
/// Source: NEC 310.10; for boats and metric work no clause is known.
pub static PARALLEL: Cited = Cited { us_rv: &super::ampacity::NEC_310_10, marine: &THICK, metric: &THICK };
static THICK: Source = Source::new("common practice", "in parallel from 50 mm2 (1/0 AWG) on", Standing::CommonPractice);

/// PV conductors before their factors.
/// Source: NEC 690.8(B); for boats and metric work no clause with a second 1.25 is known.
pub static PV_CONDUCTOR: Cited = Cited { us_rv: &NEC_690_8, marine: &PRACTICE, metric: &PRACTICE };
static NEC_690_8: Source = Source::new("NEC", "690.8(B)", Standing::Verified);

/// The current of an array over its short-circuit current.
/// Source: NEC 690.8(A)(1); IEC 62548, 1.25 x Isc, from memory; for boats taken over from RV rules.
pub static PV_CURRENT: Cited = Cited { us_rv: &NEC_690_8_A, marine: &FROM_RV, metric: &IEC_62548_CURRENT };
static NEC_690_8_A: Source = Source::new("NEC", "690.8(A)(1)", Standing::Verified);
static IEC_62548_CURRENT: Source = Source::new("IEC 62548", "1.25 x Isc", Standing::FromMemory);
static FROM_RV: Source = Source::new("common practice", "taken over from RV rules", Standing::CommonPractice);

/// The rating of a string fuse over short-circuit current.
/// Source: NEC 690.8 and 690.9(B), 1.25 twice; for boats and metric work taken over, IEC 62548 asks for 1.5, from memory.
pub static STRING_FACTOR: Cited = Cited { us_rv: &NEC_1_56, marine: &FROM_RV, metric: &FROM_RV };
static NEC_1_56: Source = Source::new("NEC", "690.8, 690.9(B)", Standing::Verified);

/// A conductor that carries what flows in it.
/// Source: NEC 215.2(A), from memory; 33 CFR 183.425(a), no more than its table; for metric work common practice.
pub static AMPACITY_USE: Cited = Cited { us_rv: &NEC_FEEDER, marine: &CFR_AT_MOST, metric: &PRACTICE };
static NEC_FEEDER: Source = Source::new("NEC", "215.2(A); PV 690.8(B)(2)", Standing::FromMemory);
static CFR_AT_MOST: Source = Source::new("33 CFR 183.425", "(a), no more than Table 5", Standing::FromMemory);

/// The next standard rating above an ampacity.
/// Source: NEC 240.4(B); ABYC E-11 from memory; for metric work no clause is known.
pub static NEXT_RATING: Cited =
    Cited { us_rv: &super::small_wire::NEC_240_4_B, marine: &ABYC_NEXT, metric: &METRIC_NEXT };
static ABYC_NEXT: Source = Source::new("ABYC E-11", "next larger standard rating", Standing::FromMemory);
static METRIC_NEXT: Source =
    Source::new("common practice", "next standard rating, rule next-rating-up", Standing::CommonPractice);

/// A fuse near every source.
/// Source: NEC 552.10(E); 33 CFR 183.455; ISO 10133, 200 mm, from memory.
pub static FUSE_PLACE: Cited = Cited { us_rv: &NEC_552_10, marine: &CFR_183_455, metric: &ISO_10133 };
static NEC_552_10: Source = Source::new("NEC", "552.10(E)", Standing::Verified);
static CFR_183_455: Source = Source::new("33 CFR", "183.455", Standing::Verified);
static ISO_10133: Source = Source::new("ISO 10133", "200 mm", Standing::FromMemory);

/// That a fuse panel is made for what the fuse ahead of it lets through.
/// Source: NEC 408.36, panelboards behind a device of no more than their rating, from memory; the panel's own label.
pub static PANEL_FUSE: Cited = Cited { us_rv: &NEC_408_36, marine: &SHEET, metric: &SHEET };
static NEC_408_36: Source = Source::new("NEC", "408.36; the panel's rating", Standing::FromMemory);

/// That a switch, a bar or a splice is made for what the fuse that guards it lets through.
/// Source: what careful technicians do: a fuse keeps everything behind it within its rating, not the wire alone.
pub static DEVICE_FUSE: Source =
    Source::new("common practice", "no fuse above what it guards is rated for", Standing::CommonPractice);

/// That plus and negative are joined nowhere.
/// Source: NEC 110.7, wiring is free from short circuits; from memory.
pub static NO_SHORT: Cited = Cited { us_rv: &NEC_110_7, marine: &PRACTICE, metric: &PRACTICE };
static NEC_110_7: Source = Source::new("NEC", "110.7, free from short circuits", Standing::FromMemory);

/// A device held to what its maker writes: fuse ahead of it, amps through it.
/// Source: NEC 110.3(B): equipment is used as its instructions say; elsewhere the instructions themselves.
pub static INSTRUCTIONS: Cited = Cited { us_rv: &NEC_110_3, marine: &SHEET, metric: &SHEET };
static NEC_110_3: Source = Source::new("NEC", "110.3(B), the equipment's instructions", Standing::FromMemory);

/// A fuse over a current that flows for hours, battery side.
/// Source: NEC 210.20(A), 215.3: 125 % of continuous load, from memory; elsewhere common practice.
pub static FUSE_LOADING: Cited = Cited { us_rv: &NEC_CONTINUOUS, marine: &LOADING, metric: &LOADING };
static NEC_CONTINUOUS: Source = Source::new("NEC", "210.20(A), 215.3, 125 % of continuous load", Standing::FromMemory);
static LOADING: Source = Source::new("common practice", "fuses loaded to 80 %", Standing::CommonPractice);

/// The same on a PV circuit.
/// Source: NEC 690.9(B); elsewhere common practice.
pub static PV_FUSE_LOADING: Cited = Cited { us_rv: &NEC_690_9_B, marine: &LOADING, metric: &LOADING };
static NEC_690_9_B: Source = Source::new("NEC", "690.9(B), 80 % loading", Standing::Verified);

/// DC volts of a device against those of its circuit, battery side.
/// Source: NEC 110.4: rated no lower than the circuit, from memory; elsewhere the device's own rating.
pub static DC_VOLTS: Cited = Cited { us_rv: &NEC_110_4, marine: &SHEET, metric: &SHEET };
static NEC_110_4: Source = Source::new("NEC", "110.4, rated for its circuit's volts", Standing::FromMemory);

/// The same on a PV circuit.
/// Source: NEC 690.7(A); IEC 62548, maximum array volts, from memory; for boats the device's own rating.
pub static PV_VOLTS: Cited = Cited { us_rv: &NEC_690_7, marine: &SHEET, metric: &IEC_62548_VOLTS };
static NEC_690_7: Source = Source::new("NEC", "690.7(A)", Standing::Verified);
static IEC_62548_VOLTS: Source = Source::new("IEC 62548", "maximum array volts", Standing::FromMemory);

/// Interrupt rating against the fault; the margin over it is common practice everywhere.
/// Source: NEC 110.9, from memory; ABYC E-11, interrupting capacity; for metric work no clause is known.
pub static INTERRUPT: Cited = Cited { us_rv: &NEC_110_9, marine: &ABYC_INTERRUPT, metric: &PRACTICE };
static NEC_110_9: Source = Source::new("NEC", "110.9; the margin is common practice", Standing::FromMemory);
static ABYC_INTERRUPT: Source =
    Source::new("ABYC E-11", "interrupting capacity; the margin is common practice", Standing::FromMemory);

/// Fuses in strings that are in parallel.
/// Source: NEC 690.9(A) and IEC 62548, from memory; for boats the maximum series fuse on the panel's label.
pub static STRING_FUSE: Cited = Cited { us_rv: &NEC_690_9_A, marine: &PANEL_LABEL, metric: &IEC_62548_FUSE };
static NEC_690_9_A: Source = Source::new("NEC", "690.9(A)", Standing::FromMemory);
static PANEL_LABEL: Source = Source::new("the panel's label", "maximum series fuse", Standing::Verified);
static IEC_62548_FUSE: Source = Source::new("IEC 62548", "string overcurrent protection", Standing::FromMemory);

/// Volts from which a circuit can shock.
/// Source: NEC 480 and 706, IEC 60364-4-41, 60 V DC, from memory; for boats common practice.
pub static SHOCK: Cited = Cited { us_rv: &NEC_SHOCK, marine: &SHOCK_PRACTICE, metric: &IEC_SHOCK };
static NEC_SHOCK: Source = Source::new("NEC", "480/706, 60 V DC", Standing::FromMemory);
static SHOCK_PRACTICE: Source = Source::new("common practice", "60 V DC", Standing::CommonPractice);
static IEC_SHOCK: Source = Source::new("IEC 60364-4-41", "60 V DC", Standing::FromMemory);

/// Venting of batteries that gas.
/// Source: NEC 552.10(D); 33 CFR 183.420 and IEC 62485-2, from memory.
pub static VENT: Cited = Cited { us_rv: &NEC_VENT, marine: &CFR_VENT, metric: &IEC_VENT };
static NEC_VENT: Source = Source::new("NEC", "552.10(D)", Standing::Verified);
static CFR_VENT: Source = Source::new("33 CFR", "183.420, hydrogen vented", Standing::FromMemory);
static IEC_VENT: Source = Source::new("IEC 62485-2", "ventilation", Standing::FromMemory);

/// The least area of each vent, whatever the batteries.
/// Source: NEC 552.10(D), 1.7 in2; for boats and metric work no figure is known, and that one is taken over.
pub static VENT_LEAST: Cited = Cited { us_rv: &NEC_VENT_LEAST, marine: &LEAST_VENT, metric: &LEAST_VENT };
static NEC_VENT_LEAST: Source = Source::new("NEC", "552.10(D), 1.7 in2 each", Standing::Verified);
static LEAST_VENT: Source =
    Source::new("common practice", "1100 mm2 each, taken over from RV rules", Standing::CommonPractice);

/// The area of each vent for the gas of the batteries, under every basis: the only formula that is known.
/// Source: IEC 62485-2, A = 28 Q, Q = 0.05 n I C/1000, from memory.
pub static VENT_FLOW: Source = Source::new("IEC 62485-2", "28 x 0.05 n I C/1000 cm2 each", Standing::FromMemory);

/// Gear that sparks beside batteries that gas.
/// Source: NEC 552.10(D); IEC 62485-2, from memory; for boats common practice.
pub static SPARKS: Cited = Cited { us_rv: &NEC_VENT, marine: &PRACTICE, metric: &IEC_SPARKS };
static IEC_SPARKS: Source = Source::new("IEC 62485-2", "distance to sparks", Standing::FromMemory);

/// The locker of the gas bottles.
/// Source: NFPA 1192, ABYC A-1, EN 1949, all from memory.
pub static GAS_LOCKER: Cited = Cited { us_rv: &NFPA_LOCKER, marine: &ABYC_LOCKER, metric: &EN_LOCKER };
static NFPA_LOCKER: Source = Source::new("NFPA 1192", "gas container compartments", Standing::FromMemory);
static ABYC_LOCKER: Source = Source::new("ABYC A-1", "gas lockers", Standing::FromMemory);
static EN_LOCKER: Source = Source::new("EN 1949", "gas compartments", Standing::FromMemory);

/// Brakes of a trailer that breaks away.
/// Source: 49 CFR 393.43(d), from memory, a road law of the United States; metric plans: no clause is known.
pub static BREAKAWAY: Cited = Cited { us_rv: &BRAKES, marine: &BRAKES, metric: &PRACTICE };
static BRAKES: Source = Source::new("49 CFR", "393.43(d), brakes held 15 min", Standing::FromMemory);

/// Detectors of gas.
/// Source: NFPA 1192, ABYC A-14, EN 50194-2, all from memory.
pub static GAS_DETECTOR: Cited = Cited { us_rv: &NFPA_GAS, marine: &ABYC_GAS, metric: &EN_GAS };
static NFPA_GAS: Source = Source::new("NFPA 1192", "gas detectors", Standing::FromMemory);
static ABYC_GAS: Source = Source::new("ABYC A-14", "gas detectors", Standing::FromMemory);
static EN_GAS: Source = Source::new("EN 50194-2", "gas detectors in vehicles", Standing::FromMemory);

/// Detectors of carbon monoxide.
/// Source: NFPA 1192, ABYC A-24, EN 50291-2, all from memory.
pub static CO_DETECTOR: Cited = Cited { us_rv: &NFPA_CO, marine: &ABYC_CO, metric: &EN_CO };
static NFPA_CO: Source = Source::new("NFPA 1192", "carbon monoxide detectors", Standing::FromMemory);
static ABYC_CO: Source = Source::new("ABYC A-24", "carbon monoxide detectors", Standing::FromMemory);
static EN_CO: Source = Source::new("EN 50291-2", "carbon monoxide detectors in vehicles", Standing::FromMemory);

/// The bond of the negative to the chassis.
/// Source: NEC 552.10(C)(4); elsewhere common practice.
pub static BOND: Cited = Cited { us_rv: &NEC_BOND, marine: &BOND_PRACTICE, metric: &BOND_PRACTICE };
static NEC_BOND: Source = Source::new("NEC", "552.10(C)(4)", Standing::Verified);
static BOND_PRACTICE: Source =
    Source::new("common practice", "as thick as the largest battery lead", Standing::CommonPractice);
