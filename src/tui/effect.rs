//! What the update loop asked for, done; answered by a message.

use std::sync::Arc;
use std::time::SystemTime;

use crate::document::search::{Ask, Goal};
use crate::tui::Request;
use crate::tui::inbox::Post;
use crate::tui::message::{Effect, Message};
use crate::tui::model::{Model, Start};
use crate::tui::worker::Workers;

/// The hands of the full screen: files and workers.
pub struct Performer {
    workers: Workers,
    /// Revision of the document that the recovery copy (or the file) holds.
    kept: u64,
}

impl Performer {
    /// With workers that answer to `post`.
    #[must_use]
    pub fn new(post: Post) -> Self {
        Self { workers: Workers::new(post), kept: 0 }
    }

    /// What the model starts with.
    ///
    /// # Errors
    /// In words, why what was asked for cannot be opened.
    pub fn start(&mut self, request: &Request, size: (u16, u16)) -> Result<Start, String> {
        let no_color = std::env::var("NO_COLOR").ok();
        let term = std::env::var("TERM").ok();
        let palette = super::palette_for(request.palette, no_color.as_deref(), term.as_deref());
        Ok(Start {
            palette: Some(palette),
            ascii: request.ascii,
            size,
            today: super::date_of(SystemTime::now()),
            ..Start::default()
        })
    }

    /// Performs an effect; its answer, if it is known at once.
    pub fn perform(&mut self, effect: Effect, model: &Model) -> Option<Message> {
        match effect {
            Effect::Ladder { generation, plan, run } => {
                let document = model.document.as_ref()?;
                let (engine, stock) = (document.engine(), Arc::clone(document.stock()));
                self.workers.ask(Ask { generation, engine, base: plan, stock, goal: Goal::Ladder { run } });
                None
            }
            _ => None,
        }
    }

    /// Writes the recovery copy if the document has changed since; what went wrong, if anything.
    pub fn keep(&mut self, model: &Model) -> Option<Message> {
        self.kept = model.document.as_ref()?.revision();
        None
    }

    /// The program ends. `clean`: the recovery copy is no longer needed.
    pub fn leave(&mut self, model: &Model, clean: bool) {
        if !clean {
            self.keep(model);
        }
    }
}
