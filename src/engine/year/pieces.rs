//! The months of a year one after another, or several stretches of them at a time.
//!
//! A month depends on those before it by the bank's state alone, and a bank soon forgets: full is full, whenever it was
//! last empty. So a later stretch can begin on a guess, a month early. It counts from the first end of a month at which
//! it stands bit for bit where the true course stands; until then the true course goes on itself.

use std::thread;

use crate::climate::year::MONTH_DAYS;
use crate::physics::battery::Store;

use super::{MonthAt, Runner, State, StayInput, Year, YearInput, is_shore_day};

/// A year that has run.
pub(super) struct Pass {
    pub(super) year: Year,
    /// The bank on the first of January.
    pub(super) start: State,
    pub(super) end: State,
}

/// A month that has run, and the bank at its end.
struct Done {
    month: super::Month,
    end: State,
}

/// Months in a row, begun somewhere.
struct Stretch {
    first: usize,
    begun: State,
    done: Vec<Done>,
}

impl Stretch {
    /// The month at a place among all, if it was begun with the bank so.
    fn after(&self, begun: State, place: usize) -> Option<&Done> {
        let i = place.checked_sub(self.first)?;
        let here = match i.checked_sub(1) {
            None => self.begun,
            Some(before) => self.done.get(before)?.end,
        };
        self.done.get(i).filter(|_| here == begun)
    }
}

/// What a bank is guessed to hold where a stretch begins.
const GUESS: State = State { store: Store { soc: 1.0 }, is_off: false };
/// Most stretches at a time. Source: our own choice; each costs a month that does not count.
const MOST: usize = 4;
/// Months of a stretch at least, or the month it begins early costs more than it saves. Source: our own choice.
const SHORTEST: usize = 3;

/// The months that a year runs through, with December before it where that is asked for.
pub(super) fn months(input: &YearInput, with_december: bool) -> Vec<MonthAt<'_>> {
    let stay_of = |month: usize| input.stays.iter().find(|s| s.months & 1 << month != 0);
    let mut all = Vec::with_capacity(13);
    if let Some(stay) = stay_of(11).filter(|_| with_december) {
        all.push(MonthAt { number: 11, counts: false, stay, shore: 0.0 });
    }
    let mut shore = 0.0;
    for number in 0..12 {
        let Some(stay) = stay_of(number) else { continue };
        all.push(MonthAt { number, counts: true, stay, shore });
        shore = shore_after(stay, number, shore);
    }
    all
}

fn shore_after(stay: &StayInput, month: usize, mut shore: f64) -> f64 {
    let days = MONTH_DAYS.get(month).copied().unwrap_or(0);
    for _ in 0..days {
        is_shore_day(&mut shore, stay.shore_days / days as f64);
    }
    shore
}

/// One year, after an uncounted December where that is asked for.
pub(super) fn pass(input: &YearInput, start: State, with_december: bool, threads: usize) -> Pass {
    let months = months(input, with_december);
    let stretches = ahead(input, &months, start, threads);
    let mut runner = Runner::of(input, start);
    let mut year = Year::empty(input);
    let mut january = start;
    for (place, at) in months.iter().enumerate() {
        let mut own = None;
        let done = match stretches.iter().find_map(|stretch| stretch.after(runner.state(), place)) {
            Some(done) => done,
            None => {
                let month = runner.month(at, &mut |_, _, _, _| {});
                own.insert(Done { month, end: runner.state() })
            }
        };
        (runner.store, runner.is_off) = (done.end.store, done.end.is_off);
        if at.counts {
            year.add(at.number, &done.month);
        } else {
            january = done.end;
        }
    }
    Pass { year, start: january, end: runner.state() }
}

/// Stretches of the months on threads of their own.
fn ahead(input: &YearInput, months: &[MonthAt<'_>], start: State, threads: usize) -> Vec<Stretch> {
    let n = months.len();
    let count = threads.min(MOST).min(n / SHORTEST);
    if count < 2 {
        return Vec::new();
    }
    // Each but the last ends with the month that the next one begins with.
    let length = (n + count - 1).div_ceil(count);
    let run = move |k: usize| {
        let first = k * (length - 1);
        let begun = if k == 0 { start } else { GUESS };
        let mut runner = Runner::of(input, begun);
        let own = months.iter().skip(first).take(length);
        let done = own.map(|at| {
            let month = runner.month(at, &mut |_, _, _, _| {});
            Done { month, end: runner.state() }
        });
        Stretch { first, begun, done: done.collect() }
    };
    thread::scope(|scope| {
        // A stretch that finds no thread, or fails on it, is left to the true course.
        let one = |k| thread::Builder::new().name("year".into()).spawn_scoped(scope, move || run(k)).ok();
        let others: Vec<_> = (1..count).filter_map(one).collect();
        let mut all = vec![run(0)];
        all.extend(others.into_iter().filter_map(|other| other.join().ok()));
        all
    })
}
