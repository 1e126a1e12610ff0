//! A coach that is tilted toward any, standing one way all the time: how far its year lies from the mean of all ways.

use crate::plan::{Edit, FieldPath, Figure, Plan, Step, Value};
use crate::stock::Stock;

use super::Engine;
use super::context::missing;
use super::report::{OneWay, Ways};

/// Ways that are looked at, evenly round the circle. Source: our own choice; a coach is parked no closer than that.
const WAYS: usize = 8;

impl Engine {
    /// The year with every stay that is tilted toward any turned one way, for each of eight ways; given up between two of
    /// them where it is no longer wanted, none then.
    pub fn ways_while(&mut self, plan: &Plan, stock: &Stock, is_wanted: impl Fn() -> bool) -> Option<Figure<Ways>> {
        let stays: Vec<FieldPath> =
            plan.toward_any().map(|s| FieldPath::from("stays").join(&s.id).join("heading_deg")).collect();
        if stays.is_empty() {
            return Some(Err(missing("")));
        }
        let mut each = Vec::with_capacity(WAYS);
        for k in 0..WAYS {
            if !is_wanted() {
                return None;
            }
            // Its light is wanted once.
            match self.fork().one_way(plan, stock, &stays, 360.0 * k as f64 / WAYS as f64) {
                Ok(way) => each.push(way),
                Err(waits) => return Some(Err(waits)),
            }
        }
        Some(Ok(Ways { each }))
    }

    fn one_way(&mut self, plan: &Plan, stock: &Stock, stays: &[FieldPath], heading_deg: f64) -> Figure<OneWay> {
        let turn = |at: &FieldPath| Edit::Set { at: at.clone(), to: Value::Number(heading_deg) };
        let step = Step { name: String::new(), edits: stays.iter().map(turn).collect() };
        let turned = plan.with(&step).map_err(|_| missing(""))?;
        let year = self.evaluate(&turned, stock).year;
        let month = |m: usize| -> Figure<(f64, Option<f64>)> {
            let figures = year.months.get(m).ok_or_else(|| missing(""))?;
            let short = figures.shortfall_wh_day.as_ref().ok().map(|wh| wh.0);
            Ok((figures.harvest_wh_day.clone()?.0, short))
        };
        let mut months = Vec::with_capacity(12);
        for m in 0..12 {
            months.push(month(m).ok());
        }
        Ok(OneWay {
            heading_deg,
            harvest_kwh: year.harvest_kwh.clone()?,
            unmet_pct: year.unmet_pct.clone().ok(),
            months,
        })
    }
}
