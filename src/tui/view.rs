//! Placeholder until the screens stand.

use crate::tui::model::Model;
use ratatui::Frame;
use ratatui::style::{Modifier, Style};
use ratatui::widgets::Paragraph;

/// Shows the messages.
pub fn view(model: &Model, frame: &mut Frame) {
    let text = format!("coachwire {:?}\n{}", model.size, model.messages.join("\n"));
    frame.render_widget(Paragraph::new(text).style(Style::new().add_modifier(Modifier::BOLD)), frame.area());
}
