//! What trees round a stay are taken as, beside the figures that rest on it.

use crate::document::Shown;
use crate::engine::sites::hidden_share;
use crate::tui::words::fixed;

use super::{Lines, say};

/// One line for each kind of trees, with the stays that have it.
pub(super) fn taken_as(shown: &Shown, lines: &mut Lines) {
    let mut told = Vec::new();
    for stay in &shown.plan.stays {
        let Some(taken) = stay.sky.taken_as().filter(|_| !told.contains(&stay.sky)) else { continue };
        told.push(stay.sky);
        let same = shown.plan.stays.iter().filter(|s| s.sky == stay.sky);
        let stays: Vec<&str> = same.map(|s| s.id.as_str()).collect();
        say(
            lines,
            &format!(
                "{}: {taken}. Behind them no sun and no bright ring round it, and {} % of the rest of the sky is gone; what \
                 tilted panels get off the ground stays as in the open, and so does the sun column",
                stays.join(", "),
                fixed(hidden_share(stay.sky) * 100.0, 0)
            ),
        );
    }
}
