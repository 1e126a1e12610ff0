//! The wire schedule: every run with its legs, currents, drop, fuses, and how what it carries comes about.

use crate::engine::report::RunFigures;
use crate::engine::worked::LegWork;
use crate::engine::{Bearing, Changed, Part, Rules, legs_worked};
use crate::plan::entry::Units;
use crate::plan::wiring::{FuseAt, Resets, Return};
use crate::plan::{FieldPath, Figure, Id, Known, Leg, Missing, Plan, Protection, Run};
use crate::standards::kinds::Metal;
use crate::wording::lines::wrap;
use crate::wording::links::links;
use crate::wording::number::{UNKNOWN, figure, fixed, num, temperature};
use crate::wording::parts::small_parts;
use crate::wording::run::{
    air, bundle, current, currents, ends, fuse_end, fuse_fault, fuse_fits, leg_sums, path_pct, path_place, terminals,
    waiting, wants_none, word,
};
use crate::wording::{naming, told};

use super::Matter;
use super::sheet::{field, head, heading, joined, rule_said, sign, signed};

const TITLE: &str = "WIRES: the wire schedule";
const WORDS: &str = "Lengths are one way, along the route. The design current is the largest that flows for hours: fuses and \
                     ampacity go by it. The working current is what flows at the working point: drop goes by that. A path \
                     is judged from source to load, all its runs together. ? is a value that nobody has entered, or that \
                     waits for one.";

/// The paper.
pub(super) fn text(matter: &Matter<'_>) -> String {
    let Matter { plan, report, .. } = *matter;
    let mut out = String::new();
    head(&mut out, matter, TITLE, "see checks");
    out.push('\n');
    wrap(&mut out, "", WORDS);
    if plan.runs.is_empty() {
        out.push('\n');
        wrap(&mut out, "", "The plan has no wiring runs.");
    }
    let signed = signed(matter);
    let worked = legs_worked(plan);
    for (i, (run, legs)) in plan.runs.iter().zip(&worked).enumerate() {
        let one = One { matter, signed: &signed, index: i, run, figures: report.runs.get(i) };
        one.print(&mut out, legs);
    }
    let links = links(plan, report);
    if !links.is_empty() {
        heading(&mut out, "BK links between its batteries");
        links.iter().for_each(|said| say(&mut out, "", said));
    }
    let small = small_parts(plan);
    if !small.is_empty() {
        heading(&mut out, "SMALL PARTS, BY THE DRAWING");
        small.iter().for_each(|said| wrap(&mut out, "  ", said));
        wrap(&mut out, "  ", "counted by common practice; ties, loom, screws and labels are not");
    }
    if !signed.is_empty() {
        heading(&mut out, "CHANGED RULE VALUES THAT BEAR ON FIGURES OF THIS SHEET");
        for (n, (_, changed)) in signed.iter().enumerate() {
            wrap(&mut out, &format!("{:<4}", sign(n)), &rule_said(plan, changed));
        }
    }
    out.push('\n');
    wrap(&mut out, "", told::CAUTION);
    out
}

/// Columns of a label before its text.
const LABEL: usize = 12;

/// A labelled line of a run; nothing where there is nothing to say.
fn say(out: &mut String, label: &str, text: &str) {
    if !text.is_empty() {
        wrap(out, &format!("  {label:<width$}", width = LABEL - 2), text);
    }
}

/// A run on the sheet.
struct One<'a> {
    matter: &'a Matter<'a>,
    signed: &'a [(&'a Bearing, Changed<'a>)],
    index: usize,
    run: &'a Run,
    figures: Option<&'a RunFigures>,
}

impl One<'_> {
    fn plan(&self) -> &Plan {
        self.matter.plan
    }

    fn print(&self, out: &mut String, legs: &[(Id, Figure<LegWork>)]) {
        let (from, to) = ends(self.run);
        heading(out, &format!("{} {from} > {to}", self.run.id));
        say(out, "return", &self.way_back());
        self.legs(out, legs);
        let Some(f) = self.figures else { return };
        self.print_currents(out, f);
        self.print_drop(out, f);
        self.print_fuses(out, f);
        say(out, "found", &self.found());
        say(out, "waits for", &self.waits(f, legs));
        say(out, "changed", &self.changed());
    }

    /// The signs of the changed rule values that bear on a figure, with a space before each.
    fn signs(&self, parts: &[Part]) -> String {
        let bears = |(bearing, _): &(&Bearing, Changed<'_>)| {
            bearing.runs.get(self.index).is_some_and(|all| all.iter().any(|part| parts.contains(part)))
        };
        let signs = self.signed.iter().enumerate().filter(|(_, each)| bears(each));
        signs.map(|(n, _)| format!(" {}", sign(n))).collect()
    }

    /// The foot line of a run with signs in it.
    fn changed(&self) -> String {
        let bears = |b: &Bearing| b.runs.get(self.index).is_some_and(|parts| !parts.is_empty());
        let all = self.signed.iter().enumerate().filter(|(_, (b, _))| bears(b));
        let said: Vec<String> = all.map(|(n, (b, _))| format!("{} {}", sign(n), b.rule.id)).collect();
        if said.is_empty() {
            String::new()
        } else {
            format!("{}: rule values of this plan, see the foot", said.join(", "))
        }
    }

    fn way_back(&self) -> String {
        let run = self.run;
        let way = match run.return_path {
            Return::Pair => "a conductor beside it",
            Return::Chassis => "the chassis",
            Return::None if self.figures.is_some_and(|f| f.is_minus) => "none: it is of the negative",
            Return::None => "none of its own",
        };
        let end = |what: &str, end: &Option<Known<Id>>| {
            end.as_ref().map_or_else(String::new, |end| format!("negative {what} {}", word(end)))
        };
        let of = |key: &str, what: &str| match field(self.plan(), run, key) {
            text if text.is_empty() => text,
            text => format!("{what} {text}"),
        };
        joined([
            way.into(),
            end("from", &run.negative_from),
            end("to", &run.negative_to),
            of("negative_length_m", "length of the negative"),
            of("measured_ohm", "loop measured at"),
        ])
    }

    fn legs(&self, out: &mut String, worked: &[(Id, Figure<LegWork>)]) {
        if self.run.legs.is_empty() {
            say(out, "leg", "none entered: length ?, gauge ?");
        }
        // Only what stays is worked, in the same order.
        let mut works = worked.iter().enumerate();
        for leg in &self.run.legs {
            let work = if leg.state.stays() { works.next() } else { None };
            let signs = work.map_or_else(String::new, |(n, _)| self.signs(&[Part::Leg(n)]));
            let said = self.leg(leg, work.and_then(|(_, (_, work))| work.as_ref().ok()));
            say(out, "leg", &format!("{said}{signs}"));
            match work.map(|(_, (_, work))| work) {
                None => {}
                Some(Ok(work)) => {
                    for sum in leg_sums(self.plan(), work) {
                        let signs = if sum.starts_with("carries ") { signs.as_str() } else { "" };
                        say(out, "", &format!("{sum}{signs}"));
                    }
                }
                Some(Err(waits)) => say(out, "", &format!("carries ?: {}", waiting(self.plan(), waits))),
            }
        }
    }

    /// A leg as it is entered, its air and bundle as they are counted.
    fn leg(&self, leg: &Leg, work: Option<&LegWork>) -> String {
        let plan = self.plan();
        let of = |key: &str| field(plan, leg, key);
        let with = |key: &str, what: &str| match of(key) {
            text if text.is_empty() => text,
            text => format!("{what} {text}"),
        };
        let metal = match leg.metal {
            Metal::Plain => "plain copper",
            Metal::Tinned => "tinned copper",
            Metal::CopperClad => "copper-clad aluminium",
        };
        let gauge = word(leg.gauge.as_ref().unwrap_or(&self.run.gauge));
        let per_pole = if of("per_pole") == "1" { String::new() } else { format!("{} per pole", of("per_pole")) };
        let zone = leg.zone.known().map_or("zone ?", |zone| zone.word());
        let air = work.map_or_else(|| self.air_entered(leg), |work| air(plan, work));
        let bundle = work.map_or_else(|| format!("{} bundled", of("bundled")), bundle);
        let said = joined([
            zone.into(),
            of("length_m"),
            format!("{gauge} {metal} to {}", leg.standard),
            per_pole,
            with("insulation_c", "insulation"),
            air,
            leg.laid_words().into(),
            bundle,
            work.map_or_else(String::new, terminals),
            with("extra_mohm", "extra"),
            with("pv_connectors", "PV connectors"),
            leg.state.to_string(),
        ]);
        format!("{}: {said}", leg.id)
    }

    /// The air of a leg that is not worked: as entered, or its zone's.
    fn air_entered(&self, leg: &Leg) -> String {
        let own = field(self.plan(), leg, "ambient_c");
        match (own.as_str(), leg.zone.known()) {
            ("", Some(zone)) => {
                let c = Rules::of(self.plan()).ambient(*zone);
                format!("air {} (its zone's)", temperature(Units::of(self.plan()), c))
            }
            ("", None) => "air ?".into(),
            (own, _) => format!("air {own} (as entered)"),
        }
    }

    fn print_currents(&self, out: &mut String, f: &RunFigures) {
        let [design, working] = currents(f);
        say(out, "currents", &format!("{design}{}", self.signs(&[Part::Design])));
        say(out, "", &format!("{working}{}", self.signs(&[Part::Working])));
        let run = self.run;
        if run.design_override_a.is_some() || run.drop_override_a.is_some() {
            let reason = run.override_reason.trim();
            let reason = if reason.is_empty() { "no reason given" } else { reason };
            say(out, "", &format!("entered in place of what is computed: {reason}"));
        }
        let leg = f.weakest_leg.as_ref().map_or_else(String::new, |leg| format!(" in leg {leg}, its weakest"));
        let governs = if f.governs.is_empty() { String::new() } else { format!(", governed by {}", f.governs) };
        let signs = self.signs(&[Part::Ampacity]);
        say(out, "ampacity", &format!("{}{leg}{governs}{signs}", current(&f.ampacity_a)));
    }

    fn print_drop(&self, out: &mut String, f: &RunFigures) {
        let plan = self.plan();
        let base = figure(&f.base_v, |v| format!("{} V", num(v.0)));
        let own = format!(
            "this run {}, {} % of {base} ({}); wire at {}{}",
            figure(&f.drop_v, |v| format!("{} V", fixed(v.0, 2))),
            figure(&f.drop_pct, |p| fixed(*p, 2)),
            self.base(f),
            figure(&f.wire_c, |c| temperature(Units::of(plan), c.0)),
            self.signs(&[Part::Drop])
        );
        say(out, "drop", &own);
        if f.path.is_empty() {
            return say(out, "", "no path is judged over it");
        }
        let runs: Vec<&str> = f.path.iter().map(Id::as_str).collect();
        let place = path_place(plan, f).map_or_else(String::new, |place| format!(" {place}"));
        let target = match f.target_pct {
            Some(target) => {
                let over =
                    if f.path_drop_pct.as_ref().is_ok_and(|pct| *pct > target) { ", which it is over" } else { "" };
                format!("target {} %{}{over}", num(target), self.signs(&[Part::Target]))
            }
            None => "no target".into(),
        };
        let path = format!(
            "its path{place} over {}: {}, {} % of {base}{}; {target}",
            runs.join(" "),
            figure(&f.path_drop_v, |v| format!("{} V", fixed(v.0, 2))),
            path_pct(f),
            self.signs(&[Part::Path])
        );
        say(out, "", &path);
    }

    /// What percentages are of.
    fn base(&self, f: &RunFigures) -> &'static str {
        let (plan, report) = (self.plan(), self.matter.report);
        let is_array = |id: &Id| plan.arrays.iter().any(|a| a.id == *id);
        let of_string = match &f.path_end {
            Some(end) => is_array(end),
            None => [&self.run.from, &self.run.to].into_iter().any(|end| end.known().is_some_and(is_array)),
        };
        match (&f.base_v, &report.bank.volts) {
            _ if of_string => "the string's Vmp at STC",
            (Ok(base), Ok(bank)) if (base.0 - bank.0).abs() > 0.1 * bank.0 => "its circuit's nominal volts",
            _ => "the bank's nominal volts",
        }
    }

    fn print_fuses(&self, out: &mut String, f: &RunFigures) {
        let plan = self.plan();
        let wants_none = wants_none(self.matter.report, f);
        if self.run.protection.is_empty() {
            say(out, "fuse", if wants_none { "none, and no check that ran asks for one here" } else { "none" });
        }
        for fuse in &self.run.protection {
            say(out, "fuse", &self.fuse(fuse));
            let found = f.fuses.iter().position(|figures| figures.id == fuse.id).filter(|_| fuse.state.stays());
            if let Some((n, figures)) = found.and_then(|n| Some((n, f.fuses.get(n)?))) {
                let signs = self.signs(&[Part::Fault(n)]);
                say(out, "", &format!("{}{signs}", fuse_fault(plan, f.id.as_str(), figures)));
            }
        }
        if wants_none {
            return;
        }
        let signs = self.signs(&[Part::Fits]);
        for (n, fits) in fuse_fits(plan, self.matter.report, f).iter().enumerate() {
            say(out, if n == 0 { "fits" } else { "" }, &format!("{fits}{signs}"));
        }
    }

    /// A fuse by its type and rating, and where it sits.
    fn fuse(&self, fuse: &Protection) -> String {
        let of = |key: &str| field(self.plan(), fuse, key);
        let with = |key: &str, before: &str, after: &str| match of(key) {
            text if text.is_empty() => text,
            text => format!("{before}{text}{after}"),
        };
        let place = match fuse.at {
            FuseAt::From => fuse_end(self.plan(), self.run.id.as_str(), true),
            FuseAt::To => fuse_end(self.plan(), self.run.id.as_str(), false),
            FuseAt::Leg => format!("at leg {}", fuse.leg.as_ref().map_or_else(|| UNKNOWN.into(), word)),
        };
        let resets = match fuse.resets {
            Resets::No => "",
            Resets::Manual => "reset by hand",
            Resets::Automatic => "resets by itself",
        };
        let said = joined([
            format!("{} {}", of("amps_a").replace('?', "? A"), word(&fuse.family)),
            place,
            with("distance_m", "", " of wire from the terminal"),
            format!("in the {}", fuse.pole),
            with("volts_dc_v", "made for ", " DC"),
            with("interrupt_a", "interrupts ", ""),
            resets.into(),
            fuse.state.to_string(),
        ]);
        format!("{}: {said}", fuse.id)
    }

    /// What the checks found about it, by name: the sentences stand on their own paper.
    fn found(&self) -> String {
        let item = FieldPath::from("runs").join(&self.run.id);
        let own = self.matter.report.findings.iter().filter(|f| f.subject.is_within(&item));
        let said: Vec<String> = own
            .map(|f| {
                let accepted = if f.accepted.is_some() { " (accepted)" } else { "" };
                format!("{} {}{accepted}", f.level, f.check.id)
            })
            .collect();
        match (said.as_slice(), self.signs(&[Part::Found])) {
            ([], signs) if signs.is_empty() => String::new(),
            ([], signs) => format!("nothing by the checks that ran{signs}"),
            (said, signs) => format!("{}: see checks{signs}", said.join(", ")),
        }
    }

    /// The fields that its figures wait for, each once.
    fn waits(&self, f: &RunFigures, legs: &[(Id, Figure<LegWork>)]) -> String {
        let mut all: Vec<String> = Vec::new();
        let mut add = |waits: Option<&Missing>| {
            let Some(Missing(at)) = waits.filter(|waits| !waits.0.as_str().is_empty()) else { return };
            let said = format!("{} ({at})", naming::path(self.plan(), at));
            if !all.contains(&said) {
                all.push(said);
            }
        };
        add(f.design_a.as_ref().err());
        add(f.drop_at_a.as_ref().err());
        add(f.drop_v.as_ref().err());
        add(f.path_drop_v.as_ref().err());
        add(f.ampacity_a.as_ref().err());
        add(f.fuse_max_a.as_ref().err());
        legs.iter().for_each(|(_, work)| add(work.as_ref().err()));
        all.join(", ")
    }
}
