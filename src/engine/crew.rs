//! Threads that stay when their work is done and wait for more: to begin one anew costs as much as days of a year.

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::mpsc::{Receiver, Sender, channel};
use std::sync::{Mutex, PoisonError};
use std::thread;

type Job = Box<dyn FnOnce() + Send>;

/// Those that wait, each by what it is handed its next work through.
static WAITING: Mutex<Vec<Sender<Job>>> = Mutex::new(Vec::new());

/// Work that is under way on a thread of its own.
pub(super) struct UnderWay<T> {
    thread: Sender<Job>,
    answer: Receiver<T>,
}

/// Hands work to a thread that waits, or to a new one; none where there is none to be had.
pub(super) fn hand<T: Send + 'static>(work: impl FnOnce() -> T + Send + 'static) -> Option<UnderWay<T>> {
    let (answers, answer) = channel();
    // Nobody may be there any more to take the answer.
    let mut job: Job = Box::new(move || drop(answers.send(work())));
    while let Some(thread) = waiting().pop() {
        match thread.send(job) {
            Ok(()) => return Some(UnderWay { thread, answer }),
            Err(returned) => job = returned.0,
        }
    }
    let (thread, jobs) = channel::<Job>();
    // What fails on its work gives no answer, and goes on with the next.
    let serve = move || jobs.iter().for_each(|job| drop(catch_unwind(AssertUnwindSafe(job))));
    thread::Builder::new().name("year".into()).spawn(serve).ok()?;
    thread.send(job).ok()?;
    Some(UnderWay { thread, answer })
}

impl<T> UnderWay<T> {
    /// Waits for what it comes to; none where it failed.
    pub(super) fn take(self) -> Option<T> {
        let answer = self.answer.recv().ok();
        waiting().push(self.thread);
        answer
    }
}

fn waiting() -> std::sync::MutexGuard<'static, Vec<Sender<Job>>> {
    WAITING.lock().unwrap_or_else(PoisonError::into_inner)
}
