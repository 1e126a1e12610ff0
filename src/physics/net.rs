//! Conductors joined in any way: what lies between two places.

/// Ohms that nothing is under, so that no two places are one. Source: under any joint.
const LEAST_OHM: f64 = 1e-9;

/// Ohms between two of so many places that conductors join, each with its two places and its ohms; none where none leads from
/// the one to the other.
/// Source: Kirchhoff's laws, by nodal analysis: one ampere in at `a` and out at `b`.
#[must_use]
pub fn ohm_between(places: usize, conductors: &[(usize, usize, f64)], a: usize, b: usize) -> Option<f64> {
    if a == b {
        return Some(0.0);
    }
    let (places, conductors, a, b) = between(places, conductors, a, b);
    let conductors = conductors.as_slice();
    let joined = reached(places, conductors, b);
    if joined.get(a) != Some(&true) {
        return None;
    }
    // Volts of every place over `b`; places that nothing joins to it stay at nothing.
    let mut rows: Vec<Vec<f64>> = vec![vec![0.0; places + 1]; places];
    let mut add = |row: usize, column: usize, siemens: f64| {
        if let Some(cell) = rows.get_mut(row).and_then(|r| r.get_mut(column)) {
            *cell += siemens;
        }
    };
    for place in (0..places).filter(|p| *p == b || joined.get(*p) != Some(&true)) {
        add(place, place, 1.0);
    }
    let counts = |place: usize| place != b && joined.get(place) == Some(&true);
    for (from, to, ohm) in conductors {
        let siemens = ohm.max(LEAST_OHM).recip();
        for (own, other) in [(*from, *to), (*to, *from)].into_iter().filter(|(own, other)| counts(*own) && own != other)
        {
            add(own, own, siemens);
            if counts(other) {
                add(own, other, -siemens);
            }
        }
    }
    add(a, places, 1.0);
    solved(rows).get(a).copied().filter(|ohm| ohm.is_finite())
}

/// The same with only the conductors that something may flow in: nothing does in those to a place that nothing leads on from,
/// and most of a plan are such. Places that are left are numbered anew in their order.
/// Source: Kirchhoff's current law.
fn between(
    places: usize,
    conductors: &[(usize, usize, f64)],
    a: usize,
    b: usize,
) -> (usize, Vec<(usize, usize, f64)>, usize, usize) {
    let mut left: Vec<(usize, usize, f64)> = conductors.to_vec();
    let mut ends = vec![0_usize; places];
    loop {
        ends.fill(0);
        for place in left.iter().flat_map(|(from, to, _)| [*from, *to]) {
            ends.get_mut(place).into_iter().for_each(|n| *n += 1);
        }
        let leads_on = |place: usize| place == a || place == b || ends.get(place).is_some_and(|n| *n > 1);
        let before = left.len();
        left.retain(|(from, to, _)| leads_on(*from) && leads_on(*to));
        if left.len() == before {
            break;
        }
    }
    let mut numbers = vec![0; places];
    let mut count = 0;
    for (place, number) in numbers.iter_mut().enumerate() {
        if place == a || place == b || ends.get(place).is_some_and(|n| *n > 0) {
            *number = count;
            count += 1;
        }
    }
    let number = |place: usize| numbers.get(place).copied().unwrap_or(0);
    for (from, to, _) in &mut left {
        (*from, *to) = (number(*from), number(*to));
    }
    (count, left, number(a), number(b))
}

/// The places that conductors join to one.
fn reached(places: usize, conductors: &[(usize, usize, f64)], start: usize) -> Vec<bool> {
    let mut seen = vec![false; places];
    let mut stack = vec![start];
    while let Some(place) = stack.pop() {
        let Some(mark) = seen.get_mut(place) else { continue };
        if std::mem::replace(mark, true) {
            continue;
        }
        let beyond = conductors.iter().filter_map(|(from, to, _)| match place {
            p if p == *from => Some(*to),
            p if p == *to => Some(*from),
            _ => None,
        });
        stack.extend(beyond);
    }
    seen
}

/// Equations solved, each with its right side last. Source: Gauss' elimination; a matrix of conductances needs no exchange of
/// rows, since none of its diagonal is less than the rest of its row.
fn solved(mut rows: Vec<Vec<f64>>) -> Vec<f64> {
    let count = rows.len();
    for k in 0..count {
        let Some((pivot, below)) = rows.get_mut(k..).and_then(<[_]>::split_first_mut) else { break };
        let Some(own) = pivot.get(k).copied().filter(|x| x.abs() > 0.0) else { continue };
        for row in below {
            let factor = row.get(k).copied().unwrap_or(0.0) / own;
            if factor != 0.0 {
                for (x, p) in row.iter_mut().zip(pivot.iter()).skip(k) {
                    *x -= factor * p;
                }
            }
        }
    }
    let mut found = vec![0.0; count];
    for k in (0..count).rev() {
        let Some(row) = rows.get(k) else { continue };
        let known: f64 = row.iter().zip(&found).skip(k + 1).map(|(x, v)| x * v).sum();
        let (right, own) = (row.get(count).copied().unwrap_or(0.0), row.get(k).copied().unwrap_or(1.0));
        if let Some(volts) = found.get_mut(k) {
            *volts = (right - known) / own;
        }
    }
    found
}
