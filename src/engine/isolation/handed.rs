//! What controllers and DC-DC chargers hand on of what reaches them.

use super::{Opener, View};
use crate::engine::circuit::Node;

impl View<'_> {
    /// What a controller or a DC-DC charger no longer feeds once something is open.
    pub(super) fn lost_onward(&self, opener: Opener) -> Vec<Node> {
        let controllers = (0..self.plan.controllers.len()).map(Node::Controller);
        let mut lost = Vec::new();
        for node in controllers.chain((0..self.plan.chargers.len()).map(Node::Charger)) {
            let after = self.handed(node, Some(opener));
            lost.extend(self.handed(node, None).into_iter().filter(|n| !after.contains(n)));
        }
        lost
    }

    /// What a controller or a DC-DC charger that something reaches feeds onward by wire.
    fn handed(&self, node: Node, opened: Option<Opener>) -> Vec<Node> {
        let by = |source: Node| self.hands_on(node, source, "", opened, &|_| true).is_some();
        let is_fed = match node {
            Node::Controller(_) => by(node),
            _ => self.sources.iter().any(|s| by(s.node) && self.wired(s.node, opened).contains(&node)),
        };
        if is_fed { self.wired(node, opened) } else { Vec::new() }
    }
}
