//! Where the user stands, in a word that the list of recent plans keeps.

use super::Model;

impl Model {
    /// The numbered screen and the run: `4 W2`.
    #[must_use]
    pub fn stood(&self) -> String {
        let run = self.plan().and_then(|plan| plan.runs.get(self.bench.run));
        match run {
            Some(run) => format!("{} {}", self.screen, run.id),
            None => self.screen.to_string(),
        }
    }
}
