//! The steps behind a recovery copy: each a name and the lines in which the plan before it differs, as comments below the copy's plan.
//!
//! The copy stays a plan that any reader opens; what of its steps does not fit is left out, and never anything of the plan.

use std::sync::Arc;

use super::hash;
use crate::plan::Plan;

/// Steps kept in a copy; what is older goes back in one.
const KEPT: usize = 100;

/// Bytes of steps kept: a copy has to stay well below the largest plan that is read.
const MOST_BYTES: usize = 1024 * 1024;

/// What stands above the steps, and above those that were taken back.
const HEAD: &str = "// Steps that led here, newest first";
const UNDONE: &str = "// Steps taken back, next first";

/// A step taken: its name, and the plan before it. A step taken back: its name, and the plan after it.
pub type Past = (String, Arc<Plan>);

/// Steps already written, so that a further one costs no more than itself, however many stand behind it.
#[derive(Default)]
pub struct Trail {
    steps: Vec<Written>,
    /// Of the plans that the newest of them were written from.
    texts: Vec<(Arc<Plan>, Arc<str>)>,
}

struct Written {
    newer: Arc<Plan>,
    older: Arc<Plan>,
    lines: Arc<str>,
}

impl Written {
    fn is(&self, newer: &Arc<Plan>, older: &Arc<Plan>) -> bool {
        Arc::ptr_eq(&self.newer, newer) && Arc::ptr_eq(&self.older, older)
    }
}

impl Trail {
    /// The lines that lead from a plan back through its steps, and on through those taken back. `past`: newest first;
    /// `undone`: next first.
    #[must_use]
    pub fn below(
        &mut self,
        now: &Arc<Plan>,
        past: impl Iterator<Item = Past>,
        undone: impl Iterator<Item = Past>,
    ) -> String {
        let (mut steps, mut used) = (Vec::new(), Vec::new());
        let mut out = self.chain(HEAD, now, past, &mut steps, &mut used);
        out += &self.chain(UNDONE, now, undone, &mut steps, &mut used);
        if !used.is_empty() {
            self.texts = used;
        }
        self.steps = steps;
        out
    }

    /// One way from a plan, step by step; nothing where there is none.
    fn chain(
        &self,
        head: &str,
        now: &Arc<Plan>,
        way: impl Iterator<Item = Past>,
        steps: &mut Vec<Written>,
        used: &mut Vec<(Arc<Plan>, Arc<str>)>,
    ) -> String {
        let (mut out, mut newer, before) = (format!("{head}\n"), Arc::clone(now), steps.len());
        for (name, older) in way.take(KEPT) {
            let known = self.steps.iter().find(|step| step.is(&newer, &older)).map(|step| Arc::clone(&step.lines));
            let lines = known.unwrap_or_else(|| {
                let (new, old) = (self.text(&newer, used), self.text(&older, used));
                step(&name, &new, &old).into()
            });
            if out.len() + lines.len() > MOST_BYTES {
                break;
            }
            out.push_str(&lines);
            steps.push(Written { newer, older: Arc::clone(&older), lines });
            newer = older;
        }
        if steps.len() == before { String::new() } else { out }
    }

    fn text(&self, plan: &Arc<Plan>, used: &mut Vec<(Arc<Plan>, Arc<str>)>) -> Arc<str> {
        if let Some((_, text)) = used.iter().find(|(p, _)| Arc::ptr_eq(p, plan)) {
            return Arc::clone(text);
        }
        let known = self.texts.iter().find(|(p, _)| Arc::ptr_eq(p, plan));
        let text = known.map_or_else(|| plan.to_text().into(), |(_, text)| Arc::clone(text));
        used.push((Arc::clone(plan), Arc::clone(&text)));
        text
    }
}

/// Where it begins, how many lines go, how many come, the hash of the whole; then the lines that come.
fn step(name: &str, newer: &str, older: &str) -> String {
    let (new, old): (Vec<&str>, Vec<&str>) = (newer.split('\n').collect(), older.split('\n').collect());
    let head = new.iter().zip(&old).take_while(|(a, b)| a == b).count();
    let most = new.len().min(old.len()) - head;
    let tail = new.iter().rev().zip(old.iter().rev()).take(most).take_while(|(a, b)| a == b).count();
    let lines = old.get(head..old.len() - tail).unwrap_or_default();
    let gone = new.len() - tail - head;
    let name = name.replace(['\n', '\r'], " ");
    let mut out = format!("//@ {head} {gone} {} {:016x} {name}\n", lines.len(), hash(older.as_bytes()));
    for line in lines {
        out.push_str(&format!("//|{line}\n"));
    }
    out
}

/// The steps below a copy's plan, newest first, and those taken back, next first, as far as they fit it.
#[must_use]
pub fn read(copy: &str, plan: &Plan) -> (Vec<Past>, Vec<Past>) {
    (read_chain(HEAD, copy, plan), read_chain(UNDONE, copy, plan))
}

fn read_chain(head: &str, copy: &str, plan: &Plan) -> Vec<Past> {
    let mut lines = copy.lines().skip_while(|line| *line != head).skip(1).peekable();
    let mut text = plan.to_text();
    let mut past = Vec::new();
    while let Some(line) = lines.next() {
        let mut coming = Vec::new();
        while let Some(line) = lines.peek().and_then(|line| line.strip_prefix("//|")) {
            coming.push(line);
            lines.next();
        }
        let Some((name, older)) = applied(line, &coming, &text) else { break };
        let Ok(plan) = Plan::from_text(&older) else { break };
        past.push((name, Arc::new(plan)));
        text = older;
    }
    past
}

fn applied(line: &str, coming: &[&str], newer: &str) -> Option<(String, String)> {
    let mut parts = line.strip_prefix("//@ ")?.splitn(5, ' ');
    let mut number = || parts.next()?.parse::<usize>().ok();
    let (start, gone, count) = (number()?, number()?, number()?);
    let sum = u64::from_str_radix(parts.next()?, 16).ok()?;
    let name = parts.next()?.to_string();
    let lines: Vec<&str> = newer.split('\n').collect();
    let (head, tail) = (lines.get(..start)?, lines.get(start.checked_add(gone)?..)?);
    let older = [head, coming, tail].concat().join("\n");
    (count == coming.len() && hash(older.as_bytes()) == sum).then_some((name, older))
}
