//! Full screen: session, inbox, model, update, view.

pub mod message;
