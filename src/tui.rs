//! Full screen: session, inbox, model, update, view.

pub mod bytes;
pub mod inbox;
pub mod message;
pub mod session;
pub mod worker;
