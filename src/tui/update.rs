//! Placeholder until the update loop's own module stands.

use crate::tui::message::{Effect, Message};
use crate::tui::model::Model;

/// Leaves on `q`.
pub fn update(model: &mut Model, message: Message) -> Option<Effect> {
    match message {
        Message::Key(key) if key.code == crossterm::event::KeyCode::Char('q') => Some(Effect::Quit { clean: true }),
        Message::Key(key)
            if key.code == crossterm::event::KeyCode::Char('z')
                && key.modifiers.contains(crossterm::event::KeyModifiers::CONTROL) =>
        {
            Some(Effect::Suspend)
        }
        Message::Resize(columns, rows) => {
            model.size = (columns, rows);
            None
        }
        Message::Paste(text) => {
            model.say(text);
            None
        }
        other => {
            model.say(format!("{other:?}").chars().take(60).collect::<String>());
            None
        }
    }
}
