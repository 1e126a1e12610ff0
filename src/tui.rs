//! Full screen: session, inbox, model, update, view.

pub mod bench;
pub mod bytes;
pub mod form;
pub mod inbox;
pub mod keymap;
pub mod line_edit;
pub mod message;
pub mod model;
pub mod session;
pub mod theme;
pub mod words;
pub mod worker;
