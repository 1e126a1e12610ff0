//! Full screen: session, inbox, model, update, view.

pub mod bench;
pub mod bytes;
pub mod choice;
pub mod effect;
pub mod form;
pub mod inbox;
pub mod keymap;
pub mod late;
pub mod layout;
pub mod line_edit;
pub mod message;
pub mod model;
pub mod offer;
pub mod screen;
pub mod seasons;
pub mod session;
pub mod shop;
pub mod theme;
pub mod update;
pub mod view;
pub mod words;
pub mod worker;

use std::io;
use std::time::SystemTime;

use thiserror::Error;

use crate::store::Store;
use crate::tui::effect::Performer;
use crate::tui::inbox::{Arrival, Inbox};
use crate::tui::message::{Effect, Message, OpenWhat};
use crate::tui::model::Model;
use crate::tui::session::Session;
use crate::tui::theme::Palette;

/// What the command line asked of the full screen.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Request {
    /// What to open; nothing: recent plans and samples are shown.
    pub open: Option<OpenWhat>,
    pub palette: Option<Palette>,
    /// Lines in ASCII.
    pub ascii: bool,
}

/// Why the full screen ended otherwise than by the user's wish.
#[derive(Debug, Error)]
pub enum Failure {
    /// This is no terminal for it. The words point to what works here.
    #[error("{0}")]
    Refused(String),
    /// What was asked for cannot be opened.
    #[error("{0}")]
    Unreadable(String),
    #[error("the terminal failed: {0}")]
    Terminal(#[from] io::Error),
}

/// How the full screen ended.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Ended {
    /// As the user wished.
    Quit,
    /// The terminal is gone; the recovery copy stays.
    HangUp,
    /// A signal of this number asked; whose edits stay in a recovery copy, if any do.
    Signal(i32, Option<String>),
}

/// Shows the full screen until it is left. The terminal is given back on every way out.
///
/// # Errors
/// [`Failure`] says why it could not be shown, before anything was drawn, or why it broke off.
pub fn run(request: &Request) -> Result<Ended, Failure> {
    if let Some(words) = session::refusal_here() {
        return Err(Failure::Refused(words));
    }
    session::install_panic_hook();
    // Before the terminal is taken: from then on a signal must find us listening.
    let inbox = Inbox::open()?;
    let mut performer = Performer::new(Store::real(), inbox.post());
    let (start, remarks) = performer.start(request, crossterm::terminal::size()?).map_err(Failure::Unreadable)?;
    let mut model = Model::new(start);
    for remark in remarks {
        model.say(remark);
    }
    if let Some(stood) = performer.stood() {
        update::update(&mut model, stood);
    }
    let mut session = Session::start()?;
    turn(&mut model, &mut session, &inbox, &mut performer)
}

/// The loop: draw, keep the recovery copy, wait, take all that arrived.
fn turn(model: &mut Model, session: &mut Session, inbox: &Inbox, performer: &mut Performer) -> Result<Ended, Failure> {
    loop {
        performer.give_up(model);
        // What the screen shows besides what the keys compute begins while the frame is drawn.
        while let Some(late) = update::late(model) {
            if let Some(clean) = follow(Some(late), model, session, performer)? {
                performer.leave(model, clean);
                return Ok(Ended::Quit);
            }
        }
        // On a line that holds the frame up, what was typed must not wait for it.
        let mut trouble = None;
        let drawn =
            session.draw(|frame| view::view(model, frame), || trouble = trouble.take().or(performer.keep(model)));
        if let Err(error) = drawn {
            // A terminal that takes nothing is gone, whether or not a signal says so.
            performer.leave(model, false);
            return if error.raw_os_error().is_some() { Ok(Ended::HangUp) } else { Err(error.into()) };
        }
        let trouble = trouble.or_else(|| performer.keep(model));
        let mut waiting: Vec<Arrival> = trouble.map(Arrival::Message).into_iter().collect();
        if waiting.is_empty() {
            waiting = inbox.wait();
        }
        for arrival in waiting {
            let next = match arrival {
                Arrival::Message(Message::HangUp) => {
                    update::update(model, Message::HangUp);
                    performer.leave(model, false);
                    return Ok(Ended::HangUp);
                }
                Arrival::Ended(signal) => {
                    update::update(model, Message::HangUp);
                    return Ok(Ended::Signal(signal, performer.leave(model, false)));
                }
                Arrival::Message(message) => update::update(model, message),
                Arrival::Stop => Some(Effect::Suspend),
                Arrival::Continued => {
                    session.resume()?;
                    update::update(model, Message::Resumed)
                }
            };
            if let Some(clean) = follow(next, model, session, performer)? {
                performer.leave(model, clean);
                return Ok(Ended::Quit);
            }
        }
    }
}

/// Performs an effect and what its answer asks for in turn. `Some`: the user leaves, cleanly or keeping the copy.
fn follow(
    mut next: Option<Effect>,
    model: &mut Model,
    session: &mut Session,
    performer: &mut Performer,
) -> Result<Option<bool>, Failure> {
    while let Some(effect) = next.take() {
        let answer = match effect {
            Effect::Quit { clean } => return Ok(Some(clean)),
            Effect::Suspend => {
                // What was typed up to here is safe before the process stands still.
                let trouble = performer.keep(model);
                session.suspend();
                trouble
            }
            Effect::Redraw => {
                session.redraw_all()?;
                None
            }
            other => performer.perform(other, model),
        };
        let opened = matches!(answer, Some(Message::Opened(Ok(_))));
        next = answer.and_then(|message| update::update(model, message));
        if let Some(stood) = performer.stood().filter(|_| opened) {
            update::update(model, stood);
        }
    }
    Ok(None)
}

/// Today's date in UTC, year-month-day.
///
/// Source: the proleptic Gregorian calendar, days counted in eras of 400 years that begin in March.
#[must_use]
pub fn date_of(time: SystemTime) -> String {
    let seconds = time.duration_since(SystemTime::UNIX_EPOCH).map_or(0, |d| d.as_secs());
    let days = i64::try_from(seconds / 86_400).unwrap_or(0) + 719_468;
    let (era, day_of_era) = (days / 146_097, days % 146_097);
    let year_of_era = (day_of_era - day_of_era / 1_460 + day_of_era / 36_524 - day_of_era / 146_096) / 365;
    let day_of_year = day_of_era - (365 * year_of_era + year_of_era / 4 - year_of_era / 100);
    let month = (5 * day_of_year + 2) / 153;
    let day = day_of_year - (153 * month + 2) / 5 + 1;
    let (month, later) = if month < 10 { (month + 3, 0) } else { (month - 9, 1) };
    format!("{:04}-{month:02}-{day:02}", year_of_era + era * 400 + later)
}
