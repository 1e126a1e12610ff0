//! Steps that would cure a finding.
use super::{Engine, Finding};
use crate::plan::{Plan, Step};
use crate::stock::Stock;
pub(super) fn of(_: &mut Engine, _: &Plan, _: &Stock, _: &Finding) -> Vec<Step> {
    Vec::new()
}
