//! What the update loop asked for, done over the store and the workers; answered by a message.

use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::{Duration, SystemTime};

use crate::document::Document;
use crate::document::difference;
use crate::document::look::{Look, Question};
use crate::document::search::Ask;
use crate::papers;
use crate::plan::Plan;
use crate::plan::job::YesNo;
use crate::plan::samples::{SAMPLES, sample};
use crate::stock::{self, Stock};
use crate::store::{Fault, Kept, Locking, Offer, Stamp, Store, StoreError, Trail, Whose};
use crate::tui::Request;
use crate::tui::inbox::Post;
use crate::tui::message::{Copy, Effect, Message, OpenWhat, Opened, SaveFailure, TruckFailure};
use crate::tui::model::{Model, Start};
use crate::tui::shop::{TruckFile, TruckState};
use crate::tui::theme::Palette;
use crate::tui::worker::Workers;

/// The file the plan on screen stands in.
struct Held {
    path: PathBuf,
    /// What it was when we read or wrote it; `None`: somebody else has it open and it is not ours to write.
    stamp: Option<Stamp>,
    /// Keeps others from writing it, while it lives.
    _lock: Option<Box<dyn Send + Sync>>,
}

/// The hands of the full screen: files and workers.
pub struct Performer {
    store: Store,
    workers: Workers,
    held: Option<Held>,
    /// Recovery copies not yet decided on, newest last; that one is asked about. Nothing may write over or remove them.
    offers: Vec<Offer>,
    /// The copy that we write, since the plan last stood in its file.
    copy: Option<Kept>,
    /// Revision of the document that the recovery copy (or the file) holds.
    kept: Option<u64>,
    /// Whether the last recovery copy could not be written.
    in_trouble: bool,
    trail: Trail,
    /// What was last noted of where the user stands.
    stood: String,
    today: String,
}

impl Performer {
    /// Over a store, with workers that answer to `post`.
    #[must_use]
    pub fn new(store: Store, post: Post) -> Self {
        Self::with(store, Workers::new(post))
    }

    /// The same with these workers.
    #[must_use]
    pub fn with(store: Store, workers: Workers) -> Self {
        let today = super::date_of(SystemTime::now());
        Self {
            store,
            workers,
            held: None,
            offers: Vec::new(),
            copy: None,
            kept: None,
            in_trouble: false,
            trail: Trail::default(),
            stood: String::new(),
            today,
        }
    }

    /// What the model starts with, and what is to be said.
    ///
    /// # Errors
    /// In words, why what was asked for cannot be opened.
    pub fn start(&mut self, request: &Request, size: (u16, u16)) -> Result<(Start, Vec<String>), String> {
        let (stock, troubles) = self.store.stock();
        let opened = match &request.open {
            Some(what) => Some(self.open(what, &stock)?),
            None => self.unsaved(&stock),
        };
        let variable = |name: &str| std::env::var(name).ok();
        let setting = match stock.settings.palette {
            stock::Palette::Auto => None,
            stock::Palette::Plain => Some(Palette::Plain),
            stock::Palette::Colour => Some(Palette::Colour),
            stock::Palette::Contrast => Some(Palette::Contrast),
        };
        let (no_color, term) = (variable("NO_COLOR"), variable("TERM"));
        let start = Start {
            opened,
            recent: self.store.recent().plans.iter().map(|plan| PathBuf::from(&plan.path)).collect(),
            samples: SAMPLES.iter().map(|s| (s.name.to_string(), s.about.to_string())).collect(),
            palette: Some(Palette::choose(request.palette, setting, no_color.as_deref(), term.as_deref())),
            ascii: request.ascii || stock.settings.ascii == YesNo::Yes,
            size,
            today: self.today.clone(),
            stock: Arc::new(stock),
        };
        Ok((start, troubles.iter().map(ToString::to_string).collect()))
    }

    /// Gives up what nobody waits for any more.
    pub fn give_up(&self, model: &Model) {
        if model.sizing.is_none() {
            self.workers.give_up(&Question::Sizes(false));
        }
    }

    /// Performs an effect; its answer, if it is known at once.
    pub fn perform(&mut self, effect: Effect, model: &Model) -> Option<Message> {
        match effect {
            Effect::Save { plan, path, replace } => {
                self.note(model);
                Some(Message::Saved(self.save(&plan, path, replace)))
            }
            Effect::Open(what) => Some(Message::Opened(self.open(&what, &model.stock).map(Box::new))),
            Effect::Ladder { generation, shown, of, rungs } => {
                let document = model.document.as_ref()?;
                let (engine, stock) = (document.engine(), Arc::clone(document.stock()));
                let (base, before) = (shown.plan, shown.report);
                self.workers.ask(Ask { generation, engine, base, before, stock, of, rungs });
                None
            }
            Effect::Look { generation, shown, question } => {
                let document = model.document.as_ref()?;
                let (engine, stock) = (document.engine(), Arc::clone(document.stock()));
                self.workers.look(Look { generation, engine, shown, stock, question });
                None
            }
            Effect::SaveStock(stock) => {
                Some(Message::StockSaved(self.store.save_shelf(&stock).map_err(|e| e.to_string())))
            }
            Effect::OpenTruck => Some(Message::Truck(self.truck())),
            Effect::SaveTruck { truck, was } => {
                let saved = self.store.save_truck(&truck, was.as_deref());
                Some(Message::TruckSaved(saved.map(|()| truck).map_err(|e| self.truck_failure(&e))))
            }
            Effect::Papers { folder, replace, .. } if !replace && self.store.has_any(&folder, papers::names()) => {
                Some(Message::PapersThere(folder))
            }
            Effect::Papers { plan, name, folder, .. } => {
                let (store, stock) = (self.store.clone(), Arc::clone(&model.stock));
                self.workers.beside(move || {
                    let all = papers::of(&name, &plan, &stock);
                    let texts: Vec<(&str, &str)> = all.iter().map(|paper| (paper.name, paper.text.as_str())).collect();
                    let written = store.write_texts(&folder, &texts);
                    Message::Written(written.map(|()| folder).map_err(|e| format!("no papers written: {e}")))
                });
                None
            }
            Effect::DropRecovery => self.dropped(),
            Effect::TakenUp => self.taken_up(model),
            // The session's.
            Effect::Quit { .. } | Effect::Suspend | Effect::Redraw => None,
        }
    }

    fn truck_failure(&self, e: &StoreError) -> TruckFailure {
        match (e.fault, self.store.truck().1) {
            (Fault::Changed, Ok(now)) => TruckFailure::Changed(now.map(Box::new)),
            // What is wrong, before a path that may be long.
            _ => TruckFailure::Failed(e.reason()),
        }
    }

    /// The truck stock as its file has it now.
    fn truck(&self) -> TruckFile {
        let (path, read) = self.store.truck();
        let path = path.map_or_else(String::new, |p| p.display().to_string());
        let state = match read {
            Ok(Some(truck)) => TruckState::Read(truck),
            Ok(None) => TruckState::Missing,
            Err(e) => TruckState::Broken(e.to_string()),
        };
        TruckFile { path, state }
    }

    /// Reads what is asked for; the plan before it is let go, with its lock and its recovery copy.
    fn open(&mut self, what: &OpenWhat, stock: &Stock) -> Result<Opened, String> {
        let nothing = |plan| Opened { plan, path: None, locked_by: None, recovery: None, remark: None };
        let opened = match what {
            OpenWhat::Blank => {
                self.let_go();
                nothing(stock.settings.blank_plan())
            }
            OpenWhat::Sample(name) => {
                let sample = sample(name).ok_or_else(|| format!("there is no sample named {name}"))?;
                let plan = Plan::from_text(sample.text).map_err(|e| format!("sample {name}: {e}"))?;
                self.let_go();
                nothing(plan)
            }
            OpenWhat::File(path) => self.open_file(path, stock)?,
        };
        Ok(opened)
    }

    fn open_file(&mut self, path: &Path, stock: &Stock) -> Result<Opened, String> {
        let found = match self.store.load(path) {
            Ok(found) => found,
            Err(why) => return self.open_copy(path, &why, stock),
        };
        // Before the lock is asked for: it may be our own.
        self.let_go();
        let mut opened =
            Opened { plan: found.plan, path: Some(path.to_path_buf()), locked_by: None, recovery: None, remark: None };
        opened.remark = found.remarks.into_iter().next();
        let (stamp, lock) = match self.store.lock(path) {
            Locking::Ours(lock) => (Some(found.stamp), Some(lock)),
            Locking::Impossible(why) => {
                opened.remark = Some(why);
                (Some(found.stamp), None)
            }
            Locking::Elsewhere(who) => {
                opened.locked_by = Some(who);
                (None, None)
            }
        };
        // The copy of a plan that is open elsewhere belongs there.
        if stamp.is_some() {
            self.offers = self.store.offers(path);
            opened.recovery = self.asked();
            if let Some(copy) = self.store.unreadable_copies(path).first() {
                opened.remark =
                    Some(format!("a recovery copy that cannot be read as a plan stays: {}", copy.display()));
            }
        }
        self.held = Some(Held { path: path.to_path_buf(), stamp, _lock: lock });
        if self.offers.is_empty() && opened.remark.is_none() {
            opened.remark = self.waiting();
        }
        // A list that cannot be kept hinders nobody.
        let _ = self.store.remember(path, &opened.plan.job.title, &self.today);
        Ok(opened)
    }

    /// A plan that cannot be read, by what is left of it: its recovery copy over an empty plan.
    fn open_copy(&mut self, path: &Path, why: &StoreError, stock: &Stock) -> Result<Opened, String> {
        let offers = match self.store.lock(path) {
            Locking::Elsewhere(_) => Vec::new(),
            Locking::Ours(_) | Locking::Impossible(_) => self.store.offers(path),
        };
        if offers.is_empty() {
            return Err(why.to_string());
        }
        self.let_go();
        self.offers = offers;
        let (plan, recovery) = (stock.settings.blank_plan(), self.asked());
        Ok(Opened { plan, path: None, locked_by: None, recovery, remark: Some(why.to_string()) })
    }

    /// The newest plan that was never saved and whose program ended without being told to.
    fn unsaved(&mut self, stock: &Stock) -> Option<Opened> {
        self.offers = self.store.unsaved_offers();
        let recovery = Some(self.asked()?);
        Some(Opened { plan: stock.settings.blank_plan(), path: None, locked_by: None, recovery, remark: None })
    }

    /// The copy to ask about now, and what it is in words.
    fn asked(&self) -> Option<(Box<Copy>, String)> {
        let (offer, older) = self.offers.split_last()?;
        let more = match older.len() {
            0 => String::new(),
            1 => "; an older copy is asked about after it".to_string(),
            n => format!("; {n} older copies are asked about after it"),
        };
        Some((Box::new(copy_in(offer)), told(offer) + &more))
    }

    /// What is said where a plan is opened while others that were never saved wait.
    fn waiting(&self) -> Option<String> {
        let offers = self.store.unsaved_offers();
        let newest = offers.last()?;
        let (count, copies) = (offers.len(), if offers.len() == 1 { "copy waits" } else { "copies wait" });
        Some(format!("{count} recovery {copies}: {}; started without a plan, coachwire asks about it", told(newest)))
    }

    fn save(&mut self, plan: &Plan, path: PathBuf, replace: bool) -> Result<PathBuf, SaveFailure> {
        // The file that is open here, by whatever name.
        let held = self.held.as_ref().map(|held| held.path.clone());
        let path = held.filter(|held| self.store.is_same(held, &path)).unwrap_or(path);
        let store = &self.store;
        let otherwise = |path: &Path| {
            let there = store.load(path).map(|found| found.plan);
            there.map(|there| difference::between(&there, plan)).unwrap_or_default()
        };
        let failed = |e: StoreError| match e.fault {
            Fault::Changed => SaveFailure::ChangedOnDisk(path.clone(), otherwise(&path)),
            Fault::Taken => SaveFailure::Exists(path.clone(), otherwise(&path)),
            _ => SaveFailure::Failed(path.clone(), e.reason()),
        };
        let ours = self.held.as_ref().filter(|held| held.path == path).and_then(|held| held.stamp);
        if let Some(read) = ours {
            let stamp = self.store.save(&path, plan, (!replace).then_some(&read)).map_err(failed)?;
            if let Some(held) = &mut self.held {
                held.stamp = Some(stamp);
            }
        } else {
            let lock = match self.store.lock(&path) {
                Locking::Ours(lock) => Some(lock),
                Locking::Impossible(_) => None,
                Locking::Elsewhere(who) => {
                    let why = format!("{} is open elsewhere ({who}); choose another name", path.display());
                    return Err(SaveFailure::Failed(path, why));
                }
            };
            let saved = if replace { self.store.save(&path, plan, None) } else { self.store.save_new(&path, plan) };
            let stamp = saved.map_err(failed)?;
            self.held = Some(Held { path: path.clone(), stamp: Some(stamp), _lock: lock });
        }
        self.store.drop_kept(&mut self.copy);
        self.kept = None;
        let _ = self.store.remember(&path, &plan.job.title, &self.today);
        Ok(path)
    }

    /// Writes the recovery copy if the document has changed since the last one; what went wrong, if anything.
    pub fn keep(&mut self, model: &Model) -> Option<Message> {
        let document = model.document.as_ref()?;
        let revision = document.revision();
        // A rule that is looked at may be left as it was: then the copy of before, with what redo had, stands.
        if model.field.as_ref().is_some_and(|field| field.is_new_rule) {
            return None;
        }
        // A stick may have been pulled with the copy on it.
        let is_there = self.copy.as_ref().is_none_or(|kept| self.store.is_kept(kept));
        if self.kept == Some(revision) && is_there {
            return None;
        }
        // What fails is tried again at the next change, not before: a full disk must not keep us busy.
        self.kept = Some(revision);
        if !document.is_dirty() && document.redo_names().next().is_none() {
            // Gone back to what the file has: a copy of what came after it would be offered as work that was lost.
            self.store.drop_kept(&mut self.copy);
            return None;
        }
        self.note(model);
        match self.write_copy(document) {
            Ok(()) => std::mem::take(&mut self.in_trouble).then_some(Message::RecoveryKept),
            Err(e) => {
                self.in_trouble = true;
                Some(Message::RecoveryFailed(format!("{}; only w keeps what is edited ({})", e.what, e.path.display())))
            }
        }
    }

    /// Notes where the user stands in a plan of ours; nothing hangs on it.
    fn note(&mut self, model: &Model) {
        let Some(held) = self.held.as_ref().filter(|held| held.stamp.is_some()) else { return };
        let stood = model.stood();
        if model.path.as_ref() == Some(&held.path) && stood != self.stood {
            let _ = self.store.note_stood(&held.path, &stood);
            self.stood = stood;
        }
    }

    /// Where the user stood in the plan that was opened.
    #[must_use]
    pub fn stood(&self) -> Option<Message> {
        self.held.as_ref().and_then(|held| self.store.stood(&held.path)).map(Message::Stood)
    }

    fn write_copy(&mut self, document: &Document) -> Result<(), StoreError> {
        let whose = match &self.held {
            None => Whose::Nobodys,
            Some(Held { path, stamp: None, .. }) => Whose::Elsewhere(path),
            Some(Held { path, stamp: Some(_), .. }) => Whose::Ours(path),
        };
        let plan = &document.committed().plan;
        let steps = self.trail.below(plan, document.past(), document.undone());
        self.store.keep_copy(whose, plan, &steps, &mut self.copy)
    }

    /// The offered copy was taken up: it is on screen, and ours to write from now on.
    fn taken_up(&mut self, model: &Model) -> Option<Message> {
        let offer = self.offers.pop()?;
        self.store.drop_kept(&mut self.copy);
        self.copy = Some(offer.into());
        self.kept = None;
        self.keep(model)
    }

    /// The offered copy was declined; what is asked next.
    fn dropped(&mut self) -> Option<Message> {
        let offer = self.offers.pop()?;
        self.store.drop_offer(&offer);
        self.asked().map(|(copy, what)| Message::Recovery(copy, what))
    }

    /// The plan on screen is left for good.
    fn let_go(&mut self) {
        self.store.drop_kept(&mut self.copy);
        self.held = None;
        self.offers.clear();
        self.kept = None;
        self.trail = Trail::default();
    }

    /// The program ends. `clean`: the recovery copy is no longer needed. Whose edits stay in one, if any do.
    pub fn leave(&mut self, model: &Model, clean: bool) -> Option<String> {
        self.note(model);
        if clean {
            self.let_go();
            None
        } else {
            if self.in_trouble {
                self.kept = None;
            }
            // Nobody is left to tell.
            let _ = self.keep(model);
            let held = self.held.take();
            let is_dirty = model.document.as_ref().is_some_and(Document::is_dirty);
            self.copy.as_ref().filter(|kept| is_dirty && self.store.is_kept(kept))?;
            Some(held.map_or_else(|| "a plan never saved".into(), |held| held.path.display().to_string()))
        }
    }
}

fn copy_in(offer: &Offer) -> Copy {
    Copy { plan: offer.plan.clone(), past: offer.past.clone(), undone: offer.undone.clone() }
}

/// What a copy is, in words.
fn told(offer: &Offer) -> String {
    let time = |t: Option<SystemTime>| t.map_or_else(|| "at an unknown time".to_string(), minute_of);
    match &offer.of {
        Some(_) if offer.saved.is_some() => {
            // What was saved since is newer than the copy, and would be taken back with it.
            let is_older = offer.saved > offer.written;
            let older =
                if is_older { "; THE FILE WAS SAVED AFTER THIS COPY: not all that differs is newer here" } else { "" };
            format!("copy written {}, file written {}{older}", time(offer.written), time(offer.saved))
        }
        Some(path) => format!("of {}, copy written {}", path.display(), time(offer.written)),
        None => format!("a plan never saved, {}, copy written {}", known_by(&offer.plan), time(offer.written)),
    }
}

/// What tells a plan without a file from another: its title, else its first place and how much there is of it.
fn known_by(plan: &Plan) -> String {
    if !plan.job.title.is_empty() {
        return format!("{:?}", plan.job.title);
    }
    let place = plan.stays.first().map(|stay| stay.place.as_str()).filter(|place| !place.is_empty());
    let count = |n: usize, one: &str, more: &str| format!("{n} {}", if n == 1 { one } else { more });
    let things = plan.arrays.len() + plan.controllers.len() + plan.inverters.len() + plan.chargers.len();
    [
        "without a title".to_string(),
        place.unwrap_or("no place yet").to_string(),
        count(things + plan.devices.len(), "piece of equipment", "pieces of equipment"),
        count(plan.loads.len(), "load", "loads"),
        count(plan.runs.len(), "run", "runs"),
    ]
    .join(", ")
}

/// Date and time of day in UTC.
fn minute_of(time: SystemTime) -> String {
    let since = time.duration_since(SystemTime::UNIX_EPOCH).unwrap_or(Duration::ZERO).as_secs();
    let minutes = since / 60 % 1440;
    format!("{} {:02}:{:02} UTC", super::date_of(time), minutes / 60, minutes % 60)
}
