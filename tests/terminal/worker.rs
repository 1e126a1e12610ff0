//! Ladders on the workers: the same answers in line and on threads, each once, the newest question first.

use std::collections::BTreeMap;
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};

use coachwire::document::Shown;
use coachwire::document::look::{Answer, Look, Question};
use coachwire::document::search::Ask;
use coachwire::engine::{Engine, LadderOf, Rung};
use coachwire::plan::{Id, Plan};
use coachwire::stock::Stock;
use coachwire::tui::inbox::{Arrival, Inbox, Post};
use coachwire::tui::message::Message;
use coachwire::tui::worker::Workers;

fn ask(generation: u64, run: &str) -> Ask {
    let sample = coachwire::plan::samples::sample("bramble").expect("the sample");
    let plan = Plan::from_text(sample.text).expect("a plan");
    let run: Id = run.parse().expect("a name");
    let stock = Arc::new(Stock::default());
    let mut engine = Engine::default();
    let (before, of) = (Arc::new(engine.evaluate(&plan, &stock)), LadderOf::Gauge(run));
    let rungs = engine.ladder(&plan, &stock, &of);
    Ask { generation, engine: Engine::default(), base: Arc::new(plan), before, stock, of, rungs }
}

/// Answers until the ladder of a generation is complete: rungs by gauge. Each must come once, complete last.
fn answers(inbox: &Inbox, wanted: u64) -> BTreeMap<String, Rung> {
    let mut found = BTreeMap::new();
    loop {
        for arrival in inbox.wait() {
            let Arrival::Message(Message::Ladder { generation, rungs, complete, .. }) = arrival else {
                panic!("not an answer: {arrival:?}");
            };
            if generation != wanted {
                assert!(generation < wanted, "an answer to a question not asked");
                continue;
            }
            for rung in rungs {
                let name = rung.name();
                assert!(found.insert(name.clone(), rung).is_none(), "{name} came twice");
            }
            if complete {
                assert!(inbox.ready().is_empty(), "complete comes last");
                return found;
            }
        }
    }
}

fn ladder(workers: impl FnOnce(Post) -> Workers) -> BTreeMap<String, Rung> {
    let inbox = Inbox::quiet();
    workers(inbox.post()).ask(ask(1, "W1"));
    answers(&inbox, 1)
}

#[test]
fn threads_answer_as_one_thread_does() {
    let in_line = ladder(Workers::in_line);
    assert!(in_line.len() >= 14, "a rung a gauge: {:?}", in_line.keys());
    assert!(in_line.values().all(|rung| rung.harvest_wh_day.is_some()), "every harvest was looked for");
    assert_eq!(in_line.values().filter(|rung| rung.current).count(), 1);
    assert_eq!(ladder(Workers::new), in_line);
}

#[test]
fn a_newer_question_takes_the_place_of_an_older_one() {
    let inbox = Inbox::quiet();
    let mut workers = Workers::new(inbox.post());
    for generation in 1..=9 {
        workers.ask(ask(generation, if generation % 2 == 0 { "W2" } else { "W1" }));
    }
    assert_eq!(answers(&inbox, 9), ladder(Workers::in_line));
}

#[test]
fn a_run_that_is_not_there_is_answered_at_once() {
    let inbox = Inbox::quiet();
    Workers::new(inbox.post()).ask(ask(1, "W99"));
    assert!(answers(&inbox, 1).is_empty());
}

fn look(generation: u64, question: Question) -> Look {
    let sample = coachwire::plan::samples::sample("bramble").expect("the sample");
    let plan = Plan::from_text(sample.text).expect("a plan");
    let stock = Arc::new(Stock::default());
    let mut engine = Engine::default();
    let report = Arc::new(engine.evaluate(&plan, &stock));
    Look { generation, engine, shown: Shown { plan: Arc::new(plan), report }, stock, question }
}

fn looked(inbox: &Inbox) -> (u64, Answer) {
    match inbox.wait().remove(0) {
        Arrival::Message(Message::Looked { generation, answer }) => (generation, answer),
        other => panic!("not an answer: {other:?}"),
    }
}

#[test]
fn a_thread_looks_as_the_asking_one_does() {
    for question in [Question::Day(200), Question::Worth("W1".parse().expect("a name")), Question::Repeats] {
        let inbox = Inbox::quiet();
        Workers::in_line(inbox.post()).look(look(1, question.clone()));
        let in_line = looked(&inbox);
        Workers::new(inbox.post()).look(look(2, question));
        let threaded = looked(&inbox);
        assert_eq!((in_line.0, threaded.0), (1, 2));
        assert_eq!(in_line.1, threaded.1);
        assert!(!matches!(in_line.1, Answer::Day(Err(_)) | Answer::Worth(Err(_)) | Answer::Repeats(Err(_))));
    }
}

#[test]
fn an_older_question_is_given_up_for_a_newer_of_its_kind() {
    let inbox = Inbox::quiet();
    let workers = Workers::new(inbox.post());
    // Ten years take long enough for the others to arrive.
    workers.look(look(1, Question::Repeats));
    workers.look(look(2, Question::Day(3)));
    workers.look(look(3, Question::Repeats));
    let mut seen = vec![looked(&inbox).0];
    while !seen.contains(&3) {
        seen.extend(inbox.wait().iter().map(|a| match a {
            Arrival::Message(Message::Looked { generation, .. }) => *generation,
            other => panic!("not an answer: {other:?}"),
        }));
    }
    assert!(seen.contains(&2), "another kind goes on: {seen:?}");
    // A question that nobody asks any more has no answer.
    assert!(look(4, Question::Repeats).answer(|| false).is_none());
    let asked = Arc::new(AtomicUsize::new(0));
    let counted = Arc::clone(&asked);
    let gone = look(5, Question::Repeats).answer(move || counted.fetch_add(1, Ordering::SeqCst) < 3);
    let asked = asked.load(Ordering::SeqCst);
    assert!(gone.is_none() && asked == 4, "given up between two years: {asked}");
}

/// A sizing that is given up ends soon, however many runs there are, and has no answer.
#[test]
fn sizing_is_given_up_on_its_way() {
    let asked = Arc::new(AtomicUsize::new(0));
    let counted = Arc::clone(&asked);
    let gone = look(6, Question::Sizes(false)).answer(move || counted.fetch_add(1, Ordering::SeqCst) < 5);
    let times = asked.load(Ordering::SeqCst);
    assert!(gone.is_none(), "no sizes that nobody waits for");
    let whole = Arc::new(AtomicUsize::new(0));
    let counted = Arc::clone(&whole);
    let there = look(7, Question::Sizes(false)).answer(move || counted.fetch_add(1, Ordering::SeqCst) < usize::MAX);
    assert!(there.is_some());
    let whole = whole.load(Ordering::SeqCst);
    assert!(times * 2 < whole, "given up long before its end: asked {times} times, of {whole}");
}
