//! Threads that answer while the keys stay quick: two for ladders, started at the first and blocked otherwise; one for
//! each other question, which ends with its answer.

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Arc, Condvar, Mutex, MutexGuard, PoisonError};
use std::thread::{self, JoinHandle};

use super::inbox::Post;
use super::message::Message;
use super::session::WORKER;
use crate::document::look::{Look, Question};
use crate::document::search::Ask;
use crate::engine::Rung;

/// More would take the core that draws.
const THREADS: usize = 2;

/// The question being answered. A newer one replaces it.
struct Job {
    ask: Ask,
    /// Candidates nobody has taken yet, the next one last.
    open: Vec<Rung>,
    /// Candidates whose answers have not been sent.
    left: usize,
}

#[derive(Default)]
struct Desk {
    job: Mutex<Option<Job>>,
    asked: Condvar,
}

impl Desk {
    /// A worker that panicked left the job in order: it changes it only in steps that cannot fail.
    fn lock(&self) -> MutexGuard<'_, Option<Job>> {
        self.job.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

/// Those who answer.
pub struct Workers {
    post: Post,
    desk: Arc<Desk>,
    /// Answer in line, at once, on the asking thread.
    in_line: bool,
    started: usize,
    /// The newest question of each kind.
    newest: Arc<[AtomicU64; Question::KINDS]>,
    /// What is being written.
    writing: Vec<JoinHandle<()>>,
}

/// What is being written is written before the program ends.
impl Drop for Workers {
    fn drop(&mut self) {
        for one in self.writing.drain(..) {
            // One that failed has said so.
            drop(one.join());
        }
    }
}

impl Workers {
    /// Workers whose answers go to `post`.
    #[must_use]
    pub fn new(post: Post) -> Self {
        Self { post, desk: Arc::default(), in_line: false, started: 0, newest: Arc::default(), writing: Vec::new() }
    }

    /// The same answers in one fixed order, on the thread that asks.
    #[must_use]
    pub fn in_line(post: Post) -> Self {
        let mut workers = Self::new(post);
        workers.in_line = true;
        workers
    }

    /// Asks; what was asked before is given up.
    pub fn ask(&mut self, mut ask: Ask) {
        let mut open = ask.candidates();
        let left = open.len();
        if left == 0 {
            self.post.send(Message::Ladder { generation: ask.generation, rungs: open, complete: true });
            return;
        }
        open.reverse();
        *self.desk.lock() = Some(Job { ask, open, left });
        while !self.in_line && self.started < THREADS {
            let (desk, post) = (Arc::clone(&self.desk), self.post.clone());
            if thread::Builder::new().name(WORKER.into()).spawn(move || work(&desk, &post)).is_err() {
                break;
            }
            self.started += 1;
        }
        if self.started == 0 {
            // Asked to, or no thread can be had.
            let mut known = None;
            loop {
                let next = take(&mut self.desk.lock(), known.take());
                let Some((ask, rung)) = next else { break };
                known = answer(&self.desk, &self.post, ask, rung);
            }
        } else {
            self.desk.asked.notify_all();
        }
    }
}

impl Workers {
    /// Gives up what is asked of a kind.
    pub fn give_up(&self, question: &Question) {
        if let Some(slot) = self.newest.get(question.kind()) {
            slot.store(0, Ordering::Relaxed);
        }
    }

    /// Writes something on a thread of its own, which ends with its message; the program ends no sooner.
    pub fn beside(&mut self, job: impl FnOnce() -> Message + Send + 'static) {
        let post = self.post.clone();
        let job = move || post.send(job());
        if self.in_line {
            return job();
        }
        self.writing.retain(|one| !one.is_finished());
        match thread::Builder::new().name(WORKER.into()).spawn(job) {
            Ok(one) => self.writing.push(one),
            Err(e) => self.post.send(Message::Written(Err(format!("no papers written: {e}")))),
        }
    }

    /// Asks a question, on a thread of its own; an older one of the same kind is given up.
    pub fn look(&self, look: Look) {
        let (post, newest) = (self.post.clone(), Arc::clone(&self.newest));
        let (generation, kind) = (look.generation, look.question.kind());
        let asked = move |newest: &[AtomicU64]| newest.get(kind).map_or(0, |n| n.load(Ordering::Relaxed));
        if let Some(slot) = newest.get(kind) {
            slot.store(generation, Ordering::Relaxed);
        }
        let job = move || {
            if let Some(answer) = look.answer(move || asked(&*newest) == generation) {
                post.send(Message::Looked { generation, answer });
            }
        };
        if self.in_line {
            job();
        } else {
            // Where no thread can be had the page goes on saying that it is being computed.
            drop(thread::Builder::new().name(WORKER.into()).spawn(job));
        }
    }
}

/// The next candidate; with it the question, unless `known` is its generation already.
fn take(job: &mut Option<Job>, known: Option<Ask>) -> Option<(Ask, Rung)> {
    let job = job.as_mut()?;
    let rung = job.open.pop()?;
    let ask = known.filter(|ask| ask.generation == job.ask.generation).unwrap_or_else(|| job.ask.clone());
    Some((ask, rung))
}

fn work(desk: &Desk, post: &Post) {
    // Kept from candidate to candidate, with what its engine remembers; let go when there is nothing to do.
    let mut known = None;
    loop {
        let mut job = desk.lock();
        let (ask, rung) = loop {
            match take(&mut job, known.take()) {
                Some(found) => break found,
                None => job = desk.asked.wait(job).unwrap_or_else(PoisonError::into_inner),
            }
        };
        drop(job);
        known = answer(desk, post, ask, rung);
    }
}

/// Answers one candidate and sends it, if the question still stands. Returns the question, for the next candidate.
fn answer(desk: &Desk, post: &Post, mut ask: Ask, mut rung: Rung) -> Option<Ask> {
    // A row may take several years; a newer question does not wait for them.
    let generation = ask.generation;
    let is_wanted = || desk.lock().as_ref().is_some_and(|job| job.ask.generation == generation);
    let answered = catch_unwind(AssertUnwindSafe(|| ask.answer(&mut rung, &is_wanted))).is_ok();
    let mut job = desk.lock();
    let current = job.as_mut().filter(|job| job.ask.generation == ask.generation)?;
    current.left = current.left.saturating_sub(1);
    // Sent under the lock: the answer that completes the ladder must be the last to arrive.
    post.send(Message::Ladder { generation: ask.generation, rungs: vec![rung], complete: current.left == 0 });
    if current.left == 0 {
        *job = None;
    }
    answered.then_some(ask)
}
