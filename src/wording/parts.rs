//! The small parts of a job in words.

use crate::engine::parts::{FEET_A_TUBE, SPARE_LUGS, SmallParts};
use crate::plan::Plan;
use crate::words::counted;

use super::number::{UNKNOWN, num};
use super::run::waiting;

/// The small parts by the drawing, a line each with what it is counted by; empty where there are none.
#[must_use]
pub fn small_parts(plan: &Plan) -> Vec<String> {
    let parts = SmallParts::of(plan);
    let mut out: Vec<String> = Vec::new();
    for ((gauge, stud), ends) in &parts.ends {
        let gauge = gauge.map_or_else(|| format!("gauge {UNKNOWN}"), |g| g.to_string());
        out.push(match stud {
            Some(stud) => {
                format!(
                    "{} {gauge} for {stud}: {ends} at ends of new wire, {SPARE_LUGS} to spare",
                    counted(ends + SPARE_LUGS, "lug")
                )
            }
            None => format!(
                "{} of {gauge} on terminals without a stud entered: lug or ferrule {UNKNOWN}",
                counted(ends, "end")
            ),
        });
    }
    if parts.lugs() > 0 {
        out.push(format!("adhesive heat-shrink: a piece on each lug, {}", parts.lugs()));
    }
    if parts.glands() > 0 {
        let runs: Vec<&str> = parts.through_roof.iter().map(|(run, _)| run.as_str()).collect();
        let cables = match parts.cables() {
            Ok(n) => counted(n, "conductor"),
            Err(waits) => format!("{UNKNOWN} conductors, {}", waiting(plan, &waits)),
        };
        out.push(format!("1 roof gland, where {} comes in: {cables}", runs.join(", ")));
    }
    if parts.glands() > 0 || parts.feet.is_some() {
        let tubes = match parts.tubes() {
            Ok(n) => counted(n, "tube"),
            Err(_) => format!("{UNKNOWN} tubes"),
        };
        let feet = parts.feet.as_ref().map(|feet| match feet {
            Ok(n) => format!("1 for each {} of {} mounting feet", num(FEET_A_TUBE), num(*n)),
            Err(waits) => waiting(plan, waits),
        });
        let entry = (parts.glands() > 0).then(|| "1 for the cable entry".into());
        let by: Vec<String> = [feet, entry].into_iter().flatten().collect();
        out.push(format!("{tubes} of sealant of 10 oz, made for this skin: {}", by.join(", ")));
    }
    let known = parts.fuses.iter().filter_map(|(of, _)| *of);
    let spares: Vec<String> = known.map(|(family, amps)| format!("{} A {family}", num(amps.0))).collect();
    if !spares.is_empty() {
        out.push(format!("spare fuses, one of each: {}", spares.join(", ")));
    }
    if let Some((_, n)) = parts.fuses.iter().find(|(of, _)| of.is_none()) {
        out.push(format!("{} without a type or a rating: spare {UNKNOWN}", counted(n, "fuse")));
    }
    out
}
