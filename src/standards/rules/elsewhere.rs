//! Where a rule stands under marine and metric work, where that is another document than in US RV work.

use super::super::cited::{
    AMPACITY_USE, BOND, BREAKAWAY, Cited, FUSE_LOADING, NEXT_RATING, PARALLEL, PV_CONDUCTOR, PV_CURRENT, PV_VOLTS,
    SHOCK, STRING_FACTOR, STRING_FUSE, VENT_LEAST,
};
use super::super::kinds::Basis;
use super::super::source::{COMMON_PRACTICE, Source, Standing};

/// Source: as each says.
static CFR_UNSHEATHED: Source = Source::new("33 CFR 183.455", "(b)(1), 7 in", Standing::Verified);
static CFR_SHEATHED: Source = Source::new("33 CFR 183.455", "(b)(2), 40 in sheathed", Standing::Verified);
static ABYC_POST: Source = Source::new("ABYC E-11", "72 in sheathed at the post", Standing::FromMemory);
static ISO_NEAR: Source = Source::new("ISO 10133", "200 mm", Standing::FromMemory);
static NO_SMALL_WIRE: Source =
    Source::new("common practice", "no such limits outside RV work", Standing::CommonPractice);
static NO_CAP: Source =
    Source::new("common practice", "no cap by terminals in boat practice", Standing::CommonPractice);
static ABYC_BUNDLES: Source = Source::new("ABYC E-11", "bundle factors", Standing::FromMemory);
static ABYC_BRANCH: Source = Source::new("ABYC E-11", "16 AWG", Standing::FromMemory);
static PRACTICE_BRANCH: Source = Source::new("common practice", "1.5 mm2", Standing::CommonPractice);

static TAP_TAKEN_OVER: Source =
    Source::new("common practice", "NEC 240.21(B)(2), taken over from RVs", Standing::CommonPractice);

/// The document that a rule has under a basis other than US RV, where it is not the row's own.
#[must_use]
pub(super) fn source(id: &str, basis: Basis) -> Option<&'static Source> {
    let cited: &'static Cited = match id {
        "array-current-factor" => &PV_CURRENT,
        "pv-conductor-factor" => &PV_CONDUCTOR,
        "string-fuse-factor" => &STRING_FACTOR,
        "voc-stop-pct" => &PV_VOLTS,
        "shock-v" => &SHOCK,
        "life-safety-hold-min" => &BREAKAWAY,
        "fuse-factor" => &FUSE_LOADING,
        "conductor-factor" => &AMPACITY_USE,
        "next-rating-up" => &NEXT_RATING,
        "unfused-strings" => &STRING_FUSE,
        "parallel-least-mm2" => &PARALLEL,
        "bond-least-mm2" => &BOND,
        "vent-area-mm2" => &VENT_LEAST,
        _ => return own(id, basis),
    };
    (basis != Basis::UsRv).then(|| cited.of(basis))
}

fn own(id: &str, basis: Basis) -> Option<&'static Source> {
    Some(match (id, basis) {
        (_, Basis::UsRv) => return None,
        ("fuse-distance-note-m" | "fuse-distance-m", Basis::Marine) => &CFR_UNSHEATHED,
        ("fuse-distance-sheathed-m", Basis::Marine) => &CFR_SHEATHED,
        ("fuse-distance-post-m", Basis::Marine) => &ABYC_POST,
        (
            "fuse-distance-note-m" | "fuse-distance-m" | "fuse-distance-sheathed-m" | "fuse-distance-post-m",
            Basis::Metric,
        ) => &ISO_NEAR,
        ("small-wire-limits", _) => &NO_SMALL_WIRE,
        ("tap-times" | "tap-length-m", _) => &TAP_TAKEN_OVER,
        ("terminal-c", _) => &NO_CAP,
        ("bundle-marine", _) => &ABYC_BUNDLES,
        ("least-branch-mm2", Basis::Marine) => &ABYC_BRANCH,
        ("least-branch-mm2", Basis::Metric) => &PRACTICE_BRANCH,
        ("drop-critical" | "drop-other", Basis::Metric) => &COMMON_PRACTICE,
        _ => return None,
    })
}
