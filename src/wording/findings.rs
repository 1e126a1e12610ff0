//! What the checks say, as screen, `check` and papers print it: grouped by level, then by place in the coach.

use crate::arrange::Arrange;
use crate::engine::report::NotChecked;
use crate::engine::{Finding, Level, Report, accepted_as};
use crate::plan::entry::{self, Units};
use crate::plan::{BANK_ID, FieldPath, Id, Kind, Known, Leg, Plan, Record, Value};
use crate::standards::kinds::Zone;

use super::naming;

/// What findings are grouped by first, worst first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Group {
    Found(Level),
    /// A safety check that waits for a value.
    NotChecked,
    /// Other checks that wait for one.
    Waiting,
    /// Values that nobody has entered.
    Unknown,
}

impl Group {
    /// Every group, worst first.
    pub const ALL: [Self; 6] = [
        Self::Found(Level::Stop),
        Self::Found(Level::Caution),
        Self::Found(Level::Note),
        Self::NotChecked,
        Self::Waiting,
        Self::Unknown,
    ];

    /// Its heading: `STOP 2 and 1 accepted: do not build it like this`.
    #[must_use]
    pub fn heading(self, count: Count) -> String {
        let is_one = count.open == 1;
        match self {
            Self::Found(Level::Stop) => format!("STOP {count}: do not build it like this"),
            Self::Found(Level::Caution) => format!("CAUTION {count}: look again"),
            Self::Found(Level::Note) => format!("NOTE {count}: worth knowing"),
            Self::NotChecked if is_one => format!("NOT CHECKED {count}: a safety check waits for a value"),
            Self::NotChecked => format!("NOT CHECKED {count}: safety checks that wait for a value"),
            Self::Waiting if is_one => format!("WAITING {count}: another check that waits for a value"),
            Self::Waiting => format!("WAITING {count}: other checks that wait for a value"),
            Self::Unknown if is_one => format!("UNKNOWN {count}: a value nobody has entered"),
            Self::Unknown => format!("UNKNOWN {count}: values nobody has entered"),
        }
    }
}

/// How many there are of something, those accepted with a reason apart: header, results, list and `check` say the same.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Count {
    /// Not accepted.
    pub open: usize,
    pub accepted: usize,
}

impl Count {
    /// Findings of a level.
    #[must_use]
    pub fn of(report: &Report, level: Level) -> Self {
        let of = || report.findings.iter().filter(|f| f.level == level);
        let accepted = of().filter(|f| f.accepted.is_some()).count();
        Self { open: of().count() - accepted, accepted }
    }
}

impl std::fmt::Display for Count {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self.accepted {
            0 => write!(f, "{}", self.open),
            accepted => write!(f, "{} and {accepted} accepted", self.open),
        }
    }
}

/// What an entry is about.
#[derive(Clone, Debug, PartialEq)]
pub enum About<'a> {
    Finding(&'a Finding),
    NotChecked(&'a NotChecked),
    /// Checks that wait for one field.
    Waiting(Vec<&'a NotChecked>),
    /// Unknown fields of one device.
    Unknown(Vec<&'a FieldPath>),
}

/// One entry of the list.
#[derive(Clone, Debug, PartialEq)]
pub struct Entry<'a> {
    pub group: Group,
    /// Where in the coach it is.
    pub place: Place,
    /// The field, item or device it is about.
    pub subject: FieldPath,
    pub about: About<'a>,
}

/// A place in the coach, in the order one walks through it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Place {
    /// The job, its rules and its stays.
    Whole,
    In(Zone),
    /// Nobody has said where it stands.
    NotSaid,
}

impl Place {
    /// In words.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Whole => "the whole plan",
            Self::In(zone) => match zone {
                Zone::Roof => "on the roof",
                Zone::Refrigerator => "behind the refrigerator",
                Zone::Basement => "basement bay",
                Zone::Exhaust => "near the exhaust",
                zone => zone.word(),
            },
            Self::NotSaid => "place not entered",
        }
    }

    fn rank(self) -> usize {
        match self {
            Self::Whole => 0,
            Self::In(zone) => 1 + Zone::ALL.iter().position(|z| *z == zone).unwrap_or(0),
            Self::NotSaid => usize::MAX,
        }
    }
}

/// Every finding, check not run, check that waits and unknown: by level, then by place, then in the order of the report.
#[must_use]
pub fn entries<'a>(plan: &Plan, report: &'a Report) -> Vec<Entry<'a>> {
    let mut all: Vec<Entry<'a>> = Vec::new();
    let mut put = |group, subject: &FieldPath, about| {
        all.push(Entry { group, place: place(plan, report, subject), subject: subject.clone(), about });
    };
    for finding in &report.findings {
        put(Group::Found(finding.level), &finding.subject, About::Finding(finding));
    }
    for waiting in &report.not_checked {
        put(Group::NotChecked, &waiting.subject, About::NotChecked(waiting));
    }
    let mut fields: Vec<Vec<&'a NotChecked>> = Vec::new();
    for waiting in &report.waiting {
        match fields.iter_mut().find(|same| same.first().is_some_and(|n| n.waits_for == waiting.waits_for)) {
            Some(same) => same.push(waiting),
            None => fields.push(vec![waiting]),
        }
    }
    for same in fields {
        if let Some(first) = same.first().copied() {
            put(Group::Waiting, &first.waits_for, About::Waiting(same));
        }
    }
    let mut devices: Vec<(FieldPath, Vec<&'a FieldPath>)> = Vec::new();
    for path in &report.unknown {
        let device = device_of(path);
        match devices.iter_mut().find(|(d, _)| *d == device) {
            Some((_, fields)) => fields.push(path),
            None => devices.push((device, vec![path])),
        }
    }
    for (device, fields) in devices {
        put(Group::Unknown, &device, About::Unknown(fields));
    }
    all.arrange_by_key(|e| (e.group, e.place.rank()));
    all
}

/// How many a group's heading counts: findings, checks, unknown fields.
#[must_use]
pub fn count(entries: &[Entry<'_>], group: Group) -> Count {
    let mut count = Count::default();
    for entry in entries.iter().filter(|e| e.group == group) {
        match &entry.about {
            About::Unknown(fields) => count.open += fields.len(),
            About::Waiting(checks) => count.open += checks.len(),
            _ if entry.is_accepted() => count.accepted += 1,
            _ => count.open += 1,
        }
    }
    count
}

impl<'a> Entry<'a> {
    /// The finding, if it is one.
    #[must_use]
    pub fn finding(&self) -> Option<&'a Finding> {
        match self.about {
            About::Finding(finding) => Some(finding),
            _ => None,
        }
    }

    /// What it is about, in words: `W2`, `BK cells in series`.
    #[must_use]
    pub fn head(&self, plan: &Plan) -> String {
        // The name that runs and sentences have for it.
        if self.subject.as_str() == "bank" { BANK_ID.into() } else { naming::path(plan, &self.subject) }
    }

    /// Whether it is a finding accepted with a reason.
    #[must_use]
    pub fn is_accepted(&self) -> bool {
        self.finding().is_some_and(|f| f.accepted.is_some())
    }

    /// The sentence beside what it is about, which is not named twice.
    #[must_use]
    pub fn beside_head(&self, plan: &Plan) -> String {
        let (head, sentence) = (self.head(plan), self.sentence(plan));
        sentence.strip_prefix(&format!("{head}: ")).map_or_else(|| sentence.clone(), ToString::to_string)
    }

    /// The sentence after what it is about, once: many sentences begin with it.
    #[must_use]
    pub fn said(&self, plan: &Plan) -> String {
        let (head, sentence) = (self.head(plan), self.sentence(plan));
        let names_it = [":", " "].iter().any(|next| sentence.starts_with(&format!("{head}{next}")));
        if names_it { sentence } else { format!("{head}: {sentence}") }
    }

    /// The first field to go to: the subject, or what is waited for.
    #[must_use]
    pub fn leads_to(&self) -> &FieldPath {
        match &self.about {
            About::NotChecked(n) => &n.waits_for,
            About::Unknown(fields) => fields.first().copied().unwrap_or(&self.subject),
            About::Finding(_) | About::Waiting(_) => &self.subject,
        }
    }

    /// The sentence, in the plan's units.
    #[must_use]
    pub fn sentence(&self, plan: &Plan) -> String {
        match &self.about {
            About::Finding(f) => sentence(plan, f),
            // Nothing is unknown there: it is too much of it, or beyond what tables are for.
            About::NotChecked(n) if is_entered(plan, &n.waits_for) => {
                let (run, key) = (n.waits_for.segments().nth(1).unwrap_or_default(), n.waits_for.split_last().1);
                if matches!(key, "gauge" | "measured_ohm") {
                    return format!(
                        "{} waits for less resistance: {run} cannot carry its power at all ({})",
                        n.check, n.waits_for
                    );
                }
                let words = naming::path(plan, &n.waits_for);
                if matches!(key, "voc_v" | "isc_a") {
                    return format!("{} waits for a label that a panel can have: {words} ({})", n.check, n.waits_for);
                }
                format!("{} has no table that reaches to {words} as it is entered ({})", n.check, n.waits_for)
            }
            About::NotChecked(n) => {
                format!("{} waits for {} ({})", n.check, naming::path(plan, &n.waits_for), n.waits_for)
            }
            About::Waiting(checks) => {
                let words: Vec<String> = checks.iter().map(|n| format!("{} of {}", n.check, owner(plan, n))).collect();
                format!("not judged without it: {}", words.join(", "))
            }
            About::Unknown(fields) => {
                let words: Vec<String> = fields.iter().map(|f| field_words(plan, &self.subject, f)).collect();
                words.join(", ")
            }
        }
    }

    /// What stands under the sentence: label and text.
    #[must_use]
    pub fn lines(&self, plan: &Plan) -> Vec<(&'static str, String)> {
        let About::Finding(f) = &self.about else { return Vec::new() };
        let mut lines = vec![("source", f.source_said())];
        let date = accepted_as(plan, f).map_or("", |a| a.date.trim());
        let date = if date.is_empty() { String::new() } else { format!(" ({date})") };
        if let Some(reason) = &f.accepted {
            lines.push(("accepted", format!("{reason}{date}")));
        } else if let Some(reason) = &f.lapsed {
            lines.push(("accepted", format!("no longer: it has changed since. The reason then{date}: {reason}")));
        }
        lines
    }
}

/// What a waiting check is about, in words.
fn owner(plan: &Plan, waiting: &NotChecked) -> String {
    if waiting.subject.as_str() == "bank" { BANK_ID.into() } else { naming::path(plan, &waiting.subject) }
}

/// A finding's sentence in the plan's units.
#[must_use]
pub fn sentence(plan: &Plan, finding: &Finding) -> String {
    let (units, text) = (Units::of(plan), finding.text());
    let typed = typed_in(plan, finding, units);
    if typed.is_empty() {
        return entry::said(units, &text, &finding.numbers);
    }
    // What the technician wrote stays as it was written.
    let mut out = String::with_capacity(text.len());
    let mut rest = text.as_str();
    while let Some((at, own)) =
        typed.iter().filter_map(|own| Some((rest.find(own.as_str())?, own))).min_by_key(|(at, own)| (*at, own.len()))
    {
        let (before, from) = rest.split_at(at);
        out += &entry::said(units, before, &finding.numbers);
        out += own;
        rest = from.get(own.len()..).unwrap_or("");
    }
    out + &entry::said(units, rest, &finding.numbers)
}

/// Texts of the plan, typed by a person, that a finding repeats and whose quantities are not to be turned into other units.
fn typed_in(plan: &Plan, finding: &Finding, units: Units) -> Vec<String> {
    let is_turned = |text: &str| entry::said(units, text, &finding.numbers) != text;
    if !finding.names.iter().any(|name| is_turned(name)) {
        return Vec::new();
    }
    let mut typed = Vec::new();
    texts_of(plan, &mut typed);
    typed.retain(|text| is_turned(text) && finding.names.iter().any(|name| name.contains(text.as_str())));
    typed
}

/// Every text that a person typed into a record and what lies in it.
fn texts_of(record: &dyn Record, out: &mut Vec<String>) {
    for meta in record.metas().into_iter().filter(|m| m.kind == Kind::Text && !m.unknown) {
        if let Some(Value::Text(text)) = record.get(meta.key)
            && !text.trim().is_empty()
        {
            out.push(text.trim().to_string());
        }
    }
    record.part_names().iter().filter_map(|name| record.part(name)).for_each(|part| texts_of(part, out));
    for list in record.list_names().iter().filter_map(|name| record.list(name)) {
        (0..list.len()).filter_map(|i| list.at(i)).for_each(|item| texts_of(item, out));
    }
}

/// A field's name without that of its device.
fn field_words(plan: &Plan, device: &FieldPath, field: &FieldPath) -> String {
    let (whole, head) = (naming::path(plan, field), naming::path(plan, device));
    match whole.strip_prefix(head.as_str()).map(str::trim) {
        // A whole list: something it should hold is not there.
        Some("") => format!("{head}: one is missing"),
        Some(rest) => rest.into(),
        None => whole,
    }
}

/// Parts of the plan that are one thing.
const PARTS: [&str; 4] = ["job", "bank", "roof", "money"];

/// `runs.W2.legs.L1.length_m` belongs to `runs.W2`; `bank.unit_ah` to `bank`.
fn device_of(path: &FieldPath) -> FieldPath {
    let depth = if path.segments().next().is_some_and(|s| PARTS.contains(&s)) { 1 } else { 2 };
    let segments: Vec<&str> = path.segments().take(depth).collect();
    FieldPath::new(segments.join("."))
}

/// Where in the coach the subject of a finding is.
fn place(plan: &Plan, report: &Report, subject: &FieldPath) -> Place {
    let mut segments = subject.segments();
    let (list, id) = (segments.next().unwrap_or(""), segments.next().unwrap_or(""));
    let known = |zone: Option<Zone>| zone.map_or(Place::NotSaid, Place::In);
    macro_rules! zone_in {
        ($list:ident) => {
            known(plan.$list.iter().find(|x| x.id.as_str() == id).and_then(|x| x.zone))
        };
    }
    match list {
        "arrays" | "panels" | "roof" => Place::In(Zone::Roof),
        "bank" => known(plan.bank.zone),
        "controllers" => zone_in!(controllers),
        "inverters" => zone_in!(inverters),
        "chargers" => zone_in!(chargers),
        "devices" => zone_in!(devices),
        "runs" => run_place(plan, report, id, segments.next().zip(segments.next())),
        "loads" => load_place(plan, id),
        _ => Place::Whole,
    }
}

/// A load has no field for its place: it is where its run ends. What is about the loads together is nowhere by itself.
fn load_place(plan: &Plan, id: &str) -> Place {
    if id.is_empty() {
        return Place::Whole;
    }
    let is_here = |end: &Known<Id>| end.known().is_some_and(|end| end.as_str() == id);
    let leg = match plan.runs.iter().find(|r| is_here(&r.to)) {
        Some(run) => run.legs.last(),
        None => plan.runs.iter().find(|r| is_here(&r.from)).and_then(|run| run.legs.first()),
    };
    zone_of(leg)
}

fn zone_of(leg: Option<&Leg>) -> Place {
    match leg.map(|l| &l.zone) {
        Some(Known::Is(zone)) => Place::In(*zone),
        _ => Place::NotSaid,
    }
}

/// A run's finding is where the leg is that it is about, else where its weakest leg is.
fn run_place(plan: &Plan, report: &Report, id: &str, within: Option<(&str, &str)>) -> Place {
    let Some(run) = plan.runs.iter().find(|r| r.id.as_str() == id) else { return Place::Whole };
    let named = within.filter(|(list, _)| *list == "legs").map(|(_, leg)| leg);
    let weakest = || report.runs.iter().find(|r| r.id == run.id)?.weakest_leg.as_ref().map(|l| l.as_str());
    let leg = named.or_else(weakest);
    let leg = run.legs.iter().find(|l| Some(l.id.as_str()) == leg).or(run.legs.first());
    zone_of(leg)
}

/// Whether what is waited for is a gauge or a resistance that is known.
fn is_entered(plan: &Plan, path: &FieldPath) -> bool {
    matches!(plan.get_at(path), Some(Value::Gauge(_) | Value::Number(_)))
}
