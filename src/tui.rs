//! Full screen: session, inbox, model, update, view.

pub mod bench;
pub mod form;
pub mod keymap;
pub mod line_edit;
pub mod message;
pub mod model;
pub mod theme;
pub mod words;
