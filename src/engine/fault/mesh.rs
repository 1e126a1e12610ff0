//! A fault at a fuse of a run that lies on a loop, or behind one: it comes by all ways at once, and on a loop from either end; from
//! the bank, and from every start battery that is joined to it.

use crate::engine::circuit::{Node, Role, device_kind, on_bank_side};
use crate::engine::context::{Context, finite};
use crate::engine::inflow::{is_behind_loop, is_on_loop};
use crate::physics::net::ohm_between;
use crate::plan::{DeviceKind, FieldPath, Figure};

use super::cold::frame;
use super::joined::{Branch, Fed, driven, larger};
use super::{Back, Fault, Over, known_or_none, own_ohm};

/// The most that all batteries drive through a fuse from an end of its run, the run itself open there; none where it lies on no
/// loop nor behind one. What comes back by the negatives that lie beside each run counts with it, and no other.
///
/// Source: Kirchhoff's laws.
pub(super) fn most(fed: &Fed<'_>) -> Option<Figure<Fault>> {
    let Fed { c, source, index, run, fuse, over } = *fed;
    let on_loop = is_on_loop(c, index);
    if !on_loop && !is_behind_loop(c, index) {
        return None;
    }
    let link = c.circuit.links.get(index)?;
    let back = match over.frame {
        true => frame(c).transpose()?,
        false => Ok(Back::Negatives),
    };
    let from_end = |from: bool| -> Option<Figure<Fault>> {
        let end = if from { link.from } else { link.to }?;
        let through = || {
            let (back, source) = (back.clone()?, source.as_ref().map_err(Clone::clone)?);
            let joined = fed.joined_to(end)?;
            let starts: Vec<(Node, Branch)> = joined.iter().map(|(stands, _, own)| (*stands, *own)).collect();
            let mesh = Mesh::of(c, back, (end, index), joined.iter().flat_map(|(_, way, _)| way), over)?;
            let own = known_or_none(own_ohm(c, (index, run), fuse, from, over.frame), over.unknown_is_none)?;
            mesh.driven(c, Branch::of(source, source.ohm() + back.beside_ohm()), &starts, own)
        };
        through().transpose()
    };
    let ends = [true, false].into_iter().filter(|from| on_loop || *from == link.near_from);
    ends.filter_map(from_end).reduce(|a, b| Ok(larger(a?, Some(b?))))
}

/// The positives of a plan but for one run, and the end of that run.
struct Mesh {
    /// Numbers in the order in which places are met, the bank's first.
    numbers: Vec<Option<usize>>,
    count: usize,
    conductors: Vec<(usize, usize, f64)>,
    end: usize,
}

impl Mesh {
    fn number(&mut self, slot: usize) -> usize {
        let Some(number) = self.numbers.get_mut(slot) else { return 0 };
        *number.get_or_insert_with(|| {
            self.count += 1;
            self.count - 1
        })
    }

    /// Cold ohms of all conductors. What the end hangs on by the shortest way, loops and the ways to start batteries have to be
    /// known.
    fn of<'a>(
        c: &Context<'_>,
        back: Back,
        (end, but): (Node, usize),
        to_starts: impl Iterator<Item = &'a usize>,
        over: Over,
    ) -> Figure<Self> {
        let mut mesh = Self { numbers: vec![None; c.circuit.places()], count: 0, conductors: Vec::new(), end: 0 };
        mesh.number(c.circuit.slot(Node::Bank));
        mesh.end = mesh.number(c.circuit.slot(end));
        // What a converter gives on is its own, whatever drives it.
        let converts = |node: Node| node != end && device_kind(c.plan, node) == Some(DeviceKind::Converter);
        let mut asked: Vec<usize> = to_starts.copied().collect();
        asked.extend(c.circuit.links.get(but).map_or(&[][..], |l| l.upstream.as_slice()));
        for (i, link) in c.circuit.links.iter().enumerate() {
            let (Some(from), Some(to)) = (link.from, link.to) else { continue };
            let is_one = (on_bank_side(link.role) && link.role != Role::Sense) || link.role == Role::StartLead;
            if !is_one || i == but || from == to || converts(from) || converts(to) {
                continue;
            }
            let ends = [from, to].map(|node| mesh.number(c.circuit.slot(node)));
            let ohm = match known_or_none(back.ohm_of(c, i), over.unknown_is_none) {
                Err(missing) if link.looped || asked.contains(&i) => return Err(missing),
                // A branch that nothing comes by need not be known.
                ohm => ohm.unwrap_or(0.0),
            };
            mesh.conductors.push((ends[0], ends[1], ohm));
        }
        Ok(mesh)
    }

    /// What batteries drive at the end of the run, and on through so many ohms of its own; none where nothing leads to the bank.
    ///
    /// Source: Thevenin's theorem, and reciprocity: what a battery raises the open end to is what one ampere put in there raises
    /// that battery to, by its own ohms.
    fn driven(
        mut self,
        c: &Context<'_>,
        bank: Branch,
        starts: &[(Node, Branch)],
        own_ohm: f64,
    ) -> Figure<Option<Fault>> {
        let bank_v = || FieldPath::new("bank.unit_v");
        if starts.is_empty() {
            let Some(ahead) = ohm_between(self.count, &self.conductors, self.end, 0) else { return Ok(None) };
            let amps = finite(bank.volts / (bank.ohm + own_ohm + ahead), bank_v)?;
            return Ok(Some(Fault { amps, margin: bank.margin }));
        }
        let mut sources = vec![(0, bank)];
        for (stands, own) in starts {
            sources.push((self.number(c.circuit.slot(*stands)), *own));
        }
        let ground = self.count;
        let posts = sources.iter().map(|(place, own)| (*place, ground, own.ohm.max(1e-9)));
        let all: Vec<(usize, usize, f64)> = self.conductors.iter().copied().chain(posts).collect();
        let between = |a: usize, b: usize| ohm_between(ground + 1, &all, a, b);
        let Some(at_end) = between(self.end, ground) else { return Ok(None) };
        let open_v = |(place, own): &(usize, Branch)| {
            let raised = between(*place, ground)? + at_end - between(*place, self.end)?;
            Some(own.volts * raised / 2.0 / own.ohm.max(1e-9))
        };
        let open: f64 = sources.iter().filter_map(open_v).sum();
        let amps = finite(open / (at_end + own_ohm), bank_v)?;
        let branches: Vec<Branch> = sources.into_iter().map(|(_, own)| own).collect();
        Ok(Some(driven(&branches, amps)))
    }
}
