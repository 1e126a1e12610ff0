//! Screens: scripts of keys through the real update loop, pictures of what is drawn.
//!
//! Pictures are text rows, a line `---`, then style rows: R reverse, B bold, U underlined, C the real cursor, `.` none.
//! After a change that is meant: `INSTA_UPDATE=always cargo test --test main screens::`, and read the difference.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod agree;
mod bad_input;
mod choices;
mod editing;
mod files;
mod findings;
mod items;
mod keys;
mod loads;
mod pictures;
mod quick;
mod reached;
mod recovery;
mod results;
mod rules;
mod said;
mod seasons;
mod shelf;
mod shop;
mod sizing;
mod typed;
mod unit;
mod walk;
mod worth;

use std::path::PathBuf;
use std::sync::Arc;

use coachwire::document::look::Look;
use coachwire::plan::Plan;
use coachwire::tui::message::{Effect, Message, Opened};
use coachwire::tui::model::{Model, Start};
use coachwire::tui::theme::Palette;
use coachwire::tui::update::{late, update};
use coachwire::tui::view::view;
use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use ratatui::Terminal;
use ratatui::backend::{Backend, TestBackend};
use ratatui::style::Modifier;

/// The plan the scripts work on.
pub(crate) const DUNLIN: &str = include_str!("screens/dunlin.ron");

/// A full screen without a terminal: keys go in, pictures and effects come out.
pub(crate) struct Screen {
    pub(crate) model: Model,
    pub(crate) effects: Vec<Effect>,
}

impl Screen {
    /// On a plan.
    pub(crate) fn on(text: &str, size: (u16, u16)) -> Self {
        let plan = Plan::from_text(text).expect("the sample reads");
        let opened = Opened {
            plan,
            path: Some(PathBuf::from("/plans/dunlin.ron")),
            locked_by: None,
            recovery: None,
            remark: None,
        };
        Self::with(Start { opened: Some(opened), size, ..Self::start() })
    }

    /// What every script starts with.
    pub(crate) fn start() -> Start {
        Start {
            recent: vec![PathBuf::from("/plans/dunlin.ron"), PathBuf::from("/plans/old.ron")],
            samples: vec![("larkspur".into(), "fifth wheel, full time".into())],
            palette: Some(Palette::Plain),
            ascii: true,
            size: (80, 24),
            today: "2026-09-12".into(),
            ..Start::default()
        }
    }

    /// From a start state.
    pub(crate) fn with(start: Start) -> Self {
        Self { model: Model::new(start), effects: Vec::new() }
    }

    /// On the usual plan at 80x24.
    pub(crate) fn dunlin() -> Self {
        Self::on(DUNLIN, (80, 24))
    }

    /// Types keys: plain characters, and names in angle brackets, as `l<Down><Enter>` or `<C-s>`.
    pub(crate) fn keys(&mut self, script: &str) -> &mut Self {
        for key in parse(script) {
            self.send(Message::Key(key));
        }
        self
    }

    /// Sends one message.
    pub(crate) fn send(&mut self, message: Message) -> &mut Self {
        if let Some(effect) = update(&mut self.model, message) {
            self.effects.push(effect);
        }
        self
    }

    /// Answers what the screen asks of a worker, as the program does.
    pub(crate) fn look(&mut self) -> &mut Self {
        while let Some(Effect::Look { generation, shown, question }) = late(&mut self.model) {
            let document = self.model.document.as_ref().expect("a plan is open");
            let (engine, stock) = (document.engine(), Arc::clone(document.stock()));
            let answer = Look { generation, engine, shown, stock, question }.answer(|| true).expect("wanted");
            self.send(Message::Looked { generation, answer });
        }
        self
    }

    /// Finishes the rows of a ladder that was asked for, as the workers would.
    pub(crate) fn climb(&mut self) -> &mut Self {
        while let Some(effect) = self.effects.pop() {
            let Effect::Ladder { generation, shown, mut rungs, .. } = effect else { continue };
            let document = self.model.document.as_ref().expect("a plan is open");
            let (mut engine, stock) = (document.engine(), Arc::clone(document.stock()));
            rungs.iter_mut().for_each(|rung| engine.finish(&shown.plan, &stock, &shown.report, rung));
            self.send(Message::Ladder { generation, rungs, complete: true });
            break;
        }
        self
    }

    /// The committed plan.
    pub(crate) fn plan(&self) -> Arc<Plan> {
        Arc::clone(&self.model.document.as_ref().expect("a plan is open").committed().plan)
    }

    /// The plan on screen, draft and all.
    pub(crate) fn shown(&self) -> Arc<Plan> {
        Arc::clone(&self.model.document.as_ref().expect("a plan is open").shown().plan)
    }

    /// What undo would take back, last first.
    pub(crate) fn undo_names(&self) -> Vec<String> {
        self.model.document.as_ref().expect("a plan is open").undo_names().map(String::from).collect()
    }

    /// What was said last.
    pub(crate) fn said(&self) -> &str {
        self.model.messages.last().map_or("", String::as_str)
    }

    fn draw(&self) -> (Terminal<TestBackend>, Option<(u16, u16)>) {
        let (columns, rows) = self.model.size;
        let mut terminal = Terminal::new(TestBackend::new(columns, rows)).unwrap();
        terminal.draw(|frame| view(&self.model, frame)).unwrap();
        let cursor = terminal.backend_mut().get_cursor_position().ok().map(|p| (p.x, p.y));
        (terminal, cursor)
    }

    /// The rows as text.
    pub(crate) fn text(&self) -> String {
        let (terminal, _) = self.draw();
        let buffer = terminal.backend().buffer();
        let rows = buffer.content().chunks(usize::from(buffer.area.width).max(1));
        rows.map(|row| row.iter().map(|c| c.symbol()).collect::<String>().trim_end().to_string())
            .collect::<Vec<_>>()
            .join("\n")
    }

    /// Text rows, `---`, style rows.
    pub(crate) fn picture(&self) -> String {
        let (terminal, cursor) = self.draw();
        let buffer = terminal.backend().buffer();
        let width = usize::from(buffer.area.width).max(1);
        let styles = buffer.content().chunks(width).enumerate().map(|(y, row)| {
            let row: String = row
                .iter()
                .enumerate()
                .map(|(x, cell)| match cell.modifier {
                    _ if cursor == Some((x as u16, y as u16)) => 'C',
                    m if m.contains(Modifier::REVERSED) => 'R',
                    m if m.contains(Modifier::UNDERLINED) => 'U',
                    m if m.contains(Modifier::BOLD) => 'B',
                    _ => '.',
                })
                .collect();
            row.trim_end_matches('.').to_string()
        });
        format!("{}\n---\n{}\n", self.text(), styles.collect::<Vec<_>>().join("\n"))
    }

    /// Whether any cell has a colour of its own.
    pub(crate) fn has_colour(&self) -> bool {
        let (terminal, _) = self.draw();
        let reset = ratatui::style::Color::Reset;
        terminal.backend().buffer().content().iter().any(|c| c.fg != reset || c.bg != reset)
    }
}

/// Keys of a script.
pub(crate) fn parse(script: &str) -> Vec<KeyEvent> {
    let mut keys = Vec::new();
    let mut rest = script;
    while let Some(c) = rest.chars().next() {
        let named =
            rest.strip_prefix('<').and_then(|r| r.split_once('>')).and_then(|(n, after)| Some((name(n)?, after)));
        match named {
            Some((key, after)) => {
                keys.push(key);
                rest = after;
            }
            None => {
                keys.push(KeyEvent::new(KeyCode::Char(c), KeyModifiers::NONE));
                rest = rest.get(c.len_utf8()..).unwrap_or("");
            }
        }
    }
    keys
}

fn name(name: &str) -> Option<KeyEvent> {
    let plain = |code| Some(KeyEvent::new(code, KeyModifiers::NONE));
    if let Some(c) = name.strip_prefix("C-").and_then(|c| c.chars().next()) {
        return Some(KeyEvent::new(KeyCode::Char(c), KeyModifiers::CONTROL));
    }
    match name {
        "Enter" => plain(KeyCode::Enter),
        "Esc" => plain(KeyCode::Esc),
        "Tab" => plain(KeyCode::Tab),
        "BackTab" => plain(KeyCode::BackTab),
        "Up" => plain(KeyCode::Up),
        "Down" => plain(KeyCode::Down),
        "Left" => plain(KeyCode::Left),
        "Right" => plain(KeyCode::Right),
        "PgUp" => plain(KeyCode::PageUp),
        "PgDn" => plain(KeyCode::PageDown),
        "Home" => plain(KeyCode::Home),
        "End" => plain(KeyCode::End),
        "BS" => plain(KeyCode::Backspace),
        "Del" => plain(KeyCode::Delete),
        _ => None,
    }
}
