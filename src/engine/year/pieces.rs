//! The parts of a year one after another, or several stretches of them at a time.
//!
//! A part depends on those before it by the bank's state alone, and a bank soon forgets: full is full, whenever it was
//! last empty. So a later stretch can begin on a guess, a part early. It counts from the first end of a part at which
//! it stands bit for bit where the true course stands; until then the true course goes on itself. And a part that was
//! run before from the same state is not run again: the December before and that of the year soon come together, and so
//! do two years in a row.

use std::ops::Range;
use std::sync::{Arc, OnceLock};

use crate::climate::year::MONTH_DAYS;
use crate::engine::crew::{UnderWay, hand};
use crate::engine::solve::straight::Suns;
use crate::physics::battery::Store;

use super::{Part, PartAt, Runner, State, StayInput, Year, YearInput, is_shore_day};

/// A year that has run.
pub(super) struct Pass {
    pub(super) year: Year,
    /// The bank on the first of January.
    pub(super) start: State,
    pub(super) end: State,
}

/// Several threads for one year.
pub(super) struct Crew<'a> {
    /// The year's own input, for all of them.
    pub(super) input: &'a Arc<YearInput>,
    /// So many at most.
    pub(super) threads: usize,
    /// What the calling one does first.
    pub(super) aside: Option<&'a mut dyn FnMut()>,
}

/// A part that has run, and where the bank stood at its ends.
pub(super) struct Done {
    month: usize,
    first: usize,
    on_shore: u32,
    begun: State,
    part: Part,
    end: State,
}

impl Done {
    /// Runs a part from where the runner stands.
    fn of<'a>(runner: &mut Runner<'a>, at: &PartAt<'a>) -> Self {
        let begun = runner.state();
        let part = runner.part(at, &mut |_, _, _, _| {});
        Self { month: at.month, first: at.first, on_shore: at.on_shore, begun, part, end: runner.state() }
    }

    /// Whether it is just this part begun with bank and inverter so.
    fn is(&self, at: &PartAt<'_>, begun: State) -> bool {
        self.begun == begun && self.first == at.first && self.month == at.month && self.on_shore == at.on_shore
    }
}

/// What a bank is guessed to hold where a stretch begins.
const GUESS: State = State { store: Store { soc: 1.0 }, off: 0, rise_k: 0.0 };
/// Most stretches at a time. Source: our own choice; each costs a part that does not count.
const MOST: usize = 4;
/// Parts of a stretch at least, or the one it begins early costs more than it saves. Source: our own choice.
const SHORTEST: usize = 8;
/// Parts of a month. Source: our own choice: a bank mostly forgets within six days, and shorter parts cost more than
/// they save.
const PARTS: usize = 5;
/// What an hour of light takes over a dark one, to make stretches of like length. Source: measured, about.
const LIT: usize = 5;

/// What it takes besides where the hour's best point is not searched yet, in hundredths. Source: measured, about.
const SEARCHED: usize = 40;

/// What the first thread does beside its stretch, in the same measure, less what it takes the others to begin. Source: measured,
/// about: the checks of a plan of fourteen runs.
const ASIDE: usize = 500;

/// The parts that a year runs through, with December before it where that is asked for.
pub(super) fn parts(input: &YearInput, with_december: bool) -> Vec<PartAt<'_>> {
    let stay_of = |month: usize| input.stays.iter().find(|s| s.months & 1 << month != 0);
    let mut all = Vec::with_capacity(13 * PARTS);
    let mut shore = 0.0;
    if let Some(stay) = stay_of(11).filter(|_| with_december) {
        month_of(11, false, stay, &mut 0.0, &mut all);
    }
    for month in 0..12 {
        if let Some(stay) = stay_of(month) {
            month_of(month, true, stay, &mut shore, &mut all);
        }
    }
    all
}

fn month_of<'a>(month: usize, counts: bool, stay: &'a StayInput, shore: &mut f64, all: &mut Vec<PartAt<'a>>) {
    let of_month = MONTH_DAYS.get(month).copied().unwrap_or(0);
    for k in 0..PARTS {
        let (first, end) = (k * of_month / PARTS, (k + 1) * of_month / PARTS);
        let is_one = |day: usize| u32::from(is_shore_day(shore, stay.shore_days / of_month as f64)) << (day - first);
        let on_shore = (first..end).map(is_one).fold(0, |all, day| all | day);
        all.push(PartAt { month, first, days: end - first, counts, stay, on_shore });
    }
}

/// One year, after an uncounted December where that is asked for. `known`: parts that were run before; those that are
/// run now are added. `crew`: none where this thread runs all of it.
pub(super) fn pass(
    input: &YearInput,
    start: State,
    with_december: bool,
    crew: Option<&mut Crew<'_>>,
    known: &mut Vec<Done>,
) -> Pass {
    let parts = parts(input, with_december);
    let suns = Suns::of(&input.circuit);
    let mut runner = Runner::of(input, &suns, start);
    let mut year = Year::empty(input);
    let mut january = start;
    let is_known = |at: &PartAt<'_>| known.iter().any(|done| done.is(at, start));
    if let Some(crew) = crew.filter(|_| !parts.first().is_none_or(is_known)) {
        ahead(crew, &parts, (start, with_december), known);
    }
    for at in &parts {
        let place = match known.iter().position(|done| done.is(at, runner.state())) {
            Some(place) => place,
            None => {
                known.push(Done::of(&mut runner, at));
                known.len() - 1
            }
        };
        let Some(done) = known.get(place) else { continue };
        runner.begin(done.end);
        if at.counts {
            year.add(at, &done.part);
        } else {
            january = done.end;
        }
    }
    Pass { year, start: january, end: runner.state() }
}

/// Where so many stretches begin that take about as long as each other, each but the first a part early. `aside`: what the first
/// thread does beside its own.
fn begins(parts: &[PartAt<'_>], count: usize, aside: usize) -> Vec<usize> {
    let again = parts.first().is_some_and(|at| !at.counts);
    let weights: Vec<usize> = parts.iter().map(|at| weight(at, again)).collect();
    let all: usize = aside + weights.iter().sum::<usize>();
    let each = (all + (count - 1) * all / parts.len().max(1)) / count;
    let (mut begins, mut sum) = (vec![0], aside);
    for (place, weight) in weights.iter().enumerate() {
        if sum + weight / 2 > each && begins.len() < count {
            let early = place.saturating_sub(1);
            begins.push(early);
            sum = weights.get(early).copied().unwrap_or(0);
        }
        sum += weight;
    }
    begins
}

/// What a part takes, about. `again`: the December before the year may save most of the year's own.
fn weight(at: &PartAt<'_>, again: bool) -> usize {
    let begin = (super::first_day(at.month) + at.first) * 24;
    let lit = at.stay.lights.first().map_or(0, |light| {
        let before = |hour: usize| light.offer.hours.partition_point(|h| usize::from(h.hour) < hour);
        before(begin + at.days * 24) - before(begin)
    });
    let searches = at.stay.lights.iter().filter(|light| light.best.as_ref().is_some_and(|b| b.waits(at.month))).count();
    (at.days * 24 + LIT * lit + SEARCHED * searches * lit / 100)
        / if again && at.counts && at.month == 11 { PARTS } else { 1 }
}

/// A stretch of the parts, for whichever thread runs it.
struct Stretch {
    input: Arc<YearInput>,
    with_december: bool,
    /// Which one it is, and the parts of it.
    k: usize,
    parts: Range<usize>,
    start: State,
    known: Arc<Vec<Done>>,
    /// The days before the year, for the stretch that comes to the same days at its end.
    before: Arc<OnceLock<Vec<Done>>>,
}

impl Stretch {
    fn run(self) -> Vec<Done> {
        let (input, is_first) = (&*self.input, self.k == 0);
        let all = parts(input, self.with_december);
        let uncounted = all.iter().take_while(|at| !at.counts).count();
        let suns = Suns::of(&input.circuit);
        let mut runner = Runner::of(input, &suns, if is_first { self.start } else { GUESS });
        let mut own = Vec::with_capacity(self.parts.len());
        for (place, at) in all.iter().enumerate().take(self.parts.end).skip(self.parts.start) {
            if is_first && place == uncounted {
                drop(self.before.set(std::mem::take(&mut own)));
            }
            let seen = self.known.iter().chain(self.before.get().into_iter().flatten());
            match seen.into_iter().find(|done| done.is(at, runner.state())) {
                Some(done) => runner.begin(done.end),
                None => own.push(Done::of(&mut runner, at)),
            }
        }
        own
    }
}

/// Stretches of the parts on threads of their own, added to what is known.
fn ahead(crew: &mut Crew<'_>, parts: &[PartAt<'_>], (start, with_december): (State, bool), known: &mut Vec<Done>) {
    let count = crew.threads.min(MOST).min(parts.len() / SHORTEST);
    if count < 2 {
        return;
    }
    let begins = begins(parts, count, if crew.aside.is_some() { ASIDE } else { 0 });
    let (seen, before) = (Arc::new(std::mem::take(known)), Arc::new(OnceLock::new()));
    let stretch = |k: usize| {
        let first = begins.get(k).copied().unwrap_or(0);
        // Each but the last ends with the part that the next one begins with.
        let end = begins.get(k + 1).map_or(parts.len(), |next| next + 1);
        let (input, known, before) = (Arc::clone(crew.input), Arc::clone(&seen), Arc::clone(&before));
        Stretch { input, with_december, k, parts: first..end, start, known, before }
    };
    // A stretch that finds no thread, or fails on it, is left to the true course.
    let others: Vec<_> = (1..begins.len()).map(stretch).filter_map(|one| hand(move || one.run())).collect();
    let own = stretch(0);
    crew.aside.take().into_iter().for_each(|aside| aside());
    let mut all = own.run();
    all.extend(others.into_iter().filter_map(UnderWay::take).flatten());
    // All that shared these are done with them.
    *known = Arc::into_inner(seen).unwrap_or_default();
    known.extend(all);
    known.extend(Arc::into_inner(before).and_then(OnceLock::into_inner).into_iter().flatten());
}
