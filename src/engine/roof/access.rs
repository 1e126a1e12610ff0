//! The access stage: whether someone can still come to what has to be serviced, once the panels lie there.

use crate::physics::shadow::Rect;

/// What the access stage depends on.
#[derive(Clone, Debug, PartialEq)]
pub struct AccessInput {
    pub roof: Rect,
    /// What is serviced.
    pub things: Vec<Rect>,
    pub panels: Vec<Rect>,
    /// Width of a way.
    pub way_m: f64,
}

/// Whether a serviced thing can be come to, and the panel nearest to it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Access {
    /// A way of the width wanted leads from an edge of the roof along one of its long sides; also where none would
    /// without panels.
    pub has_way: bool,
    /// Index of the nearest panel, and how far it lies from the thing, m; negative where it lies over it.
    pub nearest: Option<(usize, f64)>,
}

/// Steps in which the roof is walked, m. Source: our own choice.
const STEP_M: f64 = 0.1;
/// A side as long as this share of the longest counts as a long one: a near-square thing has four. Source: our own choice.
const LONG: f64 = 0.9;

/// Access to each of the things. A ladder may stand at any edge.
#[must_use]
pub fn access(input: &AccessInput) -> Vec<Access> {
    let walked = Walked::of(input, &input.panels);
    let bare = Walked::of(input, &[]);
    let one = |thing: &Rect| {
        let near = input.panels.iter().enumerate().map(|(i, panel)| (i, -panel.depth_m(thing)));
        Access {
            has_way: walked.comes_to(thing) || !bare.comes_to(thing),
            nearest: near.min_by(|a, b| a.1.total_cmp(&b.1)),
        }
    };
    input.things.iter().map(one).collect()
}

/// Where a square as wide as a way can come from the roof's edge.
struct Walked<'a> {
    input: &'a AccessInput,
    panels: &'a [Rect],
    columns: usize,
    rows: usize,
    reached: Vec<bool>,
}

impl<'a> Walked<'a> {
    fn of(input: &'a AccessInput, panels: &'a [Rect]) -> Self {
        let cells = |length_m: f64| (((length_m - input.way_m) / STEP_M).floor().max(-1.0) + 1.0) as usize;
        let (columns, rows) = (cells(input.roof.l_m).min(1000), cells(input.roof.w_m).min(200));
        let mut walked = Self { input, panels, columns, rows, reached: vec![false; columns * rows] };
        walked.flood();
        walked
    }

    /// The square at a cell, its low corner there.
    fn square(&self, column: usize, row: usize) -> Rect {
        let (x_m, y_m) = (column as f64 * STEP_M, row as f64 * STEP_M);
        Rect { x_m, y_m, l_m: self.input.way_m, w_m: self.input.way_m }
    }

    fn is_clear(&self, square: &Rect) -> bool {
        self.panels.iter().all(|panel| panel.depth_m(square) <= 1e-9)
    }

    fn flood(&mut self) {
        let at_edge = |c: usize, r: usize| c == 0 || r == 0 || c + 1 == self.columns || r + 1 == self.rows;
        let all = (0..self.columns).flat_map(|c| (0..self.rows).map(move |r| (c, r)));
        let mut open: Vec<(usize, usize)> = all.filter(|(c, r)| at_edge(*c, *r)).collect();
        while let Some((c, r)) = open.pop() {
            let index = c * self.rows + r;
            let clear = c < self.columns && r < self.rows && self.is_clear(&self.square(c, r));
            match self.reached.get_mut(index) {
                Some(seen) if clear && !*seen => *seen = true,
                _ => continue,
            }
            open.extend([(c + 1, r), (c, r + 1)]);
            open.extend(c.checked_sub(1).map(|c| (c, r)));
            open.extend(r.checked_sub(1).map(|r| (c, r)));
        }
    }

    /// Whether a clear strip along one of a thing's long sides can be come to.
    fn comes_to(&self, thing: &Rect) -> bool {
        let way_m = self.input.way_m;
        let longest = thing.l_m.max(thing.w_m);
        let mut sides = Vec::with_capacity(4);
        if thing.l_m >= LONG * longest {
            sides.push(Rect { y_m: thing.y_m - way_m, w_m: way_m, ..*thing });
            sides.push(Rect { y_m: thing.y_m + thing.w_m, w_m: way_m, ..*thing });
        }
        if thing.w_m >= LONG * longest {
            sides.push(Rect { x_m: thing.x_m - way_m, l_m: way_m, ..*thing });
            sides.push(Rect { x_m: thing.x_m + thing.l_m, l_m: way_m, ..*thing });
        }
        sides.iter().any(|side| self.is_clear(side) && self.is_reached(side))
    }

    /// Whether some square that can be come to touches a strip.
    fn is_reached(&self, side: &Rect) -> bool {
        let cell = |m: f64| (m / STEP_M).max(0.0) as usize;
        let reach_m = self.input.way_m;
        let columns = cell(side.x_m - reach_m)..=cell(side.x_m + side.l_m);
        columns.into_iter().any(|c| {
            (cell(side.y_m - reach_m)..=cell(side.y_m + side.w_m)).any(|r| {
                let reached = r < self.rows && self.reached.get(c * self.rows + r) == Some(&true);
                reached && self.square(c, r).depth_m(side) >= -1e-9
            })
        })
    }
}
