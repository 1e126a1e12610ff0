//! For every switch, disconnect and fuse that opens: what goes dead, what stays alive behind it.

use crate::engine::isolation as opened;
use crate::wording::isolation::{What, said};
use crate::wording::lines::wrap;

use super::Matter;
use super::sheet::head;

const TITLE: &str = "ISOLATION: what each switch, disconnect and line fuse makes dead";
const WORDS: &str = "DEAD: no source reaches it. STAYS LIVE: a battery still reaches it, by the way named. HELD UP: no \
                     battery of this plan reaches it, but a source that comes and goes does, such as panels in daylight, \
                     shore power, a running engine or a coupled vehicle. What one does not name loses nothing when it \
                     opens: live before, it is live still.";
/// Source: common practice.
const PROVE: &str = "Prove dead with a meter before touching: try the meter on something known to be live, then the \
                     conductor, both poles and to the frame, then the live thing again. Panels are live at their own \
                     terminals in any light, whatever is opened. The wire between a source and what was opened stays \
                     live. Inverters and controllers hold charge for a while after \
                     they are cut off. A fuse is drawn only while nothing flows through it. What nobody has drawn in the plan is not on this sheet. (common practice)";

/// The paper.
pub(super) fn text(matter: &Matter<'_>) -> String {
    let mut out = String::new();
    head(&mut out, matter, TITLE, "see checks");
    for words in [WORDS, PROVE] {
        out.push('\n');
        wrap(&mut out, "", words);
    }
    let all = opened(matter.plan);
    if all.is_empty() {
        out.push('\n');
        wrap(&mut out, "", "The plan has no switch, disconnect, breaker or line fuse: nothing in it can be opened.");
    }
    for each in &all {
        out.push('\n');
        for (what, text) in said(matter.plan, each) {
            wrap(&mut out, if what == What::Opened { "" } else { "  " }, &text);
        }
    }
    out
}
